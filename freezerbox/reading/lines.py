"""Lines as a scanner types them, or a person: what each one asks for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from freezerbox.core.code import compact

LONGEST_LINE = 200


class Asked(StrEnum):
    """What a line asks for."""

    NOTHING = "nothing"
    """An empty line: Enter pressed, or a scanner's second line end."""
    CODE = "code"
    """Something to be read as a code."""
    UNDO = "undo"
    """Take back the last one."""
    DONE = "done"
    """The session is over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line understood.  text: what to read as a code, or ""."""

    asked: Asked
    text: str


def read_line(raw: str) -> Line:
    """What ``raw`` asks for; control characters that a scanner or a terminal adds are dropped."""
    text = "".join(character for character in raw if character.isprintable())[:LONGEST_LINE].strip()
    word = text.lower()
    if not text:
        return Line(asked=Asked.NOTHING, text="")
    if word in ("undo", "oops"):
        return Line(asked=Asked.UNDO, text="")
    if word in ("done", "quit", "exit", "end"):
        return Line(asked=Asked.DONE, text="")
    # The code's own form is kept whole: the record behind it may hold spaces at its end.
    return Line(asked=Asked.CODE, text=raw.strip("\r\n\t") if len(compact(text)) != len(text) else text)
