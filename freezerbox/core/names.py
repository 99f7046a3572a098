"""When two names are one."""

from __future__ import annotations

import unicodedata


def same_name(one: str, other: str) -> bool:
    """Whether two names are one, whatever their case, the spaces between their words, and how an accent is typed.

    >>> same_name("Jos\u00e9  R.", "JOSE\u0301 R.")
    True
    """
    return alike(one) == alike(other)


def alike(name: str) -> str:
    """What names that are one have in common: a key to keep them by."""
    return " ".join(unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold()).split())
