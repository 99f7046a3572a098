"""Labels with more to say than most: a long seasoning, four animals, banners, a hold."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import ImageOps

from freezerbox.labels.content import BANNER_WORDS, FIELDS, HOLD_LINE, LabelContent, field_tokens
from freezerbox.labels.draw import draw
from freezerbox.labels.layout import SECOND_QR, STRIP, lay_out
from freezerbox.labels.library import design_for, design_named, kinds_for, stock, stock_names
from freezerbox.reading.pictures import read_picture
from tests.labels.test_labels_layout import CONTENTS

BASE = tomllib.loads((Path(__file__).parent / "contents.toml").read_text(encoding="utf-8"))["base"]
CROWDED = LabelContent(
    **BASE
    | {
        "cut": "Ground",
        "animal": "Whitetail doe 26B + Whitetail doe 26W + Whitetail doe 26D + Pork 26H",
        "weight": "20.50 lb",
        "pieces": "",
        "fat": "20% FAT",
        "seasoning": "hot Italian with fennel and chilli flakes",
        "banners": ("FROZEN TWICE", "CONTAINS PORK"),
        "short": (("Whitetail doe 26B + Whitetail doe 26W + Whitetail doe 26D + Pork 26H", "4 animals"),),
        "cue": "",
    }
)
HELD = replace(CROWDED, animal="Whitetail doe 26B", hold="DO NOT EAT: TEST PENDING", banners=(), short=())


@pytest.mark.parametrize("name", ["roll-4x6in-203dpi", "roll-4x6in-300dpi"])
def test_a_shipping_label_keeps_both_symbols_and_the_bars(name: str) -> None:
    """There is room for all of it but the season's strip, whose words stay; only the name is smaller."""
    for content in (CROWDED, HELD):
        layout = lay_out(content, stock(name), design_for(stock(name)))
        assert sorted(kind for kind, _ in layout.symbols) == ["Code 128", "QR", "QR"]
        assert set(layout.dropped) <= {STRIP}
        assert min(box.cap_mm for box in layout.boxes if box.field == "cut") >= 8.5


@pytest.mark.parametrize("name", ["roll-4x2in-203dpi", "roll-4x2in-300dpi"])
def test_a_short_name_leaves_its_second_line_to_the_rest(name: str) -> None:
    layout = lay_out(CROWDED, stock(name), design_for(stock(name)))
    assert "season" not in layout.dropped
    assert min(box.cap_mm for box in layout.boxes if box.field == "month") >= 3.5
    assert min(box.cap_mm for box in layout.boxes if box.field == "cut") >= 8


@pytest.mark.parametrize("name", ["letter-10up", "roll-4x2in-203dpi", "roll-4x2in-300dpi"])
def test_a_name_that_fits_one_line_leaves_hold_and_banners_their_words(name: str) -> None:
    layout = lay_out(CONTENTS["sausage"], stock(name), design_for(stock(name)))
    said = {box.text for box in layout.boxes}
    assert {"Raw sausage links", "DO NOT EAT: TEST PENDING", "COOK THROUGH - freezing is not enough"} <= said
    assert {BANNER_WORDS, "season", "second_qr"}.isdisjoint(layout.dropped)
    assert min(box.cap_mm for box in layout.boxes if box.field == "month") >= 3.5


@pytest.mark.parametrize("name", [name for name in stock_names() if not stock(name).cut_marks])
def test_a_long_seasoning_on_hold_is_said_and_reads(name: str) -> None:
    drawn = draw([HELD], stock(name), 1, design_for(stock(name)))
    layout = drawn.layouts[0]
    said = " ".join(box.text for box in layout.boxes if box.field == "seasoning")
    assert said == HELD.seasoning
    assert ("hold", "tick") in {(box.field, box.kind) for box in layout.boxes}
    found = {symbol.text for symbol in read_picture(drawn.pictures[0])}
    assert HELD.symbol_text in found


@pytest.mark.parametrize(
    ("cut", "seasoning"),
    [
        ("Bratwurst links", "mustard seed fennel"),
        ("Bratwurst links", "red wine and garlic"),
        ("Ground", "fennel red smoked pepper"),
        ("Ground", "black pepper, garlic, red wine, sage, maple, juniper and a little nutmeg"),
    ],
)
@pytest.mark.parametrize("weight", ["", "2 lb"])
@pytest.mark.parametrize("name", ["roll-2x1in-203dpi", "roll-2x1in-300dpi", "letter-30up"])
def test_a_box_its_word_and_its_line_stand_together(name: str, weight: str, cut: str, seasoning: str) -> None:
    layout = lay_out(replace(HELD, cut=cut, seasoning=seasoning, weight=weight), stock(name), design_for(stock(name)))
    box, word, *line = (box for box in layout.boxes if box.field == "hold" and box.kind != "block")
    assert (box.kind, word.text) == ("tick", "cleared")
    assert [one.kind for one in line] == ([] if HOLD_LINE in layout.dropped else ["blank"])
    for one in (word, *line):
        assert abs(one.y_mm + one.height_mm - box.y_mm - box.height_mm) < 0.3
        assert one.x_mm > box.x_mm
    blanks = [one for one in layout.boxes if one.field == "weight" and one.kind == "blank"]
    for one in blanks:  # a line for the weight and its unit
        unit = next(box for box in layout.boxes if box.field == "weight" and box.text.startswith("lb"))
        assert abs(unit.y_mm + unit.height_mm - one.y_mm - one.height_mm) < 0.9
        assert unit.x_mm > one.x_mm


@pytest.mark.parametrize("kind", ["standard", "edge"])
@pytest.mark.parametrize("case", ["held", "fat"])
def test_do_not_eat_stands_on_4_x_1_in_before_what_is_quality_only(kind: str, case: str) -> None:
    paper = stock("letter-20up")
    layout = lay_out(CONTENTS[case], paper, design_named(kind, paper))
    assert "DO NOT EAT: TEST PENDING" in [box.text for box in layout.boxes if box.field == "hold"]
    assert BANNER_WORDS not in layout.dropped


MANY = replace(
    CROWDED, cut="Bratwurst links", note="the creek", owner="Grandma", cue="SLOW", animal="Whitetail doe 26B"
)


@pytest.mark.parametrize(
    ("name", "kind"),
    [(name, kind) for name in stock_names() if not stock(name).cut_marks for kind in kinds_for(stock(name))],
)
def test_all_that_is_left_off_is_named(name: str, kind: str) -> None:
    """The season's strip too, and a symbol; nothing is named that stands on the label."""
    paper = stock(name)
    design = design_named(kind, paper)
    strip = any(arrangement.tab for arrangement in design.arrangements)
    copies = max(len(arrangement.qr) for arrangement in design.arrangements)
    for content in (*CONTENTS.values(), HELD, MANY):
        layout = lay_out(content, paper, design)
        shown = {box.field for box in layout.boxes}
        if "memory" in shown:
            shown.add("note")
        said = {field for field in FIELDS if field != "memory" and field_tokens(content, field)}
        assert said - shown == {field for field in layout.dropped if field in FIELDS}
        assert (STRIP in layout.dropped) == (strip and "tab" not in shown)
        assert (SECOND_QR in layout.dropped) == (sum(kind == "QR" for kind, _ in layout.symbols) < copies)


BARRED = {"letter-10up": 0.95, "roll-4x2in-203dpi": 0.95, "roll-4x2in-300dpi": 0.95, "roll-62x29mm-300dpi": 0.4,
          "roll-2x1in-203dpi": 0.4, "roll-4x6in-203dpi": 0.95, "roll-4x6in-300dpi": 0.95}  # fmt: skip
"""White in mm above and below the bars, in the picture: a laser's line held a little askew meets nothing else."""


@pytest.mark.parametrize(
    ("name", "kind"), [(name, kind) for name in BARRED for kind in ("standard", "edge") if name in stock_names()]
)
def test_the_bars_stand_clear(name: str, kind: str) -> None:
    paper = stock(name)
    met = 0
    for content in (*CONTENTS.values(), HELD, MANY):
        drawn = draw([content], paper, 1, design_named(kind, paper))
        for bars in (box for box in drawn.layouts[0].boxes if box.kind == "bars"):
            met += 1
            picture = drawn.pictures[0].convert("L")
            left, right = paper.dots(bars.x_mm), paper.dots(bars.x_mm + bars.width_mm)
            top, bottom = paper.dots(bars.y_mm) - 1, paper.dots(bars.y_mm + bars.height_mm) + 1
            clear = int(BARRED[name] * paper.dpi / 25.4)
            for strip in ((left, top - clear, right, top), (left, bottom, right, bottom + clear)):
                assert picture.crop(strip).getextrema() == (255, 255), (name, kind, content.cut, strip)
    assert met >= 3


@pytest.mark.parametrize("name", ["letter-10up", "a4-21up", "roll-2x1in-203dpi"])
@pytest.mark.parametrize("field", ["month", "weight", "hold"])
def test_letters_measure_what_the_layout_says(name: str, field: str) -> None:
    """In the rendered picture: the ink of capitals and figures, top to bottom, and nothing between black and white.

    The least is 7 points, 1.79 mm here with its rounding to dots.
    """
    paper = stock(name)
    held = replace(HELD, seasoning="", fat="")
    drawn = draw([held], paper, 1, design_for(paper))
    picture = drawn.pictures[0].convert("L")
    assert {value for _, value in picture.getcolors() or ()} == {0, 255}
    boxes = [box for box in drawn.layouts[0].boxes if box.field == field and box.kind in ("text", "block")]
    assert boxes
    for box in boxes:
        left, top = paper.dots(box.x_mm), paper.dots(box.y_mm)
        crop = picture.crop((left, top, paper.dots(box.x_mm + box.width_mm), paper.dots(box.y_mm + box.height_mm)))
        if box.kind == "block":  # white on black: the ink is what is left white, inside the block's own rim
            crop = ImageOps.invert(crop)
        ink = ImageOps.invert(crop).getbbox()
        assert ink is not None
        measured = (ink[3] - ink[1]) * 25.4 / paper.dpi
        assert box.cap_mm >= 1.79
        assert measured >= box.cap_mm - 2 * 25.4 / paper.dpi
        assert measured <= box.cap_mm * 1.35
