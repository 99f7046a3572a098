"""What a made design is put together from: rows, boxes, sizes that follow from the label, and the file's text."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from freezerbox.labels.stock import MM_PER_INCH
from freezerbox.labels.symbols import LEAST_MODULE_MM, QR_BOX

EDGE_MM = 1.8
"""White between the label's edge and words."""
TAB_FROM_MM = 60.0
"""Narrower labels need all their width for the cut, and have no strip for the season's block."""
CUT = '"cut", "form", "fat", "seasoning"'
"""The row of the cut, as the file writes it, and how much smaller the words beside it are."""
SHAPES = "small = { form = 0.66, fat = 0.62, seasoning = 0.66 }"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """fields: as the file writes them.  least, most: heights of capitals in mm.  more: further keys."""

    fields: str
    least: float
    most: float
    more: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A stack: where it is, and its rows."""

    x: float
    y: float
    width: float
    height: float
    rows: Sequence[Row]
    gap: float = 0.4
    align: str = "left"


class Sizes:
    """The label and what follows from it."""

    def __init__(self, width: float, height: float, dpi: int) -> None:
        self.width, self.height = width, height
        dot = MM_PER_INCH / dpi
        least = math.ceil(LEAST_MODULE_MM / dot - 1e-6) * dot
        large = min(0.39 * height, 0.3 * width) / QR_BOX
        module = max(least, math.floor(large / dot) * dot)
        self.square = math.ceil(module * QR_BOX * 100) / 100
        self.least_square = math.ceil(least * QR_BOX * 100) / 100
        self.between = width - 2 * self.square - 1
        self.fence = round(min(2.4, max(1.1, height * 0.045)), 2)
        self.inner = round(0.4 + self.fence + 0.45, 2)

    def share(self, part: float, least: float, most: float) -> float:
        """A share of the height within bounds: letters grow with the label."""
        return round(min(most, max(least, part * min(self.height, 0.62 * self.width))), 2)


def fence(at: Sizes) -> str:
    """The hatched border round the whole label, as the file writes it."""
    return (
        f"fence = {{ x_mm = 0.4, y_mm = 0.4, width_mm = {at.width - 0.8:g}, height_mm = {at.height - 0.8:g}, "
        f"thick_mm = {at.fence:g} }}"
    )


TAB_MM = 2.2
"""Width of the strip in which the season's block stands."""
TAB_ROOM_MM = TAB_MM + 1.2
"""The strip, and the white between it and the words."""


def season_tab(at: Sizes, top: float, height: float) -> str:
    """The strip for the season's block at the right edge, as the file writes it."""
    x = round(at.width - 1.8 - TAB_MM, 2)
    return f"tab = {{ x_mm = {x:g}, y_mm = {top:g}, width_mm = {TAB_MM:g}, height_mm = {round(height, 2):g} }}"


def lying_tab(at: Sizes) -> str:
    """The strip for the season's block above the right symbol, as the file writes it; "" when there is no room."""
    above = (at.height - at.square) / 2
    if above < 3.4:
        return ""
    x = round(at.width - at.square + 1.8, 2)
    return (
        f"tab = {{ x_mm = {x:g}, y_mm = 1.3, width_mm = {round(at.square - 3.6, 2):g}, "
        f"height_mm = {round(min(above - 1.5, TAB_MM), 2):g} }}"
    )


def arrangement(
    name: str,
    at: Sizes,
    squares: Sequence[tuple[float, float]],
    stacks: Sequence[Box],
    fence: str = "",
    side: float = 0,
    tab: str = "",
    link: tuple[float, float] | None = None,
) -> str:
    """An arrangement as the file writes it; ``side`` is of its symbols when they are not of the label's own size.

    ``link``: where the symbol for phones stands.
    """
    size = side or at.square

    def square(x: float, y: float) -> str:
        return f"{{ x_mm = {x:g}, y_mm = {y:g}, size_mm = {size:g} }}"

    lines = ["[[arrangement]]", f'name = "{name}"', *(line for line in (fence, tab) if line)]
    lines += [f"link = {square(*link)}"] if link else []
    lines += ["qr = [", *(f"  {square(x, y)}," for x, y in squares), "]"]
    for stack in stacks:
        lines += [
            "[[arrangement.stack]]",
            f"x_mm = {stack.x:g}",
            f"y_mm = {stack.y:g}",
            f"width_mm = {stack.width:g}",
            f"height_mm = {stack.height:g}",
            f"gap_mm = {stack.gap:g}",
            f'align = "{stack.align}"',
            "row = [",
        ]
        for row in stack.rows:
            face = "" if "face" in row.more else 'face = "condensed", '
            if row.fields == '"code_128"':
                face = ""
            lines.append(
                f"  {{ fields = [{row.fields}], {face}least_mm = {round(row.least, 2):g}, "
                f"most_mm = {round(max(row.least, row.most), 2):g}{', ' + row.more if row.more else ''} }},"
            )
        lines.append("]")
    return "\n".join(lines) + "\n"


_THIN_FENCE = 0.8
_EDGE = 0.3 + _THIN_FENCE
_LEFT, _TOP, _BOTTOM = 1.8, 1.3, 1.25
_LEAST_CUT = 3.55
_DESCENDED = 1.33  # height of a capital and of what hangs below the line, in capitals


def all_said(at: Sizes) -> list[str]:
    """One symbol, a thin border, letters at their least: for what no other arrangement has room to say.

    The cut runs across the top where the symbol leaves room above it; hold, banners, fat and seasoning share lines.
    """
    height_above = at.height - _EDGE - at.least_square - _TOP
    if height_above >= _LEAST_CUT * _DESCENDED:
        return [_below_the_cut(at, height_above)]
    return [_beside(at, fenced=False, month_alone=True), _beside(at, fenced=False), _beside(at, fenced=True)]


def _cut(most: float) -> Row:
    return Row(
        fields='"cut", "form"',
        least=_LEAST_CUT,
        most=max(_LEAST_CUT, min(9.0, most)),
        more="squeeze = 0.62, lines = 2, small = { form = 0.66 }",
    )


def _blocks() -> Row:
    more = "squeeze = 0.57, lines = 4"
    return Row(fields='"hold", "banners", "fat", "seasoning"', least=1.8, most=4, more=more)


def _words(fields: str, least: float = 1.8, most: float = 4) -> Row:
    return Row(fields=fields, least=least, most=most, more="dot = true, squeeze = 0.62, lines = 2")


def _thin_fence(at: Sizes) -> str:
    return (
        f"fence = {{ x_mm = 0.3, y_mm = 0.3, width_mm = {at.width - 0.6:g}, height_mm = {at.height - 0.6:g}, "
        f"thick_mm = {_THIN_FENCE:g} }}"
    )


def _below_the_cut(at: Sizes, height_above: float) -> str:
    side = at.least_square
    qx, qy = round(at.width - _EDGE - side, 2), round(at.height - _EDGE - side, 2)
    width, beside = round(at.width - 2 * _LEFT, 2), round(qx - _LEFT - 0.2, 2)
    words = [_blocks(), _words('"animal", "weight", "pieces"'), _words('"month", "run", "code"', 2, 4.5)]
    stacks = [
        Box(x=_LEFT, y=_TOP, width=width, height=round(height_above, 2), rows=[_cut(height_above / 2.8)]),
        Box(x=_LEFT, y=qy, width=beside, height=round(at.height - _BOTTOM - qy, 2), rows=words, gap=0.2),
    ]
    return arrangement("all that must be said", at, [(qx, qy)], stacks, _thin_fence(at), side)


def _beside(at: Sizes, *, fenced: bool, month_alone: bool = False) -> str:
    """The symbol leaves no room above it: month and code stand below it; the weight too, or with the animal."""
    side, edge = at.least_square, _EDGE if fenced else 0.0
    qx = round(at.width - edge - side, 2)
    below = round(at.height - _BOTTOM - edge - side, 2)
    month_alone = month_alone or fenced
    animal = _words('"animal", "weight", "pieces"' if month_alone else '"animal", "pieces"')
    month = '"month"' if month_alone else '"weight", "month"'
    words = [_words(month, 2, 3), _words('"code"', 2, 3)]
    if below < 4.35:
        words = [_words('"month", "code"', 2, 2.8)]
    stacks = [
        Box(
            x=_LEFT, y=_TOP, width=round(qx - _LEFT - 0.2, 2), height=round(at.height - _BOTTOM - _TOP, 2),
            rows=[_cut(4), _blocks(), animal], gap=0.2,
        ),
        Box(
            x=round(qx + 0.3, 2), y=round(edge + side, 2), width=round(at.width - max(edge, 1.5) - qx - 0.4, 2),
            height=below, rows=words, align="center", gap=0.2,
        ),
    ]  # fmt: skip
    name = "all that must be said" + (", fenced" if fenced else ", month alone" if month_alone else "")
    return arrangement(name, at, [(qx, edge)], stacks, _thin_fence(at) if fenced else "", side)
