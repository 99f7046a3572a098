"""Houses that the tests of this folder begin with."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from tests.cli.process import House, copy_of
from tests.keeping.houses import chops, played
from tests.keeping.pairs import Pair


@pytest.fixture(scope="session")
def good(tmp_path_factory: pytest.TempPathFactory) -> House:
    return played(tmp_path_factory.mktemp("good"))


@pytest.fixture
def house(good: House, tmp_path: Path) -> House:
    return copy_of(good, tmp_path)


@pytest.fixture
def stick(house: House) -> Iterator[Path]:
    """A folder on another disk than the house's book: the memory of the machine is one everywhere."""
    with TemporaryDirectory(dir="/dev/shm") as folder:
        assert Path(folder).stat().st_dev != house.folder.stat().st_dev
        yield Path(folder)


@pytest.fixture(scope="session")
def parted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    house = played(tmp_path_factory.mktemp("parted"))
    house.ok("sign", "--spares", "5", "--to", "spares.pdf")
    house.ok("backup", "--for", "cabin", "--letter", "X" if chops(house)[0][0] != "X" else "W")
    return house.folder


@pytest.fixture
def pair(parted: Path, tmp_path: Path) -> Pair:
    shutil.copytree(parted, tmp_path / "pair")
    house = House(folder=tmp_path / "pair", now="2026-12-05T21:00", more={"FREEZERBOX_STATION": "kitchen"})
    more = {"FREEZERBOX_BOOK": str(tmp_path / "pair" / "cabin.book"), "FREEZERBOX_STATION": "cabin"}
    return Pair(house, replace(house, seed="cabin", more=more, now="2026-12-05T20:00"))
