"""A symbol as a picture, to be read by the decoder before anything that bears it is printed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

_STEP = 6
_QUIET = 10
_BARS_ROWS = 20


def picture_of(rows: Sequence[Sequence[bool]]) -> Image:
    """Modules as black squares on white, with room around them."""
    from PIL import Image

    width, height = len(rows[0]) + 2 * _QUIET, len(rows) + 2 * _QUIET
    small = Image.new("L", (width, height), 255)
    for y, row in enumerate(rows, _QUIET):
        for x, dark in enumerate(row, _QUIET):
            if dark:
                small.putpixel((x, y), 0)
    return small.resize((width * _STEP, height * _STEP), Image.Resampling.NEAREST)


def picture_of_bars(bars: str) -> Image:
    """A Code 128's bars, ``1`` dark, as a picture."""
    return picture_of([[bar == "1" for bar in bars]] * _BARS_ROWS)
