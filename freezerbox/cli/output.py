"""What goes to the screen: plain fixed-width lines for people, one JSON object for programs."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import sys
from collections.abc import Mapping, Sequence

from freezerbox.errors import FreezerboxError

WIDTH = 80
_COMMAND = "freezerbox "
NO_BREAK = "\N{NO-BREAK SPACE}"
_WAY_BACK = re.compile(r"\bfreezerbox (?=(?:restore|check)\b)")
_LEAST_ROOM = 20
"""Columns that a column of words keeps, however many stand beside it."""


def say(text: str = "") -> None:
    """A line for the person, folded where it is wider than the page."""
    print(folded(text))


def answer(text: str) -> None:
    """What a scanned or typed line came to, at once: in a pipe a line stays a line, at a terminal it is folded."""
    print(folded(text) if sys.stdout.isatty() else text, flush=True)


def note(text: str) -> None:
    """A remark beside the result, on stderr, folded."""
    print(folded(text), file=sys.stderr)


def say_json(value: Mapping[str, object]) -> None:
    """One JSON object on stdout."""
    print(json.dumps(value, ensure_ascii=False, indent=2))


def say_json_line(value: Mapping[str, object]) -> None:
    """One JSON object on a line, at once."""
    print(json.dumps(value, ensure_ascii=False), flush=True)


def for_book(text: str, book: str) -> str:
    """The ways back that ``text`` proposes, for the book that was named by ``--book``; "" is the usual one.

    Typed without it they would look at, or replace, the usual book.
    """
    return _WAY_BACK.sub(f"freezerbox --book {shlex.quote(book)} ", text) if book else text


def complain(error: FreezerboxError, *, as_json: bool) -> None:
    """A refusal, on stderr."""
    if as_json:
        complain_json(error.kind, error.message, error.facts)
    else:
        note(error.message)


def complain_json(kind: str, message: str, facts: Mapping[str, object] | None = None) -> None:
    """The error object of the JSON contract, on stderr."""
    extra = {key: value for key, value in (facts or {}).items() if key not in ("kind", "message")}
    print(
        json.dumps({"error": {"kind": kind, "message": message, **extra}}, ensure_ascii=False, default=str),
        file=sys.stderr,
    )


def width() -> int:
    """Columns to write in: the terminal's, at least 40 and at most 80; 80 in a pipe."""
    return max(40, min(shutil.get_terminal_size((WIDTH, 24)).columns, WIDTH))


def folded(text: str) -> str:
    """The text with each line that is wider than the page folded, what follows set in by two more.

    A command at the end that has room on a line is kept in one piece, to be typed or copied as it stands.
    """
    limit = width()
    if len(text) <= limit:
        return text
    return "\n".join(line if len(line) <= limit else _fold(line, limit) for line in text.split("\n"))


def _fold(line: str, limit: int) -> str:
    indent = " " * (len(line) - len(line.lstrip()))
    hang = indent + "  "
    at = line.rfind(_COMMAND)
    if at > 0 and len(line) - at <= limit - len(hang):
        line = line[:at] + line[at:].replace(" ", NO_BREAK)
    return paragraph(line.lstrip(), indent, hang).replace(NO_BREAK, " ")


def table(rows: Sequence[Sequence[str]], *, right: Sequence[int] = (), indent: int = 0, gap: int = 2) -> list[str]:
    """Rows in columns; the last column takes what room is left, and what is too long is wrapped below itself.

    ``right``: numbers of the columns set to the right, for figures.
    """
    import textwrap
    from itertools import zip_longest

    if not rows:
        return []
    count = len(rows[0])
    widths = [max(len(row[column]) for row in rows) for column in range(count)]
    free = width() - indent - gap * (count - 1)
    least = min(widths[-1], _LEAST_ROOM)
    words = [column for column in range(count - 1) if column not in right]
    while words and sum(widths[:-1]) + least > free:
        widest = max(words, key=lambda column: widths[column])
        if widths[widest] <= _LEAST_ROOM:
            break
        widths[widest] = max(_LEAST_ROOM, widths[widest] - (sum(widths[:-1]) + least - free))
    widths[-1] = max(_LEAST_ROOM, free - sum(widths[:-1]))
    lines = []
    for row in rows:
        cells = [
            textwrap.wrap(cell, each, break_on_hyphens=False) or [""] for cell, each in zip(row, widths, strict=True)
        ]
        for parts in zip_longest(*cells, fillvalue=""):
            placed = [
                part.rjust(each) if column in right else part.ljust(each)
                for column, (part, each) in enumerate(zip(parts, widths, strict=True))
            ]
            lines.append((" " * indent + (" " * gap).join(placed)).rstrip())
    return lines


def shown(letter: str) -> str:
    """A letter that may be none: ``U+200B`` for one that shows nothing."""
    return letter if letter.isprintable() else f"U+{ord(letter):04X}"


def no_letters(what: object, letters: str) -> None:
    """A remark on letters of a label or page that the font has not; silent when it has them all."""
    if letters:
        note(f"{what}: the font has no letter for {' '.join(map(shown, letters))}; printed as ?")


def paragraph(text: str, indent: str = "", hang: str | None = None) -> str:
    """Text wrapped to the width; ``hang`` indents all lines but the first."""
    import textwrap

    return textwrap.fill(
        text,
        width(),
        initial_indent=indent,
        subsequent_indent=indent if hang is None else hang,
        break_long_words=False,
        break_on_hyphens=False,
    )
