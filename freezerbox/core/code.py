"""Package codes: five characters and a check character, read forgivingly.

The alphabet has no I, L, O or U.  The check character is that of ISO/IEC 7064:2003, MOD 37-2 (a pure system with one
supplementary check character): its 37 values are 0-9, A-Z and ``*``.  A body whose check character falls outside our
alphabet is never issued, so every code stays within it.  The system catches every single substitution and every
swap of two characters.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from enum import StrEnum
from typing import NewType

from freezerbox.errors import InvalidCode

Code = NewType("Code", str)
"""A code that passed ``parse_code`` or ``make_code``: six characters of the alphabet, check character right."""

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LETTERS = tuple(character for character in ALPHABET if character.isalpha())
BODY_LENGTH = 5
LENGTH = BODY_LENGTH + 1
BODIES_A_LETTER = len(ALPHABET) ** (BODY_LENGTH - 1)

# ISO/IEC 7064 MOD 37-2: the character set with its values 0 to 36.
_ISO_CHARACTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
_LOOKALIKES = str.maketrans({"O": "0", "I": "1", "L": "1"})
# AIM symbology identifiers that a scanner may put before the data: ``]Q1``, ``]C0``.
_AIM_PREFIX = re.compile(r"\][A-Za-z][0-9A-Za-z]")
# A code and how many of its lot: ``K7P-3MT*3``.
_COUNTED = re.compile(r"(.+?) *\* *\d{1,4}")
# Neighbours stuck together may spell; these are skipped when a code is issued. Vowels left are A and E.
_UNKIND = (
    "ARSE",
    "ASS",
    "DAMN",
    "FAG",
    "JEW",
    "RAPE",
    "SEX",
    "TARD",
    "WANK",
    "CRAP",
    "DEAD",
    "HELL",
    "KKK",
    "NAZ",
)


class CodeKind(StrEnum):
    """What a code stands for."""

    PACKAGE = "package"
    PLACE = "place"
    CARD = "card"


def check_character(body: str) -> str:
    """The MOD 37-2 check character of ``body``; may be one that our alphabet does not have.

    >>> check_character("K7P3M")
    'T'
    """
    total = 0
    for character in body:
        total = (total + _ISO_CHARACTERS.index(character)) * 2 % 37
    return _ISO_CHARACTERS[(1 - total) % 37]


def make_code(body: str) -> Code | None:
    """The code of ``body``, or ``None`` when it must never be issued (check character or word)."""
    check = check_character(body)
    code = body + check
    if check not in ALPHABET or any(word in code for word in _UNKIND):
        return None
    return Code(code)


def bodies(first: str, start: int) -> Iterator[str]:
    """Bodies beginning with ``first``, each once, scrambled so that neighbours differ in several places.

    ``start`` (any whole number) is where the walk begins; the step is odd, hence prime to 32 ** 4.
    """
    for count in range(BODIES_A_LETTER):
        yield first + _digits((start + count * 463_867) % BODIES_A_LETTER)


def _digits(number: int) -> str:
    characters = ""
    for _ in range(BODY_LENGTH - 1):
        number, digit = divmod(number, len(ALPHABET))
        characters = ALPHABET[digit] + characters
    return characters


def compact(text: str) -> str:
    """What was typed or scanned, as a code: upper case, no spaces or hyphens, 0 for O, 1 for I and L.

    A scanner's identifier, an address (``HTTP://NAME/K7P3MT``) and the record that follows the code in a package's
    symbol are left out.
    """
    text = text.strip().upper()
    text = _AIM_PREFIX.sub("", text, count=1) if text.startswith("]") else text
    head = text[:LENGTH].translate(_LOOKALIKES)
    # A package's symbol says the code and then ten characters; trailing spaces may be lost on the way.  Looked at
    # before addresses, since the ten may hold a colon and a slash; not two codes run together, or one would be lost;
    # and never the figures of a grocery's bar code, since a package's code begins with a letter.
    record = LENGTH + 4 <= len(text) <= LENGTH + 10 and head[0].isalpha()
    if record and is_valid(head) and not is_valid(text[LENGTH:]):
        return head
    if "/" in text and ":" in text.split("/")[0]:
        text = text.rstrip("/").rsplit("/", 1)[-1]
    return re.sub(r"[\s\-–—_.]+", "", text).translate(_LOOKALIKES)


def is_valid(text: str) -> bool:
    """Whether ``text``, already compact, is a code."""
    return (
        len(text) == LENGTH
        and all(character in ALPHABET for character in text)
        and check_character(text[:BODY_LENGTH]) == text[BODY_LENGTH]
    )


def looks_like_code(text: str) -> bool:
    """Whether text is meant as a code: it checks, or has six characters with a figure among them as typed.

    >>> looks_like_code("K7P-3MX"), looks_like_code("ground")
    (True, False)
    """
    code = compact(text)
    return is_valid(code) or (len(code) == LENGTH and any(character.isdigit() for character in text))


def rejoined(texts: Sequence[str], issued: Callable[[str], bool]) -> list[str]:
    """What was typed as several words, with a code that was typed with a space put together again.

    Two words are one code when neither is one alone, they check together, and the second is no mere number; with a
    number (``loin 12``) only when the code was ``issued`` here.

    >>> rejoined(["k7p", "3mt", "ground", "2"], lambda code: False)
    ['k7p 3mt', 'ground', '2']
    """
    words = list(texts)
    for at in range(len(words) - 2, -1, -1):
        one, two = words[at], words[at + 1]
        code = compact(f"{one} {two}")
        apart = len(compact(one)) < LENGTH and len(compact(two)) < LENGTH
        if apart and is_valid(code) and (not two.isdigit() or issued(code)):
            words[at : at + 2] = [f"{one} {two}"]
    return words


def parse_code(text: str, live: Iterable[str] = ()) -> Code:
    """The code that ``text`` says.

    Raises: InvalidCode when the length, a letter or the check character is wrong.  When exactly one of the ``live``
    codes is one slip away (one character, two swapped, or Y and Z of a foreign keyboard), the error proposes it.
    """
    code = compact(text)
    if is_valid(code):
        return Code(code)
    near = nearest(code, live)
    counted = _COUNTED.fullmatch(text.strip())
    if counted and is_valid(compact(counted[1])):
        alone = compact(counted[1])
        raise InvalidCode(
            f"{text.strip()!r} is so many of a lot. Here the code stands alone: {show_code(alone)}",
            value=text,
            near=alone,
        )
    proposal = f" Did you mean {show_code(near)}?" if near else ""
    shown = text.strip() if len(text.strip()) <= 24 else text.strip()[:21] + "..."
    if len(code) != LENGTH:
        why = f"{shown!r} is not a package code: it has {_characters(len(code))}, a code has six, such as K7P-3MT."
    elif any(character not in ALPHABET for character in code):
        wrong = ", ".join(sorted({character for character in code if character not in ALPHABET}))
        why = f"{shown!r} is not a package code: {wrong} is never part of one."
    else:
        why = f"{shown!r} does not check: one of its characters was misread or mistyped. Look at the label again."
    raise InvalidCode(why + proposal, value=text, near=near)


def _characters(number: int) -> str:
    return f"{number} character" if number == 1 else f"{number} characters"


def nearest(code: str, live: Iterable[str]) -> Code | None:
    """The one live code a single slip away from ``code``, or ``None`` when there is none or more than one."""
    swapped_yz = code.translate(str.maketrans("YZ", "ZY"))
    found = {other for other in live if other == swapped_yz or _one_slip(code, other)}
    return Code(found.pop()) if len(found) == 1 else None


def _one_slip(typed: str, other: str) -> bool:
    if len(typed) == len(other):
        differing = [place for place, pair in enumerate(zip(typed, other, strict=True)) if pair[0] != pair[1]]
        if len(differing) == 1:
            return True
        return (
            len(differing) == 2
            and typed[differing[0]] == other[differing[1]]
            and typed[differing[1]] == other[differing[0]]
        )
    shorter, longer = sorted((typed, other), key=len)
    return len(longer) - len(shorter) == 1 and any(
        longer[:place] + longer[place + 1 :] == shorter for place in range(len(longer))
    )


def show_code(code: str) -> str:
    """``K7P-3MT``."""
    return f"{code[:3]}-{code[3:]}"
