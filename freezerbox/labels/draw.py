"""From words to pages in one call."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias, overload

from freezerbox.errors import LabelDoesNotFit
from freezerbox.labels.content import FIELDS, LabelContent, clean
from freezerbox.labels.fonts import printable
from freezerbox.labels.layout import Layout, lay_out
from freezerbox.labels.library import design_for, stock
from freezerbox.labels.misfit import too_long
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
    unknown: the letters of each that the font does not have; a ``?`` stands for each.
    """

    stock: Stock
    pages: Pages
    positions: tuple[Position, ...]
    pictures: Pictures
    layouts: tuple[Layout, ...]
    dropped: tuple[tuple[str, ...], ...]
    masks: tuple[int, ...]
    unknown: tuple[str, ...]


def fitting(
    contents: Sequence[LabelContent], paper: Stock, design: Design, own: Path | None = None
) -> tuple[tuple[Layout, ...], dict[int, LabelDoesNotFit]]:
    """Each label laid out, in order; and by number those that do not fit, with why.

    own: where the household's stocks lie, for the paper that has room.
    """
    layouts, misfits = [], {}
    for number, content in enumerate(contents):
        try:
            layouts.append(lay_out(content, paper, design))
        except LabelDoesNotFit:
            misfits[number] = too_long(content, paper, design, own)
    return tuple(layouts), misfits


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
    layouts = tuple(lay_out(content, paper, design) for content in contents)
    return drawn_of(contents, layouts, paper, start_at)


def drawn_of(contents: Sequence[LabelContent], layouts: Sequence[Layout], paper: Stock, start_at: int = 1) -> Drawn:
    """Labels that are laid out already, on their pages.  Raises: InputError for the slot."""
    positions = place(len(layouts), paper, start_at)
    pictures = Pictures(layouts, paper)
    return Drawn(
        stock=paper,
        pages=draw_pages(pictures, positions, paper),
        positions=positions,
        pictures=pictures,
        layouts=tuple(layouts),
        dropped=tuple(layout.dropped for layout in layouts),
        masks=tuple(layout.qr_mask for layout in layouts),
        unknown=tuple(map(_unknown, contents, layouts)),
    )


def _unknown(content: LabelContent, layout: Layout) -> str:
    on_it = {box.field for box in layout.boxes}
    if "memory" in on_it:
        on_it.add("note")
    said = [getattr(content, field, "") for field in FIELDS if field in on_it]
    words = " ".join(text if isinstance(text, str) else " ".join(text) for text in said)
    letters = dict.fromkeys(unicodedata.normalize("NFC", " ".join(words.split())))
    # All faces have the same letters.
    return "".join(one for one in letters if one not in "? " and printable("condensed", clean(one)) in ("?", ""))
