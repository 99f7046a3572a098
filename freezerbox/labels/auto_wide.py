"""The arrangements of a made design for low labels so wide that words stand in two columns between the symbols."""

from __future__ import annotations

from freezerbox.labels.auto_bars import BARS_MM, BARS_WHITE_MM, CODE_WIDE
from freezerbox.labels.auto_parts import CUT, SHAPES, Box, Row, Sizes, arrangement, fence, lying_tab

COLUMNS_MM = 105.0
"""Words between two symbols stand in two columns from this width on."""
_LEAST_CODE = 3.2
_LAST_MM = 5.4  # height of the code and the bars
_BETWEEN_MM = 2.5
_RIGHT = 0.45  # share of the right column: month, weight, code and bars


def columns(at: Sizes) -> list[str]:
    """The cut and what it is at the left, month, weight, code and bars at the right; once more with the border."""
    return [
        _columns(at, "in two columns"),
        _columns(at, "in two columns, smaller", cut=3.6, least=1.85),
        _columns(at, "in two columns, fenced", cut=3.6, least=1.85, fenced=True),
    ]


def _columns(at: Sizes, name: str, *, cut: float = 4.8, least: float = 2.2, fenced: bool = False) -> str:
    """cut, least: the least height of its letters, and of all others in the left column."""
    edge = round(min(at.inner, (at.height - at.square) / 2), 2) if fenced else 0.0
    top, qy = max(1.5, edge), round((at.height - at.square) / 2, 2)
    right = round(at.width - edge - at.square, 2)
    x, high = round(edge + at.square + 0.4, 2), round(at.height - 2 * top, 2)
    across = round(right - 0.4 - x, 2)
    second = round(max(BARS_MM + _LEAST_CODE * CODE_WIDE + 1, _RIGHT * across), 2)
    start = round(x + across - second, 2)
    what = [
        Row(fields=CUT, least=cut, most=12, more=f"good_mm = {cut + 1:g}, squeeze = 0.7, lines = 2, {SHAPES}"),
        Row(fields='"animal"', least=least, most=4.4, more="squeeze = 0.72, lines = 2"),
        Row(fields='"hold"', least=least, most=3, more="squeeze = 0.72"),
        Row(fields='"banners"', least=least, most=3.4, more="squeeze = 0.72, lines = 2"),
    ]
    when = [
        Row(fields='"month", "season"', least=4, most=6.5, more="squeeze = 0.75, small = { season = 0.6 }"),
        Row(fields='"weight", "pieces"', least=2.4, most=4.4, more="dot = true, squeeze = 0.75"),
        Row(
            fields='"best_by", "cue", "run", "owner", "note", "wrap"',
            least=1.9,
            most=2.8,
            more="dot = true, squeeze = 0.75, lines = 2",
        ),
    ]
    code = Row(fields='"code"', least=_LEAST_CODE, most=4.5, more='face = "mono"')
    bars = Row(fields='"code_128"', least=3.8, most=_LAST_MM, more="module_mm = 0.254")
    low = round(top + high - _LAST_MM, 2)
    first = round(across - second - _BETWEEN_MM, 2)
    stacks = [
        Box(x=x, y=top, width=first, height=high, rows=what, gap=0.6),
        Box(x=start, y=top, width=second, height=round(low - BARS_WHITE_MM - top, 2), rows=when, gap=0.5),
        Box(x=start, y=low, width=round(second - BARS_MM, 2), height=_LAST_MM, rows=[code]),
        Box(x=round(start + second - BARS_MM, 2), y=low, width=BARS_MM, height=_LAST_MM, rows=[bars], align="right"),
    ]
    tab = "" if fenced else lying_tab(at)
    return arrangement(name, at, [(edge, qy), (right, qy)], stacks, fence(at) if fenced else "", tab=tab)
