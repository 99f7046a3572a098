"""What the book says of itself and of the house, looked over: every setting must be one that can be set."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from freezerbox.book import queries
from freezerbox.book.values import is_walk
from freezerbox.chores import count, loose, prices
from freezerbox.chores.header import whole_number
from freezerbox.chores.house import MOST_PEOPLE, letter
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.phone import PHONE_KEY, parse_phone_name
from freezerbox.core.code import LETTERS
from freezerbox.core.mass import MassUnit, parse_mass
from freezerbox.errors import BookTrouble, InputError

_RESTORE = "To mend it, bring back the latest copy: freezerbox restore COPY."


def settled_faults(kitchen: Kitchen) -> Iterator[str]:
    """A sentence for everything that cannot be, each with what would mend it."""
    for key, can_be in _OF_ITSELF.items():
        try:
            value = queries.meta(kitchen.book, key)
        except BookTrouble as error:
            yield error.message
            continue
        if not can_be(value):
            yield f"The book's own {key} is {value!r}, which cannot be. {_RESTORE}"
    for read in (
        lambda: kitchen.unit,
        lambda: kitchen.guide,
        lambda: letter(kitchen),
        lambda: prices.prices(kitchen),
    ):
        try:
            read()
        except BookTrouble as error:
            yield error.message
    yield from _others(kitchen)


def _others(kitchen: Kitchen) -> Iterator[str]:
    for key, value in kitchen.settings.items():
        try:
            if key == "people":
                whole_number(value, key, MOST_PEOPLE)
            elif key == "portion":
                parse_mass(value, unit=MassUnit.LB)
            elif key == PHONE_KEY:
                parse_phone_name(value)
            elif key.startswith(count.COUNT_PREFIX):
                count.look_kept(key, value)
            elif key.startswith(loose.LOOSE_PREFIX):
                loose.checked_kept(key, value)
        except InputError as error:
            yield f"The setting {key!r}: {error.message}"
        except BookTrouble as error:
            yield error.message


_OF_ITSELF: dict[str, Callable[[str], bool]] = {
    "uid": lambda value: bool(value.strip()),
    "letter": lambda value: value in LETTERS,
    "walk": is_walk,
}
