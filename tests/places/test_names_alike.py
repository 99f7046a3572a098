"""A name is one, however it is typed: its case, the spaces in it, and an accent as one letter or as two."""

from __future__ import annotations

import pytest

from tests.cli.process import House

ONE, TWO = "Jos\u00e9 Ram\u00edrez", "JOSE\u0301  RAMI\u0301REZ"
BAG, SAME_BAG = "\u00c9lan bag", "e\u0301lan  BAG"


def test_a_person_typed_otherwise_is_no_second_one(house: House) -> None:
    """Some keyboards send the accent as a letter of its own; two people would each have half of what was given."""
    one, two, *_ = (row["code"] for row in house.ok("find", "backstrap", "--json").json["rows"])
    house.ok("give", one, "--to", ONE, "--held-too")
    assert house.ok("give", two, "--to", TWO, "--held-too", "--json").json["to"] == ONE
    assert house.dump().count('INSERT INTO "person"') == 1


def test_a_place_typed_otherwise_is_found_and_made_once(house: House) -> None:
    house.ok("place", "add", BAG, "--freezer", "Garage chest")
    assert "There is a place" in house.refused("place", "add", SAME_BAG, "--freezer", "Garage chest").said
    assert "already" in house.refused("place", "rename", "red bag", SAME_BAG).said
    code = house.ok("find", "chops", "--json").json["rows"][0]["code"]
    house.ok("move", code, "--to", SAME_BAG)
    assert [row["code"] for row in house.ok("find", *SAME_BAG.split(), "--json").json["rows"]] == [code]
    # One that would be a twin in the other freezer is not carried there either.
    house.ok("place", "add", SAME_BAG, "--freezer", "Kitchen")
    assert "There is a" in house.refused("move", f"Garage chest {BAG}", "--freezer", "Kitchen").said


@pytest.mark.parametrize("name", ["Br\u00fchwurst  fein", "BRU\u0308HWURST fein"])
def test_a_recipe_typed_otherwise_is_the_same(house: House, name: str) -> None:
    house.ok("recipe", "set", "Br\u00fchwurst fein", "100 g salt", "--per", "10")
    assert house.refused("recipe", "set", name, "90 g salt", "--per", "10").status == 1
    house.ok("recipe", "set", name, "90 g salt", "--per", "10", "--yes")
    assert len(house.ok("recipe", "list", "--json").json["recipes"]) == 1


@pytest.mark.parametrize(("old", "typed"), [("T\u00fcr", "TU\u0308R"), (BAG, SAME_BAG)])
def test_a_place_given_up_comes_back_however_it_is_typed(house: House, old: str, typed: str) -> None:
    added = house.ok("place", "add", old, "--freezer", "Garage chest", "--json").json
    house.ok("place", "retire", old)
    assert "before" in house.refused("place", "rename", "red bag", typed).said
    again = house.ok("place", "add", typed, "--freezer", "Garage chest", "--json").json
    assert again["place"]["code"] == added["place"]["code"]


def test_a_freezer_given_up_comes_back_however_it_is_typed(house: House) -> None:
    house.ok("freezer", "add", "K\u00fchltruhe")
    house.ok("freezer", "retire", "K\u00fchltruhe")
    house.ok("freezer", "add", "KU\u0308HLTRUHE")
    assert house.dump().count('INSERT INTO "freezer"') == 3
