"""The symbol that phones open: its name set, where it stands, and that every reader takes it for the same code."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from freezerbox.chores.label_left import left_off_lines
from freezerbox.chores.phone import LONGEST_NAME, NONE, parse_phone_name
from freezerbox.errors import InputError
from freezerbox.labels.auto import design_text
from freezerbox.labels.draw import draw
from freezerbox.labels.layout import lay_out
from freezerbox.labels.library import design_named, stock
from freezerbox.labels.symbols import LEAST_MODULE_MM, link_symbol
from freezerbox.labels.template import parse_design
from freezerbox.reading.pictures import read_picture
from tests.cli.process import House
from tests.labels.test_labels_designs import CONTENTS

ROOMY = [
    ("letter-10up", "standard"),
    ("roll-4x2in-203dpi", "standard"),
    ("roll-4x2in-300dpi", "standard"),
    ("letter-10up", "edge"),
    ("roll-4x2in-203dpi", "edge"),
    ("roll-4x2in-300dpi", "edge"),
    ("roll-4x6in-203dpi", "standard"),
    ("roll-4x6in-300dpi", "standard"),
    ("roll-4x6in-203dpi", "large"),
    ("roll-4x6in-300dpi", "large"),
]
LINK = "HTTP://FREEZER.LOCAL:8080/K7P3MT"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("freezer.local", "freezer.local"),
        (" Freezer.LOCAL ", "freezer.local"),
        ("kitchen-2", "kitchen-2"),
        ("freezer.local:8080", "freezer.local:8080"),
        ("4chest.home", "4chest.home"),
        ("x" * 24, "x" * 24),
        ("None", NONE),
    ],
)
def test_names_of_machines(text: str, name: str) -> None:
    assert parse_phone_name(text) == name


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("192.168.1.20", "address in figures"),
        ("192.168.1.20:80", "address in figures"),
        ("3232235796", "address in figures"),
        ("0xC0A80114", "address in figures"),
        ("fe80::1", "address in figures"),
        ("[fe80::1]:80", "address in figures"),
        ("http://freezer.local", "whole address"),
        ("freezer.local/k7p3mt", "whole address"),
        ("localhost", "each phone to itself"),
        ("", "not a machine's name"),
        ("freezer_chest", "not a machine's name"),
        ("-freezer.local", "not a machine's name"),
        ("freezer..local", "not a machine's name"),
        ("the freezer", "not a machine's name"),
        ("kühltruhe.local", "not a machine's name"),
        ("freezer.local:", "not a port"),
        ("freezer.local:0", "not a port"),
        ("freezer.local:70000", "not a port"),
        ("freezer.local:²", "not a port"),
        ("x" * 25, "room for 24"),
    ],
)
def test_what_is_no_name(text: str, why: str) -> None:
    with pytest.raises(InputError, match=why) as caught:
        parse_phone_name(text)
    assert caught.value.facts["value"] == text


@pytest.mark.parametrize(("length", "level"), [(1, "H"), (6, "H"), (7, "Q"), (15, "Q"), (16, "M"), (24, "M")])
def test_the_symbol_for_phones_has_25_modules(length: int, level: str) -> None:
    made = link_symbol(f"HTTP://{'X' * length}/K7P3MT")
    assert (len(made.modules), len(made.modules[0]), made.level) == (25, 25, level)


def test_no_longer_name_than_its_symbol_holds() -> None:
    assert len(f"HTTP://{'X' * LONGEST_NAME}/K7P3MT") == 38
    with pytest.raises(InputError, match="38 characters at most"):
        link_symbol(f"HTTP://{'X' * (LONGEST_NAME + 1)}/K7P3MT")


@pytest.mark.parametrize(("name", "kind"), ROOMY)
@pytest.mark.parametrize("case", ["short", "chops", "held", "longest", "fat", "bear", "accents"])
def test_one_copy_gives_way_and_both_read(name: str, kind: str, case: str) -> None:
    paper = stock(name)
    made = draw([replace(CONTENTS[case], link=LINK)], paper, 1, design_named(kind, paper))
    symbols = [box for box in made.layouts[0].boxes if box.kind == "qr"]
    assert not {"second_qr", "link"} & set(made.layouts[0].dropped)
    assert [(box.field, box.text) for box in symbols] == [("qr", CONTENTS[case].symbol_text), ("link", LINK)]
    assert all(box.cap_mm >= LEAST_MODULE_MM - 1e-6 for box in symbols)
    found = sorted((symbol.symbology, symbol.text) for symbol in read_picture(made.pictures[0]))
    assert found == sorted(made.layouts[0].symbols)
    for at, one in enumerate(made.layouts[0].boxes):
        assert one.x_mm + one.width_mm <= paper.width_mm + 0.01
        assert one.y_mm + one.height_mm <= paper.height_mm + 0.01
        for other in made.layouts[0].boxes[at + 1 :]:
            across = min(one.x_mm + one.width_mm, other.x_mm + other.width_mm) - max(one.x_mm, other.x_mm)
            down = min(one.y_mm + one.height_mm, other.y_mm + other.height_mm) - max(one.y_mm, other.y_mm)
            assert across <= 0.01 or down <= 0.01, (one, other)


@pytest.mark.parametrize(("name", "kind"), [*ROOMY, ("letter-30up", "standard"), ("roll-2x1in-203dpi", "standard")])
def test_labels_without_a_name_or_without_room_have_none(name: str, kind: str) -> None:
    paper = stock(name)
    design = design_named(kind, paper)
    for content in CONTENTS.values():
        plain = draw([content], paper, 1, design).layouts[0]
        assert "link" not in {box.field for box in plain.boxes}
        if (name, kind) not in ROOMY:
            assert draw([replace(content, link=LINK)], paper, 1, design).layouts[0] == plain


@pytest.mark.parametrize(
    ("width_mm", "height_mm", "dpi", "phones"),
    [
        (100, 150, 203, True),
        (100, 150, 300, True),
        (100, 150, 600, True),
        (80, 120, 203, True),
        (50, 100, 203, False),
    ],
)
def test_large_labels_of_the_households_own_have_it(
    width_mm: float, height_mm: float, dpi: int, phones: bool
) -> None:
    design = parse_design(design_text("standard-own", "own", width_mm, height_mm, dpi), file="own.toml")
    paper = replace(stock("roll-4x6in-203dpi"), width_mm=width_mm, height_mm=height_mm, dpi=dpi)
    made = lay_out(replace(CONTENTS["chops"], link=LINK), paper, design)
    modules = [box.cap_mm for box in made.boxes if box.field == "link"]
    assert len(modules) == phones
    assert all(module >= LEAST_MODULE_MM - 1e-6 for module in modules)


def test_a_label_that_has_no_room_for_it_says_so() -> None:
    paper = stock("letter-10up")
    (dog,) = draw([replace(CONTENTS["dog"], link=LINK)], paper).layouts
    assert [box.field for box in dog.boxes if box.kind == "qr"] == ["qr", "qr"]
    assert "link" in dog.dropped
    assert left_off_lines(["K7P3MT"], {"K7P3MT": ("link",)})[0][1] == "left off: symbol for phones"
    assert "link" not in draw([CONTENTS["dog"]], paper).layouts[0].dropped


@pytest.fixture
def house(tmp_path: Path) -> House:
    made = House(folder=tmp_path)
    made.ok("start", "--units", "lb", "--freezer", "Garage chest")
    made.ok("pack", "loin chops", "1.1", "--species", "pork")
    return made


def test_set_printed_photographed_and_taken(house: House) -> None:
    assert (
        house.ok("settings", "phone-name", "Freezer.Local", "--json").json["settings"]["phone-name"]
        == "freezer.local"
    )
    (label,) = house.ok("label", "--stock", "roll-4x6in-203dpi", "--to", "one.png", "--json").json["labels"]
    code = label["code"]
    said = {symbol.text for symbol in read_picture(house.folder / "one.png")}
    assert f"HTTP://FREEZER.LOCAL/{code}" in said
    (seen,) = house.ok("scan", "--photo", "one.png", "--json").json["photos"][0]["codes"]
    assert (seen["code"], seen["text"][:6], len(seen["text"])) == (code, code, 16)
    (scanned,) = house.ok("scan", "--json", stdin=f"HTTP://ANOTHER.HOME:81/{code}\n").json_lines
    assert (scanned["code"], scanned["outcome"]) == (code, "taken")
    house.ok("settings", "phone-name", "none")
    house.ok("label", "again", code, "--stock", "roll-4x6in-203dpi", "--to", "two.png")
    assert not any("HTTP" in symbol.text for symbol in read_picture(house.folder / "two.png"))


def test_an_address_in_figures_changes_nothing(house: House) -> None:
    before = house.dump()
    error = house.refused_json("settings", "phone-name", "192.168.1.20", status=2, kind="input")
    assert "lead nowhere" in error["message"]
    assert house.dump() == before


def test_a_lost_book_comes_back_from_a_photograph_of_such_a_label(house: House, tmp_path: Path) -> None:
    house.ok("settings", "phone-name", "freezer.local")
    (label,) = house.ok("label", "--stock", "roll-4x6in-203dpi", "--to", "one.png", "--json").json["labels"]
    elsewhere = House(folder=tmp_path / "elsewhere")
    elsewhere.folder.mkdir()
    elsewhere.ok("start", "--units", "lb", "--freezer", "Garage chest")
    elsewhere.ok("adopt", "--photo", str(house.folder / "one.png"))
    row = elsewhere.ok("show", label["code"], "--json").json
    assert (row["cut"], row["form"], round(row["net_g"])) == ("loin", "chops", 499)
