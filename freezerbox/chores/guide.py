"""Keeping-time guides: choosing one, and the household's own figures."""

from __future__ import annotations

import re

from freezerbox.book import queries
from freezerbox.chores.kitchen import CALLED, OWN_GUIDE_PREFIX, Kitchen, one_writer, own_row, own_rows
from freezerbox.core.records import State
from freezerbox.errors import InputError, UnknownWord
from freezerbox.food import cuts, keeping
from freezerbox.food.called import called_words, is_called, plain
from freezerbox.food.nearwords import near_words

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

    Words that are the name of a package, as chili is, set it for what is called so and nothing else.

    Raises: UnknownWord when the words name no food; InputError for months that are none.
    """
    food = " ".join(food.split())
    low, high = _months(months_min), _months(months_max)
    group, kind = _food(kitchen, food)
    row = own_row(group, kind, low, high)
    key = f"{OWN_GUIDE_PREFIX}{group}/{kind}"
    with kitchen.book.act("guide", kitchen.today, words=f"{food} keeps {low}-{high} months here") as act:
        act.change("setting", key, "value", kitchen.settings.get(key), f"{low}-{high}")
    return row


def _food(kitchen: Kitchen, words: str) -> tuple[str, str]:
    """The guide group and kind that words such as ``ground elk`` name; ``*`` when they name no animal.

    ``called`` and a name, when the words are what packages are called: the whole name of one in this book, a word
    that is kept as a name, or a part of a name that says no food.
    """
    packages = queries.packages(kitchen.book, State.FROZEN, State.SPARE, State.GONE)
    names = {package.other_words for package in packages if package.other_words}
    if _name(words) in map(_name, names):
        return CALLED, _name(words)
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
            if found.called:
                return CALLED, _name(words if species else found.called)
            return species.guide_group if species else keeping.ANY_GROUP, cuts.keeps_as(found.cut, found.form)
    if words.strip().lower() in keeping.KEEPS_AS:
        return keeping.ANY_GROUP, words.strip().lower()
    # A part of a name comes last: a pack of "bacon ground mix" is no reason to take bacon for a name.
    if any(is_called(name, words) for name in names):
        return CALLED, _name(words)
    near = near_words(words, None, kitchen.own_words)
    meant = f" Did you mean {' or '.join(near[:3])}?" if near else ""
    raise UnknownWord(
        f"{words!r} names no food the guides know, and nothing here is called so.{meant} Write a "
        f"cut and, if it matters, an animal: ground venison, pork chops; or a kind: {', '.join(keeping.KEEPS_AS)}.",
        word=words,
        near=near,
    )


def _name(words: str) -> str:
    """What a row for a name is kept under, the same for every spelling."""
    return called_words().get(plain(words), plain(words))


def packs_called(kitchen: Kitchen, name: str) -> int:
    """How many packages in the freezer are called so."""
    return sum(is_called(one.other_words, name) for one in queries.packages(kitchen.book, State.FROZEN))


def _months(text: str) -> int:
    if not _NUMBER.fullmatch(text.strip()):
        raise InputError(f"{text!r} is not a number of months. Give whole months, such as 4 6.", value=text)
    return int(text)
