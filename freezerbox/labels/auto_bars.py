"""The arrangements of a made design that have room for the Code 128.

Bars are the first to give way on any label.  Here they need not: weight stands above with the animal, and the small
words above too, beside a hold or banners but not both, or below on one line.  A label with more to say takes the
arrangements that follow.
"""

from __future__ import annotations

from collections.abc import Sequence

from freezerbox.labels.auto_parts import TAB_ROOM_MM, Box, Row, Sizes, arrangement

BARS_MM = 33.0
"""The Code 128 of six characters with its white, and a little to either side."""
CODE_WIDE = 5.9
"""Width of a code in the mono face, in heights of its capitals."""
BARS_WHITE_MM = 1.0
"""Clear above the bars, so that a hurried hand with a laser scanner crosses nothing else."""
_LEAST_BARS, _MOST_BARS = 3.8, 7.0
_LINE = 1.36  # height of a line with what hangs below it, in capitals
_FIGURES = 1.06  # the same of a code or a month, with which nothing hangs


def with_bars(
    at: Sizes, squares: Sequence[tuple[float, float]], words: tuple[str, str], cut: float, month: float, tab: str
) -> list[str]:
    """The arrangements as the file writes them; none where words and bars together are too high or too wide.

    squares: where the symbols stand, in the lower corners.  words: the row of the cut, its fields and its shapes.
    cut, month: their least height.  tab: the season's strip, "" for none.
    """
    qy, edge = squares[0][1], 1.8
    centred = len(squares) > 1
    x = at.square + 0.9 if centred else edge
    middle = round(squares[-1][0] - (0.5 if centred else 0.3) - x, 2)
    text, small, code = at.share(0.062, 1.9, 6), at.share(0.04, 1.8, 3.4), at.share(0.08, 2.6, 6)
    gap, tight = at.share(0.016, 0.4, 2), at.share(0.01, 0.4, 1.2)
    if middle < BARS_MM:
        return []
    top, low = round(qy - 1.8, 2), round(at.square - 1.9, 2)
    beside = middle >= code * CODE_WIDE + BARS_MM
    white = BARS_WHITE_MM if beside else tight
    least = max(_LEAST_BARS, code * _FIGURES) if beside else code * _FIGURES + BARS_WHITE_MM + _LEAST_BARS
    fields, shapes = words
    name = Row(fields=fields, least=cut, most=cut * 1.6, more=f"good_mm = {cut}, squeeze = 0.73, {shapes}")
    animal = Row(fields='"animal"', least=text, most=text * 1.5, more="squeeze = 0.75")
    weight = Row(fields='"weight", "pieces"', least=text, most=text * 1.4, more="dot = true, squeeze = 0.75")
    when = Row(fields='"month"', least=month, most=max(month, text * 1.9), more="squeeze = 0.75")
    hold = Row(fields='"hold"', least=text * 0.9, most=text * 1.3, more="squeeze = 0.75")
    banners = Row(fields='"banners"', least=text * 0.9, most=text * 1.4, more="squeeze = 0.75, lines = 2")
    high = (cut + 2 * text) * _LINE + 2 * gap
    # Small words above on two lines where there is room, else below on one.
    above = high + gap + small * (2 * _LINE + 0.3) <= top
    little = Row(
        fields='"season", "best_by", "cue", "run", "owner", "note", "wrap"',
        least=small,
        most=small * 1.3,
        more=f"dot = true, squeeze = 0.75, lines = {2 if above else 1}",
    )
    spare = low - (least + white + month * _FIGURES + (0 if above else small * _LINE + tight))
    if high > top or spare < 0:
        return []

    def made(kind: str, over: Sequence[Row], between: Sequence[Row], spare: float) -> str:
        last = round(least + min(spare / 3, _MOST_BARS - _LEAST_BARS), 2)
        y, height = round(qy + 0.6, 2), round(low - last - white, 2)
        align = "center" if centred else "left"
        across = round(at.width - 2 * edge - (TAB_ROOM_MM if tab else 0), 2)
        stacks = [
            Box(x=edge, y=1.6, width=across, height=top, rows=over, gap=gap),
            Box(x=round(x, 2), y=y, width=middle, height=height, rows=between, gap=tight, align=align),
            *_code_and_bars(at, code, (x, round(y + height + white, 2), middle, last), beside=beside, align=align),
        ]
        return arrangement(kind, at, squares, stacks, tab=tab)

    if above:
        return [
            made("with bars", [name, hold, animal, weight, little], [when], spare),
            made("with bars and banners", [name, banners, animal, weight, little], [when], spare),
        ]
    found = [made("with bars", [name, animal, weight], [when, little], spare)]
    left = spare - text * _LINE - tight
    if left >= 0:  # the weight stands below where something must be said above
        found += [
            made("with bars, held", [name, hold, animal], [weight, when, little], left),
            made("with bars and banners", [name, banners, animal], [weight, when, little], left),
        ]
    return found


def _code_and_bars(
    at: Sizes, code: float, area: tuple[float, float, float, float], *, beside: bool, align: str
) -> list[Box]:
    """The code, and the bars beside it or below.  area: x, y, width and height of both."""
    x, y, width, height = area
    letters = Row(fields='"code"', least=code, most=at.share(0.09, 3.4, 7), more='face = "mono"')
    bars = Row(fields='"code_128"', least=_LEAST_BARS, most=_MOST_BARS, more="module_mm = 0.254")
    if not beside:
        rows = [letters, bars]
        return [Box(x=round(x, 2), y=y, width=width, height=height, rows=rows, gap=BARS_WHITE_MM, align=align)]
    wide = round(width - BARS_MM, 2)
    return [
        Box(x=round(x, 2), y=y, width=wide, height=height, rows=[letters]),
        Box(x=round(x + wide, 2), y=y, width=BARS_MM, height=height, rows=[bars], align="right"),
    ]
