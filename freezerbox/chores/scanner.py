"""A scanner's lines: read through another country's keyboard once the test card has found it; cards that ask."""

from __future__ import annotations

import json
from dataclasses import replace

from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.cards import CARDS, Card, read_test, through_layout
from freezerbox.core.code import compact, is_valid
from freezerbox.reading.lines import Asked, Line, read_line

SCANNER_KEY = "scanner"
_ASKS = {Card.DONE: Asked.DONE, Card.UNDO: Asked.UNDO}


def test(kitchen: Kitchen, raw: str) -> str | None:
    """When the line is the test card: remember what its keyboard makes of it, and say so; else ``None``."""
    layout = read_test(raw)
    if layout is None:
        return None
    kept = json.dumps(layout, ensure_ascii=False, sort_keys=True) if layout else None
    before = kitchen.settings.get(SCANNER_KEY)
    if kept != before:
        with kitchen.book.act("settings", kitchen.today, words="tested the scanner") as act:
            act.change("setting", SCANNER_KEY, "value", before, kept)
    if not layout:
        return "The scanner is set right."
    pairs = ", ".join(f"{typed!r} for {wanted!r}" for typed, wanted in sorted(layout.items()))
    return f"The scanner types another keyboard's characters: {pairs}. From now on they are read as meant."


def meant(kitchen: Kitchen, text: str) -> str:
    """The line as meant: as it is when its code checks, else through the scanner's keyboard."""
    kept = kitchen.settings.get(SCANNER_KEY)
    if not kept or is_valid(compact(text)):
        return text
    other = through_layout(text, json.loads(kept))
    return other if is_valid(compact(other)) else text


def read(kitchen: Kitchen, raw: str) -> Line:
    """What a line asks for where a scanner and a keyboard type side by side, its code as ``meant``.

    The cards DONE and UNDO ask what their words do.
    """
    line = read_line(raw)
    text = meant(kitchen, line.text)
    card = CARDS.get(compact(text))
    return Line(asked=_ASKS[card], text="") if card in _ASKS else replace(line, text=text)
