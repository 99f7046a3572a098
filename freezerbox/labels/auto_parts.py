"""What a made design is put together from: rows, boxes, sizes that follow from the label, and the file's text."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from freezerbox.labels.stock import MM_PER_INCH
from freezerbox.labels.symbols import LEAST_MODULE_MM, QR_BOX


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


def arrangement(
    name: str,
    at: Sizes,
    squares: Sequence[tuple[float, float]],
    stacks: Sequence[Box],
    fence: str = "",
    side: float = 0,
) -> str:
    """An arrangement as the file writes it; ``side`` is of its symbols when they are not of the label's own size."""
    size = side or at.square
    lines = ["[[arrangement]]", f'name = "{name}"', *([fence] if fence else []), "qr = ["]
    lines += [f"  {{ x_mm = {x:g}, y_mm = {y:g}, size_mm = {size:g} }}," for x, y in squares]
    lines.append("]")
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
