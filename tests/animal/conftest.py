"""The house that the tests of animals begin with, as its commands left it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.process import House, copy_of


@pytest.fixture
def house(played_evening: House, tmp_path: Path) -> House:
    """The evening of 2 December 2026: 4 backstraps of 26B on hold in the red bag, 14 loin chops of 26H."""
    return copy_of(played_evening, tmp_path)
