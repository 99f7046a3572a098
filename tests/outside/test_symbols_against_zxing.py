"""Our symbols against an independent encoder and decoder: zxing-cpp.

Module by module with the mask forced equal (for alphanumeric texts the two encoders must agree), and read back.
"""

from __future__ import annotations

import re
from typing import Any

import zxingcpp
from hypothesis import example, given, settings
from hypothesis import strategies as st
from PIL import Image

from freezerbox.labels.symbols import code128_bars, qr_modules, qr_symbol

ALPHANUMERIC = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
texts = st.text(alphabet=ALPHANUMERIC, min_size=1, max_size=16)
codes = st.text(alphabet="0123456789ABCDEFGHJKMNPQRSTVWXYZ", min_size=6, max_size=6)


def picture_of(rows: tuple[tuple[bool, ...], ...], across: int, down: int, quiet: int) -> Image.Image:
    wide, high = len(rows[0]) + 2 * quiet, len(rows) + (2 * quiet if len(rows) > 1 else 0)
    picture = Image.new("L", (wide, high), 255)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                picture.putpixel((x + quiet, y + (quiet if len(rows) > 1 else 0)), 0)
    return picture.resize((wide * across, high * down), Image.Resampling.NEAREST)


def read(rows: tuple[tuple[bool, ...], ...], across: int, down: int, quiet: int) -> list[tuple[str, str]]:
    found = zxingcpp.read_barcodes(picture_of(rows, across, down, quiet))
    return [(barcode.text, str(barcode.format)) for barcode in found]


def outside_matrix(text: str, level: str) -> tuple[tuple[tuple[bool, ...], ...], int]:
    """The other encoder's modules, and the mask it chose, as its decoder tells it."""
    made = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level=level)
    image: Any = made.to_image(scale=1, add_quiet_zones=False)
    dots: Any = memoryview(image)
    modules = tuple(tuple(dot == 0 for dot in row) for row in dots.tolist())
    (barcode,) = zxingcpp.read_barcodes(picture_of(modules, 4, 4, 4))
    told: Any = barcode.extra
    return modules, int(told["DataMask"])


# The other encoder puts long runs of digits into numeric mode, which is another symbol saying the same.
one_mode = texts.filter(lambda text: not re.search(r"\d{6}", text) and not text.isdigit())


@settings(max_examples=150, deadline=None)
@given(text=one_mode)
def test_modules_equal_the_other_encoders(text: str) -> None:
    modules, mask = outside_matrix(text, qr_symbol(text).level)
    assert qr_modules(text, mask=mask) == modules


@settings(max_examples=60, deadline=None)
@given(text=texts, mask=st.sampled_from([None, *range(8)]))
def test_read_back_with_every_mask(text: str, mask: int | None) -> None:
    (found,) = read(qr_modules(text, mask=mask), 5, 5, 4)
    assert found[0] == text
    assert "QR" in found[1]


@settings(max_examples=60, deadline=None)
@given(code=codes)
@example(code="990000")
@example(code="99MK6J")
def test_code_128_read_back(code: str) -> None:
    row = tuple(bar == "1" for bar in code128_bars(code))
    (found,) = read((row,), 2, 40, 10)
    assert found[0] == code
    assert "128" in found[1]


def test_a_code_128_of_six_letters_is_101_modules() -> None:
    """Source: ISO/IEC 15417: start, six characters, check of 11 modules each and a stop of 13."""
    assert len(code128_bars("K7PXMT")) == (1 + 6 + 1) * 11 + 13
