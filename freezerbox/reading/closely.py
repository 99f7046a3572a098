"""A photograph looked at with all there is, where nothing is known of the labels in it: a lost book's baskets.

Every pass and not only the first that shows anything; then tiles of the picture; then each square that has the look
of a label's symbol is laid flat and decoded by itself, and at last from its modules, cleaned.  What still does not
read is counted, so that it can be photographed closer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from freezerbox.core.code import LENGTH, compact, is_valid
from freezerbox.reading.copies import APART_SIDES, seen_from
from freezerbox.reading.finders import SIZES, find_finders, normalised
from freezerbox.reading.grid import (
    GRID,
    RING,
    SIDE,
    Point,
    Quad,
    fixed_modules,
    fixed_weights,
    outline,
    place,
    sample,
    terms,
)
from freezerbox.reading.known import Known
from freezerbox.reading.ladder import Symbol, decode, passes
from freezerbox.reading.matching import blanked, climb, hypotheses, inside, match, middle
from freezerbox.reading.pictures import module_px, open_picture
from freezerbox.reading.watch import begin, look

if TYPE_CHECKING:
    from PIL.Image import Image

# What bounds the time is how much is tried, never a clock.
_TILE, _LAP = 1400, 300  # pixels: larger than any label as it should be photographed, and the overlap
_MOST_TILES = 16
_FINDERS, _PEAKS, _MOST_SQUARES = 80, 50, 60
_LEVEL_MODULES = (2.3, 1.7)  # pixels a module has at the levels looked at
_LEAST_FINDER, _LEAST_FIT, _WORTH_READING, _LOOKS_LIKE = 0.5, 0.36, 0.42, 0.62
_FEW, _ALIKE = 4, 0.15  # squares that tell nothing of copies; radians
_COPY_OFF = 0.6  # sides that a copy may be off where it is expected
_FLAT, _QUIET = 8, 4  # pixels a module and modules of white around, of a symbol laid flat
_THRESHOLDS = (0.5, 0.4, 0.6)  # between the light and the dark of the fixed patterns


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What a close look came to.

    symbols: those read, each a full decoding.  unread: outlines of what has the look of a label's symbol and does
    not read, in pixels of the picture.
    """

    symbols: tuple[Symbol, ...]
    unread: tuple[Quad, ...]


def read_closely(source: Image | Path, known: Known | None = None) -> Looked:
    """Every QR and Code 128 that any way of looking decodes, and the squares that none does.

    ``known``: symbols that may be in view besides; a square that is one of them is not among the unread.

    Raises: InputError for a file that is no picture.
    """
    if isinstance(source, Path):
        begin(source)
    picture = open_picture(source) if isinstance(source, Path) else source.convert("L")
    found: list[Symbol] = []
    for part, left, top in ((picture, 0, 0), *_tiles(picture)):
        for number, (tried, shrink, one_threshold) in enumerate(passes(part)):
            symbols, _ = decode(
                tried, shrink, one_threshold, "filtered" if number or part is not picture else "decoded"
            )
            _add(found, (_moved(symbol, left, top) for symbol in symbols))
    unread: list[Quad] = []
    for shrink in _shrinks(picture, found):
        look()
        level = normalised(picture.reduce(shrink))
        for quad, likeness in _squares(level, shrink, [one.position for one in found if one.symbology == "QR"]):
            at = middle(outline(quad), shrink)
            if any(inside(at, one.position) for one in found):
                continue
            corners = _scaled(outline(quad), shrink)
            text = _decoded(picture, level, quad, shrink) if likeness >= _WORTH_READING else None
            if text is not None:
                _add(found, [Symbol(text=text, symbology="QR", how="filtered", position=corners)])
            elif likeness >= _LOOKS_LIKE and not any(_near(corners, other) for other in unread):
                unread.append(corners)
    left_over = _labels_apart(found, unread)
    if left_over and known and known.expected:
        taken = [one.position for one in found if one.symbology == "QR"]
        theirs = [one.corners for one in match(picture, known, taken, _usual(found), several=True)]
        left_over = tuple(one for one in left_over if not any(_of_one_label(one, other, ()) for other in theirs))
    return Looked(symbols=tuple(found), unread=left_over)


def _labels_apart(found: Sequence[Symbol], unread: Sequence[Quad]) -> tuple[Quad, ...]:
    """The squares that belong to no label read, one of each label: a label may carry its symbol twice.

    Where the second copy stands is told by those labels of which both were read.
    """
    squares = [one for one in found if one.symbology == "QR"]
    beside = [
        seen_from(one.position, other.position)
        for one in squares
        for other in squares
        if one is not other and one.text == other.text
    ]
    beside = [place for place in beside if math.hypot(*place) < APART_SIDES]
    guess = None if len(squares) < _FEW else ()
    labels: list[Sequence[Point]] = [one.position for one in squares]
    left_over: list[Quad] = []
    for square in unread:
        if not any(_of_one_label(square, other, beside or guess) for other in labels):
            left_over.append(square)
        labels.append(square)
    return tuple(left_over)


def _of_one_label(one: Sequence[Point], other: Sequence[Point], beside: Sequence[Point] | None) -> bool:
    """Whether two squares overlap, or stand as two copies of a symbol on one label do."""
    there, back = seen_from(other, one), seen_from(one, other)
    if math.hypot(*there) < 1:
        return True
    if beside is None:
        # Nothing tells where a second copy stands: near and at the same turn, they are taken for one label.
        turns = [math.atan2(each[1][1] - each[0][1], each[1][0] - each[0][0]) for each in (one, other)]
        return math.hypot(*there) < APART_SIDES and abs(math.remainder(turns[0] - turns[1], math.pi / 2)) < _ALIKE
    return any(math.dist(place, where) < _COPY_OFF for place in beside for where in (there, back))


def _tiles(picture: Image) -> Iterator[tuple[Image, int, int]]:
    """Overlapping parts of a large picture: one threshold or one filter serves a small part better."""
    side = _TILE
    while True:
        step = side - _LAP
        columns = max(1, math.ceil((picture.width - _LAP) / step))
        rows = max(1, math.ceil((picture.height - _LAP) / step))
        if columns * rows <= _MOST_TILES:
            break
        side += _LAP
    if columns * rows == 1:
        return
    for row in range(rows):
        for column in range(columns):
            left, top = column * step, row * step
            box = (left, top, min(picture.width, left + side), min(picture.height, top + side))
            yield picture.crop(box), left, top


def _moved(symbol: Symbol, left: int, top: int) -> Symbol:
    return replace(symbol, position=tuple((x + left, y + top) for x, y in symbol.position))


def _add(found: list[Symbol], symbols: Iterator[Symbol] | Sequence[Symbol]) -> None:
    """Add what was not seen there before; the same text elsewhere is another pack."""
    for symbol in symbols:
        at = middle(symbol.position)
        if not any(one.text == symbol.text and _within(at, one.position) for one in found):
            found.append(symbol)


def _within(point: Point, corners: Sequence[Point]) -> bool:
    reach = max(math.dist(corners[at], corners[at - 1]) for at in range(len(corners)))
    return math.dist(point, middle(corners)) < reach


def _near(one: Quad, other: Quad) -> bool:
    return math.dist(middle(one), middle(other)) < 0.6 * math.dist(other[0], other[1])


def _usual(found: Sequence[Symbol]) -> float | None:
    """Pixels a module of most symbols read; None when none was."""
    sizes = sorted(size for symbol in found if symbol.symbology == "QR" and (size := module_px(symbol)))
    return sizes[len(sizes) // 2] if sizes else None


def _shrinks(picture: Image, found: Sequence[Symbol]) -> list[int]:
    """By how much to reduce: labels of one picture are about equally large; else every size is looked for."""
    usual = _usual(found)
    if usual:
        return sorted({max(2, round(usual / wanted)) for wanted in _LEVEL_MODULES})
    shrinks, shrink = [], 1
    while min(picture.size) / shrink >= 4 * SIDE:
        shrinks.append(shrink)
        shrink *= 2
    return shrinks[1:5]


def _squares(level: Image, shrink: int, taken: Sequence[Sequence[Point]]) -> Iterator[tuple[Quad, float]]:
    """Where a symbol may lie, with how well its fixed patterns fit."""
    hidden = [tuple((x / shrink, y / shrink) for x, y in corners) for corners in taken]
    covered = blanked(level, hidden)
    finders = find_finders(covered, _FINDERS, _LEAST_FINDER, sizes=SIZES, peaks=_PEAKS)
    tried: list[Quad] = []
    for quad in hypotheses(level, finders, _LEAST_FIT)[:_MOST_SQUARES]:
        likeness, better = climb(level, quad, fixed_weights()[0], (0.6, 0.3, 0.15))
        if likeness >= _LEAST_FIT and not any(_near(better, one) and better[0] == one[0] for one in tried):
            tried.append(better)
            yield better, likeness


def _scaled(quad: Quad, shrink: int) -> Quad:
    a, b, c, d = ((x * shrink, y * shrink) for x, y in quad)
    return a, b, c, d


def _decoded(picture: Image, level: Image, quad: Quad, shrink: int) -> str | None:
    return _laid_flat(picture, _scaled(quad, shrink)) or _from_modules(level, quad)


def _laid_flat(picture: Image, quad: Quad) -> str | None:
    """What a square says once it is upright and flat; None when it says no label's code."""
    from PIL import Image as Pillow
    from PIL import ImageOps

    a, b, c, d, e, f, g, h = terms(quad)
    shift, size = _QUIET - RING, (SIDE + 2 * _QUIET) * _FLAT
    k = (1 - shift * (g + h)) or 1e-9
    flat_terms = (
        a / _FLAT / k, b / _FLAT / k, (c - shift * (a + b)) / k, d / _FLAT / k, e / _FLAT / k,
        (f - shift * (d + e)) / k, g / _FLAT / k, h / _FLAT / k,
    )  # fmt: skip
    how = Pillow.Resampling.BICUBIC
    flat = picture.transform((size, size), Pillow.Transform.PERSPECTIVE, flat_terms, how, fillcolor=200)
    for tried in (flat, ImageOps.autocontrast(flat, cutoff=2)):
        for one, shrink, one_threshold in passes(tried):
            text = _said(decode(one, shrink, one_threshold, "filtered")[0])
            if text:
                return text
    return None


def _from_modules(level: Image, quad: Quad) -> str | None:
    """What the modules of a square say when each is made black or white and the fixed patterns are drawn anew."""
    grid = sample(level, quad)
    fixed = {place(row, column): dark for (row, column), dark in fixed_modules().items()}
    dark = _mean([grid[at] for at, is_dark in fixed.items() if is_dark])
    light = _mean([grid[at] for at, is_dark in fixed.items() if not is_dark])
    if dark <= light:
        return None
    for share in _THRESHOLDS:
        text = _said(decode(_drawn(grid, fixed, light + share * (dark - light)), 1, False, "filtered")[0])
        if text:
            return text
    return None


def _drawn(grid: bytes, fixed: dict[int, bool], threshold: float) -> Image:
    from PIL import Image as Pillow

    clean = Pillow.new("L", (GRID + 6, GRID + 6), 255)
    for row in range(SIDE):
        for column in range(SIDE):
            at = place(row, column)
            if fixed.get(at, grid[at] > threshold):
                clean.putpixel((column + RING + 3, row + RING + 3), 0)
    return clean.resize((clean.width * 4, clean.height * 4), Pillow.Resampling.NEAREST)


def _said(symbols: Sequence[Symbol]) -> str | None:
    """The text of the first that names a label's code."""
    return next((one.text for one in symbols if is_valid(compact(one.text)[:LENGTH])), None)


def _mean(values: Sequence[int]) -> float:
    return sum(values) / max(1, len(values))
