"""A version 1 symbol as a grid of modules: its fixed patterns, and sampling it out of a picture at any quad."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from operator import itemgetter
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from PIL.Image import Image

SIDE = 21  # modules of a version 1 symbol (ISO/IEC 18004, 6.3.1.2)
RING = 1  # modules of quiet zone that are sampled with it
GRID = SIDE + 2 * RING
APART = 14  # modules between the middles of two neighbouring finder patterns
_FIRST = RING + 3.5  # where the first finder pattern's middle lies in the sampled grid

Point = tuple[float, float]
Quad = tuple[Point, Point, Point, Point]
"""The middles of the finder patterns: top left, top right, then where a fourth would be, bottom left."""


class Weights(NamedTuple):
    """What to look at in a sampled grid, and what to expect there.

    pick: takes the modules looked at out of the grid's bytes.
    weights: for each of them, positive where dark is expected; their sum is zero and their squares sum to one.
    """

    pick: Callable[[bytes], tuple[int, ...]]
    weights: tuple[float, ...]


def terms(quad: Quad) -> tuple[float, ...]:
    """The eight terms of the perspective from the sampled grid to the picture.

    Square to quadrilateral in closed form, the square being the four middles, 14 modules apart.
    """
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = quad
    dx1, dx2, sx = x1 - x2, x3 - x2, x0 - x1 + x2 - x3
    dy1, dy2, sy = y1 - y2, y3 - y2, y0 - y1 + y2 - y3
    spread = dx1 * dy2 - dx2 * dy1 or 1e-9
    g = (sx * dy2 - dx2 * sy) / spread
    h = (dx1 * sy - sx * dy1) / spread
    a, b = x1 - x0 + g * x1, x3 - x0 + h * x3
    d, e = y1 - y0 + g * y1, y3 - y0 + h * y3
    unit = _FIRST / APART
    k = 1 - (g + h) * unit or 1e-9
    n = APART * k
    return (a / n, b / n, (x0 - (a + b) * unit) / k, d / n, e / n, (y0 - (d + e) * unit) / k, g / n, h / n)


def sample(picture: Image, quad: Quad) -> bytes:
    """The grey at the middle of each of the 23 x 23 modules of the grid, row by row."""
    from PIL import Image

    mode, how = Image.Transform.PERSPECTIVE, Image.Resampling.BILINEAR
    return picture.transform((GRID, GRID), mode, terms(quad), how, fillcolor=128).tobytes()


def outline(quad: Quad) -> Quad:
    """The four outer corners of the symbol, in the order of ``quad``."""
    a, b, c, d, e, f, g, h = terms(quad)
    edge = (RING, RING + SIDE)

    def at(x: float, y: float) -> Point:
        k = g * x + h * y + 1
        return (a * x + b * y + c) / k, (d * x + e * y + f) / k

    return at(edge[0], edge[0]), at(edge[1], edge[0]), at(edge[1], edge[1]), at(edge[0], edge[1])


def turned(quad: Quad, quarters: int) -> Quad:
    """The same square read from another corner."""
    q = quarters % 4
    return (*quad[q:], *quad[:q])  # type: ignore[return-value]


def weigh(places: Sequence[int], dark: Sequence[bool]) -> Weights:
    """Weights for a pattern: which places of the grid, and whether each is dark."""
    mean = sum(dark) / len(dark)
    length = sum((one - mean) ** 2 for one in dark) ** 0.5 or 1.0
    return Weights(itemgetter(*places), tuple((one - mean) / length for one in dark))


def finder_dark(row: int, column: int) -> bool:
    """Whether a module of a finder pattern is dark; 0, 0 is its middle (ISO/IEC 18004, 6.3.3.1)."""
    return max(abs(row), abs(column)) in (0, 1, 3)


@lru_cache(maxsize=1)
def fixed_modules() -> dict[tuple[int, int], bool]:
    """Row and column of each module that every version 1 symbol shares, and whether it is dark.

    Finder patterns with their separators, timing, the dark module (ISO/IEC 18004, 6.3.3 to 6.3.5 and 7.9.1).
    """
    fixed = {}
    for middle_row, middle_column in ((3, 3), (3, 17), (17, 3)):
        for row in range(-4, 5):
            for column in range(-4, 5):
                place = (middle_row + row, middle_column + column)
                if 0 <= place[0] < SIDE and 0 <= place[1] < SIDE:
                    fixed[place] = finder_dark(row, column)
    for step in range(8, 13):
        fixed[6, step] = fixed[step, 6] = step % 2 == 0
    fixed[13, 8] = True
    return fixed


@lru_cache(maxsize=1)
def data_modules() -> tuple[tuple[int, int], ...]:
    """Row and column of the 208 modules that carry data: neither fixed nor format (ISO/IEC 18004, 7.7 and 7.9)."""
    shared = fixed_modules()
    return tuple(
        (row, column)
        for row in range(SIDE)
        for column in range(SIDE)
        if (row, column) not in shared and not _is_format(row, column)
    )


@lru_cache(maxsize=1)
def repair_modules() -> tuple[bool, ...]:
    """Of each of the data modules, whether it belongs to the thirteen codewords that only repair.

    They are the last thirteen of twenty-six at level Q, and among those at level H (ISO/IEC 18004, table 9), and
    stand last in the order in which modules are filled: up and down two columns at a time, from the right (7.7.3).
    A character of the text that is another one changes at least eleven of them, each in half of its modules or so.
    """
    free, filled = set(data_modules()), []
    for turn, right in enumerate((20, 18, 16, 14, 12, 10, 8, 5, 3, 1)):
        rows = range(SIDE) if turn % 2 else range(SIDE - 1, -1, -1)
        filled += [(row, column) for row in rows for column in (right, right - 1) if (row, column) in free]
    last = set(filled[len(filled) // 2 :])
    return tuple(one in last for one in data_modules())


def _is_format(row: int, column: int) -> bool:
    return (row == 8 and (column <= 8 or column >= 13)) or (column == 8 and (row <= 8 or row >= 13))


def place(row: int, column: int) -> int:
    """Where a module stands in the bytes of a sampled grid."""
    return (row + RING) * GRID + column + RING


@lru_cache(maxsize=1)
def fixed_weights() -> tuple[Weights, Weights, Weights, Weights]:
    """Weights of the shared modules and the quiet ring, for the grid sampled at each of four quarter turns."""
    fixed = {place(row, column): dark for (row, column), dark in fixed_modules().items()}
    for step in range(GRID):
        for ring in (step, (GRID - 1) * GRID + step, step * GRID, step * GRID + GRID - 1):
            fixed[ring] = False
    turns = []
    for _ in range(4):
        order = sorted(fixed)
        turns.append(weigh(order, [fixed[one] for one in order]))
        # A quarter turn clockwise in the picture: what stood at (row, column) stands at (column, last - row).
        fixed = {(one % GRID) * GRID + GRID - 1 - one // GRID: dark for one, dark in fixed.items()}
    return turns[0], turns[1], turns[2], turns[3]


def data_bits(modules: Sequence[Sequence[bool]]) -> int:
    """The data modules of a symbol as one number, a bit each, set where dark."""
    return int("".join("1" if modules[row][column] else "0" for row, column in data_modules()), 2)


def alike(one: int, other: int) -> float:
    """Correlation of two symbols' data modules, as :func:`data_bits` gives them: 1 the same, 0 nothing in common."""
    modules = len(data_modules())
    dark, other_dark, both = one.bit_count(), other.bit_count(), (one & other).bit_count()
    spread = math.sqrt(dark * (modules - dark) * other_dark * (modules - other_dark)) or 1.0
    return (both * modules - dark * other_dark) / spread


@lru_cache(maxsize=1)
def pick_data() -> Callable[[bytes], tuple[int, ...]]:
    """Takes the data modules out of a sampled grid."""
    return itemgetter(*(place(row, column) for row, column in data_modules()))
