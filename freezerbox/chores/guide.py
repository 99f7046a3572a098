"""Keeping-time guides: choosing one, and the household's own figures."""

from __future__ import annotations

import re

from freezerbox.chores.kitchen import OWN_GUIDE_PREFIX, Kitchen, one_writer, own_rows
from freezerbox.errors import InputError, UnknownWord
from freezerbox.food import cuts, keeping

_NUMBER = re.compile(r"\d{1,3}")


@one_writer
def use_guide(kitchen: Kitchen, key: str) -> keeping.Guide:
    """Take another guide.  Raises: UnknownWord, naming those there are."""
    guide = keeping.guide(key)
    with kitchen.book.act("guide", kitchen.today, words=f"guide is now {guide.key}") as act:
        act.change("setting", "guide", "value", kitchen.settings.get("guide"), guide.key)
    return guide


def guide_named(kitchen: Kitchen, key: str) -> keeping.Guide:
    """The guide of that key, the one in use for "", with the household's own rows.  Raises: UnknownWord."""
    if not key or keeping.guide(key).key == kitchen.guide.key:
        return kitchen.guide
    own = own_rows(kitchen.settings)
    return keeping.guide(key).with_own(own) if own else keeping.guide(key)


@one_writer
def set_own(kitchen: Kitchen, food: str, months_min: str, months_max: str) -> keeping.GuideRow:
    """The household's own figure for a food, such as ``ground venison`` or ``pork bacon``; shown as its own.

    Raises: UnknownWord when the words name no food; InputError for months that are none.
    """
    group, kind = _food(kitchen, food)
    low, high = _months(months_min), _months(months_max)
    row = keeping.own_row(group, kind, low, high)
    key = f"{OWN_GUIDE_PREFIX}{group}/{kind}"
    with kitchen.book.act("guide", kitchen.today, words=f"{food} keeps {low}-{high} months here") as act:
        act.change("setting", key, "value", kitchen.settings.get(key), f"{low}-{high}")
    return row


def _food(kitchen: Kitchen, words: str) -> tuple[str, str]:
    """The guide group and kind that words such as ``ground elk`` name; ``*`` when they name no animal."""
    tokens = words.lower().split()
    for at in range(len(tokens) + 1):
        for species_words, cut_words in ((tokens[:at], tokens[at:]), (tokens[at:], tokens[:at])):
            if not cut_words:
                continue
            try:
                species = cuts.resolve_species(" ".join(species_words))[0] if species_words else None
                found = cuts.resolve_cut(" ".join(cut_words), species, kitchen.own_words)
            except (UnknownWord, InputError):
                continue
            return species.guide_group if species else keeping.ANY_GROUP, cuts.keeps_as(found.cut, found.form)
    if words.strip().lower() in keeping.KEEPS_AS:
        return keeping.ANY_GROUP, words.strip().lower()
    raise UnknownWord(
        f"{words!r} names no food the guides know. Write a cut and, if it matters, an animal: ground venison, "
        f"pork chops; or a kind: {', '.join(keeping.KEEPS_AS)}.",
        word=words,
    )


def _months(text: str) -> int:
    if not _NUMBER.fullmatch(text.strip()):
        raise InputError(f"{text!r} is not a number of months. Give whole months, such as 4 6.", value=text)
    return int(text)
