"""Each box painted alone: nothing of it is cut off, and none of its ink lies where another box is.

Codes of letters that hang below the line, animals with letters that are tall and deep.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from PIL import Image, ImageChops

from freezerbox.errors import LabelDoesNotFit
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import draw
from freezerbox.labels.flow import LINE_GAP, TAIL
from freezerbox.labels.layout import Box, Layout, lay_out
from freezerbox.labels.library import design_named, stock
from freezerbox.labels.paint import OVER_DOTS, WHITE, paint, paint_box
from freezerbox.labels.stock import MM_PER_INCH, Design, Stock
from tests.labels.test_labels_held import DESIGNS, HELD
from tests.labels.test_labels_layout import CONTENTS
from tests.labels.test_labels_own_stock import own

HANGING = {case: replace(one, code="QJQ8QJ") for case, one in {**CONTENTS, **HELD}.items()}
HANGING["tall and deep"] = replace(
    HANGING["chops"], cut="Boston butt", banners=("FROZEN TWICE",), seasoning="garlic and juniper", pieces="12 pieces"
)
Edges = tuple[int, int, int, int]


def edges(box: Box, paper: Stock) -> Edges:
    """In dots; of a symbol without the outermost dots of its white, four modules of many dots each."""
    dots, less = paper.dots, OVER_DOTS if box.kind == "qr" else 0
    left, top = dots(box.x_mm) + less, dots(box.y_mm) + less
    return left, top, dots(box.x_mm + box.width_mm) - less, dots(box.y_mm + box.height_mm) - less


def alone(box: Box, layout: Layout, paper: Stock) -> Image.Image:
    picture = Image.new("1", (paper.dots(layout.width_mm), paper.dots(layout.height_mm)), WHITE)
    paint_box(picture, box, layout, paper)
    return picture


def ink(picture: Image.Image) -> Edges | None:
    return ImageChops.invert(picture.convert("L")).getbbox()


def faults(content: LabelContent, paper: Stock, design: Design) -> list[str]:
    """What is wrong with the label's letters, in words."""
    found = []
    layout = lay_out(content, paper, design)
    fences = [alone(box, layout, paper) for box in layout.boxes if box.kind == "fence"]
    room = 12 * MM_PER_INCH / paper.dpi
    for box in (box for box in layout.boxes if box.kind in ("text", "block")):
        picture, (left, top, right, bottom) = alone(box, layout, paper), edges(box, paper)
        black = ink(picture)
        assert black
        # A tail ends before the room it may take does, so that none is cut off.
        tail = paper.dots(box.cap_mm * TAIL) - 1 if box.field == "code" else 0
        over = (left - black[0], top - black[1] - OVER_DOTS, black[2] - right, black[3] - bottom - OVER_DOTS - tail)
        if max(over) > 0:
            found.append(f"{box.text} is out of its box by {over}")
        higher = replace(box, y_mm=box.y_mm - room, height_mm=box.height_mm + 2 * room)
        if box.kind == "text" and not tail and alone(higher, layout, paper).tobytes() != picture.tobytes():
            found.append(f"{box.text} is cut off")
        found += [
            f"{box.text} lies in {other.field} {other.text}"
            for other in layout.boxes
            if other is not box and other.kind != "fence" and ink(picture.crop(edges(other, paper)))
        ]
        found += [f"{box.text} lies in the border" for fence in fences if ink(ImageChops.logical_or(picture, fence))]
    return found


@pytest.mark.parametrize(("name", "kind"), DESIGNS)
def test_no_letter_is_cut_off_and_none_lies_in_another_box(name: str, kind: str) -> None:
    paper = stock(name)
    design = design_named(kind, paper)
    assert {case: wrong for case, one in HANGING.items() if (wrong := _faults(one, paper, design))} == {}


@pytest.mark.parametrize("size", [(50, 25), (50, 90), (57, 32), (60, 60), (99.1, 38.1), (200, 25)])
def test_nor_on_paper_of_the_households_own(size: tuple[float, float]) -> None:
    for dpi in (203, 300):
        paper, design = own(*size, dpi)
        assert {case: wrong for case, one in HANGING.items() if (wrong := _faults(one, paper, design))} == {}


def _faults(content: LabelContent, paper: Stock, design: Design) -> list[str]:
    try:
        return faults(content, paper, design)
    except LabelDoesNotFit:  # refused, and nothing is printed
        return []


def test_a_tail_hangs_where_there_is_white_and_else_ends_on_the_line() -> None:
    """A Q above the border is less high, and is no other letter for that."""
    below, free = ("roll-2x1in-300dpi", "standard", "dog"), ("letter-10up", "standard", "chops")
    for (name, kind, case), hangs in ((below, False), (free, True)):
        paper = stock(name)
        drawn = draw([HANGING[case]], paper, 1, design_named(kind, paper))
        (layout,) = drawn.layouts
        (code,) = (box for box in layout.boxes if box.field == "code")
        black = ink(alone(code, layout, paper))
        assert black
        assert (black[3] - edges(code, paper)[3] > OVER_DOTS) == hangs
        zero = replace(code, text=code.text.replace("Q", "0"))
        assert alone(zero, layout, paper).tobytes() != alone(code, layout, paper).tobytes()
        assert paint(layout, paper).tobytes() == drawn.pictures[0].tobytes()


@pytest.mark.parametrize("name", ["roll-4x6in-203dpi", "roll-4x6in-300dpi"])
@pytest.mark.parametrize("case", ["chops", "held", "bulk", "longest"])
def test_the_month_stands_clear_of_the_weight_where_there_is_room_to_draw(name: str, case: str) -> None:
    layout = lay_out(HANGING[case], stock(name), design_named("large", stock(name)))
    bottom = max(box.y_mm + box.height_mm for box in layout.boxes if box.field == "weight")
    (month,) = (box for box in layout.boxes if box.field == "month")
    assert month.y_mm - bottom >= 1.7


def test_words_of_low_letters_alone_stand_as_far_below_a_line_as_others() -> None:
    """Of "best by" hangs a quarter of a capital, and below that is the white between lines and a capital's height."""
    layout = lay_out(CONTENTS["brackets"], stock("letter-10up"), design_named("standard", stock("letter-10up")))
    above, below = (next(box for box in layout.boxes if box.field == field) for field in ("best_by", "wrap"))
    assert below.text == "vacuum"
    assert (below.baseline_mm or 0) - (above.baseline_mm or 0) >= (0.24 + LINE_GAP + 1) * below.cap_mm
