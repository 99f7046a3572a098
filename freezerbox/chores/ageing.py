"""Best-by of a package: from its first freezing, or, when it was made of frozen meat, by the sum rule.

What is made of frozen meat is not born past its best: it has the months of what it now is, less the share of its
life that its oldest input had used up (see ``keeping.best_by_made``).  A part split off a package keeps its days.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from freezerbox.book import queries
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.lineage import Lineage
from freezerbox.core.records import Package
from freezerbox.food import cuts, keeping


class Ageing:
    """Works out best-by dates; remembers what it found for the packages behind a batch."""

    def __init__(self, kitchen: Kitchen, lineage: Lineage) -> None:
        self.kitchen, self.lineage = kitchen, lineage
        self._behind: dict[str, Package | None] = {}
        self._used: dict[str, Fraction | None] = {}

    def best_by(self, package: Package, kept: keeping.Keeping | None) -> tuple[date | None, bool]:
        """The last day of best quality, None without a figure; and whether the sum rule gave it.

        ``kept``: the guide's figure for it, as ``keeping_of`` says.
        """
        if kept is None:
            return None, False
        months = kept.months_max
        parent = self._split_from(package)
        if parent is not None:
            return self.best_by(parent, keeping_of(self.kitchen, parent))
        used = self._used_when_made(package)
        if used is None:
            return keeping.best_by(package.first_frozen_on, months), False
        return keeping.best_by_left(package.packed_on, months, used), True

    def _used_when_made(self, package: Package) -> Fraction | None:
        """What its oldest frozen input had used up when it was made; None when no input had been frozen before."""
        if package.code not in self._used:
            self._used[package.code] = None  # a circle, which no book has, ends here
            self._used[package.code] = self._oldest_used(package)
        return self._used[package.code]

    def _oldest_used(self, package: Package) -> Fraction | None:
        inputs = [
            one
            for source in self.lineage.sources.get(package.code, ())
            if source.kind == "package" and (one := self._package(source.name)) is not None
        ]
        aged = [
            (one.first_frozen_on, -used)
            for one in inputs
            if one.first_frozen_on < package.packed_on
            and (used := self._life_used(one, package.packed_on)) is not None
        ]
        return -min(aged)[1] if aged else None

    def _life_used(self, package: Package, on: date) -> Fraction | None:
        months = self._months(package)
        if months is None:
            return None
        before = self._used_when_made(package)
        if before is None:
            return keeping.life_used(package.first_frozen_on, months, on)
        return keeping.life_used(package.packed_on, months, on, before)

    def _split_from(self, package: Package) -> Package | None:
        """The package it is a part of: the same food of the same days."""
        sources = self.lineage.sources.get(package.code, ())
        if len(sources) != 1 or sources[0].kind != "package":
            return None
        parent = self._package(sources[0].name)
        same = ("cut", "packed_on", "first_frozen_on", "times_frozen", "batch")
        if parent is None or any(getattr(parent, name) != getattr(package, name) for name in same):
            return None
        return parent

    def _package(self, code: str) -> Package | None:
        if code not in self._behind:
            self._behind[code] = queries.package(self.kitchen.book, code)
        return self._behind[code]

    def _months(self, package: Package) -> int | None:
        kept = keeping_of(self.kitchen, package)
        return kept.months_max if kept else None


def keeping_of(kitchen: Kitchen, package: Package) -> keeping.Keeping | None:
    """The guide's figure for a package; None where it has none."""
    species = cuts.species(package.species) if package.species else None
    form = cuts.form(package.form) if package.form else None
    kind = cuts.keeps_as(cuts.cut(package.cut), form)
    return kitchen.guide.keeping(species.guide_group if species else "other", kind, package.other_words)
