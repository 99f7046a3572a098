"""The arrangements of a made design for labels that are higher than wide: all words above two symbols."""

from __future__ import annotations

from freezerbox.labels.auto_bars import BARS_MM, CODE_WIDE
from freezerbox.labels.auto_parts import (
    CUT,
    EDGE_MM,
    SHAPES,
    TAB_FROM_MM,
    TAB_ROOM_MM,
    Box,
    Row,
    Sizes,
    arrangement,
    fence,
    season_tab,
)
from freezerbox.labels.symbols import LINK_BOX, QR_BOX

_LEAST = 1.8  # seven points: what a label keeps to be read by eye
_LEAST_CODE, _SMALL_CODE = 2.6, 2.1  # lower than that between the symbols, the code stands above them
_MONTH_MM = 5.0
_BARS = Row(fields='"code_128"', least=5, most=9, more="module_mm = 0.254")


def upright(at: Sizes) -> list[str]:
    """All words above, as large as they come; the symbols below, with code and bars between them if they have room.

    Where there is room for a symbol for phones, an arrangement has it in the place of the last copy.
    """
    phones = at.square >= at.least_square * LINK_BOX / QR_BOX
    with_link = [_filled(at, "words above, and a symbol for phones", phones=True)] if phones else []
    return [
        *with_link,
        _filled(at, "words above"),
        _filled(at, "words above, a smaller name", cut=6.5, month=0),
        _filled(at, "fenced", fenced=True),
        _filled(at, "fenced, a smaller name", fenced=True, cut=6.5, month=0),
    ]


def _filled(
    at: Sizes, name: str, *, fenced: bool = False, phones: bool = False, cut: float = 9.3, month: float = _MONTH_MM
) -> str:
    """cut: its least height, in hundredths of the width.  month: the same in mm, where the width allows no more."""
    edge = at.inner if fenced else 0.4
    qy, right = round(at.height - edge - at.square, 2), round(at.width - edge - at.square, 2)
    side, top = round(max(edge + 0.4, EDGE_MM), 2), round(max(1.6, edge + 0.3), 2)
    tab = season_tab(at, top, qy - top - 1) if at.width >= TAB_FROM_MM and not fenced else ""
    unit = at.width / 100
    words = [
        Row(fields=CUT, least=cut * unit, most=21 * unit, more=f"squeeze = 0.7, lines = 3, {SHAPES}"),
        Row(fields='"hold"', least=max(_LEAST, 3 * unit), most=5 * unit, more="squeeze = 0.75, lines = 2"),
        Row(fields='"banners"', least=max(_LEAST, 3 * unit), most=7 * unit, more="squeeze = 0.75, lines = 3"),
        Row(fields='"animal"', least=max(_LEAST, 3.5 * unit), most=7.5 * unit, more="squeeze = 0.75, lines = 2"),
        Row(
            fields='"weight", "pieces"',
            least=4 * unit,
            most=8.5 * unit,
            more="dot = true, squeeze = 0.75, lines = 2",
        ),
        Row(
            fields='"month", "season"',
            least=max(month, 5 * unit),
            most=9 * unit,
            more="squeeze = 0.75, small = { season = 0.6 }",
        ),
        Row(
            fields='"best_by", "cue", "run", "owner", "wrap"',
            least=max(_LEAST, 2.5 * unit),
            most=5 * unit,
            more="dot = true, lines = 4",
        ),
        Row(fields='"note"', least=max(_LEAST, 2.5 * unit), most=6 * unit, more="squeeze = 0.75, lines = 2"),
    ]
    x = round(edge + at.square + 0.4, 2)
    middle = round(right - 0.4 - x, 2)
    code = Row(fields='"code"', least=3.2 * unit, most=6.2 * unit, more='face = "mono"')
    between = [code] if middle >= max(_LEAST_CODE if month else _SMALL_CODE, code.least) * CODE_WIDE else []
    words += [] if between else [Row(fields=code.fields, least=5.2 * unit, most=7 * unit, more=code.more)]
    (between if middle >= BARS_MM else words).append(_BARS)
    stacks = [
        Box(
            x=side,
            y=top,
            width=round(at.width - 2 * side - (TAB_ROOM_MM if tab else 0), 2),
            height=round(qy - top, 2),
            rows=words,
            gap=1.2 if month else 0.6,
        )
    ]
    if between:
        height = round(at.square - 3, 2)
        stacks.append(
            Box(x=x, y=round(qy + 1, 2), width=middle, height=height, rows=between, align="center", gap=1.5)
        )
    left, last = (edge, qy), (right, qy)
    copies, link = ([left], last) if phones else ([left, last], None)
    return arrangement(name, at, copies, stacks, fence(at) if fenced else "", tab=tab, link=link)
