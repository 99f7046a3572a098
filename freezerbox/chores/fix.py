"""Correcting a record: one field, or two labels on each other's packs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date

from freezerbox.book import arrivals, journal, printouts, queries
from freezerbox.book.parentage import parts_of
from freezerbox.book.writer import Value, Writer
from freezerbox.chores.header import (
    find_animal,
    free_words,
    not_before_death,
    other_of,
    own_name,
    parse_fat,
    parse_pieces,
    parse_wrap,
    refuse_plain_with_more,
)
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.pack import Usual, doubt_of, read_weight, usual_pack
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.story import FIELD_WORDS, reassigned_words
from freezerbox.chores.take import find_row, read_day
from freezerbox.chores.wording import holds_words
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.lineage import animal_holds
from freezerbox.core.records import Animal, Package, Reason, State
from freezerbox.errors import InputError, InvalidDate, OutOfLine, Refused
from freezerbox.food import cuts

SWAPPED = (
    "cut", "form", "species", "other_words", "net_mg", "typed", "pieces", "packed_on", "first_frozen_on",
    "times_frozen", "wrap", "seasoning", "fat_percent", "added", "owner", "reserved_for", "note", "batch",
    "run_number", "run_size",
)  # fmt: skip
"""What a label says of the pack it was meant for; the place stays with the code that was scanned there."""
_DAYS = {"packed_on": "pack date", "first_frozen_on": "day of first freezing"}
"""Fields that go with a pack into what was split off it, and what people call them; the first that was corrected."""
MOST_NAMED = 6
"""So many parts of a lot in a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixed:
    """rows: after the correction.  message: in a line.  reprint: codes whose printed label is out of date."""

    rows: tuple[Row, ...]
    message: str
    reprint: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrections:
    """What to set, as typed; None for what stays.  An empty word clears a field that may be empty."""

    weight: str | None = None
    pieces: str | None = None
    cut: str | None = None
    form: str | None = None
    animal: str | None = None
    wrap: str | None = None
    fat: str | None = None
    seasoning: str | None = None
    note: str | None = None
    owner: str | None = None
    reserved_for: str | None = None
    packed: str | None = None
    first_frozen: str | None = None


@one_writer
def fix(kitchen: Kitchen, text: str, to: Corrections, *, yes: bool = False) -> Fixed:
    """Correct one package.

    Raises: InvalidCode; UnknownCode; InvalidMass, InvalidDate, UnknownWord, InputError for the values; OutOfLine for
    a doubtful weight without ``yes``; Refused for a void label or when nothing would change.
    """
    row = find_row(kitchen, text)
    if row.package.state.reason == "void":
        raise Refused(f"{show_code(row.code)} is void; there is nothing to correct.", code=row.code)
    if all(getattr(to, field.name) is None for field in fields(to)):
        raise InputError(f"Say what to correct, such as: freezerbox fix {show_code(row.code)} --weight 1.3", value="")
    if to.animal is not None and not to.animal.strip():
        raise InputError("Say which animal it came from, such as --animal 26B.", value=to.animal)
    if to.weight is not None and row.package.state.state is State.SPARE:
        raise Refused(
            f"{show_code(row.code)} is a label printed ahead; its first weight is given with: "
            f"freezerbox weigh {show_code(row.code)} {to.weight}",
            code=row.code,
        )
    animal = find_animal(kitchen, to.animal) if to.animal else None
    new = _new_values(kitchen, row, to, (animal,) if animal else row.animals, yes)
    package = row.package
    changed = {field: value for field, value in new.items() if value != _stored(package, field)}
    if animal and [one.code for one in row.animals] == [animal.code]:
        animal = None
    if not changed and animal is None:
        raise Refused(f"{show_code(row.code)} says that already; nothing was changed.", code=row.code)
    if animal:
        _refuse_a_part(kitchen, row, animal)
    if animal and not yes:
        _refuse_hold_in_silence(kitchen, row, animal)
    named = dict.fromkeys(FIELD_WORDS.get(field, field) for field in changed if field != "typed")
    if animal:
        named[reassigned_words([one.code for one in row.animals], [animal.code])] = None
    day = next((field for field in _DAYS if field in changed), "")
    along, apart = _parts(kitchen, row, day, changed) if day else ((), ())
    names = ", ".join(named) + (f"; with it the {_DAYS[day]} of {_parts_words(along)}" if along else "")
    with kitchen.book.act("fix", kitchen.today, words=f"corrected {show_code(row.code)}: {names}") as act:
        for field, value in changed.items():
            act.change("package", row.code, field, _stored(package, field), value)
        for part in along:
            _correct_along(act, package, part, changed)
        if animal:
            for row_id, kind in queries.lineage_rows(kitchen.book, row.code):
                if kind == "animal":
                    act.change("lineage", row_id, "void", 0, 1)
            act.add("lineage", child=row.code, kind="animal", name=animal.code, mass_mg=None)
            if package.species != animal.species:
                act.change("package", row.code, "species", package.species, animal.species)
    codes = [row.code, *(part.code for part in along)]
    fixed = _fixed(kitchen, codes, f"{show_code(row.code)}  corrected: {names}.{_apart_words(apart, day)}")
    if fixed.rows[0].holds and not row.holds:
        held = f" ON HOLD now: {holds_words(fixed.rows[0].holds, kitchen.today)}."
        return replace(fixed, message=fixed.message + held)
    return fixed


def _refuse_a_part(kitchen: Kitchen, row: Row, animal: Animal) -> None:
    """Raises: Refused for a part split off another pack: both are of one animal, which stands on that one."""
    for source in queries.lineage(kitchen.book, of=[row.code]).sources.get(row.code, ()):
        whole = queries.package(kitchen.book, source.name) if source.kind == "package" else None
        if whole is not None and whole.cut == row.package.cut and whole.batch == row.package.batch:
            raise Refused(
                f"{show_code(row.code)} was split off {show_code(whole.code)}, and both are of one animal. Correct "
                f"that one, and this follows: freezerbox fix {show_code(whole.code)} --animal {animal.code}",
                code=row.code,
            )


def _parts(
    kitchen: Kitchen, row: Row, day: str, changed: Mapping[str, Value]
) -> tuple[tuple[Package, ...], tuple[Package, ...]]:
    """What was split off a pack: those parts that go with it, and those that keep another day.

    ``day``: the field corrected.  Those go with it that say the same, unless they would be first frozen after they
    were packed.
    """
    parts = [
        part
        for part in queries.packages_by_code(kitchen.book, parts_of(kitchen.book, row.code))
        if part.state.reason is not Reason.VOID
    ]
    old, new = _stored(row.package, day), str(changed[day])
    along = [
        part
        for part in parts
        if _stored(part, day) == old and (day == "packed_on" or new <= part.packed_on.isoformat())
    ]
    apart = [part for part in parts if part not in along and _stored(part, day) != new]
    return tuple(along), tuple(apart)


def _correct_along(act: Writer, old: Package, part: Package, changed: Mapping[str, Value]) -> None:
    """Write the corrected days of what a part was split off into the part as well.  ``old``: that one before."""
    packed = str(changed.get("packed_on", part.packed_on.isoformat()))
    if "packed_on" in changed:
        act.change("package", part.code, "packed_on", part.packed_on.isoformat(), packed)
    frozen = part.first_frozen_on.isoformat()
    with_it = changed.get("first_frozen_on") if part.first_frozen_on == old.first_frozen_on else None
    first = min(str(with_it or frozen), packed)
    if first != frozen:
        act.change("package", part.code, "first_frozen_on", frozen, first)


def _parts_words(parts: Sequence[Package]) -> str:
    """``2 parts split off it``; of a few, which."""
    of = "what was" if len(parts) == 1 else f"{len(parts)} parts"
    few = f" ({', '.join(show_code(part.code) for part in parts)})" if len(parts) <= MOST_NAMED else ""
    return f"{of} split off it{few}"


def _apart_words(parts: Sequence[Package], day: str) -> str:
    """What is said of the parts that keep the day which was said of them; ``day``: its field."""
    if not parts:
        return ""
    days = [part.packed_on if day == "packed_on" else part.first_frozen_on for part in parts]
    told = zip(parts[:MOST_NAMED], days, strict=False)
    said = ", ".join(f"{show_code(part.code)} ({long_date(one)})" for part, one in told)
    more = f" and {len(parts) - MOST_NAMED} more" if len(parts) > MOST_NAMED else ""
    keep = f"keeps the {_DAYS[day]} that was" if len(parts) == 1 else f"keep the {_DAYS[day]} that was"
    return f" Split off it, {said}{more} {keep} said of {'it' if len(parts) == 1 else 'them'}."


def _refuse_hold_in_silence(kitchen: Kitchen, row: Row, animal: Animal) -> None:
    """Raises: OutOfLine when another animal would take the package off hold."""
    shown, before, after = show_code(row.code), row.holds, animal_holds(animal)
    if before and not after:
        raise OutOfLine(
            f"Nothing changed: {shown} is on hold ({holds_words(before, kitchen.today)}). As {animal.code}'s meat it "
            "would be on hold no longer, nor what was made of it. Add --yes if the animal really was the wrong one.",
            code=row.code,
        )


@one_writer
def swap(kitchen: Kitchen, one: str, other: str) -> Fixed:
    """Exchange the records of two packages whose labels went onto each other's packs.

    Places stay: it is the labels that are scanned there.  Raises: InvalidCode; UnknownCode; Refused when either is
    not in the freezer, both are the same, or their records are.
    """
    first, second = find_row(kitchen, one), find_row(kitchen, other)
    if first.code == second.code:
        raise Refused("Those are the same label; two are needed.", code=first.code)
    for row in (first, second):
        if row.package.state.state is not State.FROZEN:
            raise Refused(
                f"{show_code(row.code)} is not in the freezer; only packs there can be swapped.", code=row.code
            )
        if row.package.state.quantity != 1:
            raise Refused(f"{show_code(row.code)} is a lot; only single packs can be swapped.", code=row.code)
    words = f"swapped {show_code(first.code)} and {show_code(second.code)}"
    rows = {row.code: queries.lineage_rows(kitchen.book, row.code) for row in (first, second)}
    differing = [field for field in SWAPPED if _stored(first.package, field) != _stored(second.package, field)]
    if not differing and not any(rows.values()):
        raise Refused("Both records say the same; there is nothing to exchange.", code=first.code)
    with kitchen.book.act("swap", kitchen.today, words=words) as act:
        for field in differing:
            mine, theirs = _stored(first.package, field), _stored(second.package, field)
            act.change("package", first.code, field, mine, theirs)
            act.change("package", second.code, field, theirs, mine)
        for here, there in ((first.code, second.code), (second.code, first.code)):
            for row_id, _kind in rows[here]:
                act.change("lineage", row_id, "child", here, there)
    fixed = _fixed(kitchen, [first.code, second.code], f"{words}: each record follows its label now.")
    if holds_words(first.holds, kitchen.today) == holds_words(second.holds, kitchen.today):
        return fixed
    return replace(fixed, message=" ".join([fixed.message, *(_held_now(kitchen, row) for row in fixed.rows)]))


def _held_now(kitchen: Kitchen, row: Row) -> str:
    """Of two packs that were taken for each other, whether this one is held."""
    if row.holds:
        return f"ON HOLD is {show_code(row.code)} ({holds_words(row.holds, kitchen.today)})."
    return f"Not on hold is {show_code(row.code)}."


def _fixed(kitchen: Kitchen, codes: list[str], message: str) -> Fixed:
    kitchen = kitchen.afresh()
    labelled = printouts.printed_labels(kitchen.book)
    return Fixed(
        rows=Rows(kitchen).of_codes(codes),
        message=message,
        reprint=tuple(code for code in codes if code in labelled),
    )


def _new_values(
    kitchen: Kitchen, row: Row, to: Corrections, animals: Sequence[Animal], yes: bool
) -> Mapping[str, Value]:
    new: dict[str, Value] = {}
    if to.weight is not None:
        new["net_mg"], new["typed"] = read_weight(kitchen, to.weight), to.weight
    if to.cut is not None or to.form is not None:
        new |= _new_cut(kitchen, row, to)
    if to.pieces is not None:
        new["pieces"] = parse_pieces(to.pieces) if to.pieces else None
    if to.fat is not None:
        new["fat_percent"] = percent = parse_fat(to.fat) if to.fat else None
        refuse_plain_with_more(percent, row.package.added)
    if to.wrap is not None:
        new["wrap"] = parse_wrap(to.wrap) if to.wrap else ""
    for field in ("seasoning", "note", "owner", "reserved_for"):
        value = getattr(to, field)
        if value is not None:
            new[field] = free_words(field, value)
    new.update(_days(kitchen, row, to, animals))
    mg = new.get("net_mg")
    if isinstance(mg, int) and not yes:
        doubt = doubt_of(kitchen, mg, [], row.cut_name, _usual(row))
        if doubt:
            raise OutOfLine(f"Nothing changed: {doubt}. Add --yes if the scale really says so.", doubts=[doubt])
    return new


def _new_cut(kitchen: Kitchen, row: Row, to: Corrections) -> dict[str, Value]:
    package = row.package
    species = cuts.species(package.species) if package.species else None
    cut, form = cuts.cut(package.cut), cuts.form(package.form) if package.form else None
    other = package.other_words
    if to.cut is not None:
        named, words = other_of(to.cut)
        found = cuts.resolve_cut(named, species, kitchen.own_words)
        cut, form = found.cut, found.form or form
        other = free_words("other_words", words or own_name(found, named)) or (other if cut.key == "other" else "")
    if cut.key == "other" and not other:
        raise InputError(
            f'Say what it is: freezerbox fix {show_code(row.code)} --cut "other chili"', value=to.cut or to.form
        )
    if to.form is not None:
        form = cuts.resolve_form(to.form) if to.form else None
    return {"cut": cut.key, "form": form.key if form else "", "other_words": other}


def _days(kitchen: Kitchen, row: Row, to: Corrections, animals: Sequence[Animal]) -> dict[str, Value]:
    package = row.package
    packed = read_day(kitchen, to.packed) if to.packed else package.packed_on
    packed = not_before_death(to.packed or "", packed, animals, today=kitchen.today)
    if to.first_frozen:
        first = read_day(kitchen, to.first_frozen)
        first = not_before_death(to.first_frozen, first, animals, today=kitchen.today)
    else:
        first = packed if package.first_frozen_on == package.packed_on else package.first_frozen_on
    if first > packed:
        raise InvalidDate(
            f"First frozen on {long_date(first)} would be after packed on {long_date(packed)}.",
            value=to.first_frozen or to.packed,
        )
    if packed != package.packed_on:
        _refuse_after_a_step(kitchen, row, packed)
    for animal in animals:
        if animal.killed_on and first < animal.killed_on:
            raise InvalidDate(
                f"First frozen on {long_date(first)} would be before {animal.code} was killed on "
                f"{long_date(animal.killed_on)}.",
                value=to.first_frozen or to.packed or to.animal,
            )
    return {"packed_on": packed.isoformat(), "first_frozen_on": first.isoformat()}


def _refuse_after_a_step(kitchen: Kitchen, row: Row, packed: date) -> None:
    """Raises: Refused when something was done with it before the day it is to be packed on."""
    before = arrivals.first_against(kitchen.book, row.code, packed)
    act = journal.act(kitchen.book, before.act_id) if before else None
    if before and act:
        raise Refused(
            f"{show_code(row.code)} cannot be packed on {long_date(packed)}: it was there on "
            f"{long_date(before.happened_on)} (act {act.id}, {act.words}). One of the two days is wrong.",
            code=row.code,
            act=act.id,
        )


def _usual(row: Row) -> Usual | None:
    species = cuts.species(row.package.species) if row.package.species else None
    return usual_pack(cuts.cut(row.package.cut), species)


def _stored(package: Package, field: str) -> Value:
    value: str | int | date | None = getattr(package, field)
    return value.isoformat() if isinstance(value, date) else value
