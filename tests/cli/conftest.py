"""Houses for the tests of the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.process import House, copy_of


@pytest.fixture
def house(played_evening: House, tmp_path: Path) -> House:
    """The evening of the issue: 4 backstraps of 26B on hold in the red bag, 14 loin chops of 26H."""
    return copy_of(played_evening, tmp_path)


@pytest.fixture
def bare(tmp_path: Path) -> House:
    """A folder without a book."""
    return House(folder=tmp_path)
