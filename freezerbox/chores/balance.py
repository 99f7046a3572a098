"""What is left, by species and use: packs, weight, meals, how long it lasts at the pace of the last weeks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from freezerbox.book import journal
from freezerbox.chores.exits import Exit, exits
from freezerbox.chores.house import DEFAULT_PORTION
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.places import freezers
from freezerbox.chores.prices import worth
from freezerbox.chores.rows import Row, Rows, Totals, totals
from freezerbox.core.mass import MG_PER_LB, parse_mass
from freezerbox.core.records import Reason, State
from freezerbox.food import cuts, uses

PACE_DAYS = 90
LEAST_DAYS = 30
# 1 ft = 0.3048 m exactly (NIST Handbook 44, appendix C), so 1 cu ft = 28.316846592 l.
_L_PER_CU_FT = Decimal("28.316846592")


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One species and use.

    species: name, "" when not known.  use: what it is for.  totals: what is in.  free: what of it may be eaten.
    held: packages of it on hold.
    meals: whole meals of the household; None when people are not set or nothing is weighed.
    packs_a_week: pace; None before thirty days of history.  weeks: what is left lasts at that pace, held not counted;
    None without a pace.  runs_out: the day.
    """

    species: str
    use: uses.Use
    rows: tuple[Row, ...]
    totals: Totals
    free: Totals
    held: int
    meals: int | None
    packs_a_week: Decimal | None
    weeks: Decimal | None
    runs_out: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A freezer's room.  cu_ft: its volume; None when not said.  used: share used, by how it is filled."""

    name: str
    totals: Totals
    cu_ft: Decimal | None
    used: tuple[tuple[uses.Filling, Decimal], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """The report.

    lines: food for people.  apart: not for people.  totals: food for people, on hold or not.  free: what of it may
    be eaten.  on_hold: the rest.  others: packages of other people, not counted above.
    days: of history that the pace rests on; None when there are too few.  people, portion_mg: what a meal is.
    worth: what all of it for people is worth by the household's own prices, and how many packs lack a price or a
    weight; None without any price.
    """

    lines: tuple[Line, ...]
    apart: tuple[Line, ...]
    totals: Totals
    free: Totals
    on_hold: Totals
    others: Totals
    places: tuple[tuple[str, Totals], ...]
    rooms: tuple[Room, ...]
    days: int | None
    people: int | None
    portion_mg: int
    worth: tuple[Decimal, int] | None


def balance(kitchen: Kitchen, *, everyone: bool = False, by_cut: bool = False) -> Balance:
    """What is in the freezers now.  ``everyone``: other people's too.  ``by_cut``: a line for each cut."""
    maker = Rows(kitchen)
    every = maker.all(State.FROZEN)
    ours = [row for row in every if everyone or not row.package.owner]
    others = [row for row in every if row.package.owner and not everyone]
    days = _days(kitchen)
    eaten = _eaten(kitchen, maker, everyone) if days else ()
    people = int(kitchen.settings["people"]) if kitchen.settings.get("people") else None
    portion = parse_mass(kitchen.settings.get("portion", DEFAULT_PORTION), unit=kitchen.unit) or 0

    def key(row: Row) -> tuple[str, str, str]:
        return (row.species_name, use_of(row).key, row.cut_name if by_cut else "")

    order = {use.key: number for number, use in enumerate(uses.uses())}
    groups = sorted(
        {key(row) for row in ours}, key=lambda group: (group[0] == "", group[0], order[group[1]], group[2])
    )
    lines = [
        _line([row for row in ours if key(row) == group], [one for one in eaten if key(one.row) == group], kitchen,
              days, people, portion)
        for group in groups
    ]  # fmt: skip
    return Balance(
        lines=tuple(line for line in lines if line.use.key != uses.NOT_FOR_PEOPLE),
        apart=tuple(line for line in lines if line.use.key == uses.NOT_FOR_PEOPLE),
        totals=totals(row for row in ours if row.for_people),
        free=totals(row for row in ours if row.for_people and not row.holds),
        on_hold=totals(row for row in ours if row.for_people and row.holds),
        others=totals(others),
        places=_by_place(ours),
        rooms=_rooms(kitchen),
        days=days,
        people=people,
        portion_mg=portion,
        worth=worth(kitchen, [row for row in ours if row.for_people]),
    )


def use_of(row: Row) -> uses.Use:
    """What a package is for."""
    return uses.use_of(cuts.cut(row.package.cut), cuts.form(row.package.form) if row.package.form else None)


def _line(
    rows: Sequence[Row], eaten: Sequence[Exit], kitchen: Kitchen, days: int | None, people: int | None, portion: int
) -> Line:
    sums = totals(rows)
    free = totals(row for row in rows if not row.holds)
    pace = weeks = None
    if days:
        packs = sum(one.number for one in eaten)
        pace = Decimal(packs * 7) / days
        mg = sum(one.net_mg or 0 for one in eaten)
        if free.unweighed or any(one.net_mg is None for one in eaten):
            weeks = free.packages / pace if packs else None
        else:
            weeks = Decimal(free.net_mg * days) / (mg * 7) if mg else None
    weighed = free.packages - free.unweighed
    return Line(
        species=rows[0].species_name,
        use=use_of(rows[0]),
        rows=tuple(rows),
        totals=sums,
        free=free,
        held=sum(max(1, row.package.state.quantity) for row in rows if row.holds),
        meals=int(free.net_mg // (people * portion))
        if people and portion and weighed and rows[0].for_people
        else None,
        packs_a_week=pace,
        weeks=weeks,
        runs_out=None if weeks is None or weeks > 52 * 20 else kitchen.today + timedelta(days=int(weeks * 7)),
    )


def _days(kitchen: Kitchen) -> int | None:
    """Days of history that a pace may rest on; ``None`` before ``LEAST_DAYS``."""
    first = journal.act(kitchen.book, 1)
    if first is None:
        return None
    days = (kitchen.today - first.happened_on).days
    return min(PACE_DAYS, days) if days >= LEAST_DAYS else None


def _eaten(kitchen: Kitchen, maker: Rows, everyone: bool) -> tuple[Exit, ...]:
    since = kitchen.today - timedelta(days=PACE_DAYS)
    rows = [row for row in maker.all(State.FROZEN, State.GONE) if everyone or not row.package.owner]
    return tuple(
        one
        for one in exits(kitchen, rows)
        if one.reason in (Reason.EATEN, Reason.FED_TO_DOG) and since < one.on <= kitchen.today
    )


def _by_place(rows: Iterable[Row]) -> tuple[tuple[str, Totals], ...]:
    found: dict[str, list[Row]] = {}
    for row in rows:
        found.setdefault(row.where or "place not said", []).append(row)
    return tuple((where, totals(found[where])) for where in sorted(found))


def _rooms(kitchen: Kitchen) -> tuple[Room, ...]:
    found = []
    for view in freezers(kitchen):
        volume = view.freezer.volume_l
        cu_ft = None if volume is None else Decimal(str(volume)) / _L_PER_CU_FT
        lb = Decimal(view.totals.net_mg) / MG_PER_LB
        used: tuple[tuple[uses.Filling, Decimal], ...] = ()
        if cu_ft is not None:
            used = tuple((filling, lb / (cu_ft * filling.lb_per_cu_ft)) for filling in uses.fillings())
        found.append(Room(name=view.freezer.name, totals=view.totals, cu_ft=cu_ft, used=used))
    return tuple(found)
