"""Which symbols in a photograph are copies on one label: those that say the same and stand as near as on a label."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist, hypot

from freezerbox.reading.grid import Point
from freezerbox.reading.matching import middle

APART_SIDES = 6.8
"""Sides of a symbol that copies of it stand apart on one label at most: 6.24 on paper of 4 x 1 in, and what the
corners may be off."""
_LONG = 2.0  # times as long as high: bars, whose own sides are no measure of a label


def seen_from(other: Sequence[Point], one: Sequence[Point]) -> Point:
    """Where the middle of ``one`` stands beside that of ``other``, in its sides, along its rows and down.

    So it is the same however aslant the label was photographed.
    """
    (ax, ay), (bx, by) = middle(one), middle(other)
    (x0, y0), (x1, y1), _, (x3, y3) = other
    ux, uy, vx, vy = x1 - x0, y1 - y0, x3 - x0, y3 - y0
    k = ux * vy - uy * vx or 1e-9
    return ((ax - bx) * vy - (ay - by) * vx) / k, ((ay - by) * ux - (ax - bx) * uy) / k


def near(one: Sequence[Point], other: Sequence[Point]) -> bool:
    """Whether two symbols may stand on one label; corners clockwise from the own top left."""
    ways = [hypot(*seen_from(a, b)) for a, b in ((one, other), (other, one)) if _squarish(a)]
    if not ways:
        ways = [dist(middle(one), middle(other)) / (max(_side(one), _side(other)) or 1e-9)]
    return min(ways) < APART_SIDES


def labels_of(said: Sequence[str], symbols: Sequence[Sequence[Point]]) -> list[list[int]]:
    """The symbols of each label, as numbers: those that say the same and lie together."""
    labels: list[list[int]] = []
    for number, corners in enumerate(symbols):
        close = [
            label
            for label in labels
            if said[label[0]] == said[number] and any(near(corners, symbols[at]) for at in label)
        ]
        labels = [one for one in labels if one not in close] + [
            sorted([number, *(at for one in close for at in one)])
        ]
    return sorted(labels)


def _squarish(corners: Sequence[Point]) -> bool:
    along, down = dist(corners[0], corners[1]), dist(corners[0], corners[3])
    return max(along, down) < _LONG * min(along, down)


def _side(corners: Sequence[Point]) -> float:
    return sum(dist(corners[at - 1], corners[at]) for at in range(len(corners))) / len(corners)
