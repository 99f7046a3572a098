"""One season, which begins on 1 July and spans two years: by kind what came in, how it left, and what is left."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from freezerbox.book import journal
from freezerbox.chores.balance import use_of
from freezerbox.chores.exits import Exit, exits
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, Rows, Totals, totals, totals_of
from freezerbox.core.dates import long_date, parse_season, season, season_days
from freezerbox.core.records import Reason, State
from freezerbox.errors import InvalidDate
from freezerbox.food import uses

EATEN = (Reason.EATEN, Reason.FED_TO_DOG)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One species and use in a season.

    species: name, "" when not known.  use: what it is for.  before: what was there when the season began.
    came: what was put in.  eaten, given: what left so; eaten is by the dog too.  other: what left in another way.
    left: what is there at its end, or now while it lasts.  So before + came = eaten + given + other + left, in packs.
    """

    species: str
    use: uses.Use
    before: Totals
    came: Totals
    eaten: Totals
    given: Totals
    other: Totals
    left: Totals


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """The report.  name: ``24/25``.  begins, ends: its first and last day.  until: the day it is told as of.

    lines: by kind.  all: the same of all kinds.  ways: how many packs left in which other way.
    """

    name: str
    begins: date
    ends: date
    until: date
    lines: tuple[Line, ...]
    all: Line
    ways: tuple[tuple[Reason, int], ...]


def season_report(kitchen: Kitchen, words: str = "", *, everyone: bool = False) -> Season:
    """What happened in the season that ``words`` name, such as ``24/25``; in the one that is on when they are none.

    ``everyone``: other people's packages too.

    Raises: InvalidDate for words that name no season, or one that has not begun.
    """
    begins, ends = season_days(kitchen.today) if not words.strip() else parse_season(words)
    if begins > kitchen.today:
        raise InvalidDate(
            f"The season {season(begins)} begins on {long_date(begins)}, which lies ahead.", value=words
        )
    until = min(ends, kitchen.today)
    then = kitchen.at(until)
    rows = [row for row in Rows(then).all(State.FROZEN, State.GONE) if everyone or not row.package.owner]
    found = _Told(then, rows, begins)
    order = {use.key: number for number, use in enumerate(uses.uses())}
    groups: dict[tuple[str, str], list[Row]] = {}
    for row in found.there:
        groups.setdefault((row.species_name, use_of(row).key), []).append(row)
    keys = sorted(groups, key=lambda key: (key[0] == "", key[0], order[key[1]]))
    return Season(
        name=season(begins),
        begins=begins,
        ends=ends,
        until=until,
        lines=tuple(found.line(groups[key]) for key in keys),
        all=found.line(found.there),
        ways=found.ways(),
    )


class _Told:
    """What the journal tells of the packages up to the end of the season."""

    def __init__(self, kitchen: Kitchen, rows: Sequence[Row], begins: date) -> None:
        self.begins = begins
        self.left: dict[str, list[Exit]] = {}
        for one in exits(kitchen, rows):
            self.left.setdefault(one.row.code, []).append(one)
        self.first: dict[str, date] = {}
        for movement in journal.heard(kitchen.book, journal.movements(kitchen.book)):
            # A label printed ahead is an empty bag: its package came in when it was weighed, or never.
            if movement.state is State.FROZEN:
                self.first.setdefault(movement.code, movement.happened_on)
        self.there = [row for row in rows if row.code in self.first and self._touches(row)]

    def line(self, rows: Sequence[Row]) -> Line:
        """What a kind's packages came to.  How many came of a code is what left and what is left of it."""
        gone = [one for row in rows for one in self._gone(row)]
        return Line(
            species=rows[0].species_name if rows else "",
            use=use_of(rows[0]) if rows else uses.uses()[0],
            before=totals_of((row, self._many(row)) for row in rows if self.first[row.code] < self.begins),
            came=totals_of((row, self._many(row)) for row in rows if self.first[row.code] >= self.begins),
            eaten=_sum(one for one in gone if one.reason in EATEN),
            given=_sum(one for one in gone if one.reason is Reason.GIVEN),
            other=_sum(one for one in gone if one.reason not in (*EATEN, Reason.GIVEN)),
            left=totals(row for row in rows if row.package.state.state is State.FROZEN),
        )

    def ways(self) -> tuple[tuple[Reason, int], ...]:
        """How many packs left in which other way than eaten or given, the commonest first."""
        many: dict[Reason, int] = {}
        for one in (one for row in self.there for one in self._gone(row)):
            if one.reason not in (*EATEN, Reason.GIVEN):
                many[one.reason] = many.get(one.reason, 0) + one.number
        return tuple(sorted(many.items(), key=lambda way: (-way[1], way[0])))

    def _gone(self, row: Row) -> list[Exit]:
        return [one for one in self.left.get(row.code, ()) if one.on >= self.begins]

    def _many(self, row: Row) -> int:
        """How many of the code were in at the beginning of the season, or came in it."""
        now = row.package.state.quantity if row.package.state.state is State.FROZEN else 0
        return now + sum(one.number for one in self._gone(row))

    def _touches(self, row: Row) -> bool:
        """Whether any of it was in during the season."""
        return self._many(row) > 0


def _sum(exits_of: Iterable[Exit]) -> Totals:
    return totals_of((one.row, one.number) for one in exits_of)
