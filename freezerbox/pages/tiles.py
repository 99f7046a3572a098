"""A grid of tiles to cut out: big words, a symbol for phones and scanners, its code in letters; signs and cards.

Lengths are millimetres here; reportlab's own unit, the point, is 1/72 in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from freezerbox.core.symbol import LEAST_MODULE_MM
from freezerbox.errors import LabelDoesNotFit
from freezerbox.pages import sheet

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

MARGIN_MM = 12.0
_POINTS_A_MM = 72 / 25.4
_PAD_MM = 3.0
_QUIET = 4  # modules of white around a QR (ISO/IEC 18004, 6.3.8)
_BARS_QUIET = 10  # modules of white at each end of a Code 128 (ISO/IEC 15417, 4.2 c)
_BAR_MM = 0.42
_BARS_HIGH_MM, _OVER_BARS_MM = 8.0, 3.0
_MOST_QR_MM = 60.0
_LEAST_MM = 2.2
_UNDER_MM = 4.0  # for the code in letters, under its QR


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One tile.

    title: the big words.  lines: smaller ones under them.  code: as people read it, ``K7P-3MT``; "" for none.
    modules: the QR's rows, True is dark.  bars: the Code 128 as ``1`` and ``0``; "" for none.
    blank: a line to write on.  says: what the QR and then the bars are to say, to be read back before printing.
    """

    title: str
    lines: tuple[str, ...] = ()
    code: str = ""
    modules: tuple[tuple[bool, ...], ...] = ()
    bars: str = ""
    blank: bool = False
    says: tuple[str, ...] = ()


def write_tiles(
    tiles: Sequence[Tile], path: Path, *, title: str, columns: int, rows: int, paper: str = "letter"
) -> tuple[int, Path]:
    """Write the tiles as a PDF, row by row; returns how many pages it took, and the file.

    Raises: InputError for a paper, an ending or a folder that is none; LabelDoesNotFit for a symbol that would be
    too fine to read; BookTrouble when the file cannot be written.
    """
    with sheet.pdf(path, title=title, paper=paper, such_as="signs.pdf") as canvas:
        pages = _put(canvas, tiles, columns, rows, paper)
    return pages, path


def _put(canvas: Canvas, tiles: Sequence[Tile], columns: int, rows: int, paper: str) -> int:
    width, height = sheet.PAPERS[paper]
    tile_width, tile_height = (width - 2 * MARGIN_MM) / columns, (height - 2 * MARGIN_MM) / rows
    for tile in tiles:
        module = _module_mm(tile, tile_width, tile_height)
        if tile.modules and module < LEAST_MODULE_MM:
            raise LabelDoesNotFit(
                f"The symbol of {tile.title!r} would have modules of {module:.3f} mm on {paper}; "
                f"under {LEAST_MODULE_MM} mm few phones read it.",
                field="qr",
            )
    same = min((_title_mm(tile, tile_width, tile_height) for tile in tiles if tile.blank), default=tile_height)
    pages = 0
    for number, tile in enumerate(tiles):
        row, column = divmod(number % (columns * rows), columns)
        if row == column == 0:
            if number:
                canvas.showPage()
            pages += 1
        left, top = MARGIN_MM + column * tile_width, MARGIN_MM + row * tile_height
        _draw(canvas, tile, left, height - top - tile_height, tile_width, tile_height, same)
    canvas.showPage()
    return pages


def _draw(canvas: Canvas, tile: Tile, left: float, bottom: float, width: float, height: float, same: float) -> None:
    """One tile in its rectangle; ``bottom`` counts from the foot of the page, as PDF does.

    ``same``: height of the capitals in the titles of all tiles to write on, which are told apart by nothing else.
    """
    canvas.setLineWidth(0.5)
    canvas.setDash(2, 3)
    canvas.rect(left * _POINTS_A_MM, bottom * _POINTS_A_MM, width * _POINTS_A_MM, height * _POINTS_A_MM)
    canvas.setDash()
    side = _side_mm(tile, width, height)
    room = _room_mm(tile, width, height)
    if side:
        x = left + width - _PAD_MM - side
        y = bottom + height - _PAD_MM - side
        _modules(canvas, tile.modules, x, y, side)
        quiet = side * _QUIET / (len(tile.modules) + 2 * _QUIET)
        _words(canvas, tile.code, x + quiet, y - 2.5, min(4.0, side / 12), side)
    top = bottom + height - _PAD_MM
    title = sheet.printable(tile.title)[0]
    cap = same if tile.blank else _title_mm(tile, width, height)
    base = top - cap * sheet.rise_per_cap(title)
    _words(canvas, title, left + _PAD_MM, base, cap, room)
    floor = bottom + _PAD_MM + (_BARS_HIGH_MM + _OVER_BARS_MM if tile.bars else 0) + (7 if tile.blank else 0)
    base -= cap * 0.15  # what hangs below the line, in a p or a g
    small = min(4.5, max(_LEAST_MM, height / 20))
    lines = [sheet.printable(line)[0] for line in tile.lines]
    while small > _LEAST_MM and base - _lines_mm(lines, small, room) < floor:
        small = max(_LEAST_MM, small - 0.1)
    for line in lines:
        for part in sheet.wrapped(line, small, room):
            if base - small * 2 < floor:
                break
            base -= small * 1.9
            _words(canvas, part, left + _PAD_MM, base, small, room)
    if tile.bars:
        _bars(canvas, tile.bars, left + _PAD_MM, bottom + _PAD_MM, room, _BARS_HIGH_MM)
    if tile.blank:
        y = (bottom + _PAD_MM + 1) * _POINTS_A_MM
        canvas.setLineWidth(0.8)
        canvas.line((left + _PAD_MM) * _POINTS_A_MM, y, (left + _PAD_MM + room) * _POINTS_A_MM, y)


def unknown_letters(tile: Tile) -> str:
    """The letters of the tile that the font has not; a ``?`` stands for each."""
    return "".join(dict.fromkeys("".join(sheet.printable(words)[1] for words in (tile.title, *tile.lines))))


def _side_mm(tile: Tile, width: float, height: float) -> float:
    """Side of the QR with its white, 0 for none."""
    under = _UNDER_MM if tile.code else 0.0
    return min(height - 2 * _PAD_MM - under, width * 0.42, _MOST_QR_MM) if tile.modules else 0.0


def _room_mm(tile: Tile, width: float, height: float) -> float:
    """Width left for words beside the QR."""
    side = _side_mm(tile, width, height)
    return width - 2 * _PAD_MM - side - (2 if side else 0)


def _title_mm(tile: Tile, width: float, height: float) -> float:
    """The largest height of capitals at which the title fits in a line."""
    return _fitting(sheet.printable(tile.title)[0], _room_mm(tile, width, height), min(14.0, height / 4))


def _module_mm(tile: Tile, width: float, height: float) -> float:
    return _side_mm(tile, width, height) / (len(tile.modules) + 2 * _QUIET)


def _lines_mm(lines: Sequence[str], cap: float, room: float) -> float:
    """How far down the lines reach at that height of capitals, and what hangs below the last."""
    return cap * (1.9 * sum(len(list(sheet.wrapped(line, cap, room))) for line in lines) + 0.1)


def _fitting(words: str, room: float, most: float) -> float:
    """The largest height of capitals, in mm, at which the words fit in a line."""
    natural = sheet.width_mm(words, 1.0)
    return min(most, room / natural) if natural else most


def _words(canvas: Canvas, words: str, x: float, y: float, cap: float, room: float) -> None:
    canvas.setFont(sheet.FONT, _fitting(words, room, cap) * sheet.em_per_cap() * _POINTS_A_MM)
    canvas.drawString(x * _POINTS_A_MM, y * _POINTS_A_MM, words)


def _modules(canvas: Canvas, modules: Sequence[Sequence[bool]], x: float, y: float, side: float) -> None:
    step = side / (len(modules) + 2 * _QUIET)
    path = canvas.beginPath()
    for row, line in enumerate(modules):
        for column, dark in enumerate(line):
            if dark:
                path.rect(
                    (x + (_QUIET + column) * step) * _POINTS_A_MM,
                    (y + side - (_QUIET + row + 1) * step) * _POINTS_A_MM,
                    step * _POINTS_A_MM,
                    step * _POINTS_A_MM,
                )
    canvas.drawPath(path, stroke=0, fill=1)


def _bars(canvas: Canvas, bars: str, x: float, y: float, room: float, height: float) -> None:
    step = min(_BAR_MM, room / (len(bars) + 2 * _BARS_QUIET))
    path = canvas.beginPath()
    for number, bar in enumerate(bars):
        if bar == "1":
            at = (x + (_BARS_QUIET + number) * step) * _POINTS_A_MM
            path.rect(at, y * _POINTS_A_MM, step * _POINTS_A_MM, height * _POINTS_A_MM)
    canvas.drawPath(path, stroke=0, fill=1)
