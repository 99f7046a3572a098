"""Where a tag beside a symbol covers least of what stands on the label."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import hypot
from typing import TYPE_CHECKING

from freezerbox.reading.grid import Point

if TYPE_CHECKING:
    from PIL.Image import Image

Box = tuple[float, float, float, float]
_EDGE = 24  # of 255: a step of brightness that is a letter's or a line's, and no shadow's; our own measure
_TAKEN, _OWN = 255, 90
"""What it costs to stand on another symbol or tag, and on the symbol itself, which is read already; of 255."""
_AWAY = 6.0  # of 255, a height of the tag away from the symbol: near it, unless words would be covered there


@dataclass
class Tags:
    """Finds the places.  detail: where the picture has letters and lines, white on black; what is placed is added."""

    detail: Image
    symbols: Sequence[Sequence[Point]]
    placed: list[Box] = field(default_factory=list)

    def place(self, number: int, width: float, height: float) -> Box:
        """The box for a tag of that size beside the symbol of that number, kept inside the picture if it can be."""
        from PIL import Image, ImageDraw, ImageFilter

        own = bounds(self.symbols[number])
        gap = height * 0.3
        # Looked for around the symbol, as far away as the tag is long and the symbol large.
        reach = (max(width, own[2] - own[0]) + gap, max(3 * height, own[3] - own[1]) + gap)
        window = (
            int(max(0, own[0] - reach[0])),
            int(max(0, own[1] - reach[1])),
            int(min(self.detail.width, own[2] + reach[0])),
            int(min(self.detail.height, own[3] + reach[1])),
        )
        near = self.detail.crop(window)
        draw = ImageDraw.Draw(near)
        for at, corners in enumerate(self.symbols):
            shifted = [(x - window[0], y - window[1]) for x, y in corners]
            draw.polygon(shifted, fill=_OWN if at == number else _TAKEN, outline=_TAKEN, width=max(1, int(gap)))
        for box in self.placed:
            draw.rectangle((box[0] - window[0], box[1] - window[1], box[2] - window[0], box[3] - window[1]), _TAKEN)
        # The mean over the box that the tag would cover, at the box's middle.
        covered = near.filter(ImageFilter.BoxBlur((width / 2, height / 2)))
        assert isinstance(covered, Image.Image)
        best: tuple[float, Box] | None = None
        step = max(2, int(height / 4))
        for top in range(window[1] + 1, int(window[3] - height), step):
            for left in range(window[0] + 1, int(window[2] - width), step):
                box = (float(left), float(top), left + width, top + height)
                middle = (int(left - window[0] + width / 2), int(top - window[1] + height / 2))
                value = covered.getpixel(middle)
                assert isinstance(value, int | float)
                cost = value + _AWAY * _apart(box, own) / height
                if best is None or cost < best[0]:
                    best = (cost, box)
        x, y = max(0.0, min(own[0], self.detail.width - width)), max(0.0, self.detail.height - height)
        found = best[1] if best else (x, y, x + width, y + height)
        self.placed.append(found)
        return found


def detail_of(picture: Image) -> Image:
    """Where a picture has letters and lines: white on black."""
    from PIL import ImageFilter

    edges = picture.convert("L").filter(ImageFilter.FIND_EDGES)
    return edges.point([255 * (value > _EDGE) for value in range(256)])


def bounds(corners: Sequence[Point]) -> Box:
    """The upright box round a symbol."""
    across, down = [x for x, _ in corners], [y for _, y in corners]
    return (min(across), min(down), max(across), max(down))


def _apart(one: Box, other: Box) -> float:
    """How far two boxes lie from one another; 0 when they touch."""
    return hypot(max(0.0, other[0] - one[2], one[0] - other[2]), max(0.0, other[1] - one[3], one[1] - other[3]))


def nearest(box: Box, corners: Sequence[Point]) -> tuple[Point, Point]:
    """Where a line from a tag to its symbol begins and ends: the shortest there is, from the tag's own edge."""
    own = bounds(corners)
    x = min(max((box[0] + box[2]) / 2, own[0]), own[2])
    y = min(max((box[1] + box[3]) / 2, own[1]), own[3])
    return (min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3])), (x, y)
