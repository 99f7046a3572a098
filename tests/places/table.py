"""Photographs of a table, composed: labels as they are printed, turned and laid out so that none covers another."""

from __future__ import annotations

import random
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from PIL import Image, ImageFilter

from tests.cli.process import House

# The symbols of these designs have modules of 0.627 mm or more: at 6.4 dots a mm each is four dots wide.
DOTS_A_MM = 6.4


def pictures(house: House, stock: str, *codes: str, dots: float = DOTS_A_MM) -> dict[str, Image.Image]:
    """Each label alone, as printed on that stock, at photograph size: so many dots a mm."""
    again = ("again", *codes) if codes else ()
    report = house.ok("label", *again, "--stock", stock, "--to", "table.png", "--yes", "--json").json
    pages: dict[str, Image.Image] = {}
    found = {}
    for label in report["labels"]:
        page = pages.setdefault(label["file"], Image.open(house.folder / label["file"]).convert("L"))
        found[label["code"]] = _cut_out(page, label, stock, dots)
    return found


def _cut_out(page: Image.Image, label: dict[str, Any], stock: str, seen: float) -> Image.Image:
    dots = (203 if "203dpi" in stock else 600) / 25.4
    left, top = label["x_mm"] * dots, label["y_mm"] * dots
    size = (label["width_mm"] * dots, label["height_mm"] * dots)
    alone = page.crop((round(left), round(top), round(left + size[0]), round(top + size[1])))
    wanted = (round(label["width_mm"] * seen), round(label["height_mm"] * seen))
    return alone.resize(wanted, Image.Resampling.LANCZOS)


def lay_out(
    labels: Sequence[Image.Image], chance: random.Random, size: tuple[int, int], *, turn: float = 360
) -> Image.Image:
    """A photograph with every label in view, each turned by any angle in a cell of its own, on a mottled table.

    ``turn``: the largest angle.
    """
    table = Image.effect_noise((size[0] // 8, size[1] // 8), 40).resize(size, Image.Resampling.BICUBIC)
    reach = max(round((label.width**2 + label.height**2) ** 0.5) for label in labels) + 8
    cells = [(x, y) for y in range(0, size[1] - reach, reach) for x in range(0, size[0] - reach, reach)]
    assert len(cells) >= len(labels), "the table is too small for so many labels"
    for label, (x, y) in zip(labels, chance.sample(cells, len(labels)), strict=True):
        angle = chance.uniform(0, turn)
        turned = label.rotate(angle, Image.Resampling.BICUBIC, expand=True)
        mask = Image.new("L", label.size, 255).rotate(angle, expand=True)
        table.paste(turned, (x + (reach - turned.width) // 2, y + (reach - turned.height) // 2), mask)
    return table.filter(ImageFilter.GaussianBlur(chance.uniform(0.3, 0.7)))


def save(photo: Image.Image, path: Path) -> Path:
    """As a phone would: JPEG."""
    photo.save(path, quality=88)
    return path
