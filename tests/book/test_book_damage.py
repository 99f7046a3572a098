"""A book that is damaged inside: said in words by every command that meets the damage, never in a traceback."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.process import House, dump
from tests.conftest import Stocked


@pytest.fixture
def damaged(stocked: Stocked, book_path: Path) -> Path:
    """The pages that hold the packages are overwritten; the first page, which opening looks at, is whole."""
    stocked.book.close()
    with closing(sqlite3.connect(book_path)) as connection:
        size = connection.execute("PRAGMA page_size").fetchone()[0]
        query = "SELECT rootpage FROM sqlite_master WHERE name IN ('package', 'package_state')"
        pages = [row[0] for row in connection.execute(query)]
    content = bytearray(book_path.read_bytes())
    for page in pages:
        content[(page - 1) * size : page * size] = b"\xff" * size
    book_path.write_bytes(content)
    return book_path


def ran(path: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {
        **{name: value for name, value in os.environ.items() if not name.startswith("FREEZERBOX_")},
        "FREEZERBOX_BOOK": str(path),
        "FREEZERBOX_NOW": "2026-12-02T21:00",
    }
    return subprocess.run(
        [sys.executable, "-m", "freezerbox", *arguments],
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("command", [["rotation"], ["find", "chops"], ["show", "CODE"], ["take", "CODE"]])
def test_a_damaged_page_is_said_in_words(damaged: Path, stocked: Stocked, command: list[str]) -> None:
    command = [stocked.roast.code if word == "CODE" else word for word in command]
    before = damaged.read_bytes()
    done = ran(damaged, *command)
    assert done.returncode == 3
    said = " ".join(done.stderr.split())
    assert f"The book {damaged} is damaged" in said
    assert "Nothing was changed" in said
    assert said.endswith("freezerbox restore COPY")
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    assert damaged.read_bytes() == before


def test_check_finds_the_damage(damaged: Path) -> None:
    done = ran(damaged, "check")
    assert "malformed" in done.stdout
    assert "Traceback" not in done.stderr
    assert done.returncode in (1, 3)


def test_a_book_cut_in_the_middle(stocked: Stocked, book_path: Path) -> None:
    stocked.book.close()
    whole = book_path.read_bytes()
    book_path.write_bytes(whole[: len(whole) // 2])
    for command in (["rotation"], ["check"], ["pack", "loin chops", "1", "--species", "pig"]):
        done = ran(book_path, *command)
        assert done.returncode in (1, 3), command
        assert "Traceback" not in done.stderr
        assert "is cut short: it holds" in done.stderr


# -- a column that lost its name -----------------------------------------------------------------------------------
# One letter of the schema is altered: the file is whole, and every statement that asks for the column fails.

MISNAMED = ("change.new", "lineage.id", "label.void", "act.id", "act.uid", "place.id", "code.code", "movement.delta")


def misname(path: Path, column: str) -> None:
    table, _, name = column.partition(".")
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        [(sql,)] = connection.execute("SELECT sql FROM sqlite_master WHERE name = ? AND type = 'table'", (table,))
        head, parenthesis, rest = sql.partition("(")
        sql = head + parenthesis + re.sub(rf"\b{name}\b", f"{name[:-1]}q", rest, count=1)
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute("UPDATE sqlite_master SET sql = ? WHERE name = ? AND type = 'table'", (sql, table))


@pytest.mark.parametrize("column", MISNAMED)
def test_a_column_without_its_name_is_told_as_damage_of_the_book(
    column: str, stocked: Stocked, book_path: Path
) -> None:
    """By every command that meets it, check among them: it does not send anybody to check, and fails nowhere."""
    stocked.book.close()
    misname(book_path, column)
    house = House(folder=book_path.parent, more={"FREEZERBOX_BOOK": str(book_path)})
    told = 0
    for words in (
        ("undo",),
        ("fix", stocked.roast.code, "--note", "x"),
        ("pack", "loin chops", "1", "--species", "pig"),
        ("show", stocked.roast.code),
        ("check",),
        ("check", "--repair"),
        ("backup",),
    ):
        done = house.call(*words)
        assert "could not do that" not in done.said + done.told, words
        assert ".part" not in done.said, words
        if words[0] == "check":
            # Of a book that cannot even be opened nothing is looked over.
            assert done.status == (3 if column == "act.id" else 1), (words, done)
            assert "bring back " in (done.said + done.told).lower(), (words, done)
        elif done.status == 3:
            assert f"The book {book_path} is damaged: " in done.said, (words, done)
            told += 1
    assert told >= 2
    # What is as damaged as the book is no copy of it: none lies there that could be proposed as the way back.
    assert list(book_path.parent.glob("*-backups/*.book")) == []


@pytest.mark.parametrize("column", MISNAMED)
def test_a_book_with_such_a_column_is_not_joined_nor_put_in_place(
    column: str, stocked: Stocked, book_path: Path, tmp_path: Path
) -> None:
    stocked.book.close()
    other = tmp_path / "other.book"
    shutil.copy(book_path, other)
    misname(other, column)
    house = House(folder=book_path.parent, more={"FREEZERBOX_BOOK": str(book_path)})
    before = dump(book_path)
    for words in (("import", "--merge", str(other)), ("restore", str(other), "--yes")):
        done = house.call(*words)
        assert done.status == 3, (words, done)
        assert f"{other} is damaged: " in done.said, (words, done)
        assert dump(book_path) == before
    # And the other way round: it is our own that lacks the name.
    shutil.copy(book_path, tmp_path / "whole.book")
    shutil.copy(other, book_path)
    done = house.call("import", "--merge", str(tmp_path / "whole.book"))
    assert done.status == 3
    assert f"The book {book_path} is damaged: " in done.said
