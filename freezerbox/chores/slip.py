"""The slip of a gift: what donors of game are asked for somewhere, printed only where it is filled in.

The fields are those that any of the rules seen asks for (food_facts, 9.3): name, address, phone, licence with its
state, tag, species, sex, number and weight, date killed, date and place of the gift, recipient, signatures.  What a
place's rule needs is for the giver to check.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from freezerbox.chores.give import Given, held_guidance
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label_words import animal_line
from freezerbox.chores.wording import count, holds_words
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.records import Animal
from freezerbox.food import cautions, cuts, sources
from freezerbox.pages.sheet import Blank, Block, Line, Rule, Text, Written, write_sheet

MARK_MM = 9.8
"""Height of the marks' letters.  9 CFR 316.16 and 317.16 ask for at least 3/8 in, 9.525 mm, of a custom processor."""
NOT_FOR_SALE = "NOT FOR SALE"
TO_CHECK = "What the rules of your place ask of such a slip is for the giver to check."


def print_slip(
    kitchen: Kitchen, given: Given, to: Path, *, place: str = "", marks: Sequence[str] = (), paper: str = "letter"
) -> Written:
    """Write the slip of a gift.  ``marks``: words in letters of at least 3/8 in, such as ``NOT FOR SALE``.

    Raises: InputError for the file's ending or the paper; BookTrouble when it cannot be written.
    """
    blocks: list[Block] = [Text(words="Gift of meat", size_mm=5)]
    blocks += [Text(words=mark.upper(), size_mm=MARK_MM, above_mm=3) for mark in dict.fromkeys(marks) if mark.strip()]
    blocks.append(Rule())
    blocks += [_field(name, value) for name, value in _fields(given, place) if value]
    for animal in _animals(given):
        blocks.append(Rule())
        blocks += [_field(name, value) for name, value in _animal_fields(animal) if value]
    blocks.append(Rule())
    number = sum(gift.number for gift in given.gifts)
    weights = [gift.net_mg for gift in given.gifts]
    weighed = "" if None in weights else f", {kitchen.mass(sum(weight or 0 for weight in weights))}"
    blocks.append(Text(words=f"{count(number, 'package')}{weighed}", size_mm=3.2, above_mm=2))
    for gift in given.gifts:
        row = gift.row
        name = row.cut_name + (f" x{gift.number}" if gift.number > 1 else "")
        weight = kitchen.mass(gift.net_mg) if gift.net_mg is not None else "not weighed"
        frozen = f"frozen {long_date(row.package.first_frozen_on)}"
        twice = ", frozen twice" if row.package.times_frozen > 1 else ""
        cells = (show_code(row.code), weight, name, f"{animal_line(row)}, {frozen}{twice}")
        blocks.append(Line(cells=cells, widths_mm=(24.0, 24.0, 52.0)))
    blocks += _holds(kitchen, given)
    blocks += [Text(words=words, above_mm=2) for words in _cautions(given)]
    blocks += [Blank(words="Signature of the giver"), Blank(words="Signature of the one who receives")]
    blocks.append(Text(words=TO_CHECK, size_mm=2.0, above_mm=4))
    return write_sheet(blocks, to, title=f"Gift to {given.person}", paper=paper)


def _fields(given: Given, place: str) -> tuple[tuple[str, str], ...]:
    giver = given.giver
    return (
        ("Given by", giver.name),
        ("Address", giver.address),
        ("Phone", giver.phone),
        ("Licence", giver.licence),
        ("Given to", given.person),
        ("Date of gift", long_date(given.on)),
        ("Place of gift", " ".join(place.split())),
    )


def _animal_fields(animal: Animal) -> tuple[tuple[str, str], ...]:
    name = cuts.species(animal.species).name
    return (
        ("Species", f"{name}, {animal.what}" if animal.what else name),
        ("Sex or age", animal.sex_age),
        ("Tag or permit", animal.tag),
        ("Killed", long_date(animal.killed_on) if animal.killed_on else ""),
        ("Killed by", animal.taken_by),
        ("Animal", animal.code),
    )


def _animals(given: Given) -> tuple[Animal, ...]:
    found = {animal.code: animal for gift in given.gifts for animal in gift.row.animals}
    return tuple(found.values())


def _field(name: str, value: str) -> Line:
    return Line(cells=(name, value), widths_mm=(32.0,), size_mm=2.6)


def _holds(kitchen: Kitchen, given: Given) -> Iterator[Block]:
    by_hold: dict[str, list[str]] = {}
    for gift in given.gifts:
        if gift.row.holds:
            by_hold.setdefault(holds_words(gift.row.holds, kitchen.today), []).append(show_code(gift.row.code))
    for why, codes in by_hold.items():
        yield Text(words=f"ON HOLD, DO NOT EAT: {why}", size_mm=4, above_mm=4)
        yield Text(words=", ".join(codes))
    if said := held_guidance(given.gifts):
        yield Text(words=said, above_mm=1)


def _cautions(given: Given) -> Iterator[str]:
    """Cook-through of the species, and the slit in a vacuum pack; each once, with its source.

    Of what is on hold nothing is said on cooking.
    """
    keys: dict[str, None] = {}
    for gift in given.gifts:
        if gift.row.holds:
            continue
        species = [gift.row.package.species, *(animal.species for animal in gift.row.animals)]
        keys.update(dict.fromkeys(cuts.species(key).caution for key in species if key))
        if gift.row.package.wrap == "vacuum":
            keys["thaw-vacuum"] = None
    for key in keys:
        if key:
            caution = cautions.caution(key)
            yield f"{caution.text} [{sources.source(caution.source_id).cite()}]"
