"""Carrying packages: some, a basket, a freezer; and taking that back."""

from __future__ import annotations

from tests.cli.process import House
from tests.places.look import codes_in

RED, GREEN = "red bag", "green basket"


def sign(house: House, name: str) -> str:
    places = house.ok("place", "--json").json["places"]
    return str(next(place["code"] for place in places if place["name"] == name))


def state(house: House, code: str) -> tuple[str, str | None, str | None]:
    row = house.ok("show", code, "--json").json
    return row["state"], row["freezer"], row["place"]


def test_packages_go_where_they_are_carried(house: House) -> None:
    first, second, *rest = codes_in(house, "red bag")
    moved = house.ok("move", first, second.lower(), "--to", "GREEN basket", "--json").json
    assert [row["place"] for row in moved["done"]] == ["green basket"] * 2
    assert codes_in(house, "red bag") == rest
    assert set(codes_in(house, "green basket")) >= {first, second}
    house.ok("undo")
    assert codes_in(house, "red bag") == [first, second, *rest]


def test_a_whole_place_is_emptied_into_another_as_one_act(house: House) -> None:
    before = codes_in(house, "red bag")
    house.ok("move", "red bag", "--to", "top layer")
    assert codes_in(house, "red bag") == []
    assert codes_in(house, "top layer") == before
    house.ok("undo")
    assert codes_in(house, "red bag") == before


def test_a_sign_names_its_place(house: House) -> None:
    code = codes_in(house, "red bag")[0]
    house.ok("move", code, "--to", sign(house, "green basket"))
    assert state(house, code) == ("frozen", "Garage chest", "green basket")
    house.ok("move", sign(house, "green basket"), "--to", sign(house, "top layer"))
    assert state(house, code) == ("frozen", "Garage chest", "top layer")


def test_a_basket_carried_to_another_freezer_goes_there_itself(house: House) -> None:
    inside = codes_in(house, "red bag")
    house.ok("move", "red bag", "--to", "Kitchen")
    assert {state(house, code) for code in inside} == {("frozen", "Kitchen", "red bag")}
    places = {place["name"]: place["freezer"] for place in house.ok("place", "--json").json["places"]}
    assert places["red bag"] == "Kitchen"
    house.ok("undo")
    assert {state(house, code) for code in inside} == {("frozen", "Garage chest", "red bag")}
    places = {place["name"]: place["freezer"] for place in house.ok("place", "--json").json["places"]}
    assert places["red bag"] == "Garage chest"
    assert house.ok("check", "--json").json["faults"] == []


def test_a_dead_freezer_is_emptied_into_another_with_its_baskets(house: House) -> None:
    house.ok("pack", "stew", "2", "--species", "deer", "--freezer", "Garage chest")
    house.ok("pack", "stew", "1", "--species", "deer", "--place", "top layer")
    moved = house.ok("move", "--freezer", "garage chest", "--to", "Kitchen", "--json").json
    assert len(moved["done"]) == 10
    freezers = {one["name"]: one["totals"]["packages"] for one in house.ok("freezer", "--json").json["freezers"]}
    assert freezers == {"Garage chest": 0, "Kitchen": 10}
    assert len(codes_in(house, "red bag")) == 4
    # A layer is part of its freezer: it stays, and what lay there has no place yet.
    places = {place["name"]: place["freezer"] for place in house.ok("place", "--json").json["places"]}
    assert places == {"red bag": "Kitchen", "green basket": "Kitchen", "top layer": "Garage chest"}
    house.ok("freezer", "retire", "Garage chest")
    assert [one["name"] for one in house.ok("freezer", "--json").json["freezers"]] == ["Kitchen"]


def test_those_that_can_are_moved_and_the_others_are_said(house: House) -> None:
    first, second, *_ = codes_in(house, "red bag")
    house.ok("take", second)
    result = house.call("move", first, second, "--to", "green basket", "--json")
    assert result.status == 1
    assert [row["code"] for row in result.json["done"]] == [first]
    assert [one["code"] for one in result.json["refused"]] == [second]
    assert state(house, second)[0] == "gone"


def test_what_cannot_be_moved_is_refused_and_nothing_changes(house: House) -> None:
    code = codes_in(house, "red bag")[0]
    assert "already" in house.refused("move", code, "--to", "red bag").err
    assert "blue bag" in house.refused("move", code, "--to", "blue bag").err
    assert house.refused("move", code).status == 2
    assert house.refused("move", "--to", "red bag").status == 2
    assert house.refused("move", "nowhere", "--to", "red bag").status == 2
    assert house.refused("move", "red bag", "--to", "red bag").status == 1
    assert house.refused("move", code, "--to", "top layer", "--on", "2026-12-24").status == 2
    house.ok("take", code)
    assert "put-back" in house.refused("move", code, "--to", "top layer").err


def test_a_thrown_out_pack_says_so(house: House) -> None:
    code = codes_in(house, "red bag")[0]
    done = house.ok("discard", code, "--json").json["done"]
    assert (done[0]["state"], done[0]["reason"]) == ("gone", "discarded")
    assert "discarded" in house.refused("take", code).err
    house.ok("undo")
    assert state(house, code) == ("frozen", "Garage chest", "red bag")


def test_names_can_change_and_codes_stay(house: House) -> None:
    before, code = codes_in(house, "red bag"), sign(house, "red bag")
    house.ok("place", "rename", "red bag", "blue bag")
    assert codes_in(house, "blue bag") == before
    assert sign(house, "blue bag") == code
    assert house.refused("place", "rename", "blue bag", "Green Basket").status == 1
    house.ok("freezer", "rename", "Garage chest", "Shed")
    assert state(house, before[0]) == ("frozen", "Shed", "blue bag")
    assert house.refused("freezer", "rename", "Shed", "kitchen").status == 1


def test_a_place_is_retired_only_when_empty_and_never_forgotten(house: House) -> None:
    code = codes_in(house, "red bag")[0]
    assert "4 packs" in house.refused("place", "retire", "red bag").err
    house.ok("move", "red bag", "--to", "green basket")
    house.ok("place", "retire", "red bag")
    assert house.refused("move", code, "--to", "red bag").status == 1
    assert "red bag" in house.ok("history", code).out
    assert "red bag" not in house.ok("place").out
    house.ok("place", "add", "Red Bag", "--freezer", "Garage chest")
    assert sum("red bag" in line for line in house.ok("place").out.splitlines()) == 1


def test_places_go_one_deep(house: House) -> None:
    house.ok("place", "add", "left half", "--in", "green basket")
    code = codes_in(house, "red bag")[0]
    house.ok("move", code, "--to", "left half")
    assert code in codes_in(house, "green basket")
    assert codes_in(house, "left half") == [code]
    assert house.refused("place", "add", "corner", "--in", "left half").status == 2
    assert house.refused("place", "add", "left half", "--freezer", "Garage chest").status == 1


def test_a_name_is_said_by_a_part_that_fits_nothing_else(house: House) -> None:
    """``garage`` is the Garage chest and ``red`` the red bag; what fits two is asked, and a whole name is itself."""
    code = codes_in(house, GREEN)[0]
    house.ok("move", code, "--to", "red")
    assert code in codes_in(house, RED)
    house.ok("move", code, "--freezer", "kit")
    assert house.ok("show", code, "--json").json["freezer"] == "Kitchen"
    house.ok("move", code, "--to", "garage")
    row = house.ok("show", code, "--json").json
    assert (row["freezer"], row["place"]) == ("Garage chest", None)
    house.ok("place", "add", "blue bag", "--freezer", "garage")
    refusal = house.refused("move", code, "--to", "bag")
    assert refusal.status == 2
    assert "'bag' fits red bag and blue bag" in refusal.said
    house.ok("place", "add", "bag", "--freezer", "Kitchen")
    house.ok("move", code, "--to", "bag")
    assert house.ok("show", code, "--json").json["place"] == "bag"
    assert house.refused("move", code, "--to", "purple").status == 1
    # A new basket of a full freezer is never taken for one that is there.
    house.ok("adopt", "--existing", "--freezer", "Garage chest", stdin="red\nstew, 2\n\n")
    assert len(codes_in(house, "red")) == 2


def test_a_food_comes_before_a_part_of_a_places_name(house: House) -> None:
    house.ok("place", "add", "backstrap bag", "--freezer", "Garage chest")
    assert house.ok("count", "backstrap", "--json").json["totals"]["packages"] == 4
    assert house.ok("count", "backstrap bag", "--json").json["place"] == "backstrap bag"
    assert house.ok("count", "red", "--json").json["place"] == RED
    # Two bags: asked, and not counted as one.
    assert "fits red bag and backstrap bag" in house.refused("count", "bag").said
    # A freezer by its whole name is what lies loose in it.
    assert house.ok("count", "Garage chest", "--json").json["loose"] is True
    assert house.ok("count", "garage backstrap", "--json").json["totals"]["packages"] == 4
    assert house.refused("count", "purple").status == 1
