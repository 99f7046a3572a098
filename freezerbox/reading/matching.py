"""Known labels recognised through frost: the picture is held against the symbols that the book expects.

A decoder must read every module or mend it; here only one question is asked, which of the labels known to be in the
freezer this is, and 208 modules answer it even when a third of them are lost.  It can say nothing about a label that
is not expected: what resembles none of them well, or two of them, is left unread.

Method and limits are of the reading lab (section 3), thresholds tuned on the photographs of ``tests/weather``.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from operator import mul
from typing import TYPE_CHECKING, NamedTuple

from freezerbox.reading.finders import SIZES, Finder, find_finders, normalised
from freezerbox.reading.grid import (
    APART,
    SIDE,
    Point,
    Quad,
    Weights,
    data_bits,
    data_modules,
    fixed_weights,
    outline,
    pick_data,
    place,
    sample,
    turned,
    weigh,
)

if TYPE_CHECKING:
    from PIL.Image import Image

ACCEPT = 0.65
"""Least correlation of the data modules with the expected symbol."""
MARGIN = 0.20
"""Least lead over the second best code."""

_CLOSE = 420  # modules: a label is 80 to 150 wide, so a picture no wider than this is most often of one
# Gates, each well below what right quads showed in the photographs of tests/weather: fixed patterns 0.57 after the
# climb, correlation 0.20 and lead 0.05 before the last one; wrong ones seldom pass two of them.
_LEAST_CLIMBED, _LEAST_R, _LEAST_LEAD, _HOPEFUL = 0.5, 0.18, 0.04, 0.45
_LEAST_LEVEL = 150  # pixels, long side: less holds no symbol with its surroundings
Modules = Sequence[Sequence[bool]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Effort:
    """How hard to look at a level.

    peaks: places kept of each size and turn.  finders: finder patterns kept.  least: the least score of one.
    sizes: how many sizes are looked for.  fixed: least fit of the fixed patterns.  tries: quads that may fail.
    module_px: the middle of what is looked for, in pixels of the level, where the scale is known.
    """

    peaks: int
    finders: int
    least: float
    sizes: int
    fixed: float
    tries: int
    module_px: float


_FIRST = _Effort(peaks=10, finders=14, least=0.5, sizes=SIZES, fixed=0.36, tries=6, module_px=2.2)
_GLANCE = _Effort(peaks=5, finders=5, least=0.65, sizes=2, fixed=0.5, tries=2, module_px=1.9)
_BASKET = _Effort(peaks=40, finders=60, least=0.5, sizes=SIZES, fixed=0.36, tries=25, module_px=2.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """A symbol that may be in the picture.

    code: the package.  text: what the symbol says.  modules: its 21 x 21 modules, ``True`` is dark.
    """

    code: str
    text: str
    modules: Modules


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """A symbol recognised.

    expected: which.  r: correlation of its data modules, 1 is perfect.  margin: lead over the second best code.
    corners: its outer corners in pixels of the picture, clockwise from its own top left.
    """

    expected: Expected
    r: float
    margin: float
    corners: Quad


class _Found(NamedTuple):
    """What a quad seems to hold."""

    r: float
    margin: float
    number: int
    quad: Quad

    @property
    def sure(self) -> bool:
        """Whether that is enough to say so."""
        return self.r >= ACCEPT and self.margin >= MARGIN


class Known:
    """The symbols expected, ready to be compared with: for any number of pictures.

    They are asked for when a picture first needs them, since one whose labels all decode never does.
    """

    def __init__(self, source: Callable[[], Sequence[Expected]]) -> None:
        self._source = source
        self._data: dict[int, Weights] = {}
        self._whole: dict[int, Weights] = {}

    @cached_property
    def expected(self) -> tuple[Expected, ...]:
        """Every symbol expected."""
        return tuple(self._source())

    @cached_property
    def _bits(self) -> list[int]:
        return [data_bits(one.modules) for one in self.expected]

    def data(self, number: int) -> Weights:
        """Weights of the data modules of one symbol."""
        if number not in self._data:
            modules = self.expected[number].modules
            places = data_modules()
            self._data[number] = weigh(
                [place(row, column) for row, column in places], [modules[row][column] for row, column in places]
            )
        return self._data[number]

    def whole(self, number: int) -> Weights:
        """Weights of the whole symbol with its quiet ring."""
        if number not in self._whole:
            modules = self.expected[number].modules
            span = range(-1, SIDE + 1)
            dark = {
                place(row, column): 0 <= row < SIDE and 0 <= column < SIDE and bool(modules[row][column])
                for row in span
                for column in span
            }
            self._whole[number] = weigh(list(dark), list(dark.values()))
        return self._whole[number]

    def nearest(self, grid: bytes, most: int = 8) -> list[tuple[float, int]]:
        """Correlation and number of the symbols most like a sampled grid, best first."""
        values = pick_data()(grid)
        mean = sum(values) / len(values)
        seen = int(bytes(49 if value > mean else 48 for value in values), 2)
        differing = heapq.nsmallest(most, [((bits ^ seen).bit_count(), at) for at, bits in enumerate(self._bits)])
        spread = math.sqrt(max(1.0, sum(map(mul, values, values)) - len(values) * mean * mean))
        found = [(sum(map(mul, self.data(at).weights, values)) / spread, at) for _, at in differing]
        return sorted(found, reverse=True)


def match(
    picture: Image,
    known: Known,
    taken: Sequence[Sequence[Point]] = (),
    module_px: float | None = None,
    *,
    several: bool = False,
) -> list[Match]:
    """Expected symbols in a grey picture, the surest first; those inside ``taken`` outlines are not looked for.

    ``module_px``: about how many pixels a module has, told by symbols read already; None when nothing tells.
    ``several``: more symbols than were read are likely in view.
    """
    found: list[Match] = []
    if module_px is None:
        for shrink, level in _levels(picture):
            found = _match_level(level, shrink, known, taken, _FIRST)
            if found:
                module_px = sum(_side(one.corners) for one in found) / len(found) / SIDE
                break
    if module_px is None:
        return found
    # Labels of one picture are about equally large.  Where one that was read fills most of it a glance is due.
    several = several or bool(found) or max(picture.size) > _CLOSE * module_px
    effort = _BASKET if several else _GLANCE
    shrink = max(2, round(module_px / effort.module_px))
    if max(picture.size) / shrink >= _LEAST_LEVEL:
        covered = [*taken, *(one.corners for one in found)]
        found += _match_level(normalised(picture.reduce(shrink)), shrink, known, covered, effort)
    return sorted(found, key=lambda one: -one.r)


def _levels(picture: Image) -> Iterator[tuple[int, Image]]:
    """Reduced pictures to look at, coarse to fine, and by how much; the picture itself is never one of them.

    So a module must have three pixels or more in the picture, which is also where decoding begins to work.
    """
    shrink = 2
    while max(picture.size) / shrink / 2 >= _LEAST_LEVEL:
        shrink *= 2
    while shrink >= 2:
        if min(picture.size) / shrink >= 2 * SIDE:
            yield shrink, normalised(picture.reduce(shrink))
        shrink //= 2


def _side(corners: Sequence[Point]) -> float:
    return sum(math.dist(corners[at], corners[at - 1]) for at in range(4)) / 4


def _match_level(
    level: Image, shrink: int, known: Known, covered: Sequence[Sequence[Point]], effort: _Effort
) -> list[Match]:
    hidden = [tuple((x / shrink, y / shrink) for x, y in corners) for corners in covered]
    finders = [
        finder
        for finder in find_finders(
            blanked(level, hidden), effort.finders, effort.least, sizes=effort.sizes, peaks=effort.peaks
        )
        if not any(inside((finder.x * shrink, finder.y * shrink), one) for one in covered)
    ]
    found: list[Match] = []
    failed = 0
    for quad in hypotheses(level, finders, effort.fixed):
        at = middle(quad, shrink)
        if any(inside(at, one.corners) for one in found):
            continue
        accepted = _recognise(level, quad, known)
        failed += accepted is None
        if failed > effort.tries:
            break
        if accepted:
            corners = tuple((x * shrink, y * shrink) for x, y in outline(accepted.quad))
            expected = known.expected[accepted.number]
            found.append(Match(expected=expected, r=accepted.r, margin=accepted.margin, corners=corners))  # type: ignore[arg-type]
    return found


def blanked(level: Image, hidden: Sequence[Sequence[Point]]) -> Image:
    """The level without what has been read already, a quarter of a side more all round."""
    if not hidden:
        return level
    from PIL import ImageDraw

    level = level.copy()
    draw = ImageDraw.Draw(level)
    for corners in hidden:
        mx, my = middle(corners)
        draw.polygon([(mx + 1.25 * (x - mx), my + 1.25 * (y - my)) for x, y in corners], fill=128)
    return level


def middle(quad: Sequence[Point], shrink: int = 1) -> Point:
    """The middle of an outline seen in a level, in pixels of the picture that was shrunk."""
    return sum(x for x, _ in quad) / len(quad) * shrink, sum(y for _, y in quad) / len(quad) * shrink


def inside(point: Point, corners: Sequence[Point]) -> bool:
    """Whether a point lies in a convex outline, corners in order."""
    signs = set()
    for at in range(len(corners)):
        (x0, y0), (x1, y1) = corners[at - 1], corners[at]
        signs.add((x1 - x0) * (point[1] - y0) - (y1 - y0) * (point[0] - x0) > 0)
    return len(signs) == 1


def hypotheses(level: Image, finders: Sequence[Finder], least: float) -> list[Quad]:
    """Where a symbol may lie, the likeliest first, each read from its own top left corner.

    Each finder pattern may stand at the corner of a symbol in any of four quarters; where others stand at the places
    that follow from it they are used, so that one or even two lost ones do not matter.
    """
    scored: list[tuple[float, Quad]] = []
    for finder in finders:
        u, v = finder.u, finder.v
        for a, b in ((u, v), (v, _less(u)), (_less(u), _less(v)), (_less(v), u)):
            quad = _snap(finder, a, b, finders)
            grid = sample(level, quad)
            for quarters, weights in enumerate(fixed_weights()):
                score = _fit(grid, weights)
                scored.append((score, turned(quad, quarters)))
    scored.sort(key=lambda one: -one[0])
    kept: list[tuple[float, Quad]] = []
    for score, quad in scored:
        if score < least:
            break
        near = 2.0 * math.dist(quad[0], quad[1]) / APART
        if all(
            max(math.dist(one, other) for one, other in zip(quad, known, strict=True)) > near for _, known in kept
        ):
            kept.append((score, quad))
    return [quad for _, quad in kept]


def _less(step: Point) -> Point:
    return -step[0], -step[1]


def _snap(finder: Finder, a: Point, b: Point, finders: Sequence[Finder]) -> Quad:
    """The quad from a finder pattern along ``a`` and ``b``, drawn to the others that stand there."""
    start = (finder.x, finder.y)
    along = (start[0] + APART * a[0], start[1] + APART * a[1])
    down = (start[0] + APART * b[0], start[1] + APART * b[1])
    reach = 3.2 * finder.module
    there = _nearest(along, reach, finder, finders)
    if there:
        along = (there.x, there.y)
    beside = _nearest(down, reach, finder, finders)
    if beside:
        down = (beside.x, beside.y)
    across = (along[0] + down[0] - start[0], along[1] + down[1] - start[1])
    opposite = _nearest(across, reach, finder, finders)
    if opposite:
        across = (opposite.x, opposite.y)
        if there and not beside:
            down = (start[0] + across[0] - along[0], start[1] + across[1] - along[1])
        elif beside and not there:
            along = (start[0] + across[0] - down[0], start[1] + across[1] - down[1])
    return start, along, across, down


def _nearest(point: Point, reach: float, but: Finder, finders: Sequence[Finder]) -> Finder | None:
    best, least = None, reach
    for one in finders:
        away = math.hypot(one.x - point[0], one.y - point[1])
        if one is not but and away < least and 0.7 < one.module / but.module < 1.43:
            best, least = one, away
    return best


def _fit(grid: bytes, weights: Weights) -> float:
    """Correlation of a sampled grid with what is expected of it."""
    values = weights.pick(grid)
    total = sum(values)
    spread = sum(map(mul, values, values)) - total * total / len(values)
    fit: float = sum(map(mul, weights.weights, values)) / math.sqrt(max(spread, 64.0 * len(values)))
    return fit


def climb(level: Image, quad: Quad, weights: Weights, steps: Sequence[float]) -> tuple[float, Quad]:
    """The quad nearby that fits best; steps are in modules."""
    score = _fit(sample(level, quad), weights)
    module = math.dist(quad[0], quad[2]) / APART / math.sqrt(2)
    for step in steps:
        for corners in _TOGETHER:
            for dx, dy in ((1, 0), (0, 1)):
                for way in (step * module, -step * module):
                    moved = list(quad)
                    for at in corners:
                        moved[at] = (quad[at][0] + way * dx, quad[at][1] + way * dy)
                    tried: Quad = (moved[0], moved[1], moved[2], moved[3])
                    value = _fit(sample(level, tried), weights)
                    if value > score:
                        score, quad = value, tried
                        break
    return score, quad


_TOGETHER = ((0, 1, 2, 3), (0,), (1,), (2,), (3,), (0, 1), (2, 3))


def _recognise(level: Image, quad: Quad, known: Known) -> _Found | None:
    """The expected symbol at a quad; None when it is none of them.

    Cheap looks first: most right quads are told at once, most wrong ones before much was spent on them.
    """
    found = _look(level, quad, known)
    if found.sure:
        return found
    if found.r < _HOPEFUL:
        score, quad = climb(level, quad, fixed_weights()[0], (0.6, 0.3))
        found = _look(level, quad, known)
        if score < _LEAST_CLIMBED or found.r < _LEAST_R or found.margin < _LEAST_LEAD:
            return None
    _, quad = climb(level, quad, known.whole(found.number), (0.5, 0.25, 0.12))
    found = _look(level, quad, known)
    return found if found.sure else None


def _look(level: Image, quad: Quad, known: Known) -> _Found:
    ranked = known.nearest(sample(level, quad))
    if not ranked:
        return _Found(0.0, 0.0, 0, quad)
    r, number = ranked[0]
    code = known.expected[number].code
    second = next((other for other, at in ranked[1:] if known.expected[at].code != code), 0.0)
    return _Found(r, r - second, number, quad)
