"""Close words for a misspelled one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from freezerbox.errors import InputError
from freezerbox.food.kinds import Species, cuts, form
from freezerbox.food.tables import read_rows
from freezerbox.food.words import Question, Reader, Sense, form_words, species_words, squash, tokens

MOST = 5
CLOSENESS = 0.7
"""Share of letters that must agree, swapped neighbours counted as one slip; two slips in a word of seven pass."""
SAME_LETTERS = 0.6
"""The same, where both words are made of the same letters: tounge is a tongue, and bread no breast."""


@lru_cache(maxsize=1)
def _words() -> tuple[tuple[str, str], ...]:
    """Every word the tables know for a cut or a cut in its form, squashed and as written; short words first."""
    written = [each.name.lower() for each in cuts()]
    written += [row["word"] for row in read_rows("words.csv") if len(row["word"]) > 2]
    written += [f"{each.name.lower()} {form(key).name}" for each in cuts() for key in each.forms]
    return tuple((squash(tokens(word)), word) for word in dict.fromkeys(written))


def near_words(text: str, species: Species | None, extra: Mapping[str, str]) -> tuple[str, ...]:
    """At most five known words close to ``text``, closest first, each standing for another cut or question.

    Where only a part of it is misspelled, beside the name of an animal or in it, that part alone is mended: before
    other cuts, when no animal is known and its name so mended is closer than they are.  Words behind a cut that are
    no part of it are left out.
    """
    near = _near(text, species, extra)
    words = text.split()
    head = " ".join(words[:-1])
    stray = near and head and not _close(squash(tokens(words[-1])), list(form_words()))
    if stray and isinstance(Reader(species, extra).read(head), Sense):
        # Behind a cut stands what is no form of it: the cut alone is closer than one in any form.
        return tuple(dict.fromkeys([head.lower(), *near]))[:MOST]
    mended, as_typed = _animal_mended(words, extra)
    closer = species is None and near and _likeness(text, as_typed) > _likeness(text, near[0])
    if mended and (closer or not near):
        return tuple(dict.fromkeys([mended, *near]))[:MOST]
    if near:
        return near
    for at, word in enumerate(words):
        rest = " ".join([*words[:at], *words[at + 1 :]])
        animal = species_words().get(squash(tokens(word)))
        if rest and animal and (found := _near(rest, animal, extra)):
            return tuple(f"{word.lower()} {one}" for one in found)
    heads = (" ".join(words[:count]) for count in range(len(words) - 1, 0, -1))
    return tuple(head for head in heads if isinstance(Reader(species, extra).read(head), Sense))[:1]


def _animal_mended(words: Sequence[str], extra: Mapping[str, str]) -> tuple[str, str]:
    """The words with the name of an animal mended, where the others stand for one cut of it; empty where none is.

    Animal first, and in the order typed.
    """
    known = list(species_words())
    for at, word in enumerate(words):
        before, after = words[:at], words[at + 1 :]
        rest = " ".join([*before, *after])
        if not rest or squash(tokens(word)) in species_words():
            continue
        for name in (known[index] for index in _close(squash(tokens(word)), known)[:1]):
            if isinstance(Reader(species_words()[name], extra).read(rest), Sense):
                return f"{_written(species_words()[name], name)} {rest.lower()}", " ".join([*before, name, *after])
    return "", ""


def _likeness(one: str, other: str) -> float:
    """Share of letters that agree."""
    from rapidfuzz.distance import DamerauLevenshtein

    return DamerauLevenshtein.normalized_similarity(squash(tokens(one)), squash(tokens(other)))


def _written(of: Species, folded: str) -> str:
    """The word for an animal as it is written."""
    words = (of.name, of.label_name, *of.aliases, of.key)
    return next(word for word in words if squash(tokens(word)) == folded).lower()


def _close(folded: str, known: Sequence[str]) -> list[int]:
    """Which of the known words are close, the closest first."""
    from rapidfuzz import process
    from rapidfuzz.distance import DamerauLevenshtein

    found = process.extract(
        folded, known, scorer=DamerauLevenshtein.normalized_similarity, score_cutoff=SAME_LETTERS, limit=200
    )
    letters = set(folded)
    return [index for word, score, index in found if score >= CLOSENESS or set(word) == letters][:40]


def _near(text: str, species: Species | None, extra: Mapping[str, str]) -> tuple[str, ...]:
    known = [*((squash(tokens(word)), word) for word in extra), *_words()]
    reader = Reader(species, extra)
    near: list[str] = []
    meant: set[object] = set()
    for index in _close(squash(tokens(text)), [folded for folded, _ in known]):
        word = known[index][1]
        try:
            found = reader.read(word)
        except InputError:  # it names another animal
            continue
        sense = found if found is None or isinstance(found, Question) else (found.cut.key, found.form, found.called)
        if found is not None and sense not in meant:
            meant.add(sense)
            near.append(word)
    return tuple(near[:MOST])
