"""From words to pages in one call."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from freezerbox.labels.content import LabelContent
from freezerbox.labels.layout import Layout, lay_out
from freezerbox.labels.library import design_for, stock
from freezerbox.labels.paint import paint
from freezerbox.labels.sheet import Position, draw_pages, place
from freezerbox.labels.stock import Stock

if TYPE_CHECKING:
    from PIL.Image import Image


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """Labels drawn, nothing written; the sequences go label by label in the order asked for.

    stock: what they are drawn for.
    pages: whole pages, to be written.
    positions: where each label lies.
    pictures: each label alone.
    layouts: what is on each, in mm.
    dropped: the fields of each that found no room.
    masks: the data mask of each QR.
    """

    stock: Stock
    pages: tuple[Image, ...]
    positions: tuple[Position, ...]
    pictures: tuple[Image, ...]
    layouts: tuple[Layout, ...]
    dropped: tuple[tuple[str, ...], ...]
    masks: tuple[int, ...]


def draw(contents: Sequence[LabelContent], stock_name: str, start_at: int = 1) -> Drawn:
    """The labels of ``contents`` on pages of the stock, from slot ``start_at`` of the first page.

    Raises: UnknownWord for the stock; InputError for the slot or the symbol's text; LabelDoesNotFit; InvalidTemplate.
    """
    paper = stock(stock_name)
    design = design_for(paper)
    positions = place(len(contents), paper, start_at)
    layouts = tuple(lay_out(content, paper, design) for content in contents)
    pictures = tuple(paint(layout, paper) for layout in layouts)
    return Drawn(
        stock=paper,
        pages=tuple(draw_pages(pictures, positions, paper)),
        positions=positions,
        pictures=pictures,
        layouts=layouts,
        dropped=tuple(layout.dropped for layout in layouts),
        masks=tuple(layout.qr_mask for layout in layouts),
    )
