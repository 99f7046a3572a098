"""The rotation report: what to eat first, against published keeping times."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from freezerbox.book import queries
from freezerbox.chores.header import find_place
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.reminders import Reminder, unanswered, whole_pieces
from freezerbox.chores.rows import SEAL_LOST, Row, Rows, Totals, in_rotation_order, keeping_source, totals
from freezerbox.core.dates import add_months
from freezerbox.core.records import Reason, State
from freezerbox.food import cautions, cuts, keeping
from freezerbox.food.days import days_for


@dataclass(frozen=True, slots=True, kw_only=True)
class Rotation:
    """The report.

    rows: packages with a figure, first to expire first, cut to the limit.  more: how many were cut off.
    held: apart, with the reason.  no_figure: foods the guide has no figure for.  totals: by band, before the cut.
    out: taken in the last days, and the day to cook each by.  sources: the publications behind the rows shown.
    reminders: tests that nobody answered, pieces still to be cut up.
    """

    as_of: date
    guide: keeping.Guide
    rows: tuple[Row, ...]
    more: int
    held: tuple[Row, ...]
    no_figure: tuple[Row, ...]
    totals: dict[keeping.Band, Totals]
    out: tuple[tuple[Row, date], ...]
    sources: tuple[str, ...]
    quality: str
    reminders: tuple[Reminder, ...] = ()


def rotation(
    kitchen: Kitchen,
    *,
    within: int | None = None,
    species: str = "",
    cut: str = "",
    place: str = "",
    freezer: str = "",
    everyone: bool = False,
    limit: int | None = 12,
) -> Rotation:
    """What to eat first.

    ``within``: only what is past its best by that many months from today.  ``limit``: rows shown, None for all.
    ``freezer``: which one ``place`` is in, where several have one of that name.

    Raises: UnknownWord, AmbiguousWord for species or cut; UnknownRecord for the place.
    """
    tests: list[Callable[[Row], bool]] = []
    if not everyone:
        tests.append(lambda row: not row.package.owner)
    if species:
        named, _ = cuts.resolve_species(species)
        tests.append(
            lambda row: bool(row.package.species) and cuts.is_within(cuts.species(row.package.species), named)
        )
    if cut:
        # Here, since the everyday report has no need of what find brings in.
        from freezerbox.chores.find import is_cut

        wanted = cuts.matching_cuts(cut, None, kitchen.own_words)
        tests.append(lambda row: any(is_cut(row, one) for one in wanted))
    rows = [row for row in Rows(kitchen).all(State.FROZEN) if all(test(row) for test in tests)]
    out = [(row, by) for row, by in out_lately(kitchen) if all(test(row) for test in tests)]
    if place:
        place_id = find_place(kitchen, place, freezer).id
        rows = [row for row in rows if row.package.state.place_id == place_id]
        out = []  # what is out lies in no place
    held = [row for row in rows if row.holds]
    free = [row for row in rows if not row.holds and row.for_people]
    dated = list(in_rotation_order(row for row in free if row.best_by is not None))
    if within is not None:
        last = add_months(kitchen.today, within)
        dated = [
            row for row in dated if row.package.wrap == SEAL_LOST or (row.best_by is not None and row.best_by <= last)
        ]
    shown = dated if limit is None else dated[:limit]
    return Rotation(
        as_of=kitchen.today,
        guide=kitchen.guide,
        rows=tuple(shown),
        more=len(dated) - len(shown),
        held=in_rotation_order(held),
        no_figure=in_rotation_order(row for row in free if row.best_by is None),
        totals={
            band: totals(row for row in dated if row.band is band)
            for band in (keeping.Band.PAST_BEST, keeping.Band.USE_NEXT, keeping.Band.KEEPS)
        },
        out=tuple(out),
        sources=tuple(dict.fromkeys(row.source for row in shown if row.source)),
        quality=cautions.caution("quality").text,
        reminders=(
            *unanswered(kitchen, dict.fromkeys(animal for row in held for animal in row.animals), held),
            *whole_pieces(kitchen, free),
        ),
    )


def guide_rows(guide: keeping.Guide) -> tuple[tuple[keeping.GuideRow, str], ...]:
    """Every row of a guide, with its source in words."""
    return tuple((row, keeping_source(row.keeping)) for row in guide.rows)


def out_lately(kitchen: Kitchen, days: int = 5) -> tuple[tuple[Row, date], ...]:
    """Packages taken to be eaten in the last days and when each is to be cooked by, the most pressing first.

    Source of the days: the thaw table (refrigerator thawing).
    """
    found = []
    first = kitchen.today - timedelta(days=days)
    packages = [
        package
        for package in queries.packages(kitchen.book, State.GONE, as_of=kitchen.as_of, since=first)
        if package.state.reason is Reason.EATEN and package.state.since <= kitchen.today
    ]
    rows = Rows(kitchen, only=[package.code for package in packages])
    for package in packages:
        state, row = package.state, rows.row(package)
        # On hold and recorded as eaten all the same: nothing may invite anybody to cook it.
        if not row.for_people or row.holds:
            continue
        form = cuts.form(package.form) if package.form else None
        within = keeping.cook_within_days(cuts.keeps_as(cuts.cut(package.cut), form))
        if within is None:
            continue
        # Taken out one day, thawed the next: the days to cook it begin when it is thawed.
        by = state.since + timedelta(days=days_for("thaw") + within.days_max)
        if by >= kitchen.today:
            found.append((row, by))
    return tuple(sorted(found, key=lambda pair: (pair[1], pair[0].code)))
