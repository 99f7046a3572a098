"""At the wrapping table: after the header only the number pad is needed."""

from __future__ import annotations

import sys
from contextlib import suppress
from dataclasses import dataclass, field, replace

import typer

from freezerbox.book import journal
from freezerbox.book.door import told_plainly
from freezerbox.chores import undo as undoing
from freezerbox.chores.header import Header, Words, other_of, parse_pieces, understand
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pack import Run, Weighed, doubt_of, mixed_up, read_weight, usual_pack, write
from freezerbox.chores.rows import Row, Rows, totals
from freezerbox.chores.wording import animals_words, count, packs_and_weight
from freezerbox.cli.options import ask
from freezerbox.cli.output import say
from freezerbox.cli.pad_animal import chosen
from freezerbox.cli.pad_cards import DONE, UNDO, answered, heard
from freezerbox.cli.scale_key import KEYS as SCALE_KEYS
from freezerbox.cli.scale_key import ScaleKey, has_scale
from freezerbox.cli.table_press import TablePress, table_press
from freezerbox.core.cards import Card
from freezerbox.core.code import show_code
from freezerbox.core.records import State
from freezerbox.errors import BookTrouble, CannotUndo, FreezerboxError, InputError, OutOfLine

KEYS = """A weight keeps it   + same again   - strike the last   Enter ends
* new cut           / another animal"""


@dataclass
class _Table:
    """The run being wrapped: its header, and what is kept so far.

    left: animals that were offered and not chosen.
    before: codes of what was packed under other headers in this sitting; all of it lies on the table.
    behind: something was recorded that could not be read back yet, so ``kept`` may not be what stands.
    """

    kitchen: Kitchen
    words: Words
    header: Header
    press: TablePress | None = None
    kept: list[Row] = field(default_factory=list)
    typed: str = ""
    scale: ScaleKey | None = None
    before: set[str] = field(default_factory=set)
    left: set[str] = field(default_factory=set)
    behind: bool = False

    @property
    def wrapped(self) -> int:
        """How many packages of this sitting are in the book, under whatever header."""
        return len(self.before | {row.code for row in self.kept})


def wrap_at_the_table(kitchen: Kitchen, words: Words) -> None:
    """Ask for weights until the run ends; each package is kept as it is entered, and its label printed."""
    table = _begin(kitchen, words, table_press(kitchen), set())
    if has_scale(kitchen):
        table.scale = ScaleKey(kitchen, twin="+ keeps a twin")
    try:
        _ask_for_weights(table)
    finally:
        if table.scale:
            table.scale.forget()
        if table.press:
            table.press.end(table.kitchen)


def _ask_for_weights(table: _Table) -> None:
    over = False
    while not over:
        _look_again(table)
        print(f"{_title(table)}  {len(table.kept) + 1}: ", end="", flush=True)
        raw = sys.stdin.readline()
        try:
            with table.kitchen.book.told():
                over = _answer(table, raw)
        except BookTrouble as error:
            table.behind = table.behind or error.recorded
            outcome = "recorded" if error.recorded else "NOT DONE"
            say(f"{raw.strip()}: {outcome}. {error.message}" if raw.strip() else error.message)
            # What was typed ahead still has its turn; without a line there is nobody who types.
            if not raw:
                raise typer.Exit(BookTrouble.exit_code) from error


def _look_again(table: _Table) -> None:
    """What came out of the printer, and what could not be read back when it was recorded; trouble waits."""
    with suppress(BookTrouble), told_plainly(table.kitchen.book.path):
        if table.press:
            table.press.look(table.kitchen)
        if table.behind:
            table.kept, table.behind = _earlier_this_evening(table.kitchen.afresh(), table.header), False
            table.typed = table.kept[-1].package.typed if table.kept else ""


def _answer(table: _Table, raw: str) -> bool:
    """What a line at the table asks for; returns whether the run is over."""
    answer = heard(table.kitchen, raw, "a weight")
    if answer is None:
        return False
    if raw and not answer and table.scale:
        if (weight := table.scale.weigh()) and _keep(table, weight):
            table.scale.kept()
        return False
    if answer == "*":
        _close(table)
        answer = _new_header(table)
        if answer != DONE:
            return False
    if answer in ("", DONE):
        return not raw or _ended(table)
    if answer in ("-", UNDO):
        _strike(table)
    elif answer == "/":
        _new_animal(table)
    elif answer == "+":
        if table.typed:
            _keep(table, table.typed)
        else:
            say("There is no weight before this one to repeat.")
    else:
        _keep(table, answer)
    return False


def _begin(kitchen: Kitchen, words: Words, press: TablePress | None, left: set[str]) -> _Table:
    header = understand(kitchen, words)
    if not header.animals:
        words = chosen(kitchen, words, header, left)
        header = understand(kitchen, words) if words.animals else header
    mixed = mixed_up(header)
    if mixed and not ask(f"{mixed}. Is it really of all of them?", pad=True):
        raise OutOfLine("Nothing recorded. Name one animal with --animal.", doubts=[mixed])
    table = _Table(kitchen=kitchen, words=words, header=header, press=press, left=left)
    table.kept = _earlier_this_evening(kitchen, header)
    say(SCALE_KEYS if has_scale(kitchen) else KEYS)
    if table.kept:
        table.typed = table.kept[-1].package.typed
        say(f"Going on: {packs_and_weight(kitchen, totals(table.kept))} of these are packed already this evening.")
    return table


def _earlier_this_evening(kitchen: Kitchen, header: Header) -> list[Row]:
    """Packages of this header entered at the table today: a run can be left and continued."""
    animals = [animal.code for animal in header.animals]
    return [
        row
        for row in Rows(kitchen).all(State.FROZEN)
        if row.package.packed_on == header.packed_on
        and row.package.cut == header.cut.key
        and row.package.form == (header.form.key if header.form else "")
        and [animal.code for animal in row.animals] == animals
        and row.package.fat_percent == header.fat_percent
        and row.package.seasoning == header.seasoning
        and row.package.other_words == header.other_words
        and row.package.species == (header.species.key if header.species else "")
        and row.package.pieces == header.pieces
        and (row.package.wrap, row.package.added, row.package.owner) == (header.wrap, header.added, header.owner)
        and (row.package.reserved_for, row.package.note) == (header.reserved_for, header.note)
        and row.package.times_frozen == header.times_frozen
        and row.package.state.place_id == (header.place.id if header.place else None)
        and row.package.state.freezer_id == header.freezer_id
    ]


def _title(table: _Table) -> str:
    species = table.header.species
    origin = animals_words(table.header.animals) or (species.name if species else "")
    return table.header.cut_name + (f", {origin}" if origin else "")


def _keep(table: _Table, text: str) -> bool:
    """Record a package of that weight; returns whether it is that weight which was recorded."""
    kitchen = table.kitchen.afresh()
    try:
        net_mg = read_weight(kitchen, text)
    except FreezerboxError as error:
        say(error.message)
        return False
    if net_mg is not None:
        others = [row.package.net_mg for row in table.kept if row.package.net_mg is not None]
        usual = usual_pack(table.header.cut, table.header.species)
        doubt = doubt_of(kitchen, net_mg, others, table.header.cut_name, usual)
        if doubt:
            say(f"{doubt}.")
            # With the number pad alone: no letter is needed to say yes, and the right weight is an answer too.
            question = "Right? (+ yes, - no, or the weight again)"
            answer = answered(kitchen, question, "+, - or a weight", (Card.UNDO,))
            if answer.lower() not in ("+", "y", "yes"):
                if answer.lower() in ("", "-", "n", "no", UNDO):
                    say("Not kept. Type it again.")
                    return False
                return _keep(table, answer)
    run = Run(header=table.header, weights=(Weighed(typed=text, net_mg=net_mg),))
    row = write(kitchen, run, yes=True).rows[0]
    table.kept.append(row)
    table.typed = text
    if table.press:
        table.press.strike(kitchen, row)
    say(f"  {show_code(row.code)}  {kitchen.mass(net_mg)}   {packs_and_weight(kitchen, totals(table.kept))} so far")
    return True


def _strike(table: _Table) -> None:
    if not table.kept:
        say("There is nothing to strike.")
        return
    kitchen = table.kitchen.afresh()
    try:
        act = undoing.target(kitchen, journal.movements(kitchen.book, code=table.kept[-1].code)[0].act_id)
        entered = {movement.code for movement in journal.movements(kitchen.book, act_id=act.id)}
        if len(entered) > 1:
            say(f"The last one was packed in a run of {len(entered)}; all of it goes with: freezerbox undo {act.id}")
            return
        undone = undoing.undo(kitchen, act)
    except CannotUndo as error:
        say(error.message)
        return
    if table.scale:
        table.scale.forget()
    gone = {row.code for row in undone.rows}
    if table.press:
        table.press.take_back(table.kitchen, gone)
    table.kept = [row for row in table.kept if row.code not in gone]
    table.before -= gone
    table.typed = table.kept[-1].package.typed if table.kept else ""
    struck = ", ".join(show_code(row.code) for row in undone.rows)
    say(f"  struck {struck}; {packs_and_weight(kitchen, totals(table.kept))} so far")


def _new_header(table: _Table) -> str:
    """Another cut; the animal stays.  ``DONE`` when the evening ends instead, ``UNDO`` for the cut before."""
    from freezerbox.cli.pack_commands import settle_words

    while True:
        cut = answered(table.kitchen, "Cut", "a cut")
        if cut == DONE:
            return DONE
        if cut == UNDO:
            say(f"Going on with {_title(table)}.")
            return UNDO
        if not cut:
            continue
        cut, other = other_of(cut)
        words = replace(
            table.words,
            cut=cut,
            form="",
            pieces="",
            other=other,
            fat="",
            seasoning="",
            added="",
        )
        try:
            words = replace(settle_words(table.kitchen, words), pieces=_asked_pieces(table.kitchen))
            _go_on(table, words)
            return ""
        except FreezerboxError as error:
            say(error.message)


def _new_animal(table: _Table) -> None:
    """The same cut of another animal."""
    try:
        words = chosen(table.kitchen.afresh(), table.words, table.header, table.left, asked=True)
        if words.animals != table.words.animals:
            _close(table)
            _go_on(table, words)
    except FreezerboxError as error:
        say(error.message)


def _go_on(table: _Table, words: Words) -> None:
    new = _begin(table.kitchen.afresh(), words, table.press, table.left)
    table.before |= {row.code for row in table.kept}
    table.words, table.header, table.kept, table.typed = new.words, new.header, new.kept, new.typed


def _asked_pieces(kitchen: Kitchen) -> str:
    """Pieces in each, "" for none; what is no whole number is asked again, and the cut stays."""
    while True:
        pieces = answered(kitchen, "Pieces in each (Enter for none)", "a number of pieces, or Enter", ())
        try:
            if pieces:
                parse_pieces(pieces)
            return pieces
        except InputError as error:
            say(error.message)


def _close(table: _Table) -> None:
    say(f"{_title(table)}: {packs_and_weight(table.kitchen, totals(table.kept))}.")


def _ended(table: _Table) -> bool:
    """Compare the list with what lies on the table; returns whether the run is over."""
    if not table.wrapped:
        say("Nothing packed.")
        return True
    if table.kept:
        _close(table)
    question = "How many did you wrap, of all cuts?" if table.before else "How many did you wrap?"
    counted = _asked_how_many(table.kitchen, question)
    booked = table.wrapped
    if counted is None or counted == booked:
        if counted is not None:
            say(f"{counted} wrapped, {booked} in the book. Labels: freezerbox label --to labels.pdf")
        return True
    missing = counted - booked
    if missing > 0:
        say(f"The book has {booked}: {count(missing, 'package has', 'packages have')} no record yet. Go on:")
    else:
        say(f"The book has {booked}, {-missing} more than lie there. Strike with - or leave with Enter:")
    return False


def _asked_how_many(kitchen: Kitchen, question: str) -> int | None:
    """How many lie on the table; None when nobody counts them.  What is no number is asked again."""
    while True:
        answer = answered(kitchen, f"{question} (Enter to leave it)", "a number of packages, or Enter", (Card.DONE,))
        if answer in ("", DONE):
            return None
        if answer.isascii() and answer.isdigit() and len(answer) <= 4:
            return int(answer)
        say(f"{answer!r} is not a number of packages. Count what lies there, such as 14; Enter leaves it.")
