"""Giving labels printed ahead their weight: a code, then what the scale shows."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import Annotated, cast

import typer

from freezerbox.book import journal
from freezerbox.chores import scanner
from freezerbox.chores import undo as undo_chore
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pack import read_weight
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.scanned import in_the_way
from freezerbox.chores.take import Done, put_together
from freezerbox.chores.weigh import to_weigh
from freezerbox.chores.weigh import weigh as weigh_one
from freezerbox.cli.options import MINUS_IS_A_VALUE, AsJson, Yes, ask, kitchen_of, refuse_options
from freezerbox.cli.output import answer, note, say, say_json_line
from freezerbox.cli.scale_key import ScaleKey, has_scale
from freezerbox.cli.wiring import at_terminal
from freezerbox.core.code import LENGTH, compact, is_valid, show_code
from freezerbox.errors import BookTrouble, FreezerboxError, InputError, InvalidCode, InvalidMass, OutOfLine
from freezerbox.reading.lines import Asked, Line


def weigh(
    ctx: typer.Context,
    code: Annotated[str, typer.Argument(metavar="[CODE]", help="A code, with its weight after it.")] = "",
    weight: Annotated[list[str] | None, typer.Argument(metavar="[WEIGHT]", help="What the scale shows.")] = None,
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Give labels printed ahead their weight: scan, weight, Enter.

    Without a code it reads lines until the end: a code, then a weight, or both on one line; undo takes the last back.
    """
    words = [code, *(weight or ())]
    refuse_options(words, "weigh")
    with kitchen_of(ctx) as kitchen:
        if code and weight:
            code, *weight = put_together(kitchen, words)
        if code and weight:
            # One label has one weight: 1 lb 4 needs no quotes here.
            _say_weighed(weigh_one(kitchen, code, " ".join(weight), yes=yes), as_json)
            return
        if code:
            raise InputError(f"Give the weight too: freezerbox weigh {code} 1.02", value=code)
        lines = _Lines(kitchen=kitchen, yes=yes, as_json=as_json)
        lines.read()
        if lines.troubled:
            raise typer.Exit(BookTrouble.exit_code)


@dataclass
class _Lines:
    """Labels and weights as they come, a line each.

    kitchen: as the session began.  waiting: code of the label that waits for its weight, or "".  troubled: a line
    met trouble with the book.
    """

    kitchen: Kitchen
    yes: bool
    as_json: bool
    waiting: str = ""
    troubled: bool = False

    def __post_init__(self) -> None:
        self.talking = at_terminal()
        asks_it = self.talking and has_scale(self.kitchen)
        self.scale = ScaleKey(self.kitchen, twin="Type a twin's weight") if asks_it else None
        # Undo here takes back what came after this, and nothing from before the session.
        self.before = journal.latest(self.kitchen.book)

    def read(self) -> None:
        """Weigh until the lines end."""
        if self.talking:
            say("Scan a label, type its weight, Enter. undo takes the last back. An empty line or done ends it.")
        while raw := self._prompted():
            if self.waiting and self.scale and not raw.strip():
                raw = self.scale.weigh()
                if not raw:
                    continue
            try:
                with self.kitchen.book.told():
                    line = scanner.read(self.kitchen, raw)
                    if line.asked is Asked.DONE or (line.asked is Asked.NOTHING and self.talking):
                        break
                    if line.asked is Asked.NOTHING:
                        continue
                    self._answer(line)
            except BookTrouble as error:
                self.troubled = True
                note(in_the_way(error, raw).message)
            except FreezerboxError as error:
                note(error.message)
        if self.waiting:
            note(f"No weight came for {show_code(self.waiting)}; it is still without one.")
        sys.stdout.flush()

    def _answer(self, line: Line) -> None:
        if line.asked is Asked.UNDO:
            self._undo()
            return
        _refuse_card(self.kitchen, line.text)
        if self.waiting:
            self._weight_or_label(line.text)
        else:
            self._label(line.text)

    def _prompted(self) -> str:
        if self.talking:
            print(f"weight of {show_code(self.waiting)}: " if self.waiting else "scan: ", end="", flush=True)
        return sys.stdin.readline()

    def _label(self, text: str) -> None:
        """A label, perhaps with its weight behind it; one that has a weight already asks for none."""
        kitchen = self.kitchen.afresh()
        first, *rest = put_together(kitchen, text.split())
        weight = " ".join(rest) if len(first) <= LENGTH + 1 else ""
        if not (weight and _is_weight(kitchen, weight)):
            # One word, or a scanned symbol: what follows the code in it may hold spaces.
            first, weight = text, ""
        if not is_valid(compact(first)) and _is_weight(kitchen, first):
            raise InputError(f"{first!r} came without a label. Scan the label first, then its weight.", value=first)
        self.waiting = to_weigh(kitchen, first, weight or "WEIGHT").code
        if weight:
            self._weigh(weight)

    def _weight_or_label(self, text: str) -> None:
        """The weight, or the next label scanned instead: then the first one simply has none yet."""
        if _is_weight(self.kitchen, text) or not self._is_label(text):
            self._weigh(text)
            return
        left, self.waiting = self.waiting, ""
        try:
            self._label(text)
        finally:
            if self.waiting != left:
                note(f"No weight came for {show_code(left)}; it is still without one.")

    def _is_label(self, text: str) -> bool:
        first = put_together(self.kitchen, text.split())[0]
        return is_valid(compact(text)) or is_valid(compact(first))

    def _weigh(self, weight: str) -> None:
        try:
            done = weigh_one(self.kitchen.afresh(), self.waiting, weight, yes=self.yes)
        except OutOfLine as error:
            if not self.talking:
                raise
            (doubt,) = cast("list[str]", error.facts["doubts"])
            if not ask(f"{doubt}. Right?", pad=True):
                note("Not recorded. Weigh it again.")
                return
            done = weigh_one(self.kitchen.afresh(), self.waiting, weight, yes=True)
        self.waiting = ""
        if self.scale:
            self.scale.kept()
        _say_weighed(done, self.as_json)

    def _undo(self) -> None:
        """Take back the last weighing of this session; a label that waits goes on waiting."""
        kitchen = self.kitchen.afresh()
        undone = undo_chore.undo(kitchen, undo_chore.target(kitchen, after=self.before))
        if self.scale:
            self.scale.forget()
        if not self.as_json:
            answer(f"{undone.words}.")
            return
        row = undone.rows[0]
        say_json_line(
            {"code": row.code, "outcome": "undone", "message": f"{undone.words}.", "package": row_json(row)}
        )


def _refuse_card(kitchen: Kitchen, text: str) -> None:
    """Raises: InvalidCode for a sign's or a card's code; a label that waits goes on waiting."""
    code = compact(text)
    if is_valid(code) and not code[0].isalpha() and not _is_weight(kitchen, text):
        raise InvalidCode(
            f"{show_code(code)} is a sign's or a card's code, and no label's. Of the cards only UNDO and DONE count "
            "here.",
            value=text,
        )


def _is_weight(kitchen: Kitchen, text: str) -> bool:
    try:
        read_weight(kitchen, text)
    except InvalidMass:
        return False
    return True


def _say_weighed(done: Done, as_json: bool) -> None:
    if as_json:
        said = {"code": done.row.code, "outcome": "weighed", "message": done.message}
        say_json_line(said | {"package": row_json(done.row)})
    else:
        answer(done.message)


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang this command into the program."""
    app.command(
        rich_help_panel=panel,
        context_settings=MINUS_IS_A_VALUE,
        epilog="Example: freezerbox weigh K7P-3MT 1.02",
    )(weigh)
