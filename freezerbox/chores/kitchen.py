"""What every chore stands on: the book, the day, the house's unit and its guide."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property, wraps
from typing import Concatenate, ParamSpec, Protocol, TypeVar

from freezerbox.book import queries
from freezerbox.book.door import Book
from freezerbox.book.values import unreadable_setting
from freezerbox.core.dates import household_day
from freezerbox.core.mass import MassUnit, show_mass
from freezerbox.errors import InputError, UnknownRecord, UnknownWord
from freezerbox.food import keeping

OWN_GUIDE_PREFIX = "guide:"
CALLED = "called"
"""In place of a kind of animal: the row is for packages with that name."""
OWN_WORD_PREFIX = "word:"

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")


class Clock(Protocol):
    """The time, handed in."""

    def now(self) -> datetime:
        """Local time, without a zone."""
        ...

    def stamp(self) -> datetime:
        """The same moment, aware, in UTC."""
        ...


@dataclass(frozen=True)
class Kitchen:
    """The household at work.

    book: the open book.  clock: asked once a request.  given_day: the day that ``--today`` set, or None.
    as_of: see the freezer as it stood at the end of that day, as known now; None for now.
    """

    book: Book
    clock: Clock
    given_day: date | None = None
    as_of: date | None = None

    @cached_property
    def today(self) -> date:
        """The household's day."""
        return self.as_of or self.given_day or household_day(self.clock.now())

    @cached_property
    def settings(self) -> dict[str, str]:
        """Settings as stored."""
        return queries.settings(self.book)

    @cached_property
    def unit(self) -> MassUnit:
        """The unit weights are shown and typed in.  Raises: BookTrouble for a word that is none."""
        said = self.settings.get("units", MassUnit.LB)
        try:
            return MassUnit(said)
        except ValueError as error:
            raise unreadable_setting("units", said, f"freezerbox settings units {MassUnit.LB}") from error

    @cached_property
    def guide(self) -> keeping.Guide:
        """The guide in use, with the household's own rows in it.  Raises: BookTrouble for one that is none."""
        said = self.settings.get("guide", keeping.DEFAULT_GUIDE)
        try:
            chosen = keeping.guide(said)
        except UnknownWord as error:
            mend = f"freezerbox settings guide {keeping.DEFAULT_GUIDE}"
            raise unreadable_setting("guide", said, mend) from error
        own = own_rows(self.settings)
        return chosen.with_own(own) if own else chosen

    @cached_property
    def own_words(self) -> dict[str, str]:
        """The household's own words for cuts: word -> what it stands for."""
        return {
            key.removeprefix(OWN_WORD_PREFIX): value
            for key, value in self.settings.items()
            if key.startswith(OWN_WORD_PREFIX)
        }

    def mass(self, mg: int | None) -> str:
        """A weight in the house's unit."""
        return show_mass(mg, self.unit)

    def afresh(self) -> Kitchen:
        """The same kitchen at the next request: the clock and the settings are asked again."""
        return Kitchen(self.book, self.clock, self.given_day, self.as_of)

    def at(self, day: date) -> Kitchen:
        """The freezer as it stood at the end of ``day``, as known now; words, guide and names are today's."""
        return replace(self, as_of=day)


def one_writer(
    chore: Callable[Concatenate[Kitchen, Arguments], Result],
) -> Callable[Concatenate[Kitchen, Arguments], Result]:
    """Do the whole chore while the book is held for writing: what it looks at stays true until it has written."""

    @wraps(chore)
    def held(kitchen: Kitchen, /, *arguments: Arguments.args, **options: Arguments.kwargs) -> Result:
        with kitchen.book.writing():
            return chore(kitchen, *arguments, **options)

    return held


def own_row(group: str, kind: str, months_min: int | None, months_max: int) -> keeping.GuideRow:
    """The household's row for a kind of food, or in place of its group ``CALLED`` for a name.  Raises: InputError."""
    if group == CALLED:
        return keeping.own_called_row(kind, months_min, months_max)
    return keeping.own_row(group, kind, months_min, months_max)


def own_rows(settings: dict[str, str]) -> tuple[keeping.GuideRow, ...]:
    """The household's own keeping rows, kept as settings ``guide:GROUP/KIND`` or ``guide:called/NAME`` = ``MIN-MAX``.

    Raises: BookTrouble for a row that is none.
    """
    rows = []
    for key, value in settings.items():
        if key.startswith(OWN_GUIDE_PREFIX):
            group, _, kind = key.removeprefix(OWN_GUIDE_PREFIX).partition("/")
            low, _, high = value.partition("-")
            try:
                months = int(low) if low else None, int(high)
                rows.append(own_row(group, kind, *months))
            except (ValueError, InputError) as error:
                raise unreadable_setting(key, value, "freezerbox restore COPY") from error
    return tuple(rows)


def no_such(what: str, asked: str, known: list[str], how: str) -> UnknownRecord:
    """A refusal that names what is there and how to make what is not."""
    there = f" There is: {', '.join(known)}." if known else ""
    return UnknownRecord(f"There is no {what} {asked!r} in this book.{there} {how}", asked=asked, known=known)
