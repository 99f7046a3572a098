"""Labels that were swapped: each record's past is that of the pack which bears it now."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.process import House

Lay = dict[str, tuple[str, str]]
"""What lay there, by code: the cut and the place."""


@pytest.fixture
def house(tmp_path: Path) -> House:
    house = House(folder=tmp_path, now="2026-11-09T20:00")
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    for place in ("Basket 1", "Basket 2"):
        house.ok("place", "add", place)
    return house


def packed(house: House, cut: str, *more: str) -> str:
    (one,) = house.ok("pack", cut, "1", "--species", "deer", *more, "--json").json["packages"]
    code: str = one["code"]
    return code


def lay(house: House, day: str) -> Lay:
    """What lay there at the end of a day by the lists, which all say so alike; nothing before it was packed."""
    rows = house.ok("find", "deer", "--as-of", day, "--json").json["rows"]
    found = {row["code"]: (row["cut"], row["place"] or "") for row in rows}
    ordered = house.ok("rotation", "--as-of", day, "--json").json
    assert sorted(codes_of(ordered)) == sorted(found)
    for row in rows:
        assert row["packed_on"] <= day
        shown = house.ok("show", row["code"], "--as-of", day, "--json").json
        assert (shown["cut"], shown["place"] or "") == found[row["code"]]
    lines = house.ok("balance", "--as-of", day, "--json").json["lines"]
    assert sum(line["totals"]["packages"] for line in lines) == len(found)
    return found


def codes_of(told: object) -> list[str]:
    """Every code of a package in a report, each once."""
    if isinstance(told, dict):
        own = [told["code"]] if "code" in told and told.get("state") == "frozen" else []
        return list(dict.fromkeys([*own, *(code for value in told.values() for code in codes_of(value))]))
    return list(dict.fromkeys(code for value in told for code in codes_of(value))) if isinstance(told, list) else []


def history(house: House, code: str) -> list[tuple[str, str]]:
    """Day and kind of each step, without what was swapped or taken back."""
    steps = house.ok("history", code, "--json").json["history"]
    return [(one["on"], one["kind"]) for one in steps if one["kind"] not in ("swap", "undo")]


def sound(house: House) -> None:
    assert house.ok("check", "--json").json["faults"] == []


@pytest.fixture
def two(house: House) -> tuple[House, str, str]:
    """One packed on the 10th and carried to a basket on the 12th, one packed on the 21st; then on the 25th a swap."""
    elder = packed(house.at("2026-11-10T20:00"), "ground")
    house.at("2026-11-12T20:00").ok("move", elder, "--to", "Basket 1")
    later = packed(house.at("2026-11-21T20:00"), "stew")
    house = house.at("2026-11-25T20:00")
    house.ok("swap", elder, later)
    return house, elder, later


def test_the_past_goes_with_the_pack(two: tuple[House, str, str]) -> None:
    house, elder, later = two
    assert [lay(house, f"2026-11-{day:02}") for day in (9, 10, 12, 20)] == [
        {},
        {later: ("ground", "")},
        {later: ("ground", "Basket 1")},
        {later: ("ground", "Basket 1")},
    ]
    for day in ("2026-11-21", "2026-11-25"):
        assert lay(house, day) == {later: ("ground", ""), elder: ("stew", "Basket 1")}
    assert "was not packed yet on 20 Nov 2026" in house.refused("show", elder, "--as-of", "20 nov").said
    assert history(house, elder) == [("2026-11-21", "pack")]
    assert history(house, later)[:2] == [("2026-11-10", "pack"), ("2026-11-12", "move")]
    sound(house)


def test_an_undo_gives_each_its_past_and_swapped_again_it_goes_with_the_pack(two: tuple[House, str, str]) -> None:
    house, elder, later = two
    swapped = [lay(house, f"2026-11-{day:02}") for day in (10, 12, 21)]
    house.ok("undo")
    own = [{elder: ("ground", "")}, {elder: ("ground", "Basket 1")}]
    assert [lay(house, f"2026-11-{day:02}") for day in (10, 12)] == own
    assert history(house, elder) == [("2026-11-10", "pack"), ("2026-11-12", "move")]
    house.ok("swap", elder, later)
    assert [lay(house, f"2026-11-{day:02}") for day in (10, 12, 21)] == swapped
    house.ok("swap", later, elder)
    assert [lay(house, f"2026-11-{day:02}") for day in (10, 12)] == own
    assert history(house, elder)[:2] == [("2026-11-10", "pack"), ("2026-11-12", "move")]
    sound(house)


def test_one_that_left_before_is_told_late_of_the_pack_that_bears_the_label(two: tuple[House, str, str]) -> None:
    house, elder, later = two
    assert "came into the freezer on 21 Nov 2026" in house.refused("take", elder, "--on", "15 nov").said
    house.ok("take", elder, "--on", "23 nov")
    assert [sorted(lay(house, day)) for day in ("2026-11-22", "2026-11-23")] == [sorted([elder, later]), [later]]
    house.ok("undo")
    assert sorted(lay(house, "2026-11-23")) == sorted([elder, later])
    sound(house)


def act_of(house: House, kind: str) -> int:
    acts = house.ok("undo", "--list", "--json").json["acts"]
    return int(next(one["act"] for one in acts if one["kind"] == kind))


def test_a_pack_date_corrected_after_a_swap_is_that_of_the_pack(two: tuple[House, str, str]) -> None:
    house, elder, later = two
    house.ok("fix", elder, "--packed", "18 nov")
    house.ok("fix", later, "--packed", "9 nov")
    assert lay(house, "2026-11-09") == {later: ("ground", "")}
    assert lay(house, "2026-11-17") == {later: ("ground", "Basket 1")}
    # The stew came on the 18th, as is known now, and with it the label that was stuck on the ground.
    assert lay(house, "2026-11-18") == {later: ("ground", ""), elder: ("stew", "Basket 1")}
    assert "cannot be packed on 13 Nov 2026" in house.refused("fix", later, "--packed", "13 nov").said
    sound(house)
    house.ok("undo")
    house.ok("undo")
    house.ok("undo", str(act_of(house, "swap")))
    assert lay(house, "2026-11-10") == {elder: ("ground", "")}


def test_three_labels_swapped_one_with_the_next(house: House) -> None:
    """On every day as many lie there as were packed by then, each with what it is, never before its day."""
    codes = []
    for day, cut in ((10, "ground"), (14, "stew"), (18, "shank")):
        codes.append(packed(house.at(f"2026-11-{day}T20:00"), cut))
        house.at(f"2026-11-{day + 1}T20:00").ok("move", codes[-1], "--to", "Basket 1")
    house = house.at("2026-11-20T20:00")
    house.ok("swap", codes[0], codes[1])
    house.ok("move", codes[1], "--to", "Basket 2")
    house.ok("swap", codes[1], codes[2])
    house.ok("swap", codes[2], codes[0])
    cuts = {10: "ground", 14: "stew", 18: "shank"}
    for number in range(9, 21):
        found = lay(house, f"2026-11-{number:02}")
        assert sorted(cut for cut, _ in found.values()) == sorted(cut for day, cut in cuts.items() if day <= number)
    sound(house)
    for _ in range(4):
        house.ok("undo")
    assert lay(house, "2026-11-19") == dict(zip(codes, ((cut, "Basket 1") for cut in cuts.values()), strict=True))


def test_one_whose_label_was_printed_ahead_was_swapped(house: House) -> None:
    ahead = house.ok("label", "ahead", "1", "stew", "--species", "deer", "--to", "a.pdf", "--json").json
    label: str = ahead["labels"][0]["code"]
    elder = packed(house.at("2026-11-10T20:00"), "ground")
    house.at("2026-11-15T20:00").ok("weigh", label, "1.5")
    house = house.at("2026-11-16T20:00")
    house.ok("swap", elder, label)
    for number in range(9, 17):
        wanted = [cut for cut, day in (("ground", 10), ("stew", 15)) if day <= number]
        assert sorted(cut for cut, _ in lay(house, f"2026-11-{number:02}").values()) == wanted
    sound(house)


def test_a_swap_is_not_had_again_once_a_packing_was_taken_back(two: tuple[House, str, str]) -> None:
    house, elder, later = two
    house.ok("undo")
    house.ok("undo", str(act_of(house, "pack")))
    refused = house.refused("undo", str(act_of(house, "undo") - 1)).said
    assert "cannot be taken back" in refused
    assert lay(house, "2026-11-25") == {elder: ("ground", "Basket 1")}
    assert later not in lay(house, "2026-11-20")


def test_the_last_of_a_lot_is_never_there_before_it_was_packed(house: House) -> None:
    lot = house.at("2026-11-10T20:00").ok(
        "pack", "ground", "--lot", "3", "--each", "1", "--species", "deer", "--json"
    )
    elder = lot.json["packages"][0]["code"]
    house.at("2026-11-12T20:00").ok("take", elder, "2")
    later = packed(house.at("2026-11-21T20:00"), "stew")
    house = house.at("2026-11-25T20:00")
    house.ok("swap", elder, later)
    assert lay(house, "2026-11-12") == {later: ("ground", "")}
    assert lay(house, "2026-11-25") == {later: ("ground", ""), elder: ("stew", "")}
    sound(house)
    house.ok("undo")
    assert lay(house, "2026-11-12") == {elder: ("ground", "")}
