"""Finder patterns in a picture: where one may be, weathered, at any turn; then each one polished.

Written from the method of the reading lab (section 3): plain Pillow, no other arithmetic needed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from operator import mul
from typing import TYPE_CHECKING

from freezerbox.reading.grid import Point, finder_dark

if TYPE_CHECKING:
    from PIL.Image import Image

LEAST_MODULE_PX, MODULE_STEP, SIZES = 1.55, 1.26, 3
"""Sizes looked for in a level: three an octave, so that a pyramid of halves leaves no gap."""
TURNS = (0, 45)
"""Degrees; squares return after 90."""
_NEAR = 12  # pixels each way that "local" means: four to eight modules
_GAIN = 2.0
_SIDE = 9  # modules of a finder pattern with the white around it


@dataclass(frozen=True, slots=True, kw_only=True)
class Finder:
    """A finder pattern found.

    x, y: its middle, in pixels of the level.
    u, v: the steps from one module to the next, along its rows and down its columns, in pixels.
    score: correlation with the ideal, 1 is perfect.
    """

    x: float
    y: float
    u: Point
    v: Point
    score: float

    @property
    def module(self) -> float:
        """Pixels a module."""
        return math.sqrt(abs(self.u[0] * self.v[1] - self.u[1] * self.v[0]))


def normalised(picture: Image) -> Image:
    """Darkness against the neighbourhood, in units of the neighbourhood's contrast; 128 is neither, more is dark.

    A veil of frost or uneven light is gone from it; that matters most among other things in view.
    """
    from PIL import ImageChops, ImageFilter, ImageMath

    local = ImageFilter.BoxBlur(_NEAR)
    mean = picture.filter(local)
    contrast = ImageChops.difference(mean, picture).filter(local)
    result: Image = ImageMath.lambda_eval(
        lambda known: known["convert"](
            known["min"](known["max"](128 + (known["m"] - known["p"]) * 56 / (known["c"] + 4), 0), 255), "L"
        ),
        m=mean,
        p=picture,
        c=contrast,
    )
    return result


def contrast_of(picture: Image) -> Image:
    """How strongly print shows at each place, over a module or two: little where frost or glare hides it."""
    from PIL import ImageChops, ImageFilter

    mean = picture.filter(ImageFilter.BoxBlur(2.5))
    return ImageChops.difference(mean, picture).filter(ImageFilter.BoxBlur(1.5))


def find_finders(
    level: Image, most: int, least: float, sizes: int, peaks: int, turned_scale: float = 1.0
) -> list[Finder]:
    """The best finder patterns of a normalised picture, best first: at most ``most``, none below ``least``.

    ``sizes``: how many sizes to look for; fewer are the middle ones of the level.  ``peaks``: places kept of each
    size and turn.  ``turned_scale``: how large the turned picture is made, which is two thirds of the work.
    """
    places: list[tuple[int, float, float, float, int]] = []
    for turn in TURNS:
        places += _peaks_at(level, turn, turned_scale if turn else 1.0, sizes, peaks)
    places.sort(reverse=True)
    kept: list[tuple[int, float, float, float, int]] = []
    for peak in places:
        if all(math.hypot(peak[1] - x, peak[2] - y) > 2.5 * size for _, x, y, size, _ in kept):
            kept.append(peak)
        if len(kept) == 2 * most:
            break
    found = [_polish(level, x, y, size, turn, least) for _, x, y, size, turn in kept]
    best: list[Finder] = []
    for finder in sorted((one for one in found if one), key=lambda one: -one.score):
        if all(math.hypot(finder.x - one.x, finder.y - one.y) > 2.5 * one.module for one in best):
            best.append(finder)
    return best[:most]


def _peaks_at(
    level: Image, turn: int, scale: float, sizes: int, most: int
) -> list[tuple[int, float, float, float, int]]:
    """Response, place, pixels a module and turn of the strongest places.  The picture is turned, not the squares."""
    from PIL import Image

    width, height = level.size
    angle = math.radians(turn)
    wide = math.ceil((width * math.cos(angle) + height * math.sin(angle)) * scale)
    high = math.ceil((width * math.sin(angle) + height * math.cos(angle)) * scale)
    # From the turned picture to the level; both turn about their middles.
    cos, sin = math.cos(angle) / scale, math.sin(angle) / scale
    c = width / 2 - cos * wide / 2 + sin * high / 2
    f = height / 2 - sin * wide / 2 - cos * high / 2
    picture = level
    if turn:
        turn_terms = (cos, -sin, c, sin, cos, f)
        picture = level.transform(
            (wide, high), Image.Transform.AFFINE, turn_terms, Image.Resampling.BILINEAR, fillcolor=128
        )
    peaks = []
    for step in range(sizes):
        module = LEAST_MODULE_PX * MODULE_STEP ** (step + (SIZES - sizes) / 2)
        for value, x, y in _strongest(_response(picture, module * scale), 3 * module * scale, most):
            peaks.append((value, cos * x - sin * y + c, sin * x + cos * y + f, module, turn))
    return peaks


def _response(picture: Image, module: float) -> Image:
    """Dark middle less white ring plus dark ring less white around: box means of 3, 5, 7 and 9 modules.

    As sums that is S3 - (S5 - S3) + (S7 - S5) - k (S9 - S7), with k such that an even grey gives nothing.
    """
    from PIL import Image, ImageFilter

    means = [picture.filter(ImageFilter.BoxBlur((size * module - 1) / 2)) for size in (3, 5, 7, 9)]
    a, b, c, d = (weight * _GAIN for weight in (0.18, -0.50, 0.98, -0.66))
    inner = Image.merge("RGB", means[:3]).convert("L", (a, b, c, 128 - 128 * (a + b + c)))
    return Image.merge("RGB", (inner, means[3], means[3])).convert("L", (1, d, 0, -128 * d))


def _strongest(response: Image, apart: float, most: int) -> list[tuple[int, float, float]]:
    """The strongest local peaks: response and place."""
    counts = response.histogram()
    left, threshold = max(200, response.width * response.height // 400), 255
    while threshold > 140 and left > 0:
        threshold -= 1
        left -= counts[threshold]
    data = response.tobytes()
    flags = data.translate(bytes(int(value >= threshold) for value in range(256)))
    width = response.width
    runs, end = [], 0
    # Searched for byte by byte, which is three times as fast as a pattern of runs.
    while (start := flags.find(1, end)) >= 0:
        end = flags.find(0, start)
        end = end if end >= 0 else len(flags)
        value = max(data[start:end])
        at = data.index(value, start)
        runs.append((value, at % width, at // width))
    runs.sort(reverse=True)
    peaks: list[tuple[int, float, float]] = []
    for value, x, y in runs:
        if all(abs(x - px) + abs(y - py) > apart for _, px, py in peaks):
            peaks.append((value, x, y))
            if len(peaks) == most:
                break
    return [(value, x + 0.5, y + 0.5) for value, x, y in peaks]


@lru_cache(maxsize=1)
def _ideal() -> tuple[float, ...]:
    dark = [finder_dark(row, column) for row in range(-4, 5) for column in range(-4, 5)]
    mean = sum(dark) / len(dark)
    length = sum((one - mean) ** 2 for one in dark) ** 0.5
    return tuple((one - mean) / length for one in dark)


def _score(level: Image, state: tuple[float, ...]) -> float:
    from PIL import Image

    x, y, ux, uy, vx, vy = state
    half = _SIDE / 2
    at = (ux, vx, x - half * (ux + vx), uy, vy, y - half * (uy + vy))
    patch = level.transform(
        (_SIDE, _SIDE), Image.Transform.AFFINE, at, Image.Resampling.BILINEAR, fillcolor=128
    ).tobytes()
    total = sum(patch)
    spread = sum(map(mul, patch, patch)) - total * total / 81
    # Eight greys of spread a module at least: what is flatter than that is no print.
    score: float = sum(map(mul, _ideal(), patch)) / math.sqrt(max(spread, 81 * 64))
    return score


def _polish(level: Image, x: float, y: float, module: float, turn: int, least: float) -> Finder | None:
    """The finder pattern at a peak, as exactly as six numbers say it; None when there is none."""
    best: tuple[float, tuple[float, ...]] = (-1.0, ())
    for more in (-10, 0, 10):
        angle = math.radians(turn + more)
        c, s = module * math.cos(angle), module * math.sin(angle)
        first = (x, y, c, s, -s, c)
        best = max(best, (_score(level, first), first))
    if best[0] < least - 0.17:
        return None
    score, state = best
    for step in (0.5, 0.5, 0.2):
        before = score
        for move in _MOVES:
            for way in (step, -step):
                tried = move(state, way)
                value = _score(level, tried)
                if value > score:
                    score, state = value, tried
                    break
        if score < least - 0.12 or score > 0.97 or (score - before < 0.01 and step == 0.2):
            break
    if score < least:
        return None
    x, y, ux, uy, vx, vy = state
    return Finder(x=x, y=y, u=(ux, uy), v=(vx, vy), score=score)


def _shift_along(state: tuple[float, ...], step: float) -> tuple[float, ...]:
    x, y, ux, uy, vx, vy = state
    return x + step * ux, y + step * uy, ux, uy, vx, vy


def _shift_down(state: tuple[float, ...], step: float) -> tuple[float, ...]:
    x, y, ux, uy, vx, vy = state
    return x + step * vx, y + step * vy, ux, uy, vx, vy


def _scale(state: tuple[float, ...], step: float) -> tuple[float, ...]:
    x, y, ux, uy, vx, vy = state
    k = 1 + step * 0.3
    return x, y, ux * k, uy * k, vx * k, vy * k


def _turn(state: tuple[float, ...], step: float) -> tuple[float, ...]:
    x, y, ux, uy, vx, vy = state
    c, s = math.cos(step * 0.35), math.sin(step * 0.35)
    return x, y, c * ux - s * uy, s * ux + c * uy, c * vx - s * vy, s * vx + c * vy


def _stretch(state: tuple[float, ...], step: float) -> tuple[float, ...]:
    x, y, ux, uy, vx, vy = state
    k = 1 + step * 0.3
    return x, y, ux * k, uy * k, vx / k, vy / k


def _lean(state: tuple[float, ...], step: float) -> tuple[float, ...]:
    x, y, ux, uy, vx, vy = state
    k = step * 0.3
    return x, y, ux + k * vx, uy + k * vy, vx + k * ux, vy + k * uy


_MOVES = (_shift_along, _shift_down, _scale, _turn, _stretch, _lean)
