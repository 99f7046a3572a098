"""So many of a lot, as people name them: ``K7P-3MT*3``, ``K7P-3MTx3``, ``K7P-3MT 3``."""

from __future__ import annotations

import re
from collections.abc import Sequence

from freezerbox.chores.header import whole_number
from freezerbox.core.code import LENGTH, compact, is_valid, looks_like_code
from freezerbox.core.symbol import RECORD_LENGTH

MOST_OF_A_LOT = 2_000
_UNITS = re.compile(r"(.+)\*(\d{1,9})")
_CODE_UNITS = re.compile(r"(.+?)(?: *[*xX] *| +)(\d{1,9})(?: *[*xX])?")
_BEHIND = re.compile(r"[*xX]? *([^\s*xX]+)|(\S+?) *[*xX]")
_TIMES = ("*", "x", "X")
_SPELLED = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_SYMBOL = re.compile(rf"(?:\][A-Za-z]\d)?[0-9A-Za-z]{{{LENGTH}}}.{{{RECORD_LENGTH}}}")
"""All that a scanner reads of a package's symbol, with or without its own mark before it."""


def units_of(text: str) -> tuple[str, int | None]:
    """A code and how many of its lot, from ``K7P-3MT*3``, ``K7P-3MTx3``, ``K7P-3MT 3`` or ``K7P-3MT 3x``.

    None when no number is said.
    """
    if _SYMBOL.fullmatch(text.strip()) and is_valid(compact(text)):
        return text, None  # The record behind the code may end in a star and figures of its own.
    match = _UNITS.fullmatch(text.strip())
    if match is None:
        # An X is also a letter of codes: only after a whole one does it mean "times".
        match = _CODE_UNITS.fullmatch(text.strip())
        match = match if match and is_valid(compact(match[1])) else None
    return (match[1], int(match[2])) if match else (text, None)


def number_of(text: str) -> tuple[str, int]:
    """A code and how many of its lot, one when no number is said.  Raises: InputError for none or far too many."""
    code, number = units_of(text)
    return code, 1 if number is None else whole_number(str(number), "packages", MOST_OF_A_LOT)


def with_numbers(texts: Sequence[str]) -> list[str]:
    """What was typed, with a number behind a code as one word with it: ``K7P-3MT 3`` is ``K7P-3MT*3``.

    So are ``K7P-3MT *3``, ``K7P-3MT x3``, ``K7P-3MT x 3`` and, the other way round, ``K7P-3MT 3x`` and
    ``K7P-3MT 3 x``; and numbers to twelve in words: ``K7P-3MT two``.

    Raises: InputError for a number there that cannot be, before anything is done.
    """
    words: list[str] = []
    bare = False
    for text in texts:
        if bare and text.strip() in _TIMES:
            bare = False
            continue
        times = len(words) > 1 and words[-1].strip() in _TIMES and looks_like_code(words[-2])
        behind = times or (bool(words) and looks_like_code(words[-1]))
        number = number_behind(text) if behind and not _is_code(text, after=words[-1]) else ""
        if number and times:
            words.pop()
        if number:
            words[-1] = f"{words[-1]}*{whole_number(number, 'packages', MOST_OF_A_LOT)}"
        else:
            words.append(text)
        bare = bool(number) and text.strip().lower() in (number, *_SPELLED)
    return words


def number_behind(text: str) -> str:
    """How many, as it is typed behind a code: ``3`` of ``3``, ``*3``, ``x3``, ``3x`` or ``three``; "" if none."""
    if text.strip().lower() in _SPELLED:
        return str(_SPELLED.index(text.strip().lower()) + 1)
    match = _BEHIND.fullmatch(text.strip())
    number = (match[2] or match[1]) if match else ""
    return number if number.replace(".", "").replace(",", "").isdigit() else ""


def _is_code(text: str, *, after: str) -> bool:
    """Whether six characters behind a code are one too: an X among them may be a letter, and a code holds no star."""
    if "*" in text or not looks_like_code(text):
        return False
    number = number_behind(text)
    return number == text.strip() or not number or text[:1].upper() == after[:1].upper() or is_valid(compact(text))


def names_package(text: str) -> bool:
    """Whether a text is meant as a code, or as a code and how many of its lot."""
    return looks_like_code(text) or looks_like_code(units_of(text)[0])
