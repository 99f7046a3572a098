"""People the book knows: one name for each, whatever its case."""

from __future__ import annotations

from freezerbox.book import origins
from freezerbox.book.writer import Writer
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.naming import same_name
from freezerbox.errors import InputError, OutOfLine

LONGEST_NAME = 60
_LIKENESS = 80


def find_person(kitchen: Kitchen, name: str, *, new: bool = False) -> str:
    """The name as the book knows it; a new one as it was typed.

    Raises: InputError for no name; OutOfLine when a name much like it is known, and ``new`` does not say that this is
    somebody else.
    """
    words = " ".join(name.split())
    if not words or len(words) > LONGEST_NAME or not words.isprintable():
        raise InputError(f"{name!r} is not a name. Give one of up to {LONGEST_NAME} letters.", value=name)
    known = origins.persons(kitchen.book)
    for one in known:
        if same_name(one, words):
            return one
    if known and not new:
        from rapidfuzz import fuzz, process

        near = process.extractOne(words.lower(), [one.lower() for one in known], scorer=fuzz.ratio)
        if near and near[1] >= _LIKENESS:
            like = known[near[2]]
            raise OutOfLine(
                f"The book knows {like!r}. Give that name if it is the same person, or --yes if {words!r} is "
                "somebody else.",
                name=words,
                near=like,
            )
    return words


def remember(kitchen: Kitchen, act: Writer, name: str) -> None:
    """Write a person's row inside an act, once."""
    if name not in origins.persons(kitchen.book):
        act.add("person", name=name)
