"""Every stock, design and awkward content as a PDF through two renderers, and a second decoder beside ours."""

from __future__ import annotations

import shutil
import subprocess
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from PIL import Image, ImageChops

from freezerbox.core.code import ALPHABET
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import Drawn, draw
from freezerbox.labels.library import design_named, kinds_for, stock, stock_names
from freezerbox.labels.sheet import write
from freezerbox.reading.pictures import read_picture

pytestmark = pytest.mark.sweep
KINDS = [
    (name, kind, phones)
    for name in stock_names()
    for kind in kinds_for(stock(name))
    for phones in (False, True)
    if not phones or any(one.link for one in design_named(kind, stock(name)).arrangements)
]


def contents(*, phones: bool) -> list[LabelContent]:
    """Every case of the label tests, each with a code and symbols of its own."""
    path = Path(__file__).parent.parent / "labels" / "contents.toml"
    table: dict[str, dict[str, Any]] = tomllib.loads(path.read_text(encoding="utf-8"))
    base = table.pop("base")
    made = []
    for number, own in enumerate(table.values()):
        code = "K" + "".join(ALPHABET[(number * step + step) % 32] for step in (1, 3, 7, 11, 13))
        words = LabelContent(**{**base, **own})
        link = f"HTTP://FREEZER.LOCAL:8080/{code}" if phones else ""
        symbol = code + "$05-X9Q2A/"
        made.append(replace(words, banners=tuple(words.banners), code=code, symbol_text=symbol, link=link))
    return made


def all_labels(name: str, kind: str, *, phones: bool) -> Drawn:
    paper = stock(name)
    return draw(contents(phones=phones), paper, 1, design_named(kind, paper))


def by_ghostscript(path: Path, folder: Path, dpi: int) -> list[Image.Image]:
    subprocess.run(
        ["gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=pngmono", f"-r{dpi}",
         f"-sOutputFile={folder}/page-%03d.png", str(path)],
        check=True, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    return [Image.open(file).convert("L") for file in sorted(folder.glob("page-*.png"))]


def by_pdfium(path: Path, dpi: int) -> list[Image.Image]:
    document = pypdfium2.PdfDocument(path)
    try:
        return [page.render(scale=dpi / 72, grayscale=True).to_pil() for page in document]
    finally:
        document.close()


def needs(program: str) -> None:
    if shutil.which(program) is None:
        pytest.skip(f"needs {program}: .ci/run installs it")


@pytest.mark.parametrize(("name", "kind", "phones"), KINDS)
@pytest.mark.parametrize("renderer", ["pdfium", "ghostscript"])
def test_every_label_reads_after_the_renderer(
    tmp_path: Path, name: str, kind: str, phones: bool, renderer: str
) -> None:
    """At the stock's own dots, all symbols at four turns; the ink is where the layout says, letters as high."""
    needs("gs")
    drawn = all_labels(name, kind, phones=phones)
    paper = drawn.stock
    (path,) = write(drawn.pages, tmp_path / "labels.pdf", paper)
    pages = by_pdfium(path, paper.dpi) if renderer == "pdfium" else by_ghostscript(path, tmp_path, paper.dpi)
    assert len(pages) == len(drawn.pages)
    for number, (position, layout) in enumerate(zip(drawn.positions, drawn.layouts, strict=True)):
        left, top = paper.dots(position.x_mm), paper.dots(position.y_mm)
        picture = drawn.pictures[number]
        cut = pages[position.page - 1].crop((left, top, left + picture.width, top + picture.height))
        two = cut.point(lambda value: 255 if value > 127 else 0)
        if renderer == "ghostscript":
            assert ImageChops.difference(two, picture.convert("L")).getbbox() is None, (
                "a dot is not where it was drawn"
            )
        for turn in (0, 90, 180, 270):
            found = read_picture(two.rotate(turn, expand=True))
            assert sorted((symbol.symbology, symbol.text) for symbol in found) == sorted(layout.symbols), turn
        for box in layout.boxes:
            if box.field == "code" and box.kind == "text":
                area = (paper.dots(box.x_mm), paper.dots(box.y_mm) - 1)
                end = (paper.dots(box.x_mm + box.width_mm), paper.dots(box.y_mm + box.height_mm) + 1)
                ink = ImageChops.invert(two.crop((*area, *end))).getbbox()
                assert ink is not None
                assert (ink[3] - ink[1]) * 25.4 / paper.dpi >= 1.9


@pytest.mark.parametrize(("name", "kind", "phones"), KINDS)
def test_a_second_decoder_says_the_same(tmp_path: Path, name: str, kind: str, phones: bool) -> None:
    """Debian's zbar on the labels of every stock: each QR and each Code 128, and no others."""
    needs("zbarimg")
    drawn = all_labels(name, kind, phones=phones)
    for number, layout in enumerate(drawn.layouts):
        file = tmp_path / f"label-{number}.png"
        # White paper round it, as on a sheet or a bag; at about eight dots a module, which suits that decoder.
        picture = drawn.pictures[number].convert("L")
        scale = max(1, round(drawn.stock.dpi / 300))
        picture = picture.resize((picture.width // scale, picture.height // scale), Image.Resampling.BOX)
        paper = Image.new("L", (picture.width + 80, picture.height + 80), 255)
        paper.paste(picture, (40, 40))
        paper.save(file)
        done = subprocess.run(
            ["zbarimg", "-q", "-Sdisable", "-Sqrcode.enable", "-Scode128.enable", str(file)],
            capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL,
        )  # fmt: skip
        said = {tuple(line.split(":", 1)) for line in done.stdout.splitlines()}
        wanted = {("QR-Code" if kind == "QR" else "CODE-128", text) for kind, text in layout.symbols}
        assert said == wanted, (name, kind, number)
