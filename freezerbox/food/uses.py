"""What a package is for at the table, in the words of a cook who does not hunt; and how much a freezer holds.

Source: uses.csv, making.csv and space.csv.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from freezerbox.food.cuts import Cut, Form, keeps_as
from freezerbox.food.kinds import cell_list
from freezerbox.food.tables import read_rows

NOT_FOR_PEOPLE = "not-for-people"


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """One use.  key: stable word.  name: what the cook reads.  serves: what somebody may want to cook with it."""

    key: str
    name: str
    serves: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """How heavily a freezer is filled.  lb_per_cu_ft: pounds in a cubic foot.  about: filled with what."""

    key: str
    lb_per_cu_ft: Decimal
    about: str


_DOG = Use(key=NOT_FOR_PEOPLE, name="NOT FOR PEOPLE: dog, bait", serves=("dog", "the dog", "bait"))


@lru_cache(maxsize=1)
def uses() -> tuple[Use, ...]:
    """Every use in the order of a list on the lid; what is not for people comes last, apart."""
    found = [Use(key=row["key"], name=row["name"], serves=cell_list(row["serves"])) for row in read_rows("uses.csv")]
    return (*found, _DOG)


def use_of(cut: Cut, form: Form | None) -> Use:
    """The use of a cut in a form: the first row that takes both its keeping class and its cooking cue."""
    if cut.not_for_people:
        return _DOG
    kind = keeps_as(cut, form)
    for row, use in zip(read_rows("uses.csv"), uses(), strict=False):
        kinds, cues = cell_list(row["keeps_as"]), cell_list(row["cues"])
        if (not kinds or kind in kinds) and (not cues or cut.cue in cues):
            return use
    raise LookupError(kind)  # the last row takes everything


def serving(words: str) -> tuple[Use, ...]:
    """The uses that serve what somebody wants to cook: ``stew``, ``burgers``; empty for words not known."""
    wanted = " ".join(words.lower().replace("-", " ").split())
    return tuple(use for use in uses() if wanted in use.serves or wanted == use.key)


_BESIDES = frozenset(
    ("to", "for", "and", "or", "it", "up", "into", "meat", "the", "in", "later", "soon", "next", "year",
     "winter", "spring", "summer", "autumn", "fall")
)  # fmt: skip
"""Words that may stand around what is to be made, and say nothing of a meal or a guest."""


def making(words: str, cut: Cut) -> str:
    """What a package waits to be made into, as it is said: ``to grind later``, ``for sausage``; "" for a reservation.

    Trim waits for nothing else, so one such word is enough; of other cuts every word must be of it, or a pack kept
    for "sausage breakfast Sunday" would be free for all.  Source: making.csv.
    """
    deeds = {row["words"]: row["is_deed"] == "yes" for row in read_rows("making.csv")}
    said = words.lower().split()
    if not any(word in deeds for word in said):
        return ""
    if use_of(cut, None).key != "trim" and not all(word in deeds or word in _BESIDES for word in said):
        return ""
    if said[0] in ("to", "for"):
        return words
    return f"to {words}" if deeds.get(said[0]) else f"for {words}"


@lru_cache(maxsize=1)
def fillings() -> tuple[Filling, ...]:
    """How heavily a freezer is filled, the heaviest first."""
    found = (
        Filling(key=row["key"], lb_per_cu_ft=Decimal(row["lb_per_cu_ft"]), about=row["about"])
        for row in read_rows("space.csv")
    )
    return tuple(sorted(found, key=lambda filling: -filling.lb_per_cu_ft))
