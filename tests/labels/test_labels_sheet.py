"""Places on pages, and files written whole or not at all."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from freezerbox.errors import BookTrouble, InputError
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import draw
from freezerbox.labels.library import stock
from freezerbox.labels.sheet import Position, draw_pages, place, write


def content(**change: Any) -> LabelContent:
    table = tomllib.loads((Path(__file__).parent / "contents.toml").read_text(encoding="utf-8"))
    return LabelContent(**{**table["base"], "banners": (), **change})


def files(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_positions_of_the_ten() -> None:
    """Source: the stock's grid, 4 x 2 in labels at 4.1875 x 2 in from 0.15625, 0.5 in."""
    found = place(10, stock("letter-10up"))
    assert [position.slot for position in found] == list(range(1, 11))
    assert {position.page for position in found} == {1}
    assert (found[0].x_mm, found[0].y_mm) == pytest.approx((0.15625 * 25.4, 0.5 * 25.4), abs=1e-3)
    assert (found[1].x_mm, found[1].y_mm) == pytest.approx((4.34375 * 25.4, 0.5 * 25.4), abs=1e-3)
    assert (found[9].x_mm, found[9].y_mm) == pytest.approx((4.34375 * 25.4, 8.5 * 25.4), abs=1e-3)
    assert (found[9].width_mm, found[9].height_mm) == (101.6, 50.8)


def test_positions_of_the_thirty() -> None:
    found = place(30, stock("letter-30up"))
    assert (found[29].x_mm, found[29].y_mm) == pytest.approx((5.6875 * 25.4, 9.5 * 25.4), abs=1e-3)
    assert (found[3].x_mm, found[3].y_mm) == pytest.approx((0.1875 * 25.4, 1.5 * 25.4), abs=1e-3)


def test_start_at_fills_up_and_goes_on_to_the_next_page() -> None:
    found = place(6, stock("letter-10up"), start_at=7)
    assert [(position.page, position.slot) for position in found] == [(1, 7), (1, 8), (1, 9), (1, 10), (2, 1), (2, 2)]
    assert found[4] == Position(page=2, slot=1, x_mm=3.9688, y_mm=12.7, width_mm=101.6, height_mm=50.8)


def test_a_roll_has_one_label_a_page() -> None:
    found = place(3, stock("roll-2x1in-203dpi"))
    assert [(position.page, position.slot, position.x_mm, position.y_mm) for position in found] == [
        (1, 1, 0, 0),
        (2, 1, 0, 0),
        (3, 1, 0, 0),
    ]


@pytest.mark.parametrize(("name", "start"), [("letter-10up", 0), ("letter-10up", 11), ("letter-30up", -1)])
def test_start_at_off_the_sheet(name: str, start: int) -> None:
    with pytest.raises(InputError, match=f"{start} is no place"):
        place(1, stock(name), start_at=start)
    with pytest.raises(InputError, match="one label a page"):
        place(1, stock("roll-2x1in-203dpi"), start_at=2)


def test_pages_carry_each_picture_at_its_place() -> None:
    drawn = draw([content(code="K7P3MT"), content(code="K9R20A")], "letter-10up", start_at=10)
    assert len(drawn.pages) == 2
    assert {page.size for page in drawn.pages} == {(5100, 6600)}
    for page, position, picture in zip((0, 1), drawn.positions, drawn.pictures, strict=True):
        left, top = round(position.x_mm / 25.4 * 600), round(position.y_mm / 25.4 * 600)
        cut = drawn.pages[page].crop((left, top, left + picture.width, top + picture.height))
        assert cut.tobytes() == picture.tobytes()
        white = drawn.pages[page].copy()
        white.paste(255, (left, top, left + picture.width, top + picture.height))
        assert white.getextrema() == (255, 255)


def test_no_labels_no_pages() -> None:
    assert list(draw_pages([], [], stock("letter-10up"))) == []
    with pytest.raises(InputError):
        write([], Path("labels.pdf"), stock("letter-10up"))


@pytest.mark.parametrize(("name", "size"), [("letter-10up", (612, 792)), ("roll-2x1in-203dpi", (144, 72))])
def test_pdf_is_one_bit_and_the_size_of_the_paper(tmp_path: Path, name: str, size: tuple[int, int]) -> None:
    drawn = draw([content()] * 2, name)
    made = write(drawn.pages, tmp_path / "labels.pdf", drawn.stock)
    assert made == [tmp_path / "labels.pdf"]
    data = made[0].read_bytes()
    assert data.startswith(b"%PDF-")
    assert b"CCITTFaxDecode" in data
    assert b"DCTDecode" not in data
    media = data.split(b"MediaBox")[1].split(b"]")[0].split(b"[")[1].split()
    assert [round(float(number)) for number in media[2:]] == list(size)


@pytest.mark.parametrize("ending", ["pdf", "png"])
def test_same_labels_same_bytes(tmp_path: Path, ending: str) -> None:
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        drawn = draw([content(), content(cut="Backstrap")], "letter-30up", start_at=30)
        write(drawn.pages, tmp_path / folder / f"labels.{ending}", drawn.stock)
    assert files(tmp_path / "one") == files(tmp_path / "two")
    for name in files(tmp_path / "one"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_png_a_page_with_its_dots(tmp_path: Path) -> None:
    drawn = draw([content()] * 3, "roll-2x1in-203dpi")
    made = write(drawn.pages, tmp_path / "labels.png", drawn.stock)
    assert [path.name for path in made] == ["labels.png", "labels-2.png", "labels-3.png"]
    assert files(tmp_path) == sorted(path.name for path in made)
    with Image.open(made[0]) as picture:
        assert picture.mode == "1"
        assert picture.size == (406, 203)
        assert picture.info["dpi"] == pytest.approx((203, 203), abs=0.02)


def test_an_older_file_is_replaced(tmp_path: Path) -> None:
    target = tmp_path / "labels.PDF"
    target.write_bytes(b"older")
    drawn = draw([content()], "roll-2x1in-203dpi")
    write(drawn.pages, target, drawn.stock)
    assert target.read_bytes().startswith(b"%PDF-")
    assert files(tmp_path) == ["labels.PDF"]


@pytest.mark.parametrize("name", ["labels.jpg", "labels", "labels.pdf.txt", ".pdf"])
def test_other_endings(tmp_path: Path, name: str) -> None:
    drawn = draw([content()], "roll-2x1in-203dpi")
    with pytest.raises(InputError, match=r"\.pdf nor \.png"):
        write(drawn.pages, tmp_path / name, drawn.stock)
    assert files(tmp_path) == []


def test_no_such_folder_and_a_folder_in_the_way(tmp_path: Path) -> None:
    drawn = draw([content()], "roll-2x1in-203dpi")
    with pytest.raises(InputError, match="no folder"):
        write(drawn.pages, tmp_path / "none" / "labels.pdf", drawn.stock)
    (tmp_path / "labels.pdf").mkdir()
    with pytest.raises(InputError, match="is a folder"):
        write(drawn.pages, tmp_path / "labels.pdf", drawn.stock)
    assert files(tmp_path) == ["labels.pdf"]


def test_never_half_a_file(tmp_path: Path) -> None:
    """The second page cannot be put in its place: the disk's refusal is told, nothing half-written stays."""
    target = tmp_path / "labels.png"
    target.write_bytes(b"older")
    blocked = tmp_path / ".labels-2.png.part"
    blocked.mkdir()
    (blocked / "in the way").touch()
    drawn = draw([content()] * 2, "roll-2x1in-203dpi")
    with pytest.raises(BookTrouble, match="could not be written"):
        write(drawn.pages, target, drawn.stock)
    assert target.read_bytes() == b"older"
    assert files(tmp_path) == [".labels-2.png.part", "labels.png"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a full device to write to")
def test_a_full_disk(tmp_path: Path) -> None:
    (tmp_path / ".labels.pdf.part").symlink_to("/dev/full")
    drawn = draw([content()], "roll-2x1in-203dpi")
    with pytest.raises(BookTrouble, match="could not be written"):
        write(drawn.pages, tmp_path / "labels.pdf", drawn.stock)
    assert files(tmp_path) == []
