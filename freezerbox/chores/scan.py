"""Looking at photographs: which labels are in them.  Nothing is changed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.symbols import known_symbols
from freezerbox.core.code import LENGTH, is_valid, show_code
from freezerbox.core.symbol import ALPHANUMERIC, TEXT_LENGTH
from freezerbox.errors import InputError
from freezerbox.reading.ladder import Symbol
from freezerbox.reading.marks import Mark, draw_marks
from freezerbox.reading.pictures import read_picture

_ADDRESS = re.compile(r"https?://[^/]+/(?:.*/)?([^/]+)/?", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoCode:
    """A code seen in a photograph.  code: None when the symbol is none of ours."""

    code: str | None
    symbol: Symbol


Seen = tuple[tuple[Path, tuple[PhotoCode, ...]], ...]
"""What each photograph shows, in the order given."""


def look_at_photos(kitchen: Kitchen, files: Sequence[Path], *, show: Path | None = None) -> Seen:
    """What each photograph shows; nothing is changed in the book.

    Labels of the freezer that do not decode are recognised by their symbols, which the book knows.  Every code stands
    once for each photograph.  ``show``: a picture to draw, ``.png`` or ``.jpg``, of what was read where; further
    photographs go to ``NAME-2``, ``NAME-3``.

    Raises: InputError for a file that is no picture, or for the name of the one to draw; BookTrouble when it cannot
    be written.
    """
    known = known_symbols(kitchen)
    found = []
    for number, file in enumerate(files, 1):
        everything = [PhotoCode(code=code_said(symbol), symbol=symbol) for symbol in read_picture(file, known)]
        codes: dict[str, PhotoCode] = {}
        for one in everything:
            said = one.code or one.symbol.text
            if said not in codes or _ADDRESS.fullmatch(codes[said].symbol.text):
                codes[said] = one  # the symbol with the record says more than the one for phones
        found.append((file, tuple(codes.values())))
        if show:
            to = show if number == 1 else show.with_name(f"{show.stem}-{number}{show.suffix}")
            draw_marks(file, [_mark(one) for one in everything], to)
    return tuple(found)


def code_said(symbol: Symbol) -> str | None:
    """The code a symbol says; None when it says something else.

    Stricter than what a person types: nothing is mended, since a camera sees much that is not ours.
    """
    text = symbol.text
    address = _ADDRESS.fullmatch(text)
    if address:
        text = address[1].upper()
    elif symbol.symbology == "QR" and len(text) <= TEXT_LENGTH and all(letter in ALPHANUMERIC for letter in text):
        # The record behind the code may end in spaces that were lost; fewer than four characters of it is none.
        text = text[:LENGTH] if len(text) >= LENGTH + 4 else text
    return text if is_valid(text) else None


def _mark(one: PhotoCode) -> Mark:
    words = show_code(one.code) if one.code else "not ours"
    return Mark(words=words, how=one.symbol.how, corners=one.symbol.position)


def check_show(show: Path) -> None:
    """Raises: InputError when ``show`` ends in neither .png nor .jpg, or its folder is missing."""
    if show.suffix.lower() not in (".png", ".jpg", ".jpeg"):
        raise InputError(f"{show.name!r} ends in neither .png nor .jpg.", value=str(show))
    if not show.parent.is_dir():
        raise InputError(f"There is no folder {str(show.parent)!r} to write {show.name!r} into.", value=str(show))
