"""What a scale says, report by report (USB-IF, HID Point of Sale usage tables, page 8Dh)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

# Weight units of the page that a kitchen scale is set to, as people write them; the others are nobody's kitchen.
UNITS = {1: "mg", 2: "g", 3: "kg", 11: "oz", 12: "lb"}
FAULT, ZERO, MOVING, STEADY, UNDER_ZERO, OVER, CALIBRATE, RE_ZERO = range(1, 9)
LENGTHS = (6, 5)
"""Bytes of a report with its number in front, and without."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """One report.

    status: 1..8 as the page numbers them.  amount: in ``unit``, never negative.
    unit: mg, g, kg, oz or lb; "" for what no kitchen uses.
    """

    status: int
    amount: Decimal
    unit: str

    def is_about(self, other: Report, *, percent: int) -> bool:
        """Whether it may be the bag of ``other``: no zero, in the same unit, and within so many hundredths."""
        return (
            self.unit == other.unit
            and self.status not in (ZERO, UNDER_ZERO)
            and abs(self.amount - other.amount) * 100 <= other.amount * percent
        )

    @property
    def text(self) -> str:
        """The weight as somebody would type it: ``645.2 oz``."""
        if self.unit == "mg":
            return f"{self.amount.scaleb(-3).normalize():f} g"
        return f"{self.amount:f} {self.unit}"


def parse(raw: bytes) -> Report | None:
    """A report of six bytes, or of five without its number; None for another length."""
    if len(raw) not in LENGTHS:
        return None
    status, unit, exponent, low, high = raw[-5:]
    power = exponent - 256 if exponent > 127 else exponent
    if not -6 <= power <= 6:
        return None
    return Report(status=status, amount=Decimal(high * 256 + low).scaleb(power), unit=UNITS.get(unit, ""))


def split(raw: bytes) -> Iterator[bytes]:
    """Reports that were read at once; a scale's own file gives one at a time, a pipe several."""
    for length in LENGTHS:
        if raw and len(raw) % length == 0 and len({raw[at] for at in range(0, len(raw), length)}) == 1:
            yield from (raw[at : at + length] for at in range(0, len(raw), length))
            return
    yield raw
