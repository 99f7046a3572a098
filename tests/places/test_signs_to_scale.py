"""Signs and spare codes as they lie on the page: how fine a symbol is, and what crosses a cut line."""

from __future__ import annotations

import math
from pathlib import Path

import pypdfium2
import pytest
from PIL import Image

from freezerbox.core.symbol import LEAST_MODULE_MM
from freezerbox.errors import LabelDoesNotFit
from freezerbox.labels.symbols import QR_SIDE, qr_symbol
from freezerbox.pages.tiles import Tile, write_tiles
from freezerbox.reading.pictures import read_picture
from tests.cli.process import House


def words(path: Path) -> str:
    with pypdfium2.PdfDocument(path) as document:
        return "\n".join(page.get_textpage().get_text_range() for page in document)


def ink(house: House, name: str, scale: float = 12.0) -> Image.Image:
    """The first page in grey; ``scale`` dots a millimetre."""
    with pypdfium2.PdfDocument(house.folder / name) as document:
        picture: Image.Image = document[0].render(scale=scale * 25.4 / 72).to_pil()
    return picture.convert("L")


def darkest(picture: Image.Image, left: float, top: float, right: float, bottom: float) -> int:
    """The darkest grey in a box of the picture, its sides in dots."""
    return min(picture.crop((round(left), round(top), round(right), round(bottom))).tobytes())


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_no_module_of_a_spare_code_is_finer_than_a_phone_reads(house: House, paper: str) -> None:
    """Measured in the picture of the page: a symbol of version 1 is 21 modules wide (ISO/IEC 18004, 6.3.1.2)."""
    house.ok("sign", "--spares", "30", "--paper", paper, "--to", "strip.pdf")
    page = ink(house, "strip.pdf")
    symbols = [one for one in read_picture(page) if one.symbology == "QR"]
    assert len(symbols) == 30
    for symbol in symbols:
        (x0, y0), (x1, y1) = symbol.position[0], symbol.position[1]
        assert math.dist((x0, y0), (x1, y1)) / 12 / QR_SIDE >= LEAST_MODULE_MM - 0.01
        # And white round it as wide as four modules: nothing dark but the symbol in the box with its margin.
        quiet = 3.9 * 12 * LEAST_MODULE_MM
        left, top = x0 - quiet, y0 - quiet
        right, bottom = symbol.position[2][0] + quiet, symbol.position[2][1] + quiet
        for strip in (
            (left, top, right, y0 - 2), (left, symbol.position[2][1] + 3, right, bottom),
            (left, top, x0 - 2, bottom), (symbol.position[2][0] + 3, top, right, bottom),
        ):  # fmt: skip
            assert darkest(page, *strip) > 200


def test_too_fine_a_symbol_is_refused(tmp_path: Path) -> None:
    tile = Tile(title="too small", modules=qr_symbol("K7P3MT").modules)
    with pytest.raises(LabelDoesNotFit, match="too small"):
        write_tiles([tile], tmp_path / "tiles.pdf", title="t", columns=3, rows=14)
    assert not list(tmp_path.iterdir())


def test_accents_stay_on_their_own_sign_and_letters_the_font_lacks_are_said(house: House) -> None:
    names = ("\u00dcberkorb \u65e5\u672c", "\u1eb2 top", "red")
    for name in names:
        house.ok("place", "add", name, "--freezer", "Kitchen")
    shown = house.ok("place", "--json").json["places"]
    codes = [next(one["code"] for one in shown if one["name"] == name) for name in names]
    result = house.ok("sign", codes[2], codes[0], codes[1], "--to", "signs.pdf")
    assert f"{codes[0][:3]}-{codes[0][3:]}: the font has no letter for \u65e5 \u672c" in " ".join(result.err.split())
    assert "\u00dcberkorb ??" in words(house.folder / "signs.pdf")
    told = house.ok("sign", *codes, "--to", "again.pdf", "--json").json
    assert told["unknown_letters"] == {codes[0]: "\u65e5\u672c"}
    # Within two millimetres of either cut line there is no ink but the line's own, so no accent lies beyond it.
    page = ink(house, "signs.pdf")
    for number in (1, 2):
        line = 12 + (279.4 - 24) / 3 * number
        for above, below in ((line - 2.5, line - 0.3), (line + 0.3, line + 2.0)):
            assert darkest(page, 15 * 12, above * 12, 100 * 12, below * 12) > 200, number
