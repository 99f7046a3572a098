"""A pack date corrected afterwards: the past is told by the day that is known now, and undo gives back the other."""

from __future__ import annotations

from pathlib import Path

import pytest

from freezerbox.core.code import show_code
from tests.cli.process import House


@pytest.fixture
def house(tmp_path: Path) -> House:
    house = House(folder=tmp_path, now="2026-12-21T20:00")
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    return house


def packed(house: House, *more: str) -> str:
    code: str = house.ok("pack", "ground", "1", "--species", "deer", *more, "--json").json["packages"][0]["code"]
    return code


def there(house: House, day: str) -> list[str]:
    return [one["code"] for one in house.ok("find", "ground", "--as-of", day, "--json").json["rows"]]


def sound(house: House) -> None:
    assert house.ok("check", "--json").json["faults"] == []


def test_an_earlier_day_reaches_the_past(house: House) -> None:
    code = packed(house)
    house.ok("fix", code, "--packed", "1 dec")
    assert [there(house, day) for day in ("30 nov", "1 dec", "10 dec", "21 dec")] == [[], [code], [code], [code]]
    steps = house.ok("history", code, "--json").json["history"]
    assert [(one["on"], one["kind"]) for one in steps] == [("2026-12-01", "pack"), ("2026-12-21", "fix")]
    house.ok("take", code, "--on", "5 dec")
    assert [there(house, day) for day in ("4 dec", "5 dec", "21 dec")] == [[code], [], []]
    assert "5 Dec" in house.ok("find", "ground", "--gone").told
    sound(house)
    # The day cannot be taken from under what was recorded late; one after the other goes.
    refused = house.refused("undo", "3")
    assert "cannot be taken back; these came after it and stand on it" in refused.said
    house.ok("undo")
    assert there(house, "10 dec") == [code]
    house.ok("undo")
    assert [there(house, day) for day in ("10 dec", "21 dec")] == [[], [code]]
    assert "came into the freezer on 21 Dec 2026" in house.refused("take", code, "--on", "5 dec").said
    sound(house)


def test_a_later_day_reaches_the_past(house: House) -> None:
    code = packed(house, "--packed", "1 dec")
    assert there(house, "2 dec") == [code]
    house.ok("fix", code, "--packed", "10 dec")
    assert [there(house, day) for day in ("2 dec", "9 dec", "10 dec")] == [[], [], [code]]
    assert house.refused("take", code, "--on", "5 dec").status == 1
    house.ok("take", code, "--on", "12 dec")
    assert "it was there on 12 Dec 2026" in house.refused("fix", code, "--packed", "15 dec").said
    sound(house)
    house.ok("undo")
    house.ok("undo")
    assert there(house, "2 dec") == [code]
    assert "came into the freezer on 1 Dec 2026" in house.refused("take", code, "--on", "30 nov").said
    sound(house)


def test_put_back_on_an_earlier_day(house: House) -> None:
    code = packed(house, "--packed", "1 dec")
    house.ok("take", code, "--on", "5 dec")
    assert "left on 5 Dec 2026, after 4 Dec 2026" in house.refused("put-back", code, "--on", "4 dec").said
    house.ok("put-back", code, "--on", "6 dec")
    assert [there(house, day) for day in ("4 dec", "5 dec", "6 dec", "21 dec")] == [[code], [], [code], [code]]
    sound(house)
    # Where the journal has a later day, it is told there too.
    house.ok("take", code, "--on", "20 dec")
    house.ok("undo")
    house.ok("take", code, "--on", "10 dec")
    house.ok("put-back", code, "--on", "11 dec")
    assert [there(house, day) for day in ("10 dec", "11 dec", "21 dec")] == [[], [code], [code]]
    sound(house)


def test_meat_that_was_tested_before_it_was_entered_was_never_on_hold(house: House) -> None:
    house.ok("animal", "add", "26B", "whitetail doe", "--processed", "16 dec", "--test", "not-detected")
    (one,) = house.ok("pack", "stew", "1", "--animal", "26B", "--packed", "16 dec", "--json").json["packages"]
    (then,) = house.ok("find", "stew", "--as-of", "18 dec", "--json").json["rows"]
    assert (then["code"], then["holds"]) == (one["code"], [])


def test_a_lot_of_which_some_were_taken_late(house: House) -> None:
    lot = house.ok("pack", "ground", "--lot", "5", "--each", "1", "--species", "deer", "--json").json
    code = lot["packages"][0]["code"]
    house.ok("fix", code, "--packed", "1 dec")
    house.ok("take", code, "--on", "5 dec")
    house.ok("take", code, "--on", "5 dec")
    counts = [
        house.ok("find", "ground", "--as-of", day, "--json").json["rows"][0]["quantity"] for day in ("2 dec", "6 dec")
    ]
    assert counts == [5, 3]
    sound(house)


@pytest.mark.parametrize("again", [False, True])
def test_a_step_that_was_taken_back_is_no_proof_that_it_was_there(house: House, again: bool) -> None:
    code = packed(house, "--packed", "1 dec")
    house.ok("take", code, "--on", "5 dec")
    if again:
        house.ok("undo")
        house.ok("undo", "4")
    house.ok("undo")
    house.ok("fix", code, "--packed", "10 dec")
    assert [there(house, day) for day in ("5 dec", "6 dec", "9 dec", "10 dec", "21 dec")] == [
        [],
        [],
        [],
        [code],
        [code],
    ]
    assert "was not packed yet on 6 Dec 2026" in house.refused("show", code, "--as-of", "6 dec").said
    assert "came into the freezer on 10 Dec 2026" in house.refused("take", code, "--on", "6 dec").said
    assert [one["on"] for one in house.ok("history", code, "--json").json["history"] if one["kind"] == "pack"] == [
        "2026-12-10"
    ]
    sound(house)


@pytest.fixture
def parted(house: House) -> tuple[House, str, str]:
    """A lot packed on 5 Dec, and the two that were split off it on 7 Dec."""
    lot = house.ok("pack", "ground", "--lot", "5", "--each", "1", "--species", "deer", "--packed", "5 dec", "--json")
    code = lot.json["packages"][0]["code"]
    at = house.at("2026-12-07T20:00")
    (part,) = at.ok("split", code, "--off", "2", "--json").json["done"]
    at.ok("split", code, "--off", "1")
    at.ok("undo")
    return house, code, part["code"]


def days(house: House) -> dict[str, tuple[str, str]]:
    rows = house.ok("find", "ground", "--json").json["rows"]
    return {row["code"]: (row["packed_on"], row["first_frozen_on"]) for row in rows}


def number(house: House, day: str) -> int:
    return sum(one["quantity"] for one in house.ok("find", "ground", "--as-of", day, "--json").json["rows"])


def test_with_the_day_of_a_lot_goes_that_of_its_parts(parted: tuple[House, str, str]) -> None:
    house, code, part = parted
    smaller = house.ok("split", part, "--off", "1", "--json").json["done"][0]["code"]
    told = house.ok("fix", code, "--packed", "1 dec").told
    assert (
        f"corrected: pack date, first frozen; with it the pack date of 2 parts split off it ({show_code(part)}, "
        in told
    )
    assert days(house) == dict.fromkeys((code, part, smaller), ("2026-12-01", "2026-12-01"))
    assert [number(house, day) for day in ("30 nov", "1 dec", "6 dec", "7 dec", "21 dec")] == [0, 5, 5, 5, 5]
    sound(house)
    house.ok("undo")
    assert days(house) == dict.fromkeys((code, part, smaller), ("2026-12-05", "2026-12-05"))
    refused = house.refused("fix", code, "--packed", "10 dec").said
    assert "it was there on 7 Dec 2026" in refused
    assert days(house) == dict.fromkeys((code, part, smaller), ("2026-12-05", "2026-12-05"))


def test_with_the_first_freezing_of_a_lot_goes_that_of_its_parts(parted: tuple[House, str, str]) -> None:
    house, code, part = parted
    smaller = house.ok("split", part, "--off", "1", "--json").json["done"][0]["code"]
    told = house.ok("fix", code, "--first-frozen", "1 nov").told
    assert (
        "corrected: first frozen; with it the day of first freezing of 2 parts split off it "
        f"({show_code(part)}, {show_code(smaller)})." in " ".join(told.split())
    )
    assert days(house) == dict.fromkeys((code, part, smaller), ("2026-12-05", "2026-11-01"))
    best = {row["best_by"] for row in house.ok("find", "ground", "--json").json["rows"]}
    assert len(best) == 1
    sound(house)
    house.ok("undo")
    assert days(house) == dict.fromkeys((code, part, smaller), ("2026-12-05", "2026-12-05"))


def test_a_part_first_frozen_on_another_day_or_packed_before_keeps_its_own(parted: tuple[House, str, str]) -> None:
    house, code, part = parted
    smaller = house.ok("split", part, "--off", "1", "--json").json["done"][0]["code"]
    house.ok("fix", smaller, "--first-frozen", "3 nov")
    told = " ".join(house.ok("fix", code, "--first-frozen", "1 nov").told.split())
    assert f"Split off it, {show_code(smaller)} (3 Nov 2026) keeps the day of first freezing that was" in told
    house.ok("fix", part, "--packed", "2 dec")
    house.ok("fix", smaller, "--first-frozen", "1 nov")
    told = " ".join(house.ok("fix", code, "--first-frozen", "4 dec").told.split())
    assert f"Split off it, {show_code(part)} (1 Nov 2026), {show_code(smaller)} (1 Nov 2026) keep" in told
    assert days(house) == {
        code: ("2026-12-05", "2026-12-04"),
        **dict.fromkeys((part, smaller), ("2026-12-02", "2026-11-01")),
    }
    sound(house)


def test_a_part_that_was_corrected_on_its_own_stays_and_is_named(parted: tuple[House, str, str]) -> None:
    house, code, part = parted
    house.ok("fix", part, "--packed", "2026-12-03")
    told = house.ok("fix", code, "--packed", "2 dec").told
    assert f"Split off it, {show_code(part)} (3 Dec 2026) keeps the pack date that was said of it." in told
    assert days(house) == {code: ("2026-12-02",) * 2, part: ("2026-12-03",) * 2}
    assert "it was there on 7 Dec 2026" in house.refused("fix", part, "--packed", "9 dec").said
    sound(house)


def test_a_part_split_off_on_the_day_of_packing_is_never_there_twice(house: House) -> None:
    lot = house.ok("pack", "ground", "--lot", "5", "--each", "1", "--species", "deer", "--json").json
    code = lot["packages"][0]["code"]
    house.ok("split", code, "--off", "2")
    house.ok("fix", code, "--packed", "10 dec")
    assert [number(house, day) for day in ("9 dec", "10 dec", "20 dec", "21 dec")] == [0, 5, 5, 5]
    sound(house)


def test_a_corrected_day_is_not_taken_from_a_part_that_was_split_off_with_it(house: House) -> None:
    lot = house.ok("pack", "ground", "--lot", "5", "--each", "1", "--species", "deer", "--packed", "5 dec", "--json")
    code = lot.json["packages"][0]["code"]
    house.ok("fix", code, "--packed", "1 dec")
    house.ok("split", code, "--off", "2")
    assert "these came after it and stand on it" in house.refused("undo", "3").said
    house.ok("undo")
    house.ok("undo")
    assert days(house) == {code: ("2026-12-05", "2026-12-05")}
