"""What is learnt of an animal after it was added: weights, costs, who and where, shot damage, another test."""

from __future__ import annotations

from dataclasses import dataclass, fields
from itertools import pairwise

from freezerbox.book.writer import Value
from freezerbox.chores.animals import refuse_sample_of_another
from freezerbox.chores.header import find_animal
from freezerbox.chores.holding import find_batch
from freezerbox.chores.inputs import parse_money
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.naming import same_name
from freezerbox.chores.take import read_day
from freezerbox.core.dates import long_date
from freezerbox.core.mass import LARGEST_MG, parse_mass
from freezerbox.core.records import Animal, AnimalTest, TestResult
from freezerbox.errors import InputError, InvalidDate, OutOfLine, Refused, UnknownWord
from freezerbox.food.tests import same_disease

AMMUNITION = ("lead", "not lead", "arrow")
HIDES = ("on", "off")
HEAVIEST_MG = 5 * LARGEST_MG
_STAGES = (("live_mg", "live"), ("dressed_mg", "dressed"), ("hanging_mg", "hanging"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What to set, as typed; None for what stays, "" to clear a word."""

    live: str | None = None
    dressed: str | None = None
    hanging: str | None = None
    hide: str | None = None
    killed: str | None = None
    processed: str | None = None
    taken_by: str | None = None
    taken_at: str | None = None
    ammunition: str | None = None
    wound: str | None = None
    taste: str | None = None
    tag: str | None = None
    note: str | None = None


@one_writer
def set_facts(kitchen: Kitchen, code: str, to: Facts, *, yes: bool = False) -> Animal:
    """Record what was learnt of an animal: one act.

    Raises: UnknownRecord; InvalidMass, InvalidDate, UnknownWord for the values; InputError when nothing is said;
    OutOfLine when a later stage weighs more than an earlier one and ``yes`` does not say so; Refused when the book
    says all of it already.
    """
    animal = find_animal(kitchen, code)
    if all(getattr(to, one.name) is None for one in fields(to)):
        raise InputError(
            f"Say what to record, such as: freezerbox animal set {animal.code} --dressed 93 --hanging 79 --hide off",
            value=code,
        )
    new = _new_values(kitchen, to)
    _check_days(animal, new, to)
    if not yes:
        _check_weights(kitchen, animal, new)
    changed = {field: value for field, value in new.items() if value != _stored(animal, field)}
    if not changed:
        raise Refused(f"The book says that of {animal.code} already; nothing was changed.", code=animal.code)
    names = ", ".join(field.removesuffix("_mg").replace("_", " ") for field in changed)
    with kitchen.book.act("animal", kitchen.today, words=f"recorded of {animal.code}: {names}") as act:
        for field, value in changed.items():
            act.change("animal", animal.id, field, _stored(animal, field), value)
    return find_animal(kitchen, animal.code)


@one_writer
def add_cost(kitchen: Kitchen, code: str, what: str, money: str) -> int:
    """Record money spent on an animal or a batch; returns all it cost so far, in hundredths.

    Raises: UnknownRecord; InputError for a sum that is none, or no words for it.
    """
    batch = find_batch(kitchen, code)
    of = batch.code if batch else find_animal(kitchen, code).code
    kind = "batch" if batch else "animal"
    cents, words = parse_money(money), " ".join(what.split())
    if not words:
        raise InputError(f"Say what it was for: freezerbox animal cost {of} processing 85", value=what)
    with kitchen.book.act("animal", kitchen.today, words=f"{of} cost {cents / 100:.2f} for {words}") as act:
        act.add("cost", subject_kind=kind, subject=of, what=words, cents=cents)
    from freezerbox.book import origins

    return sum(cost.cents for cost in origins.costs(kitchen.book, kind, of))


@one_writer
def add_test(
    kitchen: Kitchen, code: str, *, sample: str = "", what_for: str = "", sent: str = "", yes: bool = False
) -> Animal:
    """Record that a sample of an animal waits for its result: all its meat is held until then.

    A test that waits already and has no number, or does not say what it is for, is given what is said now.

    Raises: UnknownRecord; Refused for a sample number the animal has already, or for a second test that could not be
    told from the first; InvalidDate; OutOfLine for another animal's sample number, and not ``yes``.
    """
    animal = find_animal(kitchen, code)
    number = " ".join(sample.split())
    if number and any(same_name(test.sample, number) for test in animal.tests):
        raise Refused(f"{animal.code} has sample {number} already.", code=animal.code, sample=number)
    if not yes:
        refuse_sample_of_another(kitchen, animal.code, number)
    day = read_day(kitchen, sent)
    if animal.killed_on and day < animal.killed_on:
        raise InvalidDate(
            f"Sent on {long_date(day)}, before {animal.code} was killed on {long_date(animal.killed_on)}. "
            "One of the two days is wrong.",
            value=sent,
        )
    named = " ".join(what_for.split())
    same = next((test for test in animal.tests if _may_be(animal, test, number, named)), None)
    if same is not None:
        new = {"sample": (same.sample, number), "what_for": (same.what_for, same.what_for or named)}
        if sent:
            new["sent_on"] = (same.sent_on.isoformat(), day.isoformat())
        changed = {field: (old, value) for field, (old, value) in new.items() if value and value != old}
        if not changed:
            raise Refused(
                f"{animal.code} waits for that test already, sent {long_date(same.sent_on)}. A second one needs its "
                f"own number or name: freezerbox animal test {animal.code} --sample NUMBER --for WHAT",
                code=animal.code,
            )
        words = f"recorded of {animal.code}'s test: {', '.join(changed).replace('_', ' ')}"
        with kitchen.book.act("animal", kitchen.today, words=words) as act:
            for field, (old, value) in changed.items():
                act.change("animal_test", same.id, field, old, value)
        return find_animal(kitchen, animal.code)
    with kitchen.book.act("animal", kitchen.today, words=f"{animal.code}: test pending") as act:
        act.add(
            "animal_test",
            animal_id=animal.id,
            what_for=named,
            sample=number,
            sent_on=day.isoformat(),
            result=TestResult.PENDING.value,
            result_on=None,
        )
    return find_animal(kitchen, animal.code)


def _may_be(animal: Animal, test: AnimalTest, number: str, what_for: str) -> bool:
    """Whether what is said now may be of this waiting test: nothing that it says is contradicted."""
    if test.result is not TestResult.PENDING or (number and test.sample):
        return False
    if test.sample and what_for and not test.what_for:
        return False  # numbered, and now another thing is named: a second test
    return not (what_for and test.what_for) or same_disease(animal.species, test.what_for, what_for)


def _new_values(kitchen: Kitchen, to: Facts) -> dict[str, Value]:
    new: dict[str, Value] = {}
    for field, name in _STAGES:
        text = getattr(to, name)
        if text is not None:
            new[field] = parse_mass(text, unit=kitchen.unit, most_mg=HEAVIEST_MG) if text else None
    for field, text in (("killed_on", to.killed), ("processed_on", to.processed)):
        if text is not None:
            new[field] = read_day(kitchen, text).isoformat() if text else None
    if to.hide is not None:
        new["hide"] = _one_of(to.hide, HIDES, "the hide; it is on or off")
    if to.ammunition is not None:
        new["ammunition"] = _one_of(to.ammunition.replace("-", " "), AMMUNITION, "ammunition")
    for field, text in (
        ("taken_by", to.taken_by),
        ("taken_at", to.taken_at),
        ("wound_note", to.wound),
        ("taste", to.taste),
        ("tag", to.tag),
        ("note", to.note),
    ):
        if text is not None:
            new[field] = " ".join(text.split())
    return new


def _one_of(text: str, known: tuple[str, ...], what: str) -> str:
    words = " ".join(text.lower().split())
    if words and words not in known:
        raise UnknownWord(f"{text!r} is no word for {what}. Give one of: {', '.join(known)}.", word=text, near=known)
    return words


def _check_days(animal: Animal, new: dict[str, Value], to: Facts) -> None:
    killed = new.get("killed_on", _stored(animal, "killed_on"))
    processed = new.get("processed_on", _stored(animal, "processed_on"))
    if killed and processed and str(processed) < str(killed):
        raise InvalidDate(
            f"Processed on {processed}, before it was killed on {killed}. One of the two days is wrong.",
            value=to.processed or to.killed,
        )


def _check_weights(kitchen: Kitchen, animal: Animal, new: dict[str, Value]) -> None:
    weights = [(name, new.get(field, _stored(animal, field))) for field, name in _STAGES]
    known = [(name, mg) for name, mg in weights if isinstance(mg, int)]
    for (earlier, before), (later, after) in pairwise(known):
        if after > before:
            raise OutOfLine(
                f"Nothing changed: {kitchen.mass(after)} {later} is more than {kitchen.mass(before)} {earlier}. "
                "Give them again, or add --yes if the scale really says so.",
                doubts=[later],
            )


def _stored(animal: Animal, field: str) -> Value:
    value: object = getattr(animal, field)
    return value.isoformat() if hasattr(value, "isoformat") else value  # type: ignore[return-value]
