"""What happened: the history of a package, and the list of acts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from freezerbox.book import journal, queries
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.chores.take import find_row
from freezerbox.chores.wording import PULLED, was_pulled
from freezerbox.core.mass import show_mass
from freezerbox.core.records import Act, Change, Movement, Reason, State

FIELD_WORDS = {
    "net_mg": "weight", "pieces": "pieces", "packed_on": "pack date", "first_frozen_on": "first frozen",
    "times_frozen": "times frozen", "fat_percent": "fat percent", "reserved_for": "reserved for",
    "other_words": "name", "missing_since": "not found in a count",
}  # fmt: skip
"""What people call a field, where its own name is not the word."""
_SILENT_FIELDS = ("typed", "run_number", "run_size")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One line of a package's history.  on: the household's day.  by: who; "" when not said."""

    on: date
    act_id: int
    kind: str
    words: str
    by: str
    recorded_at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """A package and all that happened to it, in the order it happened."""

    row: Row
    steps: tuple[Step, ...]


def story(kitchen: Kitchen, text: str) -> Story:
    """The history of the package of that code.  Raises: InvalidCode, UnknownCode."""
    row = find_row(kitchen, text)
    book = kitchen.book
    movements = journal.movements(book, code=row.code)
    by_act: dict[int, list[str]] = {}
    before: Movement | None = None
    for movement in movements:
        by_act.setdefault(movement.act_id, []).append(_movement_words(kitchen, row, movement, before))
        before = movement
    for change in journal.changes(book, subject_kind="package", subject=row.code):
        if change.field not in _SILENT_FIELDS:
            by_act.setdefault(change.act_id, []).append(_change_words(kitchen, change))
    for act_id, stock in _prints(kitchen, row.code):
        by_act.setdefault(act_id, []).append(f"label printed on {stock}")
    steps = []
    for act_id, words in by_act.items():
        act = journal.act(book, act_id)
        if act is not None:
            steps.append(_step(act, "; ".join(words)))
    return Story(row=row, steps=tuple(sorted(steps, key=lambda step: (step.on, step.act_id))))


def _step(act: Act, words: str) -> Step:
    undone = f" (taken back by act {act.undone_by})" if act.undone_by else ""
    undoes = f"undo of act {act.undoes}: " if act.undoes else ""
    return Step(
        on=act.happened_on,
        act_id=act.id,
        kind=act.kind,
        words=undoes + words + undone,
        by=act.by,
        recorded_at=act.recorded_at,
    )


def _movement_words(kitchen: Kitchen, row: Row, movement: Movement, before: Movement | None) -> str:
    where = ", ".join(
        part
        for part in (
            queries.freezer_names(kitchen.book).get(movement.freezer_id or 0, ""),
            queries.place_names(kitchen.book).get(movement.place_id or 0, ""),
        )
        if part
    )
    if movement.state is State.GONE:
        return f"gone: {_left_words(row, movement)}" if movement.reason else "gone"
    if movement.state is State.SPARE:
        return "label printed ahead"
    if before is None:
        return f"packed, {where}" if where else "packed"
    if before.state is State.SPARE:
        return f"weighed and frozen, {where}" if where else "weighed and frozen"
    if before.state is State.GONE:
        return f"put back, {where}" if where else "put back"
    if movement.delta and movement.reason is Reason.MADE_INTO:
        return f"{-movement.delta} go on under other codes"
    if movement.delta and movement.reason is Reason.LOST:
        return f"{-movement.delta} not found"
    if movement.delta < 0 and movement.reason and movement.reason is not Reason.EATEN:
        return f"{-movement.delta} {_left_words(row, movement)}"
    if movement.delta:
        return f"{-movement.delta} taken" if movement.delta < 0 else f"{movement.delta} put back"
    return f"moved to {where}" if where else "moved"


def _left_words(row: Row, movement: Movement) -> str:
    """``given to Sister``, ``pulled and discarded``, ``eaten``."""
    if was_pulled(row, movement.reason, movement.happened_on):
        return PULLED
    to = f" to {movement.person}" if movement.person else ""
    return f"{(movement.reason or Reason.EATEN).value.replace('-', ' ')}{to}"


def _change_words(kitchen: Kitchen, change: Change) -> str:
    name = FIELD_WORDS.get(change.field, change.field.replace("_", " "))
    if change.field == "net_mg":
        old = show_mass(change.old if isinstance(change.old, int) else None, kitchen.unit)
        new = show_mass(change.new if isinstance(change.new, int) else None, kitchen.unit)
        return f"{name} {old} -> {new}"
    shown = ["not said" if value in (None, "") else str(value) for value in (change.old, change.new)]
    return f"{name} {' -> '.join(shown)}"


def _prints(kitchen: Kitchen, code: str) -> list[tuple[int, str]]:
    return list(queries.prints(kitchen.book, code))
