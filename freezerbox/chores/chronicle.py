"""What happened to an animal's meat, to a batch, in a place or freezer, or on a day: whole acts, in order."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from freezerbox.book import borne, journal, queries
from freezerbox.book.parentage import acts_of_animal
from freezerbox.chores.header import find_animal, find_place
from freezerbox.chores.holding import find_batch
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.naming import same_name
from freezerbox.chores.sign_words import given_up_words
from freezerbox.chores.take import read_code, read_day
from freezerbox.chores.wording import animal_words, batch_words
from freezerbox.core.code import looks_like_code
from freezerbox.core.dates import long_date
from freezerbox.core.records import Act, Place
from freezerbox.errors import UnknownRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class Chronicle:
    """title: what it is about.  acts: by the day they happened, then as recorded."""

    title: str
    acts: tuple[Act, ...]


def of_day(kitchen: Kitchen, on: str) -> Chronicle:
    """All that happened on a day.  Raises: InvalidDate."""
    day = read_day(kitchen, on)
    return Chronicle(title=f"{day:%A}, {long_date(day)}", acts=_acts(kitchen, None, day))


def of_thing(kitchen: Kitchen, name: str, on: str = "") -> Chronicle:
    """All that happened to an animal's meat, to a batch, or in a place or freezer; ``on`` a day, or ever.

    A batch is known by what came of it: its making, and whatever became of its packages.

    Raises: UnknownRecord when there is nothing of that name; InvalidDate.
    """
    day = read_day(kitchen, on) if on else None
    batch = find_batch(kitchen, name)
    if batch is not None:
        codes = [one.code for one in queries.packages(kitchen.book, as_of=kitchen.as_of) if one.batch == batch.code]
        acts = borne.acts_about(kitchen.book, codes=codes, records=[("batch", batch.id)])
        return Chronicle(title=batch_words(batch), acts=_acts(kitchen, acts, day))
    if any(animal.code.lower() == name.strip().lower() for animal in queries.animals(kitchen.book)):
        animal = find_animal(kitchen, name)
        lineage = queries.lineage(kitchen.book, as_of=kitchen.as_of)
        packages = queries.packages(kitchen.book, as_of=kitchen.as_of)
        codes = [one.code for one in packages if animal.code in lineage.animal_codes(one.code)]
        acts = borne.acts_about(kitchen.book, codes=codes, records=[("animal", animal.id)])
        acts |= acts_of_animal(kitchen.book, animal.code)
        return Chronicle(title=animal_words(animal), acts=_acts(kitchen, acts, day))
    place = _place(kitchen, name)
    if place is not None:
        acts = journal.acts_in_place(kitchen.book, place.id)
        return Chronicle(title=f"{place.name}, {place.freezer}", acts=_acts(kitchen, acts, day))
    for freezer in queries.freezers(kitchen.book):
        if same_name(freezer.name, name):
            acts = journal.acts_in_freezer(kitchen.book, freezer.id)
            return Chronicle(title=freezer.name, acts=_acts(kitchen, acts, day))
    if words := given_up_words(kitchen, name):
        raise UnknownRecord(words, asked=name)
    if looks_like_code(name):
        read_code(kitchen, name)  # a damaged one says so itself, with the code it may have been
    raise UnknownRecord(
        f"There is no package, animal, batch, place or freezer {name!r} in this book. Write a code such as "
        "K7P-3MT, an animal such as 26B, a batch such as G26-1, a place or a freezer.",
        asked=name,
    )


def _place(kitchen: Kitchen, name: str) -> Place | None:
    """The place of that whole name, said with its freezer or not.  Raises: AmbiguousWord."""
    try:
        return find_place(kitchen, name, whole=True)
    except UnknownRecord:
        return None


def _acts(kitchen: Kitchen, numbers: set[int] | None, day: date | None) -> tuple[Act, ...]:
    found = [
        act
        for act in journal.acts(kitchen.book)
        if (numbers is None or act.id in numbers) and (day is None or act.happened_on == day)
    ]
    return tuple(sorted(found, key=lambda act: (act.happened_on, act.id)))
