"""Make the fixture book of the present layout: ``python tests/keeping/books/make.py``."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parents[2]))


def make(to: Path) -> None:
    """The evening of the issue and the weeks after, with something in every table that chores fill by then."""
    from tests.cli.process import House, play_evening

    with tempfile.TemporaryDirectory() as folder:
        house = play_evening(House(folder=Path(folder), seed="layout", now="2026-11-21T21:00"))
        house = house.at("2026-12-02T21:00")
        house.ok("freezer", "add", "Cabin")
        codes = [row["code"] for row in house.ok("find", "loin chops", "--json").json["rows"]]
        house.ok("take", codes[0])
        house.ok("undo")
        house.ok("take", codes[1], "--on", "2026-11-25")
        house.ok("move", codes[2], codes[3], "--to", "Cabin")
        house.ok("fix", codes[4], "--weight", "1.2", "--note", "thick")
        house.ok("pack", "ground", "--lot", "10", "--each", "1", "--species", "deer", "--freezer", "Cabin")
        house.ok("settings", "units", "lb-oz")
        to.write_bytes(house.book.read_bytes())


if __name__ == "__main__":
    from freezerbox.book.migrations import CURRENT

    make(HERE / f"layout-{CURRENT}.book")
