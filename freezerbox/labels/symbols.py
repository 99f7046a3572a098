"""The symbols as modules and bars, before any size: QR version 1, version 2 for phones, and Code 128."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from freezerbox.core.symbol import LEAST_MODULE_MM as LEAST_MODULE_MM
from freezerbox.errors import InputError

QR_SIDE = 21  # modules, version 1 (ISO/IEC 18004, 6.3.1.2: 17 + 4 x version)
QR_QUIET = 4  # modules of white on every side (ISO/IEC 18004, 6.3.8)
QR_BOX = QR_SIDE + 2 * QR_QUIET
BARS_QUIET = 10  # modules of white at each end (ISO/IEC 15417, 4.2 c)
# Characters a version 1 symbol holds in alphanumeric mode, strongest level first (ISO/IEC 18004, table 7).
CAPACITY = (("H", 10), ("Q", 16))
LINK_BOX = 25 + 2 * QR_QUIET  # modules of the symbol for phones, version 2, with its white
LINK_CAPACITY = (("H", 20), ("Q", 29), ("M", 38))  # the same table, version 2
LINK_LONGEST = LINK_CAPACITY[-1][1]
FINE_DPI, FINE_MODULE_MM = 300, 0.59
"""From so many dots per inch on, two copies of a package's own QR may be this fine; seven dots of 300 are 0.593 mm.

Measured: two of these against one of eight dots, tests/weather/every_stock.csv, ``roll-2x1in-300dpi``.
"""

_ALPHANUMERIC = re.compile(r"[0-9A-Z $%*+\-./:]+")
_PRINTABLE = re.compile(r"[ -~]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class QrSymbol:
    """One QR symbol without its quiet zone.

    modules: rows from the top, ``True`` is dark; 21 x 21, of the one for phones 25 x 25.
    mask: the data mask in use, 0..7; kept with the label, so that the exact symbol can be expected later.
    level: error correction, ``H`` or ``Q``; ``M`` only of the one for phones.
    """

    modules: tuple[tuple[bool, ...], ...]
    mask: int
    level: str


def least_module_mm(copies: int, dpi: int) -> float:
    """The finest module in mm that a package's own QR may have: with so many copies, at so many dots per inch."""
    return FINE_MODULE_MM if copies > 1 and dpi >= FINE_DPI else LEAST_MODULE_MM


@lru_cache(maxsize=512)
def qr_symbol(text: str, *, mask: int | None = None) -> QrSymbol:
    """The version 1 symbol that says ``text``, at the strongest level that holds it; the mask chosen unless given.

    Raises: InputError for characters outside the QR alphanumeric set, or more than sixteen.
    """
    return _symbol(text, 1, CAPACITY, mask)


@lru_cache(maxsize=512)
def link_symbol(text: str) -> QrSymbol:
    """The version 2 symbol that says ``text``, an address for phones, at the strongest level that holds it.

    Raises: InputError for characters outside the QR alphanumeric set, or more than thirty-eight.
    """
    return _symbol(text, 2, LINK_CAPACITY, None)


def _symbol(text: str, version: int, capacity: tuple[tuple[str, int], ...], mask: int | None) -> QrSymbol:
    if not _ALPHANUMERIC.fullmatch(text):
        raise InputError(
            f"{text!r} cannot be a label's QR: use 0-9, A-Z, space and $ % * + - . / : only.", value=text
        )
    level = next((name for name, most in capacity if len(text) <= most), None)
    if level is None:
        raise InputError(f"{text!r} is too long for a label's QR: {capacity[-1][1]} characters at most.", value=text)
    from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_M, ERROR_CORRECT_Q
    from qrcode.main import QRCode
    from qrcode.util import MODE_ALPHA_NUM, QRData

    correction = {"H": ERROR_CORRECT_H, "Q": ERROR_CORRECT_Q, "M": ERROR_CORRECT_M}[level]
    symbol = QRCode(version=version, error_correction=correction, border=0)
    symbol.add_data(QRData(text, mode=MODE_ALPHA_NUM), optimize=0)
    used = symbol.best_mask_pattern() if mask is None else mask
    symbol.makeImpl(False, used)
    modules = tuple(tuple(bool(module) for module in row) for row in symbol.modules)
    return QrSymbol(modules=modules, mask=used, level=level)


def qr_modules(text: str, *, mask: int | None = None) -> tuple[tuple[bool, ...], ...]:
    """The 21 x 21 modules of the symbol that says ``text``, ``True`` is dark.

    Raises: InputError as :func:`qr_symbol`.
    """
    return qr_symbol(text, mask=mask).modules


@lru_cache(maxsize=512)
def code128_bars(text: str) -> str:
    """The bars that say ``text``, without quiet zones: ``1`` a dark module, ``0`` a white one.

    Always code set B, so that every text of six is equally wide.  python-barcode's tables are used but not its
    encoder: in 0.16 that takes a text's leading ``99`` for a change of code set and loses it.

    Raises: InputError for an empty text, or characters beyond plain ASCII.
    """
    if not _PRINTABLE.fullmatch(text):
        raise InputError(f"{text!r} cannot be a Code 128: plain letters, digits and signs only.", value=text)
    from barcode.charsets.code128 import CODES, START_CODES, STOP, B

    values = [START_CODES["B"], *(B[letter] for letter in text)]
    # ISO/IEC 15417, annex A: the start counts once, each character as often as its place.
    check = sum(value * max(1, place) for place, value in enumerate(values)) % 103
    return "".join(str(CODES[value]) for value in (*values, check)) + str(STOP) + "11"
