"""Weights: whole milligrams inside, read as people say them, shown in the house's unit.

The factors are exact by definition (international yard and pound agreement of 1959; NIST Handbook 44, appendix C):
1 lb = 453.59237 g and 1 oz = 28.349523125 g.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum

from freezerbox.errors import InvalidMass

MG_PER_G = 1_000
MG_PER_KG = 1_000_000
MG_PER_LB = Decimal("453592.37")
MG_PER_OZ = Decimal("28349.523125")

NOT_WEIGHED = ("x", "?", "not weighed")
# Above this a "package" is a whole carcass or a slip of the decimal point.
LARGEST_MG = 200 * MG_PER_KG

_UNITS = {
    "lb": MG_PER_LB, "lbs": MG_PER_LB, "pound": MG_PER_LB, "pounds": MG_PER_LB, "#": MG_PER_LB,
    "oz": MG_PER_OZ, "ounce": MG_PER_OZ, "ounces": MG_PER_OZ,
    "g": Decimal(MG_PER_G), "gr": Decimal(MG_PER_G), "gram": Decimal(MG_PER_G), "grams": Decimal(MG_PER_G),
    "kg": Decimal(MG_PER_KG), "kilo": Decimal(MG_PER_KG), "kilos": Decimal(MG_PER_KG),
}  # fmt: skip
UNIT_WORDS = frozenset(_UNITS)
OUNCE_WORDS = frozenset(word for word, factor in _UNITS.items() if factor == MG_PER_OZ)
_NUMBER = r"(?:\d+(?:[.,]\d+)?|[.,]\d+)"
# As people say it: halves, quarters and eighths, alone or after whole ones.
_FRACTIONS = {"1/2": "0.5", "1/4": "0.25", "3/4": "0.75"} | {f"{part}/8": str(part * 0.125) for part in (1, 3, 5, 7)}
_SIGNS = {
    "\u00bd": "1/2", "\u00bc": "1/4", "\u00be": "3/4", "\u215b": "1/8", "\u215c": "3/8", "\u215d": "5/8",
    "\u215e": "7/8",
}  # fmt: skip
_FRACTION = re.compile(r"(?:(\d+)(?: ?- ?| ))?([1-7]/[248])(?![/\d]) ?([a-z#]+)?")
_POUNDS_OUNCES = re.compile(rf"(\d+) ?(?:lbs?|pounds?|#|:) ?({_NUMBER}) ?(?:oz|ounces?)?")
_ONE_UNIT = re.compile(rf"({_NUMBER}) ?([a-z#]+)?")
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}")
_SEVERAL = re.compile(rf"{_NUMBER}(?:[,;]{_NUMBER})+")


class MassUnit(StrEnum):
    """The unit the house shows weights in, and the one a bare number is taken as."""

    LB = "lb"
    """Pounds with two decimals: ``1.25 lb``."""
    LB_OZ = "lb-oz"
    """Pounds and ounces to a tenth: ``1 lb 4 oz``."""
    KG = "kg"
    """Kilograms with three decimals: ``0.567 kg``."""


def parse_mass(text: str, *, unit: MassUnit, most_mg: int = LARGEST_MG) -> int | None:
    """Milligrams that ``text`` says, or ``None`` for ``x``: not weighed.

    Takes ``1 lb 4``, ``1lb4``, ``1:4`` (pounds:ounces), ``1.25 lb``, ``20 oz``, ``567 g``, ``0.567 kg``, ``1,2 kg``,
    ``1 1/4 lb`` (halves, quarters, eighths) and a bare ``1.25`` or ``2.`` in the house's ``unit``.

    Raises: InvalidMass when it is no weight, zero, negative or beyond ``most_mg``, 200 kg for a package.

    >>> parse_mass("1 lb 4", unit=MassUnit.KG) == parse_mass("20 oz", unit=MassUnit.KG)
    True
    """
    words = " ".join(text.strip().lower().split())
    if words in NOT_WEIGHED:
        return None
    if words.startswith(("-", "−", "–")):
        raise InvalidMass(
            f"{text!r} is below zero. A weight is more than zero, such as 1.25; write x when it was not weighed.",
            value=text,
        )
    exact = _read(_in_decimals(words), text, unit)
    # Before rounding: a number of thirty digits is beyond what Decimal rounds.
    if exact > most_mg:
        bare = f" A bare number is in {'pounds' if unit is not MassUnit.KG else 'kilograms'} here."
        raise InvalidMass(
            f"{text!r} is more than {show_mass(most_mg, unit)}. Is the unit right?"
            f"{'' if any(sign.isalpha() for sign in words) else bare}",
            value=text,
        )
    mg = int(exact.quantize(Decimal(1), rounding=ROUND_HALF_EVEN))
    if mg <= 0:
        raise InvalidMass(
            f"{text!r} is no weight at all. Write what the scale shows, or x when it was not weighed.",
            value=text,
        )
    return mg


def _in_decimals(words: str) -> str:
    """``1 1/4 lb`` as ``1.25 lb``, ``2.`` as ``2``; anything else as it is."""
    for sign, plain in _SIGNS.items():
        words = words.replace(sign, f" {plain}")
    words = " ".join(words.split())
    words = re.sub(r"^(\d+)\.(?= |$)", r"\1", words)
    match = _FRACTION.fullmatch(words)
    if match is None or match[2] not in _FRACTIONS:
        return words
    return f"{match[1] or 0}{_FRACTIONS[match[2]].removeprefix('0')} {match[3] or ''}".strip()


def _read(words: str, text: str, unit: MassUnit) -> Decimal:
    if match := _POUNDS_OUNCES.fullmatch(words):
        ounces = _decimal(match[2])
        if ounces >= 16:
            raise InvalidMass(
                f"{text!r} has {match[2]} ounces beside the pounds; a pound has 16. "
                f"Write {match[1]} lb and up to 15 oz, or pounds alone such as {match[1]}.5.",
                value=text,
            )
        return Decimal(match[1]) * MG_PER_LB + ounces * MG_PER_OZ
    match = _ONE_UNIT.fullmatch(words)
    factor = None
    if match:
        factor = _UNITS.get(match[2]) if match[2] else (_UNITS["kg"] if unit is MassUnit.KG else MG_PER_LB)
    if match is None and _SEVERAL.fullmatch(words):
        raise InvalidMass(
            f"{text!r} looks like several weights in one word. Put a space between them, such as 1.1 .95 1.2; "
            "a decimal comma is taken too: 1,2.",
            value=text,
        )
    if match is None or factor is None:
        raise InvalidMass(
            f"{text!r} is not a weight. Write it as 1.25, 1 lb 4, 1:4, 20 oz, 567 g or 0.567 kg; "
            "x when it was not weighed.",
            value=text,
        )
    if _THOUSANDS.fullmatch(match[1]):
        whole, part = match[1].split(",")
        raise InvalidMass(f"{text!r} can be read two ways. Write {whole}{part} or {whole}.{part}.", value=text)
    return _decimal(match[1]) * factor


def _decimal(text: str) -> Decimal:
    return Decimal(text.replace(",", "."))


def in_pounds(mg: int) -> Decimal:
    """The weight in pounds, exact."""
    return Decimal(mg) / MG_PER_LB


def show_mass(mg: int | None, unit: MassUnit) -> str:
    """The weight in words for people: ``1.25 lb``, ``1 lb 4 oz`` or ``0.567 kg``; ``not weighed`` for ``None``.

    >>> show_mass(566990, MassUnit.LB_OZ)
    '1 lb 4 oz'
    """
    if mg is None:
        return "not weighed"
    if unit is MassUnit.LB:
        return f"{in_pounds(mg):.2f} lb"
    if unit is MassUnit.KG:
        return f"{Decimal(mg) / MG_PER_KG:.3f} kg"
    tenths = int((Decimal(mg) / MG_PER_OZ * 10).quantize(Decimal(1), rounding=ROUND_HALF_EVEN))
    pounds, rest = divmod(tenths, 160)
    ounces = f"{rest // 10}" if rest % 10 == 0 else f"{rest // 10}.{rest % 10}"
    if not pounds:
        return f"{ounces} oz"
    return f"{pounds} lb {ounces} oz" if rest else f"{pounds} lb"


def net_grams(mg: int | None) -> float | int | None:
    """Grams for JSON: a whole number where it is one, else with three decimals; ``None`` when not weighed."""
    if mg is None:
        return None
    return mg // MG_PER_G if mg % MG_PER_G == 0 else mg / MG_PER_G
