"""Reading a handover file: every value looked at before any of it is believed."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from freezerbox.chores.export import read_text
from freezerbox.chores.naming import same_name
from freezerbox.core.code import is_valid
from freezerbox.core.mass import LARGEST_MG
from freezerbox.core.records import AnimalTest, TestResult
from freezerbox.errors import FaultyFile, FreezerboxError, InputError
from freezerbox.food import cuts
from freezerbox.food.called import COLLECTIVE

MOST_WORDS = 200
MOST_NUMBER = 999


@dataclass(frozen=True, slots=True, kw_only=True)
class LetGo:
    """An own hold that stands no more in the other book.  why, since: which.  on: its end; None for not said."""

    why: str
    since: date
    on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ComingPackage:
    """A package as the file tells of it.

    number: how many of it went over.  animals: their codes in the other book.  made_of: kind (``animal`` or
    ``bought``), name and share by weight, as far as known.  holds: own holds on it, why and since when.
    lifted: those that stood on it once and stand there no more.
    banner: what its label is likely to say of a hold; "" for none.  The rest as in ``Package``; unit_mg of one.
    """

    code: str
    number: int
    cut: str
    form: str
    species: str
    other_words: str
    unit_mg: int | None
    pieces: int | None
    packed_on: date
    first_frozen_on: date
    times_frozen: int
    wrap: str
    seasoning: str
    fat_percent: int | None
    added: str
    note: str
    animals: tuple[str, ...]
    made_of: tuple[tuple[str, str, float], ...]
    holds: tuple[tuple[str, date], ...]
    lifted: tuple[LetGo, ...]
    banner: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ComingAnimal:
    """An animal as the file tells of it.  uid: what tells it from any other in any book.  holds: why, since when.
    lifted: own holds that stand no more.
    """

    code: str
    uid: str
    species: str
    sex_age: str
    what: str
    killed_on: date | None
    processed_on: date | None
    tag: str
    tests: tuple[AnimalTest, ...]
    holds: tuple[tuple[str, date], ...]
    lifted: tuple[LetGo, ...]

    @property
    def words(self) -> str:
        """``whitetail doe``: what people call it, without its code."""
        return " ".join(
            part for part in (self.what or cuts.species(self.species).label_name.lower(), self.sex_age) if part
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """One person's part of a file.  giver: who gave; "" when not said.  notice: it only tells what is known now.

    on: the day it was written; None when not said.
    """

    giver: str
    on: date | None
    notice: bool
    packages: tuple[ComingPackage, ...]
    animals: tuple[ComingAnimal, ...]


def read_handover(file: Path, who: str = "") -> Coming:
    """The part of the file that is for ``who``, or the only one.

    Raises: FaultyFile for what is no handover, saying where; InputError when it is for several and ``who`` names none
    of them; what reading the file raises.
    """
    text = read_text(file)
    try:
        found: object = json.loads(text)
        whole = _Entry(found, "the file")
        parts = [_Entry(one, "the file") for one in whole.items("handovers")] if "handovers" in whole.of else [whole]
        for part in parts:
            if part.whole("handover", 1, 1) != 1:
                raise _Fault("this is no handover file that this program knows")
        chosen = _chosen(file, parts, who)
        coming = Coming(
            giver=chosen.text("from"),
            on=chosen.day("on"),
            notice=chosen.of.get("notice") is True,
            packages=tuple(
                _package(_Entry(one, f"package {number}"))
                for number, one in enumerate(chosen.items("packages"), start=1)
            ),
            animals=tuple(
                _animal(_Entry(one, f"animal {number}"))
                for number, one in enumerate(chosen.items("animals"), start=1)
            ),
        )
        if fault := _unnamed(coming.packages, coming.animals):
            raise _Fault(fault)
        return coming
    except json.JSONDecodeError as error:
        raise FaultyFile(
            f"Nothing taken in: {file.name} is no JSON (line {error.lineno}, column {error.colno}).",
            faults=[f"line {error.lineno}: {error.msg}"],
        ) from error
    except (RecursionError, ValueError) as error:
        raise FaultyFile(
            f"Nothing taken in: {file.name} is no JSON that can be read.", faults=[str(error)]
        ) from error
    except _Fault as error:
        raise FaultyFile(f"Nothing taken in: in {file.name}, {error}.", faults=[str(error)]) from error


class _Fault(Exception):
    """What is wrong, and where."""


class _Entry:
    """One object of the file, with where it stands."""

    def __init__(self, value: object, where: str) -> None:
        if not isinstance(value, dict):
            raise _Fault(f"{where} is not an object")
        self.of: dict[str, object] = value
        self.where = where

    def items(self, key: str) -> list[object]:
        found = self.of.get(key)
        if not isinstance(found, list):
            raise _Fault(f"{self.where} has no list of {key.replace('_', ' ')}")
        return found

    def text(self, key: str) -> str:
        found = self.of.get(key)
        if found is None:
            return ""
        if not isinstance(found, str) or len(found) > MOST_WORDS or not (found.isprintable() or not found):
            raise _Fault(f"{key} of {self.where} is not a line of words")
        return " ".join(found.split())

    def needed(self, key: str) -> str:
        found = self.text(key)
        if not found:
            raise _Fault(f"{self.where} has no {key.replace('_', ' ')}")
        return found

    def day(self, key: str) -> date | None:
        found = self.text(key)
        try:
            return date.fromisoformat(found) if found else None
        except ValueError:
            raise _Fault(f"{key} of {self.where}, {found!r}, is not a day such as 2026-11-21") from None

    def that_day(self, key: str) -> date:
        found = self.day(key)
        if found is None:
            raise _Fault(f"{self.where} has no {key.replace('_', ' ')}")
        return found

    def number(self, key: str, least: float, most: float) -> float | None:
        found = self.of.get(key)
        if found is None:
            return None
        if isinstance(found, bool) or not isinstance(found, int | float) or not least <= found <= most:
            raise _Fault(f"{key} of {self.where} is not a number from {least:g} to {most:g}")
        return found

    def whole(self, key: str, least: int, most: int) -> int | None:
        found = self.number(key, least, most)
        if found is not None and found != int(found):
            raise _Fault(f"{key} of {self.where} is not a whole number")
        return None if found is None else int(found)


def _chosen(file: Path, parts: Sequence[_Entry], who: str) -> _Entry:
    names = [part.text("to") for part in parts]
    wanted = who.strip()
    fitting = [part for part, name in zip(parts, names, strict=True) if not wanted or same_name(name, wanted)]
    if len(fitting) != 1:
        known = ", ".join(name or "nobody named" for name in names)
        raise InputError(f"{file.name} is for: {known}. Say whose part it is: --for NAME", value=who)
    return fitting[0]


def _own_name(cut_name: str, cut: cuts.Cut, form: str) -> str:
    """What they call it, when that says more than the cut's own name."""
    if cut.key == "other" or (cut.keeps_as in COLLECTIVE and not cut_name.startswith(cut.name)):
        return cut_name
    try:
        said = cuts.resolve_cut(cut_name, None)
    except FreezerboxError:
        return ""
    return cut_name if said.called and said.cut == cut and (said.form is None or said.form.key == form) else ""


def _package(one: _Entry) -> ComingPackage:
    code = one.needed("code")
    if not is_valid(code) or not code[0].isalpha():
        raise _Fault(f"{code!r} is not a package's code")
    where = f"package {code}"
    one = _Entry(one.of, where)
    cut, form, species = one.needed("cut"), one.text("form"), one.text("species")
    try:
        found = cuts.cut(cut)
        if form:
            cuts.form(form)
        if species:
            cuts.species(species)
    except FreezerboxError as error:
        raise _Fault(f"{where} is of a later program, or damaged: {error.message.rstrip('.')}") from error
    unit_g = one.number("unit_g", 0, LARGEST_MG / 1000)
    batch = one.text("batch")
    notes = [one.text("note"), f"their batch {batch}" if batch else ""]
    holds = [_Entry(hold, where) for hold in one.items("holds")]
    animals = tuple(dict.fromkeys(_word(name, where) for name in one.items("animals")))
    return ComingPackage(
        code=code,
        number=one.whole("number", 1, MOST_NUMBER) or 1,
        cut=found.key,
        form=form,
        species=species,
        other_words=_own_name(one.text("cut_name"), found, form),
        unit_mg=round(unit_g * 1000) or None if unit_g else None,
        pieces=one.whole("pieces", 1, MOST_NUMBER),
        packed_on=one.that_day("packed_on"),
        first_frozen_on=one.that_day("first_frozen_on"),
        times_frozen=one.whole("times_frozen", 1, 9) or 1,
        wrap=one.text("wrap"),
        seasoning=one.text("seasoning"),
        fat_percent=one.whole("fat_percent", 0, 100),
        added=one.text("added"),
        note="; ".join(note for note in notes if note),
        animals=animals,
        made_of=tuple(_origin(_Entry(part, where)) for part in one.items("made_of")),
        # What holds its animal comes with the animal; the rest stays on the package.
        holds=tuple(
            (hold.needed("why"), hold.that_day("since"))
            for hold in holds
            if hold.text("kind") == "own" and hold.text("of").upper() not in animals
        ),
        lifted=_lifted(one),
        banner=holds[0].needed("why").upper() if holds else "",
    )


def _origin(part: _Entry) -> tuple[str, str, float]:
    kind = part.needed("kind")
    if kind not in ("animal", "bought"):
        raise _Fault(f"{part.where} is made of a {kind!r}")
    name = part.needed("name")
    return kind, name.upper() if kind == "animal" else name, part.number("share", 0, 1) or 0.0


def _animal(one: _Entry) -> ComingAnimal:
    code = one.needed("code")
    one = _Entry(one.of, f"animal {code}")
    species = one.needed("species")
    try:
        cuts.species(species)
    except FreezerboxError as error:
        raise _Fault(f"{one.where} is of a later program, or damaged: {error.message.rstrip('.')}") from error
    return ComingAnimal(
        code=code.upper(),
        uid=one.needed("uid"),
        species=species,
        sex_age=one.text("sex_age"),
        what=one.text("what"),
        killed_on=one.day("killed_on"),
        processed_on=one.day("processed_on"),
        tag=one.text("tag"),
        tests=tuple(_test(_Entry(test, f"a test of {one.where}")) for test in one.items("tests")),
        holds=tuple(
            (hold.needed("why"), hold.that_day("since"))
            for hold in (_Entry(each, one.where) for each in one.items("holds"))
        ),
        lifted=_lifted(one),
    )


def _lifted(one: _Entry) -> tuple[LetGo, ...]:
    """Holds let go; none in a file that says nothing of them."""
    found = (_Entry(each, one.where) for each in (one.items("lifted") if "lifted" in one.of else ()))
    return tuple(
        LetGo(why=each.needed("why"), since=each.that_day("since"), on=each.day("released_on")) for each in found
    )


def _test(one: _Entry) -> AnimalTest:
    result = one.needed("result")
    if result not in set(TestResult):
        raise _Fault(f"{one.where} has the result {result!r}")
    return AnimalTest(
        id=0,
        what_for=one.text("what_for"),
        sample=one.text("sample"),
        sent_on=one.that_day("sent_on"),
        result=TestResult(result),
        result_on=one.day("result_on"),
        released_on=one.day("released_on"),
        released_why=one.text("released_why"),
    )


def _word(value: object, where: str) -> str:
    if not isinstance(value, str) or not value.strip() or len(value) > MOST_WORDS:
        raise _Fault(f"{where} names an animal that is no code")
    return value.strip().upper()


def _unnamed(packages: Iterable[ComingPackage], animals: Iterable[ComingAnimal]) -> str:
    """An animal that a package names and the file says nothing of; "" when there is none."""
    known = {animal.code for animal in animals}
    for package in packages:
        named = [*package.animals, *(name for kind, name, _ in package.made_of if kind == "animal")]
        for name in named:
            if name not in known:
                return f"{package.code} is of an animal {name} that the file says nothing of"
    return ""
