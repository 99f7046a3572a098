"""What is lost: single packages, or a whole freezer or place as a list with weights and prices."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.late import go_whole
from freezerbox.chores.move import Target, find_target, inside_of
from freezerbox.chores.prices import price_of
from freezerbox.chores.rows import Row, Rows, Totals, in_rotation_order, totals
from freezerbox.chores.take import read_day
from freezerbox.chores.wording import packs_and_weight
from freezerbox.core.records import Reason, State
from freezerbox.errors import InvalidDate, Refused


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """What was in a place or freezer on a day.

    rows: in the order of cuts.  worth: money per row by the household's prices; None without price or weight, and
    for what is not for people.
    total: sum of those that have one.  marked: whether they are recorded as lost now.
    """

    target: Target
    rows: tuple[Row, ...]
    worth: tuple[Decimal | None, ...]
    totals: Totals
    total: Decimal
    marked: bool


@one_writer
def lose_place(kitchen: Kitchen, name: str, *, on: str = "", mark: bool = False) -> Loss:
    """The list of what a freezer or place held at the end of the day ``on``; with ``mark`` it is recorded as lost.

    Raises: UnknownRecord for the name; InvalidDate for a day ahead; Refused when there was nothing in it, or, with
    ``mark``, when something moved since that day.
    """
    target = find_target(kitchen, name)
    day = read_day(kitchen, on)
    then = kitchen.at(day)
    if target.place is not None:
        rows = inside_of(then, target.place)
    else:
        rows = tuple(row for row in Rows(then).all(State.FROZEN) if row.package.state.freezer_id == target.freezer.id)
    if not rows:
        raise Refused(f"The list has nothing in {target.words} on that day.")
    rows = tuple(sorted(in_rotation_order(rows), key=lambda row: (row.package.species, row.cut_name)))
    if mark:
        _mark(kitchen, target, rows, on)
    worth = tuple(price_of(kitchen, row) if row.for_people else None for row in rows)
    return Loss(
        target=target,
        rows=rows,
        worth=worth,
        totals=totals(rows),
        total=sum((value for value in worth if value is not None), Decimal(0)),
        marked=mark,
    )


def _mark(kitchen: Kitchen, target: Target, rows: tuple[Row, ...], on: str) -> None:
    day = read_day(kitchen, on)
    now = {row.code: row for row in Rows(kitchen).of_codes([row.code for row in rows])}
    for row in rows:
        if now[row.code].package.state != row.package.state:
            raise InvalidDate(
                f"Some of it moved or was taken after that day, {row.cut_name} for one. List it with that day, and "
                "mark it with today's, or take those steps back first.",
                value=on,
            )
    words = f"marked lost all of {target.words}: {packs_and_weight(kitchen, totals(rows))}"
    with kitchen.book.act("lost", day, words=words) as act:
        for row in rows:
            go_whole(act, row, Reason.LOST)
