"""Taking in packages whose labels exist already: spare codes written by hand, a friend's gift, a lost book.

A label's symbol carries its own record, so a label this book does not know becomes a record from what it says; what
a symbol cannot carry is listed as not known.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from freezerbox.book import queries
from freezerbox.book.writer import Writer
from freezerbox.chores.header import Header, Words, species_here, understand
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.photos import CloseLook, sightings_closely
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.symbols import known_symbols
from freezerbox.chores.take import read_code, read_day, refuse_gone
from freezerbox.chores.wording import count
from freezerbox.core.code import LENGTH, Code, show_code
from freezerbox.core.mass import parse_mass
from freezerbox.core.records import Package, State
from freezerbox.core.symbol import SymbolRecord, read_symbol
from freezerbox.errors import FreezerboxError, InputError, InvalidCode, Refused, UnknownWord
from freezerbox.food import cuts

NOT_CARRIED = (
    "holds", "how many a lot holds", "times frozen", "fat", "seasoning", "what was added", "wrap", "note", "owner",
    "batch", "place",
)  # fmt: skip
"""What a label's symbol does not say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the person says of the packages; "" for what the label, or nobody, says.

    words: header words; its cut may be empty.  weight: of each.  on: the day they came, today when not said.
    """

    words: Words
    weight: str = ""
    on: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Adopted:
    """What was taken in.

    rows: the packages.  refused: codes and why.  from_symbol: codes whose record came from their symbol.
    animals: codes of animals that were entered because labels name them.  apart: codes whose label names an animal
    of this book's code that is another's, and the animal's code.  looks: what each photograph came to.
    bars_only: codes of labels of which only the bars read; not taken in.
    """

    rows: tuple[Row, ...]
    refused: tuple[tuple[str, FreezerboxError], ...]
    from_symbol: tuple[str, ...]
    animals: tuple[str, ...]
    apart: tuple[tuple[str, str], ...]
    looks: tuple[CloseLook, ...] = ()
    bars_only: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wanted:
    """One label to take in.  text: what it says.  spare: its record, when this book printed it ahead.

    record: from its symbol; None when it was typed, or says no more than its code.
    """

    code: Code
    text: str
    spare: Package | None
    record: SymbolRecord | None


@one_writer
def adopt(kitchen: Kitchen, texts: Sequence[str], known: Known, *, request_id: str | None = None) -> Adopted:
    """Take in the labels that ``texts`` name: codes typed, or symbols scanned whole; all as one act.

    A spare label of this book becomes what ``known`` says.  A label this book does not know keeps its code.  What
    neither the symbol nor ``known`` says of the cut makes it a mystery pack.

    Raises: InputError for no codes; UnknownWord, AmbiguousWord, UnknownRecord, InvalidDate for ``known``; for a
    single one what refused it.
    """
    if not texts:
        raise InputError("Say which: codes, or --photo FILE. Such as: freezerbox adopt K7P-3MT --cut shank", value="")
    mass = parse_mass(known.weight, unit=kitchen.unit) if known.weight else None
    plain = replace(known.words, cut=known.words.cut or "mystery")
    wanted: dict[str, _Wanted] = {}
    refused: list[tuple[str, FreezerboxError]] = []
    for text in texts:
        try:
            one = _wanted(kitchen, text)
            wanted.setdefault(one.code, one)
        except FreezerboxError as error:
            if len(texts) == 1:
                raise
            refused.append((text, error))
    if not wanted:
        return Adopted(rows=(), refused=tuple(refused), from_symbol=(), animals=(), apart=())
    # What its label was printed ahead for tells the animal; else the book may have one animal only that has this cut.
    of_spares = dict.fromkeys(one.spare.species for one in wanted.values() if one.spare and one.spare.species)
    likely = tuple(map(cuts.species, of_spares)) or species_here(kitchen)
    header = understand(kitchen, _dated(known, plain), likely)
    pen = _Pen(kitchen, known, header, mass)
    words = f"took in {count(len(wanted), 'package')}: {', '.join(show_code(code) for code in list(wanted)[:3])}"
    words += " and others" if len(wanted) > 3 else ""
    # A label cannot be filled before it was printed, whenever what it is stuck on was frozen.
    printed = [one.spare.state.since for one in wanted.values() if one.spare is not None]
    day = max([read_day(kitchen, known.on), *printed])
    with kitchen.book.act("adopt", day, request_id=request_id, words=words) as act:
        for one in wanted.values():
            pen.write(act, one)
    return Adopted(
        rows=Rows(kitchen.afresh()).of_codes(list(wanted)),
        refused=tuple(refused),
        from_symbol=tuple(one.code for one in wanted.values() if one.record is not None and one.spare is None),
        animals=tuple(pen.entered),
        apart=tuple(pen.apart),
    )


def adopt_photos(
    kitchen: Kitchen, files: Sequence[Path], known: Known, tell: Callable[[CloseLook], None] = lambda look: None
) -> Adopted:
    """Take in every label in the photographs that this book does not know; those it knows are left as they are.

    Nothing tells what may be in them, so each is looked at with all there is.  What was seen and not read is counted;
    a label of which the bars read and the square did not names a code and nothing more: it is told, and taken in only
    when ``known`` says what it is.  ``tell``: is told of each photograph when it is done.

    Raises: InputError for a file that is no picture; Refused when no such label is in view.
    """
    seen, looks = sightings_closely(files, known_symbols(kitchen), tell)
    new = [one for one in seen if queries.package(kitchen.book, one.code) is None]
    whole = [one.text for one in new if known.words.cut or _has_record(one.text)]
    bars = tuple(one.code for one in new if one.text not in whole)
    unread = sum(look.unread for look in looks)
    if not whole:
        raise Refused(_nothing_new(len(seen), bars, unread), unread=unread, bars_only=list(bars))
    return replace(adopt(kitchen, whole, known), looks=looks, bars_only=bars)


def _has_record(text: str) -> bool:
    try:
        return read_symbol(text)[1] is not None
    except InvalidCode:
        return False


def _nothing_new(seen: int, bars: Sequence[str], unread: int) -> str:
    closer = f" {unread_words(unread)}" if unread else ""
    if bars:
        return f"{bars_words(bars)}{closer}"
    if seen:
        return f"{count(seen, 'label')} in the photographs, and the book knows all of them.{closer}"
    return f"No label reads in these photographs.{closer or ' Come nearer, or spread the packs out.'}"


def unread_words(unread: int) -> str:
    """That labels were seen that do not read, and what to do."""
    it = "it" if unread == 1 else "them"
    return f"{count(unread, 'label')} seen that could not be read: wipe the frost off and photograph {it} closer."


def bars_words(codes: Sequence[str]) -> str:
    """That of some labels only the bars read, and what to do."""
    return (
        f"Only the bars read of {', '.join(show_code(code) for code in codes)}, which say the code and no more: "
        f"photograph the square closer, or say what it is: freezerbox adopt {show_code(codes[0])} --cut CUT"
    )


def _dated(known: Known, words: Words) -> Words:
    if not known.on:
        return words
    return replace(words, packed=words.packed or known.on)


def _wanted(kitchen: Kitchen, text: str) -> _Wanted:
    bare = text.strip("\r\n\t")
    try:
        code, record = read_symbol(bare.upper()) if len(bare) > LENGTH else (None, None)
    except InvalidCode:
        code, record = None, None
    code = code or Code(read_code(kitchen, text))
    if not code[0].isalpha():
        raise InvalidCode(f"{show_code(code)} is a sign's or a card's code, not a package's.", value=text)
    package = queries.package(kitchen.book, code)
    if package is None:
        return _Wanted(code=code, text=bare.upper() if record else code, spare=None, record=record)
    row = Rows(kitchen).row(package)
    refuse_gone(kitchen, row)
    if package.state.state is not State.SPARE:
        raise Refused(
            f"{show_code(code)} is in the book already: {row.cut_name}, {row.where or 'place not said'}. "
            f"To correct it: freezerbox fix {show_code(code)}",
            code=code,
        )
    return _Wanted(code=code, text=code, spare=package, record=record)


class _Pen:
    """Writes the records; remembers the animals it entered."""

    def __init__(self, kitchen: Kitchen, known: Known, header: Header, mass: int | None) -> None:
        self.kitchen, self.known, self.header, self.mass = kitchen, known, header, mass
        self.entered: list[str] = []
        self.apart: list[tuple[str, str]] = []
        self._rows = Rows(kitchen)

    def write(self, act: Writer, one: _Wanted) -> None:
        if one.spare is not None:
            self._fill(act, one.spare)
            return
        record = one.record
        act.adopt_code(one.code)
        header, said = self.header, bool(self.known.words.cut)
        cut = header.cut.key if said or record is None else self._cut(record)
        form = header.form.key if header.form else ""
        species = header.species.key if header.species else ""
        frozen, packed, note = header.first_frozen_on, header.packed_on, header.note
        if record is not None:
            form = form or (self._form(record) if not said else "")
            species = species or self._species(record)
            if record.packed_on and record.packed_on <= self.kitchen.today and not self._day_said():
                frozen = packed = record.packed_on
        animal, apart = self._animal(act, one, species) if record is not None else ("", "")
        note = " ".join(part for part in (note, apart) if part)
        act.add(
            "package",
            code=one.code,
            cut=cut,
            form=form,
            species=species,
            other_words=header.other_words if cut == header.cut.key else "",
            net_mg=self.mass if self.mass or record is None else record.net_mg,
            typed=self.known.weight,
            pieces=header.pieces or (record.pieces if record else None),
            packed_on=packed.isoformat(),
            first_frozen_on=frozen.isoformat(),
            times_frozen=header.times_frozen,
            wrap=header.wrap,
            seasoning=header.seasoning,
            fat_percent=header.fat_percent,
            added=header.added,
            owner=header.owner,
            reserved_for=header.reserved_for,
            note=note,
        )
        for code in dict.fromkeys([*(one.code for one in header.animals), *([animal] if animal else [])]):
            act.add("lineage", child=one.code, kind="animal", name=code, mass_mg=None)
        act.add("label", code=one.code, stock="another", text=one.text, mask=None, banner="",
                printed_on=header.packed_on.isoformat())  # fmt: skip
        act.move(
            one.code,
            state=State.FROZEN,
            freezer_id=header.freezer_id,
            place_id=header.place.id if header.place else None,
            delta=1,
        )

    def _fill(self, act: Writer, spare: Package) -> None:
        """A spare label of this book gets its record."""
        header, words = self.header, self.known.words
        new: dict[str, str | int | None] = {
            "packed_on": header.packed_on.isoformat(),
            "first_frozen_on": header.first_frozen_on.isoformat(),
            "net_mg": self.mass,
            "typed": self.known.weight,
        }
        if words.cut:
            new |= {"cut": header.cut.key, "form": header.form.key if header.form else "",
                    "other_words": header.other_words}  # fmt: skip
        if header.species:
            new["species"] = header.species.key
        for field, value in (("pieces", header.pieces), ("wrap", header.wrap), ("seasoning", header.seasoning),
                             ("fat_percent", header.fat_percent), ("added", header.added), ("owner", header.owner),
                             ("note", header.note), ("reserved_for", header.reserved_for)):  # fmt: skip
            if value not in ("", None):
                new[field] = value
        for field, value in new.items():
            old = getattr(spare, field)
            old = old.isoformat() if isinstance(old, date) else old
            if old != value:
                act.change("package", spare.code, field, old, value)
        own = {animal.code for animal in self._rows.row(spare).animals}
        for animal in header.animals:
            if animal.code not in own:
                act.add("lineage", child=spare.code, kind="animal", name=animal.code, mass_mg=None)
        act.move(
            spare.code,
            state=State.FROZEN,
            freezer_id=header.freezer_id or spare.state.freezer_id,
            place_id=header.place.id if header.place else spare.state.place_id,
        )

    def _animal(self, act: Writer, one: _Wanted, species: str) -> tuple[str, str]:
        """The animal's code in this book, "" for none; and a note when the label's animal is another than ours."""
        record = one.record
        if record is None or self.header.animals or not record.animal:
            return "", ""
        if record.animal == "*":
            return "", "several animals"
        there = {animal.code: animal for animal in queries.animals(self.kitchen.book)}
        if record.animal not in there:
            act.add("animal", code=record.animal, species=species or "other", note="from labels taken in")
            self.entered.append(record.animal)
            return record.animal, ""
        letters = {child[0] for child in queries.lineage(self.kitchen.book).children("animal", record.animal)}
        same_kind = not species or there[record.animal].species == species
        if same_kind and (not letters or one.code[0] in letters):
            return record.animal, ""
        # Two households count their animals alike: 26B of another book is not ours.
        self.apart.append((one.code, record.animal))
        return "", f"another household's {record.animal}"

    def _day_said(self) -> bool:
        words = self.known.words
        return bool(words.first_frozen or words.packed)

    def _cut(self, record: SymbolRecord) -> str:
        try:
            found = cuts.cut_by_number(record.cut)
        except UnknownWord:
            found = None  # a label of a later program
        return found.key if found else "mystery"

    def _form(self, record: SymbolRecord) -> str:
        try:
            found = cuts.form_by_number(record.form)
        except UnknownWord:
            found = None
        return found.key if found else ""

    def _species(self, record: SymbolRecord) -> str:
        try:
            found = cuts.species_by_number(record.species)
        except UnknownWord:
            found = None
        return found.key if found else ""
