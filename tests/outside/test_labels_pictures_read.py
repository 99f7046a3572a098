"""Picture files as phones and people hand them over: read, or refused in plain words."""

from __future__ import annotations

import random
import struct
import zlib
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image, ImageFilter

from freezerbox.errors import InputError
from freezerbox.labels.symbols import qr_modules
from freezerbox.reading.pictures import read_picture

TEXT = "K7P3MT$05-X9Q2A/"
# Of the symbol in the scene: 4 of 29 modules of 6 pixels inside the square pasted at 200, 120.
CORNERS = ((224, 144), (350, 144), (350, 270), (224, 270))


def scene(text: str = TEXT) -> Image.Image:
    picture = Image.new("L", (640, 480), 160)
    symbol = Image.new("L", (29, 29), 255)
    for y, row in enumerate(qr_modules(text)):
        for x, dark in enumerate(row):
            if dark:
                symbol.putpixel((x + 4, y + 4), 20)
    picture.paste(symbol.resize((174, 174), Image.Resampling.NEAREST), (200, 120))
    return picture


@pytest.mark.parametrize("ending", ["jpg", "png", "webp", "bmp", "gif", "tif"])
@pytest.mark.parametrize("mode", ["L", "RGB", "P"])
def test_formats(tmp_path: Path, ending: str, mode: str) -> None:
    path = tmp_path / f"photo.{ending}"
    scene().convert("RGB" if mode == "P" and ending in ("jpg", "webp") else mode).save(path)
    (symbol,) = read_picture(path)
    assert (symbol.text, symbol.symbology, symbol.how) == (TEXT, "QR", "decoded")
    assert read_picture(str(path)) == (symbol,)
    for corner, wanted in zip(symbol.position, CORNERS, strict=True):
        assert abs(corner[0] - wanted[0]) <= 3
        assert abs(corner[1] - wanted[1]) <= 3


def test_transparent_is_white_paper() -> None:
    see_through = Image.new("RGBA", (640, 480), (0, 0, 0, 0))
    ink = scene().point(lambda value: 255 if value < 60 else 0)
    see_through.paste((0, 0, 0, 255), (0, 0), ink)
    assert [symbol.text for symbol in read_picture(see_through)] == [TEXT]


def test_several_in_view_from_top_to_bottom() -> None:
    both = Image.new("L", (640, 960), 160)
    both.paste(scene("K9R20A"), (0, 0))
    both.paste(scene(), (0, 480))
    assert [symbol.text for symbol in read_picture(both)] == ["K9R20A", TEXT]


def test_nothing_in_view() -> None:
    assert read_picture(Image.new("L", (640, 480), 128)) == ()
    assert read_picture(Image.new("1", (1, 1))) == ()
    assert read_picture(Image.new("L", (3, 2000))) == ()


def frosted(share: float, seed: int) -> Image.Image:
    """The scene with white specks of one to three pixels over a share of it, and a little blur."""
    chance, picture = random.Random(seed), scene()
    for _ in range(round(share * picture.width * picture.height / 4)):
        x, y, size = chance.randrange(640), chance.randrange(480), chance.choice((1, 2, 3))
        picture.paste(chance.randrange(190, 250), (x, y, x + size, y + size))
    return picture.filter(ImageFilter.GaussianBlur(0.6))


def test_the_filters_find_what_plain_decoding_does_not() -> None:
    """Twenty frosted pictures: some need a filter, none says anything else, and positions are the picture's own."""
    formats = zxingcpp.BarcodeFormats((zxingcpp.BarcodeFormat.QRCodeModel2, zxingcpp.BarcodeFormat.Code128))
    plain, filtered = 0, 0
    for seed in range(20):
        picture = frosted(0.06 + 0.02 * seed, seed)
        found = read_picture(picture)
        assert {symbol.text for symbol in found} <= {TEXT}
        plain += bool(zxingcpp.read_barcodes(picture, formats=formats))
        for symbol in found:
            filtered += symbol.how == "filtered"
            for corner, wanted in zip(symbol.position, CORNERS, strict=True):
                assert abs(corner[0] - wanted[0]) <= 6
                assert abs(corner[1] - wanted[1]) <= 6
    assert filtered >= 3
    assert plain + filtered >= 12


def png_header(width: int, height: int) -> bytes:
    chunk = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    header = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + chunk + struct.pack(">I", zlib.crc32(chunk))
    return header + struct.pack(">I", 1000) + b"IDAT" + zlib.compress(bytes(40))


def whole(ending: str, tmp_path: Path) -> bytes:
    path = tmp_path / f"whole.{ending}"
    scene().save(path)
    data = path.read_bytes()
    path.unlink()
    return data


BAD = {
    "empty.jpg": (b"", "is empty"),
    "words.jpg": (b"this is not a picture at all", "is not a picture"),
    "zeros.png": (bytes(4000), "is not a picture"),
    "page.pdf": (b"%PDF-1.4\n1 0 obj\n", "is not a picture"),
    "phone.heic": (b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic", "HEIC"),
    "phone2.jpg": (b"\x00\x00\x00\x18ftypmif1\x00\x00\x00\x00mif1heic", "HEIC"),
    "huge.png": (png_header(9000, 6000), "48 megapixels"),
    "bomb.png": (png_header(60000, 60000), "48 megapixels"),
    "header-only.png": (png_header(100, 100), "damaged or cut short"),
}


@pytest.mark.parametrize("name", sorted(BAD))
def test_bad_files(tmp_path: Path, name: str) -> None:
    data, words = BAD[name]
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(InputError, match=words) as caught:
        read_picture(path)
    assert name in caught.value.message
    assert caught.value.exit_code == 2


@pytest.mark.parametrize("ending", ["jpg", "png", "webp", "gif", "tif", "bmp"])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9])
def test_cut_short(tmp_path: Path, ending: str, share: float) -> None:
    data = whole(ending, tmp_path)
    path = tmp_path / f"short.{ending}"
    path.write_bytes(data[: max(4, int(len(data) * share))])
    with pytest.raises(InputError, match=r"damaged or cut short|is not a picture"):
        read_picture(path)


@pytest.mark.parametrize("ending", ["jpg", "png", "webp", "gif", "tif", "bmp"])
def test_flipped_bytes_are_read_or_refused(tmp_path: Path, ending: str) -> None:
    data = whole(ending, tmp_path)
    for at in range(0, min(len(data), 2000), 61):
        damaged = bytearray(data)
        damaged[at] ^= 0xFF
        path = tmp_path / f"flipped.{ending}"
        path.write_bytes(damaged)
        try:
            found = read_picture(path)
        except InputError:
            continue
        assert {symbol.text for symbol in found} <= {TEXT}


def test_no_such_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="There is no file"):
        read_picture(tmp_path / "none.jpg")
    with pytest.raises(InputError, match="is a folder"):
        read_picture(tmp_path)
