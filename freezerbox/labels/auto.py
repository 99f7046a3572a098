"""A design for labels of any size, as the text of a design file that the household may change afterwards.

The rules are those of the shipped designs (label_templates/README.md): a symbol at each end where there is room for
words between, else one; the cut across the top where the symbols leave room above, else beside them; the last
arrangements give up one symbol, then height of letters, before they give up a word that must be there.
"""

from __future__ import annotations

from collections.abc import Sequence

from freezerbox.errors import InputError
from freezerbox.labels.auto_bars import BARS_MM, with_bars
from freezerbox.labels.auto_high import upright
from freezerbox.labels.auto_parts import (
    CUT,
    EDGE_MM,
    SHAPES,
    TAB_FROM_MM,
    TAB_ROOM_MM,
    Box,
    Row,
    Sizes,
    all_said,
    arrangement,
    fence,
    lying_tab,
    season_tab,
)
from freezerbox.labels.auto_wide import COLUMNS_MM, columns

LEAST_WIDTH_MM, LEAST_HEIGHT_MM = 50.0, 25.0
_TALL_MM = 31.0  # from here on the symbols stand in the lower corners with words above them
_UPRIGHT = 1.1  # of so many times its width a label has all words above its symbols
_SQUARE = 0.95
_HIGH_MM = 60.0  # from here on there is room above for animals on two lines
_BETWEEN_MM = 24.0  # words between two symbols need this much
_BAND_MM = 7.0  # a cut of 5.2 mm with what hangs below its line
_MONTH_WIDE = 7.0  # width of "NOV 2026", in heights of its capitals


def design_text(name: str, title: str, width_mm: float, height_mm: float, dpi: int) -> str:
    """A design for labels of that size at that many dots per inch.  Raises: InputError as ``refuse_small``."""
    refuse_small(width_mm, height_mm)
    sizes = Sizes(width_mm, height_mm, dpi)
    if height_mm < _TALL_MM:
        made = _low(sizes)
    elif height_mm > _UPRIGHT * width_mm:
        made = [*upright(sizes), _last(sizes)]
    elif height_mm >= _SQUARE * width_mm and sizes.between < _BETWEEN_MM:  # no words between two, but above them
        made = [*upright(sizes), *_tall(sizes)]
    else:
        made = _tall(sizes)
    head = f'name = "{name}"\ntitle = "{title}"\nwidth_mm = {width_mm:g}\nheight_mm = {height_mm:g}\n'
    return "\n".join([head, *made, *all_said(sizes)])


def refuse_small(width_mm: float, height_mm: float) -> None:
    """Raises: InputError for a label too small for a symbol and the words that must be there."""
    if width_mm < LEAST_WIDTH_MM or height_mm < LEAST_HEIGHT_MM:
        turned = width_mm >= LEAST_HEIGHT_MM and height_mm >= LEAST_WIDTH_MM
        raise InputError(
            f"A label of {width_mm:g} x {height_mm:g} mm is too small for a symbol and the words that must be on it. "
            + (
                f"Give it turned, with the long side as its width: {height_mm:g} mm wide, {width_mm:g} mm high."
                if turned
                else f"At least {LEAST_WIDTH_MM:g} x {LEAST_HEIGHT_MM:g} mm."
            ),
            value=f"{width_mm:g} x {height_mm:g}",
        )


def _tall(at: Sizes) -> list[str]:
    qy = round(at.height - at.square - 0.4, 2)
    right = round(at.width - at.square - 0.4, 2)
    cut = at.share(0.158, 3.6, 14)
    text = at.share(0.062, 1.9, 6)
    small = at.share(0.04, 1.8, 3.4)
    two = at.between >= _BETWEEN_MM
    squares = [(0.4, qy), (right, qy)] if two else [(right, qy)]
    x = at.square + 0.9 if two else EDGE_MM
    middle = round((right - 0.5 if two else right - 0.3) - x, 2)
    month = _month(text, middle)
    tab = season_tab(at, 1.8, qy - 2.4) if at.width >= TAB_FROM_MM else ""

    def above(lines: int, least: float, animals: str = "") -> Box:
        rows = [
            Row(
                fields=CUT,
                least=least,
                most=cut * 1.6,
                more=f"good_mm = {max(least, cut)}, squeeze = 0.73, lines = {lines}, {SHAPES}",
            ),
            Row(fields='"hold"', least=text * 0.9, most=text * 1.3, more="squeeze = 0.75"),
            Row(fields='"banners"', least=text * 0.9, most=text * 1.4, more="squeeze = 0.75, lines = 2"),
            Row(fields='"animal"', least=text, most=text * 1.5, more=f"squeeze = 0.75{animals}"),
        ]
        width = round(at.width - 2 * EDGE_MM - (TAB_ROOM_MM if tab else 0), 2)
        return Box(x=EDGE_MM, y=1.6, width=width, height=round(qy - 1.8, 2), rows=rows, gap=at.share(0.016, 0.4, 2))

    rows = [
        Row(fields='"weight", "pieces"', least=text, most=text * 1.4, more="dot = true, squeeze = 0.72"),
        Row(fields='"month"', least=month, most=max(month, text * 1.9), more="squeeze = 0.75"),
        Row(
            fields='"season", "best_by", "cue", "run", "owner", "note", "wrap"',
            least=small,
            most=small * 1.3,
            more="dot = true, squeeze = 0.75, lines = 2",
        ),
        Row(fields='"code"', least=at.share(0.08, 2.6, 6), most=at.share(0.09, 3.4, 7), more='face = "mono"'),
    ]
    barred = with_bars(at, squares, (CUT, SHAPES), cut, month, tab)
    if barred:  # else no label of this size has room for them
        rows.append(Row(fields='"code_128"', least=3.8, most=7, more="module_mm = 0.254"))
    least, high = max(3.6, cut * 0.75), at.height >= _HIGH_MM
    below = Box(
        x=round(x, 2),
        y=round(qy + 0.6, 2),
        width=middle,
        height=round(at.square - 1.9, 2),
        rows=rows,
        gap=at.share(0.01, 0.4, 1.2),
        align="center" if two else "left",
    )
    return [
        *barred,
        arrangement("cut on one line", at, squares, [above(1, cut), below], tab=tab),
        arrangement("cut on two lines", at, squares, [above(2, least), below], tab=tab),
        *(
            [arrangement("many animals", at, squares, [above(2, least, ", lines = 2"), below], tab=tab)]
            if high
            else []
        ),
        *([_tight(at, tab=tab)] if two and tab else []),
        *([_tight(at), _tight(at, fenced=True)] if two else []),
        _last(at),
    ]


def _month(text: float, width: float) -> float:
    """Least height of the month's capitals: as large as the animal grows, and as the width has room for.

    It is what two packs of one cut are told apart by; small words give way before it does.
    """
    return round(max(text * 1.1, min(max(text * 1.5, 3.5), width / _MONTH_WIDE)), 2)


def _tight(at: Sizes, *, fenced: bool = False, tab: str = "") -> str:
    """Both symbols, with the animal between them: room above for long names and for banners."""
    edge = at.inner if fenced else 0.4
    qy, right = round(at.height - edge - at.square, 2), round(at.width - edge - at.square, 2)
    side = round(max(edge + 0.2, EDGE_MM), 2)
    cut, text = at.share(0.1, 3.6, 9), at.share(0.05, 1.85, 4)
    rows = [
        Row(fields=CUT, least=cut, most=cut * 1.6, more=f"good_mm = {cut}, squeeze = 0.72, lines = 2, {SHAPES}"),
        Row(fields='"hold"', least=text, most=text * 1.3, more="squeeze = 0.72"),
        Row(fields='"banners"', least=text, most=text * 1.4, more="squeeze = 0.72, lines = 2"),
    ]
    top = max(1.5, edge + 0.2)
    width = round(at.width - 2 * side - (TAB_ROOM_MM if tab else 0), 2)
    above = Box(x=side, y=round(top, 2), width=width, height=round(qy - top, 2), rows=rows)
    x = round(edge + at.square + 0.4, 2)
    middle = round(right - 0.4 - x, 2)
    month = _month(text, middle)
    between = [
        Row(fields='"animal"', least=text, most=text * 1.4, more="squeeze = 0.7, lines = 2"),
        Row(fields='"weight", "pieces"', least=text, most=text * 1.5, more="dot = true, squeeze = 0.7, lines = 2"),
        Row(fields='"month"', least=min(text * 1.4, month), most=max(text * 1.8, month), more="squeeze = 0.7"),
        Row(
            fields='"season", "cue", "run"',
            least=at.share(0.04, 1.8, 3),
            most=at.share(0.05, 2.2, 4),
            more="dot = true, squeeze = 0.7",
        ),
        Row(fields='"code"', least=2.4, most=at.share(0.08, 3.2, 6), more='face = "mono"'),
    ]
    below = Box(
        x=x,
        y=round(qy + 0.3, 2),
        width=middle,
        height=round(at.square - 1.5, 2),
        rows=between,
        gap=0.3,
        align="center",
    )
    name = "fenced" if fenced else "long names" if tab else "long names and banners"
    return arrangement(name, at, [(edge, qy), (right, qy)], [above, below], fence(at) if fenced else "", tab=tab)


def _low(at: Sizes) -> list[str]:
    two = at.between >= _BETWEEN_MM
    wide = at.between >= 45
    band = at.height - at.square - 1.5
    x = at.square + 0.4 if two else EDGE_MM
    across = round(at.width - (2 if two else 1) * at.square - (0.8 if two else EDGE_MM + 0.3), 2)
    rows = [
        Row(fields='"animal"', least=1.9, most=3.2, more="good_mm = 2.3, squeeze = 0.72"),
        Row(fields='"weight", "pieces"', least=2, most=3.2, more="dot = true, squeeze = 0.75"),
        Row(fields='"month", "season"', least=2.4, most=4.2, more="squeeze = 0.75, small = { season = 0.65 }"),
        Row(fields='"hold"', least=1.85, most=2.4, more="squeeze = 0.72, lines = 2"),
        Row(fields='"banners"', least=1.85, most=2.6, more="squeeze = 0.75, lines = 2"),
        Row(
            fields='"best_by", "cue", "run", "owner", "note"', least=1.8, most=2.2, more="dot = true, squeeze = 0.75"
        ),
        Row(fields='"code"', least=2.5, most=3.8, more='face = "mono"'),
    ]
    if across >= BARS_MM - 3 and not two:
        rows.append(Row(fields='"code_128"', least=3.6, most=5, more="module_mm = 0.25"))
    made = columns(at) if at.between >= COLUMNS_MM else []
    cut = Row(fields=CUT, least=3.6, most=5.2, more=f"good_mm = 3.8, squeeze = 0.75, {SHAPES}")
    if wide:
        big = Row(fields=CUT, least=4.6, most=7, more=f"good_mm = 5, squeeze = 0.75, {SHAPES}")
        two_a_row = _two_a_row()
        stack = Box(x=x, y=1.5, width=across, height=at.height - 3, rows=[big, *two_a_row], align="center")
        made.append(arrangement("cut between the symbols", at, _ends(at, two), [stack], tab=lying_tab(at)))
        made.append(_fenced_between(at, [big, *two_a_row]))
    elif band >= 5:
        # Beside one symbol the words begin as high as the cut at its largest leaves them.
        band = band if two else min(band, _BAND_MM)
        top = Box(x=EDGE_MM, y=1.3, width=round(at.width - 2 * EDGE_MM, 2), height=round(band, 2), rows=[cut])
        under = Box(
            x=round(x, 2),
            y=round(1.5 + band, 2),
            width=across,
            height=round(at.height - 2.9 - band, 2),
            rows=rows,
            align="center" if two else "left",
            gap=0.3,
        )
        made.append(arrangement("cut across the top", at, _ends(at, two, low=True), [top, under]))
    if wide:
        rows = _two_a_row(0.15)
    first = Row(fields=CUT, least=3.55, most=4.6, more=f"good_mm = 3.6, squeeze = 0.7, lines = 2, {SHAPES}")
    beside = Box(
        x=round(x, 2),
        y=1.5,
        width=across,
        height=round(at.height - 3, 2),
        rows=[first, *rows],
        gap=0.3,
        align="center" if two else "left",
    )
    return [
        *made,
        arrangement("cut beside the symbol", at, _ends(at, two), [beside]),
        _last(at, fenced=False),
        _last(at),
    ]


def _two_a_row(less: float = 0.0) -> list[Row]:
    """Rows of a wide label, month and code in one; ``less``: how much smaller some may get, in mm."""
    return [
        Row(fields='"animal"', least=2 - less, most=3.4, more="squeeze = 0.72"),
        Row(fields='"hold"', least=2 - less, most=3.4, more="squeeze = 0.72"),
        Row(fields='"weight", "pieces", "run"', least=2.2 - less, most=3.4, more="dot = true, squeeze = 0.75"),
        Row(fields='"banners"', least=2.2 - less, most=3.4, more="squeeze = 0.75, lines = 2"),
        Row(fields='"best_by", "cue", "owner", "note"', least=1.8, most=2.2, more="dot = true, squeeze = 0.75"),
        Row(
            fields='"month", "season", "code"', least=2.8, most=4.4, more="squeeze = 0.75, small = { season = 0.62 }"
        ),
    ]


def _fenced_between(at: Sizes, rows: Sequence[Row]) -> str:
    """As between the symbols, with the hatched border round all of it."""
    edge = round(min(at.inner, (at.height - at.square) / 2), 2)
    y, right = round((at.height - at.square) / 2, 2), round(at.width - edge - at.square, 2)
    x = round(edge + at.square + 0.3, 2)
    stack = Box(
        x=x,
        y=edge,
        width=round(right - 0.3 - x, 2),
        height=round(at.height - 2 * edge, 2),
        rows=rows,
        gap=0.3,
        align="center",
    )
    return arrangement("fenced", at, [(edge, y), (right, y)], [stack], fence(at))


def _ends(at: Sizes, two: bool, *, low: bool = False) -> list[tuple[float, float]]:
    y = round(at.height - at.square if low else (at.height - at.square) / 2, 2)
    right = (round(at.width - at.square, 2), y)
    return [(0, y), right] if two else [right]


def _last(at: Sizes, *, fenced: bool = True) -> str:
    """One symbol and the hatched border; everything that must be said, at its least size."""
    edge, side = at.inner if fenced else 1.5, at.square
    if side > 22:  # on a large label the one symbol gives way as well
        side = max(at.least_square, round(side * 0.7, 2))
    white = edge if fenced else 0.0  # the symbol brings white of its own
    qx, qy = round(at.width - white - side, 2), round(at.height - white - side, 2)
    left = round(edge + 0.3, 2)
    text = at.share(0.05, 1.8, 5)
    cut = at.share(0.1, 3.55, 12)
    code = Row(fields='"code"', least=2.1, most=at.share(0.07, 2.6, 6), more='face = "mono"')
    words = [
        Row(fields=CUT, least=3.55, most=cut * 1.4, more=f"good_mm = {cut}, squeeze = 0.66, lines = 2, {SHAPES}"),
        Row(fields='"hold"', least=1.8, most=text * 1.3, more="squeeze = 0.62, lines = 2"),
        Row(fields='"banners"', least=1.8, most=text * 1.4, more="squeeze = 0.66, lines = 3"),
        Row(
            fields='"animal", "weight", "pieces"',
            least=1.8,
            most=text * 1.4,
            more="dot = true, squeeze = 0.7, lines = 2",
        ),
        Row(
            fields='"month", "run", "season"',
            least=2,
            most=text * 1.7,
            more="squeeze = 0.75, small = { run = 0.9, season = 0.9 }",
        ),
    ]
    above = round(qy - edge - 0.3, 2)
    if above >= 2.6:
        code_y, room = round(edge + 0.2, 2), above
    else:
        # The symbol is moved up as far as the border lets it, and the code stands below it.
        qy = round(max(0.0, edge - 1), 2) if fenced else 0.0
        code_y, room = round(qy + side, 2), round(at.height - edge - qy - side, 2)
    stacks = [
        Box(
            x=left,
            y=round(edge + 0.2, 2),
            width=round(qx - left - 0.3, 2),
            height=round(at.height - 2 * edge - 0.4, 2),
            rows=words,
            gap=0.3,
        ),
        Box(x=round(qx + 0.6, 2), y=code_y, width=round(side - 1.2, 2), height=room, rows=[code], align="center"),
    ]
    name = "banners, one symbol" if fenced else "one symbol"
    return arrangement(name, at, [(qx, qy)], stacks, fence(at) if fenced else "", side)
