"""From words to pages in one call."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias, overload

from freezerbox.labels.content import LabelContent
from freezerbox.labels.layout import Layout, lay_out
from freezerbox.labels.library import design_for, stock
from freezerbox.labels.paint import paint
from freezerbox.labels.sheet import Pages, Position, draw_pages, place
from freezerbox.labels.stock import Design, Stock

if TYPE_CHECKING:
    from PIL.Image import Image

Picture: TypeAlias = "Image"
"""A label as painted, for rooms that hand pictures on and do not draw."""


class Pictures(Sequence["Image"]):
    """Each label alone, painted when asked for and not kept."""

    def __init__(self, layouts: Sequence[Layout], stock: Stock) -> None:
        self._layouts, self._stock = layouts, stock

    def __len__(self) -> int:
        return len(self._layouts)

    @overload
    def __getitem__(self, index: int) -> Image: ...
    @overload
    def __getitem__(self, index: slice) -> list[Image]: ...
    def __getitem__(self, index: int | slice) -> Image | list[Image]:
        """One label, or several.  Raises: IndexError."""
        if isinstance(index, slice):
            return [paint(layout, self._stock) for layout in self._layouts[index]]
        return paint(self._layouts[index], self._stock)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """Labels laid out, nothing written; the sequences go label by label in the order asked for.

    stock: what they are drawn for.
    pages: whole pages, to be written; each is drawn when it is asked for.
    positions: where each label lies.
    pictures: each label alone, painted when it is asked for.
    layouts: what is on each, in mm.
    dropped: the fields of each that found no room.
    masks: the data mask of each QR.
    """

    stock: Stock
    pages: Pages
    positions: tuple[Position, ...]
    pictures: Pictures
    layouts: tuple[Layout, ...]
    dropped: tuple[tuple[str, ...], ...]
    masks: tuple[int, ...]


def draw(
    contents: Sequence[LabelContent], paper: str | Stock, start_at: int = 1, design: Design | None = None
) -> Drawn:
    """The labels of ``contents`` on pages of the stock, from slot ``start_at`` of the first page.

    design: another than the one the stock names.

    Raises: UnknownWord for the stock; InputError for the slot or the symbol's text; LabelDoesNotFit; InvalidTemplate.
    """
    if isinstance(paper, str):
        paper = stock(paper)
    if design is None:
        design = design_for(paper)
    positions = place(len(contents), paper, start_at)
    layouts = tuple(lay_out(content, paper, design) for content in contents)
    pictures = Pictures(layouts, paper)
    return Drawn(
        stock=paper,
        pages=draw_pages(pictures, positions, paper),
        positions=positions,
        pictures=pictures,
        layouts=layouts,
        dropped=tuple(layout.dropped for layout in layouts),
        masks=tuple(layout.qr_mask for layout in layouts),
    )
