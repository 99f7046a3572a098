"""Photographs to symbols: what decodes, and what the book knows through frost; and opening picture files."""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal, overload

from freezerbox.core.code import LENGTH, compact
from freezerbox.errors import InputError
from freezerbox.reading.grid import SIDE
from freezerbox.reading.known import Known
from freezerbox.reading.ladder import Symbol, climb_ladder
from freezerbox.reading.matching import match
from freezerbox.reading.watch import begin

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_PIXELS = 48_000_000
_BARS_MODULES = 101  # of a Code 128 of six characters: start, six, check of 11 each and a stop of 13
_QR_TO_BARS = 2.5  # a QR module of our labels beside a bar's, about
# Phones' "MPO" files open as JPEG.
_KINDS = ("JPEG", "PNG", "WEBP", "AVIF", "TIFF", "BMP", "GIF")
_USE = "Use JPEG, PNG, WebP, AVIF, TIFF, BMP or GIF; HEIC with the extra 'heic'."
_MOVING = ("GIF", "PNG", "WEBP", "AVIF")
_EXIF_TURN = 0x0112
_TIFF_SUBFILE, _TIFF_SMALLER = 254, 1  # NewSubfileType, and its bit for a smaller copy of another page (TIFF 6.0)
_HEIC_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1")


def read_picture(source: Image | Path | str, known: Known | None = None) -> tuple[Symbol, ...]:
    """Every QR and Code 128 in view, top to bottom, then the ``known`` symbols recognised in what is left of it.

    Nothing when none reads.  Raises: InputError when the file is missing, no picture, cut short, or larger than 48
    megapixels.
    """
    if isinstance(source, str | Path):
        begin(Path(source))
    picture = open_picture(Path(source)) if isinstance(source, str | Path) else _grey(source)
    found, unread = climb_ladder(picture)
    return (*found, *_recognised(picture, found, known, unread=unread)) if known else tuple(found)


def _recognised(picture: Image, found: Sequence[Symbol], known: Known, *, unread: bool) -> list[Symbol]:
    """Expected symbols in the regions that decoding left over."""
    sizes = [size for symbol in found if (size := module_px(symbol))]
    usual = sum(sizes) / len(sizes) if sizes else None
    several = unread or len({compact(symbol.text)[:LENGTH] for symbol in found}) > 1
    taken = [symbol.position for symbol in found if symbol.symbology == "QR"]
    return [
        Symbol(
            text=one.expected.text,
            symbology="QR",
            how="matched",
            position=one.corners,
            likeness=round(one.r, 2),
        )
        for one in match(picture, known, taken, usual, several=several)
    ]


def module_px(symbol: Symbol) -> float | None:
    """About how many pixels a module of a label's QR has beside this symbol; None when it does not tell."""
    top = math.dist(symbol.position[0], symbol.position[1])
    if symbol.symbology == "Code 128":
        return top * _QR_TO_BARS / _BARS_MODULES or None
    side = math.dist(symbol.position[0], symbol.position[3])
    return (top + side) / 2 / SIDE or None


@overload
def open_picture(path: Path) -> Image: ...
@overload
def open_picture(path: Path, *, display: Literal[True]) -> tuple[Image, int]: ...
def open_picture(path: Path, *, display: bool = False) -> Image | tuple[Image, int]:
    """The picture in a file, in grey as the sensor saw it; for ``display`` in colour, with the turn it asks for.

    A turn is a number 1..8 (Exif 2.32, tag 0x0112).  Symbols read at any turn, so reading leaves it alone.

    Raises: InputError as :func:`read_picture`.
    """
    from PIL import Image, UnidentifiedImageError

    name = str(path)
    if path.is_dir():
        raise InputError(f"{name!r} is a folder, not a picture.", value=name)
    if path.exists() and not path.is_file():  # a pipe would be waited for without end
        raise InputError(f"{name!r} is not an ordinary file. Save the photograph as one first.", value=name)
    try:
        kinds = _kinds(path, name)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # large or slightly odd pictures: judged below, not warned about
            with Image.open(path, formats=kinds) as picture:
                _refuse_large(picture, name)
                _refuse_pages(picture, name)
                if display:
                    shown = _grey(picture, name) if _is_deep(picture) or picture.mode == "LAB" else picture
                    return shown.convert("RGB"), picture.getexif().get(_EXIF_TURN, 1)
                picture.draft("L", picture.size)
                return _grey(picture, name)
    except FileNotFoundError:
        raise InputError(f"There is no file {name!r}.", value=name) from None
    except Image.DecompressionBombError:
        raise InputError(_too_large(name), value=name) from None
    except UnidentifiedImageError:
        raise InputError(_no_picture(path, name), value=name) from None
    except PermissionError:
        raise InputError(f"{name!r} may not be read: no permission.", value=name) from None
    except InputError:
        raise
    except Exception as error:
        # Pillow's readers raise whatever a damaged file makes them stumble over: OSError, SyntaxError, ...  Only what
        # the system itself says of a file has words for people.
        if isinstance(error, OSError) and error.strerror:
            raise InputError(f"{name!r} cannot be read: {error.strerror}.", value=name) from error
        raise InputError(f"{name!r} is damaged or cut short. Copy it again.", value=name) from error


def _kinds(path: Path, name: str) -> tuple[str, ...]:
    """Kinds of picture to try; HEIC only when the file is one and the reader for it is installed.

    Raises: InputError for HEIC without its reader.
    """
    if not _is_heic(path):
        return _KINDS
    try:
        import pillow_heif
    except ImportError:
        raise InputError(
            f"{name!r} is a HEIC photograph. To read these, install freezerbox with its extra 'heic', "
            "or save the photograph as JPEG.",
            value=name,
        ) from None
    pillow_heif.register_heif_opener()
    return (*_KINDS, "HEIF")


def _is_heic(path: Path) -> bool:
    with path.open("rb") as file:
        start = file.read(12)
    return start[4:8] == b"ftyp" and start[8:12] in _HEIC_BRANDS


def _refuse_large(picture: Image, name: str) -> None:
    if picture.width * picture.height > MOST_PIXELS:
        raise InputError(_too_large(name), value=name)


def _refuse_pages(picture: Image, name: str) -> None:
    """A scan of several pages or a moving picture, of which one alone would be read.

    A small copy of the page beside it is no page.
    """
    if picture.format in _MOVING and getattr(picture, "n_frames", 1) > 1:
        raise InputError(
            f"{name!r} is a moving picture, of which one moment alone would be read. Save the moment that shows the "
            "label as a JPEG.",
            value=name,
        )
    if picture.format != "TIFF":
        return
    pages = 0
    for number in range(getattr(picture, "n_frames", 1)):
        picture.seek(number)
        pages += not int(getattr(picture, "tag_v2", {}).get(_TIFF_SUBFILE, 0)) & _TIFF_SMALLER
    picture.seek(0)
    if pages > 1:
        raise InputError(
            f"{name!r} has {pages} pages, of which one alone would be read. Save each page as a JPEG of its own, and "
            "give every one with --photo",
            value=name,
        )


def _too_large(name: str) -> str:
    return f"{name!r} is larger than 48 megapixels. Take it at a smaller size, or crop it."


def _no_picture(path: Path, name: str) -> str:
    if not path.stat().st_size:
        return f"{name!r} is empty."
    if _is_heic(path):
        return f"{name!r} is a HEIC photograph that is damaged or cut short. Copy it again."
    return f"{name!r} is not a picture. {_USE}"


def _grey(picture: Image, name: str = "") -> Image:
    """In grey; what is transparent is white paper."""
    from PIL import Image

    if _is_deep(picture):
        return _scaled(picture, name)
    if picture.mode == "LAB":
        return picture.getchannel(0)  # the lightness
    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        layered = picture.convert("RGBA")
        paper = Image.new("RGBA", layered.size, "white")
        return Image.alpha_composite(paper, layered).convert("L")
    return picture.convert("L")


def _is_deep(picture: Image) -> bool:
    """More than 8 bits a pixel, as scanners and darkroom programs write."""
    return picture.mode == "F" or picture.mode.startswith("I")


def _scaled(picture: Image, name: str) -> Image:
    """A picture of large numbers or fractions in 8 bits: white is the power of two that its brightest needs.

    So 12 bits come out as they should in a file of 16 or 32, and so do fractions of one.
    """
    plain = picture if picture.mode == "F" else picture.convert("I")
    extrema = plain.getextrema()
    darkest, brightest = (float(one) for one in extrema if isinstance(one, int | float))
    if not (math.isfinite(darkest) and math.isfinite(brightest)):
        raise InputError(f"{name!r} holds numbers that are no brightness. Save it as JPEG.", value=name)
    black = min(0.0, darkest)
    reach = brightest - black
    scale = 255 / 2.0 ** math.ceil(math.log2(reach)) if reach > 0 else 1.0
    return plain.point(lambda value: value * scale - black * scale).convert("L")
