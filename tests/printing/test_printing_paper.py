"""Paper that a printer has not got: compared with what it lists before anything is drawn, sent or noted."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from freezerbox.chores.label_paper import dots_caution
from freezerbox.labels.library import stock, stock_names
from freezerbox.labels.media import TOLERANCE_MM, Sizes, size_words, sizes_of
from freezerbox.labels.printer import Printer
from tests.cli.process import House, Terminal
from tests.printing.press import PrintShop

# As a sheet printer and a label printer of the print service list theirs.
SHEETS = ("iso_a4_210x297mm", "na_number-10_4.125x9.5in", "na_legal_8.5x14in", "na_letter_8.5x11in")
LABELS = ("custom_2x1in_2x1in", "na_index-4x6_4x6in", "custom_min_1x0.5in", "custom_max_108x300mm")
ROLL = "roll-2x1in-203dpi"


def test_names_say_their_size_and_half_a_range_is_none() -> None:
    """PWG 5101.1, 5: class, name, width and height with their unit; names of the older kind say none."""
    found = sizes_of([*LABELS, "na-letter", "stationery", "auto", "oe_odd_2x1ft", ""])
    assert [tuple(round(side, 2) for side in size) for size in found.fixed] == [(50.8, 25.4), (101.6, 152.4)]
    assert found.ranges == (((25.4, 12.7), (108.0, 300.0)),)
    assert sizes_of(["custom_min_25x12mm"]).ranges == ()
    assert not sizes_of(["custom_min_25x12mm", "na-letter"]).known
    assert sizes_of(["roll_min_20x20mm", "roll_max_62x1000mm"]).take(62, 29)
    assert not sizes_of(["custom_min_20x20mm", "roll_max_62x1000mm"]).known


@pytest.mark.parametrize("name", stock_names())
def test_every_stock_against_a_sheet_printer_and_a_label_printer(name: str) -> None:
    paper = stock(name)
    size = (paper.page_width_mm, paper.page_height_mm)
    assert sizes_of(SHEETS).take(*size) == (paper.kind == "sheet")
    assert sizes_of(LABELS).take(*size) == (paper.kind == "roll")


@pytest.mark.parametrize(
    ("width", "height", "taken"),
    [
        (50.8, 25.4, True),
        (25.4, 50.8, True),
        (51.7, 24.5, True),
        (52.0, 25.4, False),
        (50.8, 27.0, False),
        (101.6, 50.8, False),
    ],
)
def test_either_turn_and_a_millimetre(width: float, height: float, taken: bool) -> None:
    assert sizes_of(["oe_2x1-label_2x1in"]).take(width, height) == taken


@pytest.mark.parametrize(
    ("width", "height", "taken"),
    [
        (25.4, 12.7, True),
        (108, 300, True),
        (300, 108, True),
        (108.9, 300, True),
        (24, 12, False),
        (109.5, 200, False),
        (108, 302, False),
    ],
)
def test_a_range_and_its_ends(width: float, height: float, taken: bool) -> None:
    assert sizes_of(["custom_min_25.4x12.7mm", "custom_max_108x300mm"]).take(width, height) == taken


@given(
    st.lists(st.tuples(st.floats(5, 500), st.floats(5, 500)), max_size=5),
    st.tuples(st.floats(5, 500), st.floats(5, 500)),
)
def test_a_size_and_its_other_turn_are_one(fixed: Sequence[tuple[float, float]], size: tuple[float, float]) -> None:
    sizes = Sizes(fixed=tuple(fixed), ranges=())
    assert sizes.take(*size) == sizes.take(size[1], size[0])
    assert all(sizes.take(down, across) for across, down in fixed)
    apart = [max(abs(a - size[0]), abs(d - size[1])) for w, h in fixed for a, d in ((w, h), (h, w))]
    assert sizes.take(*size) == (min(apart, default=1e9) <= TOLERANCE_MM)


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ((215.9, 279.4), "Letter"),
        ((216, 279), "Letter"),
        ((297, 210), "A4"),
        ((101.6, 152.4), "4 x 6 in"),
        ((66.675, 25.4), "2.625 x 1 in"),
        ((62, 29), "62 x 29 mm"),
        ((108, 300), "108 x 300 mm"),
    ],
)
def test_sizes_as_people_call_them(size: tuple[float, float], words: str) -> None:
    assert size_words(*size) == words


def nothing_came_of_it(house: House, shop: PrintShop, before: str) -> None:
    assert [path for device in shop.devices.values() for path in device.arrived()] == []
    assert shop.tool("lpstat", "-o") == ""
    assert house.dump() == before
    assert not (house.folder / "labels.pdf").exists()


def sent_and_refused(house: House, *how: str) -> None:
    """Handed over, so that the printer itself had to say no: it does not take paper that it has not got."""
    error = house.refused_json("label", *how, status=3, kind="printer")
    assert error["job"].startswith(how[1])
    assert "cannot print with supplied options" in error["why"]


@pytest.mark.sweep
def test_sheets_are_not_sent_to_a_label_printer(house: House, shop: PrintShop) -> None:
    before = house.dump()
    said = house.call("label", "--printer", "labels")
    assert said.status == 1
    assert "a sheet of letter-10up is Letter, and printer 'labels' lists no such paper." in said.said
    assert "It lists 2 x 1 in, 4 x 6 in and any size from 1 x 0.5 in to 108 x 300 mm." in said.said
    assert "--stock roll-2x1in-203dpi" in said.said
    assert "300dpi" not in said.said, "another printer's dots"
    error = house.refused_json("label", "--printer", "labels", status=1, kind="out-of-line")
    assert (error["width_mm"], error["height_mm"]) == (215.9, 279.4)
    assert error["stocks"][0] == "roll-2x1in-203dpi"
    assert "custom_min_1x0.5in" in error["sizes"]
    # No spare records either, and after a jam nothing is taken for out.
    house.refused_json("label", "ahead", "2", "ground", "--fat", "none", "--printer", "labels", status=1,
                       kind="out-of-line")  # fmt: skip
    nothing_came_of_it(house, shop, before)
    # What it proposes is right.
    assert house.ok("label", "--printer", "labels", "--stock", error["stocks"][0], "--json").json["printed"]


@pytest.mark.sweep
def test_a_label_is_not_sent_to_a_sheet_printer_unless_one_says_so(house: House, shop: PrintShop) -> None:
    before = house.dump()
    said = house.call("label", "--printer", "sheets", "--stock", ROLL)
    assert said.status == 1
    assert f"a label of {ROLL} is 2 x 1 in, and printer 'sheets' lists no such paper." in said.said
    assert "A4" in said.said
    assert "Labels for it: --stock letter-10up or --stock a4-" in said.said
    assert "add --yes" in said.said
    nothing_came_of_it(house, shop, before)
    sent_and_refused(house, "--printer", "sheets", "--stock", ROLL, "--yes")


@pytest.mark.sweep
def test_after_a_jam_the_wrong_printer_makes_none_count(house: House, shop: PrintShop) -> None:
    device = shop.devices["labels"]
    shop.off(device)
    assert house.call("label", "--printer", "labels", "--stock", ROLL).status == 3
    house.ok("label", "cancel")
    before = house.dump()
    error = house.refused_json("label", "--from", "3", "--printer", "sheets", status=1, kind="out-of-line")
    assert error["stock"] == ROLL
    assert house.dump() == before, "the two before the third would count as out"


@pytest.mark.sweep
def test_a_queue_that_lists_no_paper_is_believed(house: House, shop: PrintShop) -> None:
    shop.queue("bare", shop.devices["sheets"].uri, accepting=False)
    try:
        sent_and_refused(house, "--printer", "bare", "--stock", ROLL)
    finally:
        shop.tool("lpadmin", "-x", "bare")


def with_dots(*dots: int) -> Printer:
    return Printer(
        name="labels",
        about="",
        ready=True,
        trouble="",
        default=False,
        media=("oe_2x1-label_2x1in",),
        resolutions=dots,
    )


@pytest.mark.parametrize(
    ("name", "dots", "cure"),
    [
        (ROLL, (300,), "roll-2x1in-300dpi"),
        (ROLL, (300, 600), "roll-2x1in-300dpi"),
        ("roll-4x6in-300dpi", (203,), "roll-4x6in-203dpi"),
        # Nothing here is 62 x 29 mm at 203 dpi.
        ("roll-62x29mm-300dpi", (203,), None),
        (ROLL, (180,), None),
        # As drawn; one of several; each dot becomes two; not said; a sheet, whose printer draws the page itself.
        (ROLL, (203,), ""),
        (ROLL, (203, 300), ""),
        ("roll-2x1in-300dpi", (600,), ""),
        (ROLL, (), ""),
        ("letter-10up", (203,), ""),
    ],
)
def test_other_dots_than_the_labels_are_drawn_for(name: str, dots: tuple[int, ...], cure: str | None) -> None:
    said = dots_caution(with_dots(*dots), stock(name))
    if cure == "":
        assert said == ""
        return
    assert f"{name} is drawn for {stock(name).dpi} dots an inch" in said
    assert f"has {' and '.join(map(str, dots))}:" in said
    assert (f"--stock {cure}" in said) if cure else ("--stock" not in said)


@pytest.mark.sweep
def test_a_label_for_other_dots_is_printed_with_a_caution_first(house: House, shop: PrintShop) -> None:
    """The label printer of the shop has 203 dots an inch, and says so."""
    fine, its_own = ("label", "--printer", "labels", "--stock", "roll-2x1in-300dpi"), ("--stock", ROLL)
    code = house.ok("label", "--look", "--to", "look.pdf", "--json").json["labels"][0]["code"]
    told = house.ok(*fine)
    assert "drawn for 300 dots an inch, and printer 'labels' has 203" in told.said
    assert f"--stock {ROLL}" in told.said
    assert told.said.index("Caution") < told.said.index("labels-"), "before the job is handed over"
    assert "printed" in told.out
    again = house.ok("label", "again", code, *fine[1:], "--json")
    assert "203" in again.json["caution"]
    assert "Caution" not in again.err
    ahead = ("label", "ahead", "1", "ground", "--fat", "none", *fine[1:])
    assert house.ok(*ahead).err.count("Caution") == 1
    assert house.ok("label", "--from", "1", *fine[1:]).err.count("Caution") == 1
    silent = house.ok("label", "again", code, "--printer", "labels", *its_own)
    assert "Caution" not in silent.err
    assert "Caution" not in house.ok("label", "again", code, "--printer", "sheets", "--stock", "letter-10up").err
    # At the table once, and the label comes out.
    house.ok("settings", "printer", "labels")
    house.ok("settings", "stock", "roll-2x1in-300dpi")
    terminal = Terminal(house, "pack", "loin chops", "--animal", "26H", "--pieces", "4")
    terminal.wait_for("drawn for 300 dots an inch")
    terminal.answer("6: ", "1.04")
    terminal.answer("7: ", "")
    terminal.answer("How many did you wrap?", "6")
    assert terminal.end()[0] == 0


@pytest.mark.sweep
def test_ranges_are_listed(house: House) -> None:
    found = {one["name"]: one for one in house.ok("label", "printers", "--json").json["printers"]}
    assert found["labels"]["media_ranges"] == ["custom_min_1x0.5in", "custom_max_108x300mm"]
    assert "any size from 1 x 0.5 in to 108 x 300 mm" in house.ok("label", "printers").out


@pytest.mark.sweep
@pytest.mark.parametrize("answer", ["0", "1"])
def test_at_the_table_the_person_says(house: House, shop: PrintShop, answer: str) -> None:
    house.ok("settings", "printer", "sheets")
    house.ok("settings", "stock", ROLL)
    jobs = len(shop.tool("lpstat", "-W", "all", "-o", "sheets").splitlines())
    terminal = Terminal(house, "pack", "loin chops", "--animal", "26H", "--pieces", "4")
    terminal.wait_for(f"A label of {ROLL} is 2 x 1 in, and printer 'sheets' lists no such")
    terminal.wait_for("It lists A4, Letter")
    terminal.answer("Print each label there all the same?", answer)
    if answer == "0":
        terminal.wait_for("No labels tonight; later: freezerbox label")
    terminal.answer("6: ", "1.04")
    terminal.answer("7: ", "")
    terminal.answer("How many did you wrap?", "6")
    assert terminal.end()[0] == 0
    shop.wait(lambda: not shop.busy(shop.devices["sheets"]), "sheets")
    assert len(shop.tool("lpstat", "-W", "all", "-o", "sheets").splitlines()) == jobs + int(answer)
