"""Measuring letters: widths and heights as multiples of the height of a capital, from the font files shipped."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from freezerbox.labels.library import fonts_folder

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

FILES = {
    "sans": "DejaVuSans-Bold.ttf",
    "condensed": "DejaVuSansCondensed-Bold.ttf",
    "mono": "DejaVuSansMono-Bold.ttf",
}
# One em of the font files, so that measures are free of any one size's rounding.
_EM = 2048


@lru_cache(maxsize=64)
def font(face: str, size: float) -> FreeTypeFont:
    """The face at ``size`` pixels an em.  Basic layout: the same on every machine."""
    from PIL import ImageFont

    return ImageFont.truetype(str(fonts_folder() / FILES[face]), size, layout_engine=ImageFont.Layout.BASIC)


@lru_cache(maxsize=8)
def em_per_cap(face: str) -> float:
    """How many capitals' heights an em is."""
    return _EM / -font(face, _EM).getbbox("H", anchor="ls")[1]


@lru_cache(maxsize=4096)
def measure(face: str, text: str) -> tuple[float, float, float]:
    """Width, height above and depth below the base line of ``text``, in heights of a capital."""
    at_em = font(face, _EM)
    left, top, right, bottom = at_em.getbbox(text, anchor="ls")
    cap = _EM / em_per_cap(face)
    width = max(right, at_em.getlength(text)) - min(0, left)
    return width / cap, max(0.0, -top) / cap, max(0.0, bottom) / cap


@lru_cache(maxsize=1024)
def _drawn(face: str, letter: str) -> bytes:
    mask = font(face, 64).getmask(letter, mode="1")
    return bytes(mask) + bytes(mask.size)


def printable(face: str, text: str) -> str:
    """The text with every letter the face lacks as ``?``."""
    # U+FFFF is no character, so what is drawn for it is the face's mark for "missing".
    missing = _drawn(face, "\uffff")
    return "".join("?" if letter != " " and _drawn(face, letter) == missing else letter for letter in text)
