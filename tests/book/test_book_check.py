"""What check must see in a book whose file is whole but whose words are not, and what --repair must bring back."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from freezerbox.book.door import Book
from freezerbox.chores import check as checking
from freezerbox.chores import count, house, pack, prices
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.take import take
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
    ("people", "many", "from 1 to"),
    ("portion", "heavy", "heavy"),
)


@pytest.mark.parametrize(("key", "value", "mend"), SETTINGS)
def test_a_setting_that_cannot_be(altered: Callable[..., Kitchen], key: str, value: str, mend: str) -> None:
    kitchen = altered(f"INSERT OR REPLACE INTO setting (key, value) VALUES ('{key}', ?)", values=(value,))
    (fault,) = checking.check(kitchen).faults
    assert key in fault
    assert mend in fault


@pytest.mark.parametrize(("key", "value", "mend"), SETTINGS[:-2])
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
