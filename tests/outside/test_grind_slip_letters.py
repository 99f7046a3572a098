"""The marks of a slip, measured on the rendered page: 9 CFR 316.16 and 317.16 ask for letters of at least 3/8 in."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest

from freezerbox.chores import give
from freezerbox.chores.slip import NOT_FOR_SALE, print_slip
from freezerbox.pages.sheet import PAPERS
from tests.conftest import Stocked

DPI = 600
OTHER = "Donated game meat"
"""Words of a giver's own, which the slip has in capitals of the same height."""


@pytest.fixture(params=sorted(PAPERS))
def slip(request: pytest.FixtureRequest, stocked: Stocked, tmp_path: Path) -> Path:
    """A slip as it is given out with the packages, both marks on it."""
    given = give.give(stocked.kitchen, [stocked.chops[0].code], "Sister")
    file = tmp_path / "slip.pdf"
    return print_slip(stocked.kitchen.afresh(), given, file, marks=[NOT_FOR_SALE, OTHER], paper=request.param).file


def heights_in(file: Path, words: str) -> Iterator[tuple[str, float, float]]:
    """Each letter of ``words`` on the first page, its height in inches by its ink, and where its foot stands."""
    page = pypdfium2.PdfDocument(file)[0]
    picture = page.render(scale=DPI / 72, grayscale=True).to_pil()
    text = page.get_textpage()
    start, count = text.search(words, match_case=True).get_next()
    for index in range(start, start + count):
        if not (letter := text.get_text_range(index, 1)).strip():
            continue
        left, bottom, right, top = (value / 72 for value in text.get_charbox(index))
        high = page.get_height() / 72
        box = (left, high - top - 0.05, right, high - bottom + 0.05)
        ink = picture.crop(tuple(round(value * DPI) for value in box))
        width = ink.width
        rows = [row for row in range(ink.height) if min(ink.tobytes()[row * width : (row + 1) * width]) < 128]
        assert rows == list(range(rows[0], rows[-1] + 1)), f"{letter!r} is cut by something, or cut off"
        yield letter, len(rows) / DPI, bottom


@pytest.mark.parametrize("words", [NOT_FOR_SALE, OTHER.upper()])
def test_each_letter_of_a_mark_is_at_least_three_eighths_of_an_inch(slip: Path, words: str) -> None:
    found = list(heights_in(slip, words))
    assert "".join(letter for letter, _, _ in found) == words.replace(" ", "")
    assert [(letter, height) for letter, height, _ in found if not 3 / 8 <= height < 3 / 8 * 1.1] == []


@pytest.mark.parametrize("words", [NOT_FOR_SALE, OTHER.upper()])
def test_whole_mark_is_on_one_line_of_the_page(slip: Path, words: str) -> None:
    feet = [foot for _, _, foot in heights_in(slip, words)]
    assert max(feet) - min(feet) < 0.05
