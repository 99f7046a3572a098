"""From a record to the words and the symbol of its label."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.phone import phone_link
from freezerbox.chores.rows import Row
from freezerbox.chores.wording import for_words, pieces_words
from freezerbox.core.code import Code
from freezerbox.core.dates import month_year, season
from freezerbox.core.lineage import says_detected
from freezerbox.core.mass import MassUnit
from freezerbox.core.records import Animal
from freezerbox.core.symbol import SymbolRecord, symbol_text
from freezerbox.food import cautions, cuts
from freezerbox.food.bought import bought
from freezerbox.labels.content import LabelContent

FROZEN_TWICE = "FROZEN TWICE"
DO_NOT_EAT = "DO NOT EAT: TEST SAYS DETECTED"
HELD_BANNER = "DO NOT EAT: "
NOT_FOR_PEOPLE = "NOT FOR PEOPLE"
_NO_ANIMAL = ("other", "mystery")
"""Cuts that need not come from an animal: a chili, a lump nobody knows."""
_CUES = {"fast": "FAST", "slow": "SLOW", "grind": "GRIND"}
_PLAIN_SAYS_SO = ("ground", "raw-sausage", "stew", "trim")


def content_of(kitchen: Kitchen, row: Row) -> LabelContent:
    """What the label of a package says."""
    package = row.package
    cut = cuts.cut(package.cut)
    form = cuts.form(package.form) if package.form else None
    detected = is_detected(row)
    said = banners(row)
    return LabelContent(
        cut=row.cut_name,
        form="",
        animal=animal_line(row),
        weight=_weight(kitchen, row),
        weight_unit="kg" if kitchen.unit is MassUnit.KG else "lb",
        pieces=pieces_words(row),
        month=month_year(package.first_frozen_on),
        best_by=f"best by {month_year(row.best_by)}" if row.best_by and not detected else "",
        code=package.code,
        symbol_text=symbol_of(row),
        fat=fat_line(package.fat_percent, cuts.keeps_as(cut, form)),
        seasoning=package.seasoning,
        banners=said,
        hold="" if detected else hold_banner(row),
        cue="" if detected else _CUES.get(cut.cue, ""),
        run=run_words(row),
        owner=f"for {package.owner}" if package.owner else "",
        note=package.note or for_words(package),
        wrap=package.wrap.replace("-", " "),
        season=season(package.first_frozen_on),
        short=tuple(_in_short(row, said)),
        link=phone_link(kitchen, package.code),
    )


def hold_banner(row: Row) -> str:
    """``DO NOT EAT: TEST PENDING``, to be ticked once cleared; "" for what is not on hold."""
    return HELD_BANNER + row.holds[0].why.split(" (")[0].upper() if row.holds else ""


def _weight(kitchen: Kitchen, row: Row) -> str:
    """Of one package; of each of a lot."""
    net_mg = row.package.net_mg
    if net_mg is None:
        return ""
    return f"{kitchen.mass(net_mg)} each" if is_lot(row) else kitchen.mass(net_mg)


def is_lot(row: Row) -> bool:
    """Whether one label stands for several packages alike."""
    return row.package.state.quantity > 1


def _in_short(row: Row, said: Sequence[str]) -> Iterator[tuple[str, str]]:
    """What a label too small for all its words may say instead; kinds and codes of animals always stay."""
    if row.holds and not is_detected(row):
        yield hold_banner(row), hold_banner(row).removeprefix(HELD_BANNER)
    for words in said:
        if words == DO_NOT_EAT:
            yield words, "DO NOT EAT: DETECTED"
        elif " - " in words:
            yield words, words.partition(" - ")[0]
    if row.animals:
        species = dict.fromkeys(animal.species for animal in row.animals)
        species |= dict.fromkeys(key for key, _ in row.mix)
        yield animal_line(row), ", ".join(_kind_and_codes(row, key) for key in species)


def is_detected(row: Row) -> bool:
    """Whether a test of an animal in the package says detected."""
    return any(map(says_detected, row.holds))


def run_words(row: Row) -> str:
    """``1 of 14``, ``G26-1 1 of 38``: its batch, and its turn among those made with it; "" for a single."""
    package = row.package
    turn = f"{package.run_number} of {package.run_size}" if package.run_number else ""
    return " ".join(part for part in (package.batch, turn) if part)


def symbol_of(row: Row) -> str:
    """The text of the package's QR symbol."""
    package = row.package
    animals = [animal.code for animal in row.animals]
    return symbol_text(
        Code(package.code),
        SymbolRecord(
            cut=cuts.cut(package.cut).number,
            form=cuts.form(package.form).number if package.form else 0,
            species=cuts.species(package.species).number if package.species else 0,
            net_mg=package.net_mg,
            packed_on=package.first_frozen_on,
            animal="*" if len(animals) > 1 else (animals[0] if animals else ""),
            pieces=package.pieces,
        ),
    )


def animal_line(row: Row) -> str:
    """``Whitetail doe 26B``, ``Pork, half hog 26H``, several joined; the species alone without an animal."""
    if row.mix:
        return ", ".join(_of_mix(row, species, percent) for species, percent in row.mix)
    if not row.animals:
        if row.package.species:
            return cuts.species(row.package.species).label_name
        return "" if row.package.cut in _NO_ANIMAL else "animal not said"
    return " + ".join(_animal(animal) for animal in row.animals)


def _of_mix(row: Row, species: str, percent: int) -> str:
    """``Whitetail 24A + 24B 80%``: a mixture names each species and its percentage."""
    return f"{_kind_and_codes(row, species)} {percent}%"


def _kind_and_codes(row: Row, species: str) -> str:
    """``Whitetail 24A + 24B``."""
    codes = " + ".join(animal.code for animal in row.animals if animal.species == species)
    return " ".join(part for part in (cuts.species(species).label_name, codes) if part)


def _animal(animal: Animal) -> str:
    name = cuts.species(animal.species).label_name
    if animal.what:
        name += f", {animal.what}"
    return " ".join(part for part in (name, animal.sex_age, animal.code) if part)


def fat_line(percent: int | None, keeps_as: str) -> str:
    """``PLAIN`` or ``20% FAT`` where fat matters; "" where nobody adds any."""
    if percent is None or (percent == 0 and keeps_as not in _PLAIN_SAYS_SO):
        return ""
    return "PLAIN" if percent == 0 else f"{percent}% FAT"


def banners(row: Row) -> tuple[str, ...]:
    """What must be on the label when it is true."""
    found = []
    if is_lot(row):
        found.append(f"LOT OF {row.package.state.quantity}")
    if is_detected(row):
        # No box to tick: nothing clears this one.
        found.append(DO_NOT_EAT)
    if not row.for_people:
        found.append(NOT_FOR_PEOPLE)
    if row.package.times_frozen > 1:
        found.append(FROZEN_TWICE)
    found.extend(dict.fromkeys(_contains(row)))
    if row.for_people:
        found.extend(dict.fromkeys(caution_lines(row)))
    return tuple(found)


def _contains(row: Row) -> Iterator[str]:
    """``CONTAINS PORK`` whenever it does and the name does not say so, ``CONTAINS BEEF SUET`` and the like."""
    own = cuts.species(row.package.species).klass if row.package.species else ""
    if own != "pork" and any(cuts.species(animal.species).klass == "pork" for animal in row.animals):
        yield "CONTAINS PORK"
    names = row.bought or ((row.package.added,) if row.package.added else ())
    for name in names:
        species = bought(name).species
        if species == "pork":
            yield "CONTAINS PORK"
        elif species or name == row.package.added:
            yield f"CONTAINS {name.upper()}"


def caution_lines(row: Row) -> list[str]:
    """Label words of the cautions that hang on the species in the package (sourced, see the cautions table)."""
    species = [row.package.species, *(animal.species for animal in row.animals)]
    keys = [cuts.species(key).caution for key in dict.fromkeys(species) if key]
    return [text for key in keys if key and (text := cautions.caution(key).label_text)]
