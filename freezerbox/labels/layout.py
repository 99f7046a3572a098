"""Words placed on a label: every box in millimetres, as text that can be compared and pictures can be drawn from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Literal

from freezerbox.errors import InputError, LabelDoesNotFit
from freezerbox.labels.content import (
    DROP_ORDER,
    DROP_ORDER_NO_TAB,
    FIELDS,
    SHORTER,
    LabelContent,
    clean,
    field_tokens,
)
from freezerbox.labels.spare import with_room_for
from freezerbox.labels.stack import Misfit, Placed, settle
from freezerbox.labels.stock import MM_PER_INCH, Area, Arrangement, Design, Stock
from freezerbox.labels.symbols import LINK_BOX, QR_BOX, link_symbol, qr_symbol
from freezerbox.labels.tries import at_edge, squares, tries

Kind = Literal["text", "block", "tick", "blank", "qr", "bars", "fence", "tab", "room"]
SECOND_QR = "second_qr"
"""In ``dropped``: the copy of the QR gave its room to words."""
LINK = "link"
"""In ``dropped``: the symbol for phones has no room beside these words, though the design has one for it."""
STRIP = "season_strip"
"""In ``dropped``: the strip with the season's block gave its room to words, though the design has one."""
MONTH_AT_EDGE = "month_at_edge"
"""In ``dropped``: the month stands lower than in the upper third, though the design has it beside the cut."""
WANTED = ("note", "owner", "season", "pieces")
"""What tells one pack of a cut from another, the least wanted first: for it a label is arranged otherwise."""
_WORDS = (*WANTED, "cue", "run")
_CUT_NEARLY, _MONTH_NEARLY, _MONTH_READS_MM = 0.7, 0.85, 4.0
"""What leaves off less is taken when its cut and month stand at least so high as a share of the first's, the month
that or 4 mm, and on no line with the weight; chosen here, no source."""
_LOWER_MM = 2.0
"""And a month in the upper half so much lower at most: an edge strip keeps it at the edge."""
_READS_WELL = 0.85
"""Letters narrowed to less than this share of their width are slow to read."""
SEASONS = 4
"""So many places has the season's block before it begins again: nobody keeps meat for four years."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """One thing on the label, in mm from the label's top left corner.

    kind: letters, white letters on a block, a tick box, a line to write on, a symbol, the hatched border, the strip
        with the season's block, or a frame to draw in.
    field: the field it shows; ``qr`` for the QR, ``LINK`` for the one that phones open.
    x_mm, y_mm, width_mm, height_mm: what it covers, quiet zones included.
    text: the letters, or what the symbol says.
    face: which face the letters are in; empty when there are none.
    cap_mm: height of the capitals; for a QR or bars the module; for the fence its thickness.
    baseline_mm: where the letters stand; ``None`` when there are none.
    squeeze: the letters' width as a share of their own; 1 is as designed.
    mask: of a QR its data mask; None for the one that the encoder chooses.
    """

    kind: Kind
    field: str
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    text: str = ""
    face: str = ""
    cap_mm: float = 0.0
    baseline_mm: float | None = None
    squeeze: float = 1.0
    mask: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A label laid out.

    stock, design, arrangement: their names.
    width_mm, height_mm: the label.
    boxes: everything on it, in reading order.
    dropped: fields that had something to say and found no room, in the order they gave way;
        then ``MONTH_AT_EDGE``, ``STRIP`` when the season's strip did, ``SECOND_QR`` and ``LINK`` when a symbol did,
        then what is said in fewer words, of ``content.SHORTER``.
    qr_mask: the data mask of the QR.
    """

    stock: str
    design: str
    arrangement: str
    width_mm: float
    height_mm: float
    boxes: tuple[Box, ...]
    dropped: tuple[str, ...]
    qr_mask: int

    @property
    def symbols(self) -> tuple[tuple[str, str], ...]:
        """What must read back from the picture: symbology (``QR`` or ``Code 128``) and text of each symbol."""
        names = {"qr": "QR", "bars": "Code 128"}
        return tuple((names[box.kind], box.text) for box in self.boxes if box.kind in names)

    def as_text(self) -> str:
        """The layout as lines of text, one a box: kind, field, left, top, width, height, letters."""
        lines = [
            f"{self.stock} {self.width_mm:.2f} x {self.height_mm:.2f} mm, {self.design}, {self.arrangement}",
            f"dropped: {', '.join(self.dropped) or 'nothing'}",
        ]
        for box in self.boxes:
            place = f"{box.x_mm:7.2f} {box.y_mm:6.2f} {box.width_mm:6.2f} {box.height_mm:6.2f}"
            narrow = f" narrowed to {box.squeeze:.2f}" if box.squeeze < 0.995 else ""
            face = f" {box.face}" if box.face else ""
            lines.append(f"{box.kind:5} {box.field:9} {place}  {box.cap_mm:5.2f}{face}{narrow}  {box.text}".rstrip())
        return "\n".join(lines) + "\n"


def lay_out(content: LabelContent, stock: Stock, design: Design) -> Layout:
    """The label of ``content``: the design's first arrangement with room for all that must be on it.

    What may be left out gives way in the order of ``content.DROP_ORDER``; what must be there is said in fewer words
    in the order of ``content.SHORTER``.  A later arrangement takes its place when more of ``WANTED`` stays on it, and
    cut and month stand as high, or nearly.

    Raises: LabelDoesNotFit naming the field that must be there and has no room; InputError when the symbol's text
    is none, or when cut, month or code is empty.
    """
    for field in ("cut", "month", "code"):
        if not clean(getattr(content, field)):
            raise InputError(f"A label needs a {field}; this one has none.", field=field)
    misfit: Misfit | None = None
    for ways, arrangements, tight in tries(content, design):
        kept: list[Layout] = []
        for arrangement, (said, shortened) in product(arrangements, ways):
            try:
                found = _arrange(said, shortened, stock, design, arrangement, tight=tight)
            except Misfit as error:
                misfit = error
                continue
            if (said, shortened) == ways[-1] or not _cramped(found):
                kept.append(found)
                for other in with_room_for(arrangement, found.dropped) if _lost(found)[0] else ():
                    kept.append(_arrange(said, shortened, stock, design, other, tight=tight))
                if not min(map(_lost, kept))[0]:
                    return _least_lost(kept)
        if kept:
            return _least_lost(kept)
    assert misfit is not None
    shown = clean(" ".join(misfit.shown.split())) or FIELDS[misfit.field]
    raise LabelDoesNotFit(
        f"{misfit.field} {shown!r} does not fit on a label of {stock.title} beside what else must be on it. "
        "Use fewer words, or a stock with larger labels.",
        field=misfit.field,
        stock=stock.name,
        value=shown,
    )


def _cramped(layout: Layout) -> bool:
    """Whether banners are narrowed so much that fewer words would read better."""
    return any(box.squeeze < _READS_WELL for box in layout.boxes if box.field == "banners")


def _lost(layout: Layout) -> tuple[int, int]:
    """How much of ``WANTED`` it leaves off, and how much of the words beside it."""
    return sum(field in WANTED for field in layout.dropped), sum(field in _WORDS for field in layout.dropped)


def _least_lost(found: Sequence[Layout]) -> Layout:
    """The first, or one after it that leaves off less of what is wanted and gives up nothing else for it."""

    def capital(layout: Layout, field: str) -> float:
        return min(box.cap_mm for box in layout.boxes if box.field == field)

    def month(layout: Layout) -> float:
        return max(box.y_mm for box in layout.boxes if box.field == "month")

    def shared(layout: Layout) -> bool:
        lines = [{box.baseline_mm for box in layout.boxes if box.field == field} for field in ("month", "weight")]
        return bool(lines[0] & lines[1] - {None})

    def as_high(one: Layout) -> bool:
        month_mm = min(_MONTH_NEARLY * capital(first, "month"), _MONTH_READS_MM)
        return capital(one, "month") >= month_mm and capital(one, "cut") >= _CUT_NEARLY * capital(first, "cut")

    first, *rest = found
    given = {*SHORTER, LINK}
    better = [
        one
        for one in rest
        if given & set(one.dropped) <= given & set(first.dropped)
        and all(less < more for less, more in zip(_lost(one), _lost(first), strict=True))
        and (month(first) > first.height_mm / 2 or month(one) <= month(first) + _LOWER_MM)
        and shared(one) <= shared(first)
        and as_high(one)
    ]
    return min([first, *better], key=_lost)


def _arrange(
    content: LabelContent,
    shortened: tuple[str, ...],
    stock: Stock,
    design: Design,
    arrangement: Arrangement,
    *,
    tight: bool,
) -> Layout:
    fields = {field: field_tokens(content, field) for field in FIELDS}
    if "memory" not in arrangement.fields:
        fields["memory"] = ()
    said = {field for field, tokens in fields.items() if tokens}
    for field in FIELDS:
        if field in said and field not in arrangement.fields and field not in DROP_ORDER:
            raise Misfit(field, "")
    order = DROP_ORDER if arrangement.tab else DROP_ORDER_NO_TAB
    settled = [settle(stack, fields, stock, tight=tight, order=order) for stack in arrangement.stacks]
    boxes: list[Box] = []
    if fields["fence"] and arrangement.fence:
        boxes.append(_fence(arrangement))
    for one in settled:
        boxes.extend(_placed_box(placed) for placed in one.pieces)
    symbol = qr_symbol(content.symbol_text, mask=content.mask)
    boxes.extend(_qr(area, content, stock) for area in arrangement.qr)
    if arrangement.link:
        boxes.append(_link(arrangement.link, content.link, stock))
    boxes.extend(_plain(arrangement, content))
    shown = {box.field for box in boxes}
    if "memory" in shown:
        shown.add("note")
    dropped = [field for field in DROP_ORDER if field in said and field not in shown]
    month_mm = max((box.y_mm for box in boxes if box.field == "month"), default=0.0)
    low = at_edge(design.arrangements[0]) and month_mm > stock.height_mm / 3
    return Layout(
        stock=stock.name,
        design=design.name,
        arrangement=arrangement.name,
        width_mm=stock.width_mm,
        height_mm=stock.height_mm,
        boxes=tuple(boxes),
        dropped=(*dropped, *([MONTH_AT_EDGE] if low else []), *_drawn_gone(arrangement, design, content), *shortened),
        qr_mask=symbol.mask,
    )


def _drawn_gone(arrangement: Arrangement, design: Design, content: LabelContent) -> tuple[str, ...]:
    link = content.link and not arrangement.link and any(one.link for one in design.arrangements)
    can = [one for one in design.arrangements if content.link or not one.link]
    copy = squares(arrangement) < max(map(squares, can))
    strip = _has_season(content) and not arrangement.tab and any(one.tab for one in can)
    return (*([STRIP] if strip else []), *([SECOND_QR] if copy else []), *([LINK] if link else []))


def _has_season(content: LabelContent) -> bool:
    """Whether the season begins with a year, which is what the strip shows."""
    year = clean(content.season).partition("/")[0]
    return year.isascii() and year.isdigit()


def _plain(arrangement: Arrangement, content: LabelContent) -> list[Box]:
    """The strip with the season's block, and the frame to draw in."""
    found: list[Box] = []
    year = clean(content.season).partition("/")[0]
    wanted: tuple[tuple[Kind, Area | None], ...] = (
        ("tab", arrangement.tab if _has_season(content) else None),
        ("room", arrangement.room),
    )
    for kind, area in wanted:
        if area:
            found.append(
                Box(
                    kind=kind, field=kind, x_mm=area.x_mm, y_mm=area.y_mm, width_mm=area.width_mm,
                    height_mm=area.height_mm, text=f"{int(year) % SEASONS + 1} of {SEASONS}" if kind == "tab" else "",
                )
            )  # fmt: skip
    return found


def _fence(arrangement: Arrangement) -> Box:
    assert arrangement.fence is not None
    area = arrangement.fence.area
    return Box(
        kind="fence",
        field="fence",
        x_mm=area.x_mm,
        y_mm=area.y_mm,
        width_mm=area.width_mm,
        height_mm=area.height_mm,
        cap_mm=arrangement.fence.thick_mm,
    )


def _qr(area: Area, content: LabelContent, stock: Stock) -> Box:
    """Whole dots a module, centred in its square; what is left over widens the quiet zone."""
    return _square(area, QR_BOX, "qr", content.symbol_text, content.mask, stock)


def _link(area: Area, text: str, stock: Stock) -> Box:
    """The symbol that phones open.  Raises: InputError for a text that is too long for it."""
    link_symbol(text)
    return _square(area, LINK_BOX, LINK, text, None, stock)


def _square(area: Area, modules: int, field: str, text: str, mask: int | None, stock: Stock) -> Box:
    dot = MM_PER_INCH / stock.dpi
    module = int(area.width_mm / modules / dot + 1e-6) * dot
    side = module * modules
    return Box(
        kind="qr",
        field=field,
        x_mm=area.x_mm + (area.width_mm - side) / 2,
        y_mm=area.y_mm + (area.height_mm - side) / 2,
        width_mm=side,
        height_mm=side,
        text=text,
        cap_mm=module,
        mask=mask,
    )


def _placed_box(placed: Placed) -> Box:
    kinds: dict[str, Kind] = {"plain": "text", "block": "block", "tick": "tick", "blank": "blank", "bars": "bars"}
    letters = placed.style in ("plain", "block")
    return Box(
        kind=kinds[placed.style],
        field=placed.field,
        x_mm=placed.area.x_mm,
        y_mm=placed.area.y_mm,
        width_mm=placed.area.width_mm,
        height_mm=placed.area.height_mm,
        text=placed.text,
        face=placed.face if letters else "",
        cap_mm=placed.cap_mm,
        baseline_mm=placed.baseline_mm if letters else None,
        squeeze=placed.squeeze if letters else 1.0,
    )
