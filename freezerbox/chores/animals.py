"""Animals: adding one, and its story so far."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from freezerbox.book import queries
from freezerbox.chores.exits import Exit, exits
from freezerbox.chores.header import find_animal
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.naming import same_name
from freezerbox.chores.rows import Row, Rows, Totals, totals_of
from freezerbox.chores.take import read_day
from freezerbox.chores.trace import Holder, holders, where_now
from freezerbox.core.dates import iso, long_date
from freezerbox.core.lineage import Lineage, animal_holds
from freezerbox.core.records import HOLDING_RESULTS, Animal, Hold, Reason, State, TestResult
from freezerbox.errors import InputError, InvalidDate, OutOfLine, Twin, UnknownWord
from freezerbox.food import cuts

_CODE = re.compile(r"[0-9]{2}[A-Za-z]{1,2}[0-9]{0,2}")


@dataclass(frozen=True, slots=True, kw_only=True)
class NewAnimal:
    """An animal as it was typed; "" for what was not said."""

    code: str
    species: str
    what: str = ""
    killed: str = ""
    processed: str = ""
    test: str = ""
    test_for: str = ""
    sample: str = ""
    sent: str = ""
    tag: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A package with meat of an animal in it.

    number: how many it stood for, but for those that went on into other packages.  here: how many are in the freezer.
    share: of it by weight that is the animal's, 1 when nothing else is in; None when not known.
    where: where it is now, or how it left and who to.
    """

    row: Row
    number: int
    here: int
    share: Fraction | None
    where: str

    def own_mg(self, number: int) -> int | None:
        """The animal's own meat in so many of them, in milligrams; None when not known."""
        unit = self.row.package.net_mg
        return None if unit is None or self.share is None else round(self.share * unit * number)


@dataclass(frozen=True, slots=True, kw_only=True)
class AnimalStory:
    """An animal and every package it gave, those in the freezer first.

    totals: of all that went into no other package; left: of what is in.  own_mg, left_own_mg: of those, the animal's
    own meat, what it was mixed with left out; None when a part is not known.  holders: who has some.
    """

    animal: Animal
    rows: tuple[Row, ...]
    parts: tuple[Part, ...]
    totals: Totals
    left: Totals
    own_mg: int | None
    left_own_mg: int | None
    holders: tuple[Holder, ...]


def refuse_sample_of_another(kitchen: Kitchen, code: str, sample: str) -> None:
    """Raises: OutOfLine for a sample number that another animal's test has: its result would be told of either."""
    number = " ".join(sample.split())
    for animal in queries.animals(kitchen.book) if number else ():
        if animal.code != code and any(same_name(test.sample, number) for test in animal.tests):
            raise OutOfLine(
                f"Sample {number} is of {animal.code} already ({_named(animal)}). Look at the slip again; if both "
                "animals really have that number, add --yes.",
                sample=number,
                animal=animal.code,
            )


@one_writer
def add_animal(kitchen: Kitchen, new: NewAnimal, *, yes: bool = False) -> Animal:
    """Record an animal.

    Raises: InputError for a code that is not a year and a letter; Twin when the code is there already, whatever its
    case; UnknownWord for the species; InvalidDate when processed before killed or days that lie ahead; OutOfLine for
    another animal's sample number, and not ``yes``.
    """
    code = animal_code(new.code)
    for animal in queries.animals(kitchen.book):
        if animal.code.lower() == code.lower():
            raise Twin(
                f"There is an animal {animal.code} already: {_named(animal)}. "
                f"Take the next letter, or see it with: freezerbox animal show {animal.code}",
                code=animal.code,
            )
    if not yes:
        refuse_sample_of_another(kitchen, code, new.sample)
    species, sex_age = cuts.resolve_species(new.species)
    killed = read_day(kitchen, new.killed) if new.killed else None
    processed = read_day(kitchen, new.processed) if new.processed else None
    if killed and processed and processed < killed:
        raise InvalidDate(
            f"Processed on {long_date(processed)}, before it was killed on {long_date(killed)}. "
            "One of the two days is wrong.",
            value=new.processed,
        )
    # A sample's number or the day it went in says that a test is on its way, though nobody typed "pending".
    on_its_way = TestResult.PENDING if new.sample or new.sent or new.test_for else None
    result = parse_result(new.test) if new.test else on_its_way
    # A result that was there when the animal was entered held no meat on the days before, unless somebody says so.
    begun = kitchen.today if result and result not in HOLDING_RESULTS else processed or kitchen.today
    sent = read_day(kitchen, new.sent) if new.sent else begun
    with kitchen.book.act("animal", kitchen.today, words=f"added animal {code}, {species.name}") as act:
        animal_id = act.add(
            "animal",
            code=code,
            species=species.key,
            sex_age=sex_age,
            what=" ".join(new.what.split()),
            killed_on=iso(killed),
            processed_on=iso(processed),
            tag=new.tag.strip(),
            note=" ".join(new.note.split()),
        )
        if result:
            act.add(
                "animal_test",
                animal_id=animal_id,
                what_for=new.test_for.strip(),
                sample=new.sample.strip(),
                sent_on=sent.isoformat(),
                result=result.value,
                result_on=None if result is TestResult.PENDING else kitchen.today.isoformat(),
            )
    return find_animal(kitchen, code)


def animal_code(text: str) -> str:
    """The code as it is kept, ``26B``.  Raises: InputError when it is not a year and a letter."""
    code = text.strip()
    if not _CODE.fullmatch(code):
        raise InputError(f"{text!r} is not an animal code. Write the year and a letter, such as 26B.", value=text)
    return code.upper()


def parse_result(text: str) -> TestResult:
    """What a laboratory said.  Raises: UnknownWord, naming the results."""
    words = "-".join(text.strip().lower().replace("-", " ").split())
    try:
        return TestResult(words)
    except ValueError:
        known = [result.value for result in TestResult]
        raise UnknownWord(
            f"{text!r} is not a test result. The results are: {', '.join(known)}.", word=text, near=known
        ) from None


def animal_story(kitchen: Kitchen, code: str) -> AnimalStory:
    """The animal and what it gave.  Raises: UnknownRecord."""
    animal = find_animal(kitchen, code)
    rows = Rows(kitchen)
    of_it = [row for row in rows.all(State.FROZEN, State.GONE) if animal in row.animals]
    of_it = [row for row in of_it if row.package.state.reason != "void"]
    of_it.sort(key=lambda row: row.package.state.state is State.GONE)
    every = exits(kitchen, of_it)
    left: dict[str, list[Exit]] = {}
    for one in every:
        left.setdefault(one.row.code, []).append(one)
    known: dict[str, Fraction | None] = {}
    parts = tuple(_part(kitchen, rows.lineage, animal, row, left.get(row.code, []), known) for row in of_it)
    return AnimalStory(
        animal=animal,
        rows=tuple(of_it),
        parts=parts,
        totals=totals_of([(part.row, part.number) for part in parts]),
        left=totals_of([(part.row, part.here) for part in parts]),
        own_mg=_own([part.own_mg(part.number) for part in parts if part.number]),
        left_own_mg=_own([part.own_mg(part.here) for part in parts if part.here]),
        holders=holders(every),
    )


def _part(
    kitchen: Kitchen,
    lineage: Lineage,
    animal: Animal,
    row: Row,
    left: Sequence[Exit],
    known: dict[str, Fraction | None],
) -> Part:
    share = lineage.share_of(row.code, "animal", animal.code, known)
    if share is None and [one.code for one in row.animals] == [animal.code]:
        share = Fraction(1)  # bought fat of unknown weight went in: all of it is counted
    here = row.package.state.quantity if row.package.state.state is State.FROZEN else 0
    away = sum(one.number for one in left if one.reason not in (Reason.MADE_INTO, Reason.VOID))
    return Part(row=row, number=here + away, here=here, share=share, where=where_now(kitchen, row, left))


def _own(weights: Sequence[int | None]) -> int | None:
    return None if None in weights else sum(weight or 0 for weight in weights)


def _named(animal: Animal) -> str:
    return " ".join(part for part in (animal.what or cuts.species(animal.species).name, animal.sex_age) if part)


def holds_of(animal: Animal) -> tuple[Hold, ...]:
    """The holds an animal's tests put on its meat."""
    return animal_holds(animal)
