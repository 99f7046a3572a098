"""Known labels recognised through frost: the picture is held against the symbols that the book expects.

A decoder must read every module or mend it; here only one question is asked, which of the labels known to be in the
freezer this is, and 208 modules answer it even when half of them are lost.  It can say nothing about a label that is
not expected: what resembles none of them well, or two of them, is left unread.

Method and limits are of the reading lab (section 3), thresholds tuned on the photographs of ``tests/weather``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from operator import mul
from typing import TYPE_CHECKING, NamedTuple

from freezerbox.reading.finders import SIZES, Finder, contrast_of, find_finders, normalised
from freezerbox.reading.grid import (
    APART,
    SIDE,
    Point,
    Quad,
    Weights,
    fixed_weights,
    outline,
    pick_data,
    repair_modules,
    sample,
    turned,
)
from freezerbox.reading.known import Expected, Known
from freezerbox.reading.watch import look

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
_LEAST_LEVEL = 60  # pixels, long side: less holds no symbol with its surroundings
_TELLING = 0.1  # lead of a right quad before any climb, often; of a wrong one hardly ever
# Where much is hidden, what shows is judged alone.  Least correlation and lead of the whole to ask; least evidence,
# in nats, that what shows of the repairing modules is not like the code by chance: chance does that once in e^14
# (over a million) for each code that the book expects.  Where the whole is like it as well, e^10 will do.
_WEAK, _WEAK_LEAD, _EVIDENCE, _WITH_ALL = 0.35, 0.1, 14.0, 10.0
# From here on too little is hidden to ask: with all repairing modules hidden and the rest perfect, half of them all
# are left, and r is 0.71 (the root of a half).
_PLAIN = 0.85
_HIDDEN, _SHOWS = 0.3, 0.6  # contrast of a module, as a share of what most of those that show have


@dataclass(frozen=True, slots=True, kw_only=True)
class _Effort:
    """How hard to look at a level.

    peaks: places kept of each size and turn.  finders: finder patterns kept.  least: the least score of one.
    sizes: how many sizes are looked for.  fixed: least fit of the fixed patterns.  tries: quads that may fail.
    module_px: the middle of what is looked for, in pixels of the level, where the scale is known.
    turned_scale: how large the turned level is made.
    """

    peaks: int
    finders: int
    least: float
    sizes: int
    fixed: float
    tries: int
    module_px: float
    turned_scale: float = 1.0


_FIRST = _Effort(peaks=10, finders=14, least=0.5, sizes=SIZES, fixed=0.36, tries=6, module_px=2.2)
_GLANCE = _Effort(peaks=5, finders=5, least=0.65, sizes=2, fixed=0.5, tries=2, module_px=1.9, turned_scale=0.75)
_BASKET = _Effort(peaks=40, finders=60, least=0.5, sizes=SIZES, fixed=0.36, tries=25, module_px=2.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """A symbol recognised.

    expected: which.  r: correlation of its data modules, 1 is perfect; where much is hidden, of those that show.
    margin: lead over the second best code.
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
        for shrink, reduced in _levels(picture):
            look()
            found = _match_level(reduced, shrink, known, taken, _FIRST)
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
        found += _match_level(picture.reduce(shrink), shrink, known, covered, effort)
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
            yield shrink, picture.reduce(shrink)
        shrink //= 2


def _side(corners: Sequence[Point]) -> float:
    return sum(math.dist(corners[at], corners[at - 1]) for at in range(4)) / 4


def _match_level(
    reduced: Image, shrink: int, known: Known, covered: Sequence[Sequence[Point]], effort: _Effort
) -> list[Match]:
    level, contrast = normalised(reduced), None
    hidden = [tuple((x / shrink, y / shrink) for x, y in corners) for corners in covered]
    finders = [
        finder
        for finder in find_finders(
            blanked(level, hidden),
            effort.finders,
            effort.least,
            sizes=effort.sizes,
            peaks=effort.peaks,
            turned_scale=effort.turned_scale,
        )
        if not any(inside((finder.x * shrink, finder.y * shrink), one) for one in covered)
    ]
    found: list[Match] = []
    failed = 0
    # What is told before any climb comes first, then what fits best.
    quads = sorted(
        hypotheses(level, finders, effort.fixed), key=lambda quad: _look(level, quad, known).margin < _TELLING
    )
    for quad in quads:
        at = middle(quad, shrink)
        if any(inside(at, one.corners) for one in found):
            continue
        seen = _recognise(level, quad, known)
        if seen and seen.r >= _WEAK and seen.margin >= _WEAK_LEAD and not (seen.sure and seen.r >= _PLAIN):
            contrast = contrast or contrast_of(reduced)
            seen = _by_what_shows(level, contrast, seen, known)
        if seen and seen.sure:
            found.append(_matched(seen, known, shrink))
            continue
        failed += 1
        if failed > effort.tries:
            break
    return found


def _by_what_shows(level: Image, contrast: Image, seen: _Found, known: Known) -> _Found | None:
    """The same symbol, judged by those of its modules alone that are not hidden; None when they do not prove it.

    A symbol under opaque frost or glare is like its code wherever it shows.  Another code of the same record is so
    as well where the record alone stands, but not in the modules that repair: they must speak for themselves.
    """
    strength = pick_data()(sample(contrast, seen.quad))
    usual = sorted(strength)[len(strength) * 9 // 10] or 1
    shares = [min(1.0, max(0.0, (one / usual - _HIDDEN) / (_SHOWS - _HIDDEN))) for one in strength]
    repairing = list(map(mul, shares, repair_modules()))
    modules = sum(repairing) ** 2 / (sum(map(mul, repairing, repairing)) or 1.0)
    grid = sample(level, seen.quad)
    least = (_WITH_ALL if seen.sure else _EVIDENCE) + math.log(len(known.expected))
    if modules * _evidence(known.like(seen.number, grid, repairing)) < least:
        return None
    if seen.sure:
        return seen
    found = _told(known.nearest_by(grid, shares), seen.quad, known)
    return found if found.number == seen.number else None


def _evidence(likeness: float) -> float:
    """Nats that each module tells against chance, where all are as like a code as this: Chernoff's bound of a sum of
    signs, ``ln P(r or more) <= -n ((1 + r) ln(1 + r) + (1 - r) ln(1 - r)) / 2``.
    """
    r = max(0.0, min(likeness, 1.0))
    return ((1 + r) * math.log1p(r) + ((1 - r) * math.log1p(-r) if r < 1 else 0.0)) / 2


def _matched(one: _Found, known: Known, shrink: int) -> Match:
    corners = tuple((x * shrink, y * shrink) for x, y in outline(one.quad))
    return Match(expected=known.expected[one.number], r=one.r, margin=one.margin, corners=corners)  # type: ignore[arg-type]


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
    """The expected symbol that a quad seems to hold; None when it is none of them.

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
    return _look(level, quad, known)


def _look(level: Image, quad: Quad, known: Known) -> _Found:
    return _told(known.nearest(sample(level, quad)), quad, known)


def _told(ranked: Sequence[tuple[float, int]], quad: Quad, known: Known) -> _Found:
    if not ranked:
        return _Found(0.0, 0.0, 0, quad)
    r, number = ranked[0]
    code = known.expected[number].code
    second = next((other for other, at in ranked[1:] if known.expected[at].code != code), 0.0)
    return _Found(r, r - second, number, quad)
