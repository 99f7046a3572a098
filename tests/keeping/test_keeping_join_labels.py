"""A join that makes printed labels say the wrong animal, or nothing of a hold, says which to print again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from freezerbox.core.code import show_code
from tests.cli.process import House


@pytest.fixture
def two(tmp_path: Path) -> tuple[House, House]:
    """A doe on hold here and a doe there have one name; each has a package with its label printed."""
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    house.ok("backup", "--for", "cabin")
    cabin = replace(house, seed="cabin", more={"FREEZERBOX_BOOK": str(tmp_path / "cabin.book")})
    house.ok("animal", "add", "26C", "whitetail", "doe", "--test", "pending")
    cabin.ok("animal", "add", "26C", "whitetail", "doe")
    for name, one in (("house", house), ("cabin", cabin)):
        one.ok("pack", "shank", "1", "--animal", "26C")
        one.ok("label", "--to", f"{name}.pdf")
    return house, cabin


def codes(house: House) -> list[str]:
    return [show_code(row["code"]) for row in house.ok("find", "deer", "--json").json["rows"]]


@pytest.mark.parametrize("answer", [("--same", "animal 26C"), ("--rename", "26C=26D")])
def test_labels_that_say_too_little_or_the_wrong_animal_are_named(
    two: tuple[House, House], answer: tuple[str, str]
) -> None:
    house, cabin = two
    theirs = codes(cabin)
    told = house.ok("import", "--merge", "cabin.book", *answer).told
    assert f"1 printed label says something else now than the book (another animal, or nothing of a hold): freezerbox label again {theirs[0]}" in told  # fmt: skip  # noqa: E501
    house.ok("label", "again", *theirs, "--to", "again.pdf")
    assert "something else now" not in house.ok("import", "--merge", "cabin.book").told


def test_labels_that_a_join_leaves_right_are_not_named(two: tuple[House, House]) -> None:
    house, cabin = two
    cabin.ok("animal", "add", "26E", "elk", "cow")
    house.ok("import", "--merge", "cabin.book", "--same", "animal 26C")
    cabin.ok("pack", "ground", "2", "--animal", "26E")
    cabin.ok("label", "--to", "more.pdf")
    assert "something else now" not in house.ok("import", "--merge", "cabin.book").told
