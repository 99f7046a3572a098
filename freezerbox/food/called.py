"""Words that say more than the cut they stand for: a chili is a cooked dish, and not every cooked dish is a chili.

Such a word is kept as the name of the package.  The cut, and with it the keeping time, is the trade's; what people
see, and what they find it by, is the word.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from functools import cache

from freezerbox.food.tables import read_rows

COLLECTIVE = frozenset({"cooked-dish", "cooked-poultry", "soup-broth", "fish-cooked", "other"})
"""What keeps as one of these is many foods: a household's own word for it always says more than the cut does."""


@cache
def called_words() -> Mapping[str, str]:
    """Every word of called.csv, plain, with the spelling that all words for the same food share."""
    return {plain(row["word"]): row["called"] for row in read_rows("called.csv")}


@cache
def spellings(called: str) -> tuple[str, ...]:
    """The plain ways to write one name: chili and chilli; a name of the household's own is written as it is."""
    same = called_words().get(plain(called), called)
    return tuple(dict.fromkeys([plain(called), *(word for word, one in called_words().items() if one == same)]))


def is_called(name: str, called: str) -> bool:
    """Whether the words of ``name`` hold those of ``called``, in any spelling: "Grandma's red chilli" is a chili."""
    words = f" {plain(name)} "
    return any(f" {spelling} " in words for spelling in spellings(called) if spelling)


def plain(text: str) -> str:
    """Words without case, accents and punctuation, one space between.

    >>> plain("Grandma's  Crème-Soup, mild")
    'grandmas creme soup mild'
    """
    bare = "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))
    return " ".join(re.sub(r"[^\w]+", " ", re.sub(r"['’`]", "", bare)).split())
