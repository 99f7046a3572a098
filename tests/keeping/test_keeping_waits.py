"""Another program holds a file that is only read: it is waited for, and that is said, whichever file it is."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing

import pytest

from tests.cli.process import House, dump


@pytest.mark.parametrize(
    ("words", "held"),
    [
        (("import", "--merge", "other.book"), "other.book"),
        (("restore", "other.book", "--yes"), "other.book"),
        (("restore", "other.book", "--yes"), "house.book"),
        (("backup",), "house.book"),
    ],
)
def test_a_file_that_another_program_holds_is_waited_for_aloud(
    house: House, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], held: str
) -> None:
    monkeypatch.setattr("freezerbox.book.patience.BUSY_SECONDS", 0.2)
    shutil.copy(house.book, house.folder / "other.book")
    before = dump(house.book)
    with closing(sqlite3.connect(house.folder / held, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        refused = house.call(*words)
        other.execute("ROLLBACK")
    assert refused.status == 3
    assert refused.said.count("Waiting for another program that holds the book ") == 1
    waiting, _, told = refused.said.partition(" Another program holds the book ")
    assert held in waiting
    assert held in told
    assert dump(house.book) == before
    assert "Waiting" not in house.ok(*words).err
