"""How packages left, one by one, units of a lot included: what was eaten and when, and who was given what."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from freezerbox.book import journal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.core.fold import in_order
from freezerbox.core.records import Movement, Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Exit:
    """Packages of one code that left together and stayed away.

    reason: how.  on: the day.  person: who they went to; "" for nobody.  number: how many.  act_id: by which act.
    """

    row: Row
    reason: Reason
    on: date
    person: str
    number: int
    act_id: int

    @property
    def net_mg(self) -> int | None:
        """Weight of them together, in milligrams; None when not weighed."""
        return None if self.row.package.net_mg is None else self.row.package.net_mg * self.number


def exits(kitchen: Kitchen, rows: Iterable[Row]) -> tuple[Exit, ...]:
    """Every way out of ``rows`` that stands, by day: what was put back or taken back since is not among them."""
    of = {row.code: row for row in rows}
    moved: dict[str, list[Movement]] = {}
    for movement in journal.heard(kitchen.book, journal.movements(kitchen.book)):
        if movement.code in of and (kitchen.as_of is None or movement.happened_on <= kitchen.as_of):
            moved.setdefault(movement.code, []).append(movement)
    found = [left for code, own in moved.items() for left in _of_one(of[code], own)]
    return tuple(sorted(found, key=lambda left: (left.on, left.row.code)))


def _of_one(row: Row, movements: Sequence[Movement]) -> list[Exit]:
    """Ways out of one package: each return takes back the latest."""
    left: list[Exit] = []
    for movement in in_order(movements):
        if movement.delta < 0 and movement.reason is not None:
            left.append(
                Exit(
                    row=row,
                    reason=movement.reason,
                    on=movement.happened_on,
                    person=movement.person,
                    number=-movement.delta,
                    act_id=movement.act_id,
                )
            )
        back = movement.delta
        while back > 0 and left:
            last = left.pop()
            if last.number > back:
                left.append(replace(last, number=last.number - back))
            back -= last.number
    return left
