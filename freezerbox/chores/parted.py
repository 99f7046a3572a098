"""What has left of lots that are still there: two eaten of five."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from freezerbox.book import journal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.out_of_lot import Out, out_of
from freezerbox.chores.rows import Row, in_rotation_order
from freezerbox.chores.wording import left_words
from freezerbox.core.dates import short_date
from freezerbox.core.records import Movement, Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Parted:
    """A lot of which some have left.  row: what is there.  left: each one that is out, in the order they left."""

    row: Row
    left: tuple[Out, ...]


def parted(kitchen: Kitchen, rows: Iterable[Row]) -> tuple[Parted, ...]:
    """Those of ``rows``, all in the freezer, of which some have left, in the order to take them."""
    there = {row.code: row for row in rows}
    moved: dict[str, list[Movement]] = {}
    for movement in journal.heard(kitchen.book, journal.movements(kitchen.book)):
        if movement.code in there and (kitchen.as_of is None or movement.happened_on <= kitchen.as_of):
            moved.setdefault(movement.code, []).append(movement)
    left = {code: tuple(out_of(own)) for code, own in moved.items()}
    return tuple(
        Parted(row=row, left=left[row.code]) for row in in_rotation_order(there.values()) if left.get(row.code)
    )


def parted_words(kitchen: Kitchen, one: Parted) -> str:
    """``2 eaten, 1 given to Ann, the last on 12 Jan; 2 of 5 there``."""
    ways = Counter(_way(out) for out in one.left)
    there, out = one.row.package.state.quantity, len(one.left)
    said = ", ".join(f"{number} {words}" for words, number in ways.items())
    last = short_date(max(each.on for each in one.left), today=kitchen.today)
    return f"{said}, {'the last ' if out > 1 else ''}on {last}; {there} of {there + out} there"


def parted_json(one: Parted, row: Mapping[str, object]) -> dict[str, object]:
    """The lot's own ``row``, and how many left it, how, when and to whom."""
    ways = [
        {"number": number, "reason": out.reason.value, "on": out.on.isoformat(), "to": out.person or None}
        for out, number in Counter(one.left).items()
    ]
    return {**row, "left": ways}


def _way(out: Out) -> str:
    # The lot is there: what was split off it, and what went into a batch, lies on under other codes.
    made_into = "into others or under other codes"
    return made_into if out.reason is Reason.MADE_INTO else left_words(out.reason, out.person)
