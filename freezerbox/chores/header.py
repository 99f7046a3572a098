"""The header of a run: what every package of it has in common, from words to keys, checked once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from freezerbox.book import at_hand, queries
from freezerbox.chores.kitchen import Kitchen, no_such
from freezerbox.chores.naming import said_by, same_name
from freezerbox.chores.sign_words import given_up_words
from freezerbox.core.code import compact, is_valid, looks_like_code, show_code
from freezerbox.core.dates import long_date, parse_date
from freezerbox.core.records import WRAPS, Animal, Place
from freezerbox.errors import AmbiguousWord, FreezerboxError, InputError, InvalidDate, UnknownRecord, UnknownWord
from freezerbox.food import cuts
from freezerbox.food.called import plain

MOST_PIECES = 500
LONGEST = {"other_words": 40, "added": 40, "seasoning": 60, "owner": 60, "reserved_for": 60, "note": 120}
"""Characters of free words.  What must be on a label fits on every sheet with this many; a small roll may hold fewer,
and says so.  The other words give way where there is no room, and are for the list.
"""
_CALLED = {"other_words": "the name", "added": "--with", "reserved_for": "--for"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A header as it was typed; "" (or none) for what was not said.

    cut: words for the cut.  other: what the food is, when the cut is ``other``.  animals: animal codes.
    twice_frozen: the meat was frozen, thawed and made into this.
    """

    cut: str
    other: str = ""
    form: str = ""
    species: str = ""
    animals: Sequence[str] = ()
    pieces: str = ""
    wrap: str = ""
    fat: str = ""
    added: str = ""
    seasoning: str = ""
    place: str = ""
    freezer: str = ""
    owner: str = ""
    reserved_for: str = ""
    note: str = ""
    packed: str = ""
    first_frozen: str = ""
    twice_frozen: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """A header understood: keys, days and row numbers; None or "" for what was not said."""

    cut: cuts.Cut
    other_words: str
    form: cuts.Form | None
    species: cuts.Species | None
    animals: tuple[Animal, ...]
    pieces: int | None
    wrap: str
    fat_percent: int | None
    added: str
    seasoning: str
    freezer_id: int | None
    place: Place | None
    owner: str
    reserved_for: str
    note: str
    packed_on: date
    first_frozen_on: date
    times_frozen: int

    @property
    def cut_name(self) -> str:
        """What people see."""
        return cuts.display_name(self.cut, self.form, self.other_words)


def understand(kitchen: Kitchen, words: Words, likely: Sequence[cuts.Species] = ()) -> Header:
    """The header that ``words`` mean.

    ``likely``: animals it may be of.  A word for several cuts is no question when just one of these has it.

    Raises: AmbiguousWord and UnknownWord for words; UnknownRecord for an animal, place or freezer not in the book;
    InvalidDate for days that cannot be; InputError for the rest.
    """
    animals = tuple(find_animal(kitchen, code) for code in words.animals)
    species = _species(words, animals)
    try:
        found = cuts.resolve_cut(words.cut, species, kitchen.own_words)
    except AmbiguousWord:
        seen = _seen_from(kitchen, words.cut, () if species else likely)
        if len(seen) != 1:
            raise
        ((species, found),) = seen
    species = species or found.species
    form = cuts.form_together(cuts.resolve_form(words.form), found.form) if words.form else found.form
    if found.cut.key == "other" and not words.other.strip():
        raise InputError('Say what it is: freezerbox pack other "chili" 2.1', value=words.cut)
    place = find_place(kitchen, words.place, words.freezer) if words.place else None
    packed_on, first_frozen_on = _days(kitchen, words, animals)
    fat_percent = parse_fat(words.fat) if words.fat else found.fat_percent
    refuse_plain_with_more(fat_percent, " ".join(words.added.split()))
    return Header(
        cut=found.cut,
        other_words=free_words("other_words", words.other or own_name(found, words.cut)),
        form=form,
        species=species,
        animals=animals,
        pieces=parse_pieces(words.pieces) if words.pieces else None,
        wrap=parse_wrap(words.wrap) if words.wrap else "",
        fat_percent=fat_percent,
        added=free_words("added", words.added),
        seasoning=free_words("seasoning", words.seasoning),
        freezer_id=place.freezer_id if place else default_freezer(kitchen, words.freezer),
        place=place,
        owner=free_words("owner", words.owner),
        reserved_for=free_words("reserved_for", words.reserved_for),
        note=free_words("note", words.note),
        packed_on=packed_on,
        first_frozen_on=first_frozen_on,
        times_frozen=2 if words.twice_frozen else 1,
    )


def species_here(kitchen: Kitchen) -> tuple[cuts.Species, ...]:
    """The animals that this book has anything of."""
    keys = [animal.species for animal in queries.animals(kitchen.book)]
    keys += at_hand.species_packed(kitchen.book)
    return tuple(cuts.species(key) for key in dict.fromkeys(keys) if key)


def _seen_from(
    kitchen: Kitchen, cut: str, likely: Sequence[cuts.Species]
) -> list[tuple[cuts.Species, cuts.CutWords]]:
    """What a word for several cuts is, seen from each of the animals that has one such cut."""
    seen = []
    for one in likely:
        try:
            seen.append((one, cuts.resolve_cut(cut, one, kitchen.own_words)))
        except FreezerboxError:
            continue
    return seen


def own_name(found: cuts.CutWords, typed: str) -> str:
    """The words as typed when they say more than the cut's name does, as chili does; "" when the cut says it."""
    words = plain(typed).split()
    if found.called and set(words) < set(plain(found.called).split()):
        return found.called  # "hot Italian" alone does not say on a label what it is
    return " ".join(typed.split()) if found.called else ""


def free_words(field: str, text: str) -> str:
    """Words of the household's own without stray spaces.  Raises: InputError for more than a label can hold."""
    words = " ".join(text.split())
    if len(words) > LONGEST[field]:
        raise InputError(
            f"'{words[:30]}...' is {len(words)} characters; {_CALLED.get(field, f'--{field}')} can have "
            f"{LONGEST[field]}, so that a label holds it. Say it shorter.",
            value=text,
            most=LONGEST[field],
        )
    return words


def other_of(text: str) -> tuple[str, str]:
    """A cut and what the food is, from ``other chili``; the cut alone, and "", from any other."""
    cut, _, rest = text.strip().partition(" ")
    return (cut, rest.strip(" \"'")) if cut.lower() == "other" and rest.strip() else (text, "")


def find_animal(kitchen: Kitchen, code: str) -> Animal:
    """The animal of that code, whatever its case.

    Raises: UnknownRecord, naming the animals there are and how to add one.
    """
    animals = queries.animals(kitchen.book)
    wanted = code.strip().lower()
    for animal in animals:
        if animal.code.lower() == wanted:
            return animal
    known = [animal.code for animal in animals]
    raise no_such("animal", code, known, f"Add it with: freezerbox animal add {code.strip().upper()} SPECIES")


def find_place(kitchen: Kitchen, name: str, freezer: str = "", *, whole: bool = False) -> Place:
    """The place of that name, or of a name that it is a part of and no other is; or of that sign's code.

    With the freezer's name before or after it, ``Cabin red bag``, it is the one in that freezer.

    ``whole``: only by its whole name, since something new or something else may be meant.

    Raises: UnknownRecord when there is none; AmbiguousWord when several fit, or several freezers have one.
    """
    places = queries.places(kitchen.book)
    if freezer:
        freezer_id = find_freezer(kitchen, freezer)
        places = tuple(place for place in places if place.freezer_id == freezer_id)
    signed = queries.place_of_sign(kitchen.book, compact(name)) if looks_like_code(name) else None
    if signed is not None and signed in places:
        return signed
    found = said_by(name, places, lambda one: one.name)
    if not found:
        found = _with_freezer(kitchen, name, places)
    elif whole:
        found = [place for place in found if same_name(place.name, name)]
    if not found:
        known = [place.name for place in places]
        if words := given_up_words(kitchen, name):
            raise UnknownRecord(words, asked=name, known=known)
        if is_valid(compact(name)):
            raise no_such("place", name, known, "Write its name, or the code on its sign.")
        raise no_such("place", name, known, f'Add it with: freezerbox place add "{name.strip()}"')
    if len(found) > 1 and all(same_name(place.name, found[0].name) for place in found):
        which = " or ".join(f'"{place.freezer} {place.name}" (sign {show_code(place.code)})' for place in found)
        raise AmbiguousWord(
            f"{found[0].name!r} is in {' and in '.join(place.freezer for place in found)}. Say which: {which}",
            word=name,
            choices=[(f"{place.freezer} {place.name}", f"{place.name} in {place.freezer}") for place in found],
        )
    if len(found) > 1:
        raise _several(name, [place.name for place in found])
    return found[0]


def _with_freezer(kitchen: Kitchen, name: str, places: Sequence[Place]) -> list[Place]:
    """Places said with their freezer: ``Cabin red bag``, ``red bag, Cabin``, ``red bag (Cabin)``.

    The place by its whole name: "garage backstrap" is a food in a freezer and no bag whose name begins so.
    """
    words = re.sub(r"[,()]", " ", name).split()
    if any(same_name(freezer.name, " ".join(words)) for freezer in queries.freezers(kitchen.book)):
        return []
    found: dict[int, Place] = {}
    for at in range(1, len(words)):
        parts = " ".join(words[:at]), " ".join(words[at:])
        for freezer, place in (parts, parts[::-1]):
            there = [one for one in places if said_by(freezer, [one.freezer], str)]
            found.update({one.id: one for one in there if same_name(one.name, place)})
    return list(found.values())


def find_freezer(kitchen: Kitchen, name: str) -> int:
    """Row number of the freezer of that name, or of a name that it is a part of and no other is.

    Raises: UnknownRecord when there is none; AmbiguousWord when several fit.
    """
    freezers = queries.freezers(kitchen.book)
    found = said_by(name, freezers, lambda one: one.name)
    if len(found) > 1:
        raise _several(name, [freezer.name for freezer in found])
    if found:
        return found[0].id
    known = [freezer.name for freezer in freezers]
    raise no_such("freezer", name, known, f'Add it with: freezerbox freezer add "{name.strip()}"')


def _several(asked: str, names: list[str]) -> AmbiguousWord:
    return AmbiguousWord(
        f"{asked!r} fits {' and '.join(names)}. Say more of the name.",
        word=asked,
        choices=[(name, name) for name in names],
    )


def default_freezer(kitchen: Kitchen, name: str = "") -> int | None:
    """The named freezer; with one freezer it is never asked for, with several none is guessed."""
    if name:
        return find_freezer(kitchen, name)
    freezers = queries.freezers(kitchen.book)
    return freezers[0].id if len(freezers) == 1 else None


def parse_pieces(text: str) -> int:
    """A count of pieces.  Raises: InputError when it is no whole number from 1 to ``MOST_PIECES``."""
    return whole_number(text, "pieces", MOST_PIECES)


def whole_number(text: str, what: str, most: int) -> int:
    """A whole number from 1 to ``most``.  Raises: InputError."""
    words = text.strip()
    if not (words.isascii() and words.isdigit() and len(words) <= 9) or not 1 <= int(words) <= most:
        raise InputError(f"{text!r} is not a number of {what}. Give a whole number from 1 to {most}.", value=text)
    return int(words)


def parse_fat(text: str) -> int:
    """Percent of fat; 0 for ``none`` or ``plain``.  Raises: InputError when it is neither nor 0 to 100."""
    words = text.strip().lower().removesuffix("%").strip()
    if words in ("none", "plain", "no", "no fat"):
        return 0
    if words.isascii() and words.isdigit() and len(words) <= 3 and int(words) <= 100:
        return int(words)
    raise InputError(f"{text!r} is not a percentage of fat. Write --fat 20, or --fat none for plain.", value=text)


def refuse_plain_with_more(fat_percent: int | None, added: str) -> None:
    """Raises: InputError when a package would be called plain and to contain ``added`` at once."""
    if fat_percent == 0 and added:
        raise InputError(
            f"Plain says that nothing was added, and it contains {added!r}. Only one of the two can be: say how much "
            "fat there is, such as --fat 20, or leave the fat out.",
            value=added,
        )


def parse_wrap(text: str) -> str:
    """A way of wrapping.  Raises: UnknownWord, naming those there are."""
    words = "-".join(text.strip().lower().replace("-", " ").split())
    aliases = {
        "vac": "vacuum",
        "zip": "zip-bag",
        "bag": "zip-bag",
        "freezer-paper": "paper",
        "butcher-paper": "paper",
    }
    words = aliases.get(words, words)
    if words not in WRAPS:
        near = [wrap for wrap in WRAPS if wrap.startswith(words[:2])]
        raise UnknownWord(f"{text!r} is not a wrap. The wraps are: {', '.join(WRAPS)}.", word=text, near=near)
    return words


def _species(words: Words, animals: tuple[Animal, ...]) -> cuts.Species | None:
    named = cuts.resolve_species(words.species)[0] if words.species else None
    of_animal = cuts.species(animals[0].species) if animals else None
    if named and of_animal and named.key != of_animal.key:
        raise InputError(
            f"Animal {animals[0].code} is {of_animal.name}, but --species says {named.name}. Leave out one.",
            value=words.species,
        )
    return of_animal or named


def _days(kitchen: Kitchen, words: Words, animals: tuple[Animal, ...]) -> tuple[date, date]:
    today = kitchen.today
    packed_on = parse_date(words.packed, today=today) if words.packed else today
    packed_on = not_before_death(words.packed, packed_on, animals, today=today)
    first_frozen_on = parse_date(words.first_frozen, today=today) if words.first_frozen else packed_on
    first_frozen_on = not_before_death(words.first_frozen, first_frozen_on, animals, today=today)
    if packed_on > today:
        raise InvalidDate(
            f"Packed on {long_date(packed_on)} lies ahead; today is {long_date(today)}.", value=words.packed
        )
    if first_frozen_on > today:
        raise InvalidDate(
            f"First frozen on {long_date(first_frozen_on)} lies ahead; today is {long_date(today)}.",
            value=words.first_frozen,
        )
    if words.first_frozen and not words.packed:
        # A pack found in the freezer with its old date: it was packed then too.
        packed_on = today if words.twice_frozen else first_frozen_on
    if first_frozen_on > packed_on:
        raise InvalidDate(
            f"First frozen on {long_date(first_frozen_on)}, after it was packed on {long_date(packed_on)}. "
            "Give the earlier day as --first-frozen.",
            value=words.first_frozen,
        )
    for animal in animals:
        if animal.killed_on and first_frozen_on < animal.killed_on:
            raise InvalidDate(
                f"Packed on {long_date(first_frozen_on)}, before {animal.code} was killed on "
                f"{long_date(animal.killed_on)}. One of the two days is wrong.",
                value=words.first_frozen or words.packed or long_date(packed_on),
            )
    return packed_on, first_frozen_on


def not_before_death(text: str, day: date, animals: Sequence[Animal], *, today: date) -> date:
    """The day that ``text`` named; where that is a month alone, no day in it before the animal of that month died.

    A month alone is its first day, which is the careful reading of an age; but nothing is frozen before it is killed.
    """
    killed = max((animal.killed_on for animal in animals if animal.killed_on), default=day)
    month_alone = bool(text) and parse_date(text, today=today, deadline=True) != parse_date(text, today=today)
    in_it = (day.year, day.month) == (killed.year, killed.month)
    return max(day, killed) if month_alone and in_it else day
