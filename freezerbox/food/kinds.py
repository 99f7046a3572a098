"""Cuts, forms and species as records, looked up by key or by the stable number that a printed label carries.

Numbers and keys are never given to anything else: a row that is merged or renamed stays in the table with
``retired_to``, so that old labels keep their meaning.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

from freezerbox.errors import UnknownWord
from freezerbox.food.tables import read_rows

T = TypeVar("T")

LARGEST_CUT_NUMBER = 223
LARGEST_FORM_NUMBER = 39
LARGEST_SPECIES_NUMBER = 51


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One canonical cut.

    key             stable word of the program, ``sirloin-tip``
    number          stable number on printed labels, 1..223
    name            what people see, ``Sirloin tip``
    plural_name     the same of several, ``Sirloin tips``
    klasses         classes of animal (or single species) it is cut from; empty: any
    primal          the part of the carcass it comes from
    forms           keys of the forms it usually comes in
    cue             how to cook it: ``fast``, ``slow``, ``grind``, ``either``, ``dry``; empty: no cue
    keeps_as        the class of food that keeping times are looked up under, when the form does not say otherwise
    near            keys of cuts to offer when this one is not there
    piece, pieces   what one of it and several of it are called; empty: by the form
    spine_bone      holds backbone, or may
    not_for_people  kept for an animal or a trap: never on a list of things to eat
    meaning         in plain words
    retired_to      key of the cut that took its place; empty: in use
    source_id       where the row comes from
    locator         where in that source
    """

    key: str
    number: int
    name: str
    plural_name: str
    klasses: tuple[str, ...]
    primal: str
    forms: tuple[str, ...]
    cue: str
    keeps_as: str
    near: tuple[str, ...]
    piece: str
    pieces: str
    spine_bone: bool
    not_for_people: bool
    meaning: str
    retired_to: str
    source_id: str
    locator: str

    def comes_from(self, species: Species) -> bool:
        """Whether the table lists this cut for that species."""
        return not self.klasses or species.klass in self.klasses or species.key in self.klasses


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """The shape a cut was put into.

    key            stable word of the program, ``cross-cut``
    number         stable number on printed labels, 1..39
    name           as it stands behind the cut's name, ``roast``
    plural_name    the same of several, ``roasts``
    piece, pieces  what one piece and several pieces are called
    keeps_as       the class of food it turns a cut into for keeping times; empty: leaves the cut's own
    keeps_as_over  the cut's own classes for which that holds
    aliases        other words for it
    source_id      where the row comes from
    locator        where in that source
    """

    key: str
    number: int
    name: str
    plural_name: str
    piece: str
    pieces: str
    keeps_as: str
    keeps_as_over: tuple[str, ...]
    aliases: tuple[str, ...]
    source_id: str
    locator: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Species:
    """One kind of animal, or none at all (``other``: food of any kind).

    key          stable word of the program, ``mule-deer``
    number       stable number on printed labels, 1..51
    name         ``Whitetail deer``
    label_name   short, for a label: ``Whitetail``; empty: nothing is printed
    klass        class of animal for cuts and words: big-game, beef, pork, lamb, poultry, game-bird, small-game,
                 fish, other
    guide_group  group that keeping times are listed under
    caution      key of a caution printed on every label of it; empty: none
    big          cut into packs of elk and moose size
    kind_of      key of the wider word that takes it in (``deer`` for ``whitetail``); empty: none
    aliases      other words for it
    source_id    where the row comes from
    locator      where in that source
    """

    key: str
    number: int
    name: str
    label_name: str
    klass: str
    guide_group: str
    caution: str
    big: bool
    kind_of: str
    aliases: tuple[str, ...]
    source_id: str
    locator: str


def is_within(species: Species, wider: Species) -> bool:
    """Whether ``wider`` names the species itself or the wider word that takes it in: a whitetail is a deer."""
    return wider.key in (species.key, species.kind_of)


def cell_list(cell: str) -> tuple[str, ...]:
    """The words of a cell that holds several, split at its semicolons."""
    return tuple(word.strip() for word in cell.split(";") if word.strip())


@lru_cache(maxsize=1)
def all_cuts() -> Mapping[str, Cut]:
    """Every row of cuts.csv by key, the retired ones too."""
    return {
        row["key"]: Cut(
            key=row["key"],
            number=int(row["number"]),
            name=row["name"],
            plural_name=row["plural_name"],
            klasses=cell_list(row["klasses"]),
            primal=row["primal"],
            forms=cell_list(row["forms"]),
            cue=row["cue"],
            keeps_as=row["keeps_as"],
            near=cell_list(row["near"]),
            piece=row["piece"],
            pieces=row["pieces"],
            spine_bone=row["spine_bone"] == "yes",
            not_for_people=row["not_for_people"] == "yes",
            meaning=row["meaning"],
            retired_to=row["retired_to"],
            source_id=row["source_id"],
            locator=row["locator"],
        )
        for row in read_rows("cuts.csv")
    }


@lru_cache(maxsize=1)
def all_forms() -> Mapping[str, Form]:
    """Every row of forms.csv by key."""
    return {
        row["key"]: Form(
            key=row["key"],
            number=int(row["number"]),
            name=row["name"],
            plural_name=row["plural_name"],
            piece=row["piece"],
            pieces=row["pieces"],
            keeps_as=row["keeps_as"],
            keeps_as_over=cell_list(row["keeps_as_over"]),
            aliases=cell_list(row["aliases"]),
            source_id=row["source_id"],
            locator=row["locator"],
        )
        for row in read_rows("forms.csv")
    }


@lru_cache(maxsize=1)
def all_species() -> Mapping[str, Species]:
    """Every row of species.csv by key."""
    return {
        row["key"]: Species(
            key=row["key"],
            number=int(row["number"]),
            name=row["name"],
            label_name=row["label_name"],
            klass=row["klass"],
            guide_group=row["guide_group"],
            caution=row["caution"],
            big=row["size"] == "big",
            kind_of=row["kind_of"],
            aliases=cell_list(row["aliases"]),
            source_id=row["source_id"],
            locator=row["locator"],
        )
        for row in read_rows("species.csv")
    }


def in_use(found: Cut, table: Mapping[str, Cut]) -> Cut:
    """The cut that stands today for ``found``: itself, or what took its place."""
    while found.retired_to:
        found = table[found.retired_to]
    return found


def cut(key: str) -> Cut:
    """The cut of that key; a retired key gives the cut that took its place.

    Raises: UnknownWord.
    """
    table = all_cuts()
    if key not in table:
        raise UnknownWord(f"{key!r} is not the key of a cut. A key looks like sirloin-tip.", word=key)
    return in_use(table[key], table)


def cuts() -> tuple[Cut, ...]:
    """Every cut in use, in the order of the table."""
    return tuple(each for each in all_cuts().values() if not each.retired_to)


@lru_cache(maxsize=1)
def _cut_numbers() -> Mapping[int, Cut]:
    return {each.number: in_use(each, all_cuts()) for each in all_cuts().values()}


def cut_by_number(number: int) -> Cut | None:
    """The cut of that number on a label; None for 0 (not said).

    Raises: UnknownWord for a number of no cut, as a label of a later program may carry.
    """
    return _numbered(number, _cut_numbers(), "cut")


def form(key: str) -> Form:
    """The form of that key.

    Raises: UnknownWord.
    """
    if key not in all_forms():
        raise UnknownWord(f"{key!r} is not the key of a form. A key looks like cross-cut.", word=key)
    return all_forms()[key]


def forms() -> tuple[Form, ...]:
    """Every form, in the order of the table."""
    return tuple(all_forms().values())


@lru_cache(maxsize=1)
def _form_numbers() -> Mapping[int, Form]:
    return {each.number: each for each in all_forms().values()}


def form_by_number(number: int) -> Form | None:
    """The form of that number on a label; None for 0 (no form).

    Raises: UnknownWord for a number of no form.
    """
    return _numbered(number, _form_numbers(), "form")


def species(key: str) -> Species:
    """The species of that key.

    Raises: UnknownWord.
    """
    if key not in all_species():
        raise UnknownWord(f"{key!r} is not the key of a species. A key looks like mule-deer.", word=key)
    return all_species()[key]


def all_species_list() -> tuple[Species, ...]:
    """Every species, in the order of the table."""
    return tuple(all_species().values())


@lru_cache(maxsize=1)
def _species_numbers() -> Mapping[int, Species]:
    return {each.number: each for each in all_species().values()}


def species_by_number(number: int) -> Species | None:
    """The species of that number on a label; None for 0 (not said).

    Raises: UnknownWord for a number of no species.
    """
    return _numbered(number, _species_numbers(), "species")


def _numbered(number: int, table: Mapping[int, T], what: str) -> T | None:
    if number == 0:
        return None
    if number not in table:
        raise UnknownWord(
            f"{number} is not the number of a {what} here. The label may come from a later version.", word=str(number)
        )
    return table[number]
