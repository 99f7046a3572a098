"""History tells holds and their release; and after a swap of labels, what was said of the pack, not of the label."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.process import House


@pytest.fixture
def house(tmp_path: Path) -> House:
    house = House(folder=tmp_path, now="2026-11-10T20:00")
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    for place in ("Red", "Blue"):
        house.ok("place", "add", place)
    return house


def packed(house: House, *words: str) -> str:
    (one,) = house.ok("pack", *words, "--json").json["packages"]
    code: str = one["code"]
    return code


def history(house: House, of: str) -> list[tuple[str, str]]:
    """Day and words of each step of a package."""
    return [(one["on"][-2:], one["words"]) for one in house.ok("history", of, "--json").json["history"]]


def acts(house: House, of: str) -> list[str]:
    """Words of the acts about an animal, a place or a freezer."""
    return [one["words"] for one in house.ok("history", of, "--json").json["acts"]]


def test_a_hold_and_its_release_are_told_and_so_is_taking_them_back(house: House) -> None:
    code = packed(house, "ground", "1", "--species", "deer")
    house.at("2026-11-12T20:00").ok("hold", code, "--why", "smells odd")
    later = house.at("2026-11-13T20:00")
    later.ok("release", code, "--why", "it was the bag")
    assert history(later, code)[1:] == [
        ("12", "put on hold: smells odd"),
        ("13", "released from hold: it was the bag"),
    ]
    later.ok("undo")
    assert "undo of act 6: released from hold: it was the bag" in history(later, code)[-1][1]
    later.ok("undo", "5")
    assert "undo of act 5: put on hold: smells odd" in dict(history(later, code))["12"]
    later.ok("hold", code, "--why", "torn", "--on", "11 nov")
    assert history(later, code)[-1] == ("13", "put on hold: torn, since 11 Nov")
    assert [one["words"] for one in later.ok("show", code, "--as-of", "2026-11-10", "--json").json["history"]] == [
        "packed, Garage chest"
    ]


def swapped(house: House) -> tuple[House, str, str]:
    """A ground pack of the 10th and a backstrap of 26B of the 12th, corrected on the 13th, swapped on the 14th."""
    house.ok("animal", "add", "26B", "whitetail", "doe")
    ground = packed(house, "ground", "1", "--species", "deer", "--place", "Red")
    strap = packed(house.at("2026-11-12T20:00"), "backstrap", "1", "--animal", "26B", "--place", "Blue")
    house = house.at("2026-11-13T20:00")
    house.ok("fix", ground, "--for", "Sunday roast")
    house.ok("fix", strap, "--note", "near the ribs")
    house = house.at("2026-11-14T20:00")
    house.ok("swap", ground, strap)
    return house, strap, ground


def test_what_was_said_before_a_swap_is_told_of_the_pack_it_was_said_of(house: House) -> None:
    house, ground, strap = swapped(house)
    before = [words for day, words in history(house, ground) if day == "13"]
    assert before == ["reserved for not said -> Sunday roast"]
    before = [words for day, words in history(house, strap) if day == "13"]
    assert before == ["note not said -> near the ribs"]
    assert f"labels swapped with {ground[:3]}-{ground[3:]}" in history(house, strap)[-1][1]
    house.ok("undo")
    assert ("13", "note not said -> near the ribs") in history(house, ground)
    assert ("13", "note not said -> near the ribs") not in history(house, strap)


def test_history_of_an_animal_after_a_swap_is_that_of_its_pack(house: House) -> None:
    house, ground, strap = swapped(house)
    house.ok("move", strap, "--to", "Blue")
    told = acts(house, "26B")
    assert [words.split()[0] for words in told] == ["added", "packed", "corrected", "swapped", "moved"]
    assert "Backstrap" in told[1]
    assert told[2].endswith("note")
    assert not [words for words in told if "Ground" in words and words.startswith("packed")]
    assert ground


def test_of_two_packed_on_one_day_too(house: House) -> None:
    for animal in ("26B", "26C"):
        house.ok("animal", "add", animal, "whitetail", "doe")
    one = packed(house, "ground", "1", "--animal", "26B")
    other = packed(house, "backstrap", "1", "--animal", "26C")
    house.ok("swap", one, other)
    assert [words for words in acts(house, "26C") if words.startswith("packed")] == [
        "packed 1 package of Backstrap from whitetail doe 26C"
    ]


def test_a_chain_of_swaps_is_followed_to_the_first_label(house: House) -> None:
    house, ground, strap = swapped(house)
    third = packed(house, "shank", "2", "--species", "deer")
    house.ok("swap", ground, third)
    steps = history(house, third)
    assert ("13", "reserved for not said -> Sunday roast") in steps
    assert any(words.startswith("labels swapped: ") for _, words in steps), "by which it got the label between"
    assert strap


def test_a_late_take_after_a_swap_names_the_swap(house: House) -> None:
    house, ground, _ = swapped(house)
    refused = house.refused("take", ground, "--on", "11 nov")
    assert "swapped " in refused.said
    assert "packed" not in refused.said
    assert "was still there" in refused.said
