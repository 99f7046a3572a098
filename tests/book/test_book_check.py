"""What check must see in a book whose file is whole but whose words are not, and what --repair must bring back."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from freezerbox.book import journal
from freezerbox.book.door import Book
from freezerbox.chores import check as checking
from freezerbox.chores import count, house, pack, prices, safekeeping
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.take import take
from freezerbox.core.code import show_code
from freezerbox.errors import BookTrouble
from freezerbox.food.keeping import DEFAULT_GUIDE
from tests.conftest import Stocked, StoppedClock


@pytest.fixture
def altered(
    stocked: Stocked, book_path: Path, open_again: Callable[..., Book], clock: StoppedClock
) -> Callable[..., Kitchen]:
    """Writes in the file as a stranger with all guards away would, puts the guards back, and opens it again."""

    def alter(*statements: str, values: tuple[object, ...] = ()) -> Kitchen:
        stocked.book.close()
        with closing(sqlite3.connect(book_path)) as connection, connection:
            guards = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
            for name, _ in guards:
                connection.execute(f"DROP TRIGGER {name}")
            for statement in statements:
                connection.execute(statement, values)
            for _, sql in guards:
                connection.execute(sql)
        return Kitchen(open_again(), clock)

    return alter


def test_a_book_with_a_partly_used_lot_is_repaired(stocked: Stocked, altered: Callable[..., Kitchen]) -> None:
    """One taken of a lot has a reason, the lot has none: the same rule as in the file's own trigger."""
    run = pack.prepare(stocked.kitchen, Words(cut="ground", species="deer"), ["1"], quantity=6)
    (lot,) = pack.write(stocked.kitchen, run).rows
    take(stocked.kitchen, lot.code)
    kitchen = altered(
        "DELETE FROM package_state WHERE code = :lot",
        "UPDATE package_state SET state = 'gone', reason = 'lost' "
        f"WHERE code = '{stocked.roast.code}' AND :lot <> ''",
        values=(lot.code,),
    )
    assert len(checking.check(kitchen).faults) == 2
    done = checking.repair(kitchen)
    assert done.after.faults == ()
    assert done.rebuilt == (f"the state of {stocked.roast.code} follows its journal again",
                            f"the state of {lot.code} is back")  # fmt: skip
    take(kitchen.afresh(), lot.code)
    assert checking.check(kitchen.afresh()).faults == ()


def test_a_state_of_no_package_is_dropped(altered: Callable[..., Kitchen]) -> None:
    kitchen = altered(
        "INSERT INTO package_state (code, state, quantity, since) VALUES ('ZZZZZZ', 'frozen', 1, '2026-11-21')"
    )
    (fault,) = checking.check(kitchen).faults
    assert "A state is stored of ZZZZZZ, which is no package" in fault
    done = checking.repair(kitchen)
    assert done.after.faults == ()
    assert done.rebuilt[0] == "the state of ZZZZZZ, which is no package, is gone"


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [
        ("quantity", "3", "quantity 3, by its journal 1"),
        ("place_id", "2", "place "),
        ("since", "'2026-10-01'", "day 2026-10-01, by its journal 2025-"),
    ],
)
def test_what_differs_is_named(
    stocked: Stocked, altered: Callable[..., Kitchen], column: str, value: str, said: str
) -> None:
    code = stocked.roast.code
    kitchen = altered(f"UPDATE package_state SET {column} = {value} WHERE code = '{code}'")
    (fault,) = checking.check(kitchen).faults
    assert f"{show_code(code)} is stored with {said}" in fault
    assert fault.count(", by its journal ") == 1


def test_an_act_of_another_day_than_what_it_moved(stocked: Stocked, altered: Callable[..., Kitchen]) -> None:
    (act,) = {one.act_id for one in journal.movements(stocked.book, code=stocked.roast.code)}
    kitchen = altered(f"UPDATE act SET happened_on = '2031-11-21' WHERE id = {act}")
    (fault,) = checking.check(kitchen).faults
    assert f"Act {act} is of 2031-11-21, but what it moved, it moved on 2025-" in fault


def test_a_damaged_book_is_said_to_be_so_and_not_its_copy(altered: Callable[..., Kitchen]) -> None:
    kitchen = altered("PRAGMA foreign_keys = OFF", "DELETE FROM act WHERE id = 2")
    with pytest.raises(BookTrouble) as raised:
        safekeeping.daily(kitchen)
    assert f"The book {kitchen.book.path} is damaged: a row of " in raised.value.message
    assert raised.value.message.endswith("See: freezerbox check")


def test_what_could_not_be_counted_is_not_counted(altered: Callable[..., Kitchen]) -> None:
    found = checking.check(altered("UPDATE act SET happened_on = 'soon' WHERE id = 2"))
    assert found.faults
    assert (found.packages, found.movements) == (None, None)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE lineage SET name = '26Z' WHERE name = '26B'",
        "UPDATE animal SET code = '26Z' WHERE code = '26B'",
        "UPDATE animal SET void = 1 WHERE code = '26B'",
        "UPDATE lineage SET kind = 'package' WHERE name = '26B'",
    ],
)
def test_an_origin_without_a_record_is_seen(altered: Callable[..., Kitchen], statement: str) -> None:
    """A hold on that animal is silently gone with it."""
    said = [fault for fault in checking.check(altered(statement)).faults if "no record" in fault]
    assert len(said) == 4
    assert "a hold on it would not show" in said[0]


SETTINGS = (
    ("units", "stone", "freezerbox settings units lb"),
    ("units", "", "freezerbox settings units lb"),
    ("guide", "x", "freezerbox settings guide"),
    ("guide:beef/ground", "a-b", "freezerbox restore COPY"),
    ("guide:beef/ground", "6-4", "freezerbox restore COPY"),
    ("guide:beef", "4-6", "freezerbox restore COPY"),
    ("letter", "?", "freezerbox settings letter"),
    ("letter", "AB", "freezerbox settings letter"),
    ("price:any", "dear", "freezerbox settings price:any"),
    ("price:any", "NaN", "freezerbox settings price:any"),
    ("count:1", "[]", "freezerbox restore COPY"),
    ("count:1", "{", "freezerbox restore COPY"),
    ("phone-name", "10.0.0.7", "address in figures"),
    ("people", "many", "from 1 to"),
    ("portion", "heavy", "heavy"),
)


@pytest.mark.parametrize(("key", "value", "mend"), SETTINGS)
def test_a_setting_that_cannot_be(altered: Callable[..., Kitchen], key: str, value: str, mend: str) -> None:
    kitchen = altered(f"INSERT OR REPLACE INTO setting (key, value) VALUES ('{key}', ?)", values=(value,))
    (fault,) = checking.check(kitchen).faults
    assert key in fault
    assert mend in fault


@pytest.mark.parametrize(("key", "value", "mend"), SETTINGS[:-3])
def test_a_setting_that_cannot_be_stops_nobody_with_a_traceback(
    altered: Callable[..., Kitchen], key: str, value: str, mend: str
) -> None:
    kitchen = altered(f"INSERT OR REPLACE INTO setting (key, value) VALUES ('{key}', ?)", values=(value,))

    def read() -> object:
        if key.startswith("count"):
            return count.look_kept(key, kitchen.settings[key])
        return kitchen.unit, kitchen.guide, prices.prices(kitchen), house.letter(kitchen)

    with pytest.raises(BookTrouble) as raised:
        read()
    assert mend in raised.value.message


def test_a_damaged_setting_is_mended_as_it_says(altered: Callable[..., Kitchen]) -> None:
    kitchen = altered("INSERT OR REPLACE INTO setting (key, value) VALUES ('units', 'stone'), ('letter', '?'), "
                      "('guide', 'x'), ('price:any', 'dear')")  # fmt: skip
    for key, value in (("units", "kg"), ("letter", "K"), ("guide", DEFAULT_GUIDE), ("price:any", "8.00")):
        house.set_setting(kitchen.afresh(), key, value)
    assert checking.check(kitchen.afresh()).faults == ()


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("DELETE FROM meta", "uid"),
        ("DELETE FROM meta WHERE key = 'walk'", "walk"),
        ("UPDATE meta SET value = 'x' WHERE key = 'walk'", "walk"),
        ("UPDATE meta SET value = '' WHERE key = 'letter'", "letter"),
        ("UPDATE meta SET value = 'AB' WHERE key = 'letter'", "letter"),
        ("UPDATE meta SET value = '' WHERE key = 'uid'", "uid"),
    ],
)
def test_what_the_book_says_of_itself_is_looked_at(
    altered: Callable[..., Kitchen], statement: str, said: str
) -> None:
    kitchen = altered(statement)
    assert any(said in fault for fault in checking.check(kitchen).faults)
    if said in ("letter", "walk"):
        run = pack.prepare(kitchen, Words(cut="pork loin chops"), ["1"])
        with pytest.raises(BookTrouble, match=said):
            pack.write(kitchen, run)


# -- the journal has lost something ----------------------------------------------------------------------------------


def said(kitchen: Kitchen) -> str:
    return "\n".join(checking.check(kitchen).faults)


def test_lost_movements_are_not_to_be_repaired(stocked: Stocked, altered: Callable[..., Kitchen]) -> None:
    """Nothing can be rebuilt from what is not there: the way is a copy, and --repair says so and does nothing."""
    code = stocked.roast.code
    kitchen = altered("DELETE FROM movement WHERE code = :code", values=(code,))
    faults = checking.check(kitchen).faults
    assert "The journal has lost 1 of its rows of movement, the first is number" in faults[0]
    assert any(f"{show_code(code)} has a record, but nothing is said of where" in fault for fault in faults)
    assert all("freezerbox restore COPY" in fault for fault in faults)
    done = checking.repair(kitchen)
    assert (done.rebuilt, done.after.faults) == ((), faults)


def test_a_lost_step_does_not_become_the_state(stocked: Stocked, altered: Callable[..., Kitchen]) -> None:
    """Of one that was taken, the taking is lost, and more came after: it does not come back as if it were there."""
    take(stocked.kitchen, stocked.roast.code)
    take(stocked.kitchen, stocked.chops[0].code)
    kitchen = altered("DELETE FROM movement WHERE code = :code AND state = 'gone'", values=(stocked.roast.code,))
    assert "restore COPY" in said(kitchen)
    assert "--repair" not in said(kitchen)
    assert checking.repair(kitchen).rebuilt == ()
    state = kitchen.book.connection.execute("SELECT state FROM package_state WHERE code = ?", (stocked.roast.code,))
    assert state.fetchone()[0] == "gone"


@pytest.mark.parametrize("table", ["act", "movement", "change"])
def test_a_gap_in_the_journal_is_seen(stocked: Stocked, altered: Callable[..., Kitchen], table: str) -> None:
    prices.set_price(stocked.kitchen, "any", "8.00")
    take(stocked.kitchen, stocked.roast.code)
    prices.set_price(stocked.kitchen, "any", "9.00")
    prices.set_price(stocked.kitchen, "any", "9.50")
    kitchen = altered(f"DELETE FROM {table} WHERE id = (SELECT max(id) - 1 FROM {table})")
    if table == "act":
        # Its own rows miss it; that is told once, whatever their number.
        assert said(kitchen).count("is not there") == 1
    else:
        assert f"The journal has lost 1 of its rows of {table}" in said(kitchen)


def test_a_packing_turned_round_is_not_to_be_repaired(stocked: Stocked, altered: Callable[..., Kitchen]) -> None:
    code = stocked.roast.code
    kitchen = altered("UPDATE movement SET delta = -1 WHERE code = :code", values=(code,))
    assert f"{show_code(code)} comes to -1 packages by its journal" in said(kitchen)
    before = checking.check(kitchen).faults
    assert checking.repair(kitchen).after.faults == before


def test_none_of_one_that_is_there(stocked: Stocked, altered: Callable[..., Kitchen]) -> None:
    code = stocked.roast.code
    kitchen = altered("UPDATE movement SET delta = 0 WHERE code = :code", values=(code,))
    kitchen.book.connection.execute("UPDATE package_state SET quantity = 0 WHERE code = ?", (code,))
    assert f"{show_code(code)} is frozen, and there are 0 of it" in said(kitchen)


def test_one_lost_record_is_told_once(stocked: Stocked, altered: Callable[..., Kitchen]) -> None:
    kitchen = altered("DELETE FROM package WHERE code = :code", values=(stocked.roast.code,))
    (fault,) = checking.check(kitchen).faults
    assert f"the package {stocked.roast.code} is not there, and 2 rows point to it" in fault
    for table in ("movement", "package_state"):
        assert table in fault


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE movement SET happened_on = '2026-02-30' WHERE code = :code", "movement {}: happened_on is '2026-02"),
        ("UPDATE package SET packed_on = '14 nov' WHERE code = :code", "package {}: packed_on is '14 nov'"),
        ("UPDATE act SET happened_on = '' WHERE id = 2 AND :code <> ''", "act 2: happened_on is ''"),
        ("UPDATE package_state SET since = '0000-00-00' WHERE code = :code", "package_state {}: since is"),
    ],
)  # fmt: skip
def test_a_day_that_is_none_is_told_with_its_place(
    stocked: Stocked, altered: Callable[..., Kitchen], statement: str, words: str
) -> None:
    kitchen = altered(statement, values=(stocked.roast.code,))
    assert words.format(stocked.roast.code) in said(kitchen)


# -- the tables and guards are not ours ------------------------------------------------------------------------------


def outside(stocked: Stocked, path: Path, *statements: str) -> None:
    """Written by another program, the book open or not."""
    stocked.book.close()
    with closing(sqlite3.connect(path)) as connection, connection:
        for statement in statements:
            connection.execute(statement)


def test_a_table_that_is_gone(
    stocked: Stocked, book_path: Path, open_again: Callable[..., Book], clock: StoppedClock
) -> None:
    outside(stocked, book_path, "DROP TABLE change")
    faults = checking.check(Kitchen(open_again(), clock)).faults
    assert faults[0].startswith("The table change is missing from the file; to mend it, bring back the latest copy")


LOOSE = "CREATE TABLE person (id INTEGER PRIMARY KEY, uid TEXT, act_id INTEGER, name TEXT, void INTEGER)"
EATS = "CREATE TRIGGER eats AFTER INSERT ON act BEGIN UPDATE meta SET value = value; END"
SLEEPS = "CREATE TRIGGER movement_no_update BEFORE UPDATE ON movement BEGIN SELECT 1; END"


@pytest.mark.parametrize(
    ("statements", "words", "mended"),
    [
        ((EATS,), "The trigger eats is none of this program's", ("the trigger eats is gone",)),
        (
            ("DROP TRIGGER movement_no_update", SLEEPS),
            "The trigger movement_no_update is not as this program makes it",
            ("the trigger movement_no_update is back",),
        ),
        (
            ("DROP INDEX movement_code", "CREATE INDEX movement_code ON movement (delta)"),
            "The index movement_code is not as this program makes it",
            ("the index movement_code is back",),
        ),
        (
            ("CREATE VIEW seen AS SELECT 1",),
            "The view seen is none of this program's",
            ("the view seen is gone",),
        ),
    ],
)
def test_guards_that_are_not_ours_are_seen_and_put_right(
    stocked: Stocked, book_path: Path, open_again: Callable[..., Book], clock: StoppedClock,
    statements: tuple[str, ...], words: str, mended: tuple[str, ...],
) -> None:  # fmt: skip
    outside(stocked, book_path, *statements)
    kitchen = Kitchen(open_again(), clock)
    (fault,) = checking.check(kitchen).faults
    assert fault.startswith(words)
    assert "freezerbox check --repair puts that right" in fault
    done = checking.repair(kitchen)
    assert (done.rebuilt, done.after.faults) == (mended, ())


def test_a_table_that_lost_its_strictness_is_seen(
    stocked: Stocked, book_path: Path, open_again: Callable[..., Book], clock: StoppedClock
) -> None:
    outside(stocked, book_path, "DROP TABLE person", LOOSE)
    kitchen = Kitchen(open_again(), clock)
    assert "The table person is not as this program makes it; to mend it, bring back the latest copy" in said(kitchen)
    # The guards that went with it come back; what the table lets in does not become right by that.
    after = checking.repair(kitchen).after.faults
    assert [fault.partition(";")[0] for fault in after] == ["The table person is not as this program makes it"]
