"""Cards that a scanner reads at the wrapping table: DONE ends, UNDO takes back; of any other it is said that it does
nothing here, and what is asked for is asked again."""

from __future__ import annotations

import typer

from freezerbox.book import queries
from freezerbox.chores import scanner
from freezerbox.chores.kitchen import Kitchen
from freezerbox.cli.output import paragraph, say
from freezerbox.core.cards import CARDS, Card
from freezerbox.core.code import compact, is_valid, show_code
from freezerbox.reading.lines import Asked

DONE, UNDO = "done", "undo"
_BOTH = (Card.DONE, Card.UNDO)


def heard(kitchen: Kitchen, raw: str, wanted: str, cards: tuple[Card, ...] = _BOTH) -> str | None:
    """A line at the table: ``DONE``, ``UNDO`` for those words or cards, "" for Enter, else what was typed.

    Read through the keyboard that the test card found.  None when it was answered here: the test card, a card that is
    not among ``cards``, the code of a label or a sign.  wanted: what is asked for, ``a weight``.
    """
    kitchen = kitchen.afresh()
    if (tested := scanner.test(kitchen, raw)) is not None:
        say(paragraph(tested))
        return None
    line = scanner.read(kitchen, raw)
    card = {Asked.DONE: Card.DONE, Asked.UNDO: Card.UNDO}.get(line.asked) or CARDS.get(compact(line.text))
    if card in cards:
        return DONE if card is Card.DONE else UNDO
    if card:
        say(paragraph(f"The card {card.value.upper()} does nothing here.{_asks(wanted, cards)}"))
        return None
    code = compact(line.text)
    if is_valid(code) and (kind := queries.code_kind(kitchen.book, code) or _looks(line.text)):
        what = "a label" if kind == "package" else "a sign or card"
        say(paragraph(f"{show_code(code)} is the code of {what}.{_asks(wanted, cards)}"))
        return None
    return line.text.strip()


def answered(kitchen: Kitchen, question: str, wanted: str, cards: tuple[Card, ...] = _BOTH) -> str:
    """The answer to a question, as ``heard``; asked again while there is none."""
    while True:
        said = heard(kitchen, str(typer.prompt(question, default="", show_default=False)), wanted, cards)
        if said is not None:
            return said


def _looks(text: str) -> str:
    """The kind of a code that this book has not issued, when a label or sign must have been scanned; else ""."""
    shown = compact(text)
    if not (any(map(str.isdigit, text)) and any(map(str.isalpha, shown))):
        return ""
    return "package" if shown[0].isalpha() else "sign"


def _asks(wanted: str, cards: tuple[Card, ...]) -> str:
    acts = {Card.DONE: "DONE ends", Card.UNDO: "UNDO takes back the last"}
    ways = "".join(f"; {acts[card]}" for card in cards)
    return f" Wanted is {wanted}{ways}."
