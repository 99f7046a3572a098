"""Setting one row: where its lines break, how wide and high they come out, all in heights of a capital."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import comb

from freezerbox.labels.content import Token
from freezerbox.labels.fonts import measure, printable
from freezerbox.labels.stock import Row
from freezerbox.labels.symbols import BARS_QUIET, code128_bars

SPACE = 0.42  # between words, in capitals' heights; a little over the face's own, since print spreads
BLOCK_PAD = 0.22  # solid black around the letters of a block
TICK = 1.15  # side of a tick box
BLANK = 5.5  # length of a line to write on
MEMORY_BLANK = 15  # length of the line for what is to be remembered
BLANK_ROOM = 1.35  # white above it, for the pen
BLANK_THICK = 0.1
LINE_GAP = 0.3  # white between two lines of one row
BLOCK_GAP = 0.16  # the same below a line of blocks, which brings its own black
_MOST_BREAKS = 600  # tried one by one; of more words than that the lines are made even
TORN = 0.25  # a field in a row with dots is torn across lines only when that saves this much width
_OF_A_CODE = "3"  # as high and as deep as the round characters of a code
TAIL = 0.3  # the tail of a Q or a J in a code reaches no deeper
DOT = "\u00b7"


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Part of a line: some words of one field, a block, a tick box or a blank.

    x, width: along the line; above, below: from the base line; all in heights of the row's capitals.
    scale: its own capitals, as a share of the row's.
    """

    field: str
    text: str
    style: str
    scale: float
    x: float
    width: float
    above: float
    below: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """A row broken into lines; width is the widest line's, height from first top to last bottom."""

    lines: tuple[tuple[Piece, ...], ...]
    width: float
    height: float


def row_tokens(row: Row, fields: dict[str, tuple[Token, ...]]) -> tuple[Token, ...]:
    """The row's tokens in order, dots between fields where the row wants them, unknown letters as ``?``."""
    tokens: list[Token] = []
    for field in row.fields:
        words = fields.get(field, ())
        if row.dot and tokens and words and "block" not in (tokens[-1].style, words[0].style):
            tokens.append(Token(field=tokens[-1].field, text=DOT))
        tokens.extend(
            Token(field=word.field, text=printable(row.face, word.text), style=word.style) for word in words
        )
    return tuple(tokens)


def hopeless(row: Row, tokens: Sequence[Token], width_mm: float) -> bool:
    """Whether the words alone, without the white between them, are more than all lines hold at their narrowest.

    Trying every break of forty words over four lines would take seconds.
    """
    small = dict(row.small)
    words = sum(
        _piece(row, token.field, token.text, token.style, small.get(token.field, 1.0), 0).width
        for token in tokens
        if token.text != DOT
    )
    return words * row.least_mm * row.squeeze > row.lines * width_mm + 1e-6


def ways(row: Row, tokens: Sequence[Token]) -> tuple[Lines, ...]:
    """The best break on one line, on two, up to as many as the row may have."""
    found = []
    allowed = [at for at in range(1, len(tokens)) if not _inseparable(tokens[at - 1], tokens[at])]
    for count in range(1, min(row.lines, len(allowed) + 1) + 1):
        candidates = []
        breaks: Iterable[tuple[int, ...]] = combinations(allowed, count - 1)
        if comb(len(allowed), count - 1) > _MOST_BREAKS:
            breaks = [_even_breaks(row, tokens, count, allowed)]
        for cuts in breaks:
            edges = (0, *cuts, len(tokens))
            parts = [tokens[start:end] for start, end in pairwise(edges)]
            lines = _set(row, parts)
            torn = sum(parts[at][-1].field == parts[at + 1][0].field for at in range(count - 1))
            candidates.append((lines.width * (1 + TORN * torn if row.dot else 1), lines))
        found.append(min(candidates, key=lambda way: way[0])[1])
    return tuple(found)


def _inseparable(one: Token, other: Token) -> bool:
    """Whether no line breaks between two tokens.

    A box, its word and its line are one, a line and its unit, and the words of a date.
    """
    if one.field != other.field:
        return one.style == "tick"
    return one.style == "tick" or "blank" in (one.style, other.style) or one.field in ("month", "best_by")


def _even_breaks(row: Row, tokens: Sequence[Token], count: int, allowed: Sequence[int]) -> tuple[int, ...]:
    """Where to break many words, of the places allowed, so that no line is much longer than the others."""
    small = dict(row.small)
    ends = [0.0]
    for token in tokens:
        piece = _piece(row, token.field, token.text, token.style, small.get(token.field, 1.0), 0)
        ends.append(ends[-1] + piece.width + SPACE * piece.scale)
    share = ends[-1] / count
    nearest = [
        min(allowed[line - 1 : len(allowed) - count + line + 1], key=lambda at: abs(ends[at] - share * line))
        for line in range(1, count)
    ]
    return tuple(nearest) if len(set(nearest)) == len(nearest) else tuple(allowed[: count - 1])


def bars_width(row: Row, text: str) -> float:
    """Width in mm of the Code 128 with its quiet zones."""
    assert row.module_mm is not None
    return (len(code128_bars(text)) + 2 * BARS_QUIET) * row.module_mm


def _set(row: Row, parts: Sequence[Sequence[Token]]) -> Lines:
    lines = tuple(_line(row, part) for part in parts)
    width = max(line[-1].x + line[-1].width for line in lines)
    height = sum(above(line) + below(line) for line in lines) + sum(gap(line) for line in lines[:-1])
    return Lines(lines=lines, width=width, height=height)


def above(line: Sequence[Piece]) -> float:
    """How far a line reaches above its base line.

    Small words of low letters alone, vacuum, leave the white of a capital; a cut's line has white enough.
    """
    return max(
        max(piece.above, piece.scale) if piece.style == "plain" and piece.field != "cut" else piece.above
        for piece in line
    )


def below(line: Sequence[Piece]) -> float:
    """How far a line reaches below its base line."""
    return max(piece.below for piece in line)


def gap(line: Sequence[Piece]) -> float:
    """White below a line, when another follows."""
    return BLOCK_GAP if all(piece.style == "block" for piece in line) else LINE_GAP


def _line(row: Row, tokens: Sequence[Token]) -> tuple[Piece, ...]:
    small = dict(row.small)
    while len(tokens) > 1 and tokens[-1].text == DOT:
        tokens = tokens[:-1]
    while len(tokens) > 1 and tokens[0].text == DOT:
        tokens = tokens[1:]
    runs: list[list[Token]] = []
    for token in tokens:
        last = runs[-1][-1] if runs else None
        joins = last and last.style == token.style == "plain" and last.field == token.field
        if joins:
            runs[-1].append(token)
        else:
            runs.append([token])
    pieces: list[Piece] = []
    x = 0.0
    for run in runs:
        scale = small.get(run[0].field, 1.0)
        if pieces:
            x += SPACE * max(scale, pieces[-1].scale)
        piece = _piece(row, run[0].field, " ".join(token.text for token in run), run[0].style, scale, x)
        pieces.append(piece)
        x += piece.width
    return tuple(pieces)


def _piece(row: Row, field: str, text: str, style: str, scale: float, x: float) -> Piece:
    if style == "tick":
        width, up, down = TICK, TICK - 0.08, 0.08
    elif style == "blank":
        width, up, down = MEMORY_BLANK if field == "memory" else BLANK, BLANK_ROOM, BLANK_THICK
    else:
        width, up, down = measure(row.face, text)
        if field == "code":
            # Of one height, whatever its letters: labels of one run look alike with a Q among them and without.  The
            # tail of a Q hangs into the white below, where there is any (paint.py).
            _, up, down = measure(row.face, _OF_A_CODE)
        if style == "block":
            width, up, down = width + 3 * BLOCK_PAD, max(up, 1) + BLOCK_PAD, max(down, 0) + BLOCK_PAD
    return Piece(
        field=field,
        text=text,
        style=style,
        scale=scale,
        x=x,
        width=width * scale,
        above=up * scale,
        below=down * scale,
    )
