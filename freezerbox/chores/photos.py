"""What the symbols in photographs say, word for word, and how many packs carry the same code."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import ceil
from pathlib import Path

from freezerbox.core.code import LENGTH, compact, is_valid
from freezerbox.reading.copies import labels_of
from freezerbox.reading.known import Known
from freezerbox.reading.ladder import Symbol
from freezerbox.reading.pictures import open_picture, read_picture

_MOST_COPIES = 2  # of a package's symbol on one label, by the designs


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """A label seen.  code: its code.  text: the fullest of what its symbols say.  files: where it was seen.

    packs: how many packs in one photograph carry it; 1 but for a code on two packs.
    """

    code: str
    text: str
    files: tuple[Path, ...]
    packs: int


def sightings(files: Sequence[Path], known: Known | None = None) -> tuple[Sighting, ...]:
    """Every package label in the photographs, each code once, in the order seen.

    ``known``: labels that are recognised by their symbols where they do not decode.

    Raises: InputError for a file that is no picture.
    """
    return _told((file, read_picture(file, known)) for file in files)


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseLook:
    """What a close look at a photograph came to.

    read: how many package labels.  unread: how many things with the look of a label's symbol could not be read, and
    are none that the book knows.
    """

    file: Path
    read: int
    unread: int


def sightings_closely(
    files: Sequence[Path], known: Known, tell: Callable[[CloseLook], None]
) -> tuple[tuple[Sighting, ...], tuple[CloseLook, ...]]:
    """The same where the book does not know the labels: each photograph is looked at with all there is.

    ``known``: labels of the book; what resembles one of them is not called unread.  ``tell``: is told of each
    photograph when it is done, since a dozen take minutes.

    Raises: InputError for a file that is no picture; none is looked at before all are seen to be pictures.
    """
    from freezerbox.reading.closely import read_closely

    for file in files:
        open_picture(file)
    found: list[tuple[Path, Sequence[Symbol]]] = []
    looks: list[CloseLook] = []
    for file in files:
        looked = read_closely(file, known)
        found.append((file, looked.symbols))
        codes = {code for symbol in looked.symbols if is_valid(code := compact(symbol.text)[:LENGTH])}
        looks.append(CloseLook(file=file, read=sum(code[0].isalpha() for code in codes), unread=len(looked.unread)))
        tell(looks[-1])
    return _told(found), tuple(looks)


def _told(seen: Iterable[tuple[Path, Sequence[Symbol]]]) -> tuple[Sighting, ...]:
    found: dict[str, Sighting] = {}
    for file, symbols_in_it in seen:
        by_code: dict[str, list[Symbol]] = {}
        for symbol in symbols_in_it:
            code = compact(symbol.text)[:LENGTH]
            if is_valid(code) and code[0].isalpha():
                by_code.setdefault(code, []).append(symbol)
        for code, symbols in by_code.items():
            before = found.get(code)
            texts = [symbol.text for symbol in symbols] + ([before.text] if before else [])
            found[code] = Sighting(
                code=code,
                # An address is longer than a record, and says the code alone.
                text=max(texts, key=lambda text: (text[:LENGTH] == code, len(text))),
                files=(*(before.files if before else ()), file),
                packs=max(before.packs if before else 1, packs_of(symbols)),
            )
    return tuple(found.values())


def packs_of(symbols: Iterable[Symbol]) -> int:
    """How many labels the symbols of one code belong to, by how far apart they lie and how many one label bears."""
    squares = [symbol.position for symbol in symbols if symbol.symbology == "QR"]
    labels = labels_of([""] * len(squares), squares)
    return max(1, sum(ceil(len(label) / _MOST_COPIES) for label in labels))
