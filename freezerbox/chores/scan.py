"""Looking at photographs: which labels are in them.  Nothing is changed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.photos import packs_of
from freezerbox.chores.scanned import PERSON_HEAD
from freezerbox.chores.symbols import known_symbols
from freezerbox.core.cards import CARDS, read_test
from freezerbox.core.code import LENGTH, is_valid, show_code
from freezerbox.core.symbol import ALPHANUMERIC, TEXT_LENGTH
from freezerbox.errors import InputError, OutOfLine
from freezerbox.reading.ladder import Symbol
from freezerbox.reading.marks import Mark, draw_marks
from freezerbox.reading.pictures import read_picture

_ADDRESS = re.compile(r"https?://[^/]+/(?:.*/)?([^/]+)/?", re.IGNORECASE)


Thing = Literal["label", "sign", "card", "other"]
"""What a symbol stands on: a package's label, the sign of a place, a card for a scanner, or nothing of ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoCode:
    """A code seen in a photograph.

    code: None when the symbol is none of ours, and on a person's card.  labels: how many labels in view carry it.
    """

    code: str | None
    symbol: Symbol
    labels: int = 1

    @property
    def on(self) -> Thing:
        """What it stands on, as the first character tells: packages have a letter, signs a number, cards 0."""
        if self.code is None:
            text = self.symbol.text
            return "card" if text.startswith(PERSON_HEAD) or read_test(text) is not None else "other"
        return "card" if self.code in CARDS else "label" if self.code[0].isalpha() else "sign"


Seen = tuple[tuple[Path, tuple[PhotoCode, ...]], ...]
"""What each photograph shows, in the order given."""


def look_at_photos(
    kitchen: Kitchen,
    files: Sequence[Path],
    *,
    show: Path | None = None,
    no_picture: Callable[[Path, InputError], None] | None = None,
    drawn: Callable[[Path, Path], None] | None = None,
) -> Seen:
    """What each photograph shows; nothing is changed in the book.

    Labels of the freezer that do not decode are recognised by their symbols, which the book knows.  Every code stands
    once for each photograph.  ``show``: a picture to draw, ``.png`` or ``.jpg``, of what was read where; further
    photographs go to ``NAME-2``, ``NAME-3``.  ``no_picture``: is told of each file that is none, and the others are
    looked at; without it the first ends it all.  ``drawn``: is told of each picture that was drawn, and of its
    photograph first.

    Raises: InputError for a file that is no picture, or for the name of the one to draw; BookTrouble when it cannot
    be written.
    """
    known = known_symbols(kitchen)
    found = []
    for number, file in enumerate(files, 1):
        try:
            symbols = read_picture(file, known)
        except InputError as error:
            if no_picture is None:
                raise
            no_picture(file, error)
            continue
        everything = [PhotoCode(code=code_said(symbol), symbol=symbol) for symbol in symbols]
        found.append((file, tuple(_each_once(everything))))
        if show:
            to = _shown_as(show, number)
            draw_marks(file, [_mark(one) for one in everything], to)
            if drawn:
                drawn(file, to)
    return tuple(found)


def _each_once(everything: Sequence[PhotoCode]) -> Iterator[PhotoCode]:
    """Every code once, by the symbol that says most, with how many labels carry it."""
    alike: dict[str, list[PhotoCode]] = {}
    for one in everything:
        alike.setdefault(one.code or one.symbol.text, []).append(one)
    for ones in alike.values():
        # The symbol with the record says more than the one for phones.
        best = min(ones, key=lambda one: bool(_ADDRESS.fullmatch(one.symbol.text)))
        yield replace(best, labels=packs_of(one.symbol for one in ones))


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
    words = "card" if one.on == "card" else show_code(one.code) if one.code else "not ours"
    return Mark(words=words, how=one.symbol.how, corners=one.symbol.position)


def _shown_as(show: Path, number: int) -> Path:
    return show if number == 1 else show.with_name(f"{show.stem}-{number}{show.suffix}")


def check_show(show: Path, photos: Sequence[Path], *, write_over: bool = False) -> None:
    """Whether the pictures of what was read may be drawn under that name.  ``write_over``: over what is there.

    Raises: InputError when ``show`` ends in neither .png nor .jpg, its folder is missing, or it would be drawn over a
    photograph or something that is no file; OutOfLine when a file is there already.
    """
    if show.suffix.lower() not in (".png", ".jpg", ".jpeg"):
        raise InputError(f"{str(show)!r} ends in neither .png nor .jpg.", value=str(show))
    if not show.parent.is_dir():
        raise InputError(f"There is no folder {str(show.parent)!r} to write {show.name!r} into.", value=str(show))
    for to in (_shown_as(show, number) for number in range(1, len(photos) + 1)):
        if not to.exists():
            continue
        if any(photo.exists() and photo.samefile(to) for photo in photos):
            raise InputError(
                f"{str(to)!r} is the photograph itself, and would be lost. Give another name: --show marked.png",
                value=str(to),
            )
        if not to.is_file():
            raise InputError(f"{str(to)!r} is no file. Give another name: --show marked.png", value=str(to))
        if not write_over:
            raise OutOfLine(
                f"{str(to)!r} is there already. Give another name; to write over it, add --yes", value=str(to)
            )
