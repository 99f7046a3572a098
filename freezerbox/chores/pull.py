"""The pull sheet: what to fetch after a test came back, in walking order, and what became of the rest."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from freezerbox.book import queries
from freezerbox.chores.exits import Exit, exits
from freezerbox.chores.guidance import guidance, holding_tests
from freezerbox.chores.holding import Subject, find_subject, reached
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.wording import holds_words, was_pulled
from freezerbox.core.dates import long_date
from freezerbox.core.lineage import animal_holds
from freezerbox.core.records import Reason, State, TestResult


@dataclass(frozen=True, slots=True, kw_only=True)
class PullSheet:
    """Where everything made of an animal or a package is now.

    why: what is known of it: ``DETECTED on 5 Dec 2026, sample 4471``, another hold, or "" when nothing holds it.
    to_pull: in the freezer, by freezer and place in the order a person walks them, then by code.
    eaten, given: by day; given with who to.  pulled: discarded since a test said detected.  elsewhere: left in
    another way.  same_evening: packages in the freezer
    that are not of it, but were cut or ground on a day when its meat was; for the owner and the agency to judge.
    same_evening_gone: such packages as have left, by day; given with who to.
    caution: what the public-health authority says of it, with its source; "" when no test holds it.
    """

    subject: Subject
    why: str
    to_pull: tuple[Row, ...]
    eaten: tuple[Exit, ...]
    given: tuple[Exit, ...]
    pulled: tuple[Exit, ...]
    elsewhere: tuple[Exit, ...]
    same_evening: tuple[Row, ...]
    same_evening_gone: tuple[Exit, ...]
    caution: str

    @property
    def packages_to_pull(self) -> int:
        """How many there are to fetch, lots by what is left of them."""
        return sum(row.package.state.quantity for row in self.to_pull)


def pull_sheet(kitchen: Kitchen, code: str) -> PullSheet:
    """The pull sheet of an animal or a package.  Raises: UnknownRecord; InvalidCode; UnknownCode."""
    subject = find_subject(kitchen, code)
    return sheet_of(kitchen, subject)


def sheet_of(kitchen: Kitchen, subject: Subject) -> PullSheet:
    """The pull sheet of what was found already."""
    rows = reached(kitchen, subject)
    near = _same_evening(kitchen, rows)
    of_it = {row.code for row in rows}
    every = exits(kitchen, (*rows, *near))
    left = [one for one in every if one.row.code in of_it]
    used_up = {Reason.MADE_INTO, Reason.VOID}  # what was made of it is a row of its own
    return PullSheet(
        subject=subject,
        why=_why(kitchen, subject),
        to_pull=walking_order(kitchen, (row for row in rows if row.package.state.state is State.FROZEN)),
        eaten=tuple(one for one in left if one.reason is Reason.EATEN),
        given=tuple(one for one in left if one.reason is Reason.GIVEN or one.person),
        pulled=tuple(one for one in left if was_pulled(one.row, one.reason, one.on)),
        elsewhere=tuple(
            one
            for one in left
            if one.reason not in used_up | {Reason.EATEN, Reason.GIVEN}
            and not one.person
            and not was_pulled(one.row, one.reason, one.on)
        ),
        same_evening=walking_order(kitchen, (row for row in near if row.package.state.state is State.FROZEN)),
        same_evening_gone=tuple(one for one in every if one.row.code not in of_it and one.reason not in used_up),
        caution=guidance(subject.animals),
    )


def _why(kitchen: Kitchen, subject: Subject) -> str:
    """What was detected, of which sample and when; else the holds that stand."""
    several = len(subject.animals) > 1
    found = [
        " ".join(
            part
            for part in (
                f"{animal.code}:" if several else "",
                "DETECTED" + (f" ({test.what_for})" if test.what_for else ""),
                f"on {long_date(test.result_on or test.sent_on)}"
                + (f", sample {test.sample}" if test.sample else ", no sample number"),
            )
            if part
        )
        for animal, test in holding_tests(subject.animals)
        if test.result is TestResult.DETECTED
    ]
    if found:
        return "; ".join(found)
    own = animal_holds(subject.animal) if subject.animal else [hold for row in subject.packages for hold in row.holds]
    return holds_words(own, kitchen.today)


def in_short(sheet: PullSheet) -> str:
    """``62 to pull, 5 eaten already, 2 with other people.``, and that all in the freezer is on hold when it is."""
    left = (
        (sheet.eaten, "eaten already"),
        (sheet.given, "with other people"),
        (sheet.pulled, "pulled and discarded"),
        (sheet.elsewhere, "left in another way"),
    )
    parts = [f"{sheet.packages_to_pull} to pull"]
    parts += [f"{sum(one.number for one in exits_)} {words}" for exits_, words in left if exits_]
    said = ", ".join(parts) + "."
    if sheet.to_pull and all(row.holds for row in sheet.to_pull):
        said += " What is to pull is on hold: the list offers it to nobody."
    return said


def after_words(sheet: PullSheet) -> str:
    """What becomes of them on the list; nothing is said to be held that is not."""
    how = "until each is scanned out with: freezerbox scan --as discarded"
    held = [bool(row.holds) for row in sheet.to_pull]
    if all(held):
        return f"They stay on the list, held, where they lie, {how}"
    none = "Nothing holds them" if not any(held) else "Not all of them are held"
    return f"{none}: freezerbox hold {sheet.subject.code} --why WORDS. They stay on the list {how}"


def walking_order(kitchen: Kitchen, rows: Iterable[Row]) -> tuple[Row, ...]:
    """By freezer, then place, each in the order the household entered them; then by code.

    What lies inside another place comes right after what lies in that one itself.
    """
    freezers = {freezer.id: number for number, freezer in enumerate(queries.freezers(kitchen.book))}
    places = {place.id: (place.parent_id or place.id, place.id) for place in queries.places(kitchen.book)}
    last = 1 + max([len(freezers), *places])

    def step(row: Row) -> tuple[int, int, int, str]:
        state = row.package.state
        outer, inner = places.get(state.place_id or 0, (last, last))
        return freezers.get(state.freezer_id or 0, last), outer, inner if inner != outer else 0, row.code

    return tuple(sorted(rows, key=step))


def _same_evening(kitchen: Kitchen, rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Packages not of it, cut or ground on the same day, whatever became of them."""
    of_it = {row.code for row in rows}
    days = {row.package.packed_on for row in rows}
    return tuple(
        row
        for row in Rows(kitchen).all(State.FROZEN, State.GONE)
        if row.code not in of_it
        and row.package.packed_on in days
        and row.for_people
        and row.package.state.reason is not Reason.VOID
    )
