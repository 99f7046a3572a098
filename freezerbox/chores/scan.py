"""A scanning session: each line is a package, taken as it is scanned, with one line of plain words back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from freezerbox.book import journal, queries
from freezerbox.chores import undo as undoing
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import Done, last_taken, read_code, take, void_words
from freezerbox.chores.wording import coded_line, count
from freezerbox.core.code import show_code
from freezerbox.core.records import Reason, State
from freezerbox.errors import AlreadyGone, CannotUndo, FreezerboxError, Held, InputError, InvalidCode, UnknownCode
from freezerbox.reading.lines import Asked, read_line
from freezerbox.reading.pictures import Symbol, read_picture

SAME_SCAN_SECONDS = 10
SAME_SCAN_SECONDS_LOT = 1

_OUTCOMES = {Reason.EATEN: "taken", Reason.GIVEN: "given", Reason.DISCARDED: "discarded"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Scanned:
    """What one scan came to.

    code: None when none was read.  outcome: a word of the JSON contract.  message: plain words.  row: the package as
    it is now; None when there is none.  hint: a quiet second line, or "".
    """

    code: str | None
    outcome: str
    message: str
    row: Row | None = None
    hint: str = ""


@dataclass
class Session:
    """A scanning session at one station; ``reason`` is how the packages leave."""

    kitchen: Kitchen
    reason: Reason = Reason.EATEN
    already_eaten: bool = False
    on: str = ""
    _last: dict[str, datetime] = field(default_factory=dict)

    def handle(self, raw: str) -> Scanned | None:
        """One line; ``None`` for an empty one or the end word.  Never raises for what was scanned."""
        line = read_line(raw)
        self.kitchen = self.kitchen.afresh()
        if line.asked in (Asked.NOTHING, Asked.DONE):
            return None
        if line.asked is Asked.UNDO:
            return self._undo()
        return self.code(line.text)

    def code(self, text: str) -> Scanned:
        """One code, as scanned or typed."""
        kitchen = self.kitchen
        try:
            code = read_code(kitchen, text)
        except InvalidCode as error:
            return Scanned(code=None, outcome="damaged", message=error.message)
        if sign := self._sign(code):
            return sign
        now = kitchen.clock.stamp()
        again = self._again(code, now)
        if again is not None:
            return again
        try:
            done = take(kitchen, code, self.reason, already_eaten=self.already_eaten, on=self.on)
        except FreezerboxError as error:
            return self._refused(code, error)
        self._last[code] = now
        return self._done(done)

    def _done(self, done: Done) -> Scanned:
        left = done.row.package.state.quantity
        message = done.message
        if left:
            taken = _taken_of_lot(self.kitchen, done.row)
            message = f"{message.rsplit('. ', 1)[0]}. {taken} taken, {left} left."
        return Scanned(
            code=done.row.code,
            outcome=_OUTCOMES.get(self.reason, "taken"),
            message=message,
            row=done.row,
            hint=done.hint,
        )

    def _again(self, code: str, now: datetime) -> Scanned | None:
        """The same code again within seconds counts once: a scanner bounced, or a hand was unsure."""
        package = queries.package(self.kitchen.book, code)
        if package is None:
            return None
        lot = package.state.state is State.FROZEN
        before = self._last.get(code)
        if not lot and package.state.reason is not Reason.VOID and before is None:
            stamp = last_taken(self.kitchen, code)
            before = datetime.fromisoformat(stamp) if stamp and package.state.state is State.GONE else None
        window = timedelta(seconds=SAME_SCAN_SECONDS_LOT if lot else SAME_SCAN_SECONDS)
        if before is None or not timedelta(0) <= now - before < window:
            return None
        row = Rows(self.kitchen).row(package)
        return Scanned(
            code=code,
            outcome="duplicate",
            message=f"{coded_line(self.kitchen, row)}: scanned twice, counted once.",
            row=row,
        )

    def _sign(self, code: str) -> Scanned | None:
        kind = queries.code_kind(self.kitchen.book, code)
        if kind == "place":
            place = queries.place_of_sign(self.kitchen.book, code)
            if place is None:
                return Scanned(
                    code=code, outcome="unknown", message=f"{show_code(code)} is the sign of a place no longer used."
                )
            inside = [
                package
                for package in queries.packages(self.kitchen.book, State.FROZEN)
                if package.state.place_id == place.id
            ]
            number = sum(package.state.quantity for package in inside)
            return Scanned(
                code=code,
                outcome="place",
                message=f"{place.name}, {place.freezer}: {count(number, 'package')} by the list. Nothing changed.",
            )
        if kind == "card":
            return Scanned(
                code=code, outcome="card", message=f"{show_code(code)} is a command card. Nothing changed."
            )
        return None

    def _refused(self, code: str, error: FreezerboxError) -> Scanned:
        package = queries.package(self.kitchen.book, code)
        row = Rows(self.kitchen).row(package) if package else None
        outcome = "unknown"
        if isinstance(error, Held):
            outcome = "held"
        elif row is not None and row.package.state.reason is Reason.VOID:
            return Scanned(code=code, outcome="void", message=void_words(self.kitchen, row), row=row)
        elif isinstance(error, AlreadyGone):
            outcome = "already-gone"
        elif not isinstance(error, UnknownCode):
            outcome = "refused"
        return Scanned(code=code, outcome=outcome, message=error.message, row=row)

    def _undo(self) -> Scanned:
        try:
            undone = undoing.undo(self.kitchen, undoing.target(self.kitchen))
        except CannotUndo as error:
            return Scanned(code=None, outcome="refused", message=error.message)
        for row in undone.rows:
            self._last.pop(row.code, None)
        first = undone.rows[0] if undone.rows else None
        return Scanned(
            code=first.code if first else None,
            outcome="undone",
            message=f"Taken back: {undone.act.words}.",
            row=first,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoCode:
    """A code seen in a photograph.  code: None when the symbol is none of ours."""

    code: str | None
    symbol: Symbol


def look_at_photos(kitchen: Kitchen, files: Sequence[Path]) -> tuple[tuple[Path, tuple[PhotoCode, ...]], ...]:
    """What each photograph shows; nothing is changed.  Raises: InputError for a file that is no picture."""
    found = []
    for file in files:
        codes: dict[str, PhotoCode] = {}
        for symbol in read_picture(file):
            try:
                code = read_code(kitchen, symbol.text)
            except InputError:
                codes.setdefault(symbol.text, PhotoCode(code=None, symbol=symbol))
                continue
            codes.setdefault(code, PhotoCode(code=code, symbol=symbol))
        found.append((file, tuple(codes.values())))
    return tuple(found)


def _taken_of_lot(kitchen: Kitchen, row: Row) -> int:
    movements = journal.movements(kitchen.book, code=row.code)
    return sum(movement.delta for movement in movements if movement.delta > 0) - row.package.state.quantity
