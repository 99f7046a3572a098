"""The past as it is known now: packages whose pack date was corrected, or whose labels were swapped.

The journal is never changed: the step of a packing stands on the day it was written for, and each step by the label
that was scanned.  Whoever asks for the past asks for it as corrected, and an undo of the correction gives back what
was known before it.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from freezerbox.book import values
from freezerbox.book.door import Book
from freezerbox.core.fold import in_order, silent_acts
from freezerbox.core.records import Movement, Reason, State

PARTING = ("split", "count", "seal-lost")
"""Kinds of act that give some of a lot, or what is left of a pack, a code of its own."""
_CORRECTED = "SELECT DISTINCT subject FROM change WHERE subject_kind = 'package' AND field = 'packed_on'"
_SWAPS = """SELECT c.act_id, c.subject, c.old FROM change c JOIN act a ON a.id = c.act_id
WHERE a.kind = 'swap' AND c.subject_kind = 'package' AND c.field = 'packed_on' ORDER BY c.id"""
_OF_THESE = "IN (SELECT value FROM json_each(:codes))"
_PACKED = f"""SELECT p.code, p.packed_on, c.act_id, c.old FROM package p
LEFT JOIN change c ON c.subject_kind = 'package' AND c.subject = p.code AND c.field = 'packed_on'
WHERE p.code {_OF_THESE} ORDER BY c.id"""


@dataclass(slots=True)
class _Line:
    """The steps of one package.  ahead: of the label printed ahead.  first: with which it came.  after: all later.

    with_pack: it came on the day it was packed, as far as the book knew then.
    """

    ahead: list[Movement]
    first: Movement | None
    after: list[Movement] = field(default_factory=list)
    with_pack: bool = False

    @property
    def steps(self) -> list[Movement]:
        return in_order([*self.ahead, *([self.first] if self.first else []), *self.after])


def movement_of(row: sqlite3.Row) -> Movement:
    """A row of the journal as a record."""
    return Movement(
        id=row["id"],
        act_id=row["act_id"],
        code=row["code"],
        happened_on=values.day(row["happened_on"]),
        state=values.word(State, row["state"]),
        reason=values.word(Reason, row["reason"]) if row["reason"] else None,
        freezer_id=row["freezer_id"],
        place_id=row["place_id"],
        delta=row["delta"],
        person=row["person"],
    )


def retold(book: Book, code: str | None = None) -> Mapping[str, tuple[Movement, ...]]:
    """The steps of each package, or of that one, whose past is another than its label's was, in order.

    Where it came on the day it was packed, as far as the book knew then, it came on the day that is known now: but
    never before its label was printed, nor after a later step that stands.

    Labels that were swapped were so from the day on which the later of the two packs came: what was done under a
    label before that was done to the pack which bears the other one now.
    """
    lines, written = _lines(book, code)
    return {
        one: tuple(line.steps)
        for one, line in lines.items()
        if code in (None, one) and line.steps != in_order(written[one])
    }


def first_against(book: Book, code: str, packed_on: date) -> Movement | None:
    """The first step that stands after a package came, and happened before ``packed_on``: it speaks against that day.

    Of a part of a lot, so does the day on which it was parted.
    """
    line = _lines(book, code)[0].get(code) or _line(_as_written(book, [code]), None, {})
    silent, parting = _silent(book), _parting(book)
    came = [line.first] if line.first and line.first.act_id in parting else []
    against = (one for one in in_order([*came, *line.after]) if one.happened_on < packed_on)
    return next((one for one in against if one.act_id not in silent), None)


def _lines(book: Book, code: str | None) -> tuple[dict[str, _Line], dict[str, list[Movement]]]:
    """The lines of all packages whose pack date ever changed, or of ``code`` and those its label was swapped with.

    With the steps of each as they were written.
    """
    rows = book.connection.execute(_CORRECTED + ("" if code is None else " AND subject = :code"), {"code": code})
    codes = {row[0] for row in rows}
    if not codes:
        return {}, {}
    silent = _silent(book)
    swaps = [swap for swap in _swaps(book) if swap.act_id not in silent]
    grown = code is not None
    while grown:
        met = {one for swap in swaps if codes & swap.packed.keys() for one in swap.packed}
        grown = not met <= codes
        codes |= met
    packed: dict[str, str] = {}
    changed: dict[str, list[tuple[int, str]]] = {}
    for one, day, act_id, old in book.connection.execute(_PACKED, {"codes": json.dumps(sorted(codes))}):
        packed[one] = day
        changed.setdefault(one, []).append((act_id, old))
    own: dict[str, list[Movement]] = {}
    for step in _as_written(book, codes):
        own.setdefault(step.code, []).append(step)
    parting = _parting(book)
    lines = {one: _line(steps, packed.get(one), dict(reversed(changed.get(one, [])))) for one, steps in own.items()}
    for line in lines.values():
        line.with_pack &= line.first is not None and line.first.act_id not in parting
    for swap in swaps:
        if swap.packed.keys() <= lines.keys():
            for one, day in swap.packed.items():
                _settle(lines[one], day, silent)
            _exchange(*(lines[one] for one in swap.packed), before=swap.act_id)
    for one, line in lines.items():
        _settle(line, values.day(packed[one]), silent)
    return lines, own


def _line(steps: list[Movement], packed_on: str | None, changed: Mapping[int, str]) -> _Line:
    """The line of a package as its steps were written.  ``changed``: its pack date before each act that set it."""
    by_number = sorted(steps, key=lambda one: one.id)
    first = next((one for one in by_number if one.state is State.FROZEN), None)
    if first is None:
        return _Line(ahead=by_number, first=None)
    later = [act_id for act_id in changed if act_id is not None and act_id > first.act_id]
    day = changed[min(later)] if later else packed_on
    return _Line(
        ahead=[one for one in by_number if one.id < first.id],
        first=first,
        after=[one for one in by_number if one.id > first.id],
        with_pack=first.happened_on.isoformat() == day,
    )


def _settle(line: _Line, packed_on: date, silent: frozenset[int]) -> None:
    """Let a package have come on the day it was packed, as known now."""
    if line.first is None or not line.with_pack:
        return
    later = [one.happened_on for one in line.after if one.act_id not in silent]
    day = max([min([packed_on, *later]), *(one.happened_on for one in line.ahead)])
    line.first = replace(line.first, happened_on=day)


def _exchange(one: _Line, other: _Line, *, before: int) -> None:
    """Give each line the past of the other, up to where the later of the two packs came.

    ``before``: of the act that swapped them; what was recorded after it was done to the packs as they are known now.
    """
    if one.first is None or other.first is None:
        return
    elder, later = sorted((one, other), key=lambda line: _place_in_order(line.first))
    came, began = later.first, elder.first
    if came is None or began is None:
        return
    if any(step.delta > 1 for line in (one, other) for step in line.steps):
        # Of a lot others went their ways under the label; only the last of it has another pack's record now.
        first, *rest = (
            step if step.happened_on >= came.happened_on else replace(step, happened_on=came.happened_on)
            for step in (began, *elder.after)
        )
        elder.first, elder.after = first, rest
        return
    point = _place_in_order(came)
    moved = [step for step in elder.after if _place_in_order(step) < point and step.act_id < before]
    passed = in_order([began, *moved])
    delta, printed = (
        sum(step.delta for step in passed),
        [sum(step.delta for step in line.ahead) for line in (elder, later)],
    )
    code = {id(elder): began.code, id(later): came.code}
    last = passed[-1]
    elder.after = [step for step in elder.after if step not in moved]
    later.ahead = [step for step in later.ahead if _place_in_order(step) < _place_in_order(began)]
    kept = sum(step.delta for step in later.ahead)
    # Each label goes on where it was scanned: there the pack lies that bears it now.
    elder.first = replace(came, code=code[id(elder)], freezer_id=last.freezer_id, place_id=last.place_id, delta=delta)
    stays = replace(came, delta=came.delta + printed[1] - printed[0] - delta)
    later.first = replace(began, code=code[id(later)], delta=began.delta + printed[0] - kept)
    lies_there = (stays.freezer_id, stays.place_id, stays.delta) == (last.freezer_id, last.place_id, 0)
    later.after = [
        *(replace(step, code=code[id(later)]) for step in moved),
        *([] if lies_there else [stays]),
        *later.after,
    ]
    elder.with_pack, later.with_pack = later.with_pack, elder.with_pack


def _place_in_order(step: Movement | None) -> tuple[date, int]:
    return (step.happened_on, step.id) if step else (date.max, 0)


@dataclass(frozen=True, slots=True)
class _Swap:
    """A swap of labels.  packed: the pack date of each of the two just before it."""

    act_id: int
    packed: dict[str, date]


def _swaps(book: Book) -> Iterator[_Swap]:
    found: dict[int, dict[str, date]] = {}
    for act_id, code, old in book.connection.execute(_SWAPS):
        found.setdefault(act_id, {})[code] = values.day(old)
    return (_Swap(act_id, packed) for act_id, packed in found.items() if len(packed) == 2)


def _as_written(book: Book, codes: Iterable[str]) -> list[Movement]:
    rows = book.connection.execute(
        f"SELECT * FROM movement WHERE code {_OF_THESE} ORDER BY id", {"codes": json.dumps(sorted(codes))}
    )
    return [movement_of(row) for row in rows]


def _silent(book: Book) -> frozenset[int]:
    rows = book.connection.execute("SELECT id, undoes_act FROM act WHERE undoes_act > 0")
    return silent_acts({row[0]: row[1] for row in rows})


def _parting(book: Book) -> frozenset[int]:
    marks = ", ".join("?" * len(PARTING))
    return frozenset(
        row[0] for row in book.connection.execute(f"SELECT id FROM act WHERE kind IN ({marks})", PARTING)
    )
