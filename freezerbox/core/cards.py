"""Command cards: codes with a fixed meaning in every book, so that a bare scanner can be told what to do.

They begin with 0, which no package and no sign does.  A printed card outlives programs: codes and meanings never
change.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

TEST_TEXT = "TEST YZAQWM/:-.+"
"""What the test card says: characters that keyboards of other countries have elsewhere (QR alphanumeric set)."""
_TEST_HEAD = "TEST"


class Card(StrEnum):
    """What a command card asks for."""

    TAKE = "take"
    PUT_BACK = "put back"
    MOVE = "move"
    COUNT = "count"
    WEIGH = "weigh"
    UNDO = "undo"
    GIVE = "give"
    DISCARD = "discard"
    SHOW = "show"
    DONE = "done"


CARDS: Mapping[str, Card] = MappingProxyType(
    {
        "0TAK30": Card.TAKE,
        "0BACKR": Card.PUT_BACK,
        "0MV3TY": Card.MOVE,
        "0CNT8B": Card.COUNT,
        "0WG8TB": Card.WEIGH,
        "0VND09": Card.UNDO,
        "0G4VE5": Card.GIVE,
        "0D15C0": Card.DISCARD,
        "0SHW9B": Card.SHOW,
        "0D8NEG": Card.DONE,
    }
)
"""Code of each card, check character included."""


def read_test(line: str) -> dict[str, str] | None:
    """What a scanner's keyboard makes of the test card: typed character -> meant one, where they differ.

    ``None`` when the line is not the test card at all.  A keyboard in lower case is no difference.

    >>> read_test("TEST ZYAQWM/:-.+")
    {'Z': 'Y', 'Y': 'Z'}
    """
    text = line.strip("\r\n").upper()
    if not text.startswith(_TEST_HEAD) or len(text) != len(TEST_TEXT):
        return None
    return {typed: meant for typed, meant in zip(text, TEST_TEXT, strict=True) if typed != meant}


def through_layout(line: str, layout: Mapping[str, str]) -> str:
    """The line as the scanner meant it."""
    return "".join(layout.get(character, character) for character in line.upper()) if layout else line
