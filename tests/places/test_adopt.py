"""Labels that are there already: spare codes, a gift, a lost book rebuilt from photographs, a full freezer."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
import zxingcpp
from PIL import Image, ImageDraw

from freezerbox.core.symbol import nearest_weight
from freezerbox.labels.symbols import qr_symbol
from tests.cli.process import House
from tests.places import table
from tests.places.look import codes_in

CARRIED = ("code", "cut", "form", "species", "net_g", "pieces", "first_frozen_on")
PORK_CHOPS = "loin"
RED, GREEN = "red bag", "green basket"


def carried(row: dict[str, Any]) -> tuple[object, ...]:
    """What a label's symbol carries of a package; the weight as near as the symbol can say."""
    net = None if row["net_g"] is None else nearest_weight(round(row["net_g"] * 1000))
    return (*(row[key] if key != "net_g" else net for key in CARRIED), tuple(row["animals"]))


def symbol(house: House, code: str) -> str:
    """What a scanner reads of the label's symbol."""
    (label,) = table.pictures(house, "letter-30up", code).values()
    return next(one.text for one in zxingcpp.read_barcodes(label) if len(one.text) == 16)


def everything(house: House) -> list[dict[str, Any]]:
    return list(house.ok("find", "everything", "--json").json["rows"])


@pytest.fixture
def lost(tmp_path: Path) -> House:
    """A new book after the old one was lost."""
    folder = tmp_path / "new"
    folder.mkdir()
    house = House(folder=folder, seed="9")
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    house.ok("place", "add", RED)
    return house


def test_five_codes_written_by_hand(house: House) -> None:
    """Scenario 19: taken from a printed strip, typed a week later with O for 0; dated as said; nothing twice."""
    house.ok("freezer", "add", "Cabin", "--away")
    house.ok("place", "add", "cabin shelf", "--freezer", "Cabin")
    codes = house.ok("sign", "--spares", "20", "--to", "strip.pdf", "--json").json["codes"]
    assert len(set(codes)) == 20
    assert house.ok("balance", "--json").json["totals"]["packages"] == 8
    with_nought = sorted(codes, key=lambda code: "0" not in code and "1" not in code)[:5]
    typed = [code.lower().replace("0", "o").replace("1", "l") for code in with_nought]
    assert any(text.upper() != code for text, code in zip(typed, with_nought, strict=True))
    later = house.at("2026-12-11T20:00")
    how = ("--cut", "shank", "--species", "deer", "--pieces", "2", "--place", "cabin shelf", "--on", "5 dec")
    done = later.ok("adopt", *typed, typed[0], *how, "--json").json["done"]
    assert [row["code"] for row in done] == with_nought
    assert {(row["cut"], row["pieces"], row["place"], row["packed_on"], row["state"]) for row in done} == {
        ("shank", 2, "cabin shelf", "2026-12-05", "frozen")
    }
    assert "in the book already" in later.refused("adopt", typed[0], *how).err
    assert len(later.ok("find", "deer shank", "--json").json["away"]) == 5
    later.ok("undo")
    assert later.ok("show", with_nought[0], "--json").json["state"] == "spare"
    later.ok("undo", str(_last_undo(later)))
    assert later.ok("label", "void", "--unused", "--json").json["void"] == [
        code for code in codes if code not in with_nought
    ]
    assert later.ok("check", "--json").json["faults"] == []


def _last_undo(house: House) -> int:
    return int(next(act["act"] for act in house.ok("undo", "--list", "--json").json["acts"] if act["kind"] == "undo"))


def test_a_spare_code_on_a_pack_frozen_long_before_it_was_printed(house: House) -> None:
    (code,) = house.ok("sign", "--spares", "1", "--to", "strip.pdf", "--json").json["codes"]
    (row,) = house.ok("adopt", code, "--cut", "ground", "--first-frozen", "nov 2024", "--json").json["done"]
    assert (row["state"], row["first_frozen_on"], row["age_months"]) == ("frozen", "2024-11-01", 25)
    (again,) = house.ok("sign", "--spares", "1", "--to", "another.pdf", "--json").json["codes"]
    (row,) = house.ok("adopt", again, "--json").json["done"]
    assert row["cut"] == "mystery"


def test_a_gift_from_another_household(house: House, lost: House) -> None:
    """A label this book does not know becomes a record from its symbol; a friend's 26A is not ours."""
    lost.ok("animal", "add", "26A", "elk", "cow")
    gift = lost.ok("pack", "shank", "2.25", "--animal", "26A", "--pieces", "2", "--json").json["packages"][0]
    text = symbol(lost, gift["code"])
    assert "not in this book" in house.ok("scan", stdin=f"{text}\n").out
    report = house.ok("adopt", text, "--place", RED, "--note", "from Ann", "--json").json
    (row,) = report["done"]
    assert carried(row)[:-1] == carried(gift)[:-1]
    assert row["animals"] == []
    assert row["note"] == "from Ann another household's 26A"
    assert report["apart"] == [{"code": gift["code"], "animal": "26A"}]
    assert "holds" in report["not_known"]
    assert row["place"] == RED
    assert len(house.ok("animal", "show", "26A", "--json").json["rows"]) == 4
    house.ok("take", gift["code"])
    house.ok("undo")
    house.ok("undo")
    assert house.ok("show", gift["code"], "--json").json["reason"] == "void"


def test_a_lot_of_a_lost_book_is_counted_again(house: House, lost: House) -> None:
    """A symbol does not say how many its label stands for: one comes back, and a count says how many there are."""
    made = house.ok("pack", "ground beef", "2", "--lot", "72", "--json").json["packages"][0]
    report = lost.ok("adopt", symbol(house, made["code"]), "--place", RED, "--json").json
    assert report["done"][0]["quantity"] == 1
    assert "how many a lot holds" in report["not_known"]
    lost.ok("count", RED, stdin=f"{made['code']} 70\ndone\n")
    lost.ok("count", RED, "--accept", "all")
    row = lost.ok("show", made["code"], "--json").json
    assert (row["quantity"], row["state"]) == (70, "frozen")
    assert lost.ok("check", "--json").json["faults"] == []


def test_what_cannot_be_taken_in(house: House) -> None:
    code = codes_in(house, RED)[0]
    assert house.refused("adopt").status == 2
    assert house.refused("adopt", code).status == 1
    assert house.refused("adopt", "K7P3MX").status == 2
    assert house.refused("adopt", "0TAK30").status == 2
    assert house.refused("adopt", "K7P3MT", "--cut", "fillet").status == 2
    assert house.refused("adopt", "K7P3MT", "--place", "nowhere").status == 1
    result = house.call("adopt", code, "K7P3MT", "--json")
    assert result.status == 1
    assert [row["code"] for row in result.json["done"]] == ["K7P3MT"]
    assert [one["code"] for one in result.json["refused"]] == [code]


def test_adopting_a_label_gives_back_its_record(house: House, lost: House) -> None:
    """Every field that the symbol carries, over records of many kinds."""
    chance = random.Random(4)
    house.ok("animal", "add", "25B", "elk", "bull")
    kinds = (
        ("backstrap", "26A", "half"), ("ground", "26A", ""), ("shank", "25B", "cross-cut"), ("neck", "25B", "roast"),
        ("loin chops", "26H", ""), ("bacon", "26H", ""), ("heart", "26A", "whole"), ("stew", "", ""),
    )  # fmt: skip
    for number in range(24):
        cut, animal, form = kinds[number % len(kinds)]
        weight = chance.choice(("x", f"{chance.uniform(0.3, 6):.2f}", f"{chance.randrange(200, 3000)} g", "1 lb 4"))
        more = [*(("--animal", animal) if animal else ()), *(("--form", form) if form else ())]
        more += [*(("--pieces", str(chance.randrange(1, 11))) if chance.random() < 0.5 else ())]
        more += ["--first-frozen", f"{chance.randrange(15, 31)} nov 2026", "--yes"]
        house.ok("pack", cut, weight, *more)
    rows = everything(house)
    texts = [symbol_of(house, row["code"]) for row in rows]
    done = lost.ok("adopt", *texts, "--json").json["done"]
    assert [carried(row) for row in done] == [carried(row) for row in rows]


def symbol_of(house: House, code: str) -> str:
    """The text the book keeps of a printed label."""
    import sqlite3

    with sqlite3.connect(house.book) as connection:
        found = connection.execute("SELECT text FROM label WHERE code = ? ORDER BY id DESC", (code,)).fetchone()
    connection.close()
    if found is None:
        house.ok("label", "--to", "l.pdf")
        return symbol_of(house, code)
    return str(found[0])


def test_a_lost_book_from_photographs(house: House, lost: House) -> None:
    """Forty labels in three photographs: all that their symbols carry comes back, and nothing else is invented."""
    house.ok("animal", "add", "26C", "whitetail", "buck")
    house.ok("pack", "ground", *["1.02", ".98", "1.1", "x"] * 8, "--animal", "26C", "--fat", "none")
    rows = everything(house)
    assert len(rows) == 40
    labels = table.pictures(house, "letter-30up")
    chance = random.Random(11)
    photos = []
    codes = list(labels)
    for number in range(3):
        part = codes[number::3]
        photo = table.lay_out([labels[code] for code in part], chance, (3600, 2700))
        photos += ["--photo", str(table.save(photo, lost.folder / f"basket{number}.jpg"))]
    report = lost.ok("adopt", *photos, "--place", RED, "--json").json
    assert report["refused"] == []
    assert set(report["animals"]) == {"26A", "26H", "26C"}
    back = {row["code"]: row for row in report["done"]}
    assert {code: carried(row) for code, row in back.items()} == {row["code"]: carried(row) for row in rows}
    assert {row["place"] for row in back.values()} == {RED}
    assert lost.refused("adopt", *photos).status == 1
    lost.ok("undo")
    assert everything(lost) == []
    assert lost.ok("animal", "--json").json["animals"] == []


@pytest.mark.sweep
def test_a_hundred_and_fifty_labels_from_ten_photographs(house: House, lost: House) -> None:
    """A book is lost; ten photographs bring back all that the symbols carry, and say what they do not carry."""
    runs = (
        ("backstrap", "26A", 22), ("stew", "26A", 30), ("ground", "26A", 40), ("shank", "26A", 10),
        ("bacon", "26H", 20), ("loin chops", "26H", 20),
    )  # fmt: skip
    chance = random.Random(21)
    for cut, animal, many in runs:
        house.ok("pack", cut, *(f"{chance.uniform(0.8, 1.6):.2f}" for _ in range(many)), "--animal", animal, "--yes")
    rows = everything(house)
    assert len(rows) == 150
    labels = table.pictures(house, "letter-30up")
    codes = list(labels)
    photos = []
    for number in range(10):
        photo = table.lay_out([labels[code] for code in codes[number::10]], chance, (3600, 2700))
        photos.append(str(table.save(photo, lost.folder / f"basket{number}.jpg")))
    report = lost.ok("adopt", "--photo", *photos, "--json").json
    assert [(photo["read"], photo["unread"]) for photo in report["photos"]] == [(15, 0)] * 10
    assert (report["refused"], report["bars_only"]) == ([], [])
    back = {row["code"]: carried(row) for row in report["done"]}
    assert back == {row["code"]: carried(row) for row in rows}
    assert set(report["animals"]) == {"26A", "26H"}
    assert lost.ok("balance", "--json").json["totals"]["packages"] == 150
    assert lost.ok("check", "--json").json["faults"] == []


def under_ice(label: Image.Image, symbols: str) -> Image.Image:
    """A label whose square, or whose every symbol, is covered with white, by where the decoder finds them."""
    covered = label.copy()
    for one in zxingcpp.read_barcodes(label):
        if symbols == "all" or one.format != zxingcpp.BarcodeFormat.Code128:
            corners = one.position
            xs = [corners.top_left.x, corners.top_right.x, corners.bottom_right.x, corners.bottom_left.x]
            ys = [corners.top_left.y, corners.top_right.y, corners.bottom_right.y, corners.bottom_left.y]
            middle = (min(xs) + max(xs)) // 2
            # Half of a symbol is more than its error correction mends.
            box = (middle, min(ys), max(xs), max(ys)) if symbols == "all" else (min(xs), min(ys), max(xs), max(ys))
            ImageDraw.Draw(covered).rectangle(box, fill=255)
    return covered


@pytest.mark.sweep
def test_what_was_seen_and_not_read_is_said(house: House, lost: House) -> None:
    """Of three labels one reads, of one only the bars do, one is half under ice: of the last two nothing is made."""
    red = codes_in(house, RED)
    # Near enough for the bars, which are finer than the square.
    labels = table.pictures(house, "letter-10up", *red[:3], dots=14)
    spread = [labels[red[0]], under_ice(labels[red[1]], "squares"), under_ice(labels[red[2]], "all")]
    table.save(table.lay_out(spread, random.Random(6), (3600, 3600), turn=6), lost.folder / "basket.jpg")
    result = lost.call("adopt", "--photo", "basket.jpg")
    assert result.status == 0
    assert "basket.jpg: 2 labels read, 1 more seen that could not be read." in result.said
    assert f"Only the bars read of {red[1][:3]}-{red[1][3:]}" in result.said
    assert "1 label seen that could not be read: wipe the frost off and photograph it closer." in result.said
    assert [row["code"] for row in everything(lost)] == [red[0]]
    # Nothing new in view: the same is said, and nothing changes.
    refusal = lost.refused("adopt", "--photo", "basket.jpg")
    assert refusal.status == 1
    assert "Only the bars read" in refusal.said
    assert "1 label seen" in refusal.said
    # Whoever says what it is has it taken in by its bars.
    lost.ok("adopt", "--photo", "basket.jpg", "--cut", "backstrap", "--species", "deer")
    assert {row["code"] for row in everything(lost)} == set(red[:2])


def test_a_basket_in_a_photograph(house: House) -> None:
    """Only looks: the label of the other basket is said, what is hidden is not called missing."""
    red, green = codes_in(house, RED), codes_in(house, GREEN)
    labels = table.pictures(house, "letter-30up")
    photo = table.lay_out([labels[code] for code in (*red[:3], green[0])], random.Random(3), (2400, 1800))
    table.save(photo, house.folder / "basket.jpg")
    before = house.ok("find", "everything", "--json").json
    said = house.ok("count", RED, "--photo", "basket.jpg").told
    assert "3 as expected, 1 not expected here (listed in green basket), 1 not seen" in said
    assert "Only looked" in said
    assert house.ok("find", "everything", "--json").json == before
    house.ok("count", RED, "--accept", green[0])
    assert green[0] in codes_in(house, RED)
    assert house.ok("lost", "--json").json["rows"] == []
    # Nor by accepting all: that what no picture shows is not there, somebody has to say.
    said = house.ok("count", RED, "--photo", "basket.jpg", "--accept", "all").told
    assert "1 pack not seen in the photographs stay as listed" in said
    assert house.ok("lost", "--json").json["rows"] == []
    house.ok("count", RED, "--photo", "basket.jpg", "--accept", "all", "--not-here")
    assert [row["code"] for row in house.ok("lost", "--json").json["rows"]] == red[3:]


def test_a_sign_in_the_photograph_is_no_pack(house: House) -> None:
    """The basket's own sign lies beside the packs: it is in view, and it is not counted."""
    red = codes_in(house, RED)
    (sign,) = [one["code"] for one in house.ok("place", "--json").json["places"] if one["name"] == RED]
    photo = table.lay_out(list(table.pictures(house, "letter-30up", *red).values()), random.Random(8), (2400, 1800))
    square = qr_symbol(sign).modules
    paper = Image.new("L", (29, 29), 255)
    for row, line in enumerate(square):
        for column, dark in enumerate(line):
            paper.putpixel((column + 4, row + 4), 0 if dark else 255)
    photo.paste(paper.resize((174, 174), Image.Resampling.NEAREST), (2200, 1600))
    table.save(photo, house.folder / "basket.jpg")
    assert sign in str(house.ok("scan", "--photo", "basket.jpg", "--json").json)
    report = house.ok("count", RED, "--photo", "basket.jpg", "--json").json
    assert sorted(report["seen"]) == sorted(red)
    assert report["unknown"] == []


def test_the_evening_proved_by_a_look(house: House) -> None:
    rows = [row["code"] for row in everything(house) if row["packed_on"] == "2026-12-02"]
    labels = table.pictures(house, "letter-10up")
    spread = [labels[code] for code in rows]
    chance = random.Random(5)
    table.save(table.lay_out(spread, chance, (4000, 3000)), house.folder / "table.jpg")
    assert house.ok("count", "--tonight", "--photo", "table.jpg").out == "7 wrapped, 7 seen.\n"
    # One label stuck on twice, another left off.
    spread[0] = spread[1]
    table.save(table.lay_out(spread, chance, (4000, 3000)), house.folder / "table.jpg")
    report = house.ok("count", "--tonight", "--photo", "table.jpg", "--json").json
    assert [row["code"] for row in report["not_seen"]] == [rows[0]]
    assert report["on_two_packs"] == [rows[1]]
    assert "7 wrapped, 6 seen, 1 code on two packs" in house.ok("count", "--tonight", "--photo", "table.jpg").out
    assert house.refused("count", "--tonight").status == 2


@pytest.mark.parametrize(
    "number", [*range(2), *(pytest.param(number, marks=pytest.mark.sweep) for number in range(2, 12))]
)
def test_everything_unhidden_is_seen_and_nothing_is_invented(house: House, number: int) -> None:
    """Twelve photographs of 8 to 12 megapixels, 15 to 30 labels each, at any angle."""
    stock = ("letter-30up", "roll-2x1in-203dpi", "letter-10up")[number % 3]
    chance = random.Random(100 + number)
    many = chance.randrange(15, 31) if stock != "letter-10up" else 15
    house.ok("pack", "ground", *["1"] * (many - 8), "--species", "deer")
    labels = table.pictures(house, stock)
    size = (4000, 3000) if stock == "letter-10up" else chance.choice(((3600, 2400), (4000, 3000)))
    photo = table.lay_out(list(labels.values()), chance, size)
    table.save(photo, house.folder / "photo.jpg")
    report = house.ok("scan", "--photo", "photo.jpg", "--json").json
    assert {one["code"] for one in report["photos"][0]["codes"]} == set(labels)


def test_starting_with_a_full_freezer(bare: House) -> None:
    typed = """red bag
ground, 12, 1.25, nov 2024
mystery, 3
wombat, 2
lot ground beef, 72, 2lb, jan 2025
backstrap, 1, 14 lb
deer shank, 2
undo

left basket
pork chops, 4, , feb 2026

"""
    result = bare.call("start", "--existing", "--freezer", "Chest", "--first-frozen", "oct 2024", stdin=typed)
    assert result.status == 0
    assert "'wombat'" in result.err
    assert "91 packages entered" in result.out
    rows = everything(bare)
    assert sum(row["quantity"] for row in rows) == 91
    found = {(row["cut"], row["place"], row["first_frozen_on"]) for row in rows}
    assert found == {
        ("ground", "red bag", "2024-11-01"), ("mystery", "red bag", "2024-11-01"),
        ("ground", "red bag", "2025-01-01"), (PORK_CHOPS, "left basket", "2026-02-01"),
    }  # fmt: skip
    assert len(bare.ok("label", "--to", "l.pdf", "--json").json["labels"]) == len(rows)
    bare.ok("adopt", "--existing", stdin="left basket\nstew, 2\n\n")
    assert sum(row["quantity"] for row in everything(bare)) == 93


def test_undo_at_a_full_freezer_strikes_the_last_line_that_was_kept(bare: House) -> None:
    """A refused line never was one: undo after it strikes the line before, and says which."""
    bare.ok("start", "--units", "lb", "--freezer", "Chest")
    typed = """red bag
ground, 2, 1.25, nov 2024
stew, 3, 1, jan 2025
wombat, 2
undo
backstrap, 1, 14 lb
undo
undo
deer shank, 4

"""
    result = bare.ok("adopt", "--existing", "--first-frozen", "oct 2024", stdin=typed)
    assert "taken back: stew, 3, 1, jan 2025 (3 packages, 3.00 lb, in red bag)" in result.told
    assert result.err.count("Not kept; type it again.") == 2
    assert "taken back: ground, 2, 1.25, nov 2024" in result.told
    assert "nothing entered here is left to take back" in result.told
    assert "4 packages entered" in result.told
    # The month goes back with the line that said it.
    assert {(row["cut"], row["first_frozen_on"]) for row in everything(bare)} == {("shank", "2024-10-01")}
    assert bare.ok("check", "--json").json["faults"] == []


@pytest.mark.parametrize(
    ("line", "many", "weight"),
    [
        ("ground, 12, 1.25", 12, 1.25), ("12 ground, 1.25", 12, 1.25), ("12 ground", 12, None),
        ("ground 12", 12, None),
        ("ground x12", 12, None), ("12x ground", 12, None), ("ground", 1, None), ("lot ground 12", 12, None),
    ],
)  # fmt: skip
def test_how_many_as_people_say_it(bare: House, line: str, many: int, weight: float | None) -> None:
    bare.ok("start", "--units", "lb", "--freezer", "Chest")
    result = bare.ok("adopt", "--existing", stdin=f"red bag\n{line}\n\n")
    assert "red bag, a new one:" in result.told
    assert "Ground: " in result.told
    rows = everything(bare)
    assert (sum(row["quantity"] for row in rows), {row["cut"] for row in rows}) == (many, {"ground"})
    assert rows[0]["unit_g"] == (None if weight is None else pytest.approx(weight * 453.59237, abs=0.001))
