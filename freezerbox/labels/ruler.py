"""A page to hold against the label paper: where this printer puts things, and whether it keeps their size."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from freezerbox.errors import InputError
from freezerbox.labels.fonts import font
from freezerbox.labels.stock import Stock

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

RULER_MM = 100
WHITE_MM = 1.2
"""Every design keeps its words at least so far from the label's edge; a larger shift may cut them."""
SAYING = "in mm: lay a ruler on it"
_INSET_MM = 2.0
_TICK_MM = {10: 5.0, 5: 3.5, 1: 2.0}


def ruler_page(stock: Stock) -> Image:
    """The outline of every label, a cross in the first one's corner, and rulers in mm from that corner.

    It is drawn with the stock's shift, as labels are: what it shows wrong is what is left to correct.
    """
    from PIL import Image, ImageDraw

    page = Image.new("1", (stock.dots(stock.page_width_mm), stock.dots(stock.page_height_mm)), 255)
    draw = ImageDraw.Draw(page)
    draw.fontmode = "1"
    thin = max(1, stock.dots(0.15))
    for row in range(stock.rows):
        for column in range(stock.columns):
            x = stock.left_mm + column * stock.pitch_x_mm + stock.shift_x_mm
            y = stock.top_mm + row * stock.pitch_y_mm + stock.shift_y_mm
            box = (
                stock.dots(x),
                stock.dots(y),
                stock.dots(x + stock.width_mm) - 1,
                stock.dots(y + stock.height_mm) - 1,
            )
            draw.rectangle(box, outline=0, width=thin)
    left, top = stock.left_mm + stock.shift_x_mm, stock.top_mm + stock.shift_y_mm
    _ruler(draw, stock, left, top, across=True)
    _ruler(draw, stock, left, top, across=False)
    words = (stock.title, "The long stroke is 0, then every mm.", "Right and down of the corner: too far.")
    size = min(3.2, stock.height_mm / 9)
    _lines(draw, stock, words, left + 10, top + 8, size=size, room=stock.width_mm - 11)
    return page


MARGIN_MM = 8.0
"""A ruler above the labels needs so much white there."""


def with_ruler(pages: Iterable[Image], stock: Stock) -> Iterator[Image]:
    """The pages with one ruler: in the first sheet's margin, or on a last label of a roll.  Raises: InputError."""
    for number, page in enumerate(pages):
        yield page_with_ruler(page, stock) if number == 0 and stock.kind == "sheet" else page
    if stock.kind == "roll":
        yield ruler_label(stock)


def page_with_ruler(page: Image, stock: Stock) -> Image:
    """A sheet of labels with a ruler in its top margin: whoever prints it sees whether it kept its size.

    Raises: InputError when the margin is too narrow for one.
    """
    from PIL import ImageDraw

    top = stock.top_mm - MARGIN_MM
    if top < 0:
        raise InputError(
            f"The margin of {stock.title} has no room for a ruler. A page of rulers: "
            f"freezerbox label stock test {stock.name}",
            value=stock.name,
        )
    draw = ImageDraw.Draw(page)
    draw.fontmode = "1"
    _ruler(draw, stock, stock.left_mm, top, across=True)
    face = font("condensed", stock.dots(2.2))
    draw.text((stock.dots(stock.left_mm + RULER_MM + 9), stock.dots(top + 1)), SAYING, fill=0, font=face)
    return page


def ruler_label(stock: Stock) -> Image:
    """A label of a roll with nothing but a ruler on it, as long as whole centimetres fit, at most ten."""
    from PIL import Image, ImageDraw

    picture = Image.new("1", (stock.dots(stock.width_mm), stock.dots(stock.height_mm)), 255)
    draw = ImageDraw.Draw(picture)
    draw.fontmode = "1"
    _ruler(draw, stock, _INSET_MM, _INSET_MM, across=True)
    room = stock.width_mm - 2 * _INSET_MM
    _lines(draw, stock, (stock.title, SAYING), _INSET_MM, _INSET_MM + 10, size=2.2, room=room)
    return picture


def ruler_mm(stock: Stock) -> int:
    """How long the rulers of the ruler page are: 100 mm, or on a small label what fits across, in whole cm."""
    left = stock.left_mm + stock.shift_x_mm
    return min(RULER_MM, (int(stock.page_width_mm - left) - 1) // 10 * 10)


def _lines(
    draw: ImageDraw, stock: Stock, words: Sequence[str], left: float, top: float, *, size: float, room: float
) -> None:
    """Lines one under another, all in letters small enough for the longest to end within ``room``."""
    high = stock.dots(size)
    while high > 1 and max(font("condensed", high).getlength(line) for line in words) > stock.dots(room):
        high -= 1
    for number, line in enumerate(words):
        place = (stock.dots(left), stock.dots(top) + round(number * high * 1.7))
        draw.text(place, line, fill=0, font=font("condensed", high))


def _ruler(draw: ImageDraw, stock: Stock, left: float, top: float, *, across: bool) -> None:
    room = stock.page_width_mm - left if across else stock.page_height_mm - top
    thin = max(1, stock.dots(0.12))
    for mm in range(min(RULER_MM, int(room) - 1) + 1):
        length = next(_TICK_MM[step] for step in _TICK_MM if mm % step == 0) + (2 if mm == 0 else 0)
        x, y = (left + mm, top) if across else (left, top + mm)
        at = (stock.dots(x), stock.dots(y))
        end = (at[0], stock.dots(y + length)) if across else (stock.dots(x + length), at[1])
        draw.line((*at, *end), fill=0, width=thin)
        if mm and mm % 10 == 0:
            face = font("condensed", stock.dots(2.2))
            draw.text((end[0] + stock.dots(0.4), end[1]), str(mm), fill=0, font=face, anchor="lt" if across else "lm")
