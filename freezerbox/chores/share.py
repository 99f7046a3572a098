"""Sharing packages out between households: a proposal, two lists, and what leaves our stock when it is accepted."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import mean

from freezerbox.chores.header import find_animal
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.naming import alike, same_name
from freezerbox.chores.people import find_person, remember
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.splitting import Item, Wish, split
from freezerbox.chores.take import find_row, refuse_gone
from freezerbox.chores.wording import count
from freezerbox.core.code import show_code
from freezerbox.core.records import Reason, State
from freezerbox.errors import InputError, Refused
from freezerbox.food import cuts

MOST_PEOPLE = 8
_WISH = re.compile(r"(all|\d{1,3})(\s+more)?\s+(.+?)\s+to\s+(.+)", re.IGNORECASE)
_NUMBERS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6"}
_PARTED = re.compile(r"[^,]+?\s*:\s*\d+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Heap:
    """One person's packages of a proposal.

    rows: packages with how many of each (more than one of a lot), by cut.  packages, net_mg: what they add up to.
    by_cut: number of packages and milligrams of each cut's name.
    """

    person: str
    rows: tuple[tuple[Row, int], ...]
    packages: int
    net_mg: int
    by_cut: tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A split, nothing written.

    ours: whose heap stays here.  heaps: in the order the people were named.  total_mg: of all.
    difference_mg: between the most and the least that anybody has beyond his part.  largest_mg: of the packs.
    guessed: packages that were not weighed and are counted at the mean of their cut.  held: left out, on hold.
    """

    ours: str
    heaps: tuple[Heap, ...]
    total_mg: int
    difference_mg: int
    largest_mg: int
    guessed: tuple[Row, ...]
    held: tuple[Row, ...]


def propose(
    kitchen: Kitchen,
    between: str,
    *,
    codes: Sequence[str] = (),
    animal: str = "",
    parts: str = "",
    wishes: Sequence[str] = (),
    held_too: bool = False,
) -> Proposal:
    """A fair split of packages between people, the first named being this household; nothing is written.

    ``between``: names with commas between.  ``parts``: ``1:1``, ``2:1``; equal when not said.  ``wishes``: such as
    ``all shank to Ben``, ``1 backstrap to Ann``, ``1 more backstrap to Ann``.

    Raises: InputError for people, parts or wishes that cannot be, for two that contradict each other, naming both;
    Refused when there is nothing to share; what the codes, the animal and the cuts raise.
    """
    people = _people(kitchen, between)
    shares = _parts(parts, people)
    rows = _rows(kitchen, codes, animal)
    held = tuple(row for row in rows if row.holds and not held_too)
    rows = tuple(row for row in rows if held_too or not row.holds)
    if not rows:
        raise Refused("There is nothing to share: every package chosen is on hold or gone.")
    usual = _usual(rows)
    items = [
        Item(key=f"{row.code}/{number}", cut=row.package.cut, mass=row.package.net_mg or usual[row.package.cut])
        for row in rows
        for number in range(row.package.state.quantity)
    ]
    asked = [_wish(kitchen, text, people, rows) for text in wishes]
    _refuse_contradictions(list(zip(asked, wishes, strict=True)), people, rows)
    heaps = split(items, shares, asked)
    by_code = {row.code: row for row in rows}
    whole = sum(shares.values())
    total = sum(item.mass for item in items)
    owed = [total * shares[name] / whole - sum(item.mass for item in heaps[name]) for name in people]
    return Proposal(
        ours=people[0],
        heaps=tuple(_heap(name, heaps[name], by_code) for name in people),
        total_mg=total,
        difference_mg=round(max(owed) - min(owed)),
        largest_mg=max(item.mass for item in items),
        guessed=tuple(row for row in rows if row.package.net_mg is None),
        held=held,
    )


@one_writer
def accept(kitchen: Kitchen, proposal: Proposal, *, request_id: str | None = None) -> tuple[Row, ...]:
    """Record a split: what is not ours leaves our stock, with the name of who has it; it stays traceable.

    Returns the packages that left, as they are now.
    """
    leaving = [
        (heap, row, number) for heap in proposal.heaps if heap.person != proposal.ours for row, number in heap.rows
    ]
    number = sum(number for _, _, number in leaving)
    names = " and ".join(heap.person for heap in proposal.heaps if heap.person != proposal.ours)
    words = f"shared out {count(number, 'package')} to {names}"
    with kitchen.book.act("share", kitchen.today, request_id=request_id, words=words) as act:
        for heap in proposal.heaps:
            if heap.person != proposal.ours:
                remember(kitchen, act, heap.person)
        left: dict[str, int] = {}
        for heap, row, units in leaving:
            state = row.package.state
            left[row.code] = left.get(row.code, state.quantity) - units
            act.move(
                row.code,
                state=State.FROZEN if left[row.code] else State.GONE,
                reason=Reason.MOVED_OUT,
                freezer_id=state.freezer_id,
                place_id=state.place_id,
                delta=-units,
                person=heap.person,
            )
            if state.quantity == 1 and row.package.owner != heap.person:
                act.change("package", row.code, "owner", row.package.owner, heap.person)
    return Rows(kitchen.afresh()).of_codes(list(dict.fromkeys(row.code for _, row, _ in leaving)))


def _people(kitchen: Kitchen, between: str) -> tuple[str, ...]:
    typed = [name.strip() for name in between.split(",") if name.strip()]
    if typed and all(_PARTED.fullmatch(name) for name in typed):
        names_only, parts = zip(*(name.rsplit(":", 1) for name in typed), strict=True)
        raise InputError(
            f"{between!r} has the parts in the names. Say them apart: "
            f'--between "{", ".join(name.strip() for name in names_only)}" --parts '
            f"{':'.join(part.strip() for part in parts)}",
            value=between,
        )
    names = [find_person(kitchen, name, new=True) for name in typed]
    if len(set(map(alike, names))) != len(names):
        raise InputError(f"{between!r} names one of them twice.", value=between)
    if not 2 <= len(names) <= MOST_PEOPLE:
        raise InputError(
            f"{between!r} is {count(len(names), 'name')}; a split is between 2 and {MOST_PEOPLE}, "
            'yourself first: --between "Ann, Ben"',
            value=between,
        )
    return tuple(names)


def _parts(parts: str, people: Sequence[str]) -> Mapping[str, int]:
    words = [word.strip() for word in parts.split(":")] if parts.strip() else ["1"] * len(people)
    if len(words) != len(people) or not all(
        word.isascii() and word.isdigit() and 0 < int(word) < 1000 for word in words
    ):
        raise InputError(
            f"{parts!r} are not the parts of {len(people)} people. Write them as {':'.join('1' for _ in people)}.",
            value=parts,
        )
    return {name: int(word) for name, word in zip(people, words, strict=True)}


def _rows(kitchen: Kitchen, codes: Sequence[str], animal: str) -> tuple[Row, ...]:
    if bool(codes) == bool(animal):
        raise InputError("Say which packages: their codes, or --animal 26E.", value=animal)
    if animal:
        found = find_animal(kitchen, animal)
        rows = tuple(
            row for row in Rows(kitchen).all(State.FROZEN) if found.code in [one.code for one in row.animals]
        )
        if not rows:
            raise Refused(f"{found.code} has nothing in the freezer.", code=found.code)
        return rows
    chosen: dict[str, Row] = {}
    for code in codes:
        row = find_row(kitchen, code)
        refuse_gone(kitchen, row)
        if row.package.state.state is State.SPARE:
            raise Refused(f"{show_code(row.code)} is a label printed ahead; nothing is in its bag.", code=row.code)
        chosen[row.code] = row
    return tuple(chosen.values())


def _wish(kitchen: Kitchen, text: str, people: Sequence[str], rows: Sequence[Row]) -> Wish:
    first, _, rest = " ".join(text.split()).partition(" ")
    match = _WISH.fullmatch(f"{_NUMBERS.get(first.lower(), first)} {rest}")
    if match is None:
        raise InputError(
            f"{text!r} is not a wish. Write it as: all shank to {people[-1]}, or 1 more backstrap to {people[0]}.",
            value=text,
        )
    name = next((one for one in people if same_name(one, match[4])), None)
    if name is None:
        raise InputError(f"{match[4]!r} has no part in it. They are: {', '.join(people)}.", value=match[4])
    species = {row.package.species for row in rows}
    of = cuts.species(next(iter(species))) if len(species) == 1 and next(iter(species)) else None
    cut = cuts.resolve_cut(match[3], of, kitchen.own_words).cut
    there = sum(row.package.state.quantity for row in rows if row.package.cut == cut.key)
    number = None if match[1].lower() == "all" else int(match[1])
    if not there or (number is not None and number > there):
        raise InputError(
            f"{text!r} asks for more than there is: {count(there, 'package')} of {cut.name}.", value=text
        )
    return Wish(cut=cut.key, person=name, number=number, more=bool(match[2]))


def _refuse_contradictions(wishes: Sequence[tuple[Wish, str]], people: Sequence[str], rows: Sequence[Row]) -> None:
    """Raises: InputError when two wishes cannot both come true, or wishes ask together for more than there is."""
    by_cut: dict[str, list[tuple[Wish, str]]] = {}
    for pair in wishes:
        by_cut.setdefault(pair[0].cut, []).append(pair)
    for cut, own in by_cut.items():
        texts = [text for _, text in own]
        for number, (one, text) in enumerate(own):
            for other, again in own[number + 1 :]:
                same = one.person == other.person and one.more == other.more
                if one.number is None or other.number is None or same:
                    raise InputError(
                        f"{text!r} and {again!r} cannot both come true. Leave one of them out.", value=[text, again]
                    )
        if {one.person for one, _ in own if one.more} == set(people):
            raise InputError(
                f"{_quoted(texts)} give everybody more of it, which is nobody. Leave one of them out.", value=texts
            )
        there = sum(row.package.state.quantity for row in rows if row.package.cut == cut)
        together = sum(one.number or 0 for one, _ in own)
        if together > there:
            raise InputError(
                f"{_quoted(texts)} ask together for {together}, more than there is: {count(there, 'package')} of "
                f"{cuts.cut(cut).name}. Make one of them smaller.",
                value=texts,
            )


def _quoted(texts: Sequence[str]) -> str:
    return " and ".join(repr(text) for text in texts)


def _usual(rows: Sequence[Row]) -> dict[str, int]:
    """Mean weight of a pack of each cut; of all where none of a cut was weighed."""
    known = [row.package.net_mg for row in rows if row.package.net_mg]
    if not known:
        raise InputError("None of them was weighed; a split by weight needs a weight or two.", value=None)
    found = {}
    for row in rows:
        of_cut = [one.package.net_mg for one in rows if one.package.cut == row.package.cut and one.package.net_mg]
        found[row.package.cut] = round(mean(of_cut or known))
    return found


def _heap(person: str, items: Sequence[Item], by_code: Mapping[str, Row]) -> Heap:
    numbers: dict[str, int] = {}
    cuts_of: dict[str, tuple[int, int]] = {}
    for item in items:
        code = item.key.split("/")[0]
        numbers[code] = numbers.get(code, 0) + 1
        name = cuts.cut(item.cut).name
        before = cuts_of.get(name, (0, 0))
        cuts_of[name] = (before[0] + 1, before[1] + item.mass)
    rows = sorted(numbers, key=lambda code: (by_code[code].cut_name, code))
    return Heap(
        person=person,
        rows=tuple((by_code[code], numbers[code]) for code in rows),
        packages=len(items),
        net_mg=sum(item.mass for item in items),
        by_cut=tuple((name, number, mass) for name, (number, mass) in sorted(cuts_of.items())),
    )
