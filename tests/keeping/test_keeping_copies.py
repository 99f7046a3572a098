"""Copies, the way back, plain files: verified, thinned by days, kept beside, and the same book again."""

from __future__ import annotations

import csv
import os
import shutil
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from freezerbox.book.copying import look_at
from freezerbox.chores.export import _cell
from freezerbox.chores.safekeeping import BEFORE_KEPT, DAYS_KEPT, superseded
from tests.cli.process import House, dump
from tests.keeping.houses import chops, held, named

TODAY = date(2026, 12, 2)


# -- one a day -------------------------------------------------------------------------------------------------------


@given(st.sets(st.integers(-3, 900), max_size=60))
def test_old_copies_thin_to_one_a_month(ago: set[int]) -> None:
    days = {TODAY - timedelta(days=number) for number in ago}
    others = [
        "freezer-2026-11-21T210000.book",
        "freezer-day-2026-02-30.book",
        "photo.jpg",
        ".freezer-day-2020-01-01.book",
    ]
    gone = set(superseded([*(f"freezer-day-{day}.book" for day in days), *others], TODAY))
    kept = {day for day in days if f"freezer-day-{day}.book" not in gone}
    assert not gone & set(others)
    assert {day for day in days if (TODAY - day).days <= DAYS_KEPT} <= kept
    assert {(day.year, day.month) for day in kept} == {(day.year, day.month) for day in days}
    # Of a month that is over only its first copy stays, unless it is among the newest few.
    newest = set(sorted(days)[-DAYS_KEPT:])
    assert newest <= kept
    old = [day for day in kept - newest if (TODAY - day).days > DAYS_KEPT]
    assert len({(day.year, day.month) for day in old}) == len(old)
    assert all(day == min(one for one in days if (one.year, one.month) == (day.year, day.month)) for day in old)
    # Thinning what was thinned lets nothing more go.
    assert superseded([f"freezer-day-{day}.book" for day in kept], TODAY) == []


def test_a_clock_that_is_wrong_once_takes_no_copies() -> None:
    names = [f"freezer-day-2026-12-{day:02}.book" for day in range(1, 7)]
    assert superseded([*names, "freezer-day-2031-01-01.book"], date(2031, 1, 1)) == []


def test_a_copy_a_day_before_the_first_thing(house: House) -> None:
    folder = house.folder / "house-backups"
    before = dump(house.book)
    code = chops(house)[0]
    for day in range(2, 31):
        house.at(f"2026-12-{day:02}T18:00").ok("find", "chops")
    house.at("2026-12-31T18:00").ok("take", code)
    names = sorted(path.name for path in folder.iterdir())
    # The first of the month, and two weeks.
    assert names == [f"house-day-2026-12-{day:02}.book" for day in (2, *range(17, 32))]
    # The day's copy is the book as it was before that day's first act.
    assert dump(folder / "house-day-2026-12-31.book") == before
    assert dump(house.book) != before


def test_today_on_the_command_line_does_not_thin(house: House) -> None:
    """A replayed past is no reason to let copies go, nor to make one of that day."""
    for day in (2, 3, 4):
        house.at(f"2026-12-0{day}T18:00").ok("find", "chops")
    house.at("2026-12-04T19:00").ok("--today", "2029-01-01", "find", "chops")
    assert len(list((house.folder / "house-backups").iterdir())) == 3


def test_left_overs_of_a_stopped_copy_are_cleared_after_an_hour(house: House) -> None:
    folder = house.folder / "house-backups"
    folder.mkdir(exist_ok=True)
    old, new, other = (
        folder / ".house-day-2026-11-30.book.1-2.part",
        folder / ".x.book.3-4.part",
        folder / ".mine.part",
    )
    for file in (old, new, other):
        file.write_bytes(b"half")
    stale = folder.stat().st_mtime - 4000
    for file in (old, other):
        os.utime(file, (stale, stale))
    house.at("2026-12-09T18:00").ok("find", "chops")
    assert not old.exists()
    assert new.exists()
    assert other.exists()


# -- backup ----------------------------------------------------------------------------------------------------------


def test_backup_here_and_on_a_second_disk(house: House, stick: Path) -> None:
    assert "No copy lies on another disk yet" in house.ok("check").told
    here, away = house.folder / "house-backups", stick / "freezer"
    said = house.ok("backup", "--to", str(away)).told
    copies = [here / "house-2026-12-02T210000.book", away / "house-2026-12-02T210000.book"]
    assert all(f"Copied and checked: {copy}" in said for copy in copies)
    for copy in copies:
        assert look_at(copy).packages == 18
    later = house.at("2026-12-05T21:00")
    assert "same disk" not in said
    assert "Last copy on another disk: 3 days ago" in later.ok("check").told
    # The folder is remembered; another day needs no words.
    later.ok("backup")
    assert len(list(away.iterdir())) == 2
    assert "today" in later.ok("check").told
    assert later.ok("backup", "--json").json["elsewhere"] is True


def test_a_copy_on_the_same_disk_is_none_elsewhere(house: House, stick: Path) -> None:
    said = house.ok("backup", "--to", "second").told
    assert "It lies on the same disk as the book: when that disk dies, both are gone." in said
    assert "No copy lies on another disk yet" in house.ok("check").told
    assert house.ok("check", "--json").json["days_since_copy_elsewhere"] is None
    assert house.ok("backup", "--json").json["elsewhere"] is False
    # Nor does it make the copy on a stick look younger than it is.
    house.ok("backup", "--to", str(stick))
    later = house.at("2026-12-09T21:00")
    later.ok("backup", "--to", "second")
    assert "Last copy on another disk: 7 days ago" in later.ok("check").told


def test_a_stick_that_is_not_plugged_in_is_not_made_up(house: House) -> None:
    missing = house.folder / "media" / "stick"
    for words, folder in (
        (("--to", str(missing / "freezer")), missing),
        (("--for", "cabin", "--to", str(missing / "cabin.book")), missing.parent),
        (("export", "--to", str(missing / "freezer")), missing),
    ):
        refused = house.refused(*(words if words[0] == "export" else ("backup", *words)))
        assert refused.status == 3
        assert f"The folder {folder} is not there; is the stick plugged in?" in refused.said
    assert not missing.parent.exists()
    assert not list((house.folder / "house-backups").glob("house-2026-*"))
    # The last folder of the path is made, as people expect.
    missing.mkdir(parents=True)
    house.ok("backup", "--to", str(missing / "freezer"))
    assert len(list((missing / "freezer").iterdir())) == 1


def test_the_second_disk_is_not_there(house: House, stick: Path) -> None:
    away = stick / "freezer"
    house.ok("backup", "--to", str(away))
    shutil.rmtree(away)
    later = house.at("2026-12-09T21:00")
    result = later.call("backup")
    assert result.status == 3
    assert "The second disk's folder" in result.said
    assert "Plug it in" in result.said
    # Its own copy was made; nothing pretends that the other was.
    assert "Copied and checked" in result.told
    assert look_at(house.folder / "house-backups" / "house-2026-12-09T210000.book").acts == 8
    assert not away.exists()
    assert "7 days ago" in later.ok("check").told
    assert later.call("backup", "--json").json["trouble"].startswith("The second disk")


def test_a_copy_elsewhere_is_made_when_none_can_lie_beside_the_book(house: House, stick: Path) -> None:
    beside = house.folder / "house-backups"
    shutil.rmtree(beside, ignore_errors=True)
    beside.write_text("no folder", encoding="utf-8")
    away = stick / "freezer"
    result = house.call("backup", "--to", str(away))
    assert result.status == 3
    copy = away / "house-2026-12-02T210000.book"
    assert f"Copied and checked: {copy} (" in result.told
    assert f"There is no copy beside the book: The folder {beside} cannot be made" in result.said
    assert look_at(copy).packages == 18
    assert "Last copy on another disk: today" in house.ok("check").told
    # Not there either: nothing was copied, and both are told.
    shutil.rmtree(away)
    refused = house.call("backup")
    assert (refused.status, refused.out) == (3, "")
    assert "There is no copy beside the book" in refused.said
    assert "Plug it in" in refused.said
    # Alone it is refused as ever.
    alone = house.call("backup", "--to", str(house.folder / "house.book"))
    assert (alone.status, alone.out) == (3, "")
    assert "The copy here is whole" not in alone.said


def test_a_second_disk_that_cannot_be_written_is_not_remembered_as_done(house: House) -> None:
    (house.folder / "stick").write_text("no folder", encoding="utf-8")
    refused = house.call("backup", "--to", "stick")
    assert refused.status == 3
    assert "The copy here is whole:" in refused.said
    assert "No copy lies on another disk yet" in house.ok("check").told
    assert house.refused("backup", "--to", "house-backups").status == 2


def test_a_book_for_the_cabin(house: House) -> None:
    house.ok("backup", "--for", "cabin", "--letter", "X")
    cabin = named(house, house.folder / "cabin.book")
    assert {row["code"] for row in cabin.ok("find", "everything", "--json").json["rows"]} == {
        row["code"] for row in house.ok("find", "everything", "--json").json["rows"]
    }
    for number, code in enumerate(cabin.ok("pack", "hock", "2", "2.1", "--animal", "26H", "--json").json["packages"]):
        assert code["code"].startswith("X"), number
    own = chops(house)[0][0]
    assert house.refused("backup", "--for", "shed", "--letter", own).status == 2
    assert house.refused("backup", "--for", "cabin", "--letter", "Q").status == 3
    assert house.refused("backup", "--for", "shed", "--letter", "I").status == 2
    assert "freezerbox import --merge 'cab in.book'" in house.ok("backup", "--for", "cab in").told
    # A book for somewhere else is no copy off this machine of this one.
    assert "No copy lies on another disk yet" in house.ok("check").told


# -- plain files -----------------------------------------------------------------------------------------------------


def test_exported_and_brought_back_is_the_same_book(house: House) -> None:
    codes = chops(house)
    house.ok("take", codes[0])
    house.ok("undo")
    house.ok("fix", codes[1], "--weight", "1.2", "--note", "thick, \"good\"; 'best'\u00e9\u2603")
    house.ok("export", "--to", "out")
    new = named(house, house.folder / "new.book")
    new.ok("import", "out")
    strip = [line for line in held(house.book).splitlines() if "_sqlite_migrations" not in line]
    assert [
        line for line in held(house.folder / "new.book").splitlines() if "_sqlite_migrations" not in line
    ] == strip
    new.ok("export", "--to", "again")
    for name in ("packages.csv", "acts.csv", "list.txt"):
        assert (house.folder / "again" / name).read_bytes() == (house.folder / "out" / name).read_bytes()
    out, again = ((house.folder / one / "book.jsonl").read_text("utf-8").splitlines() for one in ("out", "again"))
    assert [one for one in again[:-1] if '"walk"' not in one] == [one for one in out[:-1] if '"walk"' not in one]
    assert len(again) == len(out)
    # It can be worked in: undo finds the act of before.
    new.ok("undo")
    assert new.refused("import", "out").status == 2


def test_tables_for_people(house: House) -> None:
    house.ok("export", "--to", "out")
    raw = (house.folder / "out" / "packages.csv").read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(raw.decode("utf-8-sig").splitlines()))
    assert len(rows) == 18
    assert rows[0]["net g"] == "408.233"
    assert rows[0]["on hold"] == "test pending"
    listed = (house.folder / "out" / "list.txt").read_text(encoding="utf-8")
    assert all(row["code"] in listed for row in rows)
    assert "HELD" in listed


FORMULAS = (
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    '=HYPERLINK("http://x.example")',
    "\uff1d1",
    " =1",
    "\n=1",
)


@given(st.sampled_from(FORMULAS) | st.text(max_size=20))
def test_no_cell_becomes_a_formula(text: str) -> None:
    """First character as OWASP, "CSV Injection", lists them; full-width signs too, which some spreadsheets fold."""
    cell = _cell(text)
    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"))
    assert cell.endswith(text)
    assert _cell(-5) == "-5"


def test_a_note_that_is_a_formula(house: House) -> None:
    code = chops(house)[0]
    house.ok("fix", code, "--note", "=cmd|' /C calc'!A0")
    house.ok("export", "--to", "out")
    text = (house.folder / "out" / "packages.csv").read_text(encoding="utf-8-sig")
    assert [row["note"] for row in csv.DictReader(text.splitlines()) if row["note"]] == ["'=cmd|' /C calc'!A0"]


def test_an_export_goes_into_its_own_folder_only(house: House) -> None:
    (house.folder / "mine").mkdir()
    (house.folder / "mine" / "thesis.txt").write_text("mine", encoding="utf-8")
    assert house.refused("export", "--to", "mine").status == 2
    assert house.refused("export", "--to", "house.book").status == 3
    house.ok("export", "--to", "out")
    house.ok("take", chops(house)[0])
    house.ok("export", "--to", "out")
    assert "eaten" in (house.folder / "out" / "packages.csv").read_text(encoding="utf-8-sig")


@pytest.mark.parametrize("name", ["list.txt", "packages.csv"])
def test_an_export_goes_over_no_list_of_somebody_and_no_other_book(house: House, name: str) -> None:
    own = house.folder / "mine" / name
    own.parent.mkdir()
    own.write_text("milk, eggs", encoding="utf-8")
    assert f"holds {name}, and no book.jsonl" in house.refused("export", "--to", "mine").said
    assert own.read_text(encoding="utf-8") == "milk, eggs"
    other = replace(house, seed="another", more={"FREEZERBOX_BOOK": str(house.folder / "other.book")})
    other.ok("start", "--freezer", "Shed")
    other.ok("export", "--to", "out")
    before = {file.name: file.read_bytes() for file in (house.folder / "out").iterdir()}
    assert "not an export of this book" in house.refused("export", "--to", "out").said
    assert {file.name: file.read_bytes() for file in (house.folder / "out").iterdir()} == before
    # An export that was stopped has the book's lines, and goes on.
    (house.folder / "out" / "list.txt").unlink()
    other.ok("export", "--to", "out")


def test_copies_before_large_things(house: House) -> None:
    before = dump(house.book)
    (house.folder / "evening.csv").write_text("cut,weight,animal\nloin chops,1.05,26H\n", encoding="utf-8")
    house.ok("import", "evening.csv")
    copy = house.folder / "house-backups" / "house-before-import-2026-12-02T210000.book"
    assert dump(copy) == before


def test_a_refused_table_leaves_no_copy(house: House) -> None:
    (house.folder / "evening.csv").write_text("cut,weight,animal\nloin shops,1.05,26H\n", encoding="utf-8")
    assert house.refused("import", "evening.csv").status == 2
    assert list((house.folder / "house-backups").glob("*-before-*")) == []


def test_copies_before_large_things_do_not_pile_up(house: House) -> None:
    folder = house.folder / "house-backups"
    kept = {"house-before-layout-2.book", "other-before-join-2020-01-01T000000.book", "house-2020-01-01T000000.book"}
    folder.mkdir()
    for name in kept:
        (folder / name).write_bytes(b"")
    for turn in range(BEFORE_KEPT + 3):
        (house.folder / "evening.csv").write_text(f"cut,weight,animal\nhock,2.{turn},26H\n", encoding="utf-8")
        house.at(f"2026-12-02T21:{turn:02}").ok("import", "evening.csv")
    names = {path.name for path in folder.iterdir()}
    assert kept <= names
    first = "house-before-import-2026-12-02T21"
    # The latest made and as many before it as are kept.
    turns = range(2, BEFORE_KEPT + 3)
    assert {name for name in names if name.startswith(first)} == {f"{first}{turn:02}00.book" for turn in turns}


def test_one_table_recorded_twice_is_asked(house: House) -> None:
    (house.folder / "evening.csv").write_text("cut,weight,animal\nhock,2,26H\nhock,2.1,26H\n", encoding="utf-8")
    house.ok("import", "evening.csv")
    (house.folder / "evening.csv").rename(house.folder / "same.csv")
    for words in (("import", "same.csv"), ("import", "same.csv", "--yes"), ("pack", "--table", "same.csv")):
        refused = house.refused(*words)
        assert refused.status == 1
        assert "same.csv is recorded already: act 8 of 2 Dec, packed 2 packages from evening.csv" in refused.said
    hocks = ("find", "hock", "--json")
    assert len(house.ok(*hocks).json["rows"]) == 2
    house.ok("import", "same.csv", "--again")
    assert len(house.ok(*hocks).json["rows"]) == 4
    # What was taken back may be recorded anew.
    house.ok("undo")
    house.ok("undo", "8")
    house.ok("import", "same.csv")
    assert len(house.ok(*hocks).json["rows"]) == 2
    # And what was had again stands.
    house.ok("undo")
    house.ok("undo", "11")
    assert house.refused("import", "same.csv").status == 1
