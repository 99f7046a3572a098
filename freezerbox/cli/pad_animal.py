"""Whose meat it is, chosen by a number at the wrapping table: a letter is far from the number pad."""

from __future__ import annotations

from dataclasses import replace

from freezerbox.chores.header import Header, Words, find_animal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.whose import open_animals
from freezerbox.chores.wording import animal_words, holds_words
from freezerbox.cli.output import paragraph, say
from freezerbox.cli.pad_cards import answered
from freezerbox.core.dates import long_date
from freezerbox.core.lineage import animal_holds
from freezerbox.core.records import Animal
from freezerbox.errors import UnknownRecord

NONE = "0"


def chosen(kitchen: Kitchen, words: Words, header: Header, left: set[str], *, asked: bool = False) -> Words:
    """``words`` with the animal that a person chose by number or code; as they are for none, or when none may be.

    left: animals that were offered in this sitting and not chosen; for them alone nothing is asked again.
    asked: the person wants another animal; else of a dish, and of what was frozen before, nothing is asked.
    """
    own = header.cut.key == "other" or header.first_frozen_on != header.packed_on
    # The animal that is named already says nothing of the next one's kind.
    species = None if words.animals else header.species
    animals = () if own and not asked else open_animals(kitchen, header.cut, species, header.packed_on)
    if not animals or (not asked and left.issuperset(animal.code for animal in animals)):
        if asked:
            say(paragraph(f"No animal that is cut up now has {header.cut_name}. Enter it: freezerbox animal add"))
        return words
    say("Of which animal?")
    for number, animal in enumerate(animals, start=1):
        say(paragraph(f"{number}  {_line(kitchen, animal)}", "  ", "     "))
    numbers = {str(number): animal for number, animal in enumerate(animals, start=1)}
    rest = "leaves it as it is" if words.animals else "for none"
    while True:
        answer = answered(kitchen, f"Which number (Enter {rest})", "a number of the list, or Enter", ())
        if answer in ("", NONE):
            left.update(animal.code for animal in animals)
            return words
        try:
            animal = numbers[answer] if answer in numbers else find_animal(kitchen, answer)
        except UnknownRecord:
            say(f"{answer!r} is none of them: 1 to {len(animals)}, or Enter.")
            continue
        return replace(words, animals=(animal.code,))


def _line(kitchen: Kitchen, animal: Animal) -> str:
    days = [("killed", animal.killed_on), ("processed", animal.processed_on)]
    day = next((f", {word} {long_date(on)}" for word, on in days if on), "")
    holds = animal_holds(animal)
    return f"{animal_words(animal)}{day}{', ON HOLD: ' + holds_words(holds, kitchen.today) if holds else ''}"
