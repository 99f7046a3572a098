"""The photograph: labels laid into a scene at a turn and a tilt, light, lens, sensor, JPEG."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from PIL import Image, ImageChops, ImageDraw, ImageFilter

from tests.weather.elements import Size, blobs, clouds, lay, noisy, smear, table, times
from tests.weather.weathers import Shot, Weather

FRAME = (1280, 960)


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A label as printed.  picture: mode L.  width_mm, height_mm: its size.  module_mm: of its largest symbol."""

    picture: Image.Image
    width_mm: float
    height_mm: float
    module_mm: float


def scene(rng: Random, size: Size) -> Image.Image:
    """The inside of a freezer: bags, shadows, frost, things with edges."""
    picture = clouds(rng, size, size[0] / 5).point(table(lambda value: 60 + value * 0.6))
    draw = ImageDraw.Draw(picture)
    for _ in range(rng.randint(3, 10)):
        x, y = rng.uniform(-100, size[0]), rng.uniform(-100, size[1])
        corners = [(x + rng.uniform(-250, 250), y + rng.uniform(-250, 250)) for _ in range(rng.randint(3, 6))]
        draw.polygon(corners, fill=rng.randint(20, 240))
    for _ in range(rng.randint(0, 12)):
        x, y = rng.uniform(0, size[0]), rng.uniform(0, size[1])
        draw.line(
            (x, y, x + rng.gauss(0, 300), y + rng.gauss(0, 300)), fill=rng.randint(0, 255), width=rng.randint(1, 9)
        )
    if rng.random() < 0.5:
        frost = blobs(rng, size, 30, rng.uniform(0.05, 0.4), softness=40)
        picture = lay(picture, 225, times(frost, 0.8))
    texture = clouds(rng, size, 4).point(table(lambda value: 128 + (value - 128) * 0.12))
    return ImageChops.add(picture.filter(ImageFilter.GaussianBlur(rng.uniform(0.5, 3))), texture, 1, -128)


def photograph(
    labels: Sequence[Printed],
    weather: Weather,
    shot: Shot,
    rng: Random,
    size: Size = FRAME,
    columns: int = 1,
) -> Image.Image:
    """The labels in a grid of cells, each weathered and turned at random, as the camera kept it."""
    picture = scene(rng, size)
    rows = max(1, math.ceil(len(labels) / columns))
    cell = (size[0] / columns, size[1] / rows)
    turns = [(rng.uniform(0, 2 * math.pi), rng.uniform(0, 2 * math.pi)) for _ in labels]
    poses = [_seen(label, *turn, math.radians(shot.tilt)) for label, turn in zip(labels, turns, strict=True)]
    # One camera, one distance: all are as large as the one that fits least.
    fit = min((0.97 * min(cell[0] / _reach(pose)[0], cell[1] / _reach(pose)[1]) for pose in poses), default=8.0)
    module_mm = max((label.module_mm for label in labels), default=0.65)
    scale = fit * shot.fill if shot.module_px is None else min(fit, shot.module_px / module_mm)
    for number, (label, pose) in enumerate(zip(labels, poses, strict=True)):
        across, down = _reach(pose)
        slack = (max(0.0, cell[0] - across * scale) / 2, max(0.0, cell[1] - down * scale) / 2)
        left = cell[0] * (number % columns + 0.5) + rng.uniform(-0.8, 0.8) * slack[0] - scale * across / 2
        top = cell[1] * (number // columns + 0.5) + rng.uniform(-0.8, 0.8) * slack[1] - scale * down / 2
        start = (min(x for x, _ in pose), min(y for _, y in pose))
        quad = [(left + scale * (x - start[0]), top + scale * (y - start[1])) for x, y in pose]
        picture = _put(picture, label, weather, rng, quad, scale)
    return develop(picture, shot, rng, module_mm * scale)


def _reach(pose: Sequence[tuple[float, float]]) -> tuple[float, float]:
    return max(x for x, _ in pose) - min(x for x, _ in pose), max(y for _, y in pose) - min(y for _, y in pose)


def _put(
    picture: Image.Image,
    label: Printed,
    weather: Weather,
    rng: Random,
    quad: Sequence[tuple[float, float]],
    scale: float,
) -> Image.Image:
    # Drawn a little finer than it will be seen, weathered there, then laid into the scene.
    fine = 1.4 * scale
    drawn = label.picture.resize((round(label.width_mm * fine), round(label.height_mm * fine)), Image.Resampling.BOX)
    drawn = drawn.point(table(lambda value: 25 + value * 210 / 255))
    drawn = weather(drawn, rng, fine)
    box = (
        max(0, math.floor(min(x for x, _ in quad))),
        max(0, math.floor(min(y for _, y in quad))),
        min(picture.width, math.ceil(max(x for x, _ in quad)) + 1),
        min(picture.height, math.ceil(max(y for _, y in quad)) + 1),
    )
    room = (box[2] - box[0], box[3] - box[1])
    local = [(x - box[0], y - box[1]) for x, y in quad]
    terms = perspective(local, drawn.size)
    seen = drawn.transform(room, Image.Transform.PERSPECTIVE, terms, Image.Resampling.BICUBIC, fillcolor=200)
    inside = Image.new("L", room, 0)
    ImageDraw.Draw(inside).polygon(local, fill=255)
    laid = picture.copy()
    laid.paste(seen, box[:2], inside)
    return laid


def _seen(label: Printed, turn: float, axis: float, tilt: float) -> list[tuple[float, float]]:
    """Corners of a label of unit scale, turned, tilted about ``axis`` and seen from five label lengths away."""
    far = 5 * label.width_mm
    seen = []
    for x, y in ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)):
        across, down = x * label.width_mm, y * label.height_mm
        u = across * math.cos(turn) - down * math.sin(turn)
        v = across * math.sin(turn) + down * math.cos(turn)
        along = u * math.cos(axis) + v * math.sin(axis)
        aside = -u * math.sin(axis) + v * math.cos(axis)
        deep = aside * math.sin(tilt)
        aside *= math.cos(tilt)
        shrink = far / (far + deep)
        u = along * math.cos(axis) - aside * math.sin(axis)
        v = along * math.sin(axis) + aside * math.cos(axis)
        seen.append((u * shrink, v * shrink))
    return seen


def develop(picture: Image.Image, shot: Shot, rng: Random, module_px: float) -> Image.Image:
    """Light, lens, motion, noise and JPEG."""
    size = picture.size
    near = Image.linear_gradient("L").rotate(rng.uniform(0, 360), expand=False).resize(size)
    light = near.point(table(lambda value: 255 * shot.light * (1 - shot.uneven * value / 255)))
    picture = ImageChops.multiply(picture, light)
    if shot.motion:
        path, way = shot.motion * module_px, rng.uniform(0, math.pi)
        picture = smear(picture, path * math.cos(way), path * math.sin(way))
    picture = picture.filter(ImageFilter.GaussianBlur(shot.blur * module_px))
    return jpeg(noisy(rng, picture, shot.noise), shot.quality)


def jpeg(picture: Image.Image, quality: int) -> Image.Image:
    """As it comes back from a JPEG file."""
    return Image.open(io.BytesIO(jpeg_bytes(picture, quality))).convert("L")


def jpeg_bytes(picture: Image.Image, quality: int) -> bytes:
    """The JPEG file."""
    held = io.BytesIO()
    picture.save(held, "JPEG", quality=quality)
    return held.getvalue()


def perspective(quad: Sequence[tuple[float, float]], size: Size) -> tuple[float, ...]:
    """The eight terms that Pillow wants: from the picture's pixels to those of a drawing of ``size``.

    quad: where its top left, top right, bottom right and bottom left corners lie in the picture.
    """
    width, height = size
    rows = []
    for (x, y), (u, v) in zip(quad, ((0, 0), (width, 0), (width, height), (0, height)), strict=True):
        rows.append([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, float(u)])
        rows.append([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, float(v)])
    for column in range(8):
        pivot = max(range(column, 8), key=lambda row: abs(rows[row][column]))
        rows[column], rows[pivot] = rows[pivot], rows[column]
        lead = rows[column][column]
        rows[column] = [value / lead for value in rows[column]]
        for row in range(8):
            if row != column and rows[row][column]:
                factor = rows[row][column]
                rows[row] = [value - factor * base for value, base in zip(rows[row], rows[column], strict=True)]
    return tuple(row[8] for row in rows)
