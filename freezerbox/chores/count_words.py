"""The words for one package seen in a count."""

from __future__ import annotations

from freezerbox.chores.count import Counted
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.chores.wording import coded_line, gone_words, holds_words
from freezerbox.core.code import show_code


def saw_words(kitchen: Kitchen, counted: Counted, code: str) -> str:
    """What it means that ``code`` was seen here: as listed, listed elsewhere, gone by the book, or not in it."""
    number = f"{len(counted.seen)} seen"
    lots = {row.code: how_many for row, how_many in counted.lots}
    for row, what in _said(kitchen, counted):
        if row.code == code:
            if code in lots:
                what = f"{lots[code]} counted, {row.package.state.quantity} listed"
            held = f" HELD: {holds_words(row.holds, kitchen.today)}." if row.holds else ""
            return f"{coded_line(kitchen, row)}: {what}. {number}.{held}"
    return f"{show_code(code)}: not in this book. {number}."


def _said(kitchen: Kitchen, counted: Counted) -> list[tuple[Row, str]]:
    return [
        *((row, "as listed") for row in counted.expected),
        *((row, f"listed in {row.where or 'no place'}") for row in counted.elsewhere),
        *((row, f"the book has it as {gone_words(row, kitchen.today)}") for row in counted.gone),
        *((row, "a label without a package") for row in counted.spare),
    ]
