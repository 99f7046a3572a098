"""A whole evening from a table: a CSV file, one line a package; refused whole when any line is faulty."""

from __future__ import annotations

import csv
import hashlib
import io
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from unicodedata import category

from freezerbox.book import journal
from freezerbox.chores import safekeeping
from freezerbox.chores.header import Words, other_of, whole_number
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.pack import MOST_IN_A_RUN, Packed, Run, doubts, mixed_up, prepare, put_in
from freezerbox.chores.plain_file import plain_bytes
from freezerbox.chores.rows import Rows, totals
from freezerbox.chores.units import MOST_OF_A_LOT
from freezerbox.chores.wording import count
from freezerbox.core.dates import short_date
from freezerbox.core.records import State
from freezerbox.errors import FaultyFile, FreezerboxError, InputError, Refused

COLUMNS = (
    "cut", "weight", "other", "form", "species", "animal", "pieces", "wrap", "fat", "with", "seasoning", "place",
    "freezer", "owner", "for", "note", "packed", "first-frozen", "count", "lot",
)  # fmt: skip
"""``count``: that many packages of this weight.  ``lot``: one record standing for that many."""
MOST_BYTES = 5_000_000
MOST_LINES = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    number: int
    cells: Mapping[str, str]


@one_writer
def pack_table(
    kitchen: Kitchen, file: Path, *, yes: bool = False, again: bool = False, copy_first: bool = False
) -> Packed:
    """Record every line of ``file``, as one act.

    ``yes``: doubtful weights are right.  ``again``: the same table once more, for other packages.  ``copy_first``:
    keep a copy of the book as it was, once it is sure that something is written.

    Raises: FaultyFile with every fault by row and column; Refused when this table was recorded before and that
    stands; nothing is recorded then.
    """
    text = read_text(file)
    digest = f"table:{hashlib.sha256(text.encode()).hexdigest()}:"
    if not again:
        _refuse_twice(kitchen, file, digest)
    faults: list[str] = []
    runs: list[Run] = []
    numbers: list[int] = []
    for line in _lines(file, text, faults):
        run = _run(kitchen, line, faults)
        if run is not None:
            runs.append(run)
            numbers.append(line.number)
    doubtful, several = False, False
    if not yes:
        for number, run in zip(numbers, runs, strict=True):
            beside = [one for other in runs if other is not run and _alike(run, other) for one in other.weights]
            doubted = doubts(kitchen, run, beside)
            faults.extend(f"row {number}, weight: {doubt}" for doubt in doubted)
            if mixed := mixed_up(run.header):
                faults.append(f"row {number}, animal: {mixed}")
            doubtful, several = doubtful or bool(doubted), several or bool(mixed)
    if not faults and not runs:
        faults.append("there is no package in it")
    if faults:
        advice = " (--yes takes meat of several animals)" if several else ""
        advice = " (--yes takes doubtful weights)" if doubtful else advice
        raise FaultyFile(f"Nothing recorded: {file.name} has {count(len(faults), 'fault')}{advice}.", faults=faults)
    number = sum(len(run.weights) * run.quantity for run in runs)
    words = f"packed {count(number, 'package')} from {file.name}"
    if copy_first:
        safekeeping.before(kitchen, "import")
    day = max(run.header.packed_on for run in runs)
    # Behind the table a word of chance: two books may record the same table, and are joined later.
    request = digest + kitchen.book.chance.uid()
    with kitchen.book.act("pack", day, request_id=request, words=words) as act:
        codes = [code for run in runs for code in put_in(kitchen, act, run, State.FROZEN)]
    rows = Rows(kitchen.afresh()).of_codes(codes)
    return Packed(rows=rows, totals=totals(rows))


def _alike(one: Run, other: Run) -> bool:
    """Whether two lines are of one kind, so that their weights measure each other."""
    return (one.header.cut, one.header.form, one.header.species) == (
        other.header.cut,
        other.header.form,
        other.header.species,
    )


def _refuse_twice(kitchen: Kitchen, file: Path, digest: str) -> None:
    """Raises: Refused when an act that stands recorded the same table."""
    silent = journal.silent(kitchen.book)
    for act in journal.acts_of_requests(kitchen.book, digest):
        if act.id not in silent:
            day = short_date(act.happened_on, today=kitchen.today)
            raise Refused(
                f"{file.name} is recorded already: act {act.id} of {day}, {act.words}. If these are "
                f"as many packages once more: freezerbox import --again {file.name}",
                act=act.id,
            )


def _lines(file: Path, text: str, faults: list[str]) -> Iterator[_Line]:
    head = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=head.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    table: list[list[str]] = []
    try:
        table.extend(reader)
    except csv.Error as error:
        raise FaultyFile(
            f"Nothing recorded: {file.name} is not a table.", faults=[f"row {len(table) + 1}: {error}"]
        ) from error
    if not table:
        return
    if len(table) > MOST_LINES:
        raise FaultyFile(f"Nothing recorded: {file.name} has {len(table)} rows; at most {MOST_LINES}.")
    names = [_column(name) for name in table[0]]
    times = Counter(names)
    strange = ", ".join(repr(name) for name in times if name and name not in COLUMNS)
    if strange:
        faults.append(f"row 1: no such column {strange}. The columns are: {', '.join(COLUMNS)}")
    faults.extend(f"row 1: column {name!r} is there twice" for name in sorted(times) if name and times[name] > 1)
    faults.extend(f"row 1: column {name!r} is missing" for name in ("cut", "weight") if name not in names)
    if faults:
        return
    for number, row in enumerate(table[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) > len(names):
            faults.append(f"row {number}: {len(row)} cells, but {len(names)} columns")
            continue
        cells = dict(zip(names, [*row, *[""] * (len(names) - len(row))], strict=True))
        yield _Line(number=number, cells={name: cell.strip() for name, cell in cells.items()})


def read_text(file: Path) -> str:
    """The text of a table file.  Raises: InputError, FaultyFile, BookTrouble."""
    raw = plain_bytes(file, MOST_BYTES, folder="; name the table in it.")
    try:
        text = raw.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise FaultyFile(
            f"Nothing recorded: {file.name} is not UTF-8 text. Save it as CSV UTF-8.",
            faults=[f"row {line}: not UTF-8 text"],
        ) from error
    # A name is cleaned of what cannot be printed; in a table it says that the file is damaged.
    strange = next((at for at, letter in enumerate(text) if category(letter) == "Cc" and letter not in "\n\t"), None)
    if strange is not None:
        line = text[:strange].count("\n") + 1
        raise FaultyFile(
            f"Nothing recorded: {file.name} holds what is no text. Save it again, as CSV UTF-8.",
            faults=[f"row {line}: the character U+{ord(text[strange]):04X}"],
        )
    return text


def _column(name: str) -> str:
    return "-".join(name.strip().lower().replace("_", " ").replace("-", " ").split())


def _run(kitchen: Kitchen, line: _Line, faults: list[str]) -> Run | None:
    """The run of one line; its faults are added, one for each column that is wrong."""
    cells = line.cells
    words = _words(cells)
    found: list[str] = []
    try:
        number = whole_number(cells["count"], "packages", MOST_IN_A_RUN) if cells.get("count") else 1
        lot = whole_number(cells["lot"], "packages in a lot", MOST_OF_A_LOT) if cells.get("lot") else 1
        if not cells["cut"]:
            raise InputError("the cut is missing")
        if not cells["weight"]:
            raise InputError("the weight is missing")
        return prepare(kitchen, words, [cells["weight"]] * number, quantity=lot)
    except FreezerboxError:
        found = list(_each_fault(kitchen, line))
    faults.extend(found)
    return None


def _words(cells: Mapping[str, str]) -> Words:
    cut, other = other_of(cells["cut"])
    return Words(
        cut=cut,
        other=cells.get("other", "") or other,
        form=cells.get("form", ""),
        species=cells.get("species", ""),
        animals=[code.strip() for code in cells.get("animal", "").split("+") if code.strip()],
        pieces=cells.get("pieces", ""),
        wrap=cells.get("wrap", ""),
        fat=cells.get("fat", ""),
        added=cells.get("with", ""),
        seasoning=cells.get("seasoning", ""),
        place=cells.get("place", ""),
        freezer=cells.get("freezer", ""),
        owner=cells.get("owner", ""),
        reserved_for=cells.get("for", ""),
        note=cells.get("note", ""),
        packed=cells.get("packed", ""),
        first_frozen=cells.get("first-frozen", ""),
    )


def _each_fault(kitchen: Kitchen, line: _Line) -> Iterator[str]:
    """Every fault of a line, found by trying its columns one at a time beside a cut that is right."""
    cells = line.cells
    at = f"row {line.number}, "
    seen = False
    for column, most in (("count", MOST_IN_A_RUN), ("lot", MOST_OF_A_LOT)):
        if cells.get(column):
            try:
                whole_number(cells[column], "packages", most)
            except FreezerboxError as error:
                seen = True
                yield f"{at}{column}: {error.message}"
    if not cells["cut"]:
        seen = True
        yield f"{at}cut: missing"
    if not cells["weight"]:
        seen = True
        yield f"{at}weight: missing. Write x when it was not weighed."
    # An animal or species that is not there is one fault of its own, and hides none of the columns it bears on.
    groups = (("animal",), ("species",), ("weight",), ("cut", "species", "animal", "other"), ("form",), ("pieces",),
              ("wrap",), ("fat",), ("place", "freezer"), ("packed", "first-frozen", "animal"))  # fmt: skip
    blank = dict.fromkeys(COLUMNS, "") | {"cut": "mystery", "weight": "x"}
    cells = dict(cells)
    for columns in groups:
        if not any(cells.get(column) for column in columns):
            continue
        alone = blank | {column: cells[column] for column in columns if cells.get(column)}
        if columns[0] == "cut" and not cells["cut"]:
            continue
        if columns[0] == "packed" and not (cells.get("packed") or cells.get("first-frozen")):
            continue
        try:
            prepare(kitchen, _words(alone), [alone["weight"]])
        except FreezerboxError as error:
            seen = True
            yield f"{at}{columns[0]}: {error.message}"
            if columns in (("animal",), ("species",)):
                cells[columns[0]] = ""
    if not seen:
        try:
            prepare(kitchen, _words(cells), [cells["weight"] or "x"])
        except FreezerboxError as error:
            yield f"{at}{error.message}"
