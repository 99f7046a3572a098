"""What paper there is (stocks) and what goes where on a label (designs), as the template files say it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

MM_PER_INCH = 25.4
Face = Literal["sans", "condensed", "mono"]
Align = Literal["left", "center", "right"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """A kind of label paper, named by its geometry; lengths in mm, the page's origin at its top left.

    name: the bare word people type, ``letter-10up``.
    title: the same in plain words.
    kind: ``sheet`` (a page of labels) or ``roll`` (one label a page).
    dpi: dots per inch that pictures are drawn at; a roll printer's own.
    width_mm, height_mm: one label.
    page_width_mm, page_height_mm: the page; for a roll the label itself.
    columns, rows: the grid; 1 and 1 for a roll.
    pitch_x_mm, pitch_y_mm: from one label's left or top edge to the next one's.
    left_mm, top_mm: the first label's corner.
    design: name of the design file that fits it.
    cut_marks: plain paper, to be cut apart along short lines at the corners.
    shift_x_mm, shift_y_mm: measured on a test page; everything is moved right and down by it (may be negative).
    """

    name: str
    title: str
    kind: Literal["sheet", "roll"]
    dpi: int
    width_mm: float
    height_mm: float
    page_width_mm: float
    page_height_mm: float
    columns: int
    rows: int
    pitch_x_mm: float
    pitch_y_mm: float
    left_mm: float
    top_mm: float
    design: str
    cut_marks: bool = False
    shift_x_mm: float = 0.0
    shift_y_mm: float = 0.0

    @property
    def slots(self) -> int:
        """Labels on a page."""
        return self.columns * self.rows

    def dots(self, mm: float) -> int:
        """A length in whole dots of this stock's printer."""
        return round(mm * self.dpi / MM_PER_INCH)


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A rectangle on the label, in mm from its top left corner."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A line (or a few) of fields within a stack.

    fields: names from ``content.FIELDS``, set one after another.
    face: ``sans``, ``condensed`` or ``mono``; all bold, since hair lines vanish under frost.
    least_mm, most_mm: height of the capitals; for bars, of the bars.
    good_mm: letters are narrowed sideways only to reach this height, never to exceed it.
    squeeze: the narrowest the letters may get, as a share of their width; 1 is never narrowed.
    lines: on how many lines the row may break.
    small: fields set smaller, with their share of the row's height.
    dot: whether a dot stands between two fields.
    module_mm: width of the thinnest bar; ``None`` when the row holds no bars.
    """

    fields: tuple[str, ...]
    face: Face
    least_mm: float
    most_mm: float
    good_mm: float
    squeeze: float
    lines: int
    small: tuple[tuple[str, float], ...]
    dot: bool
    module_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """Rows set below one another in an area; empty rows vanish and the others share the room.

    gap_mm: least white between two rows.
    """

    area: Area
    rows: tuple[Row, ...]
    gap_mm: float
    align: Align


@dataclass(frozen=True, slots=True, kw_only=True)
class Fence:
    """The hatched border; thick_mm is the width of the hatching."""

    area: Area
    thick_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """One way to fill a label.

    qr: squares for the QR symbol, its quiet zone included; one copy in each.
    fence: ``None`` when this arrangement has no room for one.
    tab: a strip along an edge, in which a block stands lower each season; ``None`` for none.
    room: left empty inside a thin frame, to draw in; ``None`` for none.
    link: square for the symbol that phones open, its quiet zone included; such an arrangement is tried only when the
        household has a name for that, and stands for one that has a copy of the QR there.  ``None`` for none.
    """

    name: str
    qr: tuple[Area, ...]
    fence: Fence | None
    stacks: tuple[Stack, ...]
    tab: Area | None = None
    room: Area | None = None
    link: Area | None = None

    @property
    def fields(self) -> frozenset[str]:
        """Every field this arrangement has a place for."""
        named = {field for stack in self.stacks for row in stack.rows for field in row.fields}
        return frozenset(named | ({"fence"} if self.fence else set()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Arrangements for one size of label, tried in order: the first with room for all that must be said is used."""

    name: str
    title: str
    width_mm: float
    height_mm: float
    arrangements: tuple[Arrangement, ...]
