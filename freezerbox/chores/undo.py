"""Taking back a whole act."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from freezerbox.book import footing, journal, meta, origins, queries
from freezerbox.book.footing import Loose
from freezerbox.book.parentage import children, partings
from freezerbox.book.writer import Writer
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.loose_ends import came_loose, loose_name, no_ground_words
from freezerbox.chores.out_of_lot import how_many_out
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.wording import count, holds_words
from freezerbox.core.code import show_code
from freezerbox.core.fold import fold, in_order
from freezerbox.core.lineage import animal_holds
from freezerbox.core.records import Act, Movement, PackageState, Reason, State
from freezerbox.errors import BookTrouble, CannotUndo

KEPT = {
    "start": "Starting the book is not undone. To begin anew, name another file with --book.",
    "backup": "A copy was made; there is nothing in the book to take back.",
    "join": "What was decided when two books were joined stays. Correct the packages, or restore the copy.",
}
"""Kinds of act that undo leaves alone, and what to say."""
MOST_NAMED = 6
"""So many codes in a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """What was taken back.

    act: the act that was.  number: of the act that took it back.  rows: as they are now.
    root: what it is about in the end, when ``act`` is itself an undo.  again: ``root`` stands once more.
    held: of the packages and animals whose test or hold it was about, whether they are on hold now, in sentences.
    """

    act: Act
    number: int
    rows: tuple[Row, ...]
    root: Act
    again: bool
    held: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """``Taken back: ...`` or ``Had again: ...``, without a full stop."""
        return f"{'Had again' if self.again else 'Taken back'}: {self.root.words}"


def target(kitchen: Kitchen, number: int | None = None, *, after: int = 0) -> Act:
    """The act that ``undo`` would take back: that number, or this station's last that stands.

    ``after``: only one that came after the act of this number; a scan never takes back what went before its session.

    Raises: CannotUndo when there is none, or it is taken back already.
    """
    book = kitchen.book
    if number is None:
        found = _last_standing(kitchen)
        if found is None:
            raise CannotUndo(
                "Nothing to undo here: this terminal has done nothing that still stands. What was done elsewhere: "
                "freezerbox undo --list --all, then freezerbox undo NUMBER"
            )
        if found.id <= after:
            root, _ = journal.root(kitchen.book, found)
            raise CannotUndo(
                f"Nothing scanned here is left to take back. Before it came act {found.id}: {root.words}. "
                f"To take that back: freezerbox undo {found.id}",
                act=found.id,
            )
        return found
    found = journal.act(book, number)
    if found is None:
        raise CannotUndo(f"There is no act {number} in this book. See them with: freezerbox undo --list", act=number)
    while found.undone_by is not None:
        undo = journal.act(book, found.undone_by)
        if undo is None or undo.undone_by is None:
            raise CannotUndo(
                f"Act {number} is taken back already, by act {found.undone_by}. "
                f"To have it again: freezerbox undo {found.undone_by}",
                act=number,
            )
        # Taken back and had again: what stands now is the act that undid the undo.
        again = journal.act(book, undo.undone_by)
        if again is None:
            break
        found = again
    if found.kind in KEPT:
        raise CannotUndo(f"{KEPT[found.kind]}", act=found.id)
    return found


_ADDING = ("freezer", "place", "animal")
"""Kinds of act that add a record; one that says nothing by now is of a record that is another one since a join."""


def is_old(kitchen: Kitchen, act: Act) -> bool:
    """Whether an act was recorded more than a day ago, so that whoever says undo may well mean something else."""
    try:
        return kitchen.clock.stamp() - datetime.fromisoformat(act.recorded_at) > timedelta(days=1)
    except (ValueError, TypeError):
        # Not a moment with its zone: nobody can say that it was today.
        return True


def undo(kitchen: Kitchen, act: Act, *, request_id: str | None = None) -> Undone:
    """Take back all of ``act``; the undo carries the day of what it reverses, so that the past reads right.

    Raises: CannotUndo, naming them, when later acts stand on it, or when a name it would bring back is taken by now.
    """
    try:
        return _undo(kitchen, act, request_id)
    except BookTrouble as error:
        if "UNIQUE" not in str(error.facts.get("entry", "")):
            raise
        raise CannotUndo(
            f"Act {act.id} ({act.words}) cannot be taken back: a name it would bring back belongs to something else "
            "by now. Rename that first.",
            act=act.id,
        ) from error


@one_writer
def _undo(kitchen: Kitchen, act: Act, request_id: str | None) -> Undone:
    book = kitchen.book
    # Chosen before the book was held: another station may have been quicker.
    act = target(kitchen, act.id)
    movements = journal.movements(book, act_id=act.id)
    _refuse_stood_upon(kitchen, act, movements)
    if act.kind in _ADDING and not (
        movements or journal.created(book, act.id) or journal.changes(book, act_id=act.id)
    ):
        raise CannotUndo(
            f"Act {act.id} ({act.words}) cannot be taken back: when two books were joined, what it added was said to "
            "be one and the same with what the other book had under that name, and that stays.",
            act=act.id,
        )
    root, had_again = journal.root(kitchen.book, act)
    # An undo of an undo names what it is about in the end, not the whole chain.
    words = journal.undo_words(root, undone=not had_again)
    was = footing.loose(book)
    with book.act("undo", act.happened_on, request_id=request_id, undoes=act.id, words=words) as pen:
        for code in dict.fromkeys(movement.code for movement in movements):
            _reverse(kitchen, pen, act, code)
        for change in reversed(journal.changes(book, act_id=act.id)):
            pen.change(change.subject_kind, change.subject, change.field, change.new, change.old)
        for table, row_id, _name in journal.created(book, act.id):
            pen.change(table, row_id, "void", 0, 1)
        if journal.drew_codes(book, act.id):
            # A plain copy of this book may have drawn the same, and would draw the same next.
            meta.walk_elsewhere(book.connection, book.chance)
        number = pen.act_id
        _refuse_left_loose(kitchen, act, number, was)
    codes = dict.fromkeys(movement.code for movement in movements)
    codes.update(
        dict.fromkeys(
            change.subject for change in journal.changes(book, act_id=act.id) if change.subject_kind == "package"
        )
    )
    codes.update(dict.fromkeys(children(book, act.id)))
    codes.update(dict.fromkeys(name for table, _, name in journal.created(book, act.id) if table == "own_hold"))
    rows = Rows(kitchen.afresh()).of_codes(list(codes))
    held = tuple(_held_words(kitchen.afresh(), act))
    return Undone(act=act, number=number, rows=rows, root=root, again=had_again, held=held)


def _held_words(kitchen: Kitchen, act: Act) -> Iterator[str]:
    """Of what an act on tests or holds was about: is it on hold, and of an animal, how much of it lies there."""
    touched = {(table, str(row_id)) for table, row_id, _ in journal.created(kitchen.book, act.id)}
    touched |= {(one.subject_kind, one.subject) for one in journal.changes(kitchen.book, act_id=act.id)}
    packs: dict[str, list[str]] = {}
    for row in Rows(kitchen).of_codes(origins.packages_held(kitchen.book, touched)):
        words = f"ON HOLD: {holds_words(row.holds, kitchen.today)}" if row.holds else "not on hold"
        packs.setdefault(words, []).append(show_code(row.code))
    for words, codes in packs.items():
        more = f" and {len(codes) - MOST_NAMED} more" if len(codes) > MOST_NAMED else ""
        yield f"{', '.join(codes[:MOST_NAMED])}{more}: {words}."
    ids = origins.animals_of(kitchen.book, touched)
    if not ids:
        return
    lineage, frozen = queries.lineage(kitchen.book), queries.packages(kitchen.book, State.FROZEN)
    for animal in queries.animals(kitchen.book):
        if animal.id not in ids:
            continue
        of_it = set(lineage.descendants("animal", animal.code))
        there = sum(package.state.quantity for package in frozen if package.code in of_it)
        meat = f"{count(there, 'package')} in the freezer"
        holds = animal_holds(animal)
        if holds:
            yield f"Animal {animal.code} is ON HOLD: {holds_words(holds, kitchen.today)}; {meat}."
        else:
            yield f"Animal {animal.code} is not on hold; {meat}."


def _reverse(kitchen: Kitchen, pen: Writer, act: Act, code: str) -> None:
    """Put a package where it was before the act: on the act's day, and on each later day something was recorded.

    What came later is taken back too, or undo refuses; but the latest day tells the state, so it is said again there.
    """
    own = journal.movements(kitchen.book, code=code)
    root, _ = journal.root(kitchen.book, act)
    # Had again, one of a lot leaves as it left then: the rest, which stays, does not say how or to whom.
    again = next((one for one in own if one.act_id == root.id and one.delta < 0), None) if root != act else None
    earlier = [movement for movement in own if movement.id < _first_id(own, act)]
    delta = -sum(movement.delta for movement in own if movement.act_id == act.id)
    # The days of the journal, too: a packing whose day was corrected stands there on the day before.
    said = (*own, *journal.movements(kitchen.book, code=code, as_written=True))
    later_days = {movement.happened_on for movement in said if movement.happened_on > act.happened_on}
    for day in (act.happened_on, *sorted(later_days)):
        by_then = in_order(movement for movement in earlier if movement.happened_on <= day)
        before = fold(by_then)
        leaves = again if delta < 0 else None
        reason = before.reason if before else Reason.VOID
        pen.move(
            code,
            state=before.state if before else State.GONE,
            reason=leaves.reason if leaves else reason,
            freezer_id=before.freezer_id if before else own[-1].freezer_id,
            place_id=before.place_id if before else own[-1].place_id,
            delta=delta,
            person=leaves.person if leaves else _person(by_then, before),
            on=day,
        )
        delta = 0


def _person(by_then: Sequence[Movement], state: PackageState | None) -> str:
    """Who has it; nobody while it is in the freezer, though some of a lot were given before."""
    return by_then[-1].person if by_then and state and state.state is State.GONE else ""


def _first_id(movements: tuple[Movement, ...], act: Act) -> int:
    return min(movement.id for movement in movements if movement.act_id == act.id)


def _last_standing(kitchen: Kitchen) -> Act | None:
    """This station's latest act that stands and is not itself an undo (one done again counts).

    What a count looked at goes with the count: once that is over, or was taken back, nobody means a single look.
    """
    over: set[str] = set()
    for act in journal.acts_of(kitchen.book, kitchen.book.station):
        if act.undoes is not None or act.kind in KEPT:
            continue
        if act.kind in ("count", "count-look"):
            of = {
                one.subject for one in journal.changes(kitchen.book, act_id=act.id) if one.subject_kind == "setting"
            }
            if act.kind == "count":
                over |= of
            elif of & over:
                continue
        if act.undone_by is None:
            return act
        try:
            return target(kitchen, act.id)
        except CannotUndo:
            continue
    return None


def _refuse_stood_upon(kitchen: Kitchen, act: Act, movements: tuple[Movement, ...]) -> None:
    """Raises: CannotUndo when a package of the act, or a row it made, was used by a later act that stands.

    To have an act again, nothing it stood on may have been taken back since.
    """
    book = kitchen.book
    root, had_again = journal.root(kitchen.book, act)
    later: dict[int, set[str]] = {}
    codes = dict.fromkeys(movement.code for movement in movements)
    if root.kind == "swap" and had_again:
        # Both packs must be as they were: a packing taken back since, or one of them gone, leaves none to exchange.
        codes = dict.fromkeys(subject for kind, subject in _subjects(kitchen, act) if kind == "package")
    for code in codes:
        own = journal.movements(book, code=code)
        for movement in own:
            if movement.act_id > root.id and not _only_sums_up(kitchen, act, movement, own):
                later.setdefault(movement.act_id, set()).add(show_code(code))
    for kind, subject in _subjects(kitchen, act):
        for change in journal.changes(book, subject_kind=kind, subject=subject):
            if change.act_id > root.id:
                later.setdefault(change.act_id, set()).add(journal.subject_name(book, kind, subject))
    for change in journal.changes(book, act_id=act.id):
        if (change.subject_kind, change.field) == ("package", "packed_on"):
            # With the day it was packed goes the day it came: what was recorded late since then stands on that.
            moved = journal.movements(book, code=change.subject)
            for movement in moved:
                if movement.act_id > root.id and movement.happened_on.isoformat() < str(change.old):
                    later.setdefault(movement.act_id, set()).add(show_code(change.subject))
        if change.subject_kind == "package":
            # What was split off since says what the book said then.
            for act_id in partings(book, change.subject):
                if act_id > root.id:
                    later.setdefault(act_id, set()).add(show_code(change.subject))
    for act_id, words in journal.uses(book, act.id):
        later.setdefault(act_id, set()).add(words)
    standing: dict[Act, set[str]] = {}
    for act_id, names in later.items():
        other = journal.act(book, act_id)
        while other is not None and other.undone_by is not None:
            # Taken back and had again, it stands by the act that had it again.
            other = journal.act(book, other.undone_by)
        if other is None:
            continue
        origin, undone = journal.root(kitchen.book, other)
        stands_on_it = other.id > act.id and not undone
        took_its_ground = act.undoes is not None and undone and origin.id < root.id
        if stands_on_it or took_its_ground:
            standing.setdefault(other, set()).update(names)
    if standing:
        raise _stood_upon(act, standing, _put_back_words(kitchen, movements))


def _only_sums_up(kitchen: Kitchen, act: Act, movement: Movement, own: Sequence[Movement]) -> bool:
    """Whether a join only said by this step that what both books took of a lot left nothing: it decided nothing.

    ``act``: that is taken back, with which some of the lot come or go.  ``own``: all steps of the lot.
    """
    by = journal.act(kitchen.book, movement.act_id)
    if by is None or by.kind != "join" or (by.id, movement.code) in journal.overruled(kitchen.book):
        return False
    summed = all(one.delta == 0 and one.state is State.GONE for one in own if one.act_id == by.id)
    of_lot = any(one.delta > 1 for one in own if one.act_id < by.id)
    return summed and of_lot and any(one.delta for one in own if one.act_id == act.id)


def _put_back_words(kitchen: Kitchen, movements: Sequence[Movement]) -> str:
    """How packages that an act took come back though it cannot be taken back; "" when none of them is out."""
    said = []
    for code in dict.fromkeys(movement.code for movement in movements):
        taken = -sum(movement.delta for movement in movements if movement.code == code)
        number = min(taken, how_many_out(kitchen, code))
        said += [show_code(code) + (f" {number}" if number > 1 else "")] if number > 0 else []
    return f"What is there after all is put back: freezerbox put-back {' '.join(said[:MOST_NAMED])}" if said else ""


def _refuse_left_loose(kitchen: Kitchen, act: Act, number: int, was: Collection[Loose]) -> None:
    """Raises: CannotUndo when what stands now would stand on a record that counts no longer, and did not before.

    ``number``: of the undo, all of which is written by now, and is rolled back.  ``was``: what was loose before.
    """
    new = came_loose(kitchen, was)
    standing: dict[Act, set[str]] = {}
    for one in new:
        if footing.taken_by(kitchen.book, one) == number:
            other = journal.act(kitchen.book, footing.said_by(kitchen.book, one, act.id))
            if other is not None and other.id != number:
                standing.setdefault(other, set()).add(loose_name(one))
    if standing:
        raise _stood_upon(act, standing)
    if new:
        raise CannotUndo(
            f"Act {act.id} ({act.words}) cannot be taken back; what it would need is not there any more:\n"
            f"{no_ground_words(kitchen, new)}",
            act=act.id,
        )


def _stood_upon(act: Act, standing: Mapping[Act, set[str]], otherwise: str = "") -> CannotUndo:
    """The refusal that names the later acts, and those things in each that stand on ``act``.

    ``otherwise``: what helps where one of them stays.
    """
    others = sorted(standing, key=lambda other: other.id)
    way = f"Take back the later ones first, such as: freezerbox undo {others[-1].id}"
    # Nobody can take a join back, and so not what it stands on.
    kept = next((other for other in others if other.kind in KEPT), None)
    if kept is not None:
        way = f"Act {kept.id} stays. {otherwise or KEPT[kept.kind]}"
    lines = []
    for other in others[:MOST_NAMED]:
        names = [name for name in sorted(standing[other]) if name and name not in other.words]
        lines.append(f"  act {other.id}: {other.words}" + (f" ({', '.join(names[:4])})" if names else ""))
    head = f"Act {act.id} ({act.words}) cannot be taken back; these came after it and stand on it:"
    return CannotUndo("\n".join([head, *lines, way]), act=act.id, later=[other.id for other in others])


def _subjects(kitchen: Kitchen, act: Act) -> list[tuple[str, str]]:
    changed = [(change.subject_kind, change.subject) for change in journal.changes(kitchen.book, act_id=act.id)]
    packages = [("package", movement.code) for movement in journal.movements(kitchen.book, act_id=act.id)]
    made = [(table, str(row_id)) for table, row_id, _ in journal.created(kitchen.book, act.id)]
    return list(dict.fromkeys([*changed, *packages, *made]))
