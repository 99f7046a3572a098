"""What to say of the code on a sign: that its place was given up, that it is no name, which others mean the place."""

from __future__ import annotations

from freezerbox.book import queries, sign_codes
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.code import compact, looks_like_code, show_code
from freezerbox.core.records import Place
from freezerbox.errors import InputError


def given_up_words(kitchen: Kitchen, text: str) -> str:
    """That the place of that sign was given up, and how to take it into use again; "" for any other text."""
    code = compact(text)
    found = sign_codes.given_up(kitchen.book.connection, code) if looks_like_code(text) else None
    if found is None:
        return ""
    name, freezer = found
    in_use = [one.name for one in queries.freezers(kitchen.book)]
    again = f'freezerbox place add "{name}" --freezer "{freezer}"'
    if freezer not in in_use:
        again = f'freezerbox freezer add "{freezer}", and then {again}'
    return f"{show_code(code)} is the sign of {name} in {freezer}, which was given up. To use it again: {again}"


def unused_words(kitchen: Kitchen, code: str) -> str:
    """What to say of the sign of a place that is not in use: given up, or its adding was taken back."""
    return given_up_words(kitchen, code) or f"{show_code(code)} is the sign of a place no longer used."


def refuse_code(kitchen: Kitchen, name: str) -> None:
    """Raises: InputError for a name that reads as a code of this book: it could not be said to mean the place."""
    kind = queries.code_kind(kitchen.book, compact(name)) if looks_like_code(name) else None
    if kind is None:
        return
    what = given_up_words(kitchen, name)
    if not what:
        what = f"{name!r} is no name: it reads as the code of a {'sign' if kind == 'place' else kind} of this book"
        what += ". Take a word or two, such as red bag."
    raise InputError(what, value=name)


def other_signs(kitchen: Kitchen, place: Place) -> tuple[str, ...]:
    """Codes of the signs that mean this place besides its own, since two books were joined."""
    return sign_codes.others(kitchen.book.connection, place.code)
