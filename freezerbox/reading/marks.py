"""A photograph with what was read in it drawn on: for people to see what was found, and what was not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from freezerbox.errors import BookTrouble, InputError
from freezerbox.reading.copies import labels_of
from freezerbox.reading.grid import Point
from freezerbox.reading.ladder import How
from freezerbox.reading.pictures import open_picture
from freezerbox.reading.tags import Tags, detail_of, nearest

if TYPE_CHECKING:
    from PIL.Image import Image

_LARGEST = 2000  # pixels, long side: to be looked at on a screen
_FORMATS = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG"}
_TAGS_ACROSS = 36  # lines of a tag's words in the picture's long side: they read at the width of a phone
# The surest first: of a label's symbols the best read tells.
_WORDS: dict[How, str] = {"decoded": "", "filtered": "\nfiltered", "matched": "\nthrough frost"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """What to write where.  words: beside the symbol.  how: how it was read.  corners: in pixels of the file."""

    words: str
    how: How
    corners: tuple[Point, ...]


def draw_marks(photo: Path, marks: Sequence[Mark], to: Path) -> None:
    """Write the photograph, upright, with each mark drawn round its symbol; dashed where it was only recognised.

    What is there already is written over, whole or not at all.

    Raises: InputError for a file that is no picture or another ending; BookTrouble when the disk refuses.
    """
    kind = _FORMATS.get(to.suffix.lower())
    if kind is None:
        raise InputError(f"{to.name!r} ends in neither .png nor .jpg.", value=str(to))
    picture, turn = open_picture(photo, display=True)
    size = picture.size
    upright = _upright(picture, turn)
    scale = min(1.0, _LARGEST / max(upright.size))
    if scale < 1:
        upright = upright.resize((round(upright.width * scale), round(upright.height * scale)))
    from PIL import ImageDraw, ImageFont

    draw = ImageDraw.Draw(upright)
    large = max(14, max(upright.size) // _TAGS_ACROSS)
    font = ImageFont.load_default(large)
    symbols = [
        [(x * scale, y * scale) for x, y in (turned(corner, size, turn) for corner in mark.corners)] for mark in marks
    ]
    labels = labels_of([mark.words for mark in marks], symbols)
    tags = Tags(detail=detail_of(upright), symbols=symbols, labels=labels)
    for mark, corners in zip(marks, symbols, strict=True):
        _outline(draw, corners, large, dashed=mark.how == "matched")
    for label in labels:
        how = min((marks[number].how for number in label), key=list(_WORDS).index)
        words = marks[label[0]].words + _WORDS[how]
        left, top, right, bottom = draw.textbbox((0, 0), words, font=font)
        # Inside the picture, and white on black, so that it reads on any ground.
        box = tags.place(label, right - left + 6, bottom - top + 6)
        here, there = nearest(box, [symbols[number] for number in label])
        if here != there:
            draw.line((here, there), fill="black", width=max(2, large // 6) + 2)
            draw.line((here, there), fill="white", width=max(1, large // 10))
        draw.rectangle(box, fill="black")
        draw.text((box[0] + 3 - left, box[1] + 3 - top), words, font=font, fill="white")
    part = to.with_name(f".{to.name}.part")
    try:
        upright.save(part, format=kind)
        part.replace(to)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise BookTrouble(f"{str(to)!r} cannot be written: {error.strerror or error}.", value=str(to)) from error


def _outline(draw: object, corners: Sequence[Point], large: int, *, dashed: bool) -> None:
    from PIL import ImageDraw

    assert isinstance(draw, ImageDraw.ImageDraw)
    thick = max(2, large // 6)
    for at in range(len(corners)):
        (x0, y0), (x1, y1) = corners[at - 1], corners[at]
        pieces = 9 if dashed else 1
        for piece in range(0, pieces, 2):
            a, b = piece / pieces, (piece + 1) / pieces
            ends = (x0 + (x1 - x0) * a, y0 + (y1 - y0) * a, x0 + (x1 - x0) * b, y0 + (y1 - y0) * b)
            draw.line(ends, fill="black", width=thick + 4)
            draw.line(ends, fill="white", width=thick)


def _upright(picture: Image, turn: int) -> Image:
    """As the camera was held: the turn that the file asks for (Exif 2.32, tag 0x0112)."""
    from PIL import Image

    way = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }.get(turn)
    return picture if way is None else picture.transpose(way)


def turned(point: Point, size: tuple[int, int], turn: int) -> Point:
    """Where a point of a picture of ``size`` lies once it is upright."""
    (x, y), (width, height) = point, size
    return {
        2: (width - x, y),
        3: (width - x, height - y),
        4: (x, height - y),
        5: (y, x),
        6: (height - y, x),
        7: (height - y, width - x),
        8: (y, width - x),
    }.get(turn, (x, y))
