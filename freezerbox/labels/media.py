"""The paper sizes that a printer lists, and whether a stock's paper is among them.

Names say their size themselves (PWG 5101.1): ``na_letter_8.5x11in``, ``oe_2x1-label_2x1in``, and a range in two
halves, ``custom_min_25.4x12.7mm`` with ``custom_max_108x300mm``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from freezerbox.labels.stock import MM_PER_INCH

TOLERANCE_MM = 1.0
"""So far may two sizes of one paper differ: common practice, no source; US Letter and A4 differ by 6 mm and more."""
_SIZE = re.compile(r"_(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)(in|mm)(?![a-z0-9])")
_RANGE = re.compile(r"^(custom|roll)_(min|max)(?![a-z0-9])")
_KNOWN = {(215.9, 279.4): "Letter", (210.0, 297.0): "A4"}
_INCH_PARTS = 8
Size = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """What a printer takes.

    fixed: width and height in mm.  ranges: the smallest and the largest of a range, each as width and height in mm.
    """

    fixed: tuple[Size, ...]
    ranges: tuple[tuple[Size, Size], ...]

    @property
    def known(self) -> bool:
        """Whether the printer lists any size at all; a raw queue lists none."""
        return bool(self.fixed or self.ranges)

    def lists(self, width_mm: float, height_mm: float) -> bool:
        """Whether a fixed size is that paper, upright or on its side, within ``TOLERANCE_MM``."""
        return any(
            abs(across - width) <= TOLERANCE_MM and abs(down - height) <= TOLERANCE_MM
            for across, down in self.fixed
            for width, height in ((width_mm, height_mm), (height_mm, width_mm))
        )

    def take(self, width_mm: float, height_mm: float) -> bool:
        """Whether that paper is a fixed size or within a range, upright or on its side, within ``TOLERANCE_MM``."""
        return self.lists(width_mm, height_mm) or any(
            least[0] - TOLERANCE_MM <= width <= most[0] + TOLERANCE_MM
            and least[1] - TOLERANCE_MM <= height <= most[1] + TOLERANCE_MM
            for least, most in self.ranges
            for width, height in ((width_mm, height_mm), (height_mm, width_mm))
        )

    def nearest(self, width_mm: float, height_mm: float) -> tuple[Size, ...]:
        """The fixed sizes, each once, the one most like that paper first."""
        return tuple(
            sorted(
                dict.fromkeys(self.fixed),
                key=lambda size: min(
                    abs(size[0] - width) + abs(size[1] - height)
                    for width, height in ((width_mm, height_mm), (height_mm, width_mm))
                ),
            )
        )


def sizes_of(names: Iterable[str]) -> Sizes:
    """The sizes that names of paper say; a name that says none is passed over, and half a range is none."""
    fixed: list[Size] = []
    halves: dict[tuple[str, str], list[Size]] = {}
    for name, size in _sized(names):
        half = _RANGE.match(name)
        if half:
            halves.setdefault((half[1], half[2]), []).append(size)
        else:
            fixed.append(size)
    ranges = [
        pair
        for kind in ("custom", "roll")
        for pair in zip(halves.get((kind, "min"), ()), halves.get((kind, "max"), ()), strict=False)
    ]
    return Sizes(fixed=tuple(fixed), ranges=tuple(ranges))


def is_range(name: str) -> bool:
    """Whether a name of paper is one half of a range and no size by itself."""
    return _RANGE.match(name) is not None


def _sized(names: Iterable[str]) -> Iterator[tuple[str, Size]]:
    for name in names:
        said = _SIZE.search(name)
        if said:
            unit = MM_PER_INCH if said[3] == "in" else 1.0
            yield name, (float(said[1]) * unit, float(said[2]) * unit)


def size_words(width_mm: float, height_mm: float) -> str:
    """A size of paper as people call it: ``Letter``, ``4 x 6 in``, ``62 x 29 mm``."""
    for known, name in _KNOWN.items():
        if Sizes(fixed=(known,), ranges=()).lists(width_mm, height_mm):
            return name
    inches = [side / MM_PER_INCH for side in (width_mm, height_mm)]
    if all(abs(side * _INCH_PARTS - round(side * _INCH_PARTS)) < 0.02 for side in inches):
        return f"{inches[0]:.4g} x {inches[1]:.4g} in"
    return f"{round(width_mm, 1):g} x {round(height_mm, 1):g} mm"
