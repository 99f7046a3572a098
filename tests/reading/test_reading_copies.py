"""Copies of a symbol on one label are told from two labels, however aslant they were photographed."""

from __future__ import annotations

import tomllib
from itertools import pairwise
from math import cos, radians, sin
from pathlib import Path

import pytest

from freezerbox.chores.photos import packs_of
from freezerbox.labels.symbols import QR_SIDE
from freezerbox.reading.copies import labels_of
from freezerbox.reading.ladder import Symbol

DESIGNS = Path(__file__).parents[2] / "label_templates" / "designs"
QUIET = 4
Corners = tuple[tuple[float, float], ...]
FAR = 400.0  # mm from the lens to the middle of the label


def squares(design: Path) -> list[tuple[Corners, ...]]:
    """The symbols of each arrangement of a design that has two, in mm."""
    found: list[tuple[Corners, ...]] = []
    for table in tomllib.loads(design.read_text("utf-8"))["arrangement"]:
        edges = []
        for box in table.get("qr", ()):
            module = box["size_mm"] / (QR_SIDE + 2 * QUIET)
            left, top = box["x_mm"] + QUIET * module, box["y_mm"] + QUIET * module
            side = QR_SIDE * module
            edges.append(((left, top), (left + side, top), (left + side, top + side), (left, top + side)))
        if len(edges) > 1:
            found.append(tuple(edges))
    return found


def seen(corners: Corners, tilt: float, turn: float) -> Corners:
    """Through a lens over the middle of a 4 x 2 in label that lies aslant, in pixels or so."""
    a, b = radians(tilt), radians(turn)
    points = []
    for x, y in corners:
        across, along = (x - 50) * cos(b) - (y - 25) * sin(b), (x - 50) * sin(b) + (y - 25) * cos(b)
        away = FAR + across * sin(a)
        points.append((2000 * across * cos(a) / away, 2000 * along / away))
    return tuple(points)


def twin(corners: Corners, right: float, down: float) -> Corners:
    return tuple((x + right, y + down) for x, y in corners)


def symbol(corners: Corners) -> Symbol:
    return Symbol(text="K7P3MT", symbology="QR", how="decoded", position=corners)


@pytest.mark.parametrize("design", sorted(DESIGNS.glob("*.toml")), ids=lambda path: path.stem)
def test_copies_of_every_design_are_of_one_label(design: Path) -> None:
    for copies in squares(design):
        for tilt in (0, 30, 45):
            for turn in (0, 37, 90, 180):
                here = [seen(one, tilt, turn) for one in copies]
                assert labels_of(["A"] * len(here), here) == [[*range(len(here))]], (tilt, turn)
                assert packs_of(map(symbol, here)) == 1


def test_every_design_with_two_is_looked_at() -> None:
    assert sum(bool(squares(path)) for path in DESIGNS.glob("*.toml")) > 10


def test_one_code_on_two_packs_is_seen() -> None:
    """Side by side and one below the other: nearer than the copies on one label stand."""
    (copies, *_) = squares(DESIGNS / "standard-4x2in.toml")
    for right, down in ((104, 0), (0, 54), (250, 0)):
        both = [*copies, *(twin(one, right, down) for one in copies)]
        assert packs_of(map(symbol, both)) == 2, (right, down)


def test_one_symbol_each_far_apart() -> None:
    one: Corners = ((0, 0), (10, 0), (10, 10), (0, 10))
    apart = [twin(one, 70 * number, 0) for number in range(3)]
    assert packs_of(map(symbol, apart)) == 3
    assert all(labels_of(["A", "B"], pair) == [[0], [1]] for pair in pairwise(apart))
