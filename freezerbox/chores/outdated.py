"""Printed labels that no longer say what the book does."""

from __future__ import annotations

from collections.abc import Collection

from freezerbox.book import printouts
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label_words import content_of
from freezerbox.chores.rows import Rows
from freezerbox.chores.wording import count
from freezerbox.core.code import show_code
from freezerbox.core.records import State


def outdated(kitchen: Kitchen) -> frozenset[str]:
    """Packages in the freezer whose latest printed label names another animal, cut, weight or day than the book does,
    or says that they are held when they are not, or nothing of it when they are.
    """
    texts, banners = printouts.printed_labels(kitchen.book), printouts.printed_banners(kitchen.book)
    found = set()
    for row in Rows(kitchen).all(State.FROZEN):
        if row.code in texts:
            content = content_of(kitchen, row)
            if content.symbol_text != texts[row.code] or bool(content.hold) != bool(banners[row.code]):
                found.add(row.code)
    return frozenset(found)


def outdated_words(codes: Collection[str]) -> str:
    """What to print again."""
    labels = count(len(codes), "printed label")
    says = "says" if len(codes) == 1 else "say"
    return (
        f"{labels} {says} something else now than the book (another animal, or nothing of a hold): "
        f"freezerbox label again {' '.join(map(show_code, sorted(codes)))}"
    )
