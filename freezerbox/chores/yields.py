"""What an animal gave and cost: weights from stage to stage beside published ranges and the household's own mean."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from freezerbox.book import journal, origins, queries
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, Rows
from freezerbox.core.records import Animal, Reason
from freezerbox.food import sources
from freezerbox.food.yields import STAGES, Yield, says_share, yields

BONE_IN_FORMS = frozenset({"bone-in", "bone-in-roast", "bone-in-chops", "cross-cut"})
ROUNDING = Fraction(1, 200)
"""Percents are shown whole: a share within half a percent of a range is in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Against:
    """A share beside one published range.  below, above: outside it, by more than rounding."""

    published: Yield
    cite: str
    below: bool
    above: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """From one stage to the next that was weighed.

    share: of the earlier weight.  against: published ranges for it.  own_mean: the mean share of the household's
    other animals of the species, and how many they are; None without any.
    """

    from_stage: str
    to_stage: str
    from_mg: int
    to_mg: int
    share: Fraction
    against: tuple[Against, ...]
    own_mean: tuple[Fraction, int] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """What an animal gave and cost.

    packaged_mg: its own meat in packages, with what was bought left out; None when nothing was weighed.
    unweighed: packages whose part of it is not known.  style: ``boneless``, ``bone-in`` or ``mixed``.
    hang_days: from killed to processed; None when either is not known.
    cents: all it cost.  cents_per_lb: of packaged meat; None when either is not known.
    """

    animal: Animal
    packaged_mg: int | None
    unweighed: int
    style: str
    steps: tuple[Step, ...]
    hang_days: int | None
    costs: tuple[origins.Cost, ...]
    cents: int

    def cents_per(self, unit_mg: int) -> int | None:
        """What a pound or kilogram of it in packages cost, in hundredths; None when not known."""
        if not self.cents or not self.packaged_mg:
            return None
        return round(Fraction(self.cents * unit_mg, self.packaged_mg))


def story(kitchen: Kitchen, animal: Animal) -> Story:
    """What the animal gave from stage to stage, and what it cost."""
    rows = Rows(kitchen)
    packaged, unweighed, style = _packaged(kitchen, rows, animal)
    costs = origins.costs(kitchen.book, "animal", animal.code)
    days = (animal.processed_on - animal.killed_on).days if animal.processed_on and animal.killed_on else None
    return Story(
        animal=animal,
        packaged_mg=packaged,
        unweighed=unweighed,
        style=style,
        steps=_steps(kitchen, rows, animal, packaged, style),
        hang_days=days,
        costs=costs,
        cents=sum(cost.cents for cost in costs),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchCost:
    """What a batch cost.

    costs: bought for it or spent on it.  cents: their sum.  meat_cents: what its animals' meat in it cost, by their
    own costs per pound; None when one of them is not known.  out_mg: what came out; None when not all was weighed.
    """

    costs: tuple[origins.Cost, ...]
    cents: int
    meat_cents: int | None
    out_mg: int | None

    def cents_per(self, unit_mg: int, *, with_meat: bool) -> int | None:
        """What a pound or kilogram that came out cost, in hundredths; None when not known or nothing was spent."""
        cents = self.cents + (self.meat_cents or 0) if with_meat else self.cents
        if not cents or not self.out_mg or (with_meat and not self.meat_cents):
            return None
        return round(Fraction(cents * unit_mg, self.out_mg))


def batch_cost(kitchen: Kitchen, batch: str) -> BatchCost:
    """What was bought for a batch, and what the animals in it cost."""
    rows = Rows(kitchen)
    made = [row for row in rows.all() if row.package.batch == batch and row.package.state.reason is not Reason.VOID]
    outs = [None if row.package.net_mg is None else row.package.net_mg * _packed(kitchen, row) for row in made]
    costs = origins.costs(kitchen.book, "batch", batch)
    meat: Fraction | None = Fraction(0)
    for animal in dict.fromkeys(animal for row in made for animal in row.animals):
        found = story(kitchen, animal)
        known: dict[str, Fraction | None] = {}
        for row, out in zip(made, outs, strict=True):
            share = rows.lineage.share_of(row.code, "animal", animal.code, known)
            if share is None or out is None or not found.cents or not found.packaged_mg or meat is None:
                meat = None
                break
            meat += share * out * Fraction(found.cents, found.packaged_mg)
    return BatchCost(
        costs=costs,
        cents=sum(cost.cents for cost in costs),
        meat_cents=None if meat is None else round(meat),
        out_mg=None if None in outs or not outs else sum(out or 0 for out in outs),
    )


def _packaged(kitchen: Kitchen, rows: Rows, animal: Animal) -> tuple[int | None, int, str]:
    """Meat of the animal in packages made of it directly; what was made of those is not counted again."""
    known: dict[str, Fraction | None] = {}
    total, weighed, unweighed = Fraction(0), 0, 0
    styles = set()
    for row in rows.of_codes(rows.lineage.children("animal", animal.code)):
        if row.package.state.reason is Reason.VOID or row.package.net_mg is None:
            unweighed += row.package.state.reason is not Reason.VOID
            continue
        share = rows.lineage.share_of(row.code, "animal", animal.code, known)
        if share is None:
            # Bought fat of unknown weight went in (a run packed with --added): all of it is counted.
            share = Fraction(1) if [one.code for one in row.animals] == [animal.code] else None
        if share is None:
            unweighed += 1
            continue
        total += share * row.package.net_mg * _packed(kitchen, row)
        weighed += 1
        styles.add("bone-in" if _bone_in(row) else "boneless")
    style = styles.pop() if len(styles) == 1 else "mixed" if styles else ""
    return (round(total) if weighed else None), unweighed, style


def _packed(kitchen: Kitchen, row: Row) -> int:
    """How many a record stood for when it was packed."""
    movements = journal.movements(kitchen.book, code=row.code)
    return next((movement.delta for movement in movements if movement.delta > 0), 1)


def _bone_in(row: Row) -> bool:
    from freezerbox.food import cuts

    return cuts.cut(row.package.cut).spine_bone or row.package.form in BONE_IN_FORMS or row.package.cut == "shank"


def _weights(animal: Animal, packaged: int | None) -> dict[str, int]:
    found = {
        "live": animal.live_mg,
        "dressed": animal.dressed_mg,
        "hanging": animal.hanging_mg,
        "packaged": packaged,
    }
    return {stage: mg for stage, mg in found.items() if mg is not None}


def is_share(animal: Animal) -> bool:
    """Whether its words say a part of an animal, ``half hog``: a live weight may then be of all of it."""
    return says_share(animal.what)


def _comparable(animal: Animal, packaged: int | None) -> dict[str, int]:
    """The weights that are surely of the same meat: of a share without the live one."""
    weights = _weights(animal, packaged)
    return {stage: mg for stage, mg in weights.items() if stage != "live" or not is_share(animal)}


def _steps(kitchen: Kitchen, rows: Rows, animal: Animal, packaged: int | None, style: str) -> tuple[Step, ...]:
    weights = _comparable(animal, packaged)
    stages = [stage for stage in STAGES if stage in weights]
    pairs = list(pairwise(stages))
    if "dressed" in weights and "packaged" in weights and ("dressed", "packaged") not in pairs:
        pairs.append(("dressed", "packaged"))
    others = [one for one in queries.animals(kitchen.book) if one.species == animal.species and one.id != animal.id]
    found = []
    for start, end in pairs:
        share = Fraction(weights[end], weights[start])
        hide = animal.hide if start == "hanging" else ""
        found.append(
            Step(
                from_stage=start,
                to_stage=end,
                from_mg=weights[start],
                to_mg=weights[end],
                share=share,
                against=_against(animal, start, end, weights, style, hide),
                own_mean=_own_mean(kitchen, rows, others, start, end, hide),
            )
        )
    return tuple(found)


def _against(
    animal: Animal, start: str, end: str, weights: dict[str, int], style: str, hide: str
) -> tuple[Against, ...]:
    # With the hide still on, the skinned figures say nothing of this weight.
    fitting = [one for one in yields(animal.species, start, end) if not one.hide or one.hide == hide]
    if end == "packaged":
        fitting = [one for one in fitting if style in ("", "mixed") or one.style in ("", "mixed", style)]
    found = []
    for one in fitting:
        low, high = one.expected_mg(weights[start])
        slack = ROUNDING * weights[start]
        found.append(
            Against(
                published=one,
                cite=sources.source(one.source_id).cite(),
                below=weights[end] + slack < low,
                above=weights[end] - slack > high,
            )
        )
    return tuple(found)


def _own_mean(
    kitchen: Kitchen, rows: Rows, others: list[Animal], start: str, end: str, hide: str
) -> tuple[Fraction, int] | None:
    shares = []
    for other in others:
        if start == "hanging" and other.hide != hide:
            continue
        weights = _comparable(other, _packaged(kitchen, rows, other)[0])
        if start in weights and end in weights:
            shares.append(Fraction(weights[end], weights[start]))
    return (sum(shares, Fraction(0)) / len(shares), len(shares)) if shares else None
