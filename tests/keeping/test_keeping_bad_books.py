"""Books cut short and with flipped bits: no traceback, nothing made up, and damage of the structure is reported."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from tests.cli.process import House, Result, copy_of
from tests.keeping.houses import played

LOOKS = (
    ("check",),
    ("find", "chops"),
    ("rotation",),
    ("undo", "--list"),
    ("history", "26H"),
    ("export", "--to", "out"),
)
"""Asked of every bad book; none of them may end in a traceback (``House.call`` looks for one)."""


@pytest.fixture(scope="session")
def good(tmp_path_factory: pytest.TempPathFactory) -> House:
    return played(tmp_path_factory.mktemp("good"))


def ask(house: House, *arguments: str) -> Result:
    result = house.call(*arguments)
    assert result.status in (0, 1, 2, 3), result
    if result.status:
        assert result.err.strip() or arguments == ("check",), (arguments, result)
    return result


def everything_asked(house: House) -> list[Result]:
    """What each look says; the program must leave the bad file as it is, whatever it finds."""
    before = house.book.read_bytes()
    found = []
    for arguments in LOOKS:
        found.append(ask(house, *arguments))
        shutil.rmtree(house.folder / "out", ignore_errors=True)
    assert house.book.read_bytes() == before
    return found


def cuts(size: int, most: int) -> Sequence[int]:
    """Where to cut: the ends, around the header, every so often, and inside pages."""
    edges = {0, 1, 15, 16, 99, 100, 101, 511, 512, 4095, 4096, 4097, size - 4096, size - 1}
    spread = {size * number // most for number in range(most)}
    return sorted(edges | spread)[:most] if most > len(edges) else sorted(edges)


@pytest.mark.parametrize("most", [20, pytest.param(200, marks=pytest.mark.sweep)])
def test_cut_short(good: House, tmp_path: Path, most: int) -> None:
    whole = good.book.read_bytes()
    for at in cuts(len(whole), most):
        house = copy_of(good, tmp_path)
        house.book.write_bytes(whole[:at])
        shutil.rmtree(tmp_path / "house-backups", ignore_errors=True)
        found = everything_asked(house)
        # A page missing is damage of the structure: the opening, or check, says so.
        assert found[0].status in (1, 3), f"cut at {at} of {len(whole)} and not noticed: {found[0]}"
        if at < 100:
            assert found[0].status == 3
            assert f"holds {at} bytes" in found[0].said
        assert_taking_is_refused_or_whole(house)


def assert_taking_is_refused_or_whole(house: House) -> None:
    """Writing into a damaged book: refused in words, or done; never half with a traceback."""
    ask(house, "pack", "loin chops", "1.1", "--animal", "26H")


@pytest.mark.parametrize("most", [30, pytest.param(300, marks=pytest.mark.sweep)])
def test_flipped_bits(good: House, tmp_path: Path, most: int) -> None:
    whole = good.book.read_bytes()
    chance = Random(4)
    noticed = 0
    for _ in range(most):
        house = copy_of(good, tmp_path)
        shutil.rmtree(tmp_path / "house-backups", ignore_errors=True)
        bad = bytearray(whole)
        for _ in range(chance.choice((1, 1, 4, 16))):
            bad[chance.choice(used(whole, chance))] ^= 1 << chance.randrange(8)
        house.book.write_bytes(bad)
        found = everything_asked(house)
        noticed += found[0].status != 0
        assert_taking_is_refused_or_whole(house)
    # A letter changed inside a note keeps the structure whole; most others do not.
    assert noticed > most // 4


def used(whole: bytes, chance: Random) -> range:
    """A stretch that is not all zeros: flipping an unused byte proves nothing."""
    while True:
        at = chance.randrange(len(whole) - 16)
        if any(whole[at : at + 16]):
            return range(at, at + 16)


VALUES = (
    ("movement", "happened_on", "2026-1!-21"),
    ("movement", "happened_on", ""),
    ("movement", "state", "frozem"),
    ("movement", "reason", "eatem"),
    ("package", "packed_on", "2026-13-01"),
    ("package", "first_frozen_on", "never"),
    ("package", "cut", "loin-shops"),
    ("package", "form", "halg"),
    ("package", "species", "pih"),
    ("animal", "species", "whitetale"),
    ("animal", "killed_on", "14 nov"),
    ("animal_test", "result", "pendinf"),
    ("animal_test", "sent_on", "x"),
    ("act", "happened_on", "2026-02-30"),
    ("act", "recorded_at", "yesterday"),
    ("setting", "value", "stone"),
    ("freezer", "name", ""),
    ("package_state", "since", "0000-00-00"),
    ("package_state", "state", "melted"),
    ("code", "kind", "nothing"),
    ("meta", "value", ""),
    ("package", "code", "K7P3MU"),
)


@pytest.mark.parametrize(("table", "column", "value"), VALUES)
def test_a_value_that_cannot_be(good: House, tmp_path: Path, table: str, column: str, value: str) -> None:
    """Somebody's own hand, or bits that kept the structure whole."""
    house = copy_of(good, tmp_path)
    with unguarded(house.book) as connection:
        connection.execute(
            f"UPDATE {table} SET {column} = ? WHERE rowid IN (SELECT rowid FROM {table} LIMIT 1)", (value,)
        )
    found = everything_asked(house)
    if table not in ("freezer", "meta", "setting", "act"):
        assert found[0].status in (1, 3), f"{table}.{column} = {value!r} goes unseen by check"


class unguarded:
    """The file with its guards taken away, as a stranger's program might."""

    def __init__(self, book: Path) -> None:
        self.connection = sqlite3.connect(book)

    def __enter__(self) -> sqlite3.Connection:
        self.connection.execute("PRAGMA ignore_check_constraints = ON")
        self.kept = self.connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in self.kept:
            self.connection.execute(f"DROP TRIGGER {name}")
        return self.connection

    def __exit__(self, *_: object) -> None:
        for _, sql in self.kept:
            self.connection.execute(sql)
        self.connection.commit()
        self.connection.close()


def test_a_broken_book_is_brought_back_and_kept(good: House, tmp_path: Path) -> None:
    house = copy_of(good, tmp_path)
    house.ok("backup", "--to", "stick")
    copy = next((tmp_path / "stick").glob("*.book"))
    wanted = replace(house, more={"FREEZERBOX_BOOK": str(copy)}).ok("find", "everything", "--json").out
    for broken in broken_books(good.book.read_bytes()):
        house.book.write_bytes(broken)
        said = house.ok("restore", str(copy), "--yes").told
        assert "is kept" in said or "kept:" in said
        aside = Path(said.rpartition(": ")[2])
        # The head counts how often a file was written; behind it everything is as it was, damage too.
        assert aside.read_bytes()[100:] == broken[100:]
        assert house.ok("check").status == 0
        assert house.ok("find", "everything", "--json").out == wanted
        aside.unlink()


def broken_books(whole: bytes) -> Iterator[bytes]:
    yield b""
    yield whole[:50]
    yield whole[: len(whole) // 2]
    yield b"not a book" * 100
    yield whole[:8192] + bytes(4096) + whole[12288:]
