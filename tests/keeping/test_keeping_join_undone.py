"""Joins after something was taken back or given up in one of the books."""

from __future__ import annotations

from tests.keeping.houses import chops
from tests.keeping.pairs import Pair, row


def test_an_undo_names_the_act_by_its_number_in_this_book(pair: Pair) -> None:
    here, other, there = chops(pair.house)[:3]
    pair.house.ok("take", here)
    pair.house.ok("take", other)
    pair.cabin.at("2026-12-05T22:00").ok("take", there)
    pair.cabin.at("2026-12-05T22:01").ok("undo")
    pair.join()
    acts = {one["act"]: one for one in pair.house.ok("undo", "--list", "--json").json["acts"]}
    (undone,) = (one for one in acts.values() if one["undone_by"])
    assert acts[undone["undone_by"]]["words"].startswith(f"took back act {undone['act']}: ")


def test_a_place_given_up_in_one_book_and_packed_into_in_the_other(pair: Pair) -> None:
    """No reason to keep the books apart: said where the package lies, and what helps."""
    place = "red bag"
    held = [one["code"] for one in pair.cabin.ok("find", "backstrap", "--json").json["rows"]]
    pair.cabin.ok("move", *held, "--freezer", "Garage chest")
    pair.cabin.ok("place", "retire", place)
    packed = pair.house.ok("pack", "hock", "2", "--animal", "26H", "--place", place, "--json").json["packages"][0]
    joined = pair.house.ok("import", "--merge", "cabin.book").told
    shown = f"{packed['code'][:3]}-{packed['code'][3:]}"
    assert f"{shown} lies in the place {place}, retired by act" in joined
    assert row(pair.house, packed["code"])["place"] == place
    assert pair.house.call("check").status == 1
    assert "To have it again: freezerbox undo" in joined
    pair.house.ok("move", packed["code"], "--freezer", "Garage chest")
    pair.house.ok("check")
