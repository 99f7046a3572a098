"""From printed labels to photographs to packages, by the program itself."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from random import Random

import pytest
from PIL import Image, ImageChops, ImageDraw

from freezerbox.book import printouts
from freezerbox.chores import label, pack, take, tonight
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label_words import content_of
from freezerbox.chores.rows import Rows
from freezerbox.chores.scan import code_said, look_at_photos
from freezerbox.chores.symbols import MOST_ALIKE, keep_apart, known_symbols
from freezerbox.cli.main import run
from freezerbox.core.code import show_code
from freezerbox.labels.symbols import qr_modules, qr_symbol
from freezerbox.reading.grid import alike, data_bits
from freezerbox.reading.ladder import Symbol
from freezerbox.reading.pictures import read_picture
from freezerbox.reading.tags import bounds
from tests.conftest import Stocked
from tests.weather.camera import Printed, photograph
from tests.weather.household import new_code
from tests.weather.weathers import Shot, caked

STOCK = "roll-2x1in-203dpi"


def labels(stocked: Stocked, folder: Path) -> dict[str, Printed]:
    """Every label of the freezer, printed one a file."""
    rows = label.not_yet_printed(stocked.kitchen)
    done = label.print_rows(stocked.kitchen, rows, label.How(to=folder / "labels.png", stock=STOCK))
    found = {}
    for row, file in zip(done.rows, done.page_files, strict=True):
        with Image.open(file) as picture:
            found[row.code] = Printed(picture=picture.convert("L"), width_mm=50.8, height_mm=25.4, module_mm=0.6255)
    return found


def frosted(one: Printed, path: Path, number: int = 0) -> Path:
    """A photograph that no decoder reads: opaque frost over a fifth of the label."""
    for attempt in range(number, number + 40):
        picture = photograph([one], lambda drawn, rng, scale: caked(drawn, rng, scale, 0.2), Shot(), Random(attempt))
        if not read_picture(picture):
            picture.save(path, quality=88)
            return path
    raise AssertionError("every one decodes")


def test_recognised_through_frost(
    stocked: Stocked,
    tmp_path: Path,
    book_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    code = stocked.chops[3].code
    photo = frosted(labels(stocked, tmp_path)[code], tmp_path / "lump.jpg")
    ((_, (seen,)),) = look_at_photos(stocked.kitchen, [photo])
    assert (seen.code, seen.symbol.how) == (code, "matched")
    # The proof of the evening looks through the same frost.
    proved = tonight.proof(stocked.kitchen, [photo])
    assert (*proved.seen, *proved.others) == (code,)
    monkeypatch.setenv("FREEZERBOX_BOOK", str(book_path))
    monkeypatch.setenv("FREEZERBOX_NOW", "2026-12-02T21:00")
    shown = tmp_path / "shown.png"
    assert run(["scan", "--photo", str(photo), "--show", str(shown)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert show_code(code) in said
    assert "recognised through frost" in said
    assert "nothing changed" in said
    with Image.open(shown) as picture:
        assert picture.size == (1280, 960)
    assert run(["scan", "--photo", str(photo), "--take", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    (one,) = answer["photos"][0]["codes"]
    assert (one["code"], one["symbol"], one["how"]) == (code, "QR", "matched")
    assert 0.65 <= one["likeness"] <= 1
    assert len(one["corners"]) == 4
    assert [scanned["outcome"] for scanned in answer["scans"]] == ["taken"]
    # It has left the freezer: its code is expected no more, so the same photograph tells nothing.
    assert run(["scan", "--photo", str(photo), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["photos"][0]["codes"] == []


def test_a_drawing_only_looked_at_and_printed_by_hand_is_recognised(stocked: Stocked, tmp_path: Path) -> None:
    how = label.How(to=tmp_path / "look.png", stock=STOCK, look=True)
    drawn = label.print_new(stocked.kitchen, how)
    with Image.open(drawn.page_files[5]) as picture:
        one = Printed(picture=picture.convert("L"), width_mm=50.8, height_mm=25.4, module_mm=0.6255)
    assert printouts.live_symbols(stocked.book) == ()
    ((_, (seen,)),) = look_at_photos(stocked.kitchen, [frosted(one, tmp_path / "lump.jpg")])
    assert (seen.code, seen.symbol.how) == (drawn.rows[5].code, "matched")
    assert printouts.live_symbols(stocked.book) == ()


def test_what_is_expected_before_printing_is_what_is_printed(kitchen: Kitchen, tmp_path: Path) -> None:
    """Text and mask alike, also of those whose mask keeps them unlike the others."""
    words, how = Words(cut="ground", species="beef"), label.How(to=tmp_path / "ahead.png", stock=STOCK)
    pack.write(kitchen, pack.prepare(kitchen, words, ["1"] * 60))
    assert len(printouts.unprinted(kitchen.book)) == 60
    before = {(one.code, one.text, one.modules) for one in known_symbols(kitchen.afresh()).expected}
    label.print_new(kitchen.afresh(), how)
    symbols = printouts.live_symbols(kitchen.book)
    assert before == {(code, text, qr_modules(text, mask=mask)) for code, text, mask in symbols}
    assert any(mask != qr_symbol(text).mask for _, text, mask in symbols)
    assert printouts.unprinted(kitchen.book) == ()


def test_only_what_is_there_is_expected(stocked: Stocked, tmp_path: Path) -> None:
    labels(stocked, tmp_path)
    kitchen = stocked.kitchen.afresh()
    assert {one.code for one in known_symbols(kitchen).expected} == set(stocked.codes)
    for one in known_symbols(kitchen).expected:
        assert one.text[:6] == one.code
        assert len(one.modules) == 21
    gone = stocked.chops[0].code
    take.take(kitchen, gone)
    assert {one.code for one in known_symbols(kitchen.afresh()).expected} == set(stocked.codes) - {gone}
    take.put_back(kitchen.afresh(), gone)
    assert gone in {one.code for one in known_symbols(kitchen.afresh()).expected}


def test_symbols_of_one_run_are_kept_apart(kitchen: Kitchen, tmp_path: Path) -> None:
    """Sixty labels ahead of the same cut, all without a weight: alike but for their codes."""
    label.print_ahead(
        kitchen, "60", Words(cut="ground", species="beef"), label.How(to=tmp_path / "ahead.png", stock=STOCK)
    )
    printed = printouts.live_symbols(kitchen.book)
    assert len(printed) == 60
    bits = [data_bits(qr_modules(text, mask=mask)) for _, text, mask in printed]
    assert max(alike(one, other) for one, other in combinations(bits, 2)) <= MOST_ALIKE


def test_a_symbol_too_like_a_live_one_gets_another_mask(stocked: Stocked, tmp_path: Path) -> None:
    """Among many codes of one record some are too alike by the encoder's own mask, and none after it."""
    labels(stocked, tmp_path)
    kitchen = stocked.kitchen.afresh()
    code, text, _ = printouts.live_symbols(kitchen.book)[5]
    rng = Random(3)
    codes = list(dict.fromkeys(new_code(rng, code[0]) for _ in range(160)))

    first = content_of(kitchen, stocked.chops[0])
    contents = [replace(first, code=one, symbol_text=one + text[6:]) for one in codes]
    before = [data_bits(qr_modules(one.symbol_text)) for one in contents]
    assert max(alike(one, other) for one, other in combinations(before, 2)) > MOST_ALIKE
    settled = keep_apart(kitchen, contents)
    after = [data_bits(qr_modules(one.symbol_text, mask=one.mask)) for one in settled]
    after.append(data_bits(qr_modules(text, mask=qr_symbol(text).mask)))
    assert max(alike(one, other) for one, other in combinations(after, 2)) <= MOST_ALIKE
    assert [one.symbol_text for one in settled] == [one.symbol_text for one in contents]
    assert 0 < sum(one.mask is not None for one in settled) < len(settled) / 4


def test_texts_that_share_little_are_never_alike() -> None:
    """Why most pairs need not be compared."""
    rng = Random(9)
    texts = [new_code(rng) + "".join(rng.choice("0123456789ABCDEFG") for _ in range(10)) for _ in range(120)]
    bits = [data_bits(qr_modules(text)) for text in texts]
    assert max(alike(one, other) for one, other in combinations(bits, 2)) < MOST_ALIKE


@pytest.mark.parametrize(
    ("text", "symbology", "code"),
    [
        ("K7P3MT", "QR", "K7P3MT"),
        ("K7P3MT", "Code 128", "K7P3MT"),
        ("K7P3MT$05-X9Q2A/", "QR", "K7P3MT"),
        ("K7P3MT$05-X9Q", "QR", "K7P3MT"),
        ("HTTP://FREEZER.LOCAL/K7P3MT", "QR", "K7P3MT"),
        ("http://freezer.local:8000/p/k7p3mt/", "QR", "K7P3MT"),
        ("K7P3MT$05-X9Q2A/", "Code 128", None),
        ("K7P3MS", "QR", None),
        ("k7p3mt", "QR", None),
        ("K7P-3MT", "Code 128", None),
        ("K7P 3MT", "QR", None),
        (" K7P3MT", "QR", None),
        ("K7P3MT1", "Code 128", None),
        ("K7P3MT$05-X9Q2A/A", "QR", None),
        ("K7P3MT$05-x9Q2A/", "QR", None),
        ("4006381333931", "Code 128", None),
        ("ftp://freezer.local/K7P3MT", "QR", None),
        ("", "QR", None),
    ],
)
def test_nothing_in_a_photograph_is_mended(text: str, symbology: str, code: str | None) -> None:
    corners = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    assert code_said(Symbol(text=text, symbology=symbology, how="decoded", position=corners)) == code  # type: ignore[arg-type]


def test_help_names_the_options(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["scan", "--help"]) == 0
    assert re.search(r"--show\s+FILE", capsys.readouterr().out)


@pytest.mark.parametrize("stock", ["roll-2x1in-203dpi", "letter-10up", "roll-4x6in-203dpi"])
def test_a_tag_covers_none_of_the_labels_words(stocked: Stocked, tmp_path: Path, stock: str) -> None:
    """On a small label, a large one, and among empty places of a sheet; one tag a label, however many symbols."""
    rows = Rows(stocked.kitchen).of_codes([stocked.chops[0].code])
    picture, shown = tmp_path / "label.png", tmp_path / "shown.png"
    label.print_rows(stocked.kitchen, rows, label.How(to=picture, stock=stock))
    ((_, (seen, *_)),) = look_at_photos(stocked.kitchen.afresh(), [picture], show=shown)
    assert seen.code == rows[0].code
    with Image.open(picture) as one, Image.open(shown) as other:
        after = other.convert("L")
        before = one.convert("L").resize(after.size)
        scale = after.width / one.width
    changed = ImageChops.difference(before, after).point([255 * (value > 60) for value in range(256)])
    draw = ImageDraw.Draw(changed)
    for symbol in read_picture(picture):
        corners = [(x * scale, y * scale) for x, y in symbol.position]
        left, top, right, bottom = bounds(corners)
        draw.rectangle((left - 12, top - 12, right + 12, bottom + 12), fill=0)
    box = changed.getbbox()
    assert box is not None
    ink = before.crop(box).point([255 * (value < 90) for value in range(256)])
    tag = (box[2] - box[0]) * (box[3] - box[1])
    assert 300 < tag < 0.05 * after.width * after.height
    assert ink.histogram()[255] < 0.03 * tag, "it stands on the label's words"
