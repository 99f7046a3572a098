"""Houses for the tests of places: an evening's packages spread over a freezer, and a second freezer."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.process import House, copy_of


def play(house: House) -> House:
    """Garage chest with a red bag (4 backstraps of 26A), a green basket (3 chops, 1 of last year), and a kitchen."""
    house.ok("start", "--units", "lb", "--freezer", "Garage chest", "--volume", "15 cu ft")
    house.ok("freezer", "add", "Kitchen")
    for name in ("red bag", "green basket", "top layer"):
        house.ok("place", "add", name, "--freezer", "Garage chest")
    house.ok("animal", "add", "26A", "whitetail", "doe", "--killed", "14 nov")
    house.ok("animal", "add", "26H", "pig", "--what", "half hog")
    weights = (".9", ".95", ".88", ".87")
    house.ok("pack", "backstrap", *weights, "--animal", "26A", "--form", "half", "--place", "red bag")
    house.ok(
        "pack", "loin chops", "1.1", "1.05", ".98", "--animal", "26H", "--pieces", "4", "--place", "green basket"
    )
    house.ok("pack", "pork chops", "1.3", "--pieces", "4", "--first-frozen", "oct 2025", "--place", "green basket")
    return house


@pytest.fixture(scope="session")
def shelves(tmp_path_factory: pytest.TempPathFactory) -> House:
    return play(House(folder=tmp_path_factory.mktemp("shelves")))


@pytest.fixture
def house(shelves: House, tmp_path: Path) -> House:
    """See ``play``."""
    return copy_of(shelves, tmp_path)


@pytest.fixture
def bare(tmp_path: Path) -> House:
    """A folder without a book."""
    return House(folder=tmp_path)
