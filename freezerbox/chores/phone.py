"""The name that the household's phones call this machine by, and what a label's symbol for them says."""

from __future__ import annotations

import re

from freezerbox.book.values import unreadable_setting
from freezerbox.chores.kitchen import Kitchen
from freezerbox.errors import InputError
from freezerbox.labels.symbols import LINK_LONGEST

PHONE_KEY = "phone-name"
NONE = "none"
_START, _CODE = "HTTP://", "/K7P3MT"
LONGEST_NAME = LINK_LONGEST - len(_START) - len(_CODE)
"""A port counts too."""
_LABEL = re.compile(r"[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?")  # RFC 1123, 2.1
_FIGURES = re.compile(r"[0-9]+|0[xX][0-9A-Fa-f]*")
_MOST_PORT = 65535  # RFC 9293, 3.1: sixteen bits


def parse_phone_name(text: str) -> str:
    """The name in small letters, with its port if one was given: ``freezer.local``, ``freezer.local:8080``; or none.

    Raises: InputError for an address in figures, since these change and a label does not; for what is no name; for
    one that is too long for a label's symbol.
    """
    name = text.strip().lower()
    if name == NONE:
        return name
    example = "Give its name: freezerbox settings phone-name freezer.local"
    if "/" in name:
        raise InputError(f"{text!r} is a whole address; the name alone is wanted. {example}", value=text)
    host, colon, port = name.partition(":")
    labels = host.split(".")
    if ":" in port or "[" in name or _FIGURES.fullmatch(labels[-1]):
        raise InputError(
            f"{text!r} is an address in figures. Those change, and the labels in the freezer would lead nowhere. "
            f"{example}",
            value=text,
        )
    if host == "localhost":
        raise InputError(f"{text!r} would lead each phone to itself. {example}", value=text)
    if not all(map(_LABEL.fullmatch, labels)):
        raise InputError(
            f"{text!r} is not a machine's name: letters, figures and hyphens, with dots between. {example}",
            value=text,
        )
    if colon and not (port.isascii() and port.isdigit() and 1 <= int(port) <= _MOST_PORT):
        raise InputError(
            f"{port!r} is not a port. Give a number from 1 to {_MOST_PORT}, or leave it off.", value=text
        )
    if len(name) > LONGEST_NAME:
        raise InputError(
            f"{text!r} is {len(name)} characters; a label has room for {LONGEST_NAME}. "
            "Give the machine a shorter name.",
            value=text,
        )
    return name


def phone_link(kitchen: Kitchen, code: str) -> str:
    """What the symbol for phones says of a package, ``HTTP://FREEZER.LOCAL/K7P3MT``; "" when no name is set.

    Raises: BookTrouble when the book says one that cannot be.
    """
    said = kitchen.settings.get(PHONE_KEY, NONE)
    try:
        name = parse_phone_name(said)
    except InputError as error:
        raise unreadable_setting(PHONE_KEY, said, f"freezerbox settings {PHONE_KEY} {NONE}") from error
    return "" if name == NONE else f"{_START}{name.upper()}/{code}"
