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
_BEHIND = re.compile(r"[*xX]? *(\S+)")
_TIMES = ("*", "x", "X")
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

    So are ``K7P-3MT *3``, ``K7P-3MT x3`` and ``K7P-3MT x 3``.

    Raises: InputError for a number there that cannot be, before anything is done.
    """
    words: list[str] = []
    for text in texts:
        times = len(words) > 1 and words[-1].strip() in _TIMES and looks_like_code(words[-2])
        behind = times or (bool(words) and looks_like_code(words[-1]))
        # Six characters may be a code that begins with an X, but none begins with a star.
        number = number_behind(text) if behind and (text.startswith("*") or not looks_like_code(text)) else ""
        if number and times:
            words.pop()
        if number:
            words[-1] = f"{words[-1]}*{whole_number(number, 'packages', MOST_OF_A_LOT)}"
        else:
            words.append(text)
    return words


def number_behind(text: str) -> str:
    """How many, as it is typed behind a code: ``3`` of ``3``, ``*3`` or ``x3``; "" for anything else."""
    match = _BEHIND.fullmatch(text.strip())
    return match[1] if match and match[1].replace(".", "").replace(",", "").isdigit() else ""


def names_package(text: str) -> bool:
    """Whether a text is meant as a code, or as a code and how many of its lot."""
    return looks_like_code(text) or looks_like_code(units_of(text)[0])
