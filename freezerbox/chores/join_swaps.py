"""Labels swapped in one book, and what the other says of one of the two packs: nothing is joined by halves."""

from __future__ import annotations

import shlex
from pathlib import Path

from freezerbox.book import values
from freezerbox.book.sides import Side
from freezerbox.book.swaps import met
from freezerbox.book.transfer import Row
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.dates import short_date
from freezerbox.errors import Refused


def refuse_swaps(kitchen: Kitchen, mine: Side, their: Side, other: Path) -> None:
    """Raises: Refused for a swap in one book of a pack that the other swapped or corrected, with what helps.

    Taken over fact by fact it would leave records of packs that never were, or give a correction to the wrong pack.
    """
    found = list(met(mine, their))
    if not found:
        return
    there = f"freezerbox --book {shlex.quote(str(other))} undo"
    here: list[str] = []
    away: list[str] = []
    undone: dict[str, Row] = {}
    for one in found:
        for row, is_here in ((one.swap, one.here), (one.other, not one.here)):
            (here if is_here else away).append(_act_line(kitchen, row, is_here))
        undone[f"{'freezerbox undo' if one.here else there} {one.swap['id']}"] = one.swap
        if one.again:
            undone[f"{there} {one.other['id']}"] = one.other
    swaps = all(one.again for one in found)
    what = (
        "Take one of the swaps back in its book, join, and swap again what is still wrong then"
        if swaps
        else "Take the swap back in its book, join, and swap again"
    )
    told = "\n  ".join(dict.fromkeys([*here, *away]))
    raise Refused(
        f"Nothing joined: a swap of labels is one act about two packs, and both books say something of one of them:\n"
        f"  {told}\n{what}: {(' or ' if swaps else ', ').join(undone)}",
        acts=[row["id"] for row in undone.values()],
    )


def _act_line(kitchen: Kitchen, row: Row, here: bool) -> str:
    day = short_date(values.day(str(row["happened_on"])), today=kitchen.today)
    return f"{'here' if here else 'there'}: {row['words']}, {day} (act {row['id']})"
