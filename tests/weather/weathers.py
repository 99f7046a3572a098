"""What two years do to a label, and what a camera does to it after that.

``CALIBRATED`` is a package out of a chest freezer after two years, photographed by hand, held still, from near.
Every family is one trouble by itself; ``together`` is several at once.  Simulated: not measured on real frost.
A label is drawn on with ``ON_LABEL``; ``Shot`` says how the camera saw it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random

from PIL import Image, ImageDraw, ImageFilter

from tests.weather.elements import blobs, clouds, grain, lay, table, times


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """How a photograph is taken.

    fill: the label's reach as a share of the largest that fits into the frame.
    tilt: degrees out of the plane.
    blur: standard deviation in modules of the label's symbols.  motion: path in modules.
    light: mean brightness, 1 is well lit.  uneven: how much darker the far side is, 0..1.
    noise: standard deviation in greys.
    quality: of the JPEG.
    module_px: exact pixels a module in the picture instead of ``fill``; None to go by ``fill``.
    """

    fill: float = 0.85
    tilt: float = 8
    blur: float = 0.12
    motion: float = 0
    light: float = 0.9
    uneven: float = 0.15
    noise: float = 3
    quality: int = 85
    module_px: float | None = None


Weather = Callable[[Image.Image, Random, float], Image.Image]
"""A label, chance, and pixels a millimetre; the label weathered."""


def hazy(label: Image.Image, rng: Random, scale: float, cover: float, alpha: float) -> Image.Image:
    """Translucent frost: a white veil, thicker here than there, that also scatters what lies under it."""
    scattered = label.filter(ImageFilter.GaussianBlur(0.22 * scale * alpha))
    # A veil that a hand would half wipe: flat at its thickest, gone outside its cover.
    veil = blobs(rng, label.size, 9 * scale, cover, softness=45)
    thick = Image.blend(clouds(rng, label.size, 2.2 * scale), Image.new("L", label.size, 255), 0.55)
    mask = times(Image.composite(thick, Image.new("L", label.size, 0), veil), alpha)
    frost = Image.blend(clouds(rng, label.size, 0.5 * scale), Image.new("L", label.size, 225), 0.8)
    return lay(Image.composite(scattered, label, veil), frost, mask)


def caked(label: Image.Image, rng: Random, scale: float, cover: float, cell: float = 3.6) -> Image.Image:
    """Opaque frost in lumps: nothing shows through."""
    lumps = blobs(rng, label.size, cell * scale, cover, softness=14)
    texture = Image.blend(clouds(rng, label.size, 0.7 * scale), Image.new("L", label.size, 222), 0.72)
    return lay(label, texture, times(lumps, 0.96))


def crystals(label: Image.Image, rng: Random, scale: float, cover: float) -> Image.Image:
    """Opaque crystals of about a module across."""
    lumps = blobs(rng, label.size, 0.85 * scale, cover, softness=30)
    return lay(label, 226, times(lumps, 0.93))


def scuffed(label: Image.Image, rng: Random, scale: float, number: int, bare: float) -> Image.Image:
    """Ink rubbed off along scratches and in patches."""
    mask = Image.new("L", label.size, 0)
    draw = ImageDraw.Draw(mask)
    width, height = label.size
    main = rng.uniform(0, math.pi)
    for _ in range(number):
        angle = main + rng.gauss(0, 0.35)
        length = rng.uniform(6, 38) * scale
        x, y = rng.uniform(0, width), rng.uniform(0, height)
        dx, dy = math.cos(angle) * length / 2, math.sin(angle) * length / 2
        thick = max(1, round(rng.uniform(0.12, 0.55) * scale))
        draw.line((x - dx, y - dy, x + dx, y + dy), fill=rng.randint(150, 255), width=thick)
    rubbed = blobs(rng, label.size, 5 * scale, bare, softness=30)
    worn = Image.composite(grain(rng, label.size), Image.new("L", label.size, 0), rubbed)
    worn = worn.filter(ImageFilter.GaussianBlur(0.12 * scale)).point(table(lambda value: (value - 40) * 3))
    return lay(lay(label, 232, worn), 228, mask)


def smeared(label: Image.Image, rng: Random, scale: float, cover: float, alpha: float) -> Image.Image:
    """Blood and fat: dark translucent stains, some wiped into streaks."""
    stain = blobs(rng, label.size, 7 * scale, cover, softness=25)
    stretched = clouds(rng, (max(2, label.width // 8), label.height), 1.6 * scale).resize(label.size)
    streaks = stretched.point(table(lambda value: (value - 120) * 4))
    mask = Image.composite(streaks, stain, blobs(rng, label.size, 14 * scale, 0.35, softness=30))
    kept = Image.composite(mask, Image.new("L", label.size, 0), stain)
    return lay(lay(label, 70, times(kept, alpha)), 120, times(stain, alpha * 0.5))


def creased(label: Image.Image, rng: Random, scale: float, folds: int, bend: float) -> Image.Image:
    """A film that wrinkled: the print is shifted across each fold, with a shine and a shadow along it.

    ``bend`` is the largest shift in millimetres, of a slow wave over the whole label.
    """
    width, height = label.size
    phase, turns = rng.uniform(0, 6.28), rng.uniform(0.5, 1.1)
    phase2, turns2 = rng.uniform(0, 6.28), rng.uniform(0.4, 0.9)

    def moved(x: float, y: float) -> tuple[float, float]:
        dx = bend * scale * math.sin(phase + turns * 6.28 * y / height + 1.3 * x / width)
        dy = bend * scale * math.sin(phase2 + turns2 * 6.28 * x / width + 1.1 * y / height)
        return x + dx, y + dy

    columns, rows = 8, 5
    mesh = []
    for column in range(columns):
        for row in range(rows):
            left, right = width * column // columns, width * (column + 1) // columns
            top, bottom = height * row // rows, height * (row + 1) // rows
            corners = (moved(left, top), moved(left, bottom), moved(right, bottom), moved(right, top))
            mesh.append(((left, top, right, bottom), tuple(value for corner in corners for value in corner)))
    bent = label.transform(label.size, Image.Transform.MESH, mesh, Image.Resampling.BILINEAR, fillcolor=235)
    lines = Image.new("L", label.size, 0)
    shade = Image.new("L", label.size, 0)
    shine, shadow = ImageDraw.Draw(lines), ImageDraw.Draw(shade)
    for _ in range(folds):
        x, y, angle = rng.uniform(0, width), rng.uniform(0, height), rng.uniform(0, math.pi)
        dx, dy = math.cos(angle) * width, math.sin(angle) * width
        thick = max(1, round(rng.uniform(0.2, 0.6) * scale))
        shine.line((x - dx, y - dy, x + dx, y + dy), fill=230, width=thick)
        shadow.line((x - dx, y - dy + thick, x + dx, y + dy + thick), fill=170, width=thick)
    soft = ImageFilter.GaussianBlur(0.15 * scale)
    return lay(lay(bent, 60, times(shade.filter(soft), 0.7)), 240, lines.filter(soft))


def thermal(label: Image.Image, rng: Random, scale: float, ink: float, lines: int) -> Image.Image:
    """Thermal print that faded: grey ink, banding along the feed, and dots of the head that no longer burn."""
    bands = clouds(rng, (max(2, label.width // 60), label.height), 3 * scale).resize(label.size)
    level = bands.point(table(lambda value: 230 - 210 * ink * (0.8 + 0.4 * value / 255)))
    faded = Image.composite(Image.new("L", label.size, 232), level, label)
    draw = ImageDraw.Draw(faded)
    dot = max(1, round(0.125 * scale))
    for _ in range(lines):
        x = rng.uniform(0, label.width)
        # Added as one number: x + 1 - 1 may be less than x.
        draw.rectangle((x, 0, x + (dot * rng.choice((1, 1, 2)) - 1), label.height), fill=232)
    return faded


def glaring(label: Image.Image, rng: Random, scale: float, cover: float) -> Image.Image:
    """A lamp in the film: burnt out along its wrinkles, a soft bright edge around."""
    shine = blobs(rng, label.size, 8 * scale, cover, softness=22).filter(ImageFilter.GaussianBlur(0.6 * scale))
    return lay(lay(label, 250, times(shine, 0.97)), 255, shine.point(table(lambda value: (value - 150) * 3)))


def _together(label: Image.Image, rng: Random, scale: float) -> Image.Image:
    label = scuffed(label, rng, scale, 5, 0.03)
    label = creased(label, rng, scale, 1, 0.15)
    label = smeared(label, rng, scale, 0.12, 0.45)
    label = hazy(label, rng, scale, rng.uniform(0.3, 0.55), rng.uniform(0.4, 0.6))
    return crystals(label, rng, scale, rng.uniform(0.03, 0.06))


def _none(label: Image.Image, rng: Random, scale: float) -> Image.Image:
    return label


ON_LABEL: dict[str, Weather] = {
    "translucent-frost": lambda label, r, s: hazy(label, r, s, r.uniform(0.5, 0.85), r.uniform(0.84, 0.94)),
    "opaque-frost": lambda label, r, s: caked(label, r, s, r.uniform(0.1, 0.2)),
    "crystals": lambda label, r, s: crystals(label, r, s, r.uniform(0.06, 0.11)),
    "scuffs": lambda label, r, s: scuffed(label, r, s, r.randint(8, 18), r.uniform(0.05, 0.12)),
    "smears": lambda label, r, s: smeared(label, r, s, r.uniform(0.3, 0.5), r.uniform(0.65, 0.85)),
    "creases": lambda label, r, s: creased(label, r, s, r.randint(2, 5), r.uniform(0.25, 0.5)),
    "thermal": lambda label, r, s: thermal(label, r, s, r.uniform(0.18, 0.5), r.randint(1, 5)),
    "glare": lambda label, r, s: glaring(label, r, s, r.uniform(0.06, 0.16)),
    "together": _together,
}

_SHOTS: dict[str, Callable[[Random], dict[str, float]]] = {
    "blur": lambda r: {"blur": r.uniform(0.35, 0.55)},
    "motion": lambda r: {"motion": r.uniform(0.8, 1.5)},
    "dim": lambda r: {"light": r.uniform(0.2, 0.4), "uneven": r.uniform(0.5, 0.75), "noise": r.uniform(6, 10)},
    "tilt": lambda r: {"tilt": r.uniform(35, 52)},
    "distance": lambda r: {"module_px": r.uniform(2.3, 3.2)},
    "jpeg": lambda r: {"quality": r.randint(10, 22), "fill": r.uniform(0.5, 0.7)},
    "together": lambda r: {
        "tilt": r.uniform(10, 28),
        "blur": r.uniform(0.2, 0.32),
        "light": r.uniform(0.45, 0.8),
        "uneven": r.uniform(0.2, 0.45),
        "noise": r.uniform(4, 7),
        "quality": r.randint(55, 80),
    },
}

# Beyond two years: what opaque frost does as it closes.  Nothing is promised here.
HARSH: dict[str, Weather] = {
    "opaque-20-30": lambda label, r, s: caked(label, r, s, r.uniform(0.2, 0.3)),
    "opaque-30-45": lambda label, r, s: caked(label, r, s, r.uniform(0.3, 0.45)),
    "opaque-45-60": lambda label, r, s: caked(label, r, s, r.uniform(0.45, 0.6)),
}

FAMILIES = ("clear", *sorted({*ON_LABEL, *_SHOTS} - {"together"}), "together")


def weather_of(family: str) -> Weather:
    """What the family does to the label."""
    return ON_LABEL.get(family) or HARSH.get(family, _none)


def shot_of(family: str, rng: Random) -> Shot:
    """How the family's photograph is taken; what it does not say varies mildly."""
    mild = Shot(
        fill=rng.uniform(0.62, 0.95),
        tilt=rng.uniform(0, 18),
        blur=rng.uniform(0.05, 0.2),
        light=rng.uniform(0.7, 1),
        uneven=rng.uniform(0, 0.3),
        noise=rng.uniform(1.5, 4),
        quality=rng.randint(70, 92),
    )
    return replace(mild, **_SHOTS[family](rng)) if family in _SHOTS else mild  # type: ignore[arg-type]
