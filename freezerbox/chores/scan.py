"""Looking at photographs: which labels are in them.  Nothing is changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.take import read_code
from freezerbox.errors import InputError
from freezerbox.reading.pictures import Symbol, read_picture


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoCode:
    """A code seen in a photograph.  code: None when the symbol is none of ours."""

    code: str | None
    symbol: Symbol


def look_at_photos(kitchen: Kitchen, files: Sequence[Path]) -> tuple[tuple[Path, tuple[PhotoCode, ...]], ...]:
    """What each photograph shows; nothing is changed.  Raises: InputError for a file that is no picture."""
    found = []
    for file in files:
        codes: dict[str, PhotoCode] = {}
        for symbol in read_picture(file):
            try:
                code = read_code(kitchen, symbol.text)
            except InputError:
                codes.setdefault(symbol.text, PhotoCode(code=None, symbol=symbol))
                continue
            codes.setdefault(code, PhotoCode(code=code, symbol=symbol))
        found.append((file, tuple(codes.values())))
    return tuple(found)
