"""Known labels recognised: what is found, what is refused, and what is never asked."""

from __future__ import annotations

import math
from itertools import compress
from random import Random

import pytest
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from freezerbox.core.code import ALPHABET, make_code
from freezerbox.labels.symbols import QR_SIDE, qr_modules, qr_symbol
from freezerbox.reading.grid import (
    alike,
    data_bits,
    data_modules,
    fixed_modules,
    outline,
    repair_modules,
    sample,
    terms,
)
from freezerbox.reading.known import Expected, Known
from freezerbox.reading.matching import ACCEPT, MARGIN, match
from freezerbox.reading.pictures import read_picture
from tests.weather.household import live_labels, printed

TEXT = "K7P3MT$05-X9Q2A/"
CODE = TEXT[:6]
STEP = 8
Quad = tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]


def expected(code: str, text: str, mask: int | None = None) -> Expected:
    return Expected(code=code, text=text, modules=qr_modules(text, mask=mask))


def knowing(*symbols: Expected, others: int = 60) -> Known:
    more = [expected(code, text) for code, text in live_labels()[:others]]
    return Known(lambda: [*symbols, *more])


def symbol(text: str = TEXT, mask: int | None = None, step: int = STEP) -> Image.Image:
    side = QR_SIDE + 8
    small = Image.new("L", (side, side), 235)
    for row, line in enumerate(qr_modules(text, mask=mask)):
        for column, dark in enumerate(line):
            if dark:
                small.putpixel((column + 4, row + 4), 25)
    return small.resize((side * step, side * step), Image.Resampling.NEAREST)


def scene(drawn: Image.Image, turn: float = 0, at: tuple[int, int] = (250, 150)) -> Image.Image:
    picture = Image.new("L", (800, 600), 140)
    turned = drawn.rotate(turn, Image.Resampling.BICUBIC, expand=True, fillcolor=140)
    picture.paste(turned, at)
    return picture.filter(ImageFilter.GaussianBlur(0.8))


def covered(drawn: Image.Image, *boxes: tuple[int, int, int, int]) -> Image.Image:
    """Opaque frost over boxes of modules: left, top, right, bottom, the symbol's own corner at 0, 0."""
    draw = ImageDraw.Draw(drawn)
    for left, top, right, bottom in boxes:
        corners = ((left + 4) * STEP, (top + 4) * STEP, (right + 4) * STEP, (bottom + 4) * STEP)
        draw.rectangle(corners, fill=225)
    return drawn


def test_the_grid_is_that_of_the_encoder() -> None:
    assert len(data_modules()) == 208  # 26 codewords of 8 bits (ISO/IEC 18004, table 1)
    for text in (TEXT, "K7P3MT", "A"):
        for mask in range(8):
            modules = qr_modules(text, mask=mask)
            assert all(modules[row][column] == dark for (row, column), dark in fixed_modules().items())
    places = {*data_modules(), *fixed_modules()}
    assert QR_SIDE**2 - len(places) == 30  # format information, twice 15


def test_a_sampled_grid_gives_the_modules_back() -> None:
    middle = 4 * STEP
    quad: Quad = tuple(  # type: ignore[assignment]
        (middle + x * STEP, middle + y * STEP) for x, y in ((3.5, 3.5), (17.5, 3.5), (17.5, 17.5), (3.5, 17.5))
    )
    grid = sample(symbol(), quad)
    modules = qr_modules(TEXT)
    for row in range(QR_SIDE):
        assert [grid[(row + 1) * 23 + column + 1] < 128 for column in range(QR_SIDE)] == list(modules[row])
    side = QR_SIDE * STEP + middle
    for (x, y), (u, v) in zip(
        outline(quad), ((middle, middle), (side, middle), (side, side), (middle, side)), strict=True
    ):
        assert (x, y) == pytest.approx((u, v))


def test_terms_follow_any_quad() -> None:
    quad: Quad = ((100, 80), (190, 110), (205, 230), (70, 190))
    a, b, c, d, e, f, g, h = terms(quad)
    for (x, y), (u, v) in zip(quad, ((4.5, 4.5), (18.5, 4.5), (18.5, 18.5), (4.5, 18.5)), strict=True):
        k = g * u + h * v + 1
        assert ((a * u + b * v + c) / k, (d * u + e * v + f) / k) == pytest.approx((x, y))


@pytest.mark.parametrize("turn", [0, 17, 45, 90, 131, 180, 222, 270, 301])
def test_found_at_any_turn(turn: int) -> None:
    (found,) = match(scene(symbol(), turn), knowing(expected(CODE, TEXT)))
    assert (found.expected.code, found.expected.text) == (CODE, TEXT)
    assert found.r > 0.9
    assert found.margin > 0.4
    # Its own top left corner, turned with it.
    reach = QR_SIDE * STEP / math.sqrt(2)
    middle = (sum(x for x, _ in found.corners) / 4, sum(y for _, y in found.corners) / 4)
    way = math.radians(-135 - turn)
    assert found.corners[0] == pytest.approx(
        (middle[0] + reach * math.cos(way), middle[1] + reach * math.sin(way)), abs=STEP
    )


@pytest.mark.parametrize(
    "lost",
    [
        [(-1, -1, 8, 8)],
        [(13, -1, 22, 8)],
        [(-1, 13, 8, 22)],
        [(12, 12, 22, 22)],
        [(-1, -1, 22, 6)],
        [(-1, -1, 6, 22)],
    ],
    ids=["top left", "top right", "bottom left", "bottom right", "upper part", "left part"],
)
def test_a_lost_corner_does_not_matter(lost: list[tuple[int, int, int, int]]) -> None:
    picture = scene(covered(symbol(), *lost), 20)
    found = match(picture, knowing(expected(CODE, TEXT)))
    assert [one.expected.code for one in found] == [CODE]


def test_a_symbol_that_fills_the_picture() -> None:
    """A label photographed from as near as a hand can: modules of 32 pixels and more."""
    for step, size in ((32, (1400, 1050)), (50, (2000, 1500))):
        picture = Image.new("L", size, 140)
        picture.paste(symbol(step=step).rotate(4, Image.Resampling.BICUBIC, fillcolor=140), (40, 40))
        (found,) = match(picture, knowing(expected(CODE, TEXT)))
        assert found.expected.code == CODE


def mostly_hidden(text: str, mask: int, seed: int) -> Image.Image:
    """More than a third of the modules under lumps of frost; of the finder patterns one at most."""
    rng = Random(seed)
    lumps = [(4.0, 4.0, 13.0, 21.0)] if seed % 2 else [(8.0, 8.0, 22.0, 17.0)]
    for _ in range(6):
        x, y = rng.uniform(7, 18), rng.uniform(7, 18)
        lumps.append((x, y, x + rng.uniform(2, 4), y + rng.uniform(2, 4)))
    drawn = symbol(text, mask=mask)
    draw = ImageDraw.Draw(drawn)
    for left, top, right, bottom in lumps:
        draw.ellipse([(one + 4) * STEP for one in (left, top, right, bottom)], fill=225)
    return scene(drawn, 15 * seed)


def test_what_shows_of_a_mostly_hidden_symbol_is_enough() -> None:
    used = qr_symbol(TEXT).mask
    told = [one for seed in range(8) for one in match(mostly_hidden(TEXT, used, seed), knowing(expected(CODE, TEXT)))]
    assert len(told) >= 5
    for one in told:
        assert one.expected.code == CODE
        assert one.r >= ACCEPT
        assert one.margin >= MARGIN


def test_what_shows_of_another_code_is_never_enough() -> None:
    """The codes most alike, in one mask, and much of what tells them apart hidden."""
    used = qr_symbol(TEXT).mask
    bits = data_bits(qr_modules(TEXT))
    others = [
        code + TEXT[6:]
        for at in range(1, 5)
        for letter in ALPHABET
        if (code := make_code(CODE[:at] + letter + CODE[at + 1 : 5])) and code != CODE
    ]
    others.sort(key=lambda text: -alike(bits, data_bits(qr_modules(text, mask=used))))
    assert alike(bits, data_bits(qr_modules(others[0], mask=used))) > 0.5
    for seed in range(8):
        assert match(mostly_hidden(others[seed % 4], used, seed), knowing(expected(CODE, TEXT))) == []


def test_another_character_of_the_code_shows_in_what_repairs() -> None:
    used, one = qr_symbol(TEXT).mask, qr_modules(TEXT)
    other = qr_modules("K7Q3MT" + TEXT[6:], mask=used)
    differs = [one[row][column] != other[row][column] for row, column in data_modules()]
    assert sum(repair_modules()) == 104  # 13 codewords of 8 bits (ISO/IEC 18004, table 9)
    assert sum(compress(differs, repair_modules())) > 40
    assert sum(differs) - sum(compress(differs, repair_modules())) <= 8


@pytest.mark.parametrize("shade", [225, 130, 110])
def test_a_symbol_without_what_repairs_is_not_told_from_another_code(shade: int) -> None:
    """What is left of it is as like the expected symbol as can be: under grey tape enough to be sure of the whole."""
    ours, theirs = (code + TEXT[6:] for code in ("K5G593", "K5G5Q6"))  # two bits of the code differ
    used = qr_symbol(ours).mask
    drawn = symbol(theirs, mask=used)
    draw = ImageDraw.Draw(drawn)
    for (row, column), repairs in zip(data_modules(), repair_modules(), strict=True):
        if repairs:
            left, top = (column + 4) * STEP, (row + 4) * STEP
            draw.rectangle((left, top, left + STEP - 1, top + STEP - 1), fill=shade)
    assert match(scene(drawn), knowing(expected(ours[:6], ours, used))) == []


def test_a_few_modules_that_agree_prove_nothing() -> None:
    """Of a code that is gone 58 modules show, and those that repair are like a living one's by chance."""
    ours, theirs = (code + "19FTI$5$/5" for code in ("KPHWE1", "KEW63Z"))

    def hidden(row: int, column: int) -> bool:
        return (
            (row >= 8 and column >= 18)
            or 0.753 * (column - 10) - 0.658 * (row - 10) > -2.216
            or math.hypot(column - 10.9, row - 11.7) < 3.22
            or math.hypot(column - 20.5, row - 6.9) < 6.14
        )

    assert sum(not hidden(*module) for module in data_modules()) == 58
    for shade in (140, 160, 215):
        drawn = symbol(theirs)
        draw = ImageDraw.Draw(drawn)
        for row in range(QR_SIDE):
            for column in range(QR_SIDE):
                finder = min(row, 20 - row) < 7 and min(column, 20 - column) < 7 and (row < 7 or column < 7)
                if hidden(row, column) and not finder:
                    x, y = (column + 4) * STEP, (row + 4) * STEP
                    draw.rectangle((x, y, x + STEP - 1, y + STEP - 1), fill=shade)
        assert match(scene(drawn), knowing(expected(ours[:6], ours))) == []


def test_what_is_not_expected_is_not_found() -> None:
    picture = scene(symbol(), 20)
    assert match(picture, knowing()) == []
    assert match(picture, Known(list)) == []
    assert match(Image.new("L", (800, 600), 128), knowing(expected(CODE, TEXT))) == []
    assert match(Image.new("L", (9, 2000), 128), knowing(expected(CODE, TEXT))) == []


def test_another_mask_is_another_symbol() -> None:
    used = qr_symbol(TEXT).mask
    for mask in range(8):
        found = match(scene(symbol(mask=used)), knowing(expected(CODE, TEXT, mask)))
        assert bool(found) == (mask == used)


def test_two_codes_of_one_symbol_are_refused() -> None:
    twins = knowing(expected(CODE, TEXT), Expected(code="K9R20A", text="", modules=qr_modules(TEXT)))
    assert match(scene(symbol()), twins) == []
    reprint = knowing(expected(CODE, TEXT), expected(CODE, CODE), expected(CODE, TEXT, 3))
    assert [one.expected.text for one in match(scene(symbol()), reprint)] == [TEXT]


def test_near_neighbours_are_told_apart() -> None:
    """The same record, one character of the code other, in the same mask: as like as two labels can be."""
    used = qr_symbol(TEXT).mask
    neighbour = "K7Q3MT" + TEXT[6:]
    likeness = alike(data_bits(qr_modules(TEXT)), data_bits(qr_modules(neighbour, mask=used)))
    assert 0.2 < likeness < ACCEPT - 0.05
    for text, other in ((TEXT, neighbour), (neighbour, TEXT)):
        picture = scene(symbol(text, mask=used), 33)
        found = match(picture, knowing(expected(TEXT[:6], TEXT, used), expected("K7Q3MT", neighbour, used)))
        assert [one.expected.text for one in found] == [text]
        assert found[0].margin >= MARGIN
        assert match(picture, knowing(expected(other[:6], other, used))) == []


def test_several_symbols_and_none_of_those_read_already() -> None:
    texts = (TEXT, "K9R20A+7-ABCDEFG", "KABCDE+7-ABCDEFG")
    picture = Image.new("L", (1200, 600), 140)
    for number, text in enumerate(texts):
        picture.paste(symbol(text).rotate(13 * number, expand=True, fillcolor=140), (60 + number * 380, 120))
    known = knowing(*(expected(text[:6], text) for text in texts))
    found = match(picture, known)
    assert {one.expected.text for one in found} == set(texts)
    (first,) = (one for one in found if one.expected.text == TEXT)
    module = math.dist(first.corners[0], first.corners[1]) / QR_SIDE
    rest = match(picture, known, [first.corners], module, several=True)
    assert {one.expected.text for one in rest} == set(texts[1:])


def test_a_label_that_decodes_never_asks_the_book() -> None:
    asked = []

    def source() -> list[Expected]:
        asked.append(1)
        return [expected(code, text) for code, text in live_labels()]

    code, text = live_labels()[0]
    label = printed("letter-30up", code, text)
    picture = Image.new("L", (1600, 900), 150)
    picture.paste(label.picture, (200, 150))
    found = read_picture(picture, Known(source))
    assert {one.how for one in found} == {"decoded"}
    assert {one.text for one in found} == {text}
    assert asked == []


def test_frost_that_no_filter_mends() -> None:
    """Crystals of a module's size over a fifth of the symbol: read back by the book alone, with its likeness said."""
    rng = Random(5)
    drawn = symbol()
    draw = ImageDraw.Draw(drawn)
    for _ in range(110):
        x, y = rng.uniform(0, drawn.width), rng.uniform(0, drawn.height)
        draw.ellipse((x - 5, y - 5, x + 5, y + 5), fill=225)
    picture = scene(drawn, 12)
    assert read_picture(picture) == ()
    (found,) = read_picture(picture, knowing(expected(CODE, TEXT)))
    assert (found.text, found.how, found.symbology) == (TEXT, "matched", "QR")
    assert found.likeness is not None
    assert ACCEPT <= found.likeness < 0.98


def test_likeness() -> None:
    bits = data_bits(qr_modules(TEXT))
    assert alike(bits, bits) == pytest.approx(1)
    assert alike(bits, bits ^ ((1 << 208) - 1)) == pytest.approx(-1)
    assert alike(bits, 0) == 0


def test_light_and_dark_the_wrong_way_round_is_nothing() -> None:
    assert match(ImageChops.invert(scene(symbol())), knowing(expected(CODE, TEXT))) == []
