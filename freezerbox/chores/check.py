"""Looking the book over: is the file whole, and does the state follow from the journal?"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date
from pathlib import Path

from freezerbox.book import guards, inspection, journal, origins, queries
from freezerbox.book.columns import misnamed
from freezerbox.book.door import told_plainly
from freezerbox.chores import safekeeping
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.loose_ends import loose_faults
from freezerbox.chores.settled import settled_faults
from freezerbox.core.code import is_valid, show_code
from freezerbox.core.fold import fold_all, in_order
from freezerbox.core.mass import LARGEST_MG
from freezerbox.core.records import Movement, Package, PackageState, State
from freezerbox.errors import BookBusy, BookTrouble, FreezerboxError
from freezerbox.food import cuts

_REPAIR = "freezerbox check --repair rebuilds it from the journal"
_GUARDS = "freezerbox check --repair puts that right"
_RESTORE_WORDS = "Bring back a copy (freezerbox restore COPY), or bring the program up to date."
_RESTORE = "bring back the latest copy: freezerbox restore COPY"
_MEND = f"to mend it, {_RESTORE}"
_TO_MEND = f"To mend it, {_RESTORE}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What was found.

    faults: a sentence each with what would mend it; empty when all is well.  packages, movements: looked at; None
    when the file is in no state to be counted.
    away_days: days since the last copy on another disk; None when there never was one.
    """

    faults: tuple[str, ...]
    packages: int | None
    movements: int | None
    away_days: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Repaired:
    """rebuilt: what was put right, a sentence each.  copy: the book as it was.  after: what a check says now."""

    rebuilt: tuple[str, ...]
    copy: Path | None
    after: Checked


def check(kitchen: Kitchen) -> Checked:
    """Compare everything with everything; nothing is changed.

    A value altered inside a page without breaking the file's structure may go unseen: SQLite keeps no checksums.
    """
    book = kitchen.book
    damage = [f"The file: {fault}. {_TO_MEND}" for fault in inspection.file_faults(book)]
    unlike = () if damage else guards.faulty(book)
    unguarded = [f"{one.words}; {_MEND if one.kind == 'table' else _GUARDS}." for one in unlike]
    if damage or any(one.kind == "table" and one.fault == "missing" for one in unlike):
        return _uncounted(kitchen, [*damage, *unguarded])
    try:
        # A table that is altered may lack a column.
        with told_plainly(book.path):
            days = [f"{fault}. {_TO_MEND}" for fault in inspection.days_that_are_none(book)]
            if days:
                return _uncounted(kitchen, [*days, *unguarded])
            # Records that are shown elsewhere: each must be readable, wherever the word is that is none.
            for read in (queries.animals, queries.places, queries.freezers, journal.acts, origins.batches,
                         origins.batch_steps):  # fmt: skip
                read(book)
            movements = journal.movements(book)
            packages = queries.packages(book)
            faults = _told_by_rows(kitchen, packages, movements)
    except BookBusy:
        raise
    except BookTrouble as error:
        return _uncounted(kitchen, [error.message, *unguarded])
    return Checked(
        faults=(*faults, *unguarded),
        packages=len(packages),
        movements=len({one.id for one in movements}),
        away_days=_days_away(kitchen),
    )


def _told_by_rows(kitchen: Kitchen, packages: Sequence[Package], movements: tuple[Movement, ...]) -> list[str]:
    """What the rows of a file say that do not fit together."""
    book = kitchen.book
    lost = inspection.lost_numbers(book)
    faults = [f"{fault}. {_TO_MEND}" for fault in lost]
    faults += [*settled_faults(kitchen), *_package_faults(kitchen, packages, movements, whole=not lost)]
    faults += [
        f"{show_code(child)} was made of the {kind} {name}, of which the book has no record: a hold on it would not "
        f"show. {_TO_MEND}"
        for child, kind, name in inspection.lost_origins(book)
    ]
    faults += loose_faults(kitchen)
    mend = _MEND if lost else _REPAIR
    faults += [
        f"A state is stored of {code}, which is no package; {mend}." for code in inspection.orphan_states(book)
    ]
    faults += [f"{fault}. {_TO_MEND}" for fault in inspection.acts_of_another_day(book)]
    faults += [f"{fault}; {mend}." for fault in inspection.out_of_step(book)]
    return faults


def _uncounted(kitchen: Kitchen, faults: Iterable[str]) -> Checked:
    """What is said of a file that is in no state to be counted."""
    return Checked(faults=tuple(faults), packages=None, movements=None, away_days=_days_away(kitchen))


def _days_away(kitchen: Kitchen) -> int | None:
    """Days since the last copy elsewhere; None when a damaged book does not say."""
    try:
        with told_plainly(kitchen.book.path):
            return safekeeping.days_since_away(kitchen)
    except BookTrouble:
        return None


def _package_faults(
    kitchen: Kitchen, packages: Sequence[Package], movements: tuple[Movement, ...], *, whole: bool
) -> Iterator[str]:
    """``whole``: nothing of the journal is lost, so that states can be rebuilt from it."""
    folded = fold_all(journal.movements(kitchen.book, as_written=True))
    stored = queries.stored_states(kitchen.book)
    names = {"freezer_id": queries.freezer_names(kitchen.book), "place_id": queries.place_names(kitchen.book)}
    stateless = set(inspection.packages_without_state(kitchen.book))
    for package in packages:
        shown = show_code(package.code)
        if not is_valid(package.code):
            yield f"{shown} is not a code: its check character is wrong. {_TO_MEND}"
        state = folded.get(package.code)
        if state is None:
            yield f"{shown} has a record, but nothing is said of where it ever was; {_MEND}."
        elif state.quantity < 0:
            yield f"{shown} comes to {state.quantity} packages by its journal; {_MEND}."
        elif state != stored[package.code]:
            mend = _REPAIR if whole else _MEND
            yield f"{shown} is stored with {_differing(stored[package.code], state, names)}; {mend}."
        elif (state.state is State.GONE) == (state.quantity > 0):
            yield f"{shown} is {state.state}, and there are {state.quantity} of it; {_MEND}."
        if package.net_mg is not None and package.net_mg > LARGEST_MG:
            yield f"{shown} weighs more than a package can, {package.net_mg} mg; correct it: freezerbox fix {shown}."
        for word, table in ((package.cut, cuts.cut), (package.form, cuts.form), (package.species, cuts.species)):
            if word and not _known(word, table):
                yield f"{shown} has {word!r}, which the tables do not know. Bring the program up to date, or fix it."
    for code in sorted(stateless):
        mend = _REPAIR if code in folded and whole else _MEND
        yield f"{show_code(code)} has a record but no state; {mend}."
    for animal in queries.animals(kitchen.book):
        if not _known(animal.species, cuts.species):
            yield f"Animal {animal.code} is {animal.species!r}, which the tables do not know. {_RESTORE_WORDS}"
    yield from _below_zero(movements)


_STATE_WORDS = {"freezer_id": "freezer", "place_id": "place", "since": "day"}


def _differing(stored: PackageState, told: PackageState, names: Mapping[str, Mapping[int, str]]) -> str:
    """``quantity 3, by its journal 2``, for each field that is not as the journal has it."""

    def shown(name: str, state: PackageState) -> str:
        value = getattr(state, name)
        return (
            "not said"
            if value is None
            else names[name].get(value, f"number {value}")
            if name in names
            else str(value)
        )

    return " and ".join(
        f"{_STATE_WORDS.get(name, name)} {shown(name, stored)}, by its journal {shown(name, told)}"
        for name in (field.name for field in fields(PackageState))
        if getattr(stored, name) != getattr(told, name)
    )


def _known(word: str, table: Callable[[str], object]) -> bool:
    try:
        table(word)
    except (KeyError, FreezerboxError):
        return False
    return True


def _below_zero(movements: tuple[Movement, ...]) -> Iterator[str]:
    """Packages of which more was taken than there was, by the end of some day.

    Within a day it may fall below: a take that was taken back stands in the journal before its return, also when the
    packing itself was taken back on an earlier day.
    """
    by_day: dict[tuple[date, str], list[Movement]] = {}
    for movement in movements:
        by_day.setdefault((movement.happened_on, movement.code), []).append(movement)
    left: dict[str, int] = {}
    for (day, code), steps in sorted(by_day.items()):
        left[code] = left.get(code, 0) + sum(step.delta for step in steps)
        if left[code] < 0:
            act = [step.act_id for step in in_order(steps) if step.delta < 0][-1]
            yield (
                f"{show_code(code)} falls below none on {day.isoformat()} (act {act}). "
                f"If that act is wrong: freezerbox undo {act}."
            )
            left[code] = 0


def repair(kitchen: Kitchen) -> Repaired:
    """Rebuild what follows from the journal: states, corrected fields, guards.  The journal itself is never touched.

    A copy is made first.  Raises: BookTrouble when no copy can be made; then nothing is done.
    """
    found = check(kitchen)
    if inspection.file_faults(kitchen.book) or misnamed(kitchen.book.connection) or not found.faults:
        return Repaired(rebuilt=(), copy=None, after=found)
    copy = safekeeping.before(kitchen, "repair")
    with kitchen.book.writing():
        rebuilt = inspection.rebuild(kitchen.book)
    return Repaired(rebuilt=rebuilt, copy=copy.path, after=check(kitchen.afresh()))
