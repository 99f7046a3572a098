"""One of several who work in a book at once: ``hand.py KIND NUMBER TIMES BOOK CODES``; a JSON line for each deed."""

from __future__ import annotations

import json
import sys
from datetime import UTC, datetime
from pathlib import Path
from random import Random

from freezerbox.book import queries
from freezerbox.book.door import Chance, open_book
from freezerbox.chores import count, fix, move, pack, take, undo
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.errors import BookTrouble, FreezerboxError


class EveningClock:
    """It stands at the evening of 2 December 2026."""

    def now(self) -> datetime:
        return datetime(2026, 12, 2, 21)

    def stamp(self) -> datetime:
        return datetime(2026, 12, 2, 21, tzinfo=UTC)


def main(kind: str, number: str, times: str, book: str, codes: str) -> None:
    source = Random(f"{kind}/{number}")
    own = Chance(uid=lambda: f"{source.getrandbits(80):020x}", number=source.randrange)
    clock = EveningClock()
    opened = open_book(Path(book), chance=own, now=clock.stamp, station=f"{kind} {number}")
    known = Path(codes).read_text(encoding="utf-8").split()
    for turn in range(int(times)):
        kitchen = Kitchen(opened, clock)
        try:
            said = act(kind, kitchen, source, known, turn)
        except BookTrouble as error:
            said = {"outcome": "trouble", "why": error.message}
        except FreezerboxError as error:
            said = {"outcome": "refused", "why": error.message}
        print(json.dumps(said), flush=True)
    opened.close()


def act(kind: str, kitchen: Kitchen, source: Random, known: list[str], turn: int) -> dict[str, object]:
    code = source.choice(known)
    if kind == "count":
        # Another one each time: each look is an act of its own, whatever others do with the package meanwhile.
        place = next(one for one in queries.places(kitchen.book) if one.name == "red bag")
        count.see(kitchen, place, [known[turn]])
        return {"outcome": "counted", "code": known[turn]}
    if kind == "scan":
        take.take(kitchen, code)
        return {"outcome": "taken", "code": code}
    if kind == "pack":
        made = pack.prepare(kitchen, Words(cut="loin chops", animals=("26H",)), ["1.1", "1.05", ".98"])
        return {"outcome": "packed", "codes": [row.code for row in pack.write(kitchen, made).rows]}
    if kind == "move":
        move.move(kitchen, [code], to=source.choice(["red bag", "Garage chest"]))
        return {"outcome": "moved", "code": code}
    if kind == "fix":
        fix.fix(kitchen, code, fix.Corrections(note=f"note {turn}"))
        return {"outcome": "fixed", "code": code}
    take.take(kitchen, code)
    try:
        undo.undo(kitchen.afresh(), undo.target(kitchen.afresh()))
    except FreezerboxError as error:
        # Somebody corrected or moved it in between: put back instead.
        take.put_back(kitchen.afresh(), code)
        return {"outcome": "undone", "code": code, "why": error.message}
    return {"outcome": "undone", "code": code}


if __name__ == "__main__":
    main(*sys.argv[1:])
