"""The picture of what was read where: upright as the camera was held, marks on the symbols."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path
from random import Random

import pytest
from PIL import Image, ImageDraw, ImageFilter, ImageOps

from freezerbox.errors import BookTrouble, InputError
from freezerbox.reading.copies import labels_of
from freezerbox.reading.marks import Mark, draw_marks, turned
from freezerbox.reading.tags import Box, Tags
from tests.weather.elements import grain

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


def square(x: float, y: float, side: float = 60) -> tuple[tuple[float, float], ...]:
    return ((x, y), (x + side, y), (x + side, y + side), (x, y + side))


def test_what_belongs_to_one_label() -> None:
    """Its copies five sides apart and its bars, in whatever order; the same code farther away is another pack."""
    bars = ((180, 140), (260, 140), (260, 160), (180, 160))
    symbols = [square(100, 100), square(100, 700), square(400, 100), bars, square(1400, 100), square(110, 200)]
    assert labels_of(["A", "A", "A", "A", "A", "B"], symbols) == [[0, 2, 3], [1], [4], [5]]


def tags_in(path: Path) -> int:
    """How many black grounds of words stand in a picture that was grey."""
    with Image.open(path) as shown:
        black = shown.convert("L").point([255 * (value < 60) for value in range(256)])
    # Letters and lines closed over, then what is too narrow to be a ground is gone.
    grounds = black.filter(ImageFilter.MaxFilter(9)).filter(ImageFilter.MinFilter(25))
    count = 0
    while box := grounds.getbbox():
        row = grounds.crop((box[0], box[1], box[2], box[1] + 1)).getbbox()
        assert row is not None
        ImageDraw.floodfill(grounds, (box[0] + row[0], box[1]), 0)
        count += 1
    return count


def test_one_tag_a_label_by_what_was_read_best(tmp_path: Path) -> None:
    source = tmp_path / "photo.png"
    Image.new("RGB", (800, 600), (128, 128, 128)).save(source)
    left, right = square(100, 300), square(420, 300)
    both, frost, one = (tmp_path / name for name in ("both.png", "frost.png", "one.png"))
    draw_marks(source, [Mark(words="K7P-3MT", how="matched", corners=left)], one)
    draw_marks(source, [Mark(words="K7P-3MT", how="matched", corners=each) for each in (left, right)], frost)
    decoded = Mark(words="K7P-3MT", how="decoded", corners=right)
    draw_marks(source, [Mark(words="K7P-3MT", how="matched", corners=left), decoded], both)
    assert [tags_in(path) for path in (one, frost, both)] == [1, 1, 1]
    apart = [decoded, Mark(words="K9R-20A", how="decoded", corners=left)]
    draw_marks(source, apart, both)
    assert tags_in(both) == 2


def test_tags_stand_on_no_words_and_on_none_another() -> None:
    """A basket of twelve in lines so near to one another that a tag has hardly room beside its label."""
    detail = grain(Random(1), (2000, 1500)).point([80 * (value > 150) for value in range(256)])
    labels = [
        (square(150 + 640 * column, 230 + 370 * row), square(450 + 640 * column, 230 + 370 * row))
        for column in range(3)
        for row in range(4)
    ]
    symbols = [one for label in labels for one in label]
    groups = [[at, at + 1] for at in range(0, len(symbols), 2)]
    tags = Tags(detail=detail, symbols=symbols, labels=groups)
    boxes = [tags.place(group, 330, 110) for group in groups]

    def meet(one: Box, other: Box) -> bool:
        return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]

    words = [(left[0][0], left[0][1] - 120, right[1][0], left[0][1]) for left, right in labels]
    words += [(left[1][0], left[1][1], right[3][0], right[3][1]) for left, right in labels]
    assert [(box, one) for box in boxes for one in words if meet(box, one)] == []
    assert [(one, other) for one, other in combinations(boxes, 2) if meet(one, other)] == []
    assert all(box[0] >= 0 and box[1] >= 0 and box[2] <= 2000 and box[3] <= 1500 for box in boxes)


def test_bad_names(tmp_path: Path) -> None:
    source = photo(tmp_path / "photo.png", 1)
    with pytest.raises(InputError, match=r"neither \.png nor \.jpg"):
        draw_marks(source, [], tmp_path / "shown.xyz")
    with pytest.raises(BookTrouble, match="cannot be written"):
        draw_marks(source, [], tmp_path / "nowhere" / "shown.png")
