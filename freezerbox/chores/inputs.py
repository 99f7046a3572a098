"""What goes into a batch: an animal's trim, packages, bought fat or meat; read from words as typed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation

from freezerbox.chores.header import find_animal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.chores.take import find_row, refuse_gone
from freezerbox.chores.units import units_of
from freezerbox.chores.wording import animal_words, coded_line, hold_words
from freezerbox.core.code import show_code
from freezerbox.core.lineage import animal_holds
from freezerbox.core.mass import parse_mass
from freezerbox.core.records import Animal, Hold, State
from freezerbox.errors import InputError, OutOfLine, Refused
from freezerbox.food import cuts, fat
from freezerbox.food.bought import bought

LEAN_KLASSES = ("big-game", "small-game")
"""Kinds of animal whose lean is counted as having no fat."""
_RATIO = re.compile(r"(\d{1,3}) ?[/:] ?(\d{1,3})")
_FAT_ALONE = re.compile(r"([^=]*[^=/\s])\s*/\s*(\d{1,3} ?%)")
# A thawed package weighs a little other than it did; beyond this one of the two figures is a slip.
MOST_OVER = Decimal("1.1")
# Drip, bone and what is trimmed off take less than this of a pack that goes in whole.  Our own measure.
LEAST_OF_IT = Decimal("0.75")


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One thing that goes into a batch.

    kind: ``animal``, ``package`` or ``bought``.  name: animal code, package code, or what was bought.
    mass_mg: how much; None for the one thing whose amount is to be worked out.
    fat_percent: None when not known.  cents: its price, None when not said.
    row: the package; None for the others.  units: how many of a lot.  holds: that it brings with it.
    words: what people call it.
    """

    kind: str
    name: str
    mass_mg: int | None
    fat_percent: int | None
    cents: int | None
    row: Row | None
    units: int
    species: str
    holds: tuple[Hold, ...]
    words: str


def from_animal(kitchen: Kitchen, text: str) -> Input:
    """An animal's meat that has no code of its own, ``24A=22`` or ``26H=10/20%`` with its fat.

    Raises: InputError without a weight; UnknownRecord for the animal; InvalidMass.
    """
    name, mass_mg, percent, _ = _parse(kitchen, text, "--from 24A=22")
    animal: Animal = find_animal(kitchen, name)
    if mass_mg is None:
        raise InputError(f"Say how much of {animal.code} goes in, such as: --from {animal.code}=22", value=text)
    lean = cuts.species(animal.species).klass in LEAN_KLASSES
    return Input(
        kind="animal",
        name=animal.code,
        mass_mg=mass_mg,
        fat_percent=0 if percent is None and lean else percent,
        cents=None,
        row=None,
        units=1,
        species=animal.species,
        holds=animal_holds(animal),
        words=animal_words(animal),
    )


def from_package(kitchen: Kitchen, text: str) -> Input:
    """A package, ``K7P-3MT``; ``K7P-3MT=4.6`` when it weighs otherwise now; ``K7P-3MT*3`` for three of a lot.

    Raises: InvalidCode, UnknownCode; AlreadyGone; Refused for a spare label or more of a lot than there is;
    InputError when its weight is not known; OutOfLine when it weighs far more than it did.
    """
    name, mass_mg, percent, _ = _parse(kitchen, text, "--use K7P-3MT=4.8")
    name, units = units_of(name)
    row = find_row(kitchen, name)
    refuse_gone(kitchen, row)
    code, quantity = show_code(row.code), row.package.state.quantity
    if row.package.state.state is State.SPARE:
        raise Refused(f"{code} is a label printed ahead; nothing is in its bag yet.", code=row.code)
    units = quantity if units is None else units
    if not 1 <= units <= quantity:
        raise Refused(f"{code} has {quantity} left, not {units}.", code=row.code)
    known = None if row.package.net_mg is None else row.package.net_mg * units
    if mass_mg is None and known is None:
        raise InputError(f"{code} was not weighed. Say what it weighs: --use {code}=4.8", value=text)
    if mass_mg is not None and known is not None and mass_mg > known * MOST_OVER:
        raise OutOfLine(
            f"{code} was packed at {kitchen.mass(known)}; {kitchen.mass(mass_mg)} cannot come out of it. "
            f"Correct the record first if it is wrong: freezerbox fix {code} --weight ...",
            code=row.code,
        )
    species = row.package.species
    if percent is None:
        percent = row.package.fat_percent
    if percent is None and species and cuts.species(species).klass in LEAN_KLASSES:
        percent = 0
    return Input(
        kind="package",
        name=row.code,
        mass_mg=mass_mg or known,
        fat_percent=percent,
        cents=None,
        row=row,
        units=units,
        species=species,
        holds=row.holds,
        words=coded_line(kitchen, row),
    )


def far_less(kitchen: Kitchen, given: Iterable[Input]) -> Iterator[str]:
    """A line for each package of which far less goes in than was packed: all of it would count as used."""
    for one in given:
        each = one.row.package.net_mg if one.row else None
        if not each or one.mass_mg is None or one.mass_mg >= each * one.units * LEAST_OF_IT:
            continue
        code, weight = show_code(one.name), kitchen.mass(one.mass_mg)
        if one.units > 1:
            number = max(1, round(one.mass_mg / each))
            packed = f"{kitchen.mass(each * one.units)} in {one.units}"
            cure = f"For {number} of them: --use {code}*{number}"
        else:
            packed = kitchen.mass(each)
            cure = "What stays needs a label of its own: freezerbox pack"
        yield f"{code} was packed at {packed}; {weight} goes in, and all of it would be used up. {cure}"


def from_shop(kitchen: Kitchen, text: str) -> Input:
    """Something bought, ``pork back fat``, ``pork shoulder=4/30%/12.50``: weight, percent of fat, price.

    Raises: InputError for a name that is none, a percent or a price; InvalidMass.
    """
    # "pork shoulder/30%" says the fat and no weight, as "pork shoulder=/30%" does.
    fat_alone = _FAT_ALONE.fullmatch(text)
    typed = f"{fat_alone[1]}=/{fat_alone[2]}" if fat_alone else text
    name, mass_mg, percent, cents = _parse(kitchen, typed, '--with "pork shoulder=4/30%/12.50"')
    if not any(letter.isalpha() for letter in name):
        raise InputError(f'{text!r} does not say what it is. Write it as "pork back fat=9.5".', value=text)
    known = bought(name)
    return Input(
        kind="bought",
        name=name,
        mass_mg=mass_mg,
        fat_percent=known.fat_percent if percent is None else percent,
        cents=cents,
        row=None,
        units=1,
        species=known.species,
        holds=(),
        words=name,
    )


def worked_out(given: tuple[Input, ...], target: int | None, ratio: str) -> tuple[tuple[Input, ...], Input | None]:
    """The inputs with every weight, and the one whose weight was worked out from ``target`` or ``ratio``.

    Raises: InputError when more than one weight is missing, it cannot be worked out, or none is needed.
    """
    open_ones = [one for one in given if one.mass_mg is None]
    if not open_ones:
        if ratio:
            raise InputError("Every weight is given; --ratio has nothing to work out. Leave it out.", value=ratio)
        return given, None
    one = open_ones[0]
    if len(open_ones) > 1:
        names = " and ".join(each.words for each in open_ones)
        raise InputError(f"Only one amount can be worked out; give the weight of {names}, all but one.", value=names)
    rest = [each for each in given if each is not one]
    if not rest:
        raise InputError(f"Say what {one.words} goes into: --from 24A=22", value=one.name)
    weights = sum(each.mass_mg or 0 for each in rest)
    if ratio:
        match = _RATIO.fullmatch(ratio.strip())
        if match is None:
            raise InputError(f"{ratio!r} is not a ratio. Write lean to {one.words}: --ratio 80/20", value=ratio)
        amount = fat.by_ratio(weights, int(match[1]), int(match[2]))
    else:
        amount = _for_target(one, rest, target)
    if amount <= 0:
        raise InputError(f"No {one.words} is needed for {target}% fat; leave it out.", value=one.name)
    added = replace(one, mass_mg=amount)
    return tuple(added if each is one else each for each in given), added


def _for_target(one: Input, rest: Sequence[Input], target: int | None) -> int:
    if bought(one.name).by_ratio and one.fat_percent is None:
        raise InputError(
            f"{one.words} varies too much to reckon its fat; add it by ratio, lean to {one.words}: --ratio 80/20",
            value=one.name,
        )
    if target is None:
        raise InputError(
            f'Say how much {one.words}: --with "{one.name}=9.5", or the fat to reach: --fat 20, or --ratio 80/20.',
            value=one.name,
        )
    if one.fat_percent is None:
        raise InputError(
            f'How fat is {one.words}? Say it: --with "{one.name}=/30%", or give its weight.', value=one.name
        )
    unknown = next((each for each in rest if each.fat_percent is None), None)
    if unknown is not None:
        how = "such as 26H=10/20%; only lean game counts as none."
        if unknown.kind == "bought":
            how = f'such as --with "{unknown.name}=WEIGHT/20%", or /0% for what has no fat.'
        raise InputError(f"How fat is {unknown.words}? Say it after the weight, {how}", value=unknown.words)
    return fat.to_add([(each.mass_mg or 0, each.fat_percent or 0) for each in rest], target, one.fat_percent)


def held_words(kitchen: Kitchen, held: tuple[Input, ...]) -> str:
    """Which inputs are on hold and why."""
    return "; ".join(
        f"{one.words} is on hold: {', '.join(hold_words(hold, kitchen.today) for hold in one.holds)}" for one in held
    )


def code_of(text: str) -> str:
    """The code in ``K7P-3MT``, ``K7P-3MT=4.6`` or ``K7P-3MT*3``, as typed."""
    return units_of(text.partition("=")[0])[0]


def _parse(kitchen: Kitchen, text: str, example: str) -> tuple[str, int | None, int | None, int | None]:
    name, equals, rest = text.partition("=")
    name = " ".join(name.split())
    if not name or (equals and not rest.strip()):
        raise InputError(f"{text!r} is not complete. Write it as {example}", value=text)
    weight, *more = rest.split("/") if equals else ("",)
    mass_mg = parse_mass(weight, unit=kitchen.unit) if weight.strip() else None
    percent = cents = None
    for word in more:
        if word.strip().endswith("%"):
            percent = _percent(word, text)
        else:
            cents = parse_money(word)
    return name, mass_mg, percent, cents


def _percent(word: str, text: str) -> int:
    digits = word.strip().removesuffix("%").strip()
    if not (digits.isascii() and digits.isdigit()) or int(digits) > 100:
        raise InputError(f"{word.strip()!r} in {text!r} is not a percentage of fat. Write 0% to 100%.", value=text)
    return int(digits)


def parse_money(text: str) -> int:
    """Hundredths of the household's money, from ``12.50``, ``$12``, ``12,50``.  Raises: InputError."""
    words = text.strip().lstrip("$€£").replace(",", ".")
    try:
        cents = Decimal(words) * 100
    except InvalidOperation:
        cents = Decimal(0)
    if not cents.is_finite() or cents <= 0 or cents != int(cents) or cents > 10_000_000:
        raise InputError(f"{text!r} is not a sum of money. Write it as 12.50.", value=text)
    return int(cents)
