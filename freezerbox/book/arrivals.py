"""The past as it is known now: packages whose pack date was corrected, or whose labels were swapped.

The journal is never changed: the step of a packing stands on the day it was written for, and each step by the label
that was scanned.  Whoever asks for the past asks for it as corrected, and an undo of the correction gives back what
was known before it.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from freezerbox.book import values
from freezerbox.book.door import Book
from freezerbox.core.fold import in_order, silent_acts
from freezerbox.core.records import Movement, Reason, State

PARTING = ("split", "count", "seal-lost")
"""Kinds of act that give some of a lot, or what is left of a pack, a code of its own."""
_CORRECTED = "SELECT DISTINCT subject FROM change WHERE subject_kind = 'package' AND field = 'packed_on'"
_SWAPS = """SELECT c.act_id, c.subject_kind, c.subject, c.old, c.new FROM change c JOIN act a ON a.id = c.act_id
WHERE a.kind = 'swap' AND (c.subject_kind = 'package' OR c.field = 'child') ORDER BY c.id"""
_OF_ONE = """SELECT 1 FROM change c WHERE c.subject_kind = 'package' AND c.subject = :code AND (c.field = 'packed_on'
  OR EXISTS (SELECT 1 FROM act a WHERE a.id = c.act_id AND a.kind = 'swap'))
UNION ALL SELECT 1 FROM change c WHERE c.subject_kind = 'lineage' AND c.field = 'child' AND :code IN (c.old, c.new)"""
_OF_THESE = "IN (SELECT value FROM json_each(:codes))"
_PACKED = f"""SELECT p.code, p.packed_on, c.act_id, c.old FROM package p
LEFT JOIN change c ON c.subject_kind = 'package' AND c.subject = p.code AND c.field = 'packed_on'
WHERE p.code {_OF_THESE} ORDER BY c.id"""

_Swaps = dict[int, tuple[str, str]]
"""Swaps of labels: by the number of the act, the two codes."""


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

    Labels that were swapped had been mixed up since the later of the two was stuck on, as known now.  Swaps are added
    up first: they say which pack bears which label in the end, and a label that has its own pack again was never
    mixed up.  Labels that changed round among each other, in a ring of two or more, did so when the last of them was
    stuck on.  So the past of a pack is what was done under the label it was packed with until then, and under the
    label it bears now from then on; by then it lay where that label was known to lie.

    What was entered late, after a swap, of a day before the labels were mixed up, was told of the pack that bore the
    label as far as the book knew then.  Of a lot others went their ways under its label: a swap with the last of it
    leaves each label its own steps, none of them before the day its pack was packed.
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
    """The lines of all packages whose pack date or label ever changed, or of ``code`` and those it was swapped with.

    With the steps of each as they were written.
    """
    if code is not None and book.connection.execute(_OF_ONE, {"code": code}).fetchone() is None:
        return {}, {}
    swaps, silent = _swaps(book), _silent(book)
    if code is None:
        codes = {row[0] for row in book.connection.execute(_CORRECTED)}.union(*swaps.values())
    else:
        codes = _connected({code}, swaps.values())
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
    stand = {
        act_id: pair
        for act_id, pair in swaps.items()
        if act_id not in silent and all(one in lines and lines[one].first is not None for one in pair)
    }
    days = {one: values.day(packed[one]) for one in lines}
    _exchange(lines, stand, days, silent)
    for one, line in lines.items():
        _settle(line, days[one], silent)
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


def _exchange(lines: dict[str, _Line], swaps: _Swaps, packed: Mapping[str, date], silent: frozenset[int]) -> None:
    """Give each label that was swapped the past of the pack that bears it now, as of ``retold``.

    ``swaps``: those that stand.  ``packed``: the day that the book says of the pack which bears a label now.
    """
    lots = {one for one, line in lines.items() if any(step.delta > 1 for step in line.steps)}
    single = {act_id: pair for act_id, pair in swaps.items() if lots.isdisjoint(pair)}
    total = {one: sum(step.delta for step in line.steps) for one, line in lines.items()}
    late: list[tuple[str, Movement]] = []
    for label in {one for pair in single.values() for one in pair}:
        began = min(act_id for act_id, pair in single.items() if label in pair)
        late += [(label, step) for step in lines[label].after if step.act_id > began]
        lines[label].after = [step for step in lines[label].after if step.act_id < began]
    borne = _borne(single)
    for label, pack in borne.items():
        _settle(lines[pack], packed[label], silent)
    for label, step in sorted(late, key=lambda one: one[1].id):
        known = _borne({act_id: pair for act_id, pair in single.items() if act_id < step.act_id})
        before = _place_in_order(step) < _place_in_order(_mixed_up(lines, known, label))
        lines[known[label] if before else label].after.append(step)
    lines |= {
        label: _joined(label, lines[label], lines[pack], _mixed_up(lines, borne, label), total[label])
        for label, pack in borne.items()
        if label != pack
    }
    for label in _connected(lots & {one for pair in swaps.values() for one in pair}, swaps.values()):
        line, day = lines[label], packed[label]
        moved = [replace(step, happened_on=max(step.happened_on, day)) for step in line.after]
        line.first = replace(line.first, happened_on=max(line.first.happened_on, day)) if line.first else None
        line.after = moved


def _borne(swaps: _Swaps) -> dict[str, str]:
    """By each label that was swapped, the label with which the pack was packed that bears it after ``swaps``."""
    found = {one: one for pair in swaps.values() for one in pair}
    for _, (one, other) in sorted(swaps.items()):
        found[one], found[other] = found[other], found[one]
    return found


def _mixed_up(lines: Mapping[str, _Line], borne: Mapping[str, str], label: str) -> Movement | None:
    """The step with which the last came of those labels that changed round with ``label``."""
    ring = [label]
    while (following := borne[ring[-1]]) != label:
        ring.append(following)
    return max((lines[one].first for one in ring), key=_place_in_order)


def _joined(label: str, own: _Line, pack: _Line, mixed: Movement | None, total: int) -> _Line:
    """The line of a label that changed round with others: that of its ``pack`` up to then, and ``own`` from then on.

    ``total``: what all steps of the label add up to.
    """
    if own.first is None or pack.first is None or mixed is None:
        return own
    point = _place_in_order(mixed)
    kept = [step for step in own.ahead if _place_in_order(step) < _place_in_order(pack.first)]
    since = [step for step in own.after if _place_in_order(step) > point]
    lay = max((step for step in (own.first, *own.after) if step not in since), key=_place_in_order)
    before: list[Movement] = []
    if pack.first != mixed:
        printed = sum(step.delta for step in pack.ahead) - sum(step.delta for step in kept)
        moved = [step for step in pack.after if _place_in_order(step) < point]
        before = in_order([replace(pack.first, delta=pack.first.delta + printed), *moved])
    # Each label goes on where it was scanned: there the pack lies that bears it now.
    there = total - sum(step.delta for step in (*kept, *before, *since))
    came = replace(mixed, freezer_id=lay.freezer_id, place_id=lay.place_id, delta=there)
    stays = before and not there and (before[-1].state is State.GONE or _place(before[-1]) == _place(came))
    first, *after = (replace(step, code=label) for step in (*before, *([] if stays else [came]), *since))
    return _Line(ahead=kept, first=first, after=after, with_pack=pack.with_pack)


def _place(step: Movement) -> tuple[int | None, int | None]:
    return step.freezer_id, step.place_id


def _place_in_order(step: Movement | None) -> tuple[date, int]:
    return (step.happened_on, step.id) if step else (date.max, 0)


def _swaps(book: Book) -> _Swaps:
    """Every swap of labels there ever was, in order."""
    found: dict[int, dict[str, None]] = {}
    for act_id, kind, subject, old, new in book.connection.execute(_SWAPS):
        found.setdefault(act_id, {}).update(dict.fromkeys((subject,) if kind == "package" else (old, new)))
    return {
        act_id: (pair[0], pair[1])
        for act_id, pair in ((key, (*two,)) for key, two in found.items())
        if len(pair) == 2
    }


def _connected(codes: Iterable[str], pairs: Iterable[tuple[str, str]]) -> set[str]:
    """``codes``, those they were swapped with, those that these were swapped with, and so on."""
    found, every, grown = set(codes), [set(pair) for pair in pairs], True
    while grown:
        met = set().union(*(pair for pair in every if not pair.isdisjoint(found)))
        grown = not met <= found
        found |= met
    return found


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
