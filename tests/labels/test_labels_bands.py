"""No label leaves paper empty across most of its width while words that tell one pack from another were left off."""

from __future__ import annotations

from dataclasses import replace

import pytest

from freezerbox.errors import LabelDoesNotFit
from freezerbox.labels.content import LabelContent
from freezerbox.labels.layout import WANTED, Layout, lay_out
from freezerbox.labels.library import design_named, kinds_for, stock, stock_names
from freezerbox.labels.stock import Design, Stock
from tests.labels.test_labels_layout import CONTENTS
from tests.labels.test_labels_own_stock import own
from tests.labels.test_labels_wanted import HOLD, OWNED

MOST_MM = 7.5
"""Chosen here: two lines of the least letters, their gaps, and a little; most labels have less than half of it.

Less is left where a word more would make the month smaller.
"""
MIXED = replace(
    CONTENTS["fat"], banners=(), weight="1.25 lb", animal="Whitetail doe 26B + Whitetail buck 26C + Pork 26H"
)
CROWDED: dict[str, LabelContent] = {
    **{case: replace(content, owner="for Grandma") for case, content in CONTENTS.items()},
    "owned": replace(CONTENTS["chops"], owner="for Grandma", note="for Sunday"),
    "held": replace(OWNED, hold=HOLD, short=((HOLD, "TEST PENDING"),)),
    "family": replace(OWNED, cut="Sirloin tip roast, bone-in steaks family size", pieces="4 steaks"),
    "mixed": MIXED,
}
OWN = [(50, 30), (57.15, 31.75), (60, 40), (70, 37), (76.2, 25.4), (76.2, 50.8), (89, 36), (99.1, 38.1), (100, 50),
       (101.6, 76.2), (101.6, 152.4)]  # fmt: skip


def empty_band(layout: Layout) -> float:
    """Height in mm of the highest empty rectangle that is 0.6 times as wide as the label."""
    wide = 0.6 * layout.width_mm
    rim = max((box.x_mm + box.cap_mm for box in layout.boxes if box.kind == "fence"), default=0.0)
    boxes = [box for box in layout.boxes if box.kind != "fence"]
    highest = 0.0
    for left in (rim, *(box.x_mm + box.width_mm for box in boxes)):
        if left + wide > layout.width_mm - rim:
            continue
        met = sorted(
            (box.y_mm, box.y_mm + box.height_mm)
            for box in boxes
            if box.x_mm < left + wide and left < box.x_mm + box.width_mm
        )
        below = rim
        for top, bottom in (*met, (layout.height_mm - rim, layout.height_mm)):
            highest = max(highest, top - below)
            below = max(below, bottom)
    return highest


def wasted(paper: Stock, design: Design) -> dict[str, float]:
    """Cases that leave off words and have such a band, with its height."""
    found = {}
    for case, content in CROWDED.items():
        try:
            layout = lay_out(content, paper, design)
        except LabelDoesNotFit:
            continue  # refused, and nothing is printed
        if set(WANTED) & set(layout.dropped) and (band := empty_band(layout)) > MOST_MM:
            found[case] = round(band, 1)
    return found


@pytest.mark.parametrize(
    ("name", "kind"),
    [(name, kind) for name in stock_names() if not stock(name).cut_marks for kind in kinds_for(stock(name))],
)
def test_no_band_stays_empty_while_words_are_left_off(name: str, kind: str) -> None:
    assert wasted(stock(name), design_named(kind, stock(name))) == {}


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", OWN)
def test_nor_on_paper_of_the_households_own(size: tuple[float, float], dpi: int) -> None:
    assert wasted(*own(*size, dpi)) == {}


def test_a_band_is_measured() -> None:
    layout = lay_out(CONTENTS["chops"], stock("letter-10up"), design_named("standard", stock("letter-10up")))
    alone = replace(layout, boxes=tuple(box for box in layout.boxes if box.field == "cut"))
    (cut,) = alone.boxes
    assert empty_band(alone) == pytest.approx(50.8 - cut.y_mm - cut.height_mm)
