"""Designs other than the standard one, and the season's block: against golden text, in the picture, and read back."""

from __future__ import annotations

import os
import tomllib
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from freezerbox.errors import UnknownWord
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import Drawn, draw
from freezerbox.labels.layout import Box, Layout
from freezerbox.labels.library import design_named, kinds_for, stock, stock_names
from freezerbox.reading.pictures import read_picture

HERE = Path(__file__).parent
TOLERANCE_MM = 0.01


def contents() -> dict[str, LabelContent]:
    table: dict[str, dict[str, Any]] = tomllib.loads((HERE / "contents.toml").read_text(encoding="utf-8"))
    base = table.pop("base")
    made = {name: LabelContent(**{**base, **own}) for name, own in table.items()}
    return {
        name: replace(one, banners=tuple(one.banners), short=tuple((long, few) for long, few in one.short))
        for name, one in made.items()
    }


CONTENTS = contents()
OTHERS = [
    (name, kind, case)
    for name in stock_names()
    if not stock(name).cut_marks
    for kind in kinds_for(stock(name))
    if kind != "standard"
    for case in CONTENTS
]


def drawn(name: str, kind: str, content: LabelContent) -> Drawn:
    paper = stock(name)
    return draw([content], paper, 1, design_named(kind, paper))


def layout(name: str, kind: str, case: str) -> Layout:
    return drawn(name, kind, CONTENTS[case]).layouts[0]


def box_of(found: Layout, kind: str) -> Box:
    return next(box for box in found.boxes if box.kind == kind)


def box_of_field(boxes: tuple[Box, ...], field: str) -> Box:
    return next(box for box in boxes if box.field == field)


def test_the_kinds() -> None:
    assert list(kinds_for(stock("letter-10up"))) == ["standard", "edge"]
    assert list(kinds_for(stock("a4-21up"))) == ["standard", "edge"]
    for name in ("roll-4x6in-300dpi", "letter-plain-2up", "a4-plain-2up"):
        assert list(kinds_for(stock(name))) == ["standard", "edge", "large"]
    assert all("edge" in kinds_for(stock(name)) for name in stock_names())
    assert {kind for _, kind, _ in OTHERS} == {"edge", "large"}
    with pytest.raises(UnknownWord, match="no design for US Letter, 30 labels"):
        design_named("large", stock("letter-30up"))
    assert design_named(" EDGE ", stock("letter-10up")).name == "edge-4x2in"


@pytest.mark.parametrize(("name", "kind", "case"), OTHERS)
def test_golden_and_kept_apart(name: str, kind: str, case: str) -> None:
    found = layout(name, kind, case)
    golden = HERE / "golden-kinds" / f"{name}.{kind}.{case}.txt"
    if os.environ.get("FREEZERBOX_RENEW_GOLDEN"):
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(found.as_text(), encoding="utf-8")
    assert found.as_text() == golden.read_text(encoding="utf-8")
    inner = [box for box in found.boxes if box.kind != "fence"]
    for at, one in enumerate(inner):
        assert 0 <= one.x_mm <= one.x_mm + one.width_mm <= found.width_mm + TOLERANCE_MM
        assert 0 <= one.y_mm <= one.y_mm + one.height_mm <= found.height_mm + TOLERANCE_MM
        for other in inner[at + 1 :]:
            across = min(one.x_mm + one.width_mm, other.x_mm + other.width_mm) - max(one.x_mm, other.x_mm)
            down = min(one.y_mm + one.height_mm, other.y_mm + other.height_mm) - max(one.y_mm, other.y_mm)
            assert across <= TOLERANCE_MM or down <= TOLERANCE_MM, (one, other)


@pytest.mark.parametrize(("name", "kind", "case"), OTHERS)
def test_all_that_must_be_said_is_said_and_reads(name: str, kind: str, case: str) -> None:
    content, made = CONTENTS[case], drawn(name, kind, CONTENTS[case])
    said = {box.field for box in made.layouts[0].boxes}
    wanted = {"cut", "animal", "month", "weight", "code"}
    wanted |= {field for field in ("form", "fat", "seasoning", "hold") if getattr(content, field)}
    assert wanted <= said
    fewer = dict(content.short)
    banners = {box.text for box in made.layouts[0].boxes if box.field == "banners"}
    assert {fewer.get(one, one) for one in banners} == {fewer.get(one, one) for one in content.banners}
    assert ("fence" in said) == ("NOT FOR PEOPLE" in content.banners)
    found = sorted((symbol.symbology, symbol.text) for symbol in read_picture(made.pictures[0]))
    assert found == sorted(made.layouts[0].symbols)


@pytest.mark.parametrize(
    "case", ["short", "chops", "held", "longest", "brackets", "fat", "plain", "bear", "accents", "dog", "awkward"]
)
def test_upright_packs_show_cut_and_month_at_the_edge(case: str) -> None:
    found = layout("letter-10up", "edge", case)
    strip = max(box.y_mm + box.height_mm for box in found.boxes if box.field in ("cut", "month"))
    assert strip <= 18
    others = [
        box.y_mm for box in found.boxes if box.kind in ("text", "block") and box.field in ("animal", "weight", "hold")
    ]
    assert min(others) >= strip - TOLERANCE_MM


def test_the_a4_edge_strip_has_cut_and_month_above_all_else() -> None:
    for name, case in product(("a4-21up", "a4-24up"), ("short", "chops", "held", "longest", "plain", "bear", "dog")):
        boxes = layout(name, "edge", case).boxes
        strip = max(box.y_mm + box.height_mm for box in boxes if box.field in ("cut", "month"))
        others = [box.y_mm for box in boxes if box.field in ("animal", "weight", "hold", "banners", "code")]
        assert min(others) >= strip - TOLERANCE_MM
        month, cut = (max(box.cap_mm for box in boxes if box.field == field) for field in ("month", "cut"))
        assert cut >= month >= 0.7 * cut


@pytest.mark.parametrize("name", ["letter-20up", "roll-62x29mm-300dpi", "roll-4x6in-203dpi"])
@pytest.mark.parametrize("case", ["short", "chops", "held", "plain", "bear", "brackets"])
def test_small_and_large_labels_have_an_edge_strip_too(name: str, case: str) -> None:
    boxes = layout(name, "edge", case).boxes
    strip = max(box.y_mm + box.height_mm for box in boxes if box.field in ("cut", "month"))
    assert strip <= {"letter-20up": 13, "roll-62x29mm-300dpi": 13, "roll-4x6in-203dpi": 50}[name]
    others = [box.y_mm for box in boxes if box.field in ("animal", "weight", "hold", "banners", "code")]
    assert min(others) >= strip - TOLERANCE_MM


@pytest.mark.parametrize("case", ["sausage", "awkward", "dog", "bear", "brackets", "held"])
@pytest.mark.parametrize(
    "name",
    [
        "letter-30up",
        "roll-2x1in-203dpi",
        "roll-2x1in-300dpi",
        "roll-62x29mm-300dpi",
        "letter-20up",
        "a4-21up",
        "a4-24up",
        "letter-10up",
    ],
)
def test_the_month_stays_at_the_edge_of_crowded_labels(name: str, case: str) -> None:
    boxes = layout(name, "edge", case).boxes
    month = box_of_field(boxes, "month")
    assert month.cap_mm >= 2.5
    assert all(box.y_mm >= month.y_mm for box in boxes if box.field in ("hold", "banners", "animal", "weight"))


@pytest.mark.parametrize("case", sorted(CONTENTS))
def test_there_is_room_to_draw(case: str) -> None:
    made = drawn("roll-4x6in-203dpi", "large", CONTENTS[case])
    room = box_of(made.layouts[0], "room")
    assert room.height_mm >= 30
    assert room.width_mm >= 85
    dots = stock("roll-4x6in-203dpi").dots
    left, top = dots(room.x_mm + 1), dots(room.y_mm + 1)
    inside = (left, top, dots(room.x_mm + room.width_mm - 1), dots(room.y_mm + room.height_mm - 1))
    assert made.pictures[0].crop(inside).getextrema() == (255, 255)


def test_memory_line() -> None:
    written = layout("roll-4x6in-203dpi", "large", "held")
    assert "first snow, the creek" in [box.text for box in written.boxes if box.field == "memory"]
    assert "note" not in written.dropped
    blank = layout("roll-4x6in-203dpi", "large", "chops")
    assert [box.kind for box in blank.boxes if box.field == "memory"] == ["blank"]
    line, room = box_of_field(blank.boxes, "memory"), box_of(blank, "room")
    assert (line.x_mm, line.width_mm) == (room.x_mm, room.width_mm)
    assert "memory" not in layout("letter-10up", "standard", "chops").dropped


LYING = ("letter-20up",)


def block_middle(made: Drawn) -> float:
    """Where in its strip the season's block stands in the picture: 0 top or left, 1 bottom or right."""
    paper, tab = made.stock, box_of(made.layouts[0], "tab")
    picture = made.pictures[0]  # painted anew each time it is asked for
    assert (tab.width_mm > tab.height_mm) == (paper.name in LYING)
    if paper.name in LYING:
        picture = picture.transpose(Image.Transpose.TRANSPOSE)
        tab = replace(tab, x_mm=tab.y_mm, y_mm=tab.x_mm, width_mm=tab.height_mm, height_mm=tab.width_mm)
    middle = paper.dots(tab.x_mm + tab.width_mm / 2)
    top, bottom = paper.dots(tab.y_mm) + 3, paper.dots(tab.y_mm + tab.height_mm) - 3
    black = [y for y in range(top, bottom) if picture.getpixel((middle, y)) == 0]
    assert black == list(range(black[0], black[-1] + 1)), "one block"
    return (sum(black) / len(black) - top) / (bottom - top)


@pytest.mark.parametrize(
    "name",
    [
        "letter-10up",
        "letter-20up",
        "roll-4x2in-203dpi",
        "a4-21up",
        "a4-24up",
        "roll-4x6in-203dpi",
        "roll-62x29mm-300dpi",
    ],
)
def test_the_seasons_block_stands_lower_each_year(name: str) -> None:
    seasons = ("24/25", "25/26", "26/27", "27/28", "28/29")
    places = [block_middle(drawn(name, "standard", replace(CONTENTS["chops"], season=one))) for one in seasons]
    assert places[0] < places[1] < places[2] < places[3]
    assert places[3] - places[0] > 0.6
    assert places[4] == places[0]
    for words in ("", "unknown"):
        found = drawn(name, "standard", replace(CONTENTS["chops"], season=words)).layouts[0]
        assert "tab" not in {box.kind for box in found.boxes}
