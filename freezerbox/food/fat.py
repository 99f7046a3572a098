"""Fat maths of grind day: how much to add, what percent is reached, how many packages it fills.

Fat tissue is counted as pure fat and lean game as none, as is the custom; all weights are whole milligrams.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from freezerbox.errors import InputError

Part = tuple[int, int]
"""A weight in milligrams and its percent of fat."""


def to_add(parts: Iterable[Part], target: int, source: int) -> int:
    """Milligrams of a ``source`` percent fat to add to ``parts`` for a mix of ``target`` percent, to the nearest.

    The mix's fat is what is in the parts and in what is added: added = (target x weight - fat) / (source - target).

    Raises: InputError when the target is not from 0 to 99, not below the source's own fat, or below what the parts
    have already.

    >>> to_add([(8000, 0)], 20, 100), to_add([(6000, 0)], 20, 50), to_add([(2000, 0)], 10, 30)
    (2000, 4000, 1000)
    """
    listed = list(parts)
    weight = sum(mg for mg, _ in listed)
    if not 0 <= target <= 99:
        raise InputError(f"{target}% fat is no mix. Give a target from 0 to 99.", value=target)
    if target >= source:
        raise InputError(
            f"What is added is itself {source}% fat, so it cannot bring the mix to {target}%. "
            "Add something fatter, or aim lower.",
            value=target,
            source=source,
        )
    fat = sum(Fraction(mg * percent, 100) for mg, percent in listed)
    missing = Fraction(weight * target, 100) - fat
    if missing < 0:
        raise InputError(
            f"The meat is {round(fat * 100 / weight)}% fat already, above {target}%; that would take fat out of it. "
            "Aim higher, or add lean.",
            value=target,
        )
    return round(missing / Fraction(source - target, 100))


def by_ratio(lean_mg: int, lean: int, other: int) -> int:
    """Milligrams to add for ``lean`` parts to ``other`` parts, such as 80/20 bacon burger.

    Raises: InputError for parts that are not above zero.

    >>> by_ratio(8000, 80, 20)
    2000
    """
    if lean <= 0 or other <= 0:
        raise InputError(
            f"{lean}/{other} is no ratio. Write lean to the other, such as 80/20.", value=f"{lean}/{other}"
        )
    return round(Fraction(lean_mg * other, lean))


def percent_of(parts: Iterable[Part]) -> Fraction:
    """The percent of fat that a mix has.

    >>> percent_of([(8000, 0), (2000, 100)])
    Fraction(20, 1)
    """
    listed = list(parts)
    return Fraction(sum(mg * percent for mg, percent in listed), sum(mg for mg, _ in listed))


def fills(total_mg: int, each_mg: int) -> int:
    """Up to how many packages of a size the mix fills; some of it stays in the grinder.

    A weight is known to half a milligram, so a mix that comes out even is not one short.
    """
    return int(Fraction(2 * total_mg + 1, 2 * each_mg - 1))
