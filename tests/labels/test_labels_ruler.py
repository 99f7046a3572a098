"""A ruler printed beside labels: 100 mm in the picture are 100 mm, and no label is touched."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from freezerbox.errors import InputError
from freezerbox.labels.library import stock, stock_names
from freezerbox.labels.ruler import ruler_label, ruler_mm, ruler_page, with_ruler
from tests.cli.process import House

SHEETS = [name for name in stock_names() if stock(name).kind == "sheet"]


@pytest.mark.parametrize("name", SHEETS)
def test_it_stands_in_the_margin_of_the_first_sheet(name: str) -> None:
    paper = stock(name)
    size = (paper.dots(paper.page_width_mm), paper.dots(paper.page_height_mm))
    first, second = with_ruler([Image.new("1", size, 255), Image.new("1", size, 255)], paper)
    assert second.getextrema() == (255, 255)
    assert first.crop((0, paper.dots(paper.top_mm), *size)).getextrema() == (255, 255), "nothing on a label"
    # One millimetre below its upper edge every stroke is there; the two that end it are 100 mm apart.
    y = paper.dots(paper.top_mm - 7)
    black = [x for x in range(paper.dots(paper.left_mm + 105)) if first.getpixel((x, y)) == 0]
    assert (black[-1] - black[0]) * 25.4 / paper.dpi == pytest.approx(100, abs=0.3)


ROLLS = [name for name in stock_names() if stock(name).kind == "roll"]


@pytest.mark.parametrize("name", ROLLS)
def test_nothing_on_a_roll_is_cut_off_at_the_right(name: str) -> None:
    """Right of where its words and strokes must end there is only the frame."""
    paper = stock(name)
    for page, frame_mm in ((ruler_page(paper), 0.4), (ruler_label(paper), 0.0)):
        width, height = page.size
        inner = page.crop((width - paper.dots(0.9), paper.dots(10), width - paper.dots(frame_mm), height - 9))
        assert inner.getextrema() == (255, 255)
        # And the words are there: ink right of the strokes and left of the edge.
        assert page.crop((paper.dots(9), paper.dots(10.5), width // 2, height - 9)).getextrema()[0] == 0
    assert ruler_mm(paper) == min(100, (int(paper.width_mm) - 1) // 10 * 10)


def test_a_margin_too_narrow_for_it() -> None:
    paper = replace(stock("letter-10up"), top_mm=5)
    with pytest.raises(InputError, match="no room for a ruler"):
        list(with_ruler([Image.new("1", (10, 10), 255)], paper))


def test_at_the_command_line(tmp_path: Path) -> None:
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    house.ok("pack", "loin chops", "1.1", "1.2", "--species", "pork")
    roll = ("--stock", "roll-2x1in-203dpi")
    with_one = house.ok("label", "--look", *roll, "--ruler", "--to", "ruled.png", "--json").json
    assert [Path(file).name for file in with_one["files"]] == ["ruled.png", "ruled-2.png", "ruled-3.png"]
    assert [Path(label["file"]).name for label in with_one["labels"]] == ["ruled.png", "ruled-2.png"]
    house.ok("label", "--look", "--to", "plain.png")
    house.ok("label", "--look", "--ruler", "--to", "sheet.png")
    with Image.open(tmp_path / "plain.png") as plain, Image.open(tmp_path / "sheet.png") as ruled:
        assert plain.tobytes() != ruled.tobytes()
    read = house.ok("scan", "--photo", "sheet.png", "--json").json["photos"][0]["codes"]
    assert {code["text"][:6] for code in read} == {label["code"] for label in with_one["labels"]}
    # A file in the way of the ruler's own label is not written over either.
    for name in ("ruled.png", "ruled-2.png"):
        (tmp_path / name).unlink()
    assert house.refused("label", *roll, "--ruler", "--to", "ruled.png").status == 1
