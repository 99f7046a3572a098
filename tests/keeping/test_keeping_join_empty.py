"""Books that were set up before the first evening and hold no package yet are joined as any others."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from tests.cli.process import House


def test_books_without_a_package_are_joined_both_ways(tmp_path: Path) -> None:
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    house.ok("place", "add", "Red")
    house.ok("backup", "--for", "cabin")
    cabin = replace(house, seed="cabin", more={"FREEZERBOX_BOOK": str(tmp_path / "cabin.book")})
    cabin.ok("animal", "add", "26C", "elk", "cow")
    house.ok("place", "rename", "Red", "Navy")
    house.ok("import", "--merge", "cabin.book")
    assert "26C" in house.ok("animal", "list").out
    (other,) = {path.name for path in tmp_path.glob("*.book")} - {"cabin.book"}
    cabin.ok("import", "--merge", other)
    assert "Navy" in cabin.ok("place", "list").out
    for one in (house, cabin):
        one.ok("check")
