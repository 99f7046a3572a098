"""Broken files to import: refused whole, with line and column, nothing recorded, no traceback."""

from __future__ import annotations

import json
import os
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pytest

from freezerbox.chores.export import seal
from freezerbox.chores.plain_file import plain_bytes
from freezerbox.chores.table import MOST_BYTES
from freezerbox.errors import InputError
from tests.cli.process import House

HEAD = "cut,weight,animal,packed\n"
GOOD = "loin chops,1.05,26H,2026-11-20\n"

# -- evenings -------------------------------------------------------------------------------------------------------

EVENINGS: dict[str, tuple[str | bytes, str]] = {
    "empty": ("", "no package"),
    "only a mark": (b"\xef\xbb\xbf", "no package"),
    "only a head": (HEAD, "no package"),
    "blank lines": (HEAD + "\n\n , ,,\n", "no package"),
    "no head": (GOOD, "no such column"),
    "UTF-16": ((HEAD + GOOD).encode("utf-16"), "UTF-8"),
    "UTF-16 without a mark": ((HEAD + GOOD).encode("utf-16-le"), ""),
    "UTF-32": ((HEAD + GOOD).encode("utf-32"), "UTF-8"),
    "Latin-1": ((HEAD + "loin chops,1,26H,\n").encode() + "rôti,1,26H,\n".encode("latin-1"), "UTF-8"),
    "half a character": ((HEAD + GOOD).encode() + b"loin chops\xc3", "UTF-8"),
    "NUL": (HEAD + "loin chops,1.0\x005,26H,\n", "row 2"),
    "NUL in a word": (HEAD + "loin chops,1.05,26H,\nst\x00ew,1,26H,\n", "row 3: the character U+0000"),
    "a bell": (HEAD + "loin ch\x07ops,1.05,26H,\n", "row 2: the character U+0007"),
    "NUL in the head": ("cut,wei\x00ght\nloin chops,1\n", ""),
    "quote not closed": (HEAD + '"loin chops,1.05,26H,\n' + GOOD, "not a table"),
    "text after a quote": (HEAD + '"loin"chops,1.05,26H,\n', "not a table"),
    "csv's field limit": (HEAD + "loin chops,1.05,26H,\n" + "x" * 200_000 + ",1,26H,\n", "not a table"),
    "one huge line": (HEAD + "loin chops," + "1" * 100_000 + ",26H,\n", "row 2, weight"),
    "10^9 pounds": (HEAD + "loin chops,1000000000,26H,\n", "row 2, weight"),
    "1e9": (HEAD + "loin chops,1e9,26H,\n", "row 2, weight"),
    "below zero": (HEAD + "loin chops,-1.05,26H,\n", "row 2, weight"),
    "zero": (HEAD + "loin chops,0,26H,\n", "row 2, weight"),
    "nan": (HEAD + "loin chops,nan,26H,\n", "row 2, weight"),
    "infinite": (HEAD + "loin chops,inf,26H,\n", "row 2, weight"),
    "no weight": (HEAD + "loin chops,heavy,26H,\n", "row 2, weight"),
    "30 February": (HEAD + "loin chops,1.05,26H,2026-02-30\n", "row 2, packed"),
    "month 13": (HEAD + "loin chops,1.05,26H,2026-13-01\n", "row 2, packed"),
    "a day to come": (HEAD + "loin chops,1.05,26H,2027-01-01\n", "row 2, packed"),
    "year 0": (HEAD + "loin chops,1.05,26H,0000-01-01\n", "row 2, packed"),
    "year 99999": (HEAD + "loin chops,1.05,26H,99999-01-01\n", "row 2, packed"),
    "unknown animal": (HEAD + "loin chops,1.05,26Z,\n", "row 2, animal"),
    "unknown cut": (HEAD + "widget,1.05,26H,\n", "row 2, cut"),
    "a word for two cuts": (HEAD + "ribs,1.05,,\n", "row 2, cut"),
    "no cut": (HEAD + ",1.05,26H,\n", "row 2, cut"),
    "too many cells": (HEAD + "loin chops,1.05,26H,2026-11-20,extra\n", "row 2: 5 cells"),
    "a column twice": ("cut,weight,weight\nloin chops,1,2\n", "twice"),
    "an unknown column": ("cut,weight,colour\nloin chops,1,red\n", "no such column"),
    "no column for the cut": ("weight,animal\n1,26H\n", "missing"),
    "pieces": ("cut,weight,animal,pieces\nloin chops,1,26H,many\n", "row 2, pieces"),
    "a million packages": ("cut,weight,animal,count\nloin chops,1,26H,1000000\n", "row 2, count"),
    "no count": ("cut,weight,animal,count\nloin chops,1,26H,-3\n", "row 2, count"),
    "fat": ("cut,weight,animal,fat\nground,1,26B,200\n", "row 2, fat"),
    "wrap": ("cut,weight,animal,wrap\nground,1,26B,silk\n", "row 2, wrap"),
    "place": ("cut,weight,animal,place\nground,1,26B,attic\n", "row 2, place"),
    "good lines and a bad one": (HEAD + GOOD * 40 + "loin chops,none,26H,\n", "row 42, weight"),
    "too many lines": (HEAD + GOOD * 6000, "6001 rows"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 4, "UTF-8"),
    "another book": (b"SQLite format 3\x00" + bytes(4000), ""),
    "JSON": ('[{"cut": "loin chops", "weight": 1}]', "no such column"),
    "carriage returns alone": ("cut,weight\rloin chops,1\r", ""),
    "form feeds": (HEAD + "loin chops\x0c,1.05,26H,\x0b2026-11-20\n" + "\x1bx,1,26H,\n", "the character U+000C"),
    "10^6 columns": ("cut,weight" + ",x" * 100_000 + "\nloin chops,1\n", "row 1"),
}  # fmt: skip


@pytest.mark.parametrize("name", EVENINGS)
def test_a_broken_evening(house: House, name: str) -> None:
    content, words = EVENINGS[name]
    file = house.folder / "evening.csv"
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    refused = house.refused("import", "evening.csv")
    assert refused.status in (2, 3)
    assert words in refused.said
    assert len(refused.err) < 5_000
    assert house.refused("import", "evening.csv", "--json").error["message"].strip()


# -- exports --------------------------------------------------------------------------------------------------------

Lines = list[str]


def _row(lines: Lines, table: str, turn: int = 0) -> int:
    """Where the row of a table stands."""
    return [at for at, line in enumerate(lines) if line.startswith(f'{{"table": "{table}"')][turn]


def _set(table: str, column: str, value: object, turn: int = 0) -> Callable[[Lines], None]:
    def change(lines: Lines) -> None:
        at = _row(lines, table, turn)
        entry = json.loads(lines[at])
        entry["row"][column] = value
        lines[at] = json.dumps(entry)

    return change


def _without(table: str, column: str) -> Callable[[Lines], None]:
    def change(lines: Lines) -> None:
        at = _row(lines, table)
        entry = json.loads(lines[at])
        del entry["row"][column]
        lines[at] = json.dumps(entry)

    return change


def _drop(table: str, turn: int = 0) -> Callable[[Lines], None]:
    return lambda lines: lines.__delitem__(_row(lines, table, turn))


def _twice(table: str) -> Callable[[Lines], None]:
    return lambda lines: lines.insert(_row(lines, table), lines[_row(lines, table)])


def _line(at: int, text: str) -> Callable[[Lines], None]:
    return lambda lines: lines.__setitem__(at, text)


EXPORTS: dict[str, tuple[Callable[[Lines], None], str]] = {
    "nothing": (lambda lines: lines.clear(), ""),
    "only the head": (lambda lines: lines.__delitem__(slice(1, None)), "is empty"),
    "no head": (lambda lines: lines.__delitem__(0), "not an export"),
    "a later program's": (_line(0, '{"freezerbox-export": 99}'), "later"),
    "an earlier layout than any": (_line(0, '{"freezerbox-export": 0}'), ""),
    "a layout in words": (_line(0, '{"freezerbox-export": "one"}'), "not an export"),
    "a layout that is true": (_line(0, '{"freezerbox-export": true}'), "not an export"),
    "not JSON": (_line(9, "packages: many"), "line 10, column 1"),
    "cut short": (_line(9, '{"table": "act", "row": {"id": '), "line 10, column"),
    "a list": (_line(9, "[1, 2]"), "line 10"),
    "a number": (_line(9, "7"), "line 10"),
    "null": (_line(9, "null"), "line 10"),
    "nested beyond all measure": (_line(9, "[" * 50_000 + "]" * 50_000), "line 10"),
    "nested in a row": (_set("act", "words", {"a": [1]}), "act.words"),
    "a list in a row": (_set("movement", "code", ["K7P3MT"]), "movement.code"),
    "true for a number": (_set("animal", "void", True), "animal.void"),
    "a broken number": (_set("package", "net_mg", 1.5), "package.net_mg"),
    "not a number": (_line(9, '{"table": "act", "row": {"id": NaN}}'), "line 10"),
    "too large a number": (_set("package", "net_mg", 2**70), "too large"),
    "words for a number": (_set("package", "net_mg", "heavy"), ""),
    "a number for words": (_set("package", "cut", 7), ""),
    "10^18 milligrams": (_set("package", "net_mg", 10**18), ""),
    "below zero": (_set("package", "net_mg", -5), ""),
    "NUL": (_set("package", "note", "a\x00b"), "NUL"),
    "half a surrogate": (_line(9, '{"table": "act", "row": {"words": "\\ud800"}}'), "line 10"),
    "an unknown table": (_line(9, '{"table": "recipe", "row": {}}'), "no table"),
    "a table of SQLite's own": (_line(9, '{"table": "sqlite_master", "row": {"name": "x"}}'), "no table"),
    "an unknown column": (_set("package", "colour", "red"), "no column"),
    "a column that is SQL": (_set("package", 'cut") VALUES (1); --', "red"), "no column"),
    "a missing column": (_without("package", "cut"), ""),
    "a missing number": (_without("movement", "code"), ""),
    "more keys": (_line(9, '{"table": "act", "row": {}, "more": 1}'), "line 10"),
    "a row twice": (_twice("package"), ""),
    "an act twice": (_twice("act"), ""),
    "a code twice": (_twice("code"), ""),
    "a movement lost": (_drop("movement"), ""),
    "a package lost": (_drop("package", 3), ""),
    "an act lost": (_drop("act", 3), ""),
    "an animal lost": (_drop("animal"), ""),
    "a test lost": (_drop("animal_test"), ""),
    "an origin of an animal that is not there": (_set("lineage", "name", "26Z"), "no record"),
    "units that are none": (_set("setting", "value", "stone", 0), "units"),
    "a state lost": (_drop("package_state"), ""),
    "a state that does not follow": (_set("package_state", "state", "gone"), ""),
    "a place that is not there": (_set("movement", "place_id", 77), ""),
    "an act that is not there": (_set("movement", "act_id", 770), ""),
    "30 February": (_set("movement", "happened_on", "2026-02-30"), ""),
    "a state that is none": (_set("movement", "state", "melted"), ""),
    "gone without a reason": (_set("movement", "state", "gone"), ""),
    "a wrong check character": (_set("code", "code", "K7P3MU"), ""),
    "a fact no change set": (_set("animal", "void", 1), ""),
    "an unknown cut": (_set("package", "cut", "widget"), ""),
    "one huge line": (_set("package", "note", "x" * 3_000_000), ""),
    "a result that is none": (_set("animal_test", "result", "perhaps"), ""),
    "a code of another book twice in small letters": (_set("animal", "code", "26h"), ""),
    "no letter of the book": (_drop("meta", 1), "letter"),
}

FINE = (
    "a fact no change set", "one huge line", "a test lost", "a code of another book twice in small letters",
    "an earlier layout than any",
)  # fmt: skip
"""Told apart below: these may make a book, but only one that holds all its promises."""


@pytest.fixture(scope="session")
def lines(good: House) -> Lines:
    good.ok("export", "--to", "out")
    return (good.folder / "out" / "book.jsonl").read_text(encoding="utf-8").splitlines()


@pytest.mark.parametrize("name", EXPORTS)
def test_a_broken_export(lines: Lines, tmp_path: Path, name: str) -> None:
    change, words = EXPORTS[name]
    bad = list(lines)
    change(bad)
    house = House(folder=tmp_path)
    if len(bad) > 2:
        # With an end that counts them as they are now: what stands in the rows is looked at too.
        bad[-1] = seal(bad[1:-1])
    (tmp_path / "book.jsonl").write_text("\n".join(bad) + "\n", encoding="utf-8", errors="surrogatepass")
    result = house.call("import", "book.jsonl")
    if name in FINE and result.status == 0:
        assert house.ok("check").status == 0
        assert house.ok("find", "chops").status == 0
        return
    assert result.status in (2, 3), result
    assert words in result.said
    assert len(result.err) < 5_000
    assert "book.jsonl" in result.said
    assert [path.name for path in tmp_path.iterdir()] == ["book.jsonl"], "something was left behind"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_drop("animal_test"), "rows of"),
        (_drop("lineage", 1), "rows of"),
        (_set("animal_test", "result", "not-detected"), "altered"),
        (_set("package", "note", "another"), "altered"),
        (lambda lines: lines.pop(), "is missing"),
        (lambda lines: lines.append(lines[-2]), "after the end"),
        (_line(-1, '{"freezerbox-export-end": 7}'), "is missing"),
    ],
)
def test_an_export_that_is_not_as_it_was_written(
    lines: Lines, tmp_path: Path, change: Callable[[Lines], object], words: str
) -> None:
    """One line less is a book that looks well, without the hold that the line was for."""
    bad = list(lines)
    change(bad)
    (tmp_path / "book.jsonl").write_text("\n".join(bad) + "\n", encoding="utf-8")
    refused = House(folder=tmp_path).refused("import", "book.jsonl")
    assert refused.status == 2
    assert words in refused.said
    assert [path.name for path in tmp_path.iterdir()] == ["book.jsonl"]


def test_what_is_no_ordinary_file_or_has_no_end(house: House) -> None:
    os.mkfifo(house.folder / "pipe.csv")
    os.mkfifo(house.folder / "pipe.jsonl")
    (house.folder / "endless").symlink_to("/dev/zero")
    for name in ("pipe.csv", "pipe.jsonl", "endless"):
        new = () if name.endswith(".csv") else ("--book", str(house.folder / "new.book"))
        refused = house.refused(*new, "import", name)
        assert refused.status == 2, refused
        assert "not an ordinary file" in refused.said


def test_a_table_that_is_too_large(house: House) -> None:
    with (house.folder / "evening.csv").open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    refused = house.refused("import", "evening.csv")
    assert refused.status == 2
    assert "larger than 5 MB" in refused.said


def test_what_is_too_large_is_not_read(house: House) -> None:
    large = house.folder / "large.csv"
    with large.open("wb") as file:
        file.truncate(64_000_000)
    tracemalloc.start()
    with pytest.raises(InputError, match="larger than 40 MB"):
        plain_bytes(large, 40_000_000, folder="")
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 1_000_000


def test_what_is_brought_in_another_way_is_said(house: House) -> None:
    whole = house.refused("import", "house.book")
    assert "freezerbox import --merge house.book" in whole.said
    assert "freezerbox restore house.book" in whole.said
    house.ok("export", "--to", "my out")
    assert "freezerbox import 'my out'" in house.refused("import", "my out/packages.csv").said
    # Alone it is a table with other columns, and those that there are are told once.
    (house.folder / "packages.csv").write_bytes((house.folder / "my out" / "packages.csv").read_bytes())
    assert house.refused("import", "packages.csv").said.count("The columns are") == 1


RAW: dict[str, bytes] = {
    "UTF-16": '{"freezerbox-export": 1}\n'.encode("utf-16"),
    "Latin-1": b'{"freezerbox-export": 1}\n{"table": "act", "row": {"words": "r\xf4ti"}}\n',
    "bytes": bytes(range(256)) * 10,
    "zeros": bytes(1000),
    "a book": b"SQLite format 3\x00" + bytes(4000),
}


@pytest.mark.parametrize("name", RAW)
def test_bytes_that_are_no_export(tmp_path: Path, name: str) -> None:
    (tmp_path / "book.jsonl").write_bytes(RAW[name])
    result = House(folder=tmp_path).call("import", "book.jsonl")
    assert result.status == 2
    assert "book.jsonl" in result.said
    assert [path.name for path in tmp_path.iterdir()] == ["book.jsonl"]


def test_a_mark_at_the_front_and_carriage_returns_do_no_harm(lines: Lines, tmp_path: Path) -> None:
    """What editors add to a file that was only looked at."""
    (tmp_path / "book.jsonl").write_bytes(b"\xef\xbb\xbf" + "\r\n".join([*lines, "", ""]).encode())
    house = House(folder=tmp_path)
    house.ok("import", "book.jsonl")
    assert house.ok("check").status == 0


def test_there_are_enough_of_them() -> None:
    assert len(EVENINGS) + len(EXPORTS) + len(RAW) > 100


@pytest.mark.parametrize("content", [b"", b"\x00" * 5000, b"SQLite format 3\x00" + b"\xff" * 5000, b"nothing"])
def test_joining_what_is_no_book(house: House, content: bytes) -> None:
    (house.folder / "cabin.book").write_bytes(content)
    refused = house.refused("import", "--merge", "cabin.book")
    assert refused.status == 3
    assert "cabin.book" in refused.said


def test_joining_a_cut_or_flipped_book(house: House, good: House) -> None:
    whole = good.book.read_bytes()
    for bad in (whole[: len(whole) // 2], whole[:20_000] + bytes(20_000) + whole[40_000:]):
        (house.folder / "cabin.book").write_bytes(bad)
        refused = house.refused("import", "--merge", "cabin.book")
        assert refused.status == 3
        assert ("cut short" if len(bad) < len(whole) else "damaged") in refused.said


def test_a_file_that_is_not_there_is_told_before_the_book_that_is(house: House) -> None:
    refused = house.refused("import", "frezer-export")
    assert "There is no file or folder frezer-export; nothing was imported." in refused.said
    assert "already" not in refused.said


def test_a_whole_book_is_told_two_ways_each_in_its_own_sentence(house: House) -> None:
    refused = house.refused("import", "house.book")
    assert "import --merge house.book. To have it" in refused.said
