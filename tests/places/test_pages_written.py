"""PDF pages as files: what stands where they go, and letters that the font shipped has not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest

from freezerbox.errors import BookTrouble, InputError
from freezerbox.labels.symbols import qr_symbol
from freezerbox.pages.lid import Group, Section, write_lid
from freezerbox.pages.sheet import Blank, Letters, Line, Rule, Text, write_sheet
from freezerbox.pages.tiles import Tile, write_tiles
from tests.cli.process import House

SECTION = Section(title="Roast", groups=(Group(words="Venison, rump roast", cells=(("1  2.0 lb", 1),)),))
Write = Callable[[Path, str], object]
WRITERS: dict[str, Write] = {
    "sheet": lambda path, paper: write_sheet([Text(words="Gift")], path, title="Gift", paper=paper),
    "lid": lambda path, paper: write_lid([SECTION], path, title="List", subtitle="", paper=paper),
    "tiles": lambda path, paper: write_tiles([Tile(title="Bag")], path, title="t", columns=1, rows=3, paper=paper),
}


@pytest.mark.parametrize("kind", WRITERS)
def test_a_page_takes_the_place_of_the_old_one_only_when_it_is_whole(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "page.pdf"
    path.write_bytes(b"the old page")
    (tmp_path / ".page.pdf.part").mkdir()  # so that the new one cannot be written
    with pytest.raises(BookTrouble, match=r"page\.pdf cannot be written"):
        WRITERS[kind](path, "letter")
    assert path.read_bytes() == b"the old page"
    (tmp_path / ".page.pdf.part").rmdir()
    WRITERS[kind](path, "letter")
    assert path.read_bytes().startswith(b"%PDF")
    assert [file.name for file in tmp_path.iterdir()] == ["page.pdf"]


@pytest.mark.parametrize("kind", WRITERS)
def test_what_is_no_paper_no_pdf_or_no_folder(kind: str, tmp_path: Path) -> None:
    for name, paper, why in (
        ("page.pdf", "a5", "'a5' is not a paper. The papers are: letter, a4."),
        ("page.txt", "a4", "'page.txt' must end in .pdf, such as "),
        ("no/page.pdf", "a4", "There is no folder "),
    ):
        with pytest.raises(InputError) as caught:
            WRITERS[kind](tmp_path / name, paper)
        assert why in caught.value.message
    assert list(tmp_path.iterdir()) == []


def words_of(file: Path) -> str:
    document = pypdfium2.PdfDocument(file)
    words = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return words


def test_letters_that_the_font_has_not_are_question_marks_and_told(tmp_path: Path) -> None:
    sheet = write_sheet(
        [
            Text(words="Gift to \u65e5\u672c"),
            Line(cells=("K7P-3MT", "R\u00f4ti \u672c"), widths_mm=(24.0,)),
            Rule(),
            Blank(words="Signed \u0905"),
        ],
        tmp_path / "sheet.pdf",
        title="Gift",
        foot="\u65e5",
    )
    assert (sheet.pages, sheet.unknown) == (1, "\u65e5\u672c\u0905")
    words = words_of(sheet.file)
    for wanted in ("Gift to ??", "K7P-3MT", "R\u00f4ti ?", "Signed ?", "? page 1"):
        assert wanted in words
    group = Group(words="\u672c, half", cells=(("1  \u65e5", 1),))
    lid = write_lid(
        [Section(title="Roast \u0905", groups=(group,))],
        tmp_path / "lid.pdf",
        title="\u65e5 chest",
        subtitle="\u672c",
    )
    assert (lid.pages, sorted(lid.unknown)) == (1, ["\u0905", "\u65e5", "\u672c"])
    words = words_of(lid.file)
    for wanted in ("? chest", "Roast ?", "?, half", "1 ?"):
        assert wanted in words
    assert Letters()("1  2.0 lb") == "1  2.0 lb"  # the white between a number and its weight
    assert write_lid([SECTION], tmp_path / "lid.pdf", title="List", subtitle="").unknown == ""


def test_commands_that_print_pages_tell_of_them(tmp_path: Path) -> None:
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage \u65e5")
    code = house.ok("pack", "chuck roast", "2", "--species", "beef", "--json").json["packages"][0]["code"]
    told = "the font has no letter for"
    listed = house.ok("lid", "--to", "lid.pdf", "--json")
    assert (listed.json["unknown_letters"], f"{told} \u65e5; printed as ?" in listed.err) == ("\u65e5", True)
    shared = house.ok("share", code, "--between", "Ann, \u672c", "--to", "share.pdf", "--json")
    assert (shared.json["unknown_letters"], told in shared.err) == ("\u672c", True)
    given = house.ok("give", code, "--to", "\u65e5\u672c", "--slip", "slip.pdf", "--json")
    assert (given.json["unknown_letters"], told in given.err) == ("\u65e5\u672c", True)


def box_of(file: Path, words: str) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of the first letter of these words on the first page, in points."""
    document = pypdfium2.PdfDocument(file)
    text = document[0].get_textpage()
    start, _ = text.search(words, match_case=True).get_next()
    box: tuple[float, float, float, float] = text.get_charbox(start)
    document.close()
    return box


def test_codes_to_write_on_stand_in_one_size(tmp_path: Path) -> None:
    tiles = [Tile(title=code, modules=qr_symbol(code).modules, blank=True) for code in ("JWM-WWQ", "J11-111")]
    write_tiles(tiles, tmp_path / "spares.pdf", title="t", columns=3, rows=10)
    heights = [top - bottom for _, bottom, _, top in (box_of(tmp_path / "spares.pdf", tile.title) for tile in tiles)]
    assert heights[0] == pytest.approx(heights[1])
    write_tiles(tiles[1:], tmp_path / "one.pdf", title="t", columns=3, rows=10)
    _, bottom, _, top = box_of(tmp_path / "one.pdf", "J11-111")
    assert top - bottom > heights[1] * 1.1


def test_numbers_of_the_list_end_under_one_another(tmp_path: Path) -> None:
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    house.ok("pack", "chuck roast", *(f"{3 + at / 10}" for at in range(10)), "--species", "beef")
    house.ok("lid", "--to", "lid.pdf")
    weights = [box_of(tmp_path / "lid.pdf", f"{3 + at / 10:.2f} lb")[0] for at in range(10)]
    assert max(weights) - min(weights) < 1
