"""What meat is worth to this household: its own prices, kept as settings; the program knows none."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from freezerbox.book.values import unreadable_setting
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.rows import Row
from freezerbox.core.mass import MG_PER_KG, MG_PER_LB, MassUnit
from freezerbox.errors import InputError
from freezerbox.food import cuts

PRICE_PREFIX = "price:"
ANY = "any"
_PRICE = re.compile(r"\d{1,5}(?:[.,]\d{1,2})?")
CENT = Decimal("0.01")


@one_writer
def set_price(kitchen: Kitchen, what: str, price: str) -> str:
    """Set the price of a kilogram or pound of a cut (``any`` for all others); returns the cut's key.

    Raises: UnknownWord, AmbiguousWord for the cut; InputError for the price.
    """
    if not _PRICE.fullmatch(price.strip()):
        raise InputError(f"{price!r} is not a price. Write it as 6.50, for a pound or kilogram.", value=price)
    key = price_key(kitchen, what)
    value = price.strip().replace(",", ".")
    old = kitchen.settings.get(PRICE_PREFIX + key)
    with kitchen.book.act("settings", kitchen.today, words=f"set the price of {key} to {value}") as act:
        act.change("setting", PRICE_PREFIX + key, "value", old, value)
    return key


def price_key(kitchen: Kitchen, what: str) -> str:
    """The key of the cut that a price is for, or ``any``.  Raises: UnknownWord, AmbiguousWord."""
    return ANY if what.strip().lower() == ANY else cuts.resolve_cut(what, None, kitchen.own_words).cut.key


def prices(kitchen: Kitchen) -> dict[str, Decimal]:
    """Prices by cut, in money per house unit (pound or kilogram).  Raises: BookTrouble for one that is none."""
    found = {}
    for key, value in kitchen.settings.items():
        if key.startswith(PRICE_PREFIX):
            if not _PRICE.fullmatch(value):
                raise unreadable_setting(key, value, f"freezerbox settings {key} 8.00")
            found[key.removeprefix(PRICE_PREFIX)] = Decimal(value)
    return found


def worth(kitchen: Kitchen, rows: Iterable[Row]) -> tuple[Decimal, int] | None:
    """What packages are worth together by the household's prices, and how many lack a price or a weight.

    None when the household has no prices.
    """
    if not prices(kitchen):
        return None
    values = [(price_of(kitchen, row), max(1, row.package.state.quantity)) for row in rows]
    total = sum((value for value, _ in values if value is not None), Decimal(0))
    return total, sum(number for value, number in values if value is None)


def price_of(kitchen: Kitchen, row: Row) -> Decimal | None:
    """What a package is worth, to the cent; ``None`` without a price or a weight."""
    known = prices(kitchen)
    price = known.get(row.package.cut, known.get(ANY))
    if price is None or row.net_mg is None:
        return None
    unit = Decimal(MG_PER_KG) if kitchen.unit is MassUnit.KG else MG_PER_LB
    return (price * row.net_mg / unit).quantize(CENT, rounding=ROUND_HALF_UP)
