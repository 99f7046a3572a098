"""Another program holds a file that is only read: it is waited for, and that is said, whichever file it is."""

from __future__ import annotations

import shutil
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest

from freezerbox.book import queries
from freezerbox.chores.count import look_of
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.session import Session
from freezerbox.chores.take import Done, put_back
from freezerbox.core.code import show_code
from tests.cli.process import House, Terminal, codes_in, dump
from tests.conftest import Stocked


@contextmanager
def held(book: Path, how: str = "EXCLUSIVE") -> Iterator[None]:
    """Another program holds the file.  ``IMMEDIATE``: it may be read; ``SHARED``: and written, but not committed."""
    with closing(sqlite3.connect(book, isolation_level=None)) as other:
        other.execute("BEGIN" if how == "SHARED" else f"BEGIN {how}")
        other.execute("SELECT count(*) FROM act").fetchone()
        yield
        other.execute("ROLLBACK")


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


@pytest.mark.parametrize("how", ["EXCLUSIVE", "IMMEDIATE", "SHARED"])
def test_a_scanning_session_outlasts_another_program_and_names_what_was_not_done(
    house: House, monkeypatch: pytest.MonkeyPatch, how: str
) -> None:
    monkeypatch.setattr("freezerbox.book.patience.BUSY_SECONDS", 0.2)
    codes = sorted(set(codes_in(house.ok("find", "loin chops").out)))[:4]

    def scanned(cards: bool) -> Iterator[str]:
        yield f"{codes[0]}\n"
        before = dump(house.book)
        with held(house.book, how):
            yield f"{codes[1]}\n"
            yield f"{'UNDO' if cards else codes[2]}\n"
        assert dump(house.book) == before
        yield f"{codes[3]}\n"
        yield f"{codes[1]}\n"

    result = house.call("scan", stdin=scanned(cards=False))
    assert result.status == 3, "some of it could not be done"
    lines = result.out.splitlines()
    assert len(lines) == 5
    for line, code in zip(lines, (*codes, codes[1]), strict=True):
        assert line.startswith(f"{code}: NOT DONE. Another program holds the book " if line in lines[1:3] else code)
    assert [" taken: " in line for line in lines] == [True, False, False, True, True]
    house.ok("put-back", codes[0], codes[1], codes[3])
    later = house.at("2026-12-02T22:00").call("scan", "--json", stdin=scanned(cards=True)).json_lines
    outcomes = ["taken", "refused", "refused", "taken", "taken"]
    assert [one["outcome"] for one in later] == outcomes
    assert later[2]["message"].startswith("UNDO: NOT DONE. Another program holds the book ")


def test_what_is_recorded_is_not_said_to_be_nothing(stocked: Stocked, monkeypatch: pytest.MonkeyPatch) -> None:
    """The book is held between the act and the reading of what it came to."""
    monkeypatch.setattr("freezerbox.book.patience.BUSY_SECONDS", 0.2)
    session = Session(Kitchen(stocked.book, stocked.clock))
    code = stocked.chops[0].code
    place = queries.places(stocked.book)[0]
    session.handle("count")
    session.handle(place.code)
    with closing(sqlite3.connect(stocked.book.path, isolation_level=None)) as other:
        sent: list[str] = []

        def hold_after_the_commit(statement: str) -> None:
            if sent[-1:] == ["COMMIT"]:
                other.execute("BEGIN EXCLUSIVE")
            sent.append(statement)

        stocked.book.connection.set_trace_callback(hold_after_the_commit)
        said = session.handle(code)
        stocked.book.connection.set_trace_callback(None)
        other.execute("ROLLBACK")
    assert said is not None
    assert said.outcome == "recorded"
    assert said.message.startswith(f"{show_code(code)}: recorded. Another program holds the book ")
    assert "Nothing was changed" not in said.message
    assert code in look_of(session.kitchen.afresh(), place).seen


@pytest.mark.parametrize("as_json", [False, True])
def test_of_several_put_back_those_done_before_the_book_was_held_are_told(
    house: House, monkeypatch: pytest.MonkeyPatch, as_json: bool
) -> None:
    monkeypatch.setattr("freezerbox.book.patience.BUSY_SECONDS", 0.2)
    codes = sorted(set(codes_in(house.ok("find", "loin chops").out)))[:3]
    house.ok("take", *codes)
    with closing(sqlite3.connect(house.book, isolation_level=None, check_same_thread=False)) as other:

        def hold(kitchen: Kitchen, text: str, **more: Any) -> Done:
            done = put_back(kitchen, text, **more)
            if not other.in_transaction:
                other.execute("BEGIN EXCLUSIVE")
            return done

        monkeypatch.setattr("freezerbox.chores.take.put_back", hold)
        result = house.call("put-back", *codes, "--still-frozen", *(["--json"] if as_json else []))
        other.execute("ROLLBACK")
    assert result.status == 3
    if as_json:
        assert [show_code(one["code"]) for one in result.json["done"]] == codes[:1]
        assert [one["code"] for one in result.json["refused"]] == codes[1:]
    else:
        assert codes_in(result.out)[:1] == codes[:1]
        assert " put back: " in result.out
        assert f"NOT DONE: {', '.join(codes[1:])}. Another program holds the book " in result.said
        assert result.said.count("Another program holds") == 1
        assert "Nothing was changed" not in result.said
        assert "What was recorded before that is kept" in result.said
    states = [house.ok("show", code, "--json").json["state"] for code in codes]
    assert states == ["frozen", "gone", "gone"]


def test_copies_made_while_the_book_is_held_are_told_though_it_cannot_note_them(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("freezerbox.book.patience.BUSY_SECONDS", 0.2)
    house.ok("find", "chops")
    before = dump(house.book)
    with held(house.book, "IMMEDIATE"):
        result = house.call("backup", "--to", "stick")
    assert result.status == 3
    assert result.told.count("Copied and checked: ") == 2
    assert "Nothing was changed" not in result.said
    assert "The copies above are whole, but the book could not note them: Another program holds" in result.said
    assert "freezerbox backup --to " in result.said
    assert len(list((house.folder / "stick").glob("*.book"))) == 1
    assert dump(house.book) == before


IN_A_HURRY = (
    "from freezerbox.book import patience; patience.BUSY_SECONDS = 0.2; from freezerbox.cli.main import main; main()"
)


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are of Unix")
@pytest.mark.parametrize("how", ["EXCLUSIVE", "SHARED"])
def test_the_wrapping_table_outlasts_another_program(house: House, how: str) -> None:
    table = Terminal(house, "pack", "shank", "--animal", "26B", command=[sys.executable, "-c", IN_A_HURRY])
    table.answer("26B  1: ", "1.5")
    table.wait_for("26B  2: ")
    with held(house.book, how):
        table.type("2.5")
        told = " ".join(table.wait_for("26B  2: ").split())
        assert "2.5: NOT DONE. Another program holds the book " in told
        # What is typed ahead has its turn.
        table.type("2.6")
        assert "2.6: NOT DONE. Another program holds" in " ".join(table.wait_for("26B  2: ").split())
    table.type("2.5")
    assert "2 packs, 4.00 lb so far" in table.answer("26B  3: ", "")
    assert "2 packs, 4.00 lb." in table.answer("How many did you wrap?", "2")
    status, rest = table.end()
    assert status == 0
    assert "2 wrapped, 2 in the book." in rest
    assert house.ok("find", "shank", "--json").json["totals"]["packages"] == 2


@pytest.mark.parametrize("how", ["EXCLUSIVE", "IMMEDIATE"])
@pytest.mark.parametrize("words", [("count", "red bag"), ("weigh",)])
def test_counting_and_weighing_outlast_another_program(
    house: House, monkeypatch: pytest.MonkeyPatch, how: str, words: tuple[str, ...]
) -> None:
    monkeypatch.setattr("freezerbox.book.patience.BUSY_SECONDS", 0.2)
    if words == ("weigh",):
        ahead = house.ok("label", "ahead", "3", "loin chops", "--animal", "26H", "--to", "a.pdf", "--json").json
        codes = [show_code(label["code"]) for label in ahead["labels"]]
    else:
        codes = sorted(set(codes_in(house.ok("find", "backstrap").out)))[:3]
    assert len(codes) == 3

    def typed() -> Iterator[str]:
        yield f"{codes[0]} 1.1\n" if words == ("weigh",) else f"{codes[0]}\n"
        before = dump(house.book)
        with held(house.book, how):
            yield f"{codes[1]} 1.1\n" if words == ("weigh",) else f"{codes[1]}\n"
        assert dump(house.book) == before
        yield f"{codes[2]} 1.1\n" if words == ("weigh",) else f"{codes[2]}\n"

    result = house.call(*words, stdin=typed())
    assert f"{codes[1]}{' 1.1' if words == ('weigh',) else ''}: NOT DONE. Another program holds" in result.said
    assert codes_in(result.out)[:2] == [codes[0], codes[2]], "the next one has its turn"
    assert result.status == 3


@pytest.mark.parametrize("ending", ["done", "the end"])
def test_what_was_scanned_but_not_recorded_is_not_to_be_searched_elsewhere(
    house: House, monkeypatch: pytest.MonkeyPatch, ending: str
) -> None:
    monkeypatch.setattr("freezerbox.book.patience.BUSY_SECONDS", 0.2)
    codes = sorted(set(codes_in(house.ok("find", "backstrap").out)))

    def typed() -> Iterator[str]:
        yield from (f"{code}\n" for code in codes[2:])
        with held(house.book, "EXCLUSIVE"):
            yield f"{codes[0]}\n"
        if ending == "done":
            yield "done\n"

    result = house.call("count", "red bag", stdin=typed())
    assert result.status == 3
    told = result.told
    assert f"Scanned here, but not recorded - scan again: {codes[0]}" in told
    assert f"Listed here, not here - search elsewhere: {codes[1]}" in told
    assert told.count(codes[0]) == 1
    assert f"{len(codes)} listed" in told
    assert "Left open, nothing moved." in told, "a count is not over that lacks what lies there"
    assert house.ok("lost", "--json").json["rows"] == []

    said = house.call("count", "red bag", "--json", stdin=typed()).json
    assert [row["code"] for row in said["not_recorded"]] == [codes[0].replace("-", "")]
    assert not said["ended"]
    whole = house.ok("count", "red bag", "--json", stdin="".join(f"{code}\n" for code in [*codes, "done"])).json
    assert whole["ended"]
    assert whole["missing"] == whole["not_recorded"] == []
