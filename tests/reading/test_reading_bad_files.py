"""Sixty and more files that are no good photograph: each is refused in words, by the program itself."""

from __future__ import annotations

import io
import json
import math
import os
import struct
import subprocess
import sys
import zlib
from array import array
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from PIL import Image

from freezerbox.book.door import create_book
from freezerbox.chores.kitchen import Kitchen
from freezerbox.cli.main import run
from freezerbox.errors import InputError
from freezerbox.reading.marks import draw_marks
from freezerbox.reading.pictures import open_picture, read_picture
from tests.conftest import StoppedClock, seeded_chance, started
from tests.weather.household import live_labels, printed

ENDINGS = {"jpg": "JPEG", "png": "PNG", "webp": "WEBP", "gif": "GIF", "bmp": "BMP", "tif": "TIFF"}
MAGIC = {
    "jpg": b"\xff\xd8\xff\xe0",
    "png": b"\x89PNG\r\n\x1a\n",
    "webp": b"RIFF\x00\x10\x00\x00WEBPVP8 ",
    "gif": b"GIF89a",
    "bmp": b"BM",
    "tif": b"II*\x00",
    "heic": b"\x00\x00\x00\x18ftypheic",
    "avif": b"\x00\x00\x00\x18ftypavif",
    "ppm": b"P6\n",
}


def whole(kind: str) -> bytes:
    held = io.BytesIO()
    Image.frombytes("L", (200, 150), Random(1).randbytes(30_000)).save(held, kind)
    return held.getvalue()


def png(width: int, height: int, data: bytes = bytes(40)) -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(data)) + chunk(b"IEND", b"")


def large_jpeg() -> bytes:
    """49 megapixels, whole: a phone's largest mode."""
    held = io.BytesIO()
    Image.new("L", (8200, 6000), 128).save(held, "JPEG", quality=30)
    return held.getvalue()


def bad_files() -> dict[str, Callable[[], bytes]]:
    """Name and bytes of each."""
    files: dict[str, Callable[[], bytes]] = {}
    for ending, kind in ENDINGS.items():
        for share in (0.01, 0.1, 0.35, 0.6, 0.85):
            files[f"cut-at-{share}.{ending}"] = (
                lambda kind=kind, share=share: (  # type: ignore[misc]
                    whole(kind)[: max(3, int(len(whole(kind)) * share))]
                )
            )
        files[f"words.{ending}"] = lambda: b"Two pounds of ground, for the dog.\n" * 30
        files[f"empty.{ending}"] = lambda: b""
        files[f"zeros.{ending}"] = lambda: bytes(5000)
    for ending, magic in MAGIC.items():
        files[f"only-the-start.{ending}"] = lambda magic=magic: magic  # type: ignore[misc]
        files[f"rubbish-after-the-start.{ending}"] = lambda magic=magic: magic + Random(7).randbytes(3000)  # type: ignore[misc]
    files["page.pdf"] = lambda: b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n"
    files["book.book"] = lambda: b"SQLite format 3\x00" + bytes(4096)
    files["drawing.svg"] = lambda: b"<svg version='1.1'></svg>"
    files["archive.zip.jpg"] = lambda: b"PK\x03\x04" + bytes(300)
    files["film.mp4"] = lambda: b"\x00\x00\x00\x18ftypisom" + bytes(300)
    files["bomb.png"] = lambda: png(65_000, 65_000)
    files["wide-bomb.png"] = lambda: png(2_000_000_000, 3)
    files["bomb.gif"] = lambda: (
        b"GIF89a"
        + struct.pack("<HHBBB", 65_000, 65_000, 0, 0, 0)
        + struct.pack("<sHHHHB", b",", 0, 0, 65_000, 65_000, 0)
        + b"\x02\x02\x4c\x01\x00;"
    )
    files["bomb.bmp"] = lambda: (
        struct.pack("<2sIHHI", b"BM", 154, 0, 0, 54)
        + struct.pack("<IiiHHIIiiII", 40, 60_000, 60_000, 1, 24, 0, 0, 0, 0, 0, 0)
        + bytes(100)
    )
    files["fifty-megapixels.png"] = lambda: png(9000, 6000)
    files["fifty-megapixels.jpg"] = large_jpeg
    files["no-size.png"] = lambda: png(0, 0)
    files["less-than-said.png"] = lambda: png(300, 300)
    files["no such name.jpg "] = lambda: b"\x89"
    return files


BAD = bad_files()
LARGE = ("bomb", "wide-bomb", "fifty-megapixels")


def test_there_are_sixty() -> None:
    assert len(BAD) >= 60


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    """A started house whose book the program opens."""
    path = tmp_path / "freezer.book"
    clock = StoppedClock()
    book = create_book(path, chance=seeded_chance(), now=clock.stamp, station="table")
    kitchen = started(book, clock)
    book.close()
    monkeypatch.setenv("FREEZERBOX_BOOK", str(path))
    return kitchen


@pytest.mark.parametrize("name", sorted(BAD))
def test_refused_in_words(house: Kitchen, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    path = tmp_path / name
    path.write_bytes(BAD[name]())
    status = run(["scan", "--photo", str(path)])
    said = capsys.readouterr()
    assert status == 2, said
    assert said.out == ""
    assert path.name.strip() in " ".join(said.err.split())
    assert "Traceback" not in said.err
    assert len(said.err.strip().splitlines()) <= 3
    assert any(
        words in " ".join(said.err.split())
        for words in ("is empty", "is not a picture", "damaged or cut short", "larger than 48 megapixels")
    ), said.err
    assert ("larger than 48 megapixels" in " ".join(said.err.split())) == name.startswith(LARGE), said.err
    # In plain words, and nothing of what the library that stumbled over it says.
    told = " ".join(said.err.split()).partition(repr(str(path)))[2]
    assert told in (
        " is empty.",
        " is not a picture. Use JPEG, PNG, WebP, AVIF, TIFF, BMP or GIF; HEIC with the extra 'heic'.",
        " is damaged or cut short. Copy it again.",
        " is a HEIC photograph that is damaged or cut short. Copy it again.",
        " is larger than 48 megapixels. Take it at a smaller size, or crop it.",
    )


@pytest.mark.parametrize("ending", ["jpg", "png", "webp", "avif", "tif", "bmp", "gif"])
def test_each_kind_that_is_named_reads(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"label.{ending}"
    code, text = live_labels()[0]
    printed("letter-30up", code, text).picture.save(path)
    assert {symbol.text for symbol in read_picture(path)} == {text}


@pytest.mark.parametrize("ending", ["png", "tif"])
def test_a_scan_of_sixteen_bits_reads_and_shows(tmp_path: Path, ending: str) -> None:
    path, shown = tmp_path / f"scan.{ending}", tmp_path / "shown.png"
    code, text = live_labels()[0]
    label = printed("letter-30up", code, text).picture
    deep = b"".join((3000 + 230 * value).to_bytes(2, "little") for value in label.tobytes())
    Image.frombytes("I;16", label.size, deep).save(path)
    with Image.open(path) as scan:
        assert scan.mode == "I;16"
    assert {symbol.text for symbol in read_picture(path)} == {text}
    draw_marks(path, [], shown)
    with Image.open(shown) as picture:
        assert min(picture.convert("L").tobytes()) < 40


@pytest.mark.parametrize(
    ("mode", "kind", "white"),
    [("I;16", "H", 4080), ("I;16", "H", 65535), ("I", "i", 255), ("I", "i", 2**31 - 256), ("F", "f", 1.0)],
)
def test_a_scan_of_any_depth_is_seen_as_bright_as_it_is(tmp_path: Path, mode: str, kind: str, white: float) -> None:
    """A clean scan decodes; were it black or dim, it would not, or be told as seen through frost."""
    path, shown = tmp_path / "scan.tif", tmp_path / "shown.png"
    code, text = live_labels()[0]
    label = printed("letter-30up", code, text).picture
    grey = label.convert("L").tobytes()
    numbers = array(kind, [value / 255 * white if kind == "f" else value * int(white) // 255 for value in grey])
    Image.frombytes(mode, label.size, numbers.tobytes()).save(path)
    with Image.open(path) as scan:
        assert scan.mode == mode
    draw_marks(path, [], shown)
    with Image.open(shown) as drawn:
        for picture in (open_picture(path), drawn.convert("L")):
            shades = picture.tobytes()
            assert min(shades) < 20
            assert max(shades) > 200
    assert {(symbol.text, symbol.how) for symbol in read_picture(path)} == {(text, "decoded")}


def test_a_scan_in_lightness_and_two_colours_reads(tmp_path: Path) -> None:
    path, shown = tmp_path / "lab.tif", tmp_path / "shown.png"
    code, text = live_labels()[0]
    label = printed("letter-30up", code, text).picture
    middle = Image.new("L", label.size, 128)
    Image.merge("LAB", (label.convert("L"), middle, middle)).save(path)
    assert {symbol.text for symbol in read_picture(path)} == {text}
    draw_marks(path, [], shown)
    assert shown.is_file()


@pytest.mark.parametrize("number", [math.nan, math.inf])
def test_a_picture_of_what_is_no_brightness_is_refused(tmp_path: Path, number: float) -> None:
    path = tmp_path / "odd.tif"
    Image.new("F", (300, 200), number).save(path)
    with pytest.raises(InputError, match=r"odd\.tif.*no brightness.*JPEG"):
        read_picture(path)


@pytest.mark.parametrize("ending", ["gif", "webp", "png", "avif"])
def test_a_moving_picture_is_refused_and_a_still_one_is_not(tmp_path: Path, ending: str) -> None:
    still, other = Image.new("L", (60, 40), 200), Image.new("L", (60, 40), 90)
    still.save(tmp_path / f"still.{ending}")
    assert read_picture(tmp_path / f"still.{ending}") == ()
    still.save(tmp_path / f"live.{ending}", save_all=True, append_images=[other])
    with pytest.raises(InputError, match="is a moving picture"):
        read_picture(tmp_path / f"live.{ending}")


def test_a_scan_of_several_pages_is_refused_and_one_with_a_small_copy_of_it_is_not(tmp_path: Path) -> None:
    """The label of the second page would go unseen without a word."""
    path = tmp_path / "scan.tif"
    code, text = live_labels()[0]
    label = printed("letter-30up", code, text).picture
    Image.new("L", label.size, 255).save(path, save_all=True, append_images=[label])
    with pytest.raises(InputError, match=r"scan\.tif' has 2 pages.* JPEG .*--photo"):
        read_picture(path)
    small = label.convert("L").reduce(8)
    small.encoderinfo = {"tiffinfo": {254: 1}}
    label.save(path, save_all=True, append_images=[small])
    with Image.open(path) as both:
        assert getattr(both, "n_frames", 1) == 2
    assert {symbol.text for symbol in read_picture(path)} == {text}


def test_every_picture_that_is_drawn_is_named(
    house: Kitchen, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("one.png", "two.png"):
        Image.new("L", (300, 200), 200).save(name)
    both = ["scan", "--photo", "one.png", "--photo", "two.png", "--show"]
    assert run([*both, "out.png"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "out.png: what was read where in one.png" in lines
    assert "out-2.png: what was read where in two.png" in lines
    Path("one.png").write_bytes(b"")
    assert run([*both, "again.png"]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert [line for line in lines if "again" in line] == ["again-2.png: what was read where in two.png"]
    assert [file.name for file in tmp_path.glob("again*")] == ["again-2.png"]
    assert run([*both, "last.png", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["shown"] == [{"file": "two.png", "drawn": "last-2.png"}]
    assert run([*both[:-1], "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["shown"] == []


def test_a_folder_no_file_and_no_permission(
    house: Kitchen, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in (".", "nothing.jpg", "no/such/folder.jpg", "a" * 300 + ".jpg", "\N{SNOWMAN}.jpg"):
        status = run(["scan", "--photo", str(tmp_path / name)])
        said = capsys.readouterr()
        assert status in (2, 3)
        assert "Traceback" not in said.err
        assert said.err.strip()
        assert said.out == ""


def test_one_bad_photograph_does_not_keep_the_others_from_being_read(
    house: Kitchen, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good, bad, pipe = tmp_path / "good.png", tmp_path / "bad.png", tmp_path / "pipe.png"
    Image.new("L", (300, 200), 200).save(good)
    bad.write_bytes(b"")
    os.mkfifo(pipe)  # nobody writes to it: to wait for it would be without end
    photos = [part for file in (bad, good, pipe) for part in ("--photo", str(file))]
    assert run(["scan", *photos, "--take", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert [one["file"] for one in told["photos"]] == [str(good)]
    assert [one["file"] for one in told["refused"]] == [str(bad), str(pipe)]
    assert "is empty" in told["refused"][0]["why"]
    assert "not an ordinary file" in told["refused"][1]["why"]
    assert run(["scan", *photos]) == 1
    said = capsys.readouterr()
    assert "good.png: no label reads" in said.out
    assert "bad.png" in said.err
    assert run(["scan", "--photo", str(bad), "--photo", str(pipe), "--json"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "is empty" in said.err


def test_what_is_there_is_not_drawn_over_unasked(
    house: Kitchen, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first, second = tmp_path / "a.jpg", tmp_path / "b.jpg"
    for photo in (first, second):
        Image.new("L", (300, 200), 200).save(photo)
    (tmp_path / "link.jpg").symlink_to(second)
    both = ["scan", "--photo", str(first), "--photo", str(second), "--show"]
    pictures = [photo.read_bytes() for photo in (first, second)]
    # A photograph is never written over, however it is named; the second is drawn under a name of its own.
    (tmp_path / "m-2.jpg").hardlink_to(second)
    for name in ("a.jpg", "link.jpg", "m.jpg"):
        assert run([*both, str(tmp_path / name), "--yes"]) == 2
        assert "is the photograph itself" in " ".join(capsys.readouterr().err.split())
    assert [photo.read_bytes() for photo in (first, second)] == pictures
    other = tmp_path / "other-2.png"
    other.write_bytes(b"a picture of the children")
    assert run([*both, str(tmp_path / "other.png")]) == 1
    assert "is there already" in " ".join(capsys.readouterr().err.split())
    assert other.read_bytes() == b"a picture of the children"
    assert not (tmp_path / "other.png").exists()
    assert run([*both, str(tmp_path / "other.png"), "--yes"]) == 0
    assert all((tmp_path / name).read_bytes().startswith(b"\x89PNG") for name in ("other.png", "other-2.png"))
    assert not list(tmp_path.glob(".*"))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--show", "out.gif"], "neither .png nor .jpg"),
        (["--show", "no/such/folder/out.png"], "There is no folder"),
    ],
)
def test_bad_names_to_show(
    house: Kitchen, tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], words: str
) -> None:
    photo = tmp_path / "photo.png"
    Image.new("L", (300, 200), 200).save(photo)
    assert run(["scan", "--photo", str(photo), *arguments]) == 2
    assert words in " ".join(capsys.readouterr().err.split())
    assert run(["scan", *arguments]) == 2
    assert "--photo" in capsys.readouterr().err


def test_heic(tmp_path: Path) -> None:
    """With the extra it reads; without it the message says what to do.  The second in a process of its own."""
    import pillow_heif

    path = tmp_path / "photo.heic"
    pillow_heif.from_pillow(Image.new("RGB", (320, 240), "white")).save(path)
    assert read_picture(path) == ()
    program = (
        "import sys; sys.modules['pillow_heif'] = None\n"
        "from freezerbox.reading.pictures import read_picture\n"
        "from freezerbox.errors import InputError\n"
        "try: read_picture(sys.argv[1])\n"
        "except InputError as error: print(error.message)\n"
    )
    said = subprocess.run([sys.executable, "-c", program, str(path)], capture_output=True, text=True, check=True)
    assert "photo.heic" in said.stdout
    assert "extra 'heic'" in said.stdout
    assert "JPEG" in said.stdout
    path.write_bytes(path.read_bytes()[:200])
    with pytest.raises(InputError, match=r"HEIC|damaged"):
        read_picture(path)
