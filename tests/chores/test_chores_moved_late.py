"""Moved on an earlier day than it is entered: what stands of later days speaks against it, and nothing else does."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.process import House


@pytest.fixture
def house(tmp_path: Path) -> House:
    house = House(folder=tmp_path, now="2026-12-05T20:00")
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    for name in ("Basket 1", "Basket 2"):
        house.ok("place", "add", name, "--kind", "basket")
    return house


def packed(house: House, *more: str, day: str = "21 nov") -> str:
    answer = house.ok("pack", "ground", "1", "--species", "deer", "--packed", day, *more, "--json")
    code: str = answer.json["packages"][0]["code"]
    return code


def place(house: House, code: str, *more: str) -> object:
    (row,) = [one for one in house.ok("find", "ground", *more, "--json").json["rows"] if one["code"] == code]
    return row["place"]


def sound(house: House) -> None:
    assert house.ok("check", "--json").json["faults"] == []


@pytest.mark.parametrize("to", ["Basket 2", "Cabin"])
def test_a_basket_does_not_move_before_what_lies_in_it(house: House, to: str) -> None:
    house.ok("freezer", "add", "Cabin")
    code = packed(house, "--place", "Basket 1")
    refused = house.refused("move", "Basket 1", "--to", to, "--on", "10 nov")
    assert "Basket 1 was not moved" in refused.said
    assert "came into the freezer on 21 Nov 2026, after 10 Nov 2026" in refused.said
    assert place(house, code) == "Basket 1"
    assert [one["freezer"] for one in house.ok("place", "list", "--json").json["places"]] == ["Garage chest"] * 2
    house.ok("move", "Basket 1", "--to", to, "--on", "25 nov")
    (row,) = house.ok("find", "ground", "--json").json["rows"]
    assert (row["freezer"], row["place"]) == (
        ("Cabin", "Basket 1") if to == "Cabin" else ("Garage chest", "Basket 2")
    )
    sound(house)


def test_a_basket_that_moved_yesterday_with_what_came_today(house: House) -> None:
    code = packed(house)
    house.ok("move", code, "--to", "Basket 1")
    refused = house.refused("move", "Basket 1", "--to", "Basket 2", "--on", "4 dec")
    assert "cannot have been moved on 4 Dec 2026" in refused.said
    assert "5 Dec 2026 (act " in refused.said
    assert place(house, code) == "Basket 1"


def test_not_before_the_day_it_was_packed_as_corrected(house: House) -> None:
    code = packed(house)
    house.ok("fix", code, "--packed", "28 nov")
    refused = house.refused("move", code, "--to", "Basket 1", "--on", "25 nov")
    assert "came into the freezer on 28 Nov 2026" in refused.said
    house.ok("move", code, "--to", "Basket 1", "--on", "29 nov")
    assert [place(house, code, "--as-of", day) for day in ("28 nov", "29 nov")] == [None, "Basket 1"]
    sound(house)


def test_after_the_day_it_was_packed_though_it_was_entered_later(house: House) -> None:
    code = packed(house)
    house.ok("fix", code, "--packed", "10 nov")
    house.ok("move", code, "--to", "Basket 1", "--on", "12 nov")
    days = ("11 nov", "12 nov", "21 nov", "5 dec")
    assert [place(house, code, "--as-of", day) for day in days] == [None, *["Basket 1"] * 3]
    assert place(house, code) == "Basket 1"
    sound(house)
    house.ok("undo")
    assert [place(house, code, "--as-of", day) for day in days] == [None] * 4
    assert place(house, code) is None
    sound(house)


@pytest.mark.parametrize("all_of_it", [False, True])
def test_what_was_taken_back_speaks_against_nothing(house: House, all_of_it: bool) -> None:
    code = packed(house)
    house.ok("freezer", "add", "Cabin")
    house.ok("move", code, "--to", "Basket 1")
    house.ok("undo")
    what = ("--freezer", "Garage chest", "--to", "Cabin") if all_of_it else (code, "--to", "Basket 2")
    house.ok("move", *what, "--on", "4 dec")
    (row,) = house.ok("find", "ground", "--json").json["rows"]
    assert (row["freezer"], row["place"]) == (("Cabin", None) if all_of_it else ("Garage chest", "Basket 2"))
    sound(house)


def test_used_in_part_yesterday_though_a_move_of_today_was_taken_back(house: House) -> None:
    code = packed(house, "--pieces", "4")
    house.ok("move", code, "--to", "Basket 1")
    house.ok("undo")
    house.ok("split", code, "--take", "1", "--on", "4 dec")
    left = [one["code"] for one in house.ok("find", "ground", "--json").json["rows"]]
    assert len(left) == 1
    assert code not in left
    sound(house)
