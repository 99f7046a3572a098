"""The file that goes to the printer, rendered at the printer's dots and measured: contrast and heights of letters.

Contrast is the highest less the lowest reflectance, with black ink 0 and white paper 1, as symbol contrast is of
ISO/IEC 15415 (the standard was not read: as guides of verifier makers tell it).  Of the QR it is measured through a
window of 0.8 modules, the measure that GS1 gives its apertures; of letters through ``EYE_MM``.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import pypdfium2
import pytest
from PIL import Image, ImageFilter, ImageOps

from freezerbox.labels.draw import draw
from freezerbox.labels.layout import Box, Layout
from freezerbox.labels.library import stock, stock_names
from freezerbox.labels.sheet import write
from freezerbox.labels.stock import Stock
from tests.labels.test_labels_layout import CONTENTS

EYE_MM = 0.2
"""What an eye parts that parts one minute of arc, from 0.7 m (0.7 m x tan 1'): an arm and a lid away."""
LEAST_CONTRAST = 0.9
SEVEN_POINTS_MM = 1.79
WORDS = ("cut", "weight", "month", "season", "code")
# A sheet of 600 dpi takes a second to render: the long ones are left to the sweep but for one.
EVERYDAY = ("letter-30up", *(name for name in stock_names() if stock(name).kind == "roll"))
NAMES = [
    pytest.param(name, marks=() if name in EVERYDAY else (pytest.mark.sweep,), id=name) for name in stock_names()
]


@dataclass(frozen=True, slots=True)
class Rendered:
    """One label cut out of the rendered page, in greys, and where its parts should be."""

    picture: Image.Image
    layout: Layout
    paper: Stock

    def boxes(self, field: str) -> list[Box]:
        """What is printed of a field in letters or on a block."""
        return [box for box in self.layout.boxes if box.field == field and box.kind in ("text", "block")]

    def crop(self, box: Box) -> Image.Image:
        dots = self.paper.dots
        left, top = dots(box.x_mm), dots(box.y_mm)
        return self.picture.crop((left, top, dots(box.x_mm + box.width_mm), dots(box.y_mm + box.height_mm)))

    def mm(self, dots: int) -> float:
        return dots * 25.4 / self.paper.dpi

    def contrast(self, box: Box, window_mm: float) -> float:
        """Highest less lowest reflectance in a box, each the mean over a window so wide."""
        side = max(1, round(window_mm * self.paper.dpi / 25.4))
        # Means over whole windows of dots; a window of even width lies half a dot aside, which is no matter here.
        seen = self.crop(box)
        if side > 1:
            width, height = seen.size
            seen = seen.filter(ImageFilter.BoxBlur((side - 1) / 2)).crop(
                (side // 2, side // 2, width - side // 2, height - side // 2)
            )
        lowest, highest = seen.getextrema()
        return (highest - lowest) / 255  # type: ignore[operator]


@lru_cache(maxsize=2)
def rendered(name: str, case: str = "chops") -> Rendered:
    drawn = draw([CONTENTS[case]], name)
    paper = drawn.stock
    with tempfile.TemporaryDirectory() as folder:
        (file,) = write(drawn.pages, Path(folder) / "label.pdf", paper)
        with pypdfium2.PdfDocument(file) as document:
            assert len(document) == 1
            page = document[0].render(scale=paper.dpi / 72, grayscale=True).to_pil().convert("L")
    place = drawn.positions[0]
    left, top = paper.dots(place.x_mm), paper.dots(place.y_mm)
    size = drawn.pictures[0].size
    picture = page.crop((left, top, left + size[0], top + size[1]))
    return Rendered(picture, drawn.layouts[0], paper)


@pytest.mark.parametrize("name", NAMES)
def test_contrast_of_words_as_an_eye_sees_them(name: str) -> None:
    """Strokes that are too thin or too close run into a grey; those of a block are white on black."""
    label = rendered(name)
    found = {
        field: min(label.contrast(box, EYE_MM) for box in label.boxes(field)) for field in WORDS if label.boxes(field)
    }
    assert {"cut", "weight", "month", "code"} <= set(found)
    assert {field: contrast for field, contrast in found.items() if contrast < LEAST_CONTRAST} == {}
    # And what was measured can be otherwise: through a window as wide as the letters are high it is far less.
    blurred = max(label.contrast(box, box.cap_mm * 0.8) for box in label.boxes("weight"))
    assert blurred < LEAST_CONTRAST


@pytest.mark.parametrize("name", NAMES)
def test_contrast_of_the_symbols(name: str) -> None:
    label = rendered(name)
    squares = [box for box in label.layout.boxes if box.kind == "qr"]
    assert squares
    for box in squares:
        assert label.contrast(box, 0.8 * box.cap_mm) >= 0.99


@pytest.mark.parametrize("name", NAMES)
def test_the_season_shows_in_one_colour(name: str) -> None:
    """White on a black block; where there is a tab, a black part in a white frame stands for the season too."""
    label = rendered(name)
    (block,) = label.boxes("season")
    assert block.kind == "block"
    seen = label.crop(block)
    black = seen.point(lambda value: 255 if value < 128 else 0).histogram()[255] / (seen.width * seen.height)
    assert 0.5 < black < 0.85
    assert label.mm(seen.height) >= 2.4
    assert label.contrast(block, EYE_MM) >= LEAST_CONTRAST
    for tab in (box for box in label.layout.boxes if box.kind == "tab"):
        # Seen through half its own width it is still black here and white there: a block and no line.
        assert label.contrast(tab, min(tab.width_mm, tab.height_mm) / 2) >= LEAST_CONTRAST


def capital(label: Rendered, box: Box) -> float:
    """Height of ink in mm: of a name its first letter alone, which neither hangs below the line nor rises above."""
    seen = ImageOps.invert(label.crop(box)).point(lambda value: 255 if value > 127 else 0)
    if box.field == "cut":
        seen = seen.crop((0, 0, round(seen.width / (1.6 * len(box.text))), seen.height))
    ink = seen.getbbox()
    assert ink is not None
    return label.mm(ink[3] - ink[1])


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("case", ["chops", "held"])
def test_heights_of_letters(name: str, case: str) -> None:
    """As the layout says, to a dot and a figure's curve; none below seven points, the cut and month well above."""
    label = rendered(name, case)
    large = label.paper.height_mm > 50
    least = {"cut": 8.0 if large else 3.5, "month": 4.5 if large else 2.2, "weight": SEVEN_POINTS_MM}
    for field, least_mm in least.items():
        box = label.boxes(field)[0]
        measured = capital(label, box)
        assert measured >= least_mm, field
        # Figures and the l and b of a unit rise a little above a capital.
        assert measured == pytest.approx(box.cap_mm, abs=0.08 * box.cap_mm + 25.4 / label.paper.dpi), field
