"""What has left of lots: two eaten of five that are still there, or each one of a lot that is finished."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from freezerbox.book import journal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.out_of_lot import Out, out_of
from freezerbox.chores.rows import Row, in_rotation_order
from freezerbox.chores.wording import PULLED, left_words, was_pulled
from freezerbox.core.dates import short_date
from freezerbox.core.records import Movement, Reason, State

_PARTING = ("split", "count", "seal-lost")
"""Acts that give some of a lot a code of their own, under which they are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parted:
    """A lot of which some have left, or all.

    row: what is there; of a lot that is gone, its row.  left: each one that is out, in the order they left.
    """

    row: Row
    left: tuple[Out, ...]


def parted(kitchen: Kitchen, rows: Iterable[Row]) -> tuple[Parted, ...]:
    """Those of ``rows``, all in the freezer, of which some have left, in the order to take them."""
    there = {row.code: row for row in rows}
    left = {code: tuple(out_of(own)) for code, own in _moved(kitchen, there).items()}
    return tuple(
        Parted(row=row, left=left[row.code]) for row in in_rotation_order(there.values()) if left.get(row.code)
    )


def finished(kitchen: Kitchen, rows: Sequence[Row]) -> tuple[dict[str, Parted], dict[str, int]]:
    """Those of ``rows``, all gone, that were lots, by code; and how many of each left under its own code."""
    gone = {row.code: row for row in rows}
    lots: dict[str, Parted] = {}
    numbers: dict[str, int] = {}
    for code, own in _moved(kitchen, gone).items() if gone else ():
        left = tuple(out_of(own))
        if len(left) < 2:
            continue
        lots[code] = Parted(row=gone[code], left=left)
        into = [one for one in own if one.delta < 0 and one.reason is Reason.MADE_INTO]
        apart = sum(-one.delta for one in into if _gave_codes(kitchen, one.act_id))
        numbers[code] = max(1, len(left) - min(apart, sum(one.reason is Reason.MADE_INTO for one in left)))
    return lots, numbers


def as_left(row: Row, numbers: Mapping[str, int]) -> Row:
    """The row with all that left of it as its quantity, so that it counts and weighs what it was."""
    number = numbers.get(row.code)
    if number is None:
        return row
    package = row.package
    return replace(row, package=replace(package, state=replace(package.state, quantity=number)))


def parted_words(kitchen: Kitchen, one: Parted) -> str:
    """``2 eaten, 1 given to Ann, the last on 12 Jan; 2 of 5 there``; of a lot that is gone, how all of it left."""
    ways = Counter(_way(one.row, out) for out in one.left)
    there, out = one.row.package.state.quantity, len(one.left)
    said = ", ".join(f"{number} {words}" for words, number in ways.items())
    last = short_date(max(each.on for each in one.left), today=kitchen.today)
    still = f"; {there} of {there + out} there" if one.row.package.state.state is not State.GONE else ""
    return f"{said}, {'the last ' if out > 1 else ''}on {last}{still}"


def parted_json(one: Parted, row: Mapping[str, object]) -> dict[str, object]:
    """The lot's own ``row``, and how many left it, how, when and to whom."""
    ways = [
        {"number": number, "reason": out.reason.value, "on": out.on.isoformat(), "to": out.person or None}
        for out, number in Counter(one.left).items()
    ]
    return {**row, "left": ways}


def _moved(kitchen: Kitchen, codes: Iterable[str]) -> dict[str, list[Movement]]:
    """What moved of those packages, up to the day that is looked at."""
    wanted = frozenset(codes)
    moved: dict[str, list[Movement]] = {}
    for movement in journal.heard(kitchen.book, journal.movements(kitchen.book)):
        if movement.code in wanted and (kitchen.as_of is None or movement.happened_on <= kitchen.as_of):
            moved.setdefault(movement.code, []).append(movement)
    return moved


def _gave_codes(kitchen: Kitchen, act_id: int) -> bool:
    act = journal.act(kitchen.book, act_id)
    return act is not None and act.kind in _PARTING


def _way(row: Row, out: Out) -> str:
    # What was split off a lot, and what went into a batch, lies on under other codes.
    if was_pulled(row, out.reason, out.on):
        return PULLED
    made_into = "into others or under other codes"
    return made_into if out.reason is Reason.MADE_INTO else left_words(out.reason, out.person)
