"""How labels of every stock read: a measurement by hand, since it keeps a core busy for half an hour.

``every_stock.csv`` records it for the stocks that ``rates.csv`` has not got, photograph by photograph, so that the
sweep can take a few of them again and compare.  To measure anew after the labels of some stocks have changed:

    python -m tests.weather.every_stock 24 letter-20up a4-21up

Without a stock it measures all of them.  A cell that is below the floor is photographed on to ``LONGER``, where two
misses are no longer chance; whatever was photographed is recorded.
"""

from __future__ import annotations

import csv
import multiprocessing
import os
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from tests.weather.household import OTHERS
from tests.weather.runs import Judged, Photo, judge
from tests.weather.weathers import FAMILIES

RECORD = Path(__file__).parent / "every_stock.csv"
COLUMNS = ("family", "stock", "photographs", "ladder", "with_matching", "each")
DECODED, MATCHED, MISSED = "dm-"
LEAST_EACH = 0.97
EACH, LONGER = 24, 68
Cell = tuple[str, str]


def recorded() -> dict[Cell, str]:
    """A letter for each photograph of each family and stock: decoded, recognised, missed."""
    with RECORD.open(encoding="utf-8", newline="") as file:
        return {(row["family"], row["stock"]): row["each"] for row in csv.DictReader(file)}


def record(cells: Mapping[Cell, str]) -> None:
    """Write the table; cells of it that are not measured now stay."""
    kept = (recorded() if RECORD.exists() else {}) | dict(cells)
    with RECORD.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for family in FAMILIES:
            for stock in OTHERS:
                if each := kept.get((family, stock)):
                    writer.writerow((family, stock, *counts(each), each))


def counts(each: str) -> tuple[int, int, int]:
    """Photographs, those decoded, those decoded or recognised."""
    return len(each), each.count(DECODED), len(each) - each.count(MISSED)


def below(each: str) -> bool:
    """Whether fewer are read than the floor of a family on a stock."""
    number, _, read = counts(each)
    return read < LEAST_EACH * number


def letter(judged: Judged) -> str:
    """What became of a photograph."""
    return DECODED if judged.decoded else MATCHED if judged.read else MISSED


def cells_of(judged: Iterable[Judged]) -> dict[Cell, str]:
    """The letters of each family and stock in the order of their photographs."""
    cells: dict[Cell, str] = {}
    for one in sorted(judged, key=lambda one: one.photo.number):
        cell = (one.photo.family, one.photo.stock)
        assert one.photo.number == len(cells.get(cell, "")), f"{one.photo} is out of turn"
        cells[cell] = cells.get(cell, "") + letter(one)
    return cells


def photos(stocks: Sequence[str], first: int, end: int) -> list[Photo]:
    """Photographs ``first`` to below ``end`` of every family on those stocks."""
    return [Photo(family, stock, number) for number in range(first, end) for stock in stocks for family in FAMILIES]


def measure(stocks: Sequence[str], each: int) -> Iterator[Judged]:
    """Photograph, and on where a cell is below its floor."""
    with multiprocessing.get_context("spawn").Pool(os.cpu_count()) as pool:
        judged = []
        for one in pool.imap(judge, photos(stocks, 0, each), chunksize=4):
            judged.append(one)
            yield one
        low = {cell for cell, found in cells_of(judged).items() if below(found)}
        more = [photo for photo in photos(stocks, each, LONGER) if (photo.family, photo.stock) in low]
        yield from pool.imap(judge, more, chunksize=4)


def main(arguments: Sequence[str]) -> int:
    """Measure, record, and say what is below its floor."""
    each = int(arguments[0]) if arguments else EACH
    judged = []
    for one in measure(arguments[1:] or OTHERS, each):
        judged.append(one)
        if one.wrong:
            print(f"WRONG: {one}", flush=True)
        elif not one.read:
            print(f"missed: {one.photo}", flush=True)
    if any(one.wrong for one in judged):
        print("A code was read wrong: nothing is recorded.")
        return 1
    cells = cells_of(judged)
    record(cells)
    for cell, found in cells.items():
        if below(found):
            print(f"below the floor: {cell}: {counts(found)}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
