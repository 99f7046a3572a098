"""How long a package keeps its best quality, and which one comes next.

A guide is a published table: group of animals x kind of food -> months at a steady 0 °F (-18 °C).  The figures are
rows of ``tables/guides.csv``, each with its source; here are only the rules that use them.  A food without a row has
no figure, and none is guessed.  All of it is quality; see the caution ``quality``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from freezerbox.core.dates import add_months
from freezerbox.errors import InputError, UnknownWord
from freezerbox.food.called import is_called
from freezerbox.food.sources import THIS_HOUSEHOLD, read_csv, read_toml

DEFAULT_GUIDE = "split-2018"
ANY_GROUP = "*"

GUIDE_GROUPS = (
    *("deer-family", "bear", "wild-pig", "other-game", "small-game", "game-bird"),
    *("beef", "veal", "pork", "lamb", "goat", "chicken", "turkey", "duck-goose"),
    *("fish-lean", "fish-fatty", "fish-other", "other"),
)
KEEPS_AS = (
    *("steak", "chop", "roast", "ground", "stew", "organ"),
    *("raw-sausage", "smoked-sausage", "hard-sausage", "bacon", "ham-cooked", "ham-fresh", "ham-cured", "corned"),
    *("cooked-dish", "soup-broth", "whole", "pieces", "giblets", "cooked-poultry"),
    *("fish", "fish-cooked", "fish-smoked", "jerky", "trim", "bones", "fat", "other"),
)

# A part of a month, in days: the mean month of the calendar, 365.25 / 12.  Parts of a day are dropped.
_DAYS_A_MONTH = Fraction(36525, 1200)
_MOST_OWN_MONTHS = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """How long a food keeps its best quality, and who says so.

    ``months_min``: lower end in calendar months, None where the source publishes only an upper end.
    ``months_max``: upper end.  ``food``: the source's own class of food, in our words.  ``source_id``, ``locator``:
    the publication and where in it.  ``guide``: key of the guide that was asked.  ``own``: whether the household set
    the figure itself.  ``wrap``: the wrap that the source states, empty when none.  ``note``: where the row is
    stretched or recalled.
    """

    months_min: int | None
    months_max: int
    food: str
    source_id: str
    locator: str
    guide: str
    own: bool = False
    wrap: str = ""
    note: str = ""

    def months(self) -> str:
        """The span in words: ``4-6 months``, ``12 months``, ``up to 12 months``, ``1 month``."""
        noun = "month" if self.months_max == 1 else "months"
        if self.months_min is None:
            return f"up to {self.months_max} {noun}"
        if self.months_min == self.months_max:
            return f"{self.months_max} {noun}"
        return f"{self.months_min}-{self.months_max} {noun}"


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideRow:
    """One row of a guide: the foods it covers and how long they keep.

    ``guide_groups``: the groups of animals, ``("*",)`` for every one.  ``keeps_as``: the kinds of food; none in a row
    of the household's own that goes by ``called``, the name on the package.
    """

    guide_groups: tuple[str, ...]
    keeps_as: tuple[str, ...]
    keeping: Keeping
    called: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """A table of keeping times.

    ``key``: what people type to choose it.  ``name``, ``edition``, ``about``: what people read.  ``rows``: in the
    order of the table, the household's own ones last.
    """

    key: str
    name: str
    edition: str
    about: str
    rows: tuple[GuideRow, ...]
    _published: Mapping[tuple[str, str], Keeping] = field(init=False, repr=False, compare=False)
    _own: Mapping[tuple[str, str], Keeping] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_published", _index(row for row in self.rows if not row.keeping.own))
        object.__setattr__(self, "_own", _index(row for row in self.rows if row.keeping.own))

    def keeping(self, guide_group: str, keeps_as: str, called: str = "") -> Keeping | None:
        """How long this food keeps, or None where the guide has no figure for it.

        The household's own rows come before published ones, one for what the package is ``called`` first, the longest
        name before a shorter; a row that names the animal comes before one that names none.
        """
        named = [row for row in self.rows if row.called and called and is_called(called, row.called)]
        if named:
            return max(named, key=lambda row: len(row.called)).keeping
        for table in (self._own, self._published):
            for group in (guide_group, ANY_GROUP):
                if found := table.get((group, keeps_as)):
                    return found
        return None

    def with_own(self, rows: Iterable[GuideRow]) -> Guide:
        """This guide with the household's ``rows`` (see `own_row`) over its own; a later row replaces an earlier."""
        own: dict[tuple[str, str], GuideRow] = {}
        for row in (*(row for row in self.rows if row.keeping.own), *rows):
            if row.called:
                own["called", row.called] = replace(row, keeping=replace(row.keeping, guide=self.key))
            for group in row.guide_groups:
                for kind in row.keeps_as:
                    own[group, kind] = GuideRow(
                        guide_groups=(group,),
                        keeps_as=(kind,),
                        keeping=replace(row.keeping, guide=self.key, own=True, source_id=THIS_HOUSEHOLD),
                    )
        published = tuple(row for row in self.rows if not row.keeping.own)
        return replace(self, rows=(*published, *own.values()))


def own_row(guide_group: str, keeps_as: str, months_min: int | None, months_max: int, *, food: str = "") -> GuideRow:
    """A row that a household sets for itself; ``food`` is what it calls the food, else group and kind.

    Raises: UnknownWord for a group or kind that no package can have; InputError for months that cannot be.
    """
    _known("kind of animal", guide_group, (*GUIDE_GROUPS, ANY_GROUP))
    _known("kind of food", keeps_as, KEEPS_AS)
    _months_can_be(months_min, months_max)
    default_food = keeps_as if guide_group == ANY_GROUP else f"{guide_group} {keeps_as}"
    keeping = _own_keeping(months_min, months_max, food or default_food)
    return GuideRow(guide_groups=(guide_group,), keeps_as=(keeps_as,), keeping=keeping)


def own_called_row(called: str, months_min: int | None, months_max: int) -> GuideRow:
    """A row that a household sets for whatever is ``called`` so: chili.  Raises: InputError as `own_row`."""
    _months_can_be(months_min, months_max)
    keeping = _own_keeping(months_min, months_max, called)
    return GuideRow(guide_groups=(ANY_GROUP,), keeps_as=(), keeping=keeping, called=called)


def _own_keeping(months_min: int | None, months_max: int, food: str) -> Keeping:
    return Keeping(
        months_min=months_min,
        months_max=months_max,
        food=food,
        source_id=THIS_HOUSEHOLD,
        locator="set by hand",
        guide="",
        own=True,
    )


def _months_can_be(months_min: int | None, months_max: int) -> None:
    if not 1 <= months_max <= _MOST_OWN_MONTHS:
        raise InputError(
            f"{months_max} months cannot be. Give whole months from 1 to {_MOST_OWN_MONTHS}.", value=months_max
        )
    if months_min is not None and not 0 <= months_min <= months_max:
        raise InputError(
            f"{months_min} to {months_max} months is not a span. Give the smaller number first.",
            value=[months_min, months_max],
        )


def guide(key: str) -> Guide:
    """The guide of this key.

    Raises: UnknownWord when there is none, naming those there are: the guides are the program's, not the book's.
    """
    found = _guides().get(key.strip().lower())
    if found is None:
        known = tuple(_guides())
        raise UnknownWord(
            f"There is no guide {key!r}. The guides are: {', '.join(known)}.", word=key, near=known, known=list(known)
        )
    return found


def guides() -> tuple[Guide, ...]:
    """Every guide, in the order in which they are offered; the default first."""
    return tuple(_guides().values())


def best_by(first_frozen_on: date, months_max: int) -> date:
    """The last day of best quality: ``months_max`` calendar months after the first freezing.

    >>> best_by(date(2026, 11, 30), 3)
    datetime.date(2027, 2, 28)
    """
    return add_months(first_frozen_on, months_max)


def best_by_made(made_on: date, months_max_new: int, oldest_first_frozen_on: date, oldest_months_max: int) -> date:
    """The last day of best quality of something made from meat that was frozen before.

    ``made_on`` plus the new food's months, less the share of its life that the oldest input had used up: the rule
    that shares of storage life add up to one (time-temperature tolerance; Van Arsdel, and Jul, *The Quality of Frozen
    Foods*, both from memory).  Whole months are calendar months; what is left over is days of a mean month, rounded
    down, never past the next whole month.  Never before ``made_on``, and ``made_on`` itself when the input was past
    its best.

    >>> best_by_made(date(2027, 5, 10), 4, date(2026, 11, 10), 12)  # 181 of 365 days used: two of four months left
    datetime.date(2027, 7, 10)
    """
    return best_by_left(made_on, months_max_new, life_used(oldest_first_frozen_on, oldest_months_max, made_on))


def life_used(since: date, months_max: int, on: date, before: Fraction = Fraction(0)) -> Fraction:
    """What share of its storage life a food had used up ``on`` a day: of ``months_max``, counted from ``since``.

    ``before``: the share that was used up already on ``since``.  From 0 to 1.
    """
    life = (best_by(since, months_max) - since).days
    return min(before + Fraction(max((on - since).days, 0), life), Fraction(1))


def best_by_left(made_on: date, months_max_new: int, used: Fraction) -> date:
    """The last day of best quality of something whose meat had ``used`` that share of its life when it was made."""
    left = months_max_new * (1 - used)
    whole, days = _months_and_days(left)
    return min(add_months(made_on, whole) + timedelta(days=days), add_months(made_on, whole + 1))


def use_next_from(best_by: date, months_max: int) -> date:
    """From which day a package is one to use next.

    A quarter of ``months_max`` before ``best_by``; at least one month before, at most half of ``months_max``.  The
    project's own rule, not a published one.  Part months are days of a mean month, rounded down.

    >>> use_next_from(date(2026, 12, 31), 12), use_next_from(date(2026, 12, 31), 1)
    (datetime.date(2026, 9, 30), datetime.date(2026, 12, 16))
    """
    whole, days = _ahead(months_max)
    return add_months(best_by, -whole) - timedelta(days=days)


class Band(StrEnum):
    """Where a package stands against its guide."""

    PAST_BEST = "past-best"
    USE_NEXT = "use-next"
    KEEPS = "keeps"
    NO_FIGURE = "no-figure"


def band(today: date, best_by: date | None, months_max: int | None, *, air: bool = False) -> Band:
    """The band of a package on ``today``; on the day ``best_by`` itself it is not yet past its best.

    ``air``: its seal let go; it is one to use next whatever its date (common practice, no source).
    """
    if best_by is None or months_max is None:
        return Band.NO_FIGURE
    if today > best_by:
        return Band.PAST_BEST
    if air or today >= use_next_from(best_by, months_max):
        return Band.USE_NEXT
    return Band.KEEPS


def fefo_key(best_by: date | None, first_frozen_on: date, code: str) -> tuple[bool, date, date, str]:
    """What to sort packages by, first expired first out: ``best_by``, first freezing, code; no figure comes last."""
    return best_by is None, best_by or date.max, first_frozen_on, code


class CookWithin(NamedTuple):
    """Days to cook within after a refrigerator thaw, and the source that says so."""

    days_min: int
    days_max: int
    source_id: str


def cook_within_days(keeps_as: str) -> CookWithin | None:
    """Days within which to cook what was thawed in the refrigerator; None where no source names such food."""
    return _after_thaw().get(keeps_as)


def _known(what: str, word: str, words: tuple[str, ...]) -> None:
    if word not in words:
        import difflib

        near = difflib.get_close_matches(word, words, n=5)
        raise UnknownWord(f"No {what} {word!r}. Give one of: {', '.join(near or words)}.", word=word, near=near)


@cache
def _ahead(months_max: int) -> tuple[int, int]:
    return _months_and_days(min(max(Fraction(months_max, 4), Fraction(1)), Fraction(months_max, 2)))


def _months_and_days(months: Fraction) -> tuple[int, int]:
    whole = int(months)
    return whole, int((months - whole) * _DAYS_A_MONTH)


def _index(rows: Iterable[GuideRow]) -> dict[tuple[str, str], Keeping]:
    return {(group, kind): row.keeping for row in rows for group in row.guide_groups for kind in row.keeps_as}


@cache
def _guides() -> Mapping[str, Guide]:
    rows: dict[str, list[GuideRow]] = {key: [] for key in read_toml("guide_names.toml")}
    for row in read_csv("guides.csv"):
        for key in row["guide"].split(";"):
            keeping = Keeping(
                months_min=int(row["months_min"]) if row["months_min"] else None,
                months_max=int(row["months_max"]),
                food=row["food"],
                source_id=row["source_id"],
                locator=row["locator"],
                guide=key,
                wrap=row["wrap"],
                note=row["seen_note"],
            )
            rows[key].append(
                GuideRow(
                    guide_groups=tuple(row["guide_group"].split(";")),
                    keeps_as=tuple(row["keeps_as"].split(";")),
                    keeping=keeping,
                )
            )
    return {
        key: Guide(key=key, rows=tuple(rows[key]), **entry) for key, entry in read_toml("guide_names.toml").items()
    }


@cache
def _after_thaw() -> Mapping[str, CookWithin]:
    return {
        kind: CookWithin(int(row["days_min"]), int(row["days_max"]), row["source_id"])
        for row in read_csv("thaw.csv")
        for kind in row["keeps_as"].split(";")
    }
