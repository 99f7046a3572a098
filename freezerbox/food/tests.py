"""What animals are tested for, and which caution goes with a test: only what speaks of that disease and animal."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import timedelta
from functools import cache

from freezerbox.food.cuts import species
from freezerbox.food.kinds import cell_list
from freezerbox.food.sources import source
from freezerbox.food.tables import read_rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Disease:
    """One thing that animals are tested for.

    key: of its row.  name: what people call it.  words: how a word of what a test is for begins that means it.
    guide_groups: the animals that its cautions speak of, ``*`` for any.  when_unsaid: a test of such an animal that
    does not say what it is for may well be this one.  awaited, detected: keys of cautions, "" for none.
    """

    key: str
    name: str
    words: tuple[str, ...]
    guide_groups: tuple[str, ...]
    when_unsaid: bool
    awaited: str
    detected: str


def disease_of(what_for: str, species_key: str) -> Disease | None:
    """The disease a test is for, where its cautions speak of that animal; None where nothing is to be cited.

    >>> disease_of("CWD", "elk").name
    'chronic wasting disease'
    >>> disease_of("CWD", "bear") is None
    True
    """
    said = re.findall(r"\w+", what_for.lower())
    group = species(species_key).guide_group
    for one in _diseases():
        named = any(word.startswith(one.words) for word in said) if said else one.when_unsaid
        if named and (group in one.guide_groups or "*" in one.guide_groups):
            return one
    return None


def same_disease(species_key: str, one: str, other: str) -> bool:
    """Whether two ways to say what an animal is tested for mean the same: ``CWD`` and ``wasting disease``."""
    if not one or not other or one.lower() == other.lower():
        return one.lower() == other.lower()
    found = disease_of(one, species_key)
    return found is not None and found == disease_of(other, species_key)


def usual_wait() -> tuple[timedelta, str, str]:
    """How long a result is usually waited for, the longest published; who says so; and of which disease, by key."""
    row = read_rows("waits.csv")[0]
    return timedelta(days=int(row["days"])), source(row["source_id"]).publisher, row["of"]


@cache
def _diseases() -> tuple[Disease, ...]:
    return tuple(
        Disease(
            key=row["key"],
            name=row["name"],
            words=cell_list(row["words"]),
            guide_groups=cell_list(row["guide_groups"]),
            when_unsaid=row["when_unsaid"] == "yes",
            awaited=row["awaited"],
            detected=row["detected"],
        )
        for row in read_rows("tests.csv")
    )
