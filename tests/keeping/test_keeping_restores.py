"""Copies put back in the place of the book: whole, once, over nothing else, and drawing codes of their own."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import date

import pytest

from tests.cli.process import House, dump
from tests.keeping.houses import check, chops, held, named

TODAY = date(2026, 12, 2)


def test_restored_over_a_whole_book(house: House) -> None:
    house.ok("backup")
    copy = next((house.folder / "house-backups").glob("house-2026*.book"))
    wanted = held(house.book)
    code = chops(house)[0]
    house.ok("take", code)
    lost = held(house.book)
    assert house.refused("restore", str(copy)).status == 2
    said = house.ok("restore", str(copy), "--yes").out
    assert held(house.book) == wanted
    aside = house.folder / "house-replaced-2026-12-02T210000.book"
    assert str(aside) in said
    assert held(aside) == lost
    check(house)
    # Once more in the same second: nothing kept before is written over.
    house.ok("take", code)
    house.ok("restore", str(copy), "--yes")
    assert held(aside) == lost
    assert len(list(house.folder.glob("house-replaced-*"))) == 2
    check(house, aside)


def test_the_folder_of_the_book_is_no_copy_and_the_book_is_not_proposed(house: House) -> None:
    refused = house.refused("restore", str(house.folder), "--yes")
    assert "Name the copy in it, such as " in refused.said
    assert "house.book" not in refused.said


def test_a_program_that_has_the_book_open_goes_on_in_the_restored_one(house: House) -> None:
    """Its next act is in the book that is there now, not in the one set aside."""
    house.ok("backup")
    copy = next((house.folder / "house-backups").glob("house-2026*.book"))
    codes = chops(house)
    house.ok("take", codes[0])
    with closing(sqlite3.connect(house.book, isolation_level=None)) as other:
        assert other.execute("SELECT count(*) FROM act").fetchone() == (8,)
        house.ok("restore", str(copy), "--yes")
        assert other.execute("SELECT count(*) FROM act").fetchone() == (7,)
        other.execute("BEGIN IMMEDIATE")
        other.execute(
            "INSERT INTO act (uid, kind, happened_on, recorded_at) VALUES ('other', 'note', '2026-12-02', '')"
        )
        other.execute("COMMIT")
    assert "'other'" in dump(house.book)
    check(house)


@pytest.mark.parametrize("words", [("restore", "{}", "--yes"), ("import", "--merge", "{}")])
def test_what_is_no_copy_is_told_as_such(house: House, words: tuple[str, ...]) -> None:
    """Nobody who names a wrong file is told to start a book, or to bring back a copy instead of the copy."""
    whole = house.book.read_bytes()
    folder = house.folder / "stick"
    folder.mkdir()
    for name, there, said in (
        ("none.book", None, "There is no file none.book. Nothing was changed. Is the stick plugged in?"),
        ("letter.txt", b"Dear Ann", "letter.txt is not a freezer book, nor a copy of one. Nothing was changed."),
        ("empty.book", b"", "empty.book is cut short: it holds 0 bytes. Nothing was changed; try an older copy."),
        ("short.book", whole[:50], "short.book is cut short: it holds 50 bytes."),
        ("stick", None, "stick is a folder. Name the copy in it, such as stick/NAME.book."),
    ):
        if there is not None:
            (house.folder / name).write_bytes(there)
        refused = house.refused(*(word.format(name) for word in words))
        assert refused.status == 3
        assert said in refused.said
        assert "freezerbox start" not in refused.said


def test_a_copy_that_may_only_be_read(house: House) -> None:
    """One of mode 0400, as some put them away, becomes a book that can be written."""
    house.ok("backup")
    copy = next((house.folder / "house-backups").glob("house-2026*.book"))
    copy.chmod(0o400)
    wanted = held(house.book)
    house.book.unlink()
    house.ok("restore", str(copy))
    assert held(house.book) == wanted
    assert house.book.stat().st_mode & 0o200
    house.ok("take", chops(house)[0])
    check(house)


def test_a_book_that_another_program_holds_is_not_replaced(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("freezerbox.book.patience.BUSY_SECONDS", 0.2)
    house.ok("backup")
    copy = next((house.folder / "house-backups").glob("house-2026*.book"))
    house.ok("take", chops(house)[0])
    before = dump(house.book)
    with closing(sqlite3.connect(house.book, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        refused = house.call("restore", str(copy), "--yes")
        assert refused.status == 3
        assert "Another program holds the book" in refused.said
        other.execute("ROLLBACK")
    assert dump(house.book) == before


def test_restored_where_there_is_no_book(house: House) -> None:
    house.ok("backup")
    copy = next((house.folder / "house-backups").glob("house-2026*.book"))
    wanted = held(house.book)
    house.book.unlink()
    said = house.ok("restore", str(copy)).out
    assert "kept" not in said
    assert held(house.book) == wanted


def hot_journal(house: House) -> bytes:
    """The book as a machine leaves it that lost power in the middle of an act: some pages new, and its journal."""
    with closing(sqlite3.connect(house.book, isolation_level=None)) as connection:
        connection.execute("PRAGMA cache_size = 1")
        connection.execute("BEGIN IMMEDIATE")
        for number in range(400):
            connection.execute(
                "INSERT INTO act (uid, kind, happened_on, recorded_at, words) VALUES (?, 'x', '2026-12-02', '', ?)",
                (f"u{number}", "w" * 900),
            )
        book, journal = house.book.read_bytes(), (house.folder / "house.book-journal").read_bytes()
        connection.execute("ROLLBACK")
    house.book.write_bytes(book)
    (house.folder / "house.book-journal").write_bytes(journal)
    return journal


def test_a_cut_off_act_is_rolled_back_when_the_book_is_opened(house: House) -> None:
    before = dump(house.book)
    hot_journal(house)
    check(house)
    assert dump(house.book) == before


def test_the_journal_of_a_cut_off_act_is_not_played_into_the_restored_book(house: House) -> None:
    house.ok("backup")
    copy = next((house.folder / "house-backups").glob("house-2026*.book"))
    wanted = held(house.book)
    journal = hot_journal(house)
    house.ok("restore", str(copy), "--yes")
    check(house)
    assert held(house.book) == wanted
    # The same when the book itself is gone, and only its journal is left.
    house.book.unlink()
    (house.folder / "house.book-journal").write_bytes(journal)
    house.ok("restore", str(copy), "--yes")
    check(house)
    assert held(house.book) == wanted


@pytest.mark.parametrize("content", [b"", b"short", b"x" * 5000, b"SQLite format 3\x00" + bytes(5000)])
def test_what_is_no_book_is_not_restored(house: House, content: bytes) -> None:
    (house.folder / "copy.book").write_bytes(content)
    assert house.refused("restore", "copy.book", "--yes").status == 3
    assert not list(house.folder.glob("house-replaced-*"))


def test_what_else_is_not_restored(house: House) -> None:
    with closing(sqlite3.connect(house.folder / "other.db")) as other:
        other.execute("CREATE TABLE act (id INTEGER)")
    assert "not a freezer book" in house.refused("restore", "other.db", "--yes").said
    assert house.refused("restore", "nothing.book", "--yes").status == 3
    assert house.refused("restore", ".", "--yes").status == 3
    assert "the book itself" in house.refused("restore", "house.book", "--yes").said
    shutil.copy(house.book, house.folder / "later.book")
    with closing(sqlite3.connect(house.folder / "later.book")) as later:
        later.execute("PRAGMA user_version = 99")
    assert "later" in house.refused("restore", "later.book", "--yes").said


@pytest.mark.parametrize("lost", [False, True])
def test_the_codes_of_a_lost_evening_are_not_drawn_again(house: House, lost: bool) -> None:
    """They are on packages in the freezer, which the restored book does not know of."""
    house.ok("backup", "--to", "stick")
    house.ok("export", "--to", "out")
    packed = ("pack", "hock", "2", "2.1", "--animal", "26H", "--freezer", "Garage chest", "--json")
    before = {one["code"] for one in house.ok(*packed).json["packages"]}
    if lost:
        house.book.unlink()
    house.ok("restore", str(next((house.folder / "stick").glob("*.book"))), "--yes")
    after = {one["code"] for one in house.ok(*packed).json["packages"]}
    new = named(house, house.folder / "new.book")
    new.ok("import", "out")
    third = {one["code"] for one in new.ok(*packed).json["packages"]}
    assert len(before | after | third) == 6
    check(house)


NO_BOOKS = {
    "words": b"Read me first.\n" * 20,
    "few words": b"Read me",
    "cells": b"code,cut\n",
}


@pytest.mark.parametrize("name", [*NO_BOOKS, "a database"])
def test_what_is_no_book_is_not_written_over(house: House, name: str) -> None:
    house.ok("backup", "--to", "stick")
    copy = next((house.folder / "stick").glob("*.book"))
    other = house.folder / "other.file"
    if name == "a database":
        with closing(sqlite3.connect(other)) as connection:
            connection.execute("CREATE TABLE photo (name TEXT)")
            connection.commit()
    else:
        other.write_bytes(NO_BOOKS[name])
    before = other.read_bytes()
    refused = house.call("--book", str(other), "restore", str(copy), "--yes")
    assert (refused.status, refused.out) == (3, "")
    assert "is not a freezer book, and nothing is written over it" in refused.said
    assert other.read_bytes() == before
    assert list(house.folder.glob("*-replaced-*")) == []


@pytest.mark.parametrize("broken", [False, True])
def test_a_link_to_the_book_stays_one(house: House, broken: bool) -> None:
    house.ok("backup")
    copy = next((house.folder / "house-backups").glob("house-2026*.book"))
    wanted = held(house.book)
    real = house.folder / "elsewhere" / "real.book"
    real.parent.mkdir()
    house.book.rename(real)
    house.book.symlink_to(real)
    if broken:
        real.write_bytes(b"\x00" * 9000)
    house.ok("restore", str(copy), "--yes")
    assert house.book.is_symlink()
    assert held(real) == wanted
    check(house)


def test_a_lost_book_leads_to_its_latest_copy(house: House) -> None:
    house.ok("backup")
    copy = next((house.folder / "house-backups").glob("house-2026*.book"))
    wanted = held(house.book)
    house.book.unlink()
    refused = house.refused("find", "chops")
    assert refused.status == 3
    assert f"freezerbox restore {copy}" in refused.said
    started = house.refused("start", "--units", "lb", "--freezer", "Chest")
    assert started.status == 3
    assert f"freezerbox restore {copy}" in started.said
    assert "--yes" in started.said
    assert not house.book.exists()
    house.ok("restore", str(copy))
    assert held(house.book) == wanted
    house.book.unlink()
    house.ok("start", "--units", "lb", "--freezer", "Chest", "--yes")
    assert chops(house) == []


# -- another book than the usual one ---------------------------------------------------------------------------------


def test_the_way_back_of_a_book_named_by_hand_does_not_replace_the_usual_one(house: House) -> None:
    """What is told is typed as told, and puts the copy in the place of the book that is damaged."""
    cottage = house.folder / "cottage.book"
    shutil.copy(house.book, cottage)
    house.ok("--book", "cottage.book", "backup")
    wanted, usual = held(cottage), dump(house.book)
    cottage.write_bytes(cottage.read_bytes()[:50])
    for words in (("find", "chops"), ("check",)):
        refused = house.call("--book", "cottage.book", *words)
        assert refused.status == 3
        assert "Bring back the latest copy: freezerbox --book cottage.book restore cottage-backups/" in refused.said
    command = refused.said.partition("copy: freezerbox ")[2].split()
    house.ok(*command, "--yes")
    assert held(cottage) == wanted
    assert dump(house.book) == usual


def test_check_proposes_the_way_back_of_the_book_that_it_looked_at(house: House) -> None:
    shutil.copy(house.book, house.folder / "cottage.book")
    with closing(sqlite3.connect(house.folder / "cottage.book")) as connection, connection:
        connection.execute("ALTER TABLE change RENAME COLUMN new TO newq")
    found = house.call("--book=cottage.book", "check")
    assert found.status == 1
    assert "freezerbox --book cottage.book restore COPY" in found.told
    assert "freezerbox restore" not in found.told


def test_a_copy_of_another_book_is_told_before_it_replaces_one(house: House) -> None:
    house.ok("backup", "--for", "cabin")
    house.ok("backup", "--to", "own")
    own = next((house.folder / "own").glob("*.book"))
    refused = house.refused("restore", "cabin.book")
    assert f"cabin.book is no copy of the book {house.book}: it is of another book." in refused.said
    assert "freezerbox import --merge cabin.book" in refused.said
    assert f"Add --yes to make it the book {house.book}." in refused.said
    refused = house.refused("restore", str(own))
    assert "another book" not in refused.said
