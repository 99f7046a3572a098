"""The marks of a slip, measured on the rendered page: 9 CFR 316.16 and 317.16 ask for letters of at least 3/8 in."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest

from freezerbox.chores.slip import MARK_MM, NOT_FOR_SALE
from freezerbox.pages.sheet import PAPERS, Text, write_sheet

DPI = 600


def rows_of_ink(file: Path) -> list[int]:
    """Rows of the page, in dots at 600 dpi, that have ink, the foot of the page left out."""
    picture = pypdfium2.PdfDocument(file)[0].render(scale=DPI / 72, grayscale=True).to_pil()
    width, height = picture.size
    data = picture.crop((0, 0, width, height - DPI)).tobytes()
    return [row for row in range(height - DPI) if min(data[row * width : (row + 1) * width]) < 128]


@pytest.mark.parametrize(
    "letter", list(dict.fromkeys(NOT_FOR_SALE.replace(" ", "") + "DONATED GAME MEAT".replace(" ", "")))
)
def test_each_letter_of_a_mark_is_at_least_three_eighths_of_an_inch(tmp_path: Path, letter: str) -> None:
    file = tmp_path / "mark.pdf"
    write_sheet([Text(words=letter, size_mm=MARK_MM)], file, title="mark")
    ink = rows_of_ink(file)
    assert ink == list(range(ink[0], ink[-1] + 1))
    assert len(ink) / DPI >= 3 / 8
    assert len(ink) / DPI * 25.4 < MARK_MM * 1.06


def test_whole_mark_is_on_one_line_of_the_page(tmp_path: Path) -> None:
    for paper in PAPERS:
        file = tmp_path / f"{paper}.pdf"
        write_sheet([Text(words=NOT_FOR_SALE, size_mm=MARK_MM)], file, title="mark", paper=paper)
        ink = rows_of_ink(file)
        assert len(ink) == ink[-1] - ink[0] + 1
