"""A label that does not fit stops no other; files are not written over; letters that the font lacks are told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from freezerbox.chores import animals, pack
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label_words import content_of
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import fitting
from freezerbox.labels.library import design_for, stock, stock_names
from tests.cli.process import House

NAME = "Grandmothers mushroom venison goulash"
LONG = ("--frozen-twice", "--seasoning", "juniper, bay, garlic, red wine, black pepper and thyme")
ROLL = ("--stock", "roll-2x1in-203dpi")


@pytest.fixture
def house(tmp_path: Path) -> House:
    """Two packs of chops without labels."""
    made = House(folder=tmp_path)
    made.ok("start", "--units", "lb", "--freezer", "Garage chest")
    made.ok("pack", "loin chops", "1.1", "1.2", "--species", "pork")
    return made


@pytest.fixture
def small(house: House) -> House:
    """The chops have theirs; then three packs, two whose name is too long for a small label beside the rest."""
    house.ok("label", "--to", "evening.pdf")
    house.ok("pack", "other", NAME, "1", "1.1", *LONG)
    house.ok("pack", "ground", "1.2", "--species", "elk")
    return house


def unprinted(house: House) -> list[str]:
    call = house.call("label", "--look", "--to", "unprinted.pdf", "--yes", "--json")
    return [label["code"] for label in call.json["labels"]]


def test_the_others_are_printed_and_it_is_named_with_words_and_cures(small: House) -> None:
    first, second, fits = unprinted(small)
    call = small.call("label", *ROLL, "--to", "labels.pdf", "--json")
    assert call.status == 1
    assert [label["code"] for label in call.json["labels"]] == [fits]
    assert [(one["code"], one["field"]) for one in call.json["refused"]] == [
        (first, "cut"),
        (second, "cut"),
    ]
    assert NAME in call.json["refused"][0]["why"]
    assert unprinted(small) == [first, second], "what was not printed stays to be printed"
    # The second time nothing is left that fits: no file, nothing noted.
    before = small.dump()
    again = small.refused("label", *ROLL, "--to", "more.pdf")
    assert again.status == 1
    assert not (small.folder / "more.pdf").exists()
    assert small.dump() == before
    shown = f"{first[:3]}-{first[3:]}"
    said = " ".join(again.err.split())
    assert f"No label for {shown} {NAME}: its name {NAME!r} is too long" in said
    assert f'freezerbox fix {shown} --cut "other fewer words"' in said
    assert f"The same of {second[:3]}-{second[3:]}." in said
    assert "Nothing was printed." in said
    # Both cures work: another stock, and fewer words.
    assert small.ok("label", "again", first, "--stock", "letter-10up", "--to", "a.pdf").status == 0
    small.ok("fix", second, "--cut", "other goulash")
    assert small.ok("label", *ROLL, "--to", "b.pdf").status == 0
    assert "has its label already" in small.refused("label", "--look", "--to", "c.pdf").said


def test_the_stock_it_names_has_room(small: House) -> None:
    (first, *_) = unprinted(small)
    error = small.refused("label", "again", first, *ROLL, "--to", "x.pdf", "--json").error
    assert error["kind"] == "label"
    assert error["codes"] == [first]
    assert len(error["stocks"]) >= 2
    # A roll is printed on the printer that is there, and that has the dots it has.
    assert all("203dpi" in roomy for roomy in error["stocks"] if roomy.startswith("roll-"))
    for number, roomy in enumerate(error["stocks"]):
        assert small.ok("label", "again", first, "--stock", roomy, "--to", f"y{number}.pdf").status == 0


def test_bars_that_a_paper_has_for_no_label_are_not_missed(house: House) -> None:
    crowd = ("pack", "ground", "1.2", "--species", "deer", "--fat", "20", "--with", "pork fat", *LONG, "--yes")
    (code,) = [row["code"] for row in house.ok(*crowd, "--json").json["packages"]]

    def left_off(name: str) -> list[str]:
        told = house.ok("label", "again", code, "--look", "--stock", name, "--to", f"{name}.png", "--json").json
        return list(told["labels"][0]["left_off"])

    assert "code_128" in left_off("roll-4x2in-203dpi"), "ordinary labels of this paper have them"
    for name in ("a4-21up", "letter-30up"):
        assert "code_128" not in left_off(name)
        assert all("code_128" not in one.fields for one in design_for(stock(name)).arrangements)


def test_labels_ahead_are_all_or_none(house: House) -> None:
    before = house.dump()
    call = house.refused("label", "ahead", "3", "other", NAME, *LONG, *ROLL)
    assert call.status == 1
    assert house.dump() == before


def test_a_file_that_is_there_is_not_written_over(house: House) -> None:
    (house.folder / "labels.pdf").write_bytes(b"holiday letter")
    before = house.dump()
    for command in (("label",), ("label", "ahead", "2", "ground", "--species", "elk"), ("label", "--look")):
        call = house.refused(*command, "--to", "labels.pdf")
        assert call.status == 1
        assert "add --yes" in " ".join(call.err.split())
    assert (house.folder / "labels.pdf").read_bytes() == b"holiday letter"
    assert house.dump() == before
    house.ok("label", "--to", "labels.pdf", "--yes")
    assert (house.folder / "labels.pdf").read_bytes().startswith(b"%PDF")


def test_rulers_are_not_written_over_labels(house: House) -> None:
    (house.folder / "labels.pdf").write_bytes(b"labels")
    assert house.refused("label", "stock", "test", "--to", "labels.pdf").status == 1
    assert (house.folder / "labels.pdf").read_bytes() == b"labels"
    files = [house.ok("label", "stock", "test", "--json").json["files"][0] for _ in range(2)]
    assert files == ["ruler.pdf", "ruler-2.pdf"]


def test_a_later_page_of_pictures_is_not_written_over_either(house: House) -> None:
    (house.folder / "labels-2.png").write_bytes(b"holiday picture")
    assert house.refused("label", *ROLL, "--to", "labels.png").status == 1
    assert not (house.folder / "labels.png").exists()
    assert (house.folder / "labels-2.png").read_bytes() == b"holiday picture"


def test_letters_that_the_font_lacks_are_told(house: House) -> None:
    house.ok("label", "--to", "evening.pdf")
    row = house.ok("pack", "other", "\u65e5\u672c curry", "1", "--note", "caf\u00e9 \u00bd", "--json").json[
        "packages"
    ][0]
    call = house.ok("label", "--to", "labels.pdf", "--json")
    assert call.json["labels"][0]["unknown_letters"] == "\u65e5\u672c"
    shown = f"{row['code'][:3]}-{row['code'][3:]}"
    assert f"{shown}: the font has no letter for \u65e5 \u672c; printed as ?" in " ".join(call.err.split())


def content(kitchen: Kitchen, words: Words, *, quantity: int = 1) -> LabelContent:
    (row,) = pack.write(kitchen, pack.prepare(kitchen, words, ["1 lb"], quantity=quantity)).rows
    return content_of(kitchen, row)


def test_the_label_of_a_lot_says_how_many(kitchen: Kitchen) -> None:
    lot = content(kitchen, Words(cut="ground", species="elk"), quantity=24)
    assert (lot.banners, lot.weight) == (("LOT OF 24",), "1.00 lb each")
    single = content(kitchen, Words(cut="ground", species="elk"))
    assert (single.banners, single.weight) == ((), "1.00 lb")


@pytest.mark.parametrize("name", stock_names())
def test_a_wild_pigs_sausage_prints_on_every_stock(kitchen: Kitchen, name: str) -> None:
    """Every line that must be there for it at once; what is shortened keeps the kind, the codes and COOK THROUGH."""
    animals.add_animal(kitchen, animals.NewAnimal(code="26D", species="wild pig", what="boar"))
    words = Words(
        cut="raw sausage", form="links", animals=("26D",), fat="20", added="pork fat", seasoning="hot Italian",
        twice_frozen=True,
    )  # fmt: skip
    pig = content(kitchen, words)
    assert pig.banners == ("FROZEN TWICE", "CONTAINS PORK", "COOK THROUGH - freezing is not enough")
    assert dict(pig.short) == {pig.banners[2]: "COOK THROUGH", "Wild pig, boar 26D": "Wild pig 26D"}
    paper = stock(name)
    for held in (replace(pig, hold="TEST PENDING"), replace(pig, banners=("NOT FOR PEOPLE", *pig.banners[:2])), pig):
        (layout,) = fitting([held], paper, design_for(paper))[0]
        said = {box.text.partition(" - ")[0] for box in layout.boxes if box.field == "banners"}
        assert said == {banner.partition(" - ")[0] for banner in held.banners}


def test_where_the_ordinary_design_takes_what_another_does_not_that_is_the_first_cure(house: House) -> None:
    """Names longer and longer, until the strip along the edge has no room for one."""
    roll, said = "roll-2x1in-300dpi", ""
    name = ""
    for word in ["Bottom", "round", "rump", "bone", "in", "roast", "with", "the", "marrow"]:
        name = f"{name} {word}".strip()
        code = house.ok("pack", "other", name, "1", "--species", "beef", "--frozen-twice", "--json").json["packages"][
            0
        ]["code"]
        call = house.call(
            "label", "again", code, "--stock", roll, "--design", "edge", "--look", "--to", "a.png", "--yes"
        )
        if call.status:
            said = call.err
            break
    shown = f"{code[:3]}-{code[3:]}"
    assert f"freezerbox label again {shown} --stock {roll} --design standard" in " ".join(said.split())
    assert said.index("--design standard") < said.index("--stock roll-62x29mm-300dpi")
    # What the label is too long beside goes on in its paragraph: no line of the refusal starts at the margin.
    lines = said.splitlines()
    assert "beside FROZEN TWICE" in " ".join(said.split())
    assert [line for line in lines[1:] if not line.startswith(" ")] == ["Nothing was printed."]
    house.ok("label", "again", code, "--stock", roll, "--design", "standard", "--to", "b.png")
