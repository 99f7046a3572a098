"""The house that the tests of animals begin with, as its commands left it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.process import House, copy_of, play_evening


@pytest.fixture(scope="session")
def _evening(tmp_path_factory: pytest.TempPathFactory) -> House:
    return play_evening(House(folder=tmp_path_factory.mktemp("evening")))


@pytest.fixture
def house(_evening: House, tmp_path: Path) -> House:
    """The evening of 2 December 2026: 4 backstraps of 26B on hold in the red bag, 14 loin chops of 26H."""
    return copy_of(_evening, tmp_path)
