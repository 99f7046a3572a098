"""Whose meat it may be that was packed without its animal: a hold comes only with the animal's name."""

from __future__ import annotations

from datetime import date

from freezerbox.book import queries
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Rows
from freezerbox.core.lineage import animal_holds
from freezerbox.core.records import Animal, State
from freezerbox.food import cuts
from freezerbox.food.days import days_for


def may_be_of(
    kitchen: Kitchen, cut: cuts.Cut, species: cuts.Species | None, packed_on: date, first_frozen_on: date
) -> tuple[Animal, ...]:
    """Animals that meat packed without one may well be of, those on hold first.

    They have such a cut, and were killed or processed within the days before the packing that cutting one up takes,
    or are on hold.  None for a dish of the household's own words, for what was frozen before it was packed here, and
    for animals killed later.
    """
    if cut.key == "other" or first_frozen_on != packed_on:
        return ()
    found = [
        animal
        for animal in queries.animals(kitchen.book)
        if cut.comes_from(cuts.species(animal.species))
        and (species is None or species.key == animal.species)
        and (animal.killed_on is None or animal.killed_on <= packed_on)
        and (animal_holds(animal) or _lately(animal, packed_on))
    ]
    return tuple(sorted(found, key=lambda animal: not animal_holds(animal)))


def open_animals(
    kitchen: Kitchen, cut: cuts.Cut, species: cuts.Species | None, packed_on: date
) -> tuple[Animal, ...]:
    """Animals that may be being cut up on that day and have such a cut, the latest first: to choose from by number.

    Those that ``may_be_of`` names, and those that have no day and nothing packed of them yet.
    """
    likely = {animal.code for animal in may_be_of(kitchen, cut, species, packed_on, packed_on)}
    packed = {animal.code for row in Rows(kitchen).all(*State) for animal in row.animals}
    found = [
        animal
        for animal in queries.animals(kitchen.book)
        if animal.code in likely
        or (
            (cut.key == "other" or cut.comes_from(cuts.species(animal.species)))
            and (species is None or species.key == animal.species)
            and (_lately(animal, packed_on) or (_day(animal) is None and animal.code not in packed))
        )
    ]
    return tuple(sorted(found, key=lambda animal: (_day(animal) or date.max, animal.id), reverse=True))


def _day(animal: Animal) -> date | None:
    return max((day for day in (animal.killed_on, animal.processed_on) if day), default=None)


def _lately(animal: Animal, day: date) -> bool:
    days = [one for one in (animal.killed_on, animal.processed_on) if one]
    return any(0 <= (day - one).days <= days_for("cut-up") for one in days)


def whose_words(animals: tuple[Animal, ...], way: str) -> str:
    """What to say of packages without an animal, or "".  ``way``: how to name it, ending in ``--animal``."""
    if not animals:
        return ""
    names = " or ".join(animal.code for animal in animals[:3])
    held = [animal.code for animal in animals if animal_holds(animal)]
    holds = f", and {' and '.join(held[:3])} is on hold" if len(held) == 1 else ""
    holds = f", and {' and '.join(held[:3])} are on hold" if len(held) > 1 else holds
    return f"No animal was named{holds}. If it is of {names}, say so: {way} {animals[0].code}"
