"""Paths that are no file, and names that are none: told in words, and nothing waits or breaks."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from tests.cli.process import House


@pytest.mark.parametrize("path", ["", ".", "./", "/", ".."])
def test_a_path_without_a_name_is_no_book(house: House, path: str) -> None:
    before = sorted(house.folder.iterdir())
    for words in (
        ("start", "--units", "lb", "--freezer", "Chest"),
        ("restore", "house.book", "--yes"),
        ("find", "chops"),
    ):
        refused = house.refused("--book", path, *words)
        assert refused.status == 3
        assert "is a folder, not a freezer book. Name the file in it: freezerbox --book" in refused.said
    assert sorted(house.folder.iterdir()) == before


@pytest.fixture
def pipe(house: House) -> Iterator[str]:
    """A pipe with something in it, so that a program that reads it all the same comes back."""
    os.mkfifo(house.folder / "p.book")
    end = os.open(house.folder / "p.book", os.O_RDWR | os.O_NONBLOCK)
    os.write(end, b"x" * 1000)
    yield "p.book"
    os.close(end)


@pytest.mark.parametrize(
    "words",
    [
        ("--book", "p.book", "find", "chops"),
        ("--book", "p.book", "check"),
        ("--book", "p.book", "restore", "house.book", "--yes"),
        ("restore", "p.book"),
        ("import", "--merge", "p.book"),
    ],
    ids=" ".join,
)
def test_a_pipe_is_not_read(house: House, pipe: str, words: tuple[str, ...]) -> None:
    refused = house.refused(*words)
    assert refused.status == 3
    assert f"{pipe} is not an ordinary file." in refused.said


@pytest.mark.parametrize(
    ("variable", "words"),
    [("FREEZERBOX_BY", ("move", "K7P3MT", "--to", "red bag")), ("FREEZERBOX_STATION", ("undo",))],
)
def test_a_name_that_is_no_text(house: House, variable: str, words: tuple[str, ...]) -> None:
    said = {**house.environment(), variable: os.fsdecode(b"\xff")}
    odd = House(folder=house.folder, more=said)
    refused = odd.refused(*words)
    assert refused.status == 2
    assert f"{variable}: '\\udcff' is not a name." in refused.said
    assert odd.refused_json(*words, status=2, kind="input")["value"] == "'\\udcff'"


def test_who_it_was_is_words_on_one_line(house: House) -> None:
    for name in ("a\x1b[2Jb", "x" * 41):
        assert house.refused("--by", name, "settings", "units", "kg").status == 2
    house.ok("--by", "  Anna   of the\tcabin ", "settings", "units", "kg")
    assert "(by Anna of the cabin)" in house.ok("undo", "--list").told
