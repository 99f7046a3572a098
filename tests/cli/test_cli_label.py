"""Printing: what counts as printed, where the next label goes, and that the files say the codes."""

from __future__ import annotations

from pathlib import Path

import pytest

from freezerbox.core.code import compact
from freezerbox.reading.pictures import read_picture
from tests.cli.process import House, codes_in

PDF_DOTS_PER_POINT = 300 / 72


def codes_of_pdf(file: Path) -> list[set[str]]:
    """Codes on each page, read through an independent renderer."""
    import pypdfium2

    document = pypdfium2.PdfDocument(file)
    try:
        return [
            {compact(symbol.text) for symbol in read_picture(page.render(scale=PDF_DOTS_PER_POINT).to_pil())}
            for page in document
        ]
    finally:
        document.close()


def packed(house: House) -> list[str]:
    """Codes in the order they were packed."""
    shown = (house.ok("animal", "show", code, "--json").json["rows"] for code in ("26B", "26H"))
    return [row["code"] for rows in shown for row in rows]


def test_printing_marks_and_a_look_does_not(house: House) -> None:
    before = house.dump()
    looked = house.ok("label", "--look", "--to", "look.png", "--json").json
    assert house.dump() == before
    assert (house.folder / "look.png").is_file()
    assert looked["printed"] is False
    assert "A look only" in house.ok("label", "--look", "--to", "look.pdf").out
    printed = house.ok("label", "--to", "labels.pdf", "--json").json
    assert printed["printed"] is True
    assert [label["code"] for label in printed["labels"]] == packed(house)
    assert house.call("label", "--to", "more.pdf").status == 1
    new = house.ok("pack", "backstrap", "1", "--json").json["packages"][0]["code"]
    assert [label["code"] for label in house.ok("label", "--to", "more.pdf", "--json").json["labels"]] == [new]


@pytest.mark.parametrize("stock", ["letter-10up", "letter-30up", "roll-2x1in-203dpi"])
def test_what_found_no_room_is_said_on_every_stock(house: House, stock: str) -> None:
    note = "shot by the old oak, carried half a mile"
    made = house.ok(
        *("pack", "summer sausage", "1.1", "1.2", "--animal", "26B,26H", "--pieces", "4", "--frozen-twice"),
        *("--with", "pork back fat", "--note", note, "--fat", "20", "--seasoning", "hot Italian", "--json"),
    ).json["packages"]
    codes = [row["code"] for row in made]
    told = house.ok("label", "again", *codes, "--stock", stock, "--to", "a.png", "--look", "--json").json["labels"]
    said = house.ok("label", "again", *codes, "--stock", stock, "--to", "b.png", "--look").out
    first = told[0]["left_off"]
    # Paper that never has the bars is not told to miss them.
    bars = [] if stock == "letter-30up" else ["Code 128"]
    assert "best_by" in first
    assert ("note" in first) == (stock != "letter-10up"), "the largest has room for it, set small"
    assert ("code_128" in first) == bool(bars)
    assert ("second_qr" in first) == (stock == "letter-30up")
    lines = " ".join(said[said.index("all 2: left off:") :].split())
    note_words = ["note"] if "note" in first else []
    words = [*bars, "best by", *note_words, *(["second QR"] if stock == "letter-30up" else [])]
    at = [lines.index(word) for word in words]
    assert at == sorted(at)


def test_labels_ahead_for_a_chop_of_two_animals_are_asked_about(house: House) -> None:
    ahead = ("label", "ahead", "2", "loin chops", "--animal", "26H,26B", "--to", "x.pdf")
    said = house.refused(*ahead)
    assert said.status == 1
    assert "Nothing printed: Loin chops is cut from one kind of animal" in " ".join(said.err.split())
    assert len(house.ok(*ahead, "--yes", "--json").json["labels"]) == 2


def test_a_failed_print_marks_nothing(house: House) -> None:
    for to in ("nowhere/labels.pdf", "labels.txt"):
        house.refused("label", "--to", to)
    assert len(house.ok("label", "--to", "labels.pdf", "--json").json["labels"]) == 18
    before = house.dump()
    assert house.refused("label", "ahead", "3", "ground", "--to", "nowhere/x.pdf").status == 2
    assert house.dump() == before, "no spare record without its label"


def test_undo_of_a_print_has_them_not_printed_again(house: House) -> None:
    house.ok("label", "--to", "labels.pdf")
    assert house.ok("settings", "--json").status == 0
    house.ok("undo")
    again = house.ok("label", "--to", "again.pdf", "--start-at", "next", "--json").json
    assert len(again["labels"]) == 18
    assert (
        again["labels"][0]["y_mm"]
        == house.ok("label", "again", packed(house)[0], "--start-at", "1", "--json").json["labels"][0]["y_mm"]
    )


def test_again_prints_the_same_code_with_the_record_of_now(house: House) -> None:
    code = packed(house)[5]
    house.ok("label", "--to", "labels.pdf")
    first = house.ok("scan", "--photo", _png(house, code), "--json").json["photos"][0]["codes"][0]["text"]
    house.ok("fix", code, "--weight", "1.3")
    second = house.ok("scan", "--photo", _png(house, code), "--json").json["photos"][0]["codes"][0]["text"]
    assert first[:6] == second[:6] == code
    assert first != second
    assert house.ok("check", "--json").json["packages"] == 18


def _png(house: House, code: str) -> str:
    house.ok("label", "again", code, "--to", "one.png", "--stock", "roll-2x1in-203dpi", "--yes")
    return "one.png"


def test_start_at_and_next_are_remembered_per_stock(house: House) -> None:
    codes = packed(house)

    def again(*arguments: str, count: int = 1) -> tuple[list[tuple[int, float, float]], int]:
        found = house.ok("label", "again", *codes[:count], "--to", "x.pdf", "--yes", "--json", *arguments).json
        return [(label["page"], label["x_mm"], label["y_mm"]) for label in found["labels"]], found["next_start"]

    (first,), next_start = again()
    assert next_start == 2
    assert again()[1] == 3, "one label again goes on where the sheet is free"
    (seventh,), next_start = again("--start-at", "7")
    assert next_start == 8
    # Labels 7 and 1 of two columns lie in the same column, three rows of 2 in (50.8 mm) apart.
    assert seventh[:2] == first[:2]
    assert seventh[2] == pytest.approx(first[2] + 3 * 50.8, abs=0.01)
    places, next_start = again("--start-at", "next", count=4)
    assert next_start == 2
    assert [page for page, _, _ in places] == [1, 1, 1, 2]
    assert places[3][1:] == first[1:]
    _, other = again("--stock", "letter-30up", "--start-at", "next")
    assert other == 2, "another stock has its own sheet"
    _, next_start = again("--start-at", "next")
    assert next_start == 3
    again("--start-at", "10")
    assert again("--start-at", "next")[0] == [first]
    house.ok("label", "again", codes[0], "--look", "--to", "x.pdf", "--start-at", "5", "--yes")
    assert again("--start-at", "next")[1] == 3, "a look uses nothing up"
    assert again("--stock", "roll-2x1in-203dpi", "--start-at", "next")[1] == 1


def test_the_stock_of_the_settings(house: House) -> None:
    house.ok("settings", "stock", "roll-2x1in-203dpi")
    (label,) = house.ok("label", "again", packed(house)[0], "--to", "x.png", "--json").json["labels"]
    assert (label["width_mm"], label["height_mm"]) == (50.8, 25.4)


@pytest.mark.parametrize("stock", ["letter-10up", "letter-30up", "roll-2x1in-203dpi"])
def test_every_label_of_a_run_reads_back_from_the_pdf(house: House, stock: str) -> None:
    labels = house.ok("label", "--stock", stock, "--to", "labels.pdf", "--json").json["labels"]
    pages = codes_of_pdf(house.folder / "labels.pdf")
    assert len(pages) == max(label["page"] for label in labels)
    for number, seen in enumerate(pages, start=1):
        assert seen == {label["code"] for label in labels if label["page"] == number}


def test_held_meat_says_so_on_its_label(house: House) -> None:
    """The banner of a hold is kept with the print, so that a clean reprint after the result is known to be needed."""
    house.ok("label", "--to", "labels.pdf")
    banners = [line for line in house.dump().splitlines() if line.startswith('INSERT INTO "label"')]
    assert len(banners) == 18
    assert sum("TEST PENDING" in line for line in banners) == 4


def test_in_kilograms(bare: House) -> None:
    bare.ok("start", "--units", "kg", "--freezer", "Chest")
    assert "2 packages, 0.967 kg" in bare.ok("pack", "backstrap", "0.4", "567 g", "--species", "roe deer").out
    assert bare.ok("label", "--to", "labels.pdf").status == 0


def test_one_label_again_goes_on_the_sheet_that_is_begun(house: House) -> None:
    """Its label 1 is gone already: what is drawn there would be printed on the bare backing."""
    codes = packed(house)
    all_of_them = house.ok("label", "--to", "labels.pdf", "--json").json
    assert (all_of_them["start"], all_of_them["next_start"]) == (1, 9)
    first, second = all_of_them["labels"][:2]
    look = house.ok("label", "again", codes[0], "--to", "look.pdf", "--look")
    assert "For the sheet that is begun, from its label 9 on; on a fresh one: --start-at 1" in look.out
    again = house.ok("label", "again", codes[0], "--to", "x.pdf", "--json").json
    assert (again["start"], again["next_start"]) == (9, 10)
    # Label 9 of two columns: the first column, four rows of 2 in (50.8 mm) under label 1.
    (ninth,) = again["labels"]
    assert ninth["x_mm"] == first["x_mm"] != second["x_mm"]
    assert ninth["y_mm"] == pytest.approx(first["y_mm"] + 4 * 50.8, abs=0.01)
    # The last of the sheet, and one more on the next.
    pair = house.ok("label", "again", *codes[:2], "--to", "y.pdf", "--json").json
    assert [label["page"] for label in pair["labels"]] == [1, 2]
    assert (pair["labels"][1]["x_mm"], pair["labels"][1]["y_mm"]) == (first["x_mm"], first["y_mm"])
    fresh = house.ok("label", "again", codes[0], "--to", "z.pdf", "--start-at", "1")
    assert "sheet that is begun" not in fresh.out
    assert house.ok("label", "again", codes[0], "--to", "x3.pdf", "--start-at", "3", "--json").json["next_start"] == 4
    # On a roll one label follows another.
    assert "sheet" not in house.ok("label", "again", codes[0], "--to", "r.pdf", "--stock", "roll-2x1in-203dpi").out


def test_new_labels_begin_a_sheet_and_say_which_one_is_begun(house: House) -> None:
    assert "fresh sheet" not in house.ok("label", "--to", "labels.pdf").out
    house.ok("pack", "backstrap", "1.1", "--species", "deer")
    said = house.ok("label", "--to", "more.pdf", "--look").out
    assert "For a fresh sheet. One is begun, and free from its label 9 on: --start-at 9" in said
    ahead = ("label", "ahead", "3", "loin chops", "--animal", "26H")
    assert "For a fresh sheet. One is begun, and free from its label 9 on" in house.ok(*ahead, "--to", "a.pdf").told
    assert "fresh sheet" not in house.ok(*ahead, "--to", "b.pdf", "--start-at", "4").told
    assert "One is begun, and free from its label 7 on" in house.ok("label", "--from", "2", "--to", "c.pdf").told
    assert house.ok("label", "--to", "next.pdf", "--start-at", "9", "--json").json["start"] == 9


def test_sheets_are_counted_and_many_files_are_not_all_named(house: House) -> None:
    roll = house.ok("label", "--look", "--stock", "roll-2x1in-203dpi", "--to", "r.png").told
    assert roll.startswith("18 labels on roll-2x1in-203dpi: r.png to r-18.png, 18 files Print")
    sheets = ("label", "--look", "--stock", "letter-10up", "--yes", "--to")
    assert house.ok(*sheets, "s.png").told.startswith("18 labels on letter-10up, 2 sheets: s.png, s-2.png Print")
    assert house.ok(*sheets, "s.pdf", "--start-at", "3", "--json").json["sheets"] == 2
    assert house.ok(*sheets, "s.pdf", "--start-at", "4", "--json").json["sheets"] == 3
    one = house.ok("label", "again", packed(house)[0], "--look", "--to", "one.pdf")
    assert one.told.startswith("1 label on letter-10up: one.pdf Print")


def test_a_look_says_what_it_is(house: House) -> None:
    """Also of labels that are printed; and its file stands in the way of none that is."""
    house.ok("label", "--to", "sheet.pdf")
    code = codes_in(house.ok("find", "loin chops").out)[0]
    looked = house.ok("label", "again", code, "--look").out
    assert "look.pdf" in looked
    assert "A look only: nothing counts as printed by it" in looked
    house.ok("label", "again", code, "--to", "labels.pdf")


def test_where_nothing_is_packed_there_is_nothing_to_label(bare: House) -> None:
    bare.ok("start", "--units", "lb")
    assert "Nothing is packed yet" in bare.refused("label", "--look").err
