"""The household's own words for cuts: ``deer burger`` is ground."""

from __future__ import annotations

from freezerbox.book import queries
from freezerbox.chores.house import clean_name
from freezerbox.chores.kitchen import OWN_WORD_PREFIX, Kitchen, one_writer
from freezerbox.chores.naming import same_name
from freezerbox.errors import AmbiguousWord, FreezerboxError, OutOfLine, Refused
from freezerbox.food import cuts


@one_writer
def add_word(kitchen: Kitchen, word: str, meaning: str, *, yes: bool = False) -> str:
    """Teach a word; returns the name of the cut it stands for now.

    Raises: InputError for a word that is none; UnknownWord, AmbiguousWord for the meaning; Refused when it is so
    already; OutOfLine for a word that means something else here, unless ``yes``.
    """
    word, meaning = clean_name(word).lower(), " ".join(meaning.split())
    others = {own: means for own, means in kitchen.own_words.items() if own != word}
    found = cuts.resolve_cut(meaning, None, others)
    old = kitchen.own_words.get(word)
    if old == meaning:
        raise Refused(f"{word!r} stands for {meaning} already.")
    means = "" if yes or old else _means_already(kitchen, word, found)
    if means:
        raise OutOfLine(
            f"{word!r} is {means} already, and would no longer be found or packed as that. If "
            f"{cuts.display_name(found.cut, found.form)} is what it is to stand for, add --yes.",
            word=word,
        )
    with kitchen.book.act("words", kitchen.today, words=f"{word!r} stands for {meaning}") as act:
        act.change("setting", OWN_WORD_PREFIX + word, "value", old, meaning)
    return cuts.display_name(found.cut, found.form)


def _means_already(kitchen: Kitchen, word: str, wanted: cuts.CutWords) -> str:
    """What a word is called for, such as ``the cut Backstrap``; "" when it is free, or means several things."""
    if any(animal.code.lower() == word for animal in queries.animals(kitchen.book)):
        return "the code of an animal"
    for place in queries.places(kitchen.book):
        if same_name(place.name, word):
            return f"a place in {place.freezer}"
    if any(same_name(freezer.name, word) for freezer in queries.freezers(kitchen.book)):
        return "a freezer"
    named = {name.lower(): one for one in cuts.cuts() for name in (one.key, one.name, one.plural_name)}
    one = named.get(word)
    if one is not None and (one != wanted.cut or wanted.form is not None):
        try:
            cuts.resolve_cut(word, None)
        except AmbiguousWord:
            return ""
        return f"the cut {one.name}"
    try:
        return f"the animal {cuts.resolve_species(word)[0].name}"
    except FreezerboxError:
        return ""


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
