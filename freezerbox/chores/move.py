"""Carrying packages to another place: some, a whole basket, a whole freezer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from freezerbox.book import queries
from freezerbox.book.writer import Writer
from freezerbox.chores.header import find_freezer, find_place
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.late import after_all_else
from freezerbox.chores.naming import alike, said_by, same_name
from freezerbox.chores.rows import Row, Rows, totals
from freezerbox.chores.take import find_row, read_day, refuse_gone
from freezerbox.chores.units import number_behind, units_of
from freezerbox.chores.wording import coded_line, of_lot_words, packs_and_weight
from freezerbox.core.code import compact, looks_like_code, show_code
from freezerbox.core.records import Freezer, Place, State
from freezerbox.errors import AmbiguousWord, FreezerboxError, InputError, InvalidCode, Refused, UnknownRecord

CARRIED = ("basket", "bag", "box", "bin", "")
"""Kinds of place that go along when a freezer is emptied into another; layers, shelves and drawers are part of it."""

LONGEST_NUMBER = 4
"""Figures of a number that says how many of a lot; a code has six characters."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Where packages go.  place: None for the freezer itself."""

    freezer: Freezer
    place: Place | None

    @property
    def words(self) -> str:
        """``red bag (Garage chest)``, or the freezer's name."""
        return f"{self.place.name} ({self.place.freezer})" if self.place else self.freezer.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What was carried.  rows: as they are now.  refused: what was asked for and why not.  message: a line."""

    rows: tuple[Row, ...]
    refused: tuple[tuple[str, FreezerboxError], ...]
    message: str


def find_target(kitchen: Kitchen, to: str, freezer: str = "") -> Target:
    """The place or freezer that ``to`` names: by name, or by the code of its sign.

    Raises: UnknownRecord when there is none; AmbiguousWord when several freezers have such a place.
    """
    freezers = {one.id: one for one in queries.freezers(kitchen.book)}
    if not to:
        return Target(freezer=freezers[find_freezer(kitchen, freezer)], place=None)
    named = said_by(to, freezers.values(), lambda one: one.name)
    places = said_by(to, queries.places(kitchen.book), lambda one: one.name)
    whole = (
        [one for one in named if same_name(one.name, to)],
        [one for one in places if same_name(one.name, to)],
    )
    if any(whole):
        # A whole name is meant as it stands, whatever else it is a part of.
        named, places = whole
    if named and not freezer:
        if places:
            raise AmbiguousWord(
                f"{to!r} is a freezer, {named[0].name}, and also a place in {places[0].freezer}, {places[0].name}. "
                "Add --freezer to mean the place.",
                word=to,
                choices=[(named[0].name, "the freezer"), (places[0].name, f"the place in {places[0].freezer}")],
            )
        return Target(freezer=freezers[find_freezer(kitchen, to)], place=None)
    place = find_place(kitchen, to, freezer)
    return Target(freezer=freezers[place.freezer_id], place=place)


@one_writer
def move(
    kitchen: Kitchen,
    texts: Sequence[str],
    *,
    to: str = "",
    freezer: str = "",
    on: str = "",
    request_id: str | None = None,
) -> Moved:
    """Carry packages (codes) and whole places (names or sign codes) to a place or freezer, as one act.

    A place carried to a freezer goes there itself, with all that is in it; carried to a place, it is emptied into it.
    ``freezer``: where to, when no ``to`` is given; else the freezer that ``to`` is in.

    Raises: InputError for nothing to move or nowhere to go; InvalidCode for what is neither a code nor a place;
    UnknownRecord, AmbiguousWord for names; for a single code what ``find_row`` raises, AlreadyGone, Refused.
    Among several the refused ones are in the answer.
    """
    if not texts:
        raise InputError('Say what to move: codes, or a place: freezerbox move K7P-3MT --to "red bag"', value="")
    if not (to or freezer):
        raise InputError('Say where to, with --to: a place such as "red bag", or a freezer.', value="")
    target = find_target(kitchen, to, freezer)
    day = read_day(kitchen, on)
    _refuse_numbers(kitchen, texts)
    _refuse_strangers(kitchen, texts)
    rows: dict[str, Row] = {}
    again: dict[str, tuple[date, ...]] = {}
    baskets: list[Place] = []
    refused: list[tuple[str, FreezerboxError]] = []
    for text in texts:
        try:
            place = _as_place(kitchen, text)
            if place is None:
                row = _movable(kitchen, text)
                again[row.code] = after_all_else(kitchen, row, day, "moved")
                if _is_there(row, target):
                    raise Refused(f"{coded_line(kitchen, row)}: is in {target.words} already.", code=row.code)
                rows[row.code] = row
                continue
            inside = inside_of(kitchen, place)
            in_it = {row.code: _with_its_place(kitchen, row, place, day) for row in inside}
            if target.place is None:
                _refuse_twin(kitchen, place, target.freezer)
                baskets.append(place)
            elif target.place.id in {one.id for one in with_children(kitchen, place)}:
                raise Refused(f"{place.name} cannot be emptied into itself.")
            rows.update({row.code: row for row in inside})
            again.update(in_it)
        except FreezerboxError as error:
            if error.exit_code == 3 or len(texts) == 1:
                raise
            refused.append((text, error))
    if not rows and not baskets:
        return Moved(rows=(), refused=tuple(refused), message="Nothing was moved.")
    words = f"moved {_what(kitchen, list(rows.values()), baskets)} to {target.words}"
    with kitchen.book.act("move", day, request_id=request_id, words=words) as act:
        for basket in baskets:
            _carry(kitchen, act, basket, target.freezer)
        carried = {one.id for basket in baskets for one in with_children(kitchen, basket)}
        for row in rows.values():
            keeps = target.place is None and row.package.state.place_id in carried
            put(
                act,
                row,
                target.freezer.id,
                row.package.state.place_id if keeps else _id(target.place),
                again[row.code],
            )
    return Moved(rows=Rows(kitchen.afresh()).of_codes(list(rows)), refused=tuple(refused), message=_sentence(words))


@one_writer
def move_freezer(kitchen: Kitchen, name: str, *, to: str, on: str = "", request_id: str | None = None) -> Moved:
    """Carry all that is in one freezer to another, or to a place there; baskets, bags and boxes go along.

    Layers and shelves stay; what lay on them has no place in the new freezer yet.

    Raises: UnknownRecord for the names; Refused when it is empty, or would go where it is.
    """
    freezer_id = find_freezer(kitchen, name)
    if not to:
        raise InputError("Say where to, with --to: another freezer, or a place there.", value="")
    target = find_target(kitchen, to)
    old = queries.freezer_names(kitchen.book)[freezer_id]
    if target.freezer.id == freezer_id and target.place is None:
        raise Refused(f"It is all in {old} already.")
    rows = [
        row
        for row in Rows(kitchen).all(State.FROZEN)
        if row.package.state.freezer_id == freezer_id and not _is_there(row, target)
    ]
    there = {
        alike(place.name): place for place in queries.places(kitchen.book) if place.freezer_id == target.freezer.id
    }
    new_place: dict[int, int | None] = {}
    baskets = []
    for place in queries.places(kitchen.book):
        if place.freezer_id != freezer_id or target.place is not None:
            continue
        if alike(place.name) in there:
            new_place[place.id] = there[alike(place.name)].id
        elif place.kind in CARRIED:
            new_place[place.id] = place.id
            baskets.append(place)
    if not rows and not baskets:
        raise Refused(f"There is nothing in {old} to move.")
    day = read_day(kitchen, on)
    again = {row.code: after_all_else(kitchen, row, day, "moved") for row in rows}
    words = f"moved all of {old}, {packs_and_weight(kitchen, totals(rows))}, to {target.words}"
    with kitchen.book.act("move", day, request_id=request_id, words=words) as act:
        for basket in baskets:
            act.change("place", basket.id, "freezer_id", freezer_id, target.freezer.id)
            if basket.parent_id is not None and new_place.get(basket.parent_id) != basket.parent_id:
                act.change("place", basket.id, "parent_id", basket.parent_id, None)
        for row in rows:
            moved_to = new_place.get(row.package.state.place_id or 0) if target.place is None else target.place.id
            put(act, row, target.freezer.id, moved_to, again[row.code])
    return Moved(
        rows=Rows(kitchen.afresh()).of_codes([row.code for row in rows]), refused=(), message=_sentence(words)
    )


def put(act: Writer, row: Row, freezer_id: int | None, place_id: int | None, again: Sequence[date] = ()) -> None:
    """Write that a package lies somewhere else now; a package seen again is no longer missing.

    ``again``: later days on which it is to be said again.
    """
    act.move(row.code, state=State.FROZEN, freezer_id=freezer_id, place_id=place_id, again=again)
    found(act, row)


def found(act: Writer, row: Row) -> None:
    """Write that a package is not missing any more, if it was."""
    missing = row.package.missing_since
    if missing is not None:
        act.change("package", row.code, "missing_since", missing.isoformat(), None)


def inside_of(kitchen: Kitchen, place: Place) -> tuple[Row, ...]:
    """Packages that the list has in a place or in the places inside it, in packing order."""
    ids = {one.id for one in with_children(kitchen, place)}
    return tuple(row for row in Rows(kitchen).all(State.FROZEN) if row.package.state.place_id in ids)


def _with_its_place(kitchen: Kitchen, row: Row, place: Place, day: date) -> tuple[date, ...]:
    """As ``after_all_else``, of a package that is moved with the place it lies in."""
    try:
        return after_all_else(kitchen, row, day, "moved")
    except Refused as error:
        raise Refused(
            f"{place.name} was not moved: {error.message} Without --on, all that is in it now goes along today.",
            **error.facts,
        ) from error


def with_children(kitchen: Kitchen, place: Place) -> tuple[Place, ...]:
    """The place and those inside it."""
    return (place, *(one for one in queries.places(kitchen.book) if one.parent_id == place.id))


def _as_place(kitchen: Kitchen, text: str) -> Place | None:
    """The place that a name or a sign's code means; ``None`` for a package's code."""
    if looks_like_code(text):
        return queries.place_of_sign(kitchen.book, compact(text))
    try:
        return find_place(kitchen, text)
    except UnknownRecord as error:
        freezers = [one.name for one in said_by(text, queries.freezers(kitchen.book), lambda one: one.name)]
        if freezers:
            raise InputError(
                f"{freezers[0]} is a freezer. To move all that is in it: "
                f'freezerbox move --freezer "{freezers[0]}" --to ...',
                value=text,
            ) from error
        raise InvalidCode(
            f"{text!r} is neither a package code, such as K7P-3MT, nor a place. {error.message.split('. Add')[0]}",
            value=text,
        ) from error


def is_number(text: str) -> bool:
    """Whether text says how many of a lot: figures alone, and fewer than a code has characters."""
    return text.isdecimal() and len(text) <= LONGEST_NUMBER


def _refuse_numbers(kitchen: Kitchen, texts: Sequence[str]) -> None:
    """Raises: InputError for how many of a lot, as a bare number or behind its code, among others: all would go."""
    names = {place.name for place in queries.places(kitchen.book)}
    for text in texts if len(texts) > 1 else ():
        code, number = units_of(text)
        if number is not None and text not in names and looks_like_code(code):
            raise InputError(
                f"{text!r} is some of a lot. Nothing was moved. Some of a lot move by themselves: "
                f"freezerbox move {text} --to ...",
                value=text,
            )
        number_said = number_behind(text)
        if is_number(number_said) and text not in names:
            raise InputError(
                f"{text!r} is a number, not a code. Nothing was moved. Some of a lot move by themselves: "
                f"freezerbox move {show_code(compact(texts[0]))} {number_said} --to ...",
                value=text,
            )


def _refuse_strangers(kitchen: Kitchen, texts: Sequence[str]) -> None:
    """Raises: InvalidCode for what is neither a code nor a place, among others: it may have been to say how many."""
    for text in texts:
        try:
            _as_place(kitchen, text)
        except InvalidCode as error:
            if len(texts) > 1:
                error.message += ". Nothing was moved."
            raise
        except FreezerboxError:
            continue


def _movable(kitchen: Kitchen, text: str) -> Row:
    row = find_row(kitchen, text)
    refuse_gone(kitchen, row)
    if row.package.state.state is State.SPARE:
        raise Refused(f"{show_code(row.code)} is a label printed ahead; there is no package yet.", code=row.code)
    return row


def _is_there(row: Row, target: Target) -> bool:
    state = row.package.state
    if target.place is not None:
        return state.place_id == target.place.id
    return state.freezer_id == target.freezer.id and state.place_id is None


def _refuse_twin(kitchen: Kitchen, place: Place, freezer: Freezer) -> None:
    if place.freezer_id == freezer.id:
        raise Refused(f"{place.name} is in {freezer.name} already.")
    for other in queries.places(kitchen.book):
        if other.freezer_id == freezer.id and same_name(other.name, place.name):
            raise Refused(
                f"There is a {other.name} in {freezer.name} already. Rename one of them first: "
                f'freezerbox place rename "{place.name}" "..." --freezer "{place.freezer}"'
            )


def _carry(kitchen: Kitchen, act: Writer, basket: Place, freezer: Freezer) -> None:
    for place in with_children(kitchen, basket):
        act.change("place", place.id, "freezer_id", place.freezer_id, freezer.id)
    if basket.parent_id is not None:
        act.change("place", basket.id, "parent_id", basket.parent_id, None)


def _what(kitchen: Kitchen, rows: Sequence[Row], baskets: Sequence[Place]) -> str:
    if baskets:
        names = " and ".join(basket.name for basket in baskets)
        return f"{names} with {packs_and_weight(kitchen, totals(rows))}" if rows else names
    if len(rows) == 1:
        all_of_it = of_lot_words(rows[0], rows[0].package.state.quantity)
        return f"{coded_line(kitchen, rows[0])}" + (f"{all_of_it}," if all_of_it else "")
    return packs_and_weight(kitchen, totals(rows))


def _id(place: Place | None) -> int | None:
    return place.id if place else None


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."
