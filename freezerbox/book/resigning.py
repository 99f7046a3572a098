"""Two places of one sign code, each in its book: the one that came later gets a code of its own.

Whichever book is joined into which, the same place keeps the code and the other gets the same new one: it follows
from the place's own uid.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from freezerbox.book.transfer import Value
from freezerbox.core.code import bodies, make_code

Rows = list[tuple[str, dict[str, Value]]]
"""A book's rows with their tables."""
TRIED = 200
"""So many codes follow from a uid before it is given up; the first is nearly always free."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Resigned:
    """A place whose sign has another code from now on.  here: in the book that is joined into."""

    place: str
    old: str
    new: str
    here: bool


def part_signs(mine: Rows, theirs: Rows) -> tuple[Resigned, ...]:
    """Give places that share a sign code with a place of the other book, or shared it once, a code of their own.

    ``mine``, ``theirs`` are changed.  Returns each place that was given one, seen from ``mine``.
    """
    taken = {str(row["code"]) for side in (mine, theirs) for table, row in side if table == "code"}
    found = []
    here, there = _places(mine), _places(theirs)
    for uid in here.keys() & there.keys():
        codes = str(here[uid]["code"]), str(there[uid]["code"])
        # Given a new one when one of the books was joined before: the other goes by it from now on.
        for side, old, new in ((mine, *codes), (theirs, codes[1], codes[0])):
            if old != new and new in _codes_of(uid, new[0]) and old not in _codes_of(uid, old[0]):
                found.append(_resign(side, uid, new, here=side is mine))
    whose = {str(row["code"]): uid for uid, row in _places(mine).items()}
    for uid, row in sorted(_places(theirs).items()):
        own = whose.get(str(row["code"]))
        if own is None or own == uid:
            continue
        later = max((_made(mine, own), own, True), (_made(theirs, uid), uid, False))
        side = mine if later[2] else theirs
        free = [code for code in _codes_of(later[1], str(row["code"])[0]) if code not in taken][:1]
        for code in free:
            taken.add(code)
            found.append(_resign(side, later[1], code, here=later[2]))
    return tuple(found)


def _places(side: Rows) -> dict[str, dict[str, Value]]:
    return {str(row["uid"]): row for table, row in side if table == "place"}


def _made(side: Rows, uid: str) -> str:
    """When a place was recorded."""
    act = _places(side)[uid]["act_id"]
    return next(str(row["recorded_at"]) for table, row in side if table == "act" and row["id"] == act)


def _codes_of(uid: str, first: str) -> Sequence[str]:
    """The codes that follow from a place's uid, the first one first."""
    return tuple(islice(_walk(uid, first), TRIED))


def _walk(uid: str, first: str) -> Iterator[str]:
    start = int.from_bytes(hashlib.sha256(uid.encode()).digest()[:4], "big")
    return (code for code in map(make_code, bodies(first, start % (1 << 20))) if code is not None)


def _resign(side: Rows, uid: str, new: str, *, here: bool) -> Resigned:
    place = _places(side)[uid]
    old = str(place["code"])
    place["code"] = new
    for table, row in side:
        if table == "code" and row["code"] == old:
            row["code"] = new
    return Resigned(place=str(place["name"]), old=old, new=new, here=here)
