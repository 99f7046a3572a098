"""What happened: the history of a package, and the list of acts."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from freezerbox.book import borne, journal, printouts, queries
from freezerbox.book.parentage import reassignments
from freezerbox.chores.holds_told import holds_told
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.chores.take import find_row
from freezerbox.chores.telling import Told, Was, tell
from freezerbox.chores.wording import PULLED, gone_words, left_words, was_pulled
from freezerbox.core.code import show_code
from freezerbox.core.dates import short_date
from freezerbox.core.fold import silent_acts, standing, told
from freezerbox.core.mass import show_mass
from freezerbox.core.records import Act, Change, Movement, Reason, State

FIELD_WORDS = {
    "net_mg": "weight", "pieces": "pieces", "packed_on": "pack date", "first_frozen_on": "first frozen",
    "times_frozen": "times frozen", "fat_percent": "fat percent", "reserved_for": "reserved for",
    "other_words": "name",
}  # fmt: skip
"""What people call a field, where its own name is not the word."""
Overruled = Collection[tuple[int, str]]
"""As of ``journal.overruled``."""
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
    moved, overruled = journal.movements(kitchen.book, code=row.code), journal.overruled(kitchen.book)
    said: dict[int, list[str]] = {}
    for act_id, words in _told(kitchen, row, moved, overruled):
        said.setdefault(act_id, []).append(words)
    steps = []
    written = {one.id: one.happened_on for one in journal.movements(kitchen.book, code=row.code, as_written=True)}
    came = {one.act_id: one.happened_on for one in moved if written.get(one.id) != one.happened_on}
    plain = {act_id: "; ".join(dict.fromkeys(filter(None, parts))) for act_id, parts in sorted(said.items())}
    decided = _decided_words(kitchen, row, plain, moved, overruled)
    for act_id, parts in plain.items():
        act = journal.act(kitchen.book, act_id)
        if act is None:
            continue
        words = decided.get(act_id, parts)
        if swapped := _swapped_words(kitchen, act, row.code):
            words = swapped + (f": {words}" if words else "")
        if words:
            steps.append(_step(replace(act, happened_on=came.get(act_id, act.happened_on)), words))
    by_then = [step for step in steps if kitchen.as_of is None or step.on <= kitchen.as_of]
    by_then.sort(key=lambda step: (step.on, step.act_id))
    return Story(row=row, steps=_ended(kitchen, row, by_then, moved))


def _decided_words(
    kitchen: Kitchen, row: Row, plain: Mapping[int, str], moved: Sequence[Movement], overruled: Overruled
) -> dict[int, str]:
    """By act: how a step is told that a join overruled, and what a join decided, unless it was overruled itself.

    Nothing was decided where both books said the same, nor where a join only said once more what one before it did.
    """
    code, decisions = row.code, set[str]()
    against, silent = journal.decided_against(kitchen.book), journal.silent(kitchen.book)
    acts = {at: act for at in plain if (at, code) in overruled and (act := journal.act(kitchen.book, at))}
    lost = {plain[at] for at, act in acts.items() if act.kind != "join" and (at, code) in against}
    found: dict[int, str] = {}
    for at, act in acts.items():
        words = plain[at]
        if act.kind != "join":
            found[at] = words and f"{words} (overruled when two books were joined)"
            continue
        last = max((one.id for one in moved if one.act_id == at), default=0)
        by_then = [one for one in moved if one.id <= last]
        state, stand = told(by_then, silent, overruled), standing(by_then, silent, overruled)
        day = ""
        if words and state and state.state is State.GONE and stand:
            words = words if words.startswith("gone") or state.quantity else f"gone: {_left_words(row, stand[-1])}"
            day = "" if state.since == act.happened_on else f" on {short_date(state.since, today=kitchen.today)}"
        known = (at, code) in against or lost == {words} or words in decisions
        found[at] = "" if known or not words else f"as decided: {words}{day}"
        decisions |= {words} if found[at] else set()
    same = {words for at, words in plain.items() if at not in acts}
    for at, act in acts.items():
        if act.kind != "join" and lost == {plain[at]} and plain[at] in same:
            found[at] = f"{plain[at]} (in both books)"
    return found


def _ended(kitchen: Kitchen, row: Row, steps: Sequence[Step], movements: Sequence[Movement]) -> tuple[Step, ...]:
    """The steps; where the last that moved it reads as if what is gone were there, it says since when it is gone."""
    state = row.package.state
    if state.state is not State.GONE or state.reason is Reason.VOID:
        return tuple(steps)
    shown = {step.act_id for step in steps}
    moved = [one for one in movements if one.act_id in shown]
    acts = {one.act_id: one.state for one in sorted(moved, key=lambda one: one.id, reverse=True)}
    last = next((at for at in reversed(range(len(steps))) if steps[at].act_id in acts), None)
    if (
        last is None
        or acts[steps[last].act_id] is State.GONE
        or "none left" in steps[last].words
        or ": gone: " in steps[last].words
    ):
        return tuple(steps)
    ended = replace(steps[last], words=f"{steps[last].words}; {gone_words(row, kitchen.today)}")
    return (*steps[:last], ended, *steps[last + 1 :])


def _told(
    kitchen: Kitchen, row: Row, movements: Sequence[Movement], overruled: Overruled
) -> Iterator[tuple[int, str]]:
    """Each thing the journal says of a package: the number of its act, and in words; "" for what goes without."""
    book = kitchen.book
    undoes = journal.undoes(book)
    kinds = {one.act_id: act.kind for one in movements if (act := journal.act(book, one.act_id))}
    for step in tell(movements, kinds, undoes, overruled):
        words = _movement_words(kitchen, row, step)
        if step.undo and step.was is Was.GONE and step.movement.reason is not Reason.VOID:
            words = _as_before(kitchen, step.movement, movements, undoes, overruled) or words
        yield step.movement.act_id, words
    for change in _facts(kitchen, row.code):
        # A join says a fact once more that was decided, though the book may read so already.
        silent = change.field in _SILENT_FIELDS or change.old == change.new
        yield change.act_id, "" if silent else _change_words(kitchen, change)
    for bore in borne.borne(book, row.code):
        for one in reassignments(book, bore.label):
            if bore.at(one.act_id) and set(one.before) != set(one.after):
                yield one.act_id, reassigned_words(one.before, one.after)
    yield from holds_told(kitchen, row.code)
    for act_id, stock in printouts.prints(book, row.code):
        yield act_id, f"label printed on {stock}"


def _facts(kitchen: Kitchen, code: str) -> list[Change]:
    """What was said of a pack, under whichever label it bore then; whether it was missing, of the label."""
    found = [
        change
        for bore in borne.borne(kitchen.book, code)
        for change in journal.changes(kitchen.book, subject_kind="package", subject=bore.label)
        if (bore.label == code if change.field == borne.STAYS else bore.at(change.act_id))
    ]
    # What a pack bore twice says what stays only once.
    return sorted(dict.fromkeys(found), key=lambda change: change.id)


def reassigned_words(before: Sequence[str], after: Sequence[str]) -> str:
    """``animal: 26B, was 26A``."""
    new, old = (" and ".join(dict.fromkeys(names)) or "not said" for names in (after, before))
    return f"animal: {new}, was {old}"


def _swapped_words(kitchen: Kitchen, act: Act, code: str) -> str:
    """Which labels were swapped by this act, or by the one it takes back; "" for an act of another kind."""
    root, _ = journal.root(kitchen.book, act)
    if root.kind != "swap":
        return ""
    pair = borne.pair_of(journal.changes(kitchen.book, act_id=root.id))
    if code in pair:
        return f"labels swapped with {' and '.join(show_code(one) for one in pair if one != code)}"
    return f"labels swapped: {' and '.join(map(show_code, pair))}"


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


def _movement_words(kitchen: Kitchen, row: Row, step: Told) -> str:
    movement, number = step.movement, step.number or abs(step.movement.delta)
    where = ", ".join(
        part
        for part in (
            queries.freezer_names(kitchen.book).get(movement.freezer_id or 0, ""),
            queries.place_names(kitchen.book).get(movement.place_id or 0, ""),
        )
        if part
    )
    at = f", {where}" if where else ""
    none_left = ", none left" if step.none_left else ""
    match step.was:
        case Was.GONE if none_left and movement.reason and movement.reason is not Reason.VOID:
            return f"{number} {_left_words(row, movement)}{none_left}"
        case Was.GONE:
            return f"gone: {_left_words(row, movement)}" if movement.reason else "gone"
        case Was.SPARE:
            return "label printed ahead"
        case Was.PACKED:
            return f"packed {step.number}{at}" if step.number else f"packed{at}"
        case Was.FILLED:
            return f"weighed and frozen{at}"
        case Was.BACK:
            return f"{step.number} put back{at}" if step.number else f"put back{at}"
        case Was.FOUND:
            return f"{number} found again"
        case Was.OUT_AGAIN:
            return f"{number} out again{none_left}"
        case Was.DECIDED:
            return f"in {where}" if where else "in the freezer"
        case Was.MOVED_BACK:
            return f"back to {where}" if where else "moved back"
        case Was.MOVED:
            return f"moved to {where}" if where else "moved"
        case Was.SOME_LEFT:
            return f"{number} {_some_left_words(row, movement)}{none_left}"


def _some_left_words(row: Row, movement: Movement) -> str:
    """How some of a lot left; what was split off, or not found in a count, is not gone."""
    other = {Reason.MADE_INTO: "go on under other codes", Reason.LOST: "not found"}
    return other.get(movement.reason or Reason.EATEN) or _left_words(row, movement)


def _as_before(
    kitchen: Kitchen,
    movement: Movement,
    movements: Sequence[Movement],
    undoes: Mapping[int, int],
    overruled: Overruled,
) -> str:
    """Since when it is gone, where an undo says so again on a later day; "" on the same day."""
    until = [one for one in movements if one.id <= movement.id]
    silent = silent_acts({undo: of for undo, of in undoes.items() if undo <= movement.act_id})
    state = told(until, silent, overruled)
    if state is None or state.since >= movement.happened_on:
        return ""
    return f"gone as before, since {short_date(state.since, today=kitchen.today)}"


def _left_words(row: Row, movement: Movement) -> str:
    """``given to Sister``, ``pulled and discarded``, ``eaten``."""
    if was_pulled(row, movement.reason, movement.happened_on):
        return PULLED
    return left_words(movement.reason or Reason.EATEN, movement.person)


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
