"""What happened: the history of a package, and the list of acts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from freezerbox.book import arrivals, journal, queries
from freezerbox.book.parentage import reassignments
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.chores.take import find_row
from freezerbox.chores.wording import PULLED, was_pulled
from freezerbox.core.code import show_code
from freezerbox.core.dates import short_date
from freezerbox.core.fold import silent_acts, told
from freezerbox.core.mass import show_mass
from freezerbox.core.records import Act, Change, Movement, Reason, State

FIELD_WORDS = {
    "net_mg": "weight", "pieces": "pieces", "packed_on": "pack date", "first_frozen_on": "first frozen",
    "times_frozen": "times frozen", "fat_percent": "fat percent", "reserved_for": "reserved for",
    "other_words": "name",
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
    """The history of the package of that code, as of a day up to that day.  Raises: InvalidCode, UnknownCode."""
    row = find_row(kitchen, text)
    said: dict[int, list[str]] = {}
    for act_id, words in _told(kitchen, row):
        said.setdefault(act_id, []).append(words)
    steps = []
    overruled = journal.overruled(kitchen.book)
    corrected = arrivals.days(kitchen.book, row.code)
    moved = journal.movements(kitchen.book, code=row.code) if corrected else ()
    came = {one.act_id: one.happened_on for one in moved if one.id in corrected}
    for act_id, parts in said.items():
        act = journal.act(kitchen.book, act_id)
        if act is None:
            continue
        words = "; ".join(dict.fromkeys(part for part in parts if part))
        if words and (act_id, row.code) in overruled:
            words = (
                f"as decided: {words}" if act.kind == "join" else f"{words} (overruled when two books were joined)"
            )
        if other := _swapped_with(kitchen, act, row.code):
            words = f"labels swapped with {show_code(other)}" + (f": {words}" if words else "")
        if words:
            steps.append(_step(replace(act, happened_on=came.get(act_id, act.happened_on)), words))
    by_then = [step for step in steps if kitchen.as_of is None or step.on <= kitchen.as_of]
    return Story(row=row, steps=tuple(sorted(by_then, key=lambda step: (step.on, step.act_id))))


def _told(kitchen: Kitchen, row: Row) -> Iterator[tuple[int, str]]:
    """Each thing the journal says of a package: the number of its act, and in words; "" for what goes without."""
    book = kitchen.book
    movements = journal.movements(book, code=row.code)
    undoes = journal.undoes(book)
    before: Movement | None = None
    for movement in movements:
        words = _movement_words(kitchen, row, movement, before)
        if movement.act_id in undoes and movement.state is State.GONE and movement.reason is not Reason.VOID:
            words = _as_before(kitchen, movement, movements, undoes) or words
        yield movement.act_id, words
        before = movement
    for change in journal.changes(book, subject_kind="package", subject=row.code):
        yield change.act_id, "" if change.field in _SILENT_FIELDS else _change_words(kitchen, change)
    for one in reassignments(book, row.code):
        yield one.act_id, reassigned_words(one.before, one.after)
    for act_id, stock in queries.prints(book, row.code):
        yield act_id, f"label printed on {stock}"


def reassigned_words(before: Sequence[str], after: Sequence[str]) -> str:
    """``animal: 26B, was 26A``."""
    new, old = (" and ".join(names) or "not said" for names in (after, before))
    return f"animal: {new}, was {old}"


def _swapped_with(kitchen: Kitchen, act: Act, code: str) -> str | None:
    """The package whose label ``code`` was swapped with by this act, or by the one it takes back."""
    root, _ = journal.root(kitchen.book, act)
    if root.kind != "swap":
        return None
    changes = journal.changes(kitchen.book, act_id=root.id)
    named = [change.subject for change in changes if change.subject_kind == "package"]
    named += [str(change.new) for change in changes if change.field == "child"]
    return next((one for one in named if one != code), None)


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
        return f"{-movement.delta} not found" if movement.delta < 0 else f"{movement.delta} found again"
    if movement.delta < 0 and movement.reason and movement.reason is not Reason.EATEN:
        return f"{-movement.delta} {_left_words(row, movement)}"
    if movement.delta:
        return f"{-movement.delta} taken" if movement.delta < 0 else f"{movement.delta} put back"
    return f"moved to {where}" if where else "moved"


def _as_before(kitchen: Kitchen, movement: Movement, movements: Sequence[Movement], undoes: Mapping[int, int]) -> str:
    """Since when it is gone, where an undo says so again on a later day; "" on the same day."""
    until = [one for one in movements if one.id <= movement.id]
    silent = silent_acts({undo: of for undo, of in undoes.items() if undo <= movement.act_id})
    state = told(until, silent, journal.overruled(kitchen.book))
    if state is None or state.since >= movement.happened_on:
        return ""
    return f"gone as before, since {short_date(state.since, today=kitchen.today)}"


def _left_words(row: Row, movement: Movement) -> str:
    """``given to Sister``, ``pulled and discarded``, ``eaten``."""
    if was_pulled(row, movement.reason, movement.happened_on):
        return PULLED
    to = f" to {movement.person}" if movement.person else ""
    return f"{(movement.reason or Reason.EATEN).value.replace('-', ' ')}{to}"


def _change_words(kitchen: Kitchen, change: Change) -> str:
    if change.field == "missing_since":
        return "not found there in a count" if change.new else "found again"
    name = FIELD_WORDS.get(change.field, change.field.replace("_", " "))
    if change.field == "net_mg":
        old = show_mass(change.old if isinstance(change.old, int) else None, kitchen.unit)
        new = show_mass(change.new if isinstance(change.new, int) else None, kitchen.unit)
        return f"{name} {old} -> {new}"
    shown = ["not said" if value in (None, "") else str(value) for value in (change.old, change.new)]
    return f"{name} {' -> '.join(shown)}"
