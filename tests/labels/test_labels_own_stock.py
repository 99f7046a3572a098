"""Paper of the household's own: its files, the design made for it, the ruler page and what is read from it."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageChops

from freezerbox.chores import label, stocks
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label_fit import shift_words
from freezerbox.chores.stocks import NewStock
from freezerbox.errors import InputError, InvalidTemplate, Twin, UnknownWord
from freezerbox.labels.auto import LEAST_HEIGHT_MM, LEAST_WIDTH_MM, design_text
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import draw
from freezerbox.labels.layout import lay_out
from freezerbox.labels.library import stock
from freezerbox.labels.ruler import ruler_page
from freezerbox.labels.stock import Design, Stock
from freezerbox.labels.template import parse_design
from freezerbox.reading.pictures import read_picture

A4_14 = NewStock(
    name="a4-14up", width="99.1 mm", height="38.1", page="a4", columns="2", rows="7", pitch_x="101.6mm"
)  # fmt: skip


def content(**change: Any) -> LabelContent:
    table = tomllib.loads((Path(__file__).parent / "contents.toml").read_text(encoding="utf-8"))
    return LabelContent(**{**table["base"], "banners": (), **change})


def roll(width: float, height: float, dpi: int) -> Stock:
    return replace(
        stock("roll-2x1in-203dpi"), name="mine", title="mine", dpi=dpi, width_mm=width, height_mm=height,
        page_width_mm=width, page_height_mm=height, pitch_x_mm=width, pitch_y_mm=height, design="mine",
    )  # fmt: skip


def own(width: float, height: float, dpi: int) -> tuple[Stock, Design]:
    """A roll of that size and the design that is made for it."""
    paper = roll(width, height, dpi)
    return paper, parse_design(design_text("mine", "Mine", width, height, dpi), file="mine.toml", stock=paper)


@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.parametrize(
    "size",
    [(50, 25), (57, 32), (62, 29), (70, 37), (70, 25.4), (76.2, 50.8), (99.1, 38.1), (99.1, 67.7),
     (105, 57), (100, 50), (50, 80), (80, 120), (102, 25), (200, 30), (210, 148), (60, 200)],
)  # fmt: skip
def test_a_design_for_any_size_says_all_and_reads(size: tuple[float, float], dpi: int) -> None:
    paper = roll(*size, dpi)
    text = design_text("mine", "Mine", *size, dpi)
    design = parse_design(text, file="mine.toml", stock=paper)
    for words in (
        {},
        {"hold": "TEST PENDING", "weight": ""},
        {"cut": "Dog trim", "banners": ("NOT FOR PEOPLE",)},
        {"cut": "Sirloin tip roast, bone-in", "animal": "Beef, quarter steer 26S"},
    ):
        layout = lay_out(content(**words), paper, design)
        drawn = draw([content(**words)], paper, 1, design)
        found = sorted((symbol.symbology, symbol.text) for symbol in read_picture(drawn.pictures[0]))
        assert found == sorted(layout.symbols)
        cut = min(box.cap_mm for box in layout.boxes if box.field == "cut")
        assert cut >= 3.5
        assert all(box.cap_mm >= 0.625 - 1e-9 for box in layout.boxes if box.kind == "qr")
        assert min(box.x_mm for box in layout.boxes) >= 0
        assert max(box.y_mm + box.height_mm for box in layout.boxes) <= size[1] + 0.01


@pytest.mark.parametrize(
    ("size", "dpi"),
    [((99.1, 38.1), 600), ((76.2, 50.8), 203), ((76.2, 50.8), 600), ((105, 57), 300), ((99.1, 67.7), 600),
     ((100, 50), 203), ((60, 40), 203), ((62, 29), 300), ((80, 120), 203)],
)  # fmt: skip
def test_a_plain_label_keeps_the_bars_where_there_is_room(size: tuple[float, float], dpi: int) -> None:
    """And no more is left off for them than how it is wrapped and, on the smallest, best by."""
    paper, design = own(*size, dpi)
    for words in ({}, {"cut": "Leg", "pieces": "", "cue": ""}, {"run": "14 of 14", "cut": "Sirloin steak"}):
        layout = lay_out(content(**words), paper, design)
        assert set(layout.dropped) <= ({"wrap", "best_by"} if size == (60, 40) else {"wrap"})
        (bars,) = (box for box in layout.boxes if box.kind == "bars")
        above = [
            bars.y_mm - box.y_mm - box.height_mm
            for box in layout.boxes
            if box.y_mm < bars.y_mm and box.kind in ("text", "block") and box.x_mm < bars.x_mm + bars.width_mm
            if box.x_mm + box.width_mm > bars.x_mm
        ]
        assert min(above) >= (0.3 if size == (62, 29) else 0.99)


@pytest.mark.parametrize(("width", "height"), [(LEAST_WIDTH_MM - 1, 40), (80, LEAST_HEIGHT_MM - 1), (0, 0)])
def test_no_design_for_labels_too_small(width: float, height: float) -> None:
    with pytest.raises(InputError, match="too small"):
        design_text("mine", "Mine", width, height, 300)


@pytest.mark.parametrize(("width", "height"), [(40, 60), (38, 90), (30, 80)])
def test_a_narrow_label_is_to_be_given_turned(width: float, height: float) -> None:
    with pytest.raises(InputError, match=f"Give it turned.*: {height} mm wide, {width} mm high"):
        design_text("mine", "Mine", width, height, 300)
    assert design_text("mine", "Mine", height, width, 300)


def test_new_stock_is_written_and_used(kitchen: Kitchen, tmp_path: Path) -> None:
    made, files = stocks.new_stock(kitchen, A4_14)
    own = label.own_templates(kitchen)
    assert {file.relative_to(own).as_posix() for file in files} == {
        "stocks/a4-14up.toml",
        "designs/standard-99.1x38.1-600dpi.toml",
    }
    # Source: 2 x 7 labels of 99.1 x 38.1 mm at 101.6 x 38.1 mm, margins 4.65 and 15.15 mm: centred on the page.
    assert (made.left_mm, made.top_mm, made.slots) == (4.65, 15.15, 14)
    assert label.paper_of(kitchen, " A4-14UP ") == made
    line = next(one for one in stocks.list_stocks(kitchen) if one.name == "a4-14up")
    assert (line.own, line.usual, line.faults, line.designs) == (True, False, (), ("standard",))
    with pytest.raises(Twin):
        stocks.new_stock(kitchen, A4_14)


def test_one_label_on_a_page_is_one_label(kitchen: Kitchen) -> None:
    made, _ = stocks.new_stock(kitchen, NewStock(name="one", width="4in", height="2in", page="letter"))
    assert made.title == "US Letter, 1 label of 101.6 x 50.8 mm"


def test_a_size_there_is_a_design_for_needs_none(kitchen: Kitchen) -> None:
    made, files = stocks.new_stock(kitchen, NewStock(name="mine", width="4in", height='2"', dpi="203"))
    assert made.design == "standard-4x2in"
    assert len(files) == 1
    # The same size, but dots too coarse for that design's modules: one of its own.
    made, files = stocks.new_stock(kitchen, NewStock(name="fine", width="50.8mm", height="25.4mm", dpi="300"))
    assert made.design == "standard-2x1in-300dpi"


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        ({"name": "My Labels"}, InputError, "not a name"),
        ({"name": "../x"}, InputError, "not a name"),
        ({"name": ""}, InputError, "not a name"),
        ({"name": "letter-10up"}, Twin, "already"),
        ({"width": "wide"}, InputError, "label's width"),
        ({"width": "-4"}, InputError, "label's width"),
        ({"height": "9 ft"}, InputError, "label's height"),
        ({"height": "9999 in"}, InputError, "too long"),
        ({"height": "10 mm"}, InputError, "too small"),
        ({"page": "foolscap"}, InputError, "no page"),
        ({"columns": "0"}, InputError, "columns"),
        ({"columns": "3"}, InputError, "off the page"),
        ({"rows": "8"}, InputError, "off the page"),
        ({"pitch_x": "90"}, InputError, "overlap"),
        ({"left": "20"}, InputError, "off the page"),
        ({"page": "", "columns": "", "rows": "2"}, InputError, "--rows '2' is for a sheet; a roll has one label"),
        ({"page": "", "columns": "", "rows": "", "left": "3"}, InputError, "--left '3' is for a sheet"),
        ({"dpi": "fine"}, InputError, "dots per inch"),
        ({"dpi": "20"}, InputError, "'20' is not a number for dots per inch: 150 to 1200"),
        ({"height": "1 1/0 in"}, InputError, "not a length"),
        ({"height": "99 in"}, InputError, "at most 2000 mm, or 78 in"),
    ],
)
def test_bad_paper_is_refused_and_nothing_written(
    kitchen: Kitchen, change: dict[str, str], error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        stocks.new_stock(kitchen, replace(A4_14, **change))
    assert not label.own_templates(kitchen).exists()


def test_a_faulty_own_file_is_listed_with_every_fault_and_refused(kitchen: Kitchen, tmp_path: Path) -> None:
    folder = label.own_templates(kitchen) / "stocks"
    folder.mkdir(parents=True)
    (folder / "torn.toml").write_text('name = "torn"\nkind = "roll"\ndpi = 0\nwidth_mm = "x"\ncolour = 3\n')
    line = next(one for one in stocks.list_stocks(kitchen) if one.name == "torn")
    assert line.own
    assert {fault.split(": ")[1] for fault in line.faults} >= {"dpi", "width_mm", "colour", "height_mm", "design"}
    assert all(fault.startswith("stocks/torn.toml: ") for fault in line.faults)
    with pytest.raises(InvalidTemplate):
        label.paper_of(kitchen, "torn")


def test_lengths() -> None:
    """1 inch is 25.4 mm exactly (NIST Handbook 44, appendix C)."""
    for text, mm in (
        ("2.625 in", 66.675),
        ("2 5/8 in", 66.675),
        ('1-1/8"', 28.575),
        ("1/2 in", 12.7),
        ("1 in", 25.4),
        ('4"', 101.6),
        ("38,1 mm", 38.1),
        ("5cm", 50),
        ("7", 7),
    ):
        assert stocks.parse_length(text, "it") == mm


def test_shift_is_taken_and_adds_up(kitchen: Kitchen) -> None:
    paper = stocks.correct(kitchen, "letter-10up", "0.8", "-0.5")
    assert (paper.shift_x_mm, paper.shift_y_mm) == (-0.8, 0.5)
    paper = stocks.correct(kitchen.afresh(), "letter-10up", "+0.2", "")
    assert (paper.shift_x_mm, paper.shift_y_mm) == (-1.0, 0.5)
    assert label.paper_of(kitchen.afresh(), "letter-30up").shift_x_mm == 0
    for right in ("x", "12", "1 yard"):
        with pytest.raises(InputError):
            stocks.correct(kitchen.afresh(), "letter-10up", right, "0")
    with pytest.raises(
        InputError, match=r"'30' right is more than .* moved 31 mm left and 0.5 mm down, and 10 mm is"
    ):
        stocks.correct(kitchen.afresh(), "letter-10up", "30", "")
    with pytest.raises(UnknownWord):
        stocks.correct(kitchen, "nosuch", "1", "1")


def test_a_shift_in_words() -> None:
    assert shift_words(-5, 0) == "5 mm left"
    assert shift_words(0.8, -0.5) == "0.8 mm right and 0.5 mm up"
    assert shift_words(0, 0.001) == ""


def black(page: Image.Image) -> tuple[int, int, int, int] | None:
    return ImageChops.invert(page.convert("L")).getbbox()


@pytest.mark.parametrize("name", ["letter-10up", "a4-21up", "roll-4x2in-203dpi"])
def test_a_shift_moves_every_dot_and_nothing_else(name: str) -> None:
    paper = stock(name)
    moved = replace(paper, shift_x_mm=25.4 * 20 / paper.dpi, shift_y_mm=25.4 * -10 / paper.dpi)
    before, after = (draw([content()], one, 1).pages[0] for one in (paper, moved))
    old, new = black(before), black(after)
    assert old is not None
    assert new is not None
    assert abs(new[0] - old[0] - 20) <= 1
    assert abs(new[1] - old[1] + 10) <= 1
    first = draw([content()], moved, 1).positions[0]
    assert (first.x_mm, first.y_mm) == (round(paper.left_mm, 4), round(paper.top_mm, 4)), "the label's own place"


def test_ruler_page_measures(tmp_path: Path) -> None:
    """Ticks stand a millimetre apart from the first label's corner, to within a dot."""
    paper = stock("letter-10up")
    page = ruler_page(paper)
    assert page.size == (5100, 6600)
    corner = (paper.dots(paper.left_mm), paper.dots(paper.top_mm))
    line = page.crop(
        (corner[0], corner[1] + paper.dots(0.5), corner[0] + paper.dots(100) + 4, corner[1] + paper.dots(0.5) + 1)
    )
    dark = [x for x in range(line.width) if line.getpixel((x, 0)) == 0]
    starts = [x for x in dark if x - 1 not in dark]
    assert len(starts) == 101
    for mm, x in enumerate(starts):
        assert abs(x - mm * 600 / 25.4) <= 3, mm


def test_cut_marks_stand_in_the_margins_only() -> None:
    for name in ("letter-plain", "a4-plain", "letter-plain-2up", "a4-plain-2up"):
        paper = stock(name)
        page = draw([content()], paper, 1).pages[0]
        labels = (
            paper.dots(paper.left_mm) + 2,
            paper.dots(paper.top_mm) + 2,
            paper.dots(paper.left_mm + paper.columns * paper.pitch_x_mm) - 2,
            paper.dots(paper.top_mm + paper.rows * paper.pitch_y_mm) - 2,
        )
        label_black = page.crop(labels).histogram()[0]
        whole = page.histogram()[0]
        marks = whole - label_black
        assert marks > 0, "there are marks"
        first = page.crop(
            (
                labels[0],
                labels[1],
                labels[0] + paper.dots(paper.width_mm) - 4,
                labels[1] + paper.dots(paper.height_mm) - 4,
            )
        )
        assert label_black == first.histogram()[0], "none of them on a label"


def test_no_marks_on_paper_that_is_cut_already() -> None:
    paper = stock("letter-10up")
    page = draw([content()], paper, 1).pages[0]
    page.paste(255, (paper.dots(paper.left_mm), paper.dots(paper.top_mm), paper.dots(106), paper.dots(64)))
    assert page.getextrema() == (255, 255)
