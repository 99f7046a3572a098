"""Freezers and the places inside them: adding, renaming, retiring, and what is in each."""

from __future__ import annotations

from dataclasses import dataclass

from freezerbox.book import queries
from freezerbox.chores.header import default_freezer, find_freezer, find_place
from freezerbox.chores.house import clean_name, parse_volume
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.move import inside_of, with_children
from freezerbox.chores.naming import same_name
from freezerbox.chores.rows import Row, Rows, Totals, totals
from freezerbox.chores.sign_words import refuse_code
from freezerbox.chores.wording import count, packs_and_weight
from freezerbox.core.records import Freezer, Place, State
from freezerbox.errors import InputError, Refused, Twin, UnknownWord

PLACE_KINDS = ("basket", "bag", "layer", "shelf", "box", "drawer", "bin")

SIGNS_BEGIN_WITH = "4"
"""One figure for all of a book's signs: codes of one first character are walked so that neighbours look unlike."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceView:
    """A place and what the list has in it, places inside it included.  parent: name of the place around it, or ""."""

    place: Place
    parent: str
    rows: tuple[Row, ...]
    totals: Totals


@dataclass(frozen=True, slots=True, kw_only=True)
class FreezerView:
    """A freezer, what the list has in it, and how many of it have no place said."""

    freezer: Freezer
    totals: Totals
    unplaced: int


@one_writer
def add_freezer(kitchen: Kitchen, name: str, volume: str = "", *, away: bool = False) -> Freezer:
    """Record a freezer, or take one that was retired into use again.

    ``away``: it stands elsewhere; what is in it is not offered as if it were here.

    Raises: Twin for a name that is there; InputError for the name or the volume.
    """
    name = clean_name(name)
    if any(same_name(freezer.name, name) for freezer in queries.freezers(kitchen.book)):
        raise Twin(f"There is a freezer {name!r} already.", name=name)
    volume_ml = parse_volume(volume) if volume else None
    before = queries.retired(kitchen.book, "freezer", name)
    with kitchen.book.act("freezer", kitchen.today, words=f"added freezer {name}") as act:
        if before is None:
            act.add("freezer", name=name, volume_ml=volume_ml, away=int(away))
        else:
            act.change("freezer", before, "retired", 1, 0)
    return freezer_named(kitchen, name)


@one_writer
def set_freezer(kitchen: Kitchen, name: str, *, volume: str = "", away: bool | None = None) -> Freezer:
    """Correct a freezer's size, or whether it stands elsewhere.  Raises: UnknownRecord; InputError; Refused."""
    freezer = freezer_named(kitchen, name)
    changes: list[tuple[str, int | None, int]] = []
    if volume:
        old = None if freezer.volume_l is None else round(freezer.volume_l * 1000)
        changes.append(("volume_ml", old, parse_volume(volume)))
    if away is not None:
        changes.append(("away", int(freezer.away), int(away)))
    changes = [change for change in changes if change[1] != change[2]]
    if not changes:
        raise Refused(f"{freezer.name} is recorded like that already; nothing was changed.")
    with kitchen.book.act("freezer", kitchen.today, words=f"corrected freezer {freezer.name}") as act:
        for field, old_value, new in changes:
            act.change("freezer", freezer.id, field, old_value, new)
    return freezer_named(kitchen, name)


@one_writer
def rename_freezer(kitchen: Kitchen, name: str, new: str) -> Freezer:
    """Give a freezer another name.  Raises: UnknownRecord; Twin; InputError."""
    freezer, new = freezer_named(kitchen, name), clean_name(new)
    others = [one for one in queries.freezers(kitchen.book) if one.id != freezer.id]
    if any(same_name(one.name, new) for one in others) or queries.retired(kitchen.book, "freezer", new):
        raise Twin(f"There is, or was, a freezer {new!r} already.", name=new)
    with kitchen.book.act("freezer", kitchen.today, words=f"renamed freezer {freezer.name} to {new}") as act:
        act.change("freezer", freezer.id, "name", freezer.name, new)
    return freezer_named(kitchen, new)


@one_writer
def retire_freezer(kitchen: Kitchen, name: str) -> Freezer:
    """Stop using a freezer and its places; their history stays.

    Raises: UnknownRecord; Refused while anything is in it.
    """
    freezer = freezer_named(kitchen, name)
    inside = [row for row in Rows(kitchen).all(State.FROZEN) if row.package.state.freezer_id == freezer.id]
    if inside:
        raise Refused(
            f"{packs_and_weight(kitchen, totals(inside))} are in {freezer.name} by the list. Move them first: "
            f'freezerbox move --freezer "{freezer.name}" --to "..."'
        )
    with kitchen.book.act("freezer", kitchen.today, words=f"retired freezer {freezer.name}") as act:
        for place in queries.places(kitchen.book):
            if place.freezer_id == freezer.id:
                act.change("place", place.id, "retired", 0, 1)
        act.change("freezer", freezer.id, "retired", 0, 1)
    return freezer


@one_writer
def add_place(kitchen: Kitchen, name: str, freezer: str = "", *, inside: str = "", kind: str = "") -> Place:
    """Record a basket, bag, layer or shelf; its sign gets a code that begins with a digit.

    ``inside``: the place it is inside of; one deep and no deeper.

    Raises: Twin; UnknownRecord; UnknownWord for the kind; InputError when several freezers are there and none is
    named, or it would be two deep.
    """
    name = clean_name(name)
    refuse_code(kitchen, name)
    parent = find_place(kitchen, inside, freezer) if inside else None
    if parent is not None and parent.parent_id is not None:
        raise InputError(f"{parent.name} is inside another place itself; places go one deep.", value=inside)
    freezer_id = parent.freezer_id if parent else default_freezer(kitchen, freezer)
    if freezer_id is None:
        freezers = [one.name for one in queries.freezers(kitchen.book)]
        if not freezers:
            raise InputError('Add a freezer first: freezerbox freezer add "Garage chest"', value=name)
        raise InputError(f"Say which freezer {name!r} is in, with --freezer: {', '.join(freezers)}.", value=name)
    for place in queries.places(kitchen.book):
        if place.freezer_id == freezer_id and same_name(place.name, name):
            raise Twin(f"There is a place {place.name!r} in {place.freezer} already.", name=name)
    kind = _kind(kind) if kind else next((word for word in PLACE_KINDS if word in name.lower().split()), "")
    before = queries.retired(kitchen.book, "place", name, freezer_id)
    with kitchen.book.act("place", kitchen.today, words=f"added place {name}") as act:
        if before is not None:
            act.change("place", before, "retired", 1, 0)
        else:
            code = act.new_code("place", SIGNS_BEGIN_WITH)
            parent_id = parent.id if parent else None
            act.add("place", freezer_id=freezer_id, parent_id=parent_id, name=name, kind=kind, code=code)
    return next(
        place
        for place in queries.places(kitchen.book)
        if place.freezer_id == freezer_id and same_name(place.name, name)
    )


@one_writer
def rename_place(kitchen: Kitchen, name: str, new: str, freezer: str = "") -> Place:
    """Give a place another name; its sign's code stays.  Raises: UnknownRecord; AmbiguousWord; Twin; InputError."""
    place, new = find_place(kitchen, name, freezer), clean_name(new)
    refuse_code(kitchen, new)
    for other in queries.places(kitchen.book):
        if other.id != place.id and other.freezer_id == place.freezer_id and same_name(other.name, new):
            raise Twin(f"There is a place {other.name!r} in {other.freezer} already.", name=new)
    if queries.retired(kitchen.book, "place", new, place.freezer_id):
        raise Twin(f"There was a place {new!r} in {place.freezer} before. Take another name.", name=new)
    with kitchen.book.act("place", kitchen.today, words=f"renamed place {place.name} to {new}") as act:
        act.change("place", place.id, "name", place.name, new)
    return find_place(kitchen, place.code)


@one_writer
def retire_place(kitchen: Kitchen, name: str, freezer: str = "") -> Place:
    """Stop using a place; its history stays.  Raises: UnknownRecord; AmbiguousWord; Refused unless empty."""
    place = find_place(kitchen, name, freezer)
    inside = inside_of(kitchen, place)
    if inside:
        raise Refused(
            f"{packs_and_weight(kitchen, totals(inside))} are in {place.name} by the list. Move them first: "
            f'freezerbox move "{place.name}" --to "..."'
        )
    with kitchen.book.act("place", kitchen.today, words=f"retired place {place.name}") as act:
        for one in with_children(kitchen, place):
            act.change("place", one.id, "retired", 0, 1)
    return place


def freezer_named(kitchen: Kitchen, name: str) -> Freezer:
    """The freezer of that name.  Raises: UnknownRecord."""
    freezer_id = find_freezer(kitchen, name)
    return next(one for one in queries.freezers(kitchen.book) if one.id == freezer_id)


def freezers(kitchen: Kitchen) -> tuple[FreezerView, ...]:
    """Every freezer in use, and what is in it."""
    rows = Rows(kitchen).all(State.FROZEN)
    found = []
    for freezer in queries.freezers(kitchen.book):
        inside = [row for row in rows if row.package.state.freezer_id == freezer.id]
        found.append(
            FreezerView(
                freezer=freezer,
                totals=totals(inside),
                unplaced=totals(row for row in inside if row.package.state.place_id is None).packages,
            )
        )
    return tuple(found)


def places(kitchen: Kitchen) -> tuple[PlaceView, ...]:
    """Every place in use and what is in it."""
    every = queries.places(kitchen.book)
    names = {place.id: place.name for place in every}
    rows = Rows(kitchen).all(State.FROZEN)
    found = []
    for place in every:
        ids = {place.id, *(one.id for one in every if one.parent_id == place.id)}
        inside = tuple(row for row in rows if row.package.state.place_id in ids)
        found.append(
            PlaceView(place=place, parent=names.get(place.parent_id or 0, ""), rows=inside, totals=totals(inside))
        )
    return tuple(found)


def checked_words(kitchen: Kitchen, place: Place) -> str:
    """``checked today``, ``checked 12 days ago``, ``never checked``."""
    if place.last_checked_on is None:
        return "never checked"
    days = (kitchen.today - place.last_checked_on).days
    return "checked today" if days <= 0 else f"checked {count(days, 'day')} ago"


def _kind(text: str) -> str:
    kind = text.strip().lower()
    if kind not in PLACE_KINDS:
        raise UnknownWord(
            f"{text!r} is not a kind of place. The kinds are: {', '.join(PLACE_KINDS)}.", word=text, near=PLACE_KINDS
        )
    return kind
