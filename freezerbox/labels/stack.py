"""Rows sharing the room of a stack: what gives way, how large the letters get, where each line stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from freezerbox.labels.content import DROP_ORDER, Token
from freezerbox.labels.flow import Lines, above, bars_width, below, gap, hopeless, row_tokens, ways
from freezerbox.labels.stock import MM_PER_INCH, Area, Row, Stack, Stock

_STEPS = 48  # how finely letters grow between the least and the most of their row
_SHY_MM = 1e-6


class Misfit(Exception):
    """A field that must be there has no room in this arrangement."""

    def __init__(self, field: str, shown: str) -> None:
        super().__init__(field)
        self.field = field
        self.shown = shown


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A piece where it stands on the label, in mm."""

    field: str
    text: str
    style: str
    face: str
    area: Area
    cap_mm: float
    baseline_mm: float
    squeeze: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """A stack with everything in place."""

    pieces: tuple[Placed, ...]


class _Filled:
    """A row with its words: for each height of capitals, the lines it breaks into."""

    def __init__(self, row: Row, tokens: tuple[Token, ...], width_mm: float, stock: Stock, *, tight: bool) -> None:
        self.row = row
        self.tight = tight
        self.tokens = tokens
        self.bars = tokens[0].field == "code_128"
        self.width_mm = width_mm
        if self.bars:
            dot = MM_PER_INCH / stock.dpi
            self.module_mm = round((row.module_mm or 0) / dot) * dot
            self.bars_mm = bars_width(row, tokens[0].text) / (row.module_mm or 1) * self.module_mm
            self.ways: tuple[Lines, ...] = ()
        else:
            self.ways = () if hopeless(row, tokens, width_mm) else ways(row, tokens)

    def lines(self, cap: float) -> tuple[Lines, float] | None:
        """The lines to break into at this height, with how far they are narrowed; ``None`` when none fit.

        Lines of full width go before fewer narrowed ones; where room is tight it is the other way round.
        """
        shares = (1.0,) if cap > self.row.good_mm + _SHY_MM else (1.0, self.row.squeeze)
        tries = [(way, share) for share in shares for way in self.ways]
        if self.tight:
            tries = [(way, share) for way in self.ways for share in shares]
        for way, share in tries:
            if way.width * cap * share <= self.width_mm + _SHY_MM:
                return way, min(1.0, self.width_mm / (way.width * cap))
        return None

    def height(self, cap: float) -> float | None:
        """Height in mm at this height of capitals; ``None`` when it is too wide."""
        if self.bars:
            return cap if self.bars_mm <= self.width_mm + _SHY_MM else None
        found = self.lines(cap)
        return found[0].height * cap if found else None

    def cap_at(self, share: float) -> float:
        """The largest height of capitals that fits the width, not above this share of the row's range."""
        row = self.row
        for step in range(round(share * _STEPS), 0, -1):
            cap = row.least_mm + (row.most_mm - row.least_mm) * step / _STEPS
            if self.height(cap) is not None:
                return cap
        return row.least_mm

    def fields(self) -> list[str]:
        """Its fields, in order."""
        return list(dict.fromkeys(token.field for token in self.tokens))


def settle(
    stack: Stack,
    fields: dict[str, tuple[Token, ...]],
    stock: Stock,
    *,
    tight: bool = False,
    order: Sequence[str] = DROP_ORDER,
) -> Settled:
    """The stack's rows as large as they fit together; fields that may, give way in the order stated.

    One that gave way comes back when, with the others gone, there is room for it all the same.
    ``tight``: words are narrowed before they are broken over lines.

    Raises: Misfit when what must be there does not fit at its least size.
    """
    left = dict(fields)
    gone: list[str] = []
    rows = _rows(stack, left, stock, tight=tight)
    while over := _over(stack, rows):
        present = {field for row in over for field in row.fields()}
        gives = next((field for field in order if field in present), None)
        if gives is None:
            culprit = max(over, key=lambda row: row.height(row.row.least_mm) or stack.area.height_mm)
            field = culprit.fields()[0]
            raise Misfit(field, " ".join(token.text for token in culprit.tokens if token.field == field))
        left[gives] = ()
        gone.append(gives)
        rows = _rows(stack, left, stock, tight=tight)
    for field in reversed(gone):
        tried = _rows(stack, left | {field: fields[field]}, stock, tight=tight)
        if not _over(stack, tried):
            left[field], rows = fields[field], tried
    return _place(stack, rows, _grow(stack, rows))


def _rows(stack: Stack, fields: dict[str, tuple[Token, ...]], stock: Stock, *, tight: bool) -> list[_Filled]:
    return [
        _Filled(row, tokens, stack.area.width_mm, stock, tight=tight)
        for row in stack.rows
        if (tokens := row_tokens(row, fields))
    ]


def _over(stack: Stack, rows: Sequence[_Filled]) -> Sequence[_Filled]:
    """The rows too wide at their least size; all of them when together they are too high; none when they fit."""
    wide = [row for row in rows if row.height(row.row.least_mm) is None]
    return wide or (rows if _total(stack, rows, [row.row.least_mm for row in rows]) is None else [])


def _total(stack: Stack, rows: Sequence[_Filled], caps: Sequence[float]) -> float | None:
    """Height of all rows with their gaps, or ``None`` when it is more than there is."""
    heights = [row.height(cap) for row, cap in zip(rows, caps, strict=True)]
    if any(height is None for height in heights):
        return None
    total = sum(height or 0 for height in heights) + stack.gap_mm * max(0, len(rows) - 1)
    return total if total <= stack.area.height_mm + _SHY_MM else None


def _grow(stack: Stack, rows: Sequence[_Filled]) -> list[float]:
    """All rows grow together as far as they can; then each in turn, the first first, takes what is left."""
    caps = [row.row.least_mm for row in rows]
    for step in range(_STEPS, -1, -1):
        tried = [row.cap_at(step / _STEPS) for row in rows]
        if _total(stack, rows, tried) is not None:
            caps = tried
            break
    for index, row in enumerate(rows):
        for step in range(_STEPS, 0, -1):
            cap = row.row.least_mm + (row.row.most_mm - row.row.least_mm) * step / _STEPS
            if cap <= caps[index]:
                break
            if _total(stack, rows, [*caps[:index], cap, *caps[index + 1 :]]) is not None:
                caps[index] = cap
                break
    return caps


def _place(stack: Stack, rows: Sequence[_Filled], caps: Sequence[float]) -> Settled:
    total = _total(stack, rows, caps) or 0.0
    spare = (stack.area.height_mm - total) / (len(rows) + 1)
    y = stack.area.y_mm + spare
    pieces: list[Placed] = []
    for row, cap in zip(rows, caps, strict=True):
        height = row.height(cap) or 0.0
        pieces.extend(_bars(stack, row, y, cap) if row.bars else _letters(stack, row, y, cap))
        y += height + stack.gap_mm + spare
    return Settled(pieces=tuple(pieces))


def _start(stack: Stack, width: float) -> float:
    room = stack.area.width_mm - width
    return stack.area.x_mm + {"left": 0.0, "center": room / 2, "right": room}[stack.align]


def _bars(stack: Stack, row: _Filled, y: float, height: float) -> list[Placed]:
    area = Area(x_mm=_start(stack, row.bars_mm), y_mm=y, width_mm=row.bars_mm, height_mm=height)
    return [
        Placed(
            field="code_128",
            text=row.tokens[0].text,
            style="bars",
            face="",
            area=area,
            cap_mm=row.module_mm,
            baseline_mm=y + height,
            squeeze=1.0,
        )
    ]


def _letters(stack: Stack, row: _Filled, y: float, cap: float) -> list[Placed]:
    found = row.lines(cap)
    assert found is not None
    lines, squeeze = found
    placed = []
    for line in lines.lines:
        baseline = y + above(line) * cap
        across = cap * squeeze
        start = _start(stack, (line[-1].x + line[-1].width) * across)
        for piece in line:
            alone = len(line) == 1 and piece.style == "blank" and piece.field == "memory"
            area = Area(
                x_mm=stack.area.x_mm if alone else start + piece.x * across,
                y_mm=baseline - piece.above * cap,
                width_mm=stack.area.width_mm if alone else piece.width * across,
                height_mm=(piece.above + piece.below) * cap,
            )
            placed.append(
                Placed(
                    field=piece.field,
                    text=piece.text,
                    style=piece.style,
                    face=row.row.face,
                    area=area,
                    cap_mm=piece.scale * cap,
                    baseline_mm=baseline,
                    squeeze=squeeze,
                )
            )
        y = baseline + (below(line) + gap(line)) * cap
    return placed
