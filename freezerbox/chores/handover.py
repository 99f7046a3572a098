"""Packages that go on in another household's book: the file that tells it of them, and taking such a file in.

The file says of each package what its label and record say, what animals are in it by weight, and what holds it.  A
later file (a notice after a result) tells a book that has the packages what became of the tests; it adds none.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from freezerbox.book import origins, queries
from freezerbox.book.parts import plain
from freezerbox.book.writer import Writer
from freezerbox.chores.give import GIVER_PREFIX
from freezerbox.chores.handover_file import Coming, ComingAnimal, ComingPackage, read_handover
from freezerbox.chores.handover_holds import ended, let_go, lifted_json, new_holds, with_sources
from freezerbox.chores.header import default_freezer
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.result import SAID
from freezerbox.chores.rows import Row, Rows, as_json
from freezerbox.chores.wording import animal_words, count
from freezerbox.core.code import Code, show_code
from freezerbox.core.dates import iso, long_date
from freezerbox.core.records import Animal, AnimalTest, State, TestResult
from freezerbox.errors import BookTrouble, Refused

THEIRS_PREFIX = "theirs:"
"""Settings that remember what an animal of another book is called here, by its uid there."""


def handover(
    kitchen: Kitchen,
    person: str,
    packages: Sequence[tuple[Row, int]],
    on: date,
    *,
    giver: str = "",
    notice: bool = False,
) -> dict[str, object]:
    """What another household's book needs to know of packages, with how many of each: codes, animals, tests, holds.

    ``giver``: this household's name, as on its slips when not said.  ``notice``: they went there before; the file
    tells only what is known of them now.
    """
    lineage = Rows(kitchen).lineage
    animals = {animal.code: animal for row, _ in packages for animal in row.animals}
    return {
        "handover": 1,
        "notice": notice,
        "from": giver or kitchen.settings.get(GIVER_PREFIX + "name") or None,
        "to": person,
        "on": on.isoformat(),
        "packages": [
            as_json(row)
            | {
                "number": number,
                "lifted": lifted_json(kitchen, with_sources(lineage, row.code)),
                "made_of": [
                    {"kind": kind, "name": name, "share": round(float(share), 6)}
                    for (kind, name), share in (lineage.shares(row.code) or {}).items()
                    if kind != "package"
                ],
            }
            for row, number in packages
        ],
        "animals": [_animal_json(kitchen, animal) for animal in animals.values()],
    }


def write_handover(file: Path, told: Mapping[str, object]) -> None:
    """Write what ``handover`` says into a file.  Raises: BookTrouble when it cannot be written."""
    try:
        file.write_text(as_text(told), encoding="utf-8")
    except OSError as error:
        raise BookTrouble(f"{file} cannot be written: {plain(error)}.") from error


def as_text(told: Mapping[str, object]) -> str:
    """What ``handover`` says, as its file has it."""
    return json.dumps(told, ensure_ascii=False, indent=2) + "\n"


def _animal_json(kitchen: Kitchen, animal: Animal) -> dict[str, object]:
    return {
        "code": animal.code,
        "uid": origins.animal_uid(kitchen.book, animal.id),
        "species": animal.species,
        "sex_age": animal.sex_age or None,
        "what": animal.what or None,
        "killed_on": iso(animal.killed_on),
        "processed_on": iso(animal.processed_on),
        "tag": animal.tag or None,
        "tests": [
            {
                "what_for": test.what_for or None,
                "sample": test.sample or None,
                "sent_on": test.sent_on.isoformat(),
                "result": test.result.value,
                "result_on": iso(test.result_on),
                "released_on": iso(test.released_on),
                "released_why": test.released_why or None,
            }
            for test in animal.tests
        ],
        "holds": [{"why": hold.why, "since": hold.since.isoformat()} for hold in animal.own_holds],
        "lifted": lifted_json(kitchen, [animal.code]),
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What came of a handover file.

    giver: whose it was; "" when the file does not say.  rows: packages that are in this book now and were not before.
    known: how many were here already.  animals: what their animals are called here, by their code there.
    news: what changed on tests and holds, a line each.  strangers: codes that a notice names and this book has not.
    """

    giver: str
    rows: tuple[Row, ...]
    known: int
    animals: Mapping[str, str]
    news: tuple[str, ...]
    strangers: tuple[str, ...] = ()


def take_in(kitchen: Kitchen, file: Path, *, who: str = "", rename: Sequence[str] = ()) -> Taken:
    """Take in a handover file: one act.  Packages get their codes, animals and holds; twice is the same as once.

    ``who``: whose part of the file, when it is for several.  ``rename``: ``26B=26X``, what their 26B is called here.

    What it tells is new, or nothing is written.

    Raises: FaultyFile for what is none; InputError for whose part; Refused when a code or an animal's code is another
    thing here, or a notice is of nothing that this book has.
    """
    coming = read_handover(file, who)
    try:
        return _take_in(kitchen, file, coming, rename)
    except _NothingNew as known:
        return known.taken


@one_writer
def _take_in(kitchen: Kitchen, file: Path, coming: Coming, rename: Sequence[str]) -> Taken:
    there = {row.code: row for row in Rows(kitchen).of_codes([one.code for one in coming.packages])}
    for one in coming.packages:
        if one.code in there and _another(there[one.code], one):
            row = there[one.code]
            raise Refused(
                f"Nothing taken in: {show_code(one.code)} is another package here, {row.cut_name} of "
                f"{row.package.packed_on.isoformat()}. Both books seem to begin their codes with {one.code[0]}.",
                code=one.code,
            )
    if coming.notice and not there:
        raise Refused(f"Nothing taken in: {file.name} tells of packages that this book does not have.")
    absent = [one for one in coming.packages if one.code not in there]
    wanted = [] if coming.notice else absent
    strangers = tuple(one.code for one in absent) if coming.notice else ()
    used = dict.fromkeys(name for one in (wanted or coming.packages) for name in one.animals)
    names = _names(kitchen, [one for one in coming.animals if one.code in used], rename, known_only=coming.notice)
    number = sum(one.number for one in wanted)
    words = f"took in {count(number, 'package')} from {coming.giver or 'another household'}"
    if not wanted:
        words = f"took in news of {count(len(there), 'package')} from {coming.giver or 'another household'}"
    news: list[str] = []
    with kitchen.book.act("import", kitchen.today, words=words) as act:
        for animal in coming.animals:
            if animal.code in names:
                news += _write_animal(kitchen, act, animal, names[animal.code], coming.on)
        for one in wanted:
            _write_package(kitchen, act, one, names)
        for one in coming.packages:
            if one.code in there:
                news += _write_holds(kitchen, act, one, one.code, coming.on)
        if not wanted and not news:
            raise _NothingNew(
                Taken(giver=coming.giver, rows=(), known=len(there), animals=names, news=(), strangers=strangers)
            )
    return Taken(
        giver=coming.giver,
        rows=Rows(kitchen.afresh()).of_codes([one.code for one in wanted]),
        known=len(there),
        animals=names,
        news=tuple(news),
        strangers=strangers,
    )


class _NothingNew(Exception):
    """Everything in the file was here before; what was begun is taken back, so that no act says nothing."""

    def __init__(self, taken: Taken) -> None:
        super().__init__()
        self.taken = taken


def _another(row: Row, one: ComingPackage) -> bool:
    return (row.package.cut, row.package.packed_on) != (one.cut, one.packed_on)


def _names(
    kitchen: Kitchen, animals: Sequence[ComingAnimal], rename: Sequence[str], *, known_only: bool
) -> dict[str, str]:
    """What each of their animals is called here: as before, as ``rename`` says, or by its own code when it is free.

    ``known_only``: those that this book has never heard of are left out.
    """
    from freezerbox.chores.animals import animal_code

    asked: dict[str, str] = {}
    for text in rename:
        old, _, new = text.removeprefix("animal ").partition("=")
        asked[old.strip().upper()] = animal_code(new)
    ours = {animal.code: animal for animal in queries.animals(kitchen.book)}
    by_uid = {origins.animal_uid(kitchen.book, animal.id): animal.code for animal in ours.values()}
    found: dict[str, str] = {}
    for one in animals:
        code = by_uid.get(one.uid) or kitchen.settings.get(THEIRS_PREFIX + one.uid, "")
        if code in ours:
            found[one.code] = code
            continue
        if known_only:
            continue
        code = asked.get(one.code, one.code)
        if code in [*ours, *found.values()]:
            raise Refused(
                f"Nothing taken in: their {one.code} ({one.words}) is another animal than {code} here"
                + (f" ({animal_words(ours[code])})" if code in ours else "")
                + f". Give theirs a code of its own: --rename {one.code}={code}9",
                code=code,
            )
        found[one.code] = code
    return found


def _write_animal(
    kitchen: Kitchen, act: Writer, theirs: ComingAnimal, code: str, told_on: date | None
) -> Iterator[str]:
    """The animal when it is new, and what is new of its tests and holds."""
    ours = next((animal for animal in queries.animals(kitchen.book) if animal.code == code), None)
    if ours is None:
        animal_id = act.add(
            "animal",
            code=code,
            species=theirs.species,
            sex_age=theirs.sex_age,
            what=theirs.what,
            killed_on=iso(theirs.killed_on),
            processed_on=iso(theirs.processed_on),
            tag=theirs.tag,
            note=f"another household's {theirs.code}",
        )
        key = THEIRS_PREFIX + theirs.uid
        act.change("setting", key, "value", kitchen.settings.get(key), code)
    else:
        animal_id = ours.id
    for test in theirs.tests:
        yield from _write_test(act, ours, animal_id, code, test)
    yield from _write_holds(kitchen, act, theirs, code, told_on, animal_id=animal_id)


def _write_holds(
    kitchen: Kitchen,
    act: Writer,
    theirs: ComingAnimal | ComingPackage,
    code: str,
    told_on: date | None,
    *,
    animal_id: int | None = None,
) -> Iterator[str]:
    """What is new of the own holds of a package that is here already, or of an animal, under its ``code`` here."""
    name = show_code(code) if animal_id is None else code
    for why, since in new_holds(kitchen, code, theirs.holds, told_on):
        if animal_id is None:
            act.add("own_hold", code=code, why=why, since=since.isoformat())
        else:
            act.add("animal_hold", animal_id=animal_id, why=why, since=since.isoformat())
        yield f"{name}: on hold, {why}"
    for hold, on in ended(kitchen, code, theirs.lifted):
        yield let_go(act, hold, on or told_on or kitchen.today, name)


def _write_test(act: Writer, ours: Animal | None, animal_id: int, code: str, test: AnimalTest) -> Iterator[str]:
    mine = next(
        (
            one
            for one in (ours.tests if ours else ())
            if (one.sample, one.what_for, one.sent_on) == (test.sample, test.what_for, test.sent_on)
        ),
        None,
    )
    fields = {
        "result": test.result.value,
        "result_on": iso(test.result_on),
        "released_on": iso(test.released_on),
        "released_why": test.released_why,
    }
    if mine is None:
        act.add(
            "animal_test",
            animal_id=animal_id,
            what_for=test.what_for,
            sample=test.sample,
            sent_on=test.sent_on.isoformat(),
            **fields,
        )
    else:
        old = {
            "result": mine.result.value,
            "result_on": iso(mine.result_on),
            "released_on": iso(mine.released_on),
            "released_why": mine.released_why,
        }
        # An older file must not take back what was heard since.
        if old == fields or (mine.result_on and (test.result_on or test.sent_on) < mine.result_on):
            return
        for field, value in fields.items():
            if value != old[field]:
                act.change("animal_test", mine.id, field, old[field], value)
    named = ", ".join(part for part in (test.what_for, test.sample and f"sample {test.sample}") if part)
    when = f" on {long_date(test.result_on)}" if test.result_on else ""
    released = ", released by its household" if test.released_on else ""
    if mine is not None or test.result is not TestResult.NOT_DETECTED:
        yield f"{code}: test{f' ({named})' if named else ''} {SAID[test.result]}{when}{released}"


def _write_package(kitchen: Kitchen, act: Writer, one: ComingPackage, names: Mapping[str, str]) -> None:
    act.adopt_code(Code(one.code))
    act.add(
        "package",
        code=one.code,
        cut=one.cut,
        form=one.form,
        species=one.species,
        other_words=one.other_words,
        net_mg=one.unit_mg,
        pieces=one.pieces,
        packed_on=one.packed_on.isoformat(),
        first_frozen_on=one.first_frozen_on.isoformat(),
        times_frozen=one.times_frozen,
        wrap=one.wrap,
        seasoning=one.seasoning,
        fat_percent=one.fat_percent,
        added=one.added,
        note=one.note,
    )
    mixed = len(one.made_of) > 1 and one.unit_mg is not None
    weights = {(kind, name): share for kind, name, share in one.made_of}
    for kind, name in dict.fromkeys([*weights, *(("animal", code) for code in one.animals)]):
        share = weights.get((kind, name), 0.0)
        mass = max(1, round(share * (one.unit_mg or 0))) if mixed and share else None
        act.add("lineage", child=one.code, kind=kind, name=names[name] if kind == "animal" else name, mass_mg=mass)
    for why, since in one.holds:
        act.add("own_hold", code=one.code, why=why, since=since.isoformat())
    act.add(
        "label", code=one.code, stock="another", text=one.code, mask=None, banner=one.banner,
        printed_on=one.packed_on.isoformat(),
    )  # fmt: skip
    act.move(one.code, state=State.FROZEN, freezer_id=default_freezer(kitchen), place_id=None, delta=one.number)
