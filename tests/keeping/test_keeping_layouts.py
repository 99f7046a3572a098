"""Books of earlier layouts: opened, copied first, brought up to date whole or not at all, by several at once."""

from __future__ import annotations

import json
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from freezerbox.book import migrations
from freezerbox.book.door import Book, create_book, open_book
from freezerbox.book.schema import columns as schema_columns
from freezerbox.book.schema import triggers
from freezerbox.chores.check import check
from freezerbox.chores.kitchen import Kitchen
from freezerbox.errors import BookTrouble, NewerBook
from tests.book.look import everything
from tests.cli.process import House, dump
from tests.conftest import StoppedClock, seeded_chance
from tests.keeping import stops

BOOKS = Path(__file__).with_name("books")


def opened(path: Path, seed: str = "layout") -> Book:
    return open_book(path, chance=seeded_chance(seed), now=StoppedClock().stamp)


@pytest.mark.parametrize("layout", range(1, migrations.CURRENT + 1))
def test_a_book_of_each_layout_opens_and_adds_up(tmp_path: Path, layout: int) -> None:
    house = House(folder=tmp_path)
    shutil.copy(BOOKS / f"layout-{layout}.book", house.book)
    assert house.ok("check").told.endswith("on a stick or second disk.")
    with closing(sqlite3.connect(house.book)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (migrations.CURRENT,)
        found = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
        assert found == {statement.split()[2] for statement in triggers()}
        for (table,) in connection.execute("SELECT name FROM sqlite_master WHERE sql LIKE '%STRICT%'").fetchall():
            names = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
            assert tuple(names) == schema_columns(table) or table in ("meta", "setting"), table
    rows = house.ok("find", "loin chops", "--json").json["rows"]
    assert len(rows) == 13
    house.ok("pack", "hock", "2", "--animal", "26H", "--freezer", "Cabin")
    house.ok("undo")


def test_the_book_of_the_present_layout_is_made_by_the_script(tmp_path: Path) -> None:
    """Told apart from what lies there only by its uids and stamps: the script still makes such a book."""
    from tests.keeping.books.make import make

    made = tmp_path / "made.book"
    make(made)
    kept = everything(BOOKS / f"layout-{migrations.CURRENT}.book")
    again = everything(made)
    assert {table: len(rows) for table, rows in kept.items()} == {table: len(rows) for table, rows in again.items()}


# -- a step that is not there yet ------------------------------------------------------------------------------------
# The next layout, as somebody will write it: a column more.  It runs through the same door as the first step.


NEXT = migrations.CURRENT + 1


def next_step(database: Any) -> None:
    database.execute("ALTER TABLE freezer ADD COLUMN colour TEXT NOT NULL DEFAULT ''")


def broken_step(database: Any) -> None:
    database.execute("ALTER TABLE freezer ADD COLUMN colour TEXT NOT NULL DEFAULT ''")
    database.execute("NOT SQL")


def with_step(step: Callable[[Any], None]) -> Callable[[], Any]:
    steps_of_today = migrations.steps

    def steps() -> Any:
        made = steps_of_today()
        made(name=f"m{NEXT:03}_next")(step)
        return made

    return steps


@pytest.fixture
def tomorrow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(migrations, "steps", with_step(next_step))
    monkeypatch.setattr(migrations, "CURRENT", NEXT)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    shutil.copy(BOOKS / f"layout-{migrations.CURRENT}.book", tmp_path / "house.book")
    return tmp_path / "house.book"


def without_the_new(book: dict[str, Any]) -> dict[str, Any]:
    return {table: rows for table, rows in book.items() if table not in ("_sqlite_migrations", "freezer")}


def test_copied_before_it_is_brought_up_to_date(path: Path, tomorrow: None) -> None:
    before, as_it_was = everything(path), path.read_bytes()
    with closing(opened(path)) as book:
        assert book.connection.execute("PRAGMA user_version").fetchone()[0] == NEXT
        assert [row["colour"] for row in book.connection.execute("SELECT colour FROM freezer")] == ["", ""]
        assert check(Kitchen(book, StoppedClock())).faults == ()
    assert without_the_new(everything(path)) == without_the_new(before)
    copy = path.parent / "house-backups" / f"house-before-layout-{NEXT}.book"
    assert everything(copy) == before
    assert len(copy.read_bytes()) == len(as_it_was)


def test_a_step_that_fails_changes_nothing(path: Path, tomorrow: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(migrations, "steps", with_step_again(broken_step))
    before = dump(path)
    with pytest.raises(BookTrouble, match="Nothing was changed"):
        opened(path)
    assert dump(path) == before


def with_step_again(step: Callable[[Any], None]) -> Callable[[], Any]:
    """As ``with_step``, for a program that has one already."""

    def steps() -> Any:
        from sqlite_utils import Migrations

        made = Migrations("freezerbox")
        made(name="m001_first_book")(lambda database: None)
        made(name=f"m{NEXT:03}_next")(step)
        return made

    return steps


def test_an_earlier_program_refuses_a_later_book(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(migrations, "steps", with_step(next_step))
        patch.setattr(migrations, "CURRENT", NEXT)
        opened(path).close()
    before = path.read_bytes()
    with pytest.raises(NewerBook, match="written by a later freezerbox"):
        opened(path)
    refused = House(folder=path.parent).run("take", "K7P3MT")
    assert refused.status == 3
    assert "Bring this program up to date; nothing was changed" in refused.said
    assert path.read_bytes() == before


LATER = Path(__file__).with_name("later_program.py")


def later(house: House, *arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, str(LATER), *arguments],
        cwd=house.folder,
        env=house.environment() | {"PYTHONPATH": str(Path(__file__).parents[2])},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_four_programs_open_an_old_book_at_once(path: Path) -> None:
    house = House(folder=path.parent)
    four = [later(house, "find", "chops") for _ in range(4)]
    for program in four:
        out, err = program.communicate(timeout=120)
        assert program.returncode == 0, err
        assert "Loin chops" in out
        assert err == ""
    with closing(sqlite3.connect(path)) as connection:
        applied = [row[0] for row in connection.execute("SELECT name FROM _sqlite_migrations ORDER BY id")]
    assert applied == ["m001_first_book", f"m{NEXT:03}_next"]


def test_four_programs_start_a_book_at_once(tmp_path: Path) -> None:
    """One starts it; the others are told that it is there, and then it is a whole book for all."""
    houses = [House(folder=tmp_path, seed=str(number)) for number in range(4)]
    arguments = ("start", "--units", "lb", "--freezer", "Chest")
    four = [later(house, *arguments) for house in houses]
    ended = [(program.communicate(timeout=120), program.returncode) for program in four]
    assert sorted(status for _, status in ended) == [0, 3, 3, 3]
    assert sum("is there already" in " ".join(err.split()) for (_, err), _ in ended) == 3
    assert [one["name"] for one in json_of(houses[0])] == ["Chest"]
    assert [each.name for each in tmp_path.iterdir() if each.name.startswith(".")] == []


def json_of(house: House) -> list[dict[str, Any]]:
    out, err = later(house, "freezer", "--json").communicate(timeout=120)
    assert err == ""
    found: list[dict[str, Any]] = json.loads(out)["freezers"]
    return found


@pytest.mark.parametrize("every", [False, pytest.param(True, marks=pytest.mark.sweep)])
def test_stopped_at_every_write_of_bringing_it_up_to_date(path: Path, every: bool) -> None:
    """Old or new, never between; and the next one that opens it does the rest.

    Of a stretch of writes to one file, every third.
    """
    house = House(folder=path.parent, more={"PYTHONPATH": str(Path(__file__).parents[2])})
    before = everything(path)

    def fresh(name: str) -> House:
        folder = path.parent.with_name(f"{path.parent.name} {name}")
        shutil.copytree(path.parent, folder)
        return replace(house, folder=folder)

    whole = fresh("whole")
    calls = run_later(whole, None).calls
    after = without_the_new(everything(whole.book))
    tried = 0
    for stop in stops.worth_stopping(calls, every=every, alike=3):
        stopped = fresh("stopped")
        assert run_later(stopped, stop).status in (-9, 137)
        tried += 1
        # SQLite rolls back what was cut off when somebody opens the file.
        with closing(sqlite3.connect(stopped.book)) as connection:
            connection.execute("BEGIN IMMEDIATE")
            version = connection.execute("PRAGMA user_version").fetchone()[0]
        assert version in (migrations.CURRENT, NEXT)
        if version == migrations.CURRENT:
            assert everything(stopped.book) == before
        assert run_later(stopped, None).status == 0
        assert without_the_new(everything(stopped.book)) == after
        shutil.rmtree(stopped.folder)
    assert tried >= 4


def run_later(house: House, stop: stops.Call | None) -> stops.Run:
    return stops.run(house, ["undo", "--list"], stop, command=[sys.executable, str(LATER)])


def test_a_fresh_book_has_the_present_layout(tmp_path: Path) -> None:
    made = create_book(tmp_path / "new.book", chance=seeded_chance(), now=StoppedClock().stamp)
    assert made.connection.execute("PRAGMA user_version").fetchone()[0] == migrations.CURRENT
    made.close()
    assert not (tmp_path / "new-backups").exists()
