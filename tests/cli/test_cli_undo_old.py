"""Undo without a number takes back what was just done; what is older than a day is asked about."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.process import House, Terminal, copy_of, play_evening

WEEK_LATER = "2026-12-09T21:00"


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> House:
    return play_evening(House(folder=tmp_path_factory.mktemp("old"), more={"FREEZERBOX_STATION": "kitchen"}))


@pytest.fixture
def house(evening: House, tmp_path: Path) -> House:
    """An evening of packing, and a week since."""
    return copy_of(evening, tmp_path).at(WEEK_LATER)


def packages(house: House) -> int:
    return len(house.ok("find", "everything", "--json").json["rows"])


def test_the_last_thing_was_a_week_ago(house: House) -> None:
    before = packages(house)
    for words in (("undo",), ("undo", "--json")):
        refused = house.refused(*words)
        assert refused.status == 1
        assert "The last thing done here is act " in refused.said
        assert "recorded on 2026-12-02" in refused.said
    act = house.refused("undo", "--json").error["act"]
    assert packages(house) == before
    house.ok("undo", str(act))
    assert packages(house) < before


def test_the_same_evening_past_midnight_is_not_asked(house: House) -> None:
    before = packages(house)
    house.at("2026-12-03T00:30").ok("undo")
    assert packages(house) < before


@pytest.mark.parametrize(("answer", "status"), [("n", 1), ("y", 0)])
def test_a_person_is_asked(house: House, answer: str, status: int) -> None:
    before = packages(house)
    table = Terminal(house, "undo")
    assert "recorded on 2026-12-02" in table.wait_for("[y/N]: ")
    table.type(answer)
    assert table.end()[0] == status
    assert (packages(house) < before) == (status == 0)
