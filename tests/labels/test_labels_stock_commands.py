"""Label paper at the command line: listed, added by its sizes, measured, printed on."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from freezerbox.book.parts import folder_beside
from freezerbox.reading.pictures import read_picture
from tests.cli.process import House, Terminal


@pytest.fixture
def house(tmp_path: Path) -> House:
    made = House(folder=tmp_path)
    made.ok("start", "--units", "lb", "--freezer", "Garage chest")
    made.ok("pack", "loin chops", "1.1", "1.2", "--species", "pork")
    return made


def test_added_listed_measured_and_used(house: House) -> None:
    made = house.ok(
        "label", "stock", "new", "a4-14up", "99.1mm", "38.1mm", "--page", "a4", "--columns", "2", "--rows", "7",
        "--pitch-x", "101.6", "--json",
    ).json  # fmt: skip
    assert made["stock"]["name"] == "a4-14up"
    assert all(Path(file).is_file() for file in made["files"])
    listed = {one["name"]: one for one in house.ok("label", "stock", "list", "--json").json["stocks"]}
    assert listed["a4-14up"]["own"]
    assert listed["letter-10up"]["usual"]
    assert "edge" in house.ok("label", "stock", "list").out
    ruler = house.ok("label", "stock", "test", "a4-14up", "--json").json
    assert (house.folder / ruler["files"][0]).is_file()
    moved = house.ok("label", "stock", "test", "a4-14up", "--right", "0.8", "--down=-0.5", "--json").json
    assert (moved["shift_x_mm"], moved["shift_y_mm"]) == (-0.8, 0.5)
    house.ok("settings", "stock", "a4-14up")
    printed = house.ok("label", "--to", "a.pdf", "--json").json
    assert [round(label["x_mm"], 2) for label in printed["labels"]] == [4.65, 106.25]


def test_paper_is_listed_before_there_is_a_book(tmp_path: Path) -> None:
    bare = House(folder=tmp_path)
    shown = bare.ok("label", "stock", "list")
    assert "letter-10up" in shown.out
    assert "no freezer book yet" in shown.err
    assert bare.ok("label", "stock").out == shown.out
    listed = bare.ok("label", "stock", "list", "--json").json["stocks"]
    assert not bare.book.exists()
    bare.ok("start", "--units", "lb", "--freezer", "Garage chest")
    assert bare.ok("label", "stock", "list", "--json").json["stocks"] == listed
    assert bare.ok("label", "stock", "list").err == ""


def test_paper_is_not_listed_for_a_book_that_was_lost(house: House) -> None:
    """Its copies lie beside it, and with them come the house's own paper and shifts."""
    beside = folder_beside(house.book)
    beside.mkdir(exist_ok=True)
    house.book.rename(beside / "one.book")
    lost = house.call("label", "stock", "list")
    assert (lost.status, lost.out) == (3, "")
    assert "copies of it lie beside it" in lost.said


def test_paper_with_no_room_for_bars_says_so(house: House) -> None:
    size = ("label", "stock", "new")
    assert "No room for the Code 128" in house.ok(*size, "small", "57mm", "32mm", "--dpi", "203").out
    assert "Code 128" not in house.ok(*size, "large", "3 in", "2 in", "--dpi", "203").out
    assert house.ok(*size, "low", "70mm", "37mm", "--json").json["code_128"] is False
    assert house.ok(*size, "wide", "99.1mm", "38.1mm", "--json").json["code_128"] is True


@pytest.mark.parametrize(
    "size",
    [("57mm", "25mm", "--dpi", "203"), ("62mm", "25.4mm"), ("62mm", "29mm"), ("60mm", "27mm", "--page", "a4"),
     ("60mm", "40mm", "--page", "a4"), ("2in", "1in", "--dpi", "203")],
)  # fmt: skip
def test_what_is_said_of_the_bars_is_what_an_ordinary_label_shows(house: House, size: tuple[str, ...]) -> None:
    pack = ("pack", "loin chops", "0.95", "--species", "pork", "--pieces", "4", "--wrap", "vacuum", "--json")
    code = house.ok(*pack).json["packages"][0]["code"]
    said = house.ok("label", "stock", "new", "mine", *size, "--json").json["code_128"]
    again = ("label", "again", code, "--stock", "mine", "--look", "--to", "mine.png", "--json")
    left_off = house.ok(*again).json["labels"][0].get("left_off", [])
    with Image.open(house.folder / "mine.png") as picture:
        shown = {symbol.symbology for symbol in read_picture(picture)}
    assert shown == ({"QR", "Code 128"} if said else {"QR"})
    assert "code_128" not in left_off, "what no ordinary label has is not missed on one"


def test_the_other_design(house: House) -> None:
    house.ok("label", "--look", "--design", "edge", "--to", "edge.png")
    house.ok("label", "--look", "--to", "standard.png")
    assert (house.folder / "edge.png").read_bytes() != (house.folder / "standard.png").read_bytes()
    error = house.refused_json("label", "--design", "large", status=2, kind="word")
    assert error["near"] == ["standard", "edge"]


def test_sizes_are_asked_for_at_a_terminal(house: House) -> None:
    terminal = Terminal(house, "label", "stock", "new")
    terminal.answer("Name for it", "big-roll")
    terminal.answer("Width of one label", "3 in")
    terminal.answer("Height of one label", "2 in")
    terminal.answer("Page:", "")
    terminal.answer("Dots per inch", "203")
    terminal.wait_for("roll of 76.2 x 50.8 mm labels, 203 dpi")
    assert terminal.end()[0] == 0
    house.ok("label", "--stock", "big-roll", "--to", "roll.pdf")
    assert house.call("label", "stock", "new").status == 2


def test_what_is_wrong_between_answers_is_told_where_it_is_seen(house: House) -> None:
    """Inches meant and not said; then more rows than the page has room for."""
    terminal = Terminal(house, "label", "stock", "new")
    terminal.answer("Name for it", "mine")
    terminal.answer("Width of one label", "4")
    terminal.answer("Height of one label", "2")
    terminal.wait_for("A label of 4 x 2 mm is too small")
    for rows in ("6", "5"):
        terminal.answer("Width of one label", "4in")
        terminal.answer("Height of one label", "2in")
        terminal.answer("Page:", "letter")
        terminal.answer("Labels across", "2")
        terminal.answer("Labels down", rows)
        for question in (
            "left edge to the next",
            "top edge to the next",
            "left edge to the first",
            "top edge to the",
        ):
            terminal.answer(question, "")
        terminal.wait_for(
            "101.6 mm wide" if rows == "5" else "That is no label paper: rows: the labels end at 304.8 mm"
        )
    assert terminal.end()[0] == 0
    assert "mine" in house.ok("label", "stock", "list").out


def test_more_dots_than_can_be_drawn_are_refused(house: House) -> None:
    big = ("label", "stock", "new", "big", "4in", "2in", "--page", "letter", "--columns", "2", "--rows", "5")
    assert "150 to 1200" in house.refused(*big, "--dpi", "2400").err
    house.ok(*big, "--dpi", "1200")
    folder = house.folder / "label_templates" / "stocks"
    (folder / "big.toml").write_text((folder / "big.toml").read_text().replace("dpi = 1200", "dpi = 10000"))
    told = house.refused("label", "stock", "test", "big").err
    assert "dpi: a page of this size has 9350 million dots at 10000 dpi; 150 million is the most" in " ".join(
        told.split()
    )


@pytest.mark.parametrize(
    ("written", "words"),
    [
        (b'\xef\xbb\xbfname = "x"', "dpi: missing"),
        ('name = "x"'.encode("utf-16"), "is not text in UTF-8"),
        (b"name = true\ndpi = 2026-01-01", "name: true is not a text"),
        (b"name = true\ndpi = 2026-01-01", "dpi: 2026-01-01 is not a whole number"),
    ],
)
def test_a_file_from_another_editor_is_told_in_its_own_words(house: House, written: bytes, words: str) -> None:
    folder = house.folder / "label_templates" / "stocks"
    folder.mkdir(parents=True)
    (folder / "x.toml").write_bytes(written)
    assert words in house.refused("label", "stock", "test", "x").err


def test_where_the_folder_cannot_be_made_that_is_said_of_the_file_meant(house: House) -> None:
    (house.folder / "label_templates").write_text("a file, where the folder is to be")
    said = " ".join(house.refused("label", "stock", "new", "mine", "3in", "2in").err.split())
    assert "stocks/mine.toml' cannot be written: not a directory. Nothing was changed." in said


def test_a_bad_answer_is_asked_again_and_those_before_it_stay(house: House) -> None:
    terminal = Terminal(house, "label", "stock", "new")
    terminal.answer("Name for it", "My labels!")
    terminal.wait_for("is not a name for a stock")
    terminal.answer("Name for it", "letter-10up")
    terminal.wait_for("There is a stock 'letter-10up' already")
    terminal.answer("Name for it", "narrow")
    terminal.answer("Width of one label", "two inches")
    terminal.wait_for("is not a length for the label's width")
    terminal.answer("Width of one label", "2 5/8 in")
    terminal.answer("Height of one label", "1-1/8 in")
    terminal.answer("Page:", "legal")
    terminal.wait_for("is no page")
    terminal.answer("Page:", "")
    terminal.answer("Dots per inch", "20")
    terminal.wait_for("150 to 1200")
    terminal.answer("Dots per inch", "300")
    terminal.wait_for("roll of 66.675 x 28.575 mm labels, 300 dpi")
    assert terminal.end()[0] == 0


def test_a_roll_has_its_own_words_and_a_wide_shift_is_said(house: House) -> None:
    name = "roll-2x1in-203dpi"
    said = " ".join(house.ok("label", "stock", "test", name, "--to", "ruler.png").out.split())
    assert "on one of the labels" in said
    assert "From 0 to 40 it must measure 40 mm" in said
    assert "plain paper" not in said
    assert "100 mm" in house.ok("label", "stock", "test", "letter-10up", "--to", "sheet.png").out
    right = house.ok("label", "stock", "test", name, "--right", "0.8")
    assert (right.err, right.out.strip()) == ("", f"Labels on {name} are moved 0.8 mm left now.")
    assert "1.2 mm that labels keep white" in " ".join(
        house.ok("label", "stock", "test", name, "--right", "2").err.split()
    )


def test_a_shift_is_taken_back_at_once_and_a_wide_one_is_said_of_every_label(house: House) -> None:
    test = ("label", "stock", "test", "letter-10up")
    look = ("label", "--look", "--yes", "--to", "look.png")
    house.ok(*test, "--right", "0.8", "--down=-0.5")
    assert "moved" not in house.ok(*look).said
    house.ok(*test, "--right", "8.2")
    said = "Labels on letter-10up are moved 9 mm left and 0.5 mm down, more than the 1.2 mm that they keep white"
    assert said in house.ok(*look).said
    assert house.ok(*look, "--json").json["shift"].startswith(said)
    assert house.refused(*test, "--none", "--right", "2").status == 2
    assert house.refused(*test, "--none", "--to", "ruler.pdf").status == 2
    assert house.ok(*test, "--none").told == (
        "Labels on letter-10up are not moved now; it was 9 mm left and 0.5 mm down."
    )
    assert house.ok(*look, "--json").json["shift"] is None
    assert "letter-10up are not moved" in house.refused(*test, "--none").said
    house.ok("undo")
    assert said in house.ok(*look).said


def test_a_shift_and_a_page_at_once_are_refused(house: House) -> None:
    assert house.refused("label", "stock", "test", "--right", "2", "--to", "foo.pdf").status == 2
    assert not (house.folder / "foo.pdf").exists()


def test_a_bad_file_is_told_with_every_fault_and_the_others_go_on(house: House) -> None:
    folder = house.folder / "label_templates" / "stocks"
    folder.mkdir(parents=True)
    (folder / "torn.toml").write_text('name = "torn"\nkind = "sheet"\ndpi = 0\ncolour = 3\n')
    error = house.refused_json("label", "--stock", "torn", status=2, kind="template")
    assert {fault.split(": ")[1] for fault in error["faults"]} >= {"dpi", "colour", "width_mm", "page_width_mm"}
    assert "FAULTY" in house.ok("label", "stock", "list").out
    house.refused_json("label", "stock", "test", "torn", status=2, kind="template")
    house.ok("label", "--to", "a.pdf")
