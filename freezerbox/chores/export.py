"""The book out into plain files, and back: tables for people, lines for programs, a list that needs no program."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from freezerbox.book import journal, migrations, parts, queries, transfer, values
from freezerbox.book.columns import schema_columns
from freezerbox.book.door import Book, Chance
from freezerbox.chores.check import check
from freezerbox.chores.kitchen import Clock, Kitchen
from freezerbox.chores.plain_file import plain_bytes
from freezerbox.chores.rows import Row, Rows, as_json, totals
from freezerbox.chores.safekeeping import refuse_missing_stick
from freezerbox.chores.wording import count, holds_words, origin_words, packs_and_weight
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.records import State
from freezerbox.errors import BookTrouble, FaultyFile, InputError

BOOK_LINES = "book.jsonl"
MARK = "freezerbox-export"
SEAL = "freezerbox-export-end"
MOST_BYTES = 20_000_000
MOST_BOOK_BYTES = 400_000_000
"""Of a whole book: 25,000 packages are 20 MB, so what was exported comes back for some hundred years."""
# A spreadsheet takes a cell that begins with one of these for a formula (OWASP, "CSV Injection"; secondary).
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """folder: where the files are.  files: their names.  packages: how many are listed."""

    folder: Path
    files: tuple[str, ...]
    packages: int


def export(kitchen: Kitchen, folder: Path) -> Exported:
    """Write everything the book holds into ``folder``.

    An earlier export of this book is written over.  Raises: InputError when the folder holds other files already, or
    the export of another book; BookTrouble when it cannot be written, or lies in a folder that is not there.
    """
    refuse_missing_stick(folder)
    try:
        there = folder.exists()
        folder.mkdir(exist_ok=True)
        try:
            return _export_into(kitchen, folder)
        except BaseException:
            # Nothing was exported: a folder that was made for it goes with it, unless something lies in it already.
            if not there:
                with suppress(OSError):
                    folder.rmdir()
            raise
    except OSError as error:
        raise BookTrouble(f"{folder} cannot be written: {parts.plain(error)}.", path=str(folder)) from error


def _export_into(kitchen: Kitchen, folder: Path) -> Exported:
    strange = sorted(
        path.name for path in folder.iterdir() if path.name not in _NAMES and not parts.is_part(path.name)
    )
    if strange:
        raise InputError(
            f"{folder} holds other files ({', '.join(strange[:3])}). Give a new folder's name.", value=str(folder)
        )
    _refuse_what_is_not_ours(kitchen, folder)
    # One moment of the book for all files, and the files only when all of them could be made.
    with kitchen.book.reading():
        rows = Rows(kitchen).all()
        files = {
            "packages.csv": _csv(list(_package_cells(rows))),
            "animals.csv": _csv(list(_animal_cells(kitchen))),
            "places.csv": _csv(list(_place_cells(kitchen))),
            "acts.csv": _csv(list(_act_cells(kitchen))),
            BOOK_LINES: "".join(_lines(kitchen)),
            "list.txt": "\n".join(_list(kitchen, rows)) + "\n",
        }
    # The book first: it tells an export that was stopped from somebody's own list.
    for name, text in sorted(files.items(), key=lambda one: one[0] != BOOK_LINES):
        with parts.part_file(folder / name) as part:
            part.write_text(text, encoding="utf-8", newline="")
            parts.sync(part)
            part.replace(folder / name)
    parts.sync_folder(folder)
    return Exported(folder=folder, files=tuple(files), packages=len(rows))


def _refuse_what_is_not_ours(kitchen: Kitchen, folder: Path) -> None:
    """Raises: InputError when what lies in ``folder`` under these names was not exported from this book."""
    there = sorted(path.name for path in folder.iterdir() if path.name in _NAMES)
    if not there:
        return
    lines = folder / BOOK_LINES
    if not lines.is_file():
        raise InputError(
            f"{folder} holds {there[0]}, and no {BOOK_LINES} of an export of this book: it may be your own. Give a "
            "new folder's name.",
            value=str(folder),
        )
    if _uid_of_lines(lines) != queries.meta(kitchen.book, "uid"):
        raise InputError(
            f"{folder} holds another {BOOK_LINES}, not an export of this book. Give a new folder's name.",
            value=str(folder),
        )


def _uid_of_lines(file: Path) -> str:
    """Which book the lines of an export are of; "" when they do not say."""
    with file.open(encoding="utf-8-sig", errors="replace") as lines:
        for line in lines:
            if '"table": "meta"' in line and '"uid"' in line:
                with suppress(ValueError, KeyError, TypeError):
                    return str(json.loads(line)["row"]["value"])
    return ""


TABLES = frozenset({"packages.csv", "animals.csv", "places.csv", "acts.csv"})
"""What an export holds for spreadsheets; no evening to be packed."""
_NAMES = TABLES | {BOOK_LINES, "list.txt"}


def _csv(rows: Sequence[Sequence[object]]) -> str:
    out = io.StringIO(newline="")
    csv.writer(out).writerows([_cell(cell) for cell in row] for row in rows)
    # The mark at the front tells spreadsheets that this is UTF-8.
    return "\ufeff" + out.getvalue()


def _cell(value: object) -> str:
    text = "" if value is None else str(value)
    return f"'{text}" if text.startswith(_FORMULA_STARTS) and not isinstance(value, int | float) else text


def _package_cells(rows: Sequence[Row]) -> Iterator[Sequence[object]]:
    yield ("code", "cut", "species", "animals", "net g", "pieces", "quantity", "packed on", "first frozen on",
           "times frozen", "best by", "wrap", "seasoning", "fat percent", "contains", "freezer", "place", "state",
           "reason", "since", "owner", "reserved for", "note", "on hold")  # fmt: skip
    for row in rows:
        one, package = as_json(row), row.package
        yield (
            show_code(row.code), row.cut_name, row.species_name, " ".join(animal.code for animal in row.animals),
            one["net_g"], package.pieces, package.state.quantity, package.packed_on, package.first_frozen_on,
            package.times_frozen, row.best_by, package.wrap, package.seasoning, package.fat_percent, package.added,
            row.freezer, row.place, package.state.state, package.state.reason, package.state.since, package.owner,
            package.reserved_for, package.note, "; ".join(hold.why for hold in row.holds),
        )  # fmt: skip


def _animal_cells(kitchen: Kitchen) -> Iterator[Sequence[object]]:
    yield ("code", "species", "sex or age", "share", "killed on", "processed on", "tag", "tests", "note")
    for animal in queries.animals(kitchen.book):
        tests = "; ".join(f"{test.what_for} {test.sample} {test.result}".strip() for test in animal.tests)
        yield (animal.code, animal.species, animal.sex_age, animal.what, animal.killed_on, animal.processed_on,
               animal.tag, tests, animal.note)  # fmt: skip


def _place_cells(kitchen: Kitchen) -> Iterator[Sequence[object]]:
    yield ("freezer", "place", "kind", "sign code")
    for place in queries.places(kitchen.book):
        yield (place.freezer, place.name, place.kind, place.code)


def _act_cells(kitchen: Kitchen) -> Iterator[Sequence[object]]:
    yield ("act", "on", "recorded at (UTC)", "kind", "what", "by", "from", "undoes")
    for act in reversed(journal.acts(kitchen.book)):
        yield (act.id, act.happened_on, act.recorded_at, act.kind, act.words, act.by, act.station, act.undoes)


def _lines(kitchen: Kitchen) -> Iterator[str]:
    yield json.dumps({MARK: migrations.CURRENT}) + "\n"
    lines = [_line(table, row) for table, row in transfer.all_rows(kitchen.book)]
    yield from (line + "\n" for line in lines)
    yield seal(lines) + "\n"


def _line(table: str, row: transfer.Row) -> str:
    try:
        return json.dumps({"table": table, "row": row}, ensure_ascii=False)
    except TypeError as error:
        raise values.no_text(table) from error


def seal(lines: Sequence[str]) -> str:
    """The line after the rows: how many there are, and the SHA-256 of their text.

    A row that went missing leaves a book that looks well, perhaps without a hold.
    """
    digest = hashlib.sha256("".join(line + "\n" for line in lines).encode("utf-8", "surrogatepass")).hexdigest()
    return json.dumps({SEAL: {"rows": len(lines), "sha256": digest}})


def _list(kitchen: Kitchen, rows: Sequence[Row]) -> Iterator[str]:
    """What is in the freezer, place by place, to be read on any machine or on paper."""
    inside = [row for row in rows if row.package.state.state is State.FROZEN]
    yield f"In the freezer on {long_date(kitchen.today)}: {packs_and_weight(kitchen, totals(inside))}"
    by_place: dict[str, list[Row]] = {}
    for row in inside:
        by_place.setdefault(row.where or "place not said", []).append(row)
    for where in sorted(by_place):
        yield ""
        yield where
        for row in sorted(by_place[where], key=lambda one: (one.cut_name, one.package.first_frozen_on, one.code)):
            held = f"  HELD: {holds_words(row.holds, kitchen.today)}" if row.holds else ""
            quantity = f" x{row.package.state.quantity}" if row.package.state.quantity > 1 else ""
            yield (
                f"  [ ] {show_code(row.code)}  {row.cut_name}{quantity}, {origin_words(row)}, "
                f"{kitchen.mass(row.package.net_mg)}, frozen {long_date(row.package.first_frozen_on)}{held}"
            )


def bring_back(path: Path, source: Path, *, chance: Chance, clock: Clock) -> int:
    """A new book at ``path`` from an export; returns how many acts it holds.

    ``source``: the export's folder, or its ``book.jsonl``.

    Raises: FaultyFile with line and column; InputError for another kind of file; BookTrouble when there is a book.
    """
    file = source / BOOK_LINES if source.is_dir() else source
    found = read_lines(file)

    def look(book: Book) -> None:
        faults = check(Kitchen(book, clock)).faults
        if faults:
            raise FaultyFile(f"{file.name} does not add up; no book was made.", faults=faults[:20])

    try:
        transfer.book_of_rows(path, found, chance=chance, now=clock.stamp, check=look)
    except BookTrouble as error:
        if path.exists():
            raise
        raise FaultyFile(f"{file.name} does not make a book: {error.message}", faults=[error.message]) from error
    return sum(table == "act" for table, _ in found)


def read_lines(file: Path) -> list[tuple[str, dict[str, transfer.Value]]]:
    """The rows of an export's lines.  Raises: InputError; FaultyFile with every faulty line, at most twenty."""
    # The lines of a whole book may be more than any other file that is read: they must come back.
    text = read_text(file, MOST_BOOK_BYTES)
    faults: list[str] = []
    rows: list[tuple[str, dict[str, transfer.Value]]] = []
    known = schema_columns()
    read: list[str] = []
    end: object = None
    for number, line in enumerate(text.replace("\r\n", "\n").split("\n"), start=1):
        if not line.strip():
            continue
        try:
            entry = json.loads(line, parse_constant=_no_constant)
        except (json.JSONDecodeError, RecursionError, ValueError) as error:
            column = getattr(error, "colno", 1)
            faults.append(f"line {number}, column {column}: not a JSON object")
            continue
        if number == 1:
            _check_mark(file, entry)
            continue
        if isinstance(entry, dict) and SEAL in entry:
            end = entry
            continue
        read.append(line)
        fault = "a row after the end" if end else _fault(entry, known)
        if fault:
            faults.append(f"line {number}: {fault}")
        else:
            rows.append((entry["table"], entry["row"]))
    if faults:
        raise FaultyFile(
            f"Nothing imported: {file.name} has {count(len(faults), 'faulty line')}.", faults=faults[:20]
        )
    if not rows:
        raise FaultyFile(f"Nothing imported: {file.name} is empty.", faults=["no rows"])
    if end != json.loads(seal(read)):
        raise FaultyFile(
            f"Nothing imported: {file.name} is not as it was written: {_how_other(end, len(read))}. "
            "Take another copy of it, or bring back a backup: freezerbox restore COPY",
            faults=["the rows are not those that the last line counts"],
        )
    return rows


def _how_other(end: object, there: int) -> str:
    said = end.get(SEAL) if isinstance(end, dict) else None
    if not isinstance(said, dict):
        return "its last line, which counts the rows, is missing"
    if said.get("rows") != there:
        return f"it has {there} rows of {said.get('rows')}"
    return "a row in it was altered"


def read_text(file: Path, most: int = MOST_BYTES) -> str:
    """The text of a file to be imported, of ``most`` bytes.  Raises: InputError, FaultyFile, BookTrouble."""
    raw = plain_bytes(file, most, folder=f" without a {BOOK_LINES}.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        fault = f"line {line}: not UTF-8 text"
        raise FaultyFile(f"Nothing imported: {file.name} is not UTF-8 text.", faults=[fault]) from error


def _check_mark(file: Path, entry: object) -> None:
    version = entry.get(MARK) if isinstance(entry, dict) else None
    if not isinstance(version, int) or isinstance(version, bool):
        raise InputError(
            f"{file.name} is not an export of this program: its first line does not say so.", value=str(file)
        )
    if version > migrations.CURRENT:
        raise InputError(f"{file.name} was written by a later freezerbox. Bring this program up to date first.")


def _fault(entry: object, known: Mapping[str, Mapping[str, str]]) -> str:
    if not isinstance(entry, dict) or set(entry) != {"table", "row"}:
        return "not a row of a table"
    table, row = entry["table"], entry["row"]
    if not isinstance(table, str) or table not in known:
        return f"there is no table {table!r}"
    if not isinstance(row, dict):
        return "the row is not an object"
    for name, value in row.items():
        if name not in known[table]:
            return f"{table} has no column {name!r}"
        if isinstance(value, bool) or not isinstance(value, str | int | None):
            return f"{table}.{name}: {value!r} is neither text nor a whole number"
        if isinstance(value, int) and not -(2**63) <= value < 2**63:
            return f"{table}.{name}: {value} is too large"
        if isinstance(value, str) and "\x00" in value:
            return f"{table}.{name}: holds a NUL character"
        if isinstance(value, str) and any("\ud800" <= character <= "\udfff" for character in value):
            return f"{table}.{name}: holds half a character"
    return ""


def _no_constant(text: str) -> Callable[[], None]:
    raise ValueError(text)
