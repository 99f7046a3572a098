"""A package with all that follows from it: names, age, best-by, place, holds.  The row of the JSON contract."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from freezerbox.book import queries
from freezerbox.chores import mixing
from freezerbox.chores.ageing import Ageing, keeping_of
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.dates import months_between
from freezerbox.core.lineage import Lineage, SharesKnown
from freezerbox.core.mass import net_grams
from freezerbox.core.records import Animal, Hold, Package, State
from freezerbox.food import cuts, keeping, sources

SEAL_LOST = "seal-lost"
"""What the record's wrap says when air got in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A package as reports show it.

    package: the record.  cut_name: what people see.  animals: records of the animals in it.
    age_months: whole months since first frozen.  best_by, use_next_from: None without a figure.  band: in words.
    months_max: the guide's figure; None without one.  source: the guide row's citation, "" without one.
    freezer, place: names, "" when not said.  holds: why it is not to be eaten; empty when it may be.
    for_people: False for dog food and the like.
    from_frozen: it was made of meat that had been frozen before, and the sum rule gave its best-by.
    mix: species key and percent of each, the largest first, when several kinds of animal are in it and all was
    weighed; () otherwise.  bought: names of what was bought and is in it.
    """

    package: Package
    cut_name: str
    species_name: str
    animals: tuple[Animal, ...]
    age_months: int
    best_by: date | None
    use_next_from: date | None
    band: keeping.Band
    months_max: int | None
    source: str
    freezer: str
    place: str
    holds: tuple[Hold, ...]
    for_people: bool
    from_frozen: bool = False
    mix: tuple[tuple[str, int], ...] = ()
    bought: tuple[str, ...] = ()

    @property
    def code(self) -> str:
        """The package's code."""
        return self.package.code

    @property
    def net_mg(self) -> int | None:
        """Weight of all its units together, in milligrams; None when not weighed."""
        unit = self.package.net_mg
        return None if unit is None else unit * max(1, self.package.state.quantity)

    @property
    def where(self) -> str:
        """Freezer and place in words, "" when neither is known."""
        return ", ".join(part for part in (self.freezer, self.place) if part)


FEW = 60
"""Up to so many packages their own origins are asked for; more are faster with those of all."""


class Rows:
    """Makes rows of packages; asks the book for names and origins once.

    ``only``: codes of the few packages whose rows are wanted; then nothing else is known of.
    """

    def __init__(self, kitchen: Kitchen, *, only: Sequence[str] | None = None) -> None:
        self.kitchen = kitchen
        self._only = only if only is not None and len(only) <= FEW else None

    @cached_property
    def lineage(self) -> Lineage:
        """Origins of every package, or of the few that are wanted."""
        return queries.lineage(self.kitchen.book, as_of=self.kitchen.as_of, of=self._only)

    @cached_property
    def _ageing(self) -> Ageing:
        return Ageing(self.kitchen, self.lineage)

    @cached_property
    def _shares(self) -> SharesKnown:
        return {}

    @cached_property
    def _freezers(self) -> dict[int, str]:
        return queries.freezer_names(self.kitchen.book)

    @cached_property
    def _places(self) -> dict[int, str]:
        return queries.place_names(self.kitchen.book)

    def row(self, package: Package) -> Row:
        """The row of one package."""
        today = self.kitchen.today
        cut = cuts.cut(package.cut)
        form = cuts.form(package.form) if package.form else None
        species = cuts.species(package.species) if package.species else None
        kept = keeping_of(self.kitchen, package)
        best_by, from_frozen = self._ageing.best_by(package, kept)
        return Row(
            package=package,
            cut_name=cuts.display_name(cut, form, package.other_words),
            species_name=species.name if species else "",
            animals=tuple(
                self.lineage.animals[code]
                for code in self.lineage.animal_codes(package.code)
                if code in self.lineage.animals
            ),
            age_months=months_between(package.first_frozen_on, today),
            best_by=best_by,
            use_next_from=keeping.use_next_from(best_by, kept.months_max) if kept and best_by else None,
            band=keeping.band(today, best_by, kept.months_max if kept else None, air=package.wrap == SEAL_LOST),
            months_max=kept.months_max if kept else None,
            source=keeping_source(kept) if kept else "",
            freezer=self._freezers.get(package.state.freezer_id or 0, ""),
            place=self._places.get(package.state.place_id or 0, ""),
            holds=self.lineage.holds(package.code),
            for_people=not cut.not_for_people,
            from_frozen=from_frozen,
            mix=mixing.mix(self.lineage, package.code, self._shares),
            bought=mixing.bought_names(self.lineage, package.code),
        )

    def rows(self, packages: Iterable[Package]) -> tuple[Row, ...]:
        """The rows of several, in their order."""
        return tuple(self.row(package) for package in packages)

    def all(self, *states: State) -> tuple[Row, ...]:
        """Rows of every package in ``states``."""
        return self.rows(queries.packages(self.kitchen.book, *states, as_of=self.kitchen.as_of))

    def of_codes(self, codes: Sequence[str]) -> tuple[Row, ...]:
        """Rows of the packages of ``codes``, in that order."""
        few = Rows(self.kitchen, only=codes) if "lineage" not in vars(self) else self
        return few.rows(queries.packages_by_code(self.kitchen.book, codes, as_of=self.kitchen.as_of))


def keeping_source(kept: keeping.Keeping) -> str:
    """Who says so: the publication, or this household."""
    return "this household" if kept.own else sources.source(kept.source_id).cite()


def in_rotation_order(rows: Iterable[Row]) -> tuple[Row, ...]:
    """First expired first out: best-by, then first frozen, then code; those without a figure last.

    Where air got in the date says too much: after what is past its best these are the next.
    """
    return tuple(sorted(rows, key=_rotation_key))


def _rotation_key(row: Row) -> tuple[bool, bool, bool, tuple[bool, date, date, str]]:
    return (
        row.best_by is None,
        row.band is not keeping.Band.PAST_BEST,
        row.package.wrap != SEAL_LOST,
        keeping.fefo_key(row.best_by, row.package.first_frozen_on, row.code),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """packages: count, a lot by its quantity.  net_mg: weight of the weighed ones.  unweighed: how many are not."""

    packages: int
    net_mg: int
    unweighed: int
    pieces: int


def totals(rows: Iterable[Row]) -> Totals:
    """What ``rows`` add up to."""
    return totals_of((row, max(1, row.package.state.quantity)) for row in rows)


def totals_of(packages_of: Iterable[tuple[Row, int]]) -> Totals:
    """What so many of each come to."""
    packages = net_mg = unweighed = pieces = 0
    for row, number in packages_of:
        packages += number
        pieces += (row.package.pieces or 0) * number
        if row.package.net_mg is None:
            unweighed += number
        else:
            net_mg += row.package.net_mg * number
    return Totals(packages=packages, net_mg=net_mg, unweighed=unweighed, pieces=pieces)


def as_json(row: Row) -> dict[str, object]:
    """The package row of the JSON contract: always the same keys."""
    package = row.package
    return {
        "code": package.code,
        "cut": package.cut,
        "cut_name": row.cut_name,
        "form": package.form or None,
        "species": package.species or None,
        "animals": [animal.code for animal in row.animals],
        "batch": package.batch or None,
        "net_g": net_grams(row.net_mg),
        "unit_g": net_grams(package.net_mg),
        "pieces": package.pieces,
        "quantity": package.state.quantity,
        "wrap": package.wrap or None,
        "seasoning": package.seasoning or None,
        "fat_percent": package.fat_percent,
        "note": package.note or None,
        "packed_on": package.packed_on.isoformat(),
        "first_frozen_on": package.first_frozen_on.isoformat(),
        "times_frozen": package.times_frozen,
        "age_months": row.age_months,
        "best_by": row.best_by.isoformat() if row.best_by else None,
        "use_next_from": row.use_next_from.isoformat() if row.use_next_from else None,
        "band": row.band.value,
        "freezer": row.freezer or None,
        "place": row.place or None,
        "state": package.state.state.value,
        "reason": package.state.reason.value if package.state.reason else None,
        "owner": package.owner or None,
        "reserved_for": package.reserved_for or None,
        "holds": [
            {"kind": hold.kind, "of": hold.of, "since": hold.since.isoformat(), "why": hold.why} for hold in row.holds
        ],
        "source": row.source or None,
        "added": package.added or None,
        "from_frozen": row.from_frozen,
        "missing_since": package.missing_since.isoformat() if package.missing_since else None,
        "mix": [{"species": species, "percent": percent} for species, percent in row.mix] or None,
    }


def totals_json(sums: Totals, *, pieces: bool = False) -> dict[str, object]:
    """Totals of the JSON contract."""
    found: dict[str, object] = {
        "packages": sums.packages,
        "net_g": net_grams(sums.net_mg),
        "unweighed": sums.unweighed,
    }
    if pieces:
        found["pieces"] = sums.pieces
    return found
