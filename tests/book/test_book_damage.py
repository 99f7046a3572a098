"""A book that is damaged inside: said in words by every command that meets the damage, never in a traceback."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

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
        assert "damaged" in done.stderr or "malformed" in done.stdout
