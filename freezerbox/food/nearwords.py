"""Close words for a misspelled one."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from freezerbox.food.kinds import Species, cuts, form
from freezerbox.food.tables import read_rows
from freezerbox.food.words import Question, Reader, squash, tokens

MOST = 5
# Share of letters that must agree, swapped neighbours counted as one slip; two slips in a word of seven pass.
CLOSENESS = 0.7


@lru_cache(maxsize=1)
def _words() -> tuple[tuple[str, str], ...]:
    """Every word the tables know for a cut or a cut in its form, squashed and as written; short words first."""
    written = [each.name.lower() for each in cuts()]
    written += [row["word"] for row in read_rows("words.csv") if len(row["word"]) > 2]
    written += [f"{each.name.lower()} {form(key).name}" for each in cuts() for key in each.forms]
    return tuple((squash(tokens(word)), word) for word in dict.fromkeys(written))


def near_words(text: str, species: Species | None, extra: Mapping[str, str]) -> tuple[str, ...]:
    """At most five known words close to ``text``, closest first, each standing for another cut or question."""
    from rapidfuzz import process
    from rapidfuzz.distance import DamerauLevenshtein

    known = [*((squash(tokens(word)), word) for word in extra), *_words()]
    close = process.extract(
        squash(tokens(text)),
        [folded for folded, _ in known],
        scorer=DamerauLevenshtein.normalized_similarity,
        score_cutoff=CLOSENESS,
        limit=40,
    )
    reader = Reader(species, extra)
    near: list[str] = []
    meant: set[object] = set()
    for _, _, index in close:
        word = known[index][1]
        found = reader.read(word)
        sense = found if found is None or isinstance(found, Question) else (found.cut.key, found.form)
        if found is not None and sense not in meant:
            meant.add(sense)
            near.append(word)
    return tuple(near[:MOST])
