"""What lies loose in a freezer, in no basket, bag or layer: counted and checked as if it were a place of its own."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from freezerbox.book import queries
from freezerbox.book.values import unreadable_setting
from freezerbox.book.writer import Writer
from freezerbox.chores.header import find_place
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.move import with_children
from freezerbox.chores.naming import said_by, same_name
from freezerbox.chores.rows import Row, Rows
from freezerbox.core.records import Freezer, PackageState, Place, State
from freezerbox.errors import AmbiguousWord, FreezerboxError, UnknownRecord
from freezerbox.food import cuts

LOOSE_PREFIX = "loose-checked:"
_SAID = ("loose", "loose in")


def loose_in(kitchen: Kitchen, freezer: Freezer) -> Place:
    """The freezer's loose packs as a place.  Its id is the freezer's below nothing, and it has no sign."""
    key = f"{LOOSE_PREFIX}{freezer.id}"
    on, surprises = checked_kept(key, kitchen.settings.get(key, ""))
    return Place(
        id=-freezer.id,
        name=freezer.name,
        kind="",
        freezer_id=freezer.id,
        freezer=freezer.name,
        code="",
        last_checked_on=on,
        last_surprises=surprises,
    )


def checked_kept(key: str, kept: str) -> tuple[date | None, int | None]:
    """Day and surprises of the last count, as kept in the setting ``key``; None before the first.

    Raises: BookTrouble when it is neither.
    """
    if not kept:
        return None, None
    day, _, number = kept.partition(" ")
    try:
        return date.fromisoformat(day), int(number)
    except ValueError as error:
        raise unreadable_setting(key, kept[:40], "freezerbox restore COPY") from error


def named(kitchen: Kitchen, words: str, freezer: str = "", *, whole: bool = False) -> Place | None:
    """The loose packs of the freezer that ``words`` name, ``Garage chest`` or ``loose in garage``; ``None`` for none.

    ``loose`` alone: of ``freezer``, or of the only one.  ``whole``: only by the freezer's whole name.

    Raises: AmbiguousWord for ``loose`` where there are several.
    """
    freezers = queries.freezers(kitchen.book)
    text = " ".join(words.lower().split())
    if text in ("", *_SAID):
        among = said_by(freezer, freezers, lambda one: one.name) if freezer else freezers
        if len(among) > 1:
            choices = [(f"loose in {one.name}", f"loose in {one.name}") for one in among]
            asked = " or ".join(f'"{one}"' for one, _ in choices)
            raise AmbiguousWord(f"Which freezer? Say {asked}.", word=words, choices=choices)
        return loose_in(kitchen, among[0]) if among else None
    asked = text.removeprefix("loose in ")
    found = said_by(asked, freezers, lambda one: one.name)
    if whole and asked == text:
        found = [one for one in found if same_name(one.name, asked)]
    return loose_in(kitchen, found[0]) if len(found) == 1 else None


def to_count(kitchen: Kitchen, name: str, freezer: str = "") -> Place:
    """The place that is to be counted: a freezer's name means what is loose in it, in none of its places.

    Raises: UnknownRecord for a name that is neither, such as a food's; AmbiguousWord.
    """
    if not any(same_name(one.name, name) for one in queries.places(kitchen.book)):
        loosely = named(kitchen, name, freezer, whole=True)
        if loosely is not None:
            return loosely
    is_food = _is_food(kitchen, name)
    try:
        # A food before a part of a place's name: "ground" may well be the first word of a basket.
        return find_place(kitchen, name, freezer, whole=is_food)
    except UnknownRecord:
        loosely = None if is_food else named(kitchen, name, freezer)
        if loosely is None:
            raise
        return loosely


def _is_food(kitchen: Kitchen, words: str) -> bool:
    try:
        cuts.resolve_cut(words, None, kitchen.own_words)
    except AmbiguousWord:
        return True
    except FreezerboxError:
        return False
    return True


def is_loose(place: Place) -> bool:
    """Whether it stands for the loose packs of a freezer."""
    return place.id < 0


def place_id(place: Place) -> int | None:
    """What a package's record says of it: ``None`` for no place."""
    return None if is_loose(place) else place.id


def place_words(place: Place, name: str = "") -> str:
    """``red bag``, or ``name`` where it needs more; ``loose in Garage chest``."""
    return f"loose in {place.freezer}" if is_loose(place) else name or place.name


def again(kitchen: Kitchen, place: Place) -> Place:
    """The place as the book has it now."""
    if is_loose(place):
        return next((loose_in(kitchen, one) for one in queries.freezers(kitchen.book) if one.id == -place.id), place)
    return next((one for one in queries.places(kitchen.book) if one.id == place.id), place)


def lies_in(kitchen: Kitchen, place: Place) -> Callable[[PackageState], bool]:
    """Says of a state whether it is in the freezer, there; a place inside the place is there too."""
    if is_loose(place):
        of = key_of(kitchen)
        return lambda state: state.state is State.FROZEN and of(state.place_id, state.freezer_id) == place.id
    ids = {one.id for one in with_children(kitchen, place)}
    return lambda state: state.state is State.FROZEN and state.place_id in ids


def key_of(kitchen: Kitchen) -> Callable[[int | None, int | None], int | None]:
    """Says of a place and freezer which place it is, with loose packs as one; of the only freezer if none is said."""
    freezers = queries.freezers(kitchen.book)
    only = freezers[0].id if len(freezers) == 1 else None

    def key(place: int | None, freezer: int | None) -> int | None:
        freezer = freezer or only
        return place if place is not None else None if freezer is None else -freezer

    return key


def rows_in(kitchen: Kitchen, place: Place) -> tuple[Row, ...]:
    """Packages that the list has there, in packing order."""
    there = lies_in(kitchen, place)
    return tuple(row for row in Rows(kitchen).all(State.FROZEN) if there(row.package.state))


def checked(kitchen: Kitchen, act: Writer, place: Place, surprises: int) -> None:
    """Write that the place was counted today, and how many differences there were."""
    today = kitchen.today.isoformat()
    if is_loose(place):
        key = f"{LOOSE_PREFIX}{place.freezer_id}"
        act.change("setting", key, "value", kitchen.settings.get(key), f"{today} {surprises}")
        return
    # Whoever counts found the place before its count was ended, which was a change of it too.
    place = again(kitchen, place)
    old = place.last_checked_on.isoformat() if place.last_checked_on else None
    act.change("place", place.id, "last_checked_on", old, today)
    if place.last_surprises != surprises:
        act.change("place", place.id, "last_surprises", place.last_surprises, surprises)
