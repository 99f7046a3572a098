"""What was ordered from the butcher against what came: ``brisket 1 of 1; stew 0 of 2: missing``."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from freezerbox.book import at_hand
from freezerbox.chores.header import find_animal, whole_number
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.table import read_text
from freezerbox.core.records import Animal, Reason, State
from freezerbox.errors import FaultyFile, FreezerboxError
from freezerbox.food import cuts

MOST_ORDERED = 2_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One kind of package.  name: in words.  ordered: how many packs were asked for.  received: how many came."""

    name: str
    ordered: int
    received: int

    @property
    def words(self) -> str:
        """``stew meat 0 of 2: missing``, ``brisket 1 of 1``, ``ribeye 13 of 12: 1 more``."""
        said = f"{self.name} {self.received} of {self.ordered}"
        if not self.ordered:
            return f"{self.name} {self.received}: not ordered"
        if not self.received:
            return f"{said}: missing"
        if self.received < self.ordered:
            return f"{said}: {self.ordered - self.received} missing"
        return f"{said}: {self.received - self.ordered} more" if self.received > self.ordered else said


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutsheet:
    """The comparison.  lines: as ordered, then what came unasked.  missing: packs short, over all lines."""

    animal: Animal
    lines: tuple[Line, ...]
    missing: int


def compare(kitchen: Kitchen, file: Path, animal: str) -> Cutsheet:
    """Compare a table of what was ordered (columns ``cut`` and ``count``) with the packages of an animal.

    A cut with a form counts that form alone; a lot counts by what it held when it was packed.

    Raises: UnknownRecord for the animal; FaultyFile with every fault; InputError for a file that is none.
    """
    of_it = find_animal(kitchen, animal)
    ordered = _ordered(kitchen, file, cuts.species(of_it.species))
    came = _received(kitchen, of_it)
    lines, counted = [], dict.fromkeys(came, False)
    for (cut, form), number in ordered.items():
        mine = [key for key in came if key[0] == cut and form in ("", key[1])]
        mine = [key for key in mine if key[1] == form or key not in ordered]
        for key in mine:
            counted[key] = True
        name = cuts.display_name(cuts.cut(cut), cuts.form(form) if form else None)
        lines.append(Line(name=name, ordered=number, received=sum(came[key] for key in mine)))
    for key, number in came.items():
        if not counted[key]:
            name = cuts.display_name(cuts.cut(key[0]), cuts.form(key[1]) if key[1] else None)
            lines.append(Line(name=name, ordered=0, received=number))
    return Cutsheet(
        animal=of_it,
        lines=tuple(lines),
        missing=sum(max(0, line.ordered - line.received) for line in lines),
    )


def _received(kitchen: Kitchen, animal: Animal) -> dict[tuple[str, str], int]:
    rows = Rows(kitchen)
    found: dict[tuple[str, str], int] = {}
    for row in rows.all(State.FROZEN, State.GONE):
        if row.package.state.reason is Reason.VOID or not _came_whole(rows, row, animal):
            continue
        key = (row.package.cut, row.package.form)
        found[key] = found.get(key, 0) + at_hand.packed_quantity(kitchen.book, row.code)
    return found


def _came_whole(rows: Rows, row: Row, animal: Animal) -> bool:
    """Whether it came from the animal itself, not from another of its packages."""
    return any(one.kind == "animal" and one.name == animal.code for one in rows.lineage.sources.get(row.code, ()))


def _ordered(kitchen: Kitchen, file: Path, species: cuts.Species) -> dict[tuple[str, str], int]:
    text = read_text(file)
    delimiter = max(",;\t", key=text.split("\n", 1)[0].count)
    table = [row for row in csv.reader(io.StringIO(text), delimiter=delimiter) if any(cell.strip() for cell in row)]
    names = [name.strip().lower() for name in table[0]] if table else []
    if not table or "cut" not in names or "count" not in names:
        raise FaultyFile(
            f"{file.name} is no cut sheet.", faults=["row 1: the columns are cut and count, such as: cut,count"]
        )
    faults: list[str] = []
    found: dict[tuple[str, str], int] = {}
    for number, row in enumerate(table[1:], start=2):
        cells = dict(zip(names, [*row, *[""] * len(names)], strict=False))
        try:
            wanted = cuts.resolve_cut(cells["cut"], species, kitchen.own_words)
            key = (wanted.cut.key, wanted.form.key if wanted.form else "")
            found[key] = found.get(key, 0) + whole_number(cells["count"], "packs", MOST_ORDERED)
        except FreezerboxError as error:
            faults.append(f"row {number}: {error.message}")
    if faults:
        raise FaultyFile(f"{file.name} has faults:", faults=faults)
    return found
