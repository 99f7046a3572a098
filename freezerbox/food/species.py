"""What a person calls an animal: its species, and the words for sex and age that come with it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from freezerbox.errors import AmbiguousWord, UnknownWord
from freezerbox.food.kinds import Species, all_species, cell_list
from freezerbox.food.tables import read_rows
from freezerbox.food.words import species_words, squash, tokens

# Words for a share of an animal, which say nothing of its kind: "half hog", "side of beef".
_SHARES = frozenset(("half", "side", "whole", "quarter", "third", "eighth", "share", "split"))


@lru_cache(maxsize=1)
def sex_age_words() -> Mapping[str, tuple[str, ...]]:
    """Every word for sex or age, with the keys of the species it may stand for when said alone."""
    return {row["word"]: cell_list(row["alone"]) for row in read_rows("sex_age.csv")}


def resolve_species(text: str) -> tuple[Species, str]:
    """The species that ``text`` names and its words for sex and age ('' for none).

    ``whitetail doe`` is a whitetail deer and "doe"; ``half hog`` is pork; ``deer`` is deer of a kind not said.

    Raises: AmbiguousWord for a word of sex or age alone that several animals share ("bull"); UnknownWord with near
    words.
    """
    words = tokens(text)
    if found := species_words().get(squash(words)):
        return found, ""
    sex_age = [word for word in words if word in _folded_sex_age()]
    rest = [word for word in words if word not in _folded_sex_age()]
    said = " ".join(_folded_sex_age()[word] for word in sex_age)
    for kept in (rest, [word for word in rest if word not in _SHARES]):
        if found := species_words().get(squash(kept)):
            return found, said
    if sex_age and not [word for word in rest if word not in _SHARES]:
        return _from_sex_age(text.strip(), said), said
    raise _unknown(text.strip(), rest or words)


@lru_cache(maxsize=1)
def _folded_sex_age() -> Mapping[str, str]:
    return {squash(tokens(word)): word for word in sex_age_words()}


def _from_sex_age(shown: str, said: str) -> Species:
    """The one species that all of the words may be said of."""
    shared: list[str] | None = None
    for word in said.split():
        may_be = sex_age_words()[word]
        if may_be:
            shared = [key for key in may_be if shared is None or key in shared]
    if not shared:
        raise UnknownWord(f"{shown!r} does not say which animal. Write it as whitetail {said}.", word=shown)
    if len(shared) == 1:
        return all_species()[shared[0]]
    choices = [(f"{all_species()[key].name.lower()} {said}", all_species()[key].name) for key in shared]
    offered = "; ".join(words for words, _ in choices)
    raise AmbiguousWord(f"{shown!r} may be several animals. Say which: {offered}.", word=shown, choices=choices)


def _unknown(shown: str, words: list[str]) -> UnknownWord:
    from rapidfuzz import process
    from rapidfuzz.distance import DamerauLevenshtein

    known = {folded: each.name for folded, each in species_words().items()}
    close = process.extract(
        squash(words), list(known), scorer=DamerauLevenshtein.normalized_similarity, score_cutoff=0.6, limit=10
    )
    near = list(dict.fromkeys(known[folded] for folded, _, _ in close))[:5]
    hint = f"Did you mean {', '.join(near)}?" if near else "A species looks like whitetail, elk or pork."
    return UnknownWord(f"{shown!r} is not a species known here. {hint}", word=shown, near=near)
