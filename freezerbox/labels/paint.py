"""A layout as dots: black and white only, whole dots a module, nothing smoothed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from freezerbox.labels.flow import BLANK_THICK, BLOCK_PAD, TAIL
from freezerbox.labels.fonts import em_per_cap, font
from freezerbox.labels.layout import LINK, Box, Layout
from freezerbox.labels.stock import Stock
from freezerbox.labels.symbols import BARS_QUIET, QR_QUIET, code128_bars, link_symbol, qr_modules

if TYPE_CHECKING:
    from PIL.Image import Image

WHITE, BLACK = 255, 0
_HANGING = "JQ"  # letters of a code with a tail that reaches below its line
_FINE = 4  # narrowed letters are drawn this much larger before they are narrowed
OVER_DOTS = 2
"""So much may letters be higher or deeper than their box: their strokes are set on whole dots."""


def paint(layout: Layout, stock: Stock) -> Image:
    """The label in mode ``1`` at the stock's dots per inch."""
    from PIL import Image

    picture = Image.new("1", (stock.dots(layout.width_mm), stock.dots(layout.height_mm)), WHITE)
    for box in layout.boxes:
        paint_box(picture, box, layout, stock)
    return picture


def paint_box(picture: Image, box: Box, layout: Layout, stock: Stock) -> None:
    """One box of the label, beside the others of its layout."""
    if box.kind == "fence":
        _fence(picture, box, stock)
    elif box.kind == "qr":
        _qr(picture, box, stock)
    elif box.kind == "bars":
        _bars(picture, box, stock)
    elif box.kind == "tab":
        _tab(picture, box, stock)
    elif box.kind in ("tick", "blank", "room"):
        _frame(picture, box, stock)
    else:
        _letters(picture, box, stock, raised=_in_the_way(box, layout))


def _edges(box: Box, stock: Stock) -> tuple[int, int, int, int]:
    return (
        stock.dots(box.x_mm),
        stock.dots(box.y_mm),
        stock.dots(box.x_mm + box.width_mm),
        stock.dots(box.y_mm + box.height_mm),
    )


def _in_the_way(box: Box, layout: Layout) -> bool:
    """Whether the tails of a code would run into what stands below it, or leave the label."""
    if box.field != "code" or not any(letter in _HANGING for letter in box.text):
        return False
    right, top = box.x_mm + box.width_mm, box.y_mm + box.height_mm
    bottom = top + TAIL * box.cap_mm
    rims = [other.y_mm + other.height_mm - other.cap_mm for other in layout.boxes if other.kind == "fence"]
    return bottom > min([*rims, layout.height_mm]) or any(
        other.x_mm < right
        and box.x_mm < other.x_mm + other.width_mm
        and other.y_mm < bottom
        and box.y_mm < other.y_mm + other.height_mm
        for other in layout.boxes
        if other.field not in ("code", "fence")
    )


def _letters(picture: Image, box: Box, stock: Stock, *, raised: bool) -> None:
    from PIL import Image, ImageChops

    left, top, right, bottom = _edges(box, stock)
    width, height = max(1, right - left), max(1, bottom - top)
    pad = round(stock.dots(box.cap_mm) * BLOCK_PAD * 1.5 * box.squeeze) if box.kind == "block" else 0
    over = 0 if pad else OVER_DOTS
    baseline = stock.dots(box.baseline_mm or 0) - top + over
    height += 2 * over
    if box.field == "code" and not raised:
        height += stock.dots(box.cap_mm * TAIL)
    ink = _ink(box, stock, max(1, width - 2 * pad), height, baseline, raised=raised)
    if box.kind == "block":
        letters = Image.new("1", (width, height), 0)
        letters.paste(ink, (pad, 0))
        ink = ImageChops.invert(letters)
    picture.paste(BLACK, (left, top - over), ink)


def _ink(box: Box, stock: Stock, width: int, height: int, baseline: int, *, raised: bool) -> Image:
    """The letters as set dots, exactly as large as the room they were given; ``raised``: no tail below the line."""
    from PIL import Image, ImageDraw

    narrow = box.squeeze < 0.995 or raised
    fine = _FINE if narrow else 1
    exact = box.cap_mm * stock.dpi / 25.4
    size = exact * em_per_cap(box.face) * fine
    face = font(box.face, round(size, 2))
    natural = max(1, round(face.getbbox(box.text, anchor="ls")[2]), round(face.getlength(box.text)))
    mode = "L" if narrow else "1"
    deep = stock.dots(box.cap_mm * TAIL) if raised else 0
    drawn = Image.new(mode, (natural, (height + deep) * fine), 0)
    draw = ImageDraw.Draw(drawn)
    draw.fontmode = "L" if narrow else "1"
    draw.text((0, baseline * fine), box.text, fill=255, font=face, anchor="ls")
    if raised:
        for at, letter in enumerate(box.text):
            if letter in _HANGING:
                start, end = (round(face.getlength(box.text[:to])) for to in (at, at + 1))
                _raise(drawn, start, end, baseline * fine)
        drawn = drawn.crop((0, 0, natural, height * fine))
    if narrow or natural > width:
        # Halves count as black: thin strokes must not vanish when they are narrowed.
        smaller = drawn.convert("L").resize((width, height), Image.Resampling.BOX)
        return smaller.point(lambda value: 255 if value >= 110 else 0).convert("1", dither=Image.Dither.NONE)
    fitted = Image.new("1", (width, height), 0)
    fitted.paste(drawn, (0, 0))
    return fitted


def _raise(drawn: Image, left: int, right: int, baseline: int) -> None:
    """A letter made less high, so that its tail ends on the base line."""
    letter = drawn.crop((left, 0, right, drawn.height))
    ink = letter.getbbox()
    if ink and ink[3] > baseline:
        drawn.paste(0, (left, 0, right, drawn.height))
        upright = (right - left, baseline - ink[1])
        drawn.paste(letter.resize(upright, box=(0, ink[1], right - left, ink[3])), (left, ink[1]))


def _frame(picture: Image, box: Box, stock: Stock) -> None:
    from PIL import ImageDraw

    left, top, right, bottom = _edges(box, stock)
    draw = ImageDraw.Draw(picture)
    if box.kind == "blank":
        thick = max(1, stock.dots(box.cap_mm * BLANK_THICK))
        draw.rectangle((left, bottom - thick, right - 1, bottom - 1), fill=BLACK)
    elif box.kind == "room":
        draw.rectangle((left, top, right - 1, bottom - 1), outline=BLACK, width=max(1, stock.dots(0.2)))
    else:
        draw.rectangle((left, top, right - 1, bottom - 1), outline=BLACK, width=max(2, (right - left) // 9))


def _tab(picture: Image, box: Box, stock: Stock) -> None:
    """A thin frame with one part of it black: in a basket of packs the blocks of one season stand in line."""
    from PIL import ImageDraw

    left, top, right, bottom = _edges(box, stock)
    number, _, of = box.text.partition(" of ")
    draw = ImageDraw.Draw(picture)
    draw.rectangle((left, top, right - 1, bottom - 1), outline=BLACK, width=max(1, stock.dots(0.12)))
    lying = right - left > bottom - top
    part = (right - left if lying else bottom - top) / int(of)
    start = round(part * (int(number) - 1))
    if lying:
        draw.rectangle((left + start, top, min(right - 1, left + start + round(part)), bottom - 1), fill=BLACK)
    else:
        draw.rectangle((left, top + start, right - 1, min(bottom - 1, top + start + round(part))), fill=BLACK)


def _scaled(rows: Sequence[Sequence[bool]], across: int, down: int) -> Image:
    """One dot a module, then whole dots a module."""
    from PIL import Image

    small = Image.new("1", (len(rows[0]), len(rows)), WHITE)
    small.putdata([BLACK if dark else WHITE for row in rows for dark in row])
    return small.resize((len(rows[0]) * across, len(rows) * down), Image.Resampling.NEAREST)


def _qr(picture: Image, box: Box, stock: Stock) -> None:
    module = round(box.cap_mm * stock.dpi / 25.4)
    left, top, _, _ = _edges(box, stock)
    modules = link_symbol(box.text).modules if box.field == LINK else qr_modules(box.text, mask=box.mask)
    symbol = _scaled(modules, module, module)
    picture.paste(symbol, (left + QR_QUIET * module, top + QR_QUIET * module))


def _bars(picture: Image, box: Box, stock: Stock) -> None:
    module = round(box.cap_mm * stock.dpi / 25.4)
    left, top, _, bottom = _edges(box, stock)
    bars = _scaled([[bar == "1" for bar in code128_bars(box.text)]], module, bottom - top)
    picture.paste(bars, (left + BARS_QUIET * module, top))


def _fence(picture: Image, box: Box, stock: Stock) -> None:
    """Slanted bars between two lines: a shape that says keep off without a word and without colour."""
    from PIL import Image, ImageDraw

    left, top, right, bottom = _edges(box, stock)
    thick = stock.dots(box.cap_mm)
    width, height = right - left, bottom - top
    hatch = Image.new("1", (width, height), WHITE)
    draw = ImageDraw.Draw(hatch)
    step = 2 * thick
    for start in range(-height - step, width + step, step):
        corners = ((start, height), (start + thick, height), (start + thick + height, 0), (start + height, 0))
        draw.polygon(corners, fill=BLACK)
    line = max(1, thick // 6)
    draw.rectangle((0, 0, width - 1, height - 1), outline=BLACK, width=line)
    draw.rectangle((thick - line, thick - line, width - thick + line - 1, height - thick + line - 1), fill=BLACK)
    draw.rectangle((thick, thick, width - thick - 1, height - thick - 1), fill=WHITE)
    picture.paste(hatch, (left, top))
