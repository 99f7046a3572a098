"""Words that an arrangement leaves off, set small where one of its stacks has room to spare."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

from freezerbox.labels.stock import Arrangement, Row

FIELDS = ("season", "cue", "run", "owner", "note")
"""What may stand below the other words of a stack, in this order: none of it has a place in the order of reading."""
_GROWS = 1.3


def with_room_for(arrangement: Arrangement, lost: Collection[str]) -> Iterator[Arrangement]:
    """The arrangement with a row for what was lost at the foot of each stack, the last stack first; none for bars.

    The letters are as small as the smallest of the arrangement, and little more.
    """
    fields = tuple(field for field in FIELDS if field in lost)
    if not fields:
        return
    least = min(row.least_mm for stack in arrangement.stacks for row in stack.rows if row.module_mm is None)
    for at, stack in reversed(tuple(enumerate(arrangement.stacks))):
        if any(row.module_mm is not None for row in stack.rows):
            continue
        more = Row(
            fields=fields, face="condensed", least_mm=least, most_mm=least * _GROWS, good_mm=least * _GROWS,
            squeeze=0.72, lines=2, small=(), dot=True, module_mm=None,
        )  # fmt: skip
        stacks = [replace(one, rows=tuple(_without(row, fields) for row in one.rows)) for one in arrangement.stacks]
        stacks[at] = replace(stacks[at], rows=(*stacks[at].rows, more))
        yield replace(arrangement, stacks=tuple(stacks))


def _without(row: Row, fields: Collection[str]) -> Row:
    return replace(row, fields=tuple(field for field in row.fields if field not in fields))
