"""The pull sheet: what to fetch after a test came back, in walking order, and what became of the rest."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from freezerbox.book import queries
from freezerbox.chores.exits import Exit, exits
from freezerbox.chores.holding import Subject, find_subject, reached
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, Rows
from freezerbox.core.records import Reason, State
from freezerbox.food import cautions, sources

FOLLOW = "Follow your wildlife agency's and public-health authority's instructions."


@dataclass(frozen=True, slots=True, kw_only=True)
class PullSheet:
    """Where everything made of an animal or a package is now.

    to_pull: in the freezer, by freezer and place in the order a person walks them, then by code.
    eaten, given: by day; given with who to.  elsewhere: left in another way.  same_evening: packages in the freezer
    that are not of it, but were cut or ground on a day when its meat was; for the owner and the agency to judge.
    caution: what the public-health authority says, with its source.
    """

    subject: Subject
    to_pull: tuple[Row, ...]
    eaten: tuple[Exit, ...]
    given: tuple[Exit, ...]
    elsewhere: tuple[Exit, ...]
    same_evening: tuple[Row, ...]
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
    left = exits(kitchen, rows)
    used_up = {Reason.MADE_INTO, Reason.VOID}  # what was made of it is a row of its own
    return PullSheet(
        subject=subject,
        to_pull=walking_order(kitchen, (row for row in rows if row.package.state.state is State.FROZEN)),
        eaten=tuple(one for one in left if one.reason is Reason.EATEN),
        given=tuple(one for one in left if one.reason is Reason.GIVEN or one.person),
        elsewhere=tuple(
            one for one in left if one.reason not in used_up | {Reason.EATEN, Reason.GIVEN} and not one.person
        ),
        same_evening=_same_evening(kitchen, rows),
        caution=guidance(subject),
    )


def guidance(subject: Subject) -> str:
    """What the public-health authority says of such a result, with its source: by what the animal was tested for."""
    named = " ".join(test.what_for.lower() for test in (subject.animal.tests if subject.animal else ()))
    if "trichin" in named:
        caution = cautions.caution("cook-through")
        return f"{FOLLOW} {caution.text} [{sources.source(caution.source_id).cite()}]"
    if named.strip() and "wasting" not in named and "cwd" not in named:
        return FOLLOW
    caution = cautions.caution("test-detected")
    return f"{caution.text} [{sources.source(caution.source_id).cite()}]"


def walking_order(kitchen: Kitchen, rows: Iterable[Row]) -> tuple[Row, ...]:
    """By freezer, then place, each in the order the household entered them; then by code."""
    freezers = {freezer.id: number for number, freezer in enumerate(queries.freezers(kitchen.book))}
    places = {place.id: number for number, place in enumerate(queries.places(kitchen.book))}
    last = len(freezers) + len(places)

    def step(row: Row) -> tuple[int, int, str]:
        state = row.package.state
        return freezers.get(state.freezer_id or 0, last), places.get(state.place_id or 0, last), row.code

    return tuple(sorted(rows, key=step))


def _same_evening(kitchen: Kitchen, rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Packages in the freezer not of it, cut or ground on the same day."""
    of_it = {row.code for row in rows}
    days = {row.package.packed_on for row in rows}
    others = (
        row
        for row in Rows(kitchen).all(State.FROZEN)
        if row.code not in of_it and row.package.packed_on in days and row.for_people
    )
    return walking_order(kitchen, others)
