"""What an animal gives, from one stage to the next, as published: live, dressed, hanging, packaged.

Figures are rows of ``tables/yields.csv``.  A share above or below a range is a difference, not a verdict:
shot damage, trim, drying and bone left in all move it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from freezerbox.core.mass import MG_PER_LB
from freezerbox.food.tables import read_rows

STAGES = ("live", "dressed", "hanging", "packaged")
_SHARE = re.compile(r"\b(half|halves|thirds?|quarters?|eighths?|side|share|part)\b|\d/\d|[½¼⅓⅛]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Yield:
    """One published figure.

    from_stage, to_stage: words of ``STAGES``.  hide: ``off`` where the hanging weight is without it, else "".
    style: ``boneless``, ``bone-in``, ``mixed``; "" for any.  low, high: shares of the weight at ``from_stage``.
    intercept_lb: pounds added to that share of the weight; 0 for most.  note: a remark; "" for none.
    """

    from_stage: str
    to_stage: str
    hide: str
    style: str
    low: Decimal
    high: Decimal
    intercept_lb: Decimal
    source_id: str
    locator: str
    note: str

    def expected_mg(self, mass_mg: int) -> tuple[int, int]:
        """What that weight gives at the next stage, from low to high, in milligrams."""
        more = self.intercept_lb * MG_PER_LB
        return int(self.low * mass_mg + more), int(self.high * mass_mg + more)

    def middle_mg(self, mass_mg: int) -> int:
        """The middle of what it gives."""
        low, high = self.expected_mg(mass_mg)
        return (low + high) // 2


def says_share(what: str) -> bool:
    """Whether words for an animal say a part of it: ``half hog``, ``1/4 steer``."""
    return _SHARE.search(what.casefold()) is not None


def yields(species: str, from_stage: str, to_stage: str, *, style: str = "", hide: str = "") -> tuple[Yield, ...]:
    """Published figures for a species between two stages; those that fit the style and hide, or do not say.

    ``style`` or ``hide`` "": of every style, with hide on or off.
    """
    return tuple(
        one
        for one, kinds in _rows()
        if species in kinds
        and (one.from_stage, one.to_stage) == (from_stage, to_stage)
        and (not style or one.style in ("", style))
        and (not hide or one.hide in ("", hide))
    )


def _rows() -> tuple[tuple[Yield, tuple[str, ...]], ...]:
    return tuple(
        (
            Yield(
                from_stage=row["from_stage"],
                to_stage=row["to_stage"],
                hide=row["hide"],
                style=row["style"],
                low=Decimal(row["low"]),
                high=Decimal(row["high"]),
                intercept_lb=Decimal(row["intercept_lb"] or 0),
                source_id=row["source_id"],
                locator=row["locator"],
                note=row["note"],
            ),
            tuple(row["species"].split(";")),
        )
        for row in read_rows("yields.csv")
    )
