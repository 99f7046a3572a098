"""The picture against its layout: letter heights measured, nothing outside its box, modules of whole dots."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageChops

from freezerbox.errors import InputError
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import Drawn, draw
from freezerbox.labels.layout import Box
from freezerbox.labels.library import stock, stock_names
from freezerbox.labels.paint import OVER_DOTS
from freezerbox.labels.symbols import QR_QUIET, code128_bars, qr_modules, qr_symbol


def contents() -> dict[str, LabelContent]:
    path = Path(__file__).parent / "contents.toml"
    table: dict[str, dict[str, Any]] = tomllib.loads(path.read_text(encoding="utf-8"))
    base = table.pop("base")
    made = {name: LabelContent(**{**base, **own}) for name, own in table.items()}
    return {
        name: replace(one, banners=tuple(one.banners), short=tuple((long, few) for long, few in one.short))
        for name, one in made.items()
    }


CONTENTS = contents()
PAIRS = [(name, case) for name in stock_names() for case in CONTENTS]


@lru_cache(maxsize=64)
def drawn(name: str, case: str) -> Drawn:
    return draw([CONTENTS[case]], name)


def ink(picture: Image.Image) -> tuple[int, int, int, int] | None:
    return ImageChops.invert(picture.convert("L")).getbbox()


def box_dots(box: Box, name: str, spare: int = 0) -> tuple[int, int, int, int]:
    paper = stock(name)
    left, top = paper.dots(box.x_mm), paper.dots(box.y_mm)
    right, bottom = paper.dots(box.x_mm + box.width_mm), paper.dots(box.y_mm + box.height_mm)
    return left - spare, top - spare, right + spare, bottom + spare


@pytest.mark.parametrize(("name", "case"), PAIRS)
def test_black_only_inside_the_boxes(name: str, case: str) -> None:
    picture = drawn(name, case).pictures[0].copy()
    assert picture.mode == "1"
    assert picture.size == (stock(name).dots(stock(name).width_mm), stock(name).dots(stock(name).height_mm))
    for box in drawn(name, case).layouts[0].boxes:
        left, top, right, bottom = box_dots(box, name)
        over = OVER_DOTS if box.kind == "text" else 0
        picture.paste(255, (left, top - over, right, bottom + over))
    assert ink(picture) is None


@pytest.mark.parametrize(("name", "case"), PAIRS)
def test_every_box_has_black_and_white_in_it(name: str, case: str) -> None:
    picture = drawn(name, case).pictures[0]
    for box in drawn(name, case).layouts[0].boxes:
        colours = picture.crop(box_dots(box, name)).getcolors()
        assert colours is not None
        assert len(colours) == 2, box


@pytest.mark.parametrize(
    ("name", "case", "least_mm"),
    [("letter-10up", "chops", 8), ("letter-10up", "longest", 8), ("letter-10up", "brackets", 8)]
    + [
        (name, case, 3.45)
        for name in ("letter-30up", "roll-2x1in-203dpi")
        for case in ("chops", "longest", "brackets")
    ],
)
def test_letters_of_the_cut_measured_in_the_picture(name: str, case: str, least_mm: float) -> None:
    """The cut's first letter is L or S, neither of which reaches below the line: its ink is a capital's height."""
    paper, one = stock(name), drawn(name, case)
    box = next(box for box in one.layouts[0].boxes if box.field == "cut")
    left, top, right, bottom = box_dots(box, name)
    first = one.pictures[0].crop((left, top, left + round((right - left) / (1.6 * len(box.text))), bottom))
    found = ink(first)
    assert found is not None
    height_mm = (found[3] - found[1]) * 25.4 / paper.dpi
    assert height_mm >= least_mm
    assert height_mm == pytest.approx(box.cap_mm, abs=0.06 * box.cap_mm + 25.4 / paper.dpi)


@pytest.mark.parametrize("name", stock_names())
def test_code_letters_measured(name: str) -> None:
    one = drawn(name, "chops")
    box = next(box for box in one.layouts[0].boxes if box.field == "code")
    found = ink(one.pictures[0].crop(box_dots(box, name)))
    assert found is not None
    assert (found[3] - found[1]) * 25.4 / stock(name).dpi >= (4.0 if name == "letter-10up" else 2.4)


@pytest.mark.parametrize("name", stock_names())
def test_modules_are_whole_dots_and_exact(name: str) -> None:
    one = drawn(name, "chops")
    for box in (box for box in one.layouts[0].boxes if box.kind == "qr"):
        dots = round(box.cap_mm * stock(name).dpi / 25.4)
        left, top, right, bottom = box_dots(box, name)
        square = one.pictures[0].crop((left, top, left + 29 * dots, top + 29 * dots))
        assert abs(right - left - 29 * dots) <= 1
        assert abs(bottom - top - 29 * dots) <= 1
        for row in range(29):
            for column in range(29):
                cell = square.crop((column * dots, row * dots, (column + 1) * dots, (row + 1) * dots))
                inside = 0 <= row - QR_QUIET < 21 and 0 <= column - QR_QUIET < 21
                dark = inside and qr_modules(box.text)[row - QR_QUIET][column - QR_QUIET]
                assert cell.getcolors() == [(dots * dots, 0 if dark else 255)]


def test_the_mask_in_use_is_told() -> None:
    text = CONTENTS["chops"].symbol_text
    assert drawn("letter-10up", "chops").masks == (qr_symbol(text).mask,)
    assert qr_modules(text, mask=qr_symbol(text).mask) == qr_modules(text)
    assert len({qr_modules(text, mask=mask) for mask in range(8)}) == 8


def test_levels() -> None:
    assert [qr_symbol("A" * length).level for length in (1, 6, 10, 11, 16)] == ["H", "H", "H", "Q", "Q"]
    assert all(len(qr_modules("A" * length)) == 21 for length in (1, 10, 16))


@pytest.mark.parametrize("text", ["A" * 17, "", "abc", "K7P_3MT", "Ä"])
def test_no_symbol_for_other_texts(text: str) -> None:
    with pytest.raises(InputError):
        qr_modules(text)


@pytest.mark.parametrize("text", ["", "Ä", "\n"])
def test_no_bars_for_other_texts(text: str) -> None:
    with pytest.raises(InputError):
        code128_bars(text)


def test_unknown_letters_are_question_marks() -> None:
    one = draw([replace(CONTENTS["chops"], animal="日本 doe", note="")], "letter-10up")
    assert [box.text for box in one.layouts[0].boxes if box.field == "animal"] == ["?? doe"]


def test_accents_are_drawn_and_not_replaced() -> None:
    plain = draw([replace(CONTENTS["chops"], cut="Roti")], "letter-10up")
    accent = draw([replace(CONTENTS["chops"], cut="Rôti ½")], "letter-10up")
    assert next(box.text for box in accent.layouts[0].boxes if box.field == "cut") == "Rôti ½"
    assert plain.pictures[0].tobytes() != accent.pictures[0].tobytes()


def test_the_fence_is_all_round_and_only_there() -> None:
    for name in stock_names():
        with_fence, without = drawn(name, "dog"), drawn(name, "chops")
        fence = next(box for box in with_fence.layouts[0].boxes if box.kind == "fence")
        assert not [box for box in without.layouts[0].boxes if box.kind == "fence"]
        left, top, right, bottom = box_dots(fence, name)
        thick = stock(name).dots(fence.cap_mm)
        picture = with_fence.pictures[0]
        for side in (
            (left, top, right, top + thick),
            (left, bottom - thick, right, bottom),
            (left, top, left + thick, bottom),
            (right - thick, top, right, bottom),
        ):
            strip = picture.crop(side)
            black = strip.histogram()[0] / (strip.width * strip.height)
            assert 0.4 < black < 0.85


def test_white_letters_on_a_block() -> None:
    one = drawn("letter-10up", "plain")
    box = next(box for box in one.layouts[0].boxes if box.field == "fat")
    block = one.pictures[0].crop(box_dots(box, "letter-10up"))
    assert block.getpixel((1, 1)) == 0
    assert 0.5 < block.histogram()[0] / (block.width * block.height) < 0.9


def test_the_tail_of_a_q_in_a_code_is_not_cut_off() -> None:
    pictures = [draw([replace(CONTENTS["held"], code=code)], "letter-30up") for code in ("Q00000", "000000")]
    box = next(box for box in pictures[0].layouts[0].boxes if box.field == "code")
    dots = stock("letter-30up").dots
    below = (dots(box.x_mm), dots(box.y_mm + box.height_mm) + OVER_DOTS, dots(box.x_mm + box.width_mm))
    inks = [ink(one.pictures[0].crop((*below, one.pictures[0].height - 2))) for one in pictures]
    assert inks[0] is not None
    assert inks[0][3] < dots(box.cap_mm * 0.3)
    assert inks[1] is None
