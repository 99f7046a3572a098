"""Whoever writes, by whatever way: foreign keys on, every commit on the disk, one immediate transaction an act."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from tests.cli.process import House
from tests.keeping.houses import check, chops

PROMISES = ("PRAGMA foreign_keys = ON", "PRAGMA synchronous = EXTRA")
"""``tests/book/test_book_guards.py`` asks the file what they come to."""
_seen: list[list[list[str]]] = []
"""What each connection is asked, in order, while somebody watches; one list a watch."""


@pytest.fixture(autouse=True)
def _heard(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every connection is a real one, and tells what it is asked."""
    real = sqlite3.connect

    def listened_to(*arguments: Any, **options: Any) -> sqlite3.Connection:
        connection: sqlite3.Connection = real(*arguments, **options)
        if _seen:
            _seen[-1].append([])
            connection.set_trace_callback(_seen[-1][-1].append)
        return connection

    monkeypatch.setattr(sqlite3, "connect", listened_to)


@contextmanager
def watched() -> Iterator[list[list[str]]]:
    _seen.append([])
    try:
        yield _seen[-1]
    finally:
        _seen.pop()


def ways(house: House) -> Iterator[tuple[str, tuple[str, ...], str]]:
    """Each way to write: its name, the words, and what is typed."""
    one, two, three, four, five, six, seven, *_ = chops(house)
    (house.folder / "evening.csv").write_text("cut,weight,animal\nhock,2,26H\n", encoding="utf-8")
    chest = "Garage chest"
    yield "pack", ("pack", "hock", "2.1", "--animal", "26H", "--freezer", chest), ""
    yield "take", ("take", one), ""
    yield "put back", ("put-back", one), ""
    yield "move", ("move", two, "--to", "red bag"), ""
    yield "give", ("give", three, "--to", "Ann", "--yes"), ""
    yield "discard", ("discard", four), ""
    yield "fix", ("fix", five, "--note", "thick"), ""
    yield "count", ("count", "red bag"), f"{two}\n"
    yield "count accepted", ("count", "red bag", "--accept", "all"), ""
    yield "result", ("result", "26B", "not-detected", "--yes"), ""
    yield "hold", ("hold", five, "--why", "smells odd"), ""
    yield "undo", ("undo",), ""
    yield "label", ("label", "--to", "labels.pdf", "--yes"), ""
    yield "table", ("import", "evening.csv", "--yes"), ""
    yield "setting", ("settings", "people", "4"), ""
    yield "backup", ("backup", "--to", "second"), ""
    yield "scan session", ("scan",), f"{six}\nundo\n{seven}\n"
    yield "scan session for programs", ("scan", "--json"), f"{six}\n"


def test_every_way_keeps_the_promises(house: House) -> None:
    for name, words, typed in ways(house):
        before = house.dump()
        with watched() as connections:
            done = house.call(*words, stdin=typed)
        assert done.status == 0, (name, done)
        assert house.dump() != before, f"{name} wrote nothing, so nothing is shown"
        writers = [asked for asked in connections if "BEGIN IMMEDIATE" in asked]
        assert writers, name
        for asked in writers:
            first = asked.index("BEGIN IMMEDIATE")
            assert set(PROMISES) <= set(asked[:first]), (name, asked[:first])
            later = [statement for statement in asked[first:] if statement.startswith("PRAGMA")]
            assert not [one for one in later if "busy_timeout" not in one and "=" in one], (name, later)
            # Nothing is written outside of a transaction.
            open_now = False
            for statement in asked:
                open_now = statement.startswith("BEGIN") or (open_now and statement not in ("COMMIT", "ROLLBACK"))
                assert open_now or not statement.startswith(("INSERT", "UPDATE", "DELETE")), (name, statement)
    check(house)


def test_a_scan_is_one_transaction(house: House) -> None:
    codes = chops(house)[:5]
    with watched() as connections:
        house.ok("scan", stdin="".join(f"{code}\n" for code in codes))
    asked = [statement for each in connections for statement in each]
    assert asked.count("COMMIT") == asked.count("BEGIN IMMEDIATE") == len(codes)
