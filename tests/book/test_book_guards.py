"""The promises that the file itself keeps, tried with sqlite3 alone, as any other program would write in it."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from freezerbox.book import guards
from freezerbox.book.door import APPLICATION_ID, Book
from freezerbox.book.migrations import CURRENT
from freezerbox.book.patience import BUSY_SECONDS, TURN_SECONDS, Patient
from freezerbox.chores import animals, house
from freezerbox.chores.check import check
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.take import take
from freezerbox.core.records import State
from tests.book.look import columns, everything, objects, tables
from tests.conftest import Stocked

SCHEMA = Path(__file__).with_name("schema.txt")
"""The schema that is kept: ``table: fixed columns | columns that follow changes``, and the indexes."""

Golden = dict[str, tuple[list[str], list[str]]]


def golden() -> tuple[Golden, list[str]]:
    """Tables with their fixed and their changeable columns; names of indexes."""
    found: Golden = {}
    indexes = []
    for line in SCHEMA.read_text(encoding="utf-8").splitlines():
        if line.startswith("index "):
            indexes.append(line.removeprefix("index "))
        elif line and not line.startswith("#"):
            table, _, rest = line.partition(":")
            fixed, _, changeable = rest.partition("|")
            found[table] = (fixed.split(), changeable.split())
    return found, indexes


TABLES, INDEXES = golden()
APPEND_ONLY = ("act", "change", "code", "movement")
KEPT_BY_THE_BOOK = ("meta", "setting")  # written by the book itself, a setting through its changes


@pytest.fixture
def raw(stocked: Stocked, book_path: Path) -> Iterator[sqlite3.Connection]:
    """A connection that is none of ours, to a book with a little of everything in it."""
    kitchen = stocked.kitchen
    house.set_setting(kitchen, "letter", "K")
    take(kitchen, stocked.chops[0].code)
    with kitchen.book.act("test", kitchen.today) as act:
        act.add("person", name="Ann")
        act.add("batch", code="G26-1", made_on="2026-11-30")
        act.add("own_hold", code=stocked.chops[1].code, why="smells odd", since="2026-12-01")
        act.add("label", code=stocked.chops[1].code, stock="letter-10up", text="K7P3MT", printed_on="2026-12-01")
        act.add("cost", subject_kind="animal", subject="26H", what="cutting", cents=12_000)
        act.add("batch_step", batch="G26-1", what="smoke", due_on="2026-12-09")
        act.add("animal_hold", animal_id=stocked.doe.id, why="asked the warden", since="2026-12-01")
        act.change("package", stocked.chops[1].code, "note", "", "thick ones")
    with closing(sqlite3.connect(book_path, isolation_level=None)) as connection:
        yield connection


def test_the_schema_is_the_one_that_is_kept(book: Book) -> None:
    there = [table for table in tables(book.connection) if not table.startswith("_")]
    assert there == sorted(TABLES)
    for table, (fixed, changeable) in TABLES.items():
        assert sorted(columns(book.connection, table)) == sorted(fixed + changeable), table
    there = [name for name in objects(book.connection, "index") if "_sqlite_migrations_" not in name]
    assert there == sorted(INDEXES)


def test_every_table_is_strict(book: Book) -> None:
    strict = {row[1]: row[5] for row in book.connection.execute("PRAGMA table_list") if row[0] == "main"}
    loose = [table for table in TABLES if strict[table] != 1]
    assert loose == []


def test_the_triggers_are_those_that_the_schema_asks_for(book: Book) -> None:
    expected = {"change_setting", "movement_folds", "package_state_only_folds"}
    for table, (_, changeable) in TABLES.items():
        expected.add(f"{table}_no_delete")
        if table in APPEND_ONLY:
            expected.add(f"{table}_no_update")
        if changeable:
            expected.add(f"{table}_facts_stay")
        for column in changeable:
            expected |= {f"change_{table}_{column}", f"{table}_{column}_only_by_change"}
    assert set(objects(book.connection, "trigger")) == expected


def test_the_file_says_what_it_is(book: Book) -> None:
    pragma = book.connection.execute
    assert pragma("PRAGMA application_id").fetchone()[0] == APPLICATION_ID == int.from_bytes(b"FrzB", "big")
    assert pragma("PRAGMA user_version").fetchone()[0] == CURRENT
    assert pragma("PRAGMA encoding").fetchone()[0] == "UTF-8"


def test_the_pragmas_of_every_opening(book: Book, open_again: Callable[..., Book]) -> None:
    for each in (book, open_again(), open_again(station="scanner")):
        pragma = each.connection.execute
        assert pragma("PRAGMA foreign_keys").fetchone()[0] == 1
        assert pragma("PRAGMA synchronous").fetchone()[0] == 3  # EXTRA: as FULL, and the end of the journal too
        assert pragma("PRAGMA journal_mode").fetchone()[0] == "delete"  # a rollback journal: the file can be copied
        assert pragma("PRAGMA busy_timeout").fetchone()[0] == 1000 * TURN_SECONDS
        # And those turns again and again, for twenty seconds.
        assert isinstance(each.connection, Patient)
        assert BUSY_SECONDS == 20


def test_there_is_something_in_every_table(raw: sqlite3.Connection) -> None:
    # Or the refusals below would hold for want of rows.
    empty = [table for table in TABLES if raw.execute(f"SELECT count(*) FROM {table}").fetchone()[0] == 0]
    assert empty == []


@pytest.mark.parametrize("table", sorted(TABLES))
def test_nothing_is_deleted(raw: sqlite3.Connection, table: str) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="never"):
        raw.execute(f"DELETE FROM {table}")


@pytest.mark.parametrize("table", APPEND_ONLY)
def test_the_journal_is_never_changed_not_even_to_itself(raw: sqlite3.Connection, table: str) -> None:
    for column in columns(raw, table):
        with pytest.raises(sqlite3.IntegrityError, match="rows are never changed"):
            raw.execute(f'UPDATE {table} SET "{column}" = "{column}"')


CHANGEABLE = sorted(table for table, (_, changeable) in TABLES.items() if changeable)


@pytest.mark.parametrize("table", CHANGEABLE)
def test_no_field_is_changed_but_by_a_change_in_the_journal(
    raw: sqlite3.Connection, table: str, book_path: Path
) -> None:
    before = everything(book_path)
    kinds = {row[1]: row[2] for row in raw.execute(f"PRAGMA table_info({table})")}
    for column in columns(raw, table):
        other = "'something else'" if kinds[column] == "TEXT" else "4711"
        with pytest.raises(sqlite3.IntegrityError, match=r"follows its changes|are never changed"):
            raw.execute(f'UPDATE {table} SET "{column}" = {other}')
    assert everything(book_path) == before


@pytest.mark.parametrize("column", ["code", "state", "reason", "freezer_id", "place_id", "quantity", "since"])
def test_a_packages_state_follows_its_movements(raw: sqlite3.Connection, column: str, book_path: Path) -> None:
    before = everything(book_path)
    other = "5" if column in ("freezer_id", "place_id", "quantity") else "'gone'"
    with pytest.raises(sqlite3.IntegrityError):
        raw.execute(f"UPDATE package_state SET {column} = {other}")
    assert everything(book_path) == before


def test_a_state_set_to_what_it_is_already_is_no_change(raw: sqlite3.Connection) -> None:
    raw.execute("UPDATE package_state SET state = state, quantity = quantity")


def test_a_movement_written_by_anybody_moves_the_package(raw: sqlite3.Connection, stocked: Stocked) -> None:
    code = stocked.chops[2].code
    raw.execute(
        "INSERT INTO movement (act_id, code, happened_on, state, reason, freezer_id, place_id, delta) "
        "VALUES (1, ?, '2026-12-02', 'gone', 'lost', NULL, NULL, -1)",
        (code,),
    )
    row = raw.execute("SELECT state, reason, quantity FROM package_state WHERE code = ?", (code,)).fetchone()
    assert row == ("gone", "lost", 0)
    assert check(stocked.kitchen).faults == ()


MOVED = "INSERT INTO movement (act_id, code, happened_on, state, delta) VALUES"
CHANGED = "INSERT INTO change (act_id, subject_kind, subject, field, new) VALUES"


@pytest.mark.parametrize(
    "statement",
    [
        f"{MOVED} (99999, :code, '2026-12-02', 'frozen', 0)",
        f"{MOVED} (1, 'NOSUCH', '2026-12-02', 'frozen', 0)",
        f"{MOVED} (1, :code, '2026-12-02', 'molten', 0)",
        f"{MOVED} (1, :code, '2026-12-02', 'gone', 0)",
        f"{MOVED} (1, :code, '2026-12-02', 'frozen', -9)",
        f"{MOVED} (1, :code, '2026-12-02', 'frozen', 'x')",
        f"{CHANGED} (1, 'package', :code, 'net_mg', -5)",
        f"{CHANGED} (1, 'package', :code, 'net_mg', 'two')",
        f"{CHANGED} (1, 'package', :code, 'cut', NULL)",
        "INSERT INTO animal (uid, act_id, code, species) VALUES ('u', 1, '26b', 'elk')",
        "INSERT INTO freezer (uid, act_id, name) VALUES ('u', 1, 'GARAGE CHEST')",
        "INSERT INTO code (code, kind, act_id) VALUES (:code, 'package', 1)",
        "INSERT INTO code (code, kind, act_id) VALUES ('K7P3MT', 'mystery', 1)",
    ],
)
def test_what_cannot_be_is_refused_by_the_file_itself(stocked: Stocked, book_path: Path, statement: str) -> None:
    before = everything(book_path)
    with pytest.raises(sqlite3.IntegrityError):
        stocked.book.connection.execute(statement, {"code": stocked.chops[0].code})
    assert everything(book_path) == before


def test_a_name_is_free_again_when_its_record_is_void(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    with kitchen.book.act("test", kitchen.today) as act:
        act.change("animal", stocked.doe.id, "void", 0, 1)
    again = animals.add_animal(kitchen, animals.NewAnimal(code="26b", species="elk"))
    assert again.id != stocked.doe.id


def test_the_latest_by_day_and_then_by_number_is_the_state(kitchen: Kitchen) -> None:
    book = kitchen.book
    with book.act("pack", date(2026, 11, 20)) as act:
        code = act.new_code("package", "K")
        act.add("package", code=code, cut="ground", packed_on="2026-11-20", first_frozen_on="2026-11-20")
        act.move(code, state=State.FROZEN, freezer_id=1, place_id=None, delta=1)

    def now() -> tuple[str, int]:
        row = book.connection.execute("SELECT state, quantity FROM package_state WHERE code = ?", (code,)).fetchone()
        return row["state"], row["quantity"]

    with book.act("test", date(2026, 11, 25)) as act:
        act.move(code, state=State.FROZEN, freezer_id=1, place_id=None, delta=2)
    with book.act("test", date(2026, 11, 22)) as act:  # told late
        act.move(code, state=State.SPARE, freezer_id=1, place_id=None, delta=-1)
    assert now() == ("frozen", 2)
    with book.act("test", date(2026, 11, 25)) as act:
        act.move(code, state=State.SPARE, freezer_id=1, place_id=None, delta=0)
    assert now() == ("spare", 2)
    assert check(kitchen).faults == ()


def test_a_guard_that_was_taken_away_is_missed(stocked: Stocked, book_path: Path) -> None:
    with closing(sqlite3.connect(book_path)) as other:
        other.execute("DROP TRIGGER movement_no_update")
        other.execute("DROP TRIGGER package_state_only_folds")
        other.execute("DROP INDEX movement_code")
        other.execute("UPDATE package_state SET state = 'spare' WHERE code = ?", (stocked.roast.code,))
        other.commit()
    faults = " ".join(check(stocked.kitchen).faults)
    for missing in ("movement_no_update", "package_state_only_folds", "movement_code"):
        assert missing in faults
    assert "is stored with state spare, by its journal frozen" in faults
    assert len(guards.faulty(stocked.book)) == 3
