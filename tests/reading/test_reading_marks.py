"""The picture of what was read where: upright as the camera was held, marks on the symbols."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image, ImageOps

from freezerbox.errors import BookTrouble, InputError
from freezerbox.reading.marks import Mark, draw_marks, turned

SIZE = (60, 40)


def photo(path: Path, turn: int) -> Path:
    picture = Image.new("RGB", SIZE, (90, 90, 90))
    picture.putpixel((7, 5), (255, 255, 255))
    exif = Image.Exif()
    exif[0x0112] = turn
    picture.save(path, exif=exif)
    return path


@pytest.mark.parametrize("turn", range(1, 9))
def test_points_turn_with_the_picture(tmp_path: Path, turn: int) -> None:
    with Image.open(photo(tmp_path / "photo.png", turn)) as picture:
        upright = ImageOps.exif_transpose(picture)
    x, y = turned((7.5, 5.5), SIZE, turn)
    assert upright.getpixel((int(x), int(y))) == (255, 255, 255)


@pytest.mark.parametrize("turn", range(1, 9))
def test_the_picture_is_upright(tmp_path: Path, turn: int) -> None:
    source = photo(tmp_path / "photo.jpg", turn)
    out = tmp_path / "shown.png"
    draw_marks(source, [], out)
    with Image.open(out) as shown:
        assert shown.size == (SIZE if turn < 5 else SIZE[::-1])


def test_marks_are_on_the_symbols(tmp_path: Path) -> None:
    source = tmp_path / "photo.png"
    Image.new("RGB", (800, 600), (128, 128, 128)).save(source)
    corners = ((300, 200), (500, 200), (500, 400), (300, 400))
    blank, whole, dashed = (tmp_path / name for name in ("blank.png", "whole.png", "dashed.jpg"))
    draw_marks(source, [], blank)
    draw_marks(source, [Mark(words="K7P-3MT", how="decoded", corners=corners)], whole)
    draw_marks(source, [Mark(words="K7P-3MT", how="matched", corners=corners)], dashed)
    with Image.open(blank) as none, Image.open(whole) as drawn, Image.open(dashed) as broken:
        assert len(none.getcolors() or ()) == 1
        for at in (0.05, 0.35, 0.5, 0.85):
            assert drawn.getpixel((int(300 + 200 * at), 200)) == (255, 255, 255)
        assert drawn.getpixel((400, 300)) == (128, 128, 128)
        row = broken.convert("L").crop((305, 200, 496, 201)).tobytes()
        assert any(value > 230 for value in row)
        assert any(110 < value < 145 for value in row)


def test_words_stay_inside(tmp_path: Path) -> None:
    source = tmp_path / "photo.png"
    Image.new("RGB", (400, 300), (128, 128, 128)).save(source)
    out = tmp_path / "shown.png"
    corner = ((380, 280), (399, 280), (399, 299), (380, 299))
    draw_marks(source, [Mark(words="K7P-3MT", how="matched", corners=corner)], out)
    with Image.open(out) as shown:
        black = shown.convert("L").point([255 * (value == 0) for value in range(256)])
        box = black.getbbox()
    assert box is not None
    assert box[2] - box[0] > 60  # the words' own ground, whole
    assert box[2] <= 400


def test_bad_names(tmp_path: Path) -> None:
    source = photo(tmp_path / "photo.png", 1)
    with pytest.raises(InputError, match=r"neither \.png nor \.jpg"):
        draw_marks(source, [], tmp_path / "shown.xyz")
    with pytest.raises(BookTrouble, match="cannot be written"):
        draw_marks(source, [], tmp_path / "nowhere" / "shown.png")
