"""A hold is let go on the day it began or later: one that is over before it began would hold nothing in the past."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.process import House


@pytest.fixture
def house(tmp_path: Path) -> House:
    house = House(folder=tmp_path, now="2026-11-21T20:00")
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    return house


def test_a_hold_of_the_household(house: House) -> None:
    (one,) = house.ok("pack", "ground", "1", "--species", "deer", "--packed", "1 nov", "--json").json["packages"]
    code = one["code"]
    house.ok("hold", code, "--why", "smelt odd", "--on", "10 nov")
    refused = house.refused("release", code, "--why", "fine", "--on", "9 nov")
    assert "cannot be released on 9 Nov 2026: it is on hold since 10 Nov 2026" in refused.said
    assert house.ok("show", code, "--json").json["holds"] != []
    house.ok("release", code, "--why", "fine", "--on", "10 nov")
    assert house.ok("show", code, "--json").json["holds"] == []


def test_a_test_that_waits(house: House) -> None:
    house.ok("animal", "add", "26B", "whitetail doe", "--processed", "10 nov", "--test", "pending")
    refused = house.refused("release", "26B", "--why", "fine", "--on", "9 nov")
    assert "cannot be released on 9 Nov 2026" in refused.said
    house.ok("release", "26B", "--why", "fine")
