"""The household's own words for cuts: ``deer burger`` is ground."""

from __future__ import annotations

from freezerbox.chores.house import clean_name
from freezerbox.chores.kitchen import OWN_WORD_PREFIX, Kitchen, one_writer
from freezerbox.errors import Refused
from freezerbox.food import cuts


@one_writer
def add_word(kitchen: Kitchen, word: str, meaning: str) -> str:
    """Teach a word; returns the name of the cut it stands for now.

    Raises: InputError for a word that is none; UnknownWord, AmbiguousWord for the meaning; Refused when it is so
    already.
    """
    word, meaning = clean_name(word).lower(), " ".join(meaning.split())
    others = {own: means for own, means in kitchen.own_words.items() if own != word}
    found = cuts.resolve_cut(meaning, None, others)
    old = kitchen.own_words.get(word)
    if old == meaning:
        raise Refused(f"{word!r} stands for {meaning} already.")
    with kitchen.book.act("words", kitchen.today, words=f"{word!r} stands for {meaning}") as act:
        act.change("setting", OWN_WORD_PREFIX + word, "value", old, meaning)
    return cuts.display_name(found.cut, found.form)


@one_writer
def remove_word(kitchen: Kitchen, word: str) -> None:
    """Forget a word.  Raises: Refused when it was never taught."""
    word = clean_name(word).lower()
    old = kitchen.own_words.get(word)
    if old is None:
        known = ", ".join(sorted(kitchen.own_words)) or "none"
        raise Refused(f"{word!r} is not a word of this household. Its words: {known}.")
    with kitchen.book.act("words", kitchen.today, words=f"forgot the word {word!r}") as act:
        act.change("setting", OWN_WORD_PREFIX + word, "value", old, None)
