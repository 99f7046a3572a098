"""PDF pages as files: what stands where they go, and letters that no font of ours has."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from freezerbox.errors import BookTrouble, InputError
from freezerbox.pages.lid import Group, Section, write_lid
from freezerbox.pages.sheet import Text, write_sheet
from freezerbox.pages.tiles import Tile, write_tiles

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
