"""Where a tag beside the symbols of a label covers least of what stands on the label."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import dist, hypot, sqrt
from typing import TYPE_CHECKING

from freezerbox.reading.grid import Point

if TYPE_CHECKING:
    from PIL.Image import Image

Box = tuple[float, float, float, float]
_EDGE = 24  # of 255: a step of brightness that is a letter's or a line's, and no shadow's; our own measure
_TAKEN, _WORDS, _OWN, _DETAIL = 255, 240, 90, 80
"""What it costs to stand on another symbol or tag, where a label has words, on a symbol read already, and where there
are letters or lines by the look of it; of 255."""
_ABOVE, _BELOW = 2.2, 0.4  # sides of a symbol that a label goes on above it and below it, about
_AWAY = 6.0  # of 255, a height of the tag away from the symbol: near it, unless words would be covered there


@dataclass
class Tags:
    """Finds the places.  detail: where the picture has letters and lines, light on black.

    labels: the symbols of each, by number.
    """

    detail: Image
    symbols: Sequence[Sequence[Point]]
    labels: Sequence[Sequence[int]]
    placed: list[Box] = field(default_factory=list)

    def __post_init__(self) -> None:
        from PIL import Image, ImageChops, ImageDraw

        words = Image.new("L", self.detail.size, 0)
        draw = ImageDraw.Draw(words)
        for label in self.labels:
            draw.polygon(_words_of([self.symbols[number] for number in label]), fill=_WORDS)
        self.detail = ImageChops.lighter(self.detail, words)

    def place(self, label: Sequence[int], width: float, height: float) -> Box:
        """The box for a tag of that size beside one of the label's symbols, inside the picture if it can be."""
        from PIL import Image, ImageDraw, ImageFilter

        own = bounds([corner for number in label for corner in self.symbols[number]])
        each = [bounds(self.symbols[number]) for number in label]
        gap = height * 0.3
        # Looked for around the symbols, as far away as the tag is long and the label large.
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
            draw.polygon(shifted, fill=_OWN if at in label else _TAKEN, outline=_TAKEN, width=max(1, int(gap)))
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
                cost = value + _AWAY * min(_apart(box, one) for one in each) / height
                if best is None or cost < best[0]:
                    best = (cost, box)
        x, y = max(0.0, min(own[0], self.detail.width - width)), max(0.0, self.detail.height - height)
        found = best[1] if best else (x, y, x + width, y + height)
        self.placed.append(found)
        return found


def _words_of(symbols: Sequence[Sequence[Point]]) -> list[Point]:
    """The outline of where a label has its words: between its symbols and above them, seen as they are turned."""
    first = max(symbols, key=_side)
    (ox, oy), (rx, ry), _, (dx, dy) = first
    across, down = (rx - ox, ry - oy), (dx - ox, dy - oy)
    k = across[0] * down[1] - across[1] * down[0] or 1e-9
    corners = [(x - ox, y - oy) for one in symbols for x, y in one]
    along = [(x * down[1] - y * down[0]) / k for x, y in corners]
    below = [(y * across[0] - x * across[1]) / k for x, y in corners]
    ends = (min(along), max(along), min(below) - _ABOVE, max(below) + _BELOW)
    return [
        (ox + u * across[0] + v * down[0], oy + u * across[1] + v * down[1])
        for u, v in ((ends[0], ends[2]), (ends[1], ends[2]), (ends[1], ends[3]), (ends[0], ends[3]))
    ]


def _side(corners: Sequence[Point]) -> float:
    """Of a square as large; bars are no square."""
    return sqrt(dist(corners[0], corners[1]) * dist(corners[1], corners[2]))


def detail_of(picture: Image) -> Image:
    """Where a picture has letters and lines: light on black."""
    from PIL import ImageFilter

    edges = picture.convert("L").filter(ImageFilter.FIND_EDGES)
    return edges.point([_DETAIL * (value > _EDGE) for value in range(256)])


def bounds(corners: Sequence[Point]) -> Box:
    """The upright box round a symbol."""
    across, down = [x for x, _ in corners], [y for _, y in corners]
    return (min(across), min(down), max(across), max(down))


def _apart(one: Box, other: Box) -> float:
    """How far two boxes lie from one another; 0 when they touch."""
    return hypot(max(0.0, other[0] - one[2], one[0] - other[2]), max(0.0, other[1] - one[3], one[1] - other[3]))


def nearest(box: Box, symbols: Sequence[Sequence[Point]]) -> tuple[Point, Point]:
    """Where a line from a tag to a symbol begins and ends: the shortest there is, from the tag's own edge."""
    own = min(map(bounds, symbols), key=lambda one: _apart(box, one))
    x = min(max((box[0] + box[2]) / 2, own[0]), own[2])
    y = min(max((box[1] + box[3]) / 2, own[1]), own[3])
    return (min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3])), (x, y)
