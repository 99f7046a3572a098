"""Labels read back by an independent decoder (zxing-cpp), the PDF through an independent renderer (pypdfium2)."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import draw
from freezerbox.labels.library import stock, stock_names
from freezerbox.labels.sheet import write
from freezerbox.reading.pictures import read_picture

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def contents() -> dict[str, LabelContent]:
    path = Path(__file__).parent.parent / "labels" / "contents.toml"
    table: dict[str, dict[str, Any]] = tomllib.loads(path.read_text(encoding="utf-8"))
    base = table.pop("base")
    made = {name: LabelContent(**{**base, **own}) for name, own in table.items()}
    return {
        name: replace(one, banners=tuple(one.banners), short=tuple((long, few) for long, few in one.short))
        for name, one in made.items()
    }


CONTENTS = contents()


def seen(picture: Image.Image) -> list[tuple[str, str]]:
    """Every symbol of any kind that the decoder finds: there must be ours and no others."""
    found = zxingcpp.read_barcodes(picture.convert("L"))
    return sorted(("Code 128" if "128" in str(one.format) else "QR", one.text) for one in found)


def run(count: int) -> list[LabelContent]:
    """Labels all different in code and symbol."""
    names = list(CONTENTS)
    made = []
    for number in range(count):
        code = "K" + "".join(ALPHABET[(number * step + step) % 32] for step in (1, 3, 7, 11, 13))
        made.append(replace(CONTENTS[names[number % len(names)]], code=code, symbol_text=code + "$05-X9Q2A/"))
    return made


# One of each shape and kind of printer; test_labels_renderers turns every stock in the long sweep.
TURNED = ("letter-10up", "letter-30up", "a4-24up", "roll-2x1in-203dpi", "roll-62x29mm-300dpi")


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
@pytest.mark.parametrize("name", TURNED)
@pytest.mark.parametrize("case", sorted(CONTENTS))
def test_every_symbol_at_four_turns(name: str, case: str, turn: int) -> None:
    drawn = draw([CONTENTS[case]], name)
    wanted = sorted(drawn.layouts[0].symbols)
    assert seen(drawn.pictures[0].convert("L").rotate(turn, expand=True)) == wanted


@pytest.mark.parametrize("case", sorted(CONTENTS))
def test_our_own_reader_finds_them_all(case: str) -> None:
    for name in stock_names():
        drawn = draw([CONTENTS[case]], name)
        found = read_picture(drawn.pictures[0])
        assert sorted((symbol.symbology, symbol.text) for symbol in found) == sorted(drawn.layouts[0].symbols)
        assert {symbol.how for symbol in found} == {"decoded"}


@pytest.mark.parametrize(("name", "count", "start", "scale_dpi"), [
    ("letter-10up", 14, 7, 300),
    ("letter-30up", 40, 21, 300),
    ("roll-2x1in-203dpi", 12, 1, 203),
])  # fmt: skip
def test_every_label_of_the_pdf(tmp_path: Path, name: str, count: int, start: int, scale_dpi: int) -> None:
    labels = run(count)
    drawn = draw(labels, name, start_at=start)
    (path,) = write(drawn.pages, tmp_path / "labels.pdf", drawn.stock)
    document = pypdfium2.PdfDocument(path)
    try:
        assert len(document) == max(position.page for position in drawn.positions)
        pages = [page.render(scale=scale_dpi / 72, grayscale=True).to_pil() for page in document]
    finally:
        document.close()
    for label, position, layout in zip(labels, drawn.positions, drawn.layouts, strict=True):
        dot = scale_dpi / 25.4
        left, top = position.x_mm * dot, position.y_mm * dot
        cut = pages[position.page - 1].crop(
            (round(left), round(top), round(left + position.width_mm * dot), round(top + position.height_mm * dot))
        )
        assert seen(cut) == sorted(layout.symbols), label.code
    whole = [text for page in pages for _, text in seen(page)]
    assert {label.symbol_text for label in labels} <= set(whole)


def test_the_roll_is_dot_for_dot_the_picture(tmp_path: Path) -> None:
    drawn = draw(run(2), "roll-2x1in-203dpi")
    (path,) = write(drawn.pages, tmp_path / "labels.pdf", drawn.stock)
    document = pypdfium2.PdfDocument(path)
    try:
        for page, picture in zip(document, drawn.pictures, strict=True):
            rendered = page.render(scale=203 / 72, grayscale=True).to_pil()
            assert rendered.size == picture.size
            assert rendered.point(lambda value: 255 if value > 127 else 0).convert("1").tobytes() == picture.tobytes()
    finally:
        document.close()


@pytest.mark.parametrize("name", stock_names())
def test_a_photograph_of_a_label(name: str) -> None:
    """Small, blurred and turned a little, as from half a metre: about four pixels a module."""
    drawn = draw([CONTENTS["chops"]], name)
    picture = drawn.pictures[0].convert("L")
    module = next(box.cap_mm for box in drawn.layouts[0].boxes if box.kind == "qr") * stock(name).dpi / 25.4
    size = (round(picture.width * 4 / module), round(picture.height * 4 / module))
    small = picture.resize(size, Image.Resampling.LANCZOS)
    scene = Image.new("L", (size[0] + 200, size[1] + 200), 90)
    scene.paste(small, (100, 100))
    texts = {symbol.text for symbol in read_picture(scene.rotate(11, Image.Resampling.BICUBIC, fillcolor=90))}
    assert CONTENTS["chops"].symbol_text in texts
    assert texts <= {CONTENTS["chops"].symbol_text, CONTENTS["chops"].code}
