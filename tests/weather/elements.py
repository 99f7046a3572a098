"""Pieces the weather is made of: seeded noise, blobs, shifts.  Everything in grey, 0 black to 255 white."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from PIL import Image, ImageChops

Size = tuple[int, int]


def table(function: Callable[[float], float]) -> list[int]:
    """A look-up table of 256 greys."""
    return [max(0, min(255, round(function(value)))) for value in range(256)]


def grain(rng: Random, size: Size) -> Image.Image:
    """Every pixel by itself, uniform over 0..255."""
    return Image.frombytes("L", size, rng.randbytes(size[0] * size[1]))


def clouds(rng: Random, size: Size, cell: float) -> Image.Image:
    """Smooth noise whose features are about ``cell`` pixels across."""
    across, down = int(size[0] / cell) + 4, int(size[1] / cell) + 4
    left, top = rng.random(), rng.random()
    box = (1 + left, 1 + top, 1 + left + size[0] / cell, 1 + top + size[1] / cell)
    return grain(rng, (across, down)).resize(size, Image.Resampling.BICUBIC, box=box)


def blobs(rng: Random, size: Size, cell: float, cover: float, softness: float = 24) -> Image.Image:
    """A mask, 255 where a blob lies, over a share ``cover`` of the picture."""
    field = Image.blend(clouds(rng, size, cell), clouds(rng, size, cell / 2.6), 0.3)
    edge = quantile(field, 1 - cover)
    return field.point(table(lambda value: 127 + (value - edge) * 128 / softness))


def quantile(picture: Image.Image, share: float) -> int:
    """The grey below which a share of the pixels lies."""
    counts = picture.histogram()
    wanted, seen = share * sum(counts), 0
    for value, count in enumerate(counts):
        seen += count
        if seen >= wanted:
            return value
    return 255


def times(mask: Image.Image, factor: float) -> Image.Image:
    """Every grey times ``factor``."""
    return mask.point(table(lambda value: value * factor))


def lay(picture: Image.Image, over: Image.Image | int, mask: Image.Image) -> Image.Image:
    """``over`` laid on where the mask is white."""
    layer = Image.new("L", picture.size, over) if isinstance(over, int) else over
    return Image.composite(layer, picture, mask)


def smear(picture: Image.Image, across: float, down: float) -> Image.Image:
    """Motion along a straight line: the mean of copies shifted step by step, edges held."""
    steps = max(2, round(max(abs(across), abs(down))) + 1)
    mean = picture
    for step in range(1, steps):
        share = step / (steps - 1) - 0.5
        shifted = ImageChops.offset(picture, round(across * share), round(down * share))
        mean = Image.blend(mean, shifted, 1 / (step + 1))
    return mean


def noisy(rng: Random, picture: Image.Image, sigma: float) -> Image.Image:
    """Sensor noise of about that standard deviation, in greys."""
    # The mean of two uniform greys has a standard deviation of 52.
    noise = Image.blend(grain(rng, picture.size), grain(rng, picture.size), 0.5)
    factor = sigma / 52
    return ImageChops.add(picture, noise.point(table(lambda value: 128 + (value - 127.5) * factor)), 1, -128)
