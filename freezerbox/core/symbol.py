"""What a package's QR symbol says: its code, then ten characters that carry the label's own record.

Sixteen characters of the QR alphanumeric set (ISO/IEC 18004:2015, table 5) fill version 1 at level Q exactly, and
read as well as six at level H (measured: the reading lab).  So a dead computer is not the end: photographs of the
baskets rebuild the list.

The ten characters are one number in mixed radix.  Its first radix is the version of this layout; what it may hold
is fixed for ever, since labels outlive programs.  Cut, form and species go by the stable numbers of the tables.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_EVEN, Decimal
from functools import lru_cache

from freezerbox.core.code import LENGTH, Code, is_valid
from freezerbox.core.mass import MG_PER_G, MG_PER_LB, MG_PER_OZ
from freezerbox.errors import InvalidCode

# ISO/IEC 18004:2015, table 5: the 45 characters of the alphanumeric mode with their values.
ALPHANUMERIC = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
RECORD_LENGTH = 10
TEXT_LENGTH = LENGTH + RECORD_LENGTH
LEAST_MODULE_MM = 0.625
"""No symbol is printed finer: 5 dots at 203 dpi (measured: the reading lab)."""

VERSIONS = 2
"""Version 0 is this layout; 1 is kept for every later one, which will subdivide it."""
CUTS, FORMS, SPECIES = 224, 40, 52
"""Room for tables to grow: one more of any needs the next version."""
EPOCH = date(2018, 1, 1)
DAYS = 8_767
"""0 is "not known"; the last day carried is 31 December 2041."""
ANIMALS = 54
"""0 none, 1 several, else letter and whether the animal's year is the pack year or the year before."""
PIECES = 11
"""0 not known or more than ten."""
WEIGHTS = 7_001
_YEAR_AND_LETTER = re.compile(r"[0-9]{2}[A-Za-z]")


@dataclass(frozen=True, slots=True, kw_only=True)
class SymbolRecord:
    """The record a label carries in its own symbol.

    cut, form, species: stable numbers of the tables, 0 when there is none.
    net_mg: weight in milligrams, brought to the nearest that the symbol can say; ``None`` when not weighed.
    packed_on: day of packing; ``None`` when not known or outside 2018 to 2041.
    animal: code such as ``26B``; ``""`` when there is none or it is not a year and one letter; ``*`` for several.
    pieces: ``None`` when not counted or more than ten.
    """

    cut: int
    form: int
    species: int
    net_mg: int | None
    packed_on: date | None
    animal: str
    pieces: int | None


@lru_cache(maxsize=1)
def weights() -> tuple[int, ...]:
    """The weights a symbol can say, in milligrams, ascending: what scales show.

    Hundredths of a pound to 16 lb, tenths to 80 lb; grams to 3 kg, 5 g to 8 kg, 50 g to 40 kg; whole ounces to 10 lb.
    """
    pounds = [_round(hundredths * MG_PER_LB / 100) for hundredths in range(1, 1601)]
    pounds += [_round(tenths * MG_PER_LB / 10) for tenths in range(161, 801)]
    ounces = [_round(count * MG_PER_OZ) for count in range(1, 161) if count % 4]
    grams = [*range(1, 3001), *range(3005, 8001, 5), *range(8050, 40_001, 50)]
    return tuple(sorted({*pounds, *ounces, *(count * MG_PER_G for count in grams)}))


def _round(value: Decimal) -> int:
    return int(value.quantize(Decimal(1), rounding=ROUND_HALF_EVEN))


def nearest_weight(mg: int) -> int:
    """The weight nearest to ``mg`` that a symbol can say, in milligrams."""
    table = weights()
    place = bisect_left(table, mg)
    return min(table[max(0, place - 1) : place + 1], key=lambda weight: (abs(weight - mg), weight))


def symbol_text(code: Code, record: SymbolRecord) -> str:
    """The sixteen characters of a package's symbol."""
    digits = (
        (0, VERSIONS),
        (record.cut, CUTS),
        (record.form, FORMS),
        (record.species, SPECIES),
        (0 if record.net_mg is None else 1 + weights().index(nearest_weight(record.net_mg)), WEIGHTS),
        (_day_number(record.packed_on), DAYS),
        (_animal_number(record.animal, record.packed_on), ANIMALS),
        (record.pieces if record.pieces and record.pieces < PIECES else 0, PIECES),
    )
    number = 0
    for digit, radix in digits:
        if not 0 <= digit < radix:
            raise ValueError(f"{digit} does not fit a radix of {radix}")  # a table grew past what labels can say
        number = number * radix + digit
    text = ""
    for _ in range(RECORD_LENGTH):
        number, digit = divmod(number, len(ALPHANUMERIC))
        text = ALPHANUMERIC[digit] + text
    return code + text


def read_symbol(text: str) -> tuple[Code, SymbolRecord | None]:
    """The code a symbol says, and the record it carries; ``None`` where it carries none or is of a later version.

    Raises: InvalidCode when the first six characters are no code.
    """
    head, tail = text[:LENGTH], text[LENGTH:]
    if not is_valid(head):
        raise InvalidCode(f"{text!r} does not begin with a package code.", value=text)
    if not tail:
        return Code(head), None
    # A space is a character of the set; a scanner or an editor may have cut it off at the end.
    tail = tail.ljust(RECORD_LENGTH)
    if len(tail) != RECORD_LENGTH or any(character not in ALPHANUMERIC for character in tail):
        return Code(head), None
    number = 0
    for character in tail:
        number = number * len(ALPHANUMERIC) + ALPHANUMERIC.index(character)
    digits = []
    for radix in (PIECES, ANIMALS, DAYS, WEIGHTS, SPECIES, FORMS, CUTS):
        number, digit = divmod(number, radix)
        digits.append(digit)
    pieces, animal, day, weight, species, form, cut = digits
    if number != 0 or weight > len(weights()):
        return Code(head), None
    packed_on = EPOCH + timedelta(days=day - 1) if day else None
    return Code(head), SymbolRecord(
        cut=cut,
        form=form,
        species=species,
        net_mg=weights()[weight - 1] if weight else None,
        packed_on=packed_on,
        animal=_animal_code(animal, packed_on),
        pieces=pieces or None,
    )


def _day_number(day: date | None) -> int:
    number = 0 if day is None else (day - EPOCH).days + 1
    return number if 0 < number < DAYS else 0


def _animal_number(animal: str, packed_on: date | None) -> int:
    if animal == "*":
        return 1
    if packed_on is None or not _YEAR_AND_LETTER.fullmatch(animal):
        return 0
    years_before = (packed_on.year - int(animal[:2])) % 100
    return 2 + years_before * 26 + ord(animal[2].upper()) - ord("A") if years_before in (0, 1) else 0


def _animal_code(number: int, packed_on: date | None) -> str:
    if number < 2 or packed_on is None:
        return "*" if number == 1 else ""
    years_before, letter = divmod(number - 2, 26)
    return f"{(packed_on.year - years_before) % 100:02d}{chr(ord('A') + letter)}"
