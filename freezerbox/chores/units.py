"""So many of a lot, as people name them: ``K7P-3MT*3``, ``K7P-3MTx3``, ``K7P-3MT 3``."""

from __future__ import annotations

import re
from collections.abc import Sequence

from freezerbox.chores.header import whole_number
from freezerbox.core.code import LENGTH, compact, is_valid, looks_like_code
from freezerbox.core.symbol import RECORD_LENGTH

MOST_OF_A_LOT = 2_000
_UNITS = re.compile(r"(.+)\*(\d{1,4})")
_CODE_UNITS = re.compile(r"(.+?) *[xX] *(\d{1,4})")
_SYMBOL = re.compile(rf"(?:\][A-Za-z]\d)?[0-9A-Za-z]{{{LENGTH}}}.{{{RECORD_LENGTH}}}")
"""All that a scanner reads of a package's symbol, with or without its own mark before it."""


def units_of(text: str) -> tuple[str, int | None]:
    """A code and how many of its lot, from ``K7P-3MT*3`` or ``K7P-3MTx3``; None when no number is said."""
    if _SYMBOL.fullmatch(text.strip()) and is_valid(compact(text)):
        return text, None  # The record behind the code may end in a star and figures of its own.
    match = _UNITS.fullmatch(text.strip())
    if match is None:
        # An X is also a letter of codes: only after a whole one does it mean "times".
        match = _CODE_UNITS.fullmatch(text.strip())
        match = match if match and len(compact(match[1])) == LENGTH else None
    return (match[1], int(match[2])) if match else (text, None)


def number_of(text: str) -> tuple[str, int]:
    """A code and how many of its lot, one when no number is said.  Raises: InputError for none or far too many."""
    code, number = units_of(text)
    return code, 1 if number is None else whole_number(str(number), "packages", MOST_OF_A_LOT)


def with_numbers(texts: Sequence[str]) -> list[str]:
    """What was typed, with a number behind a code as one word with it: ``K7P-3MT 3`` is ``K7P-3MT*3``.

    Raises: InputError for a number there that cannot be, before anything is done.
    """
    words: list[str] = []
    for text in texts:
        behind = bool(words) and looks_like_code(words[-1]) and not looks_like_code(text)
        if behind and text.strip().replace(".", "").replace(",", "").isdigit():
            words[-1] = f"{words[-1]}*{whole_number(text, 'packages', MOST_OF_A_LOT)}"
        else:
            words.append(text)
    return words


def names_package(text: str) -> bool:
    """Whether a text is meant as a code, or as a code and how many of its lot."""
    return looks_like_code(text) or looks_like_code(units_of(text)[0])
