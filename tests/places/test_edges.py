"""Scenarios 5 and 6, the short edge checks of the needs notes, and scenarios of our own, at the command line."""

from __future__ import annotations

import sqlite3

import pytest

from tests.cli.process import House
from tests.places.look import codes_in

RED, GREEN = "red bag", "green basket"


def test_a_child_scans_a_held_pack_for_dinner(house: House) -> None:
    """Scenario 5: not taken; why and since when in plain words; the nearest like pack that is not on hold."""
    house.ok("animal", "add", "26C", "whitetail", "buck", "--killed", "1 nov", "--test", "pending", "--sent", "3 nov")
    held = house.ok("pack", "backstrap", "1", "--animal", "26C", "--place", GREEN, "--json").json["packages"][0][
        "code"
    ]
    said = house.ok("scan", stdin=f"{held}\n").out
    assert "DO NOT EAT" in said
    assert "TEST PENDING SINCE 3 NOV" in said
    assert "Not on hold: " in said
    assert "red bag" in said.split("Not on hold: ")[1]
    row = house.ok("show", held, "--json").json
    assert (row["state"], row["place"]) == ("frozen", GREEN)


@pytest.mark.parametrize("words", ["backstrap", "loins", "back straps", "BS"])
def test_backstrap_please_in_the_numbers_of_the_needs(bare: House, words: str) -> None:
    """Scenario 6: 3 packs, 3.6 lb, oldest Nov 2023, with freezer and bag; tenderloin is nearby, not mixed in."""
    bare.ok("start", "--units", "lb", "--freezer", "Chest freezer")
    bare.ok("place", "add", "middle layer")
    bare.ok("place", "add", RED, "--in", "middle layer")
    bare.ok("pack", "backstrap", "1.2", "--species", "whitetail", "--place", RED, "--first-frozen", "nov 2023")
    bare.ok("pack", "backstrap", "1.1", "1.3", "--species", "whitetail", "--place", RED)
    bare.ok("pack", "tenderloin", ".5", "--species", "whitetail", "--place", RED)
    result = bare.run("find", words)
    assert result.status == 0
    assert result.out.startswith("3 packs, 3.60 lb, oldest Nov 2023")
    assert "Chest freezer" in result.out
    assert RED in result.out
    first, second, third = bare.ok("find", words, "--json").json["rows"]
    assert [row["cut"] for row in (first, second, third)] == ["backstrap"] * 3
    assert first["first_frozen_on"] == "2023-11-01"
    assert [row["cut"] for row in bare.ok("find", words, "--json").json["nearby"]] == ["tenderloin"]
    assert bare.run("take", "fillet").status == 2


def test_a_lost_label_is_found_by_cut_date_and_place_and_printed_again(house: House) -> None:
    """(i) The same code, and no new package."""
    rows = house.ok("find", "pork", "chops", "oct", "2025", GREEN, "--json").json["rows"]
    (code,) = [row["code"] for row in rows]
    before = house.ok("balance", "--json").json["totals"]
    report = house.ok("label", "again", code, "--to", "l.pdf", "--json").json
    assert [label["code"] for label in report["labels"]] == [code]
    assert house.ok("balance", "--json").json["totals"] == before


@pytest.mark.parametrize("text", ["1 lb 4", "1.25 lb", "20 oz", "1lb4", "1:4", "1.25", "1,25 lb"])
def test_weights_as_people_say_them(house: House, text: str) -> None:
    """(ii) All are 1.25 lb."""
    row = house.ok("pack", "stew", text, "--species", "deer", "--json").json["packages"][0]
    assert row["net_g"] == pytest.approx(566.99, abs=0.001)
    assert house.ok("pack", "stew", "567 g", "--species", "deer", "--json").json["packages"][0]["net_g"] == 567


def test_wrapping_past_midnight_is_still_that_evening(house: House) -> None:
    """(iii) until four in the morning, unless another day is said."""
    late = house.at("2026-12-03T01:30")
    assert (
        late.ok("pack", "stew", "1", "--species", "deer", "--json").json["packages"][0]["packed_on"] == "2026-12-02"
    )
    row = late.ok("pack", "stew", "1", "--species", "deer", "--packed", "2026-12-01", "--json").json["packages"][0]
    assert row["packed_on"] == "2026-12-01"
    morning = house.at("2026-12-03T04:00")
    assert (
        morning.ok("pack", "stew", "1", "--species", "deer", "--json").json["packages"][0]["packed_on"]
        == "2026-12-03"
    )


def test_a_dog_food_pack_is_never_dinner(house: House) -> None:
    """(v)"""
    dog = house.ok("pack", "dog scraps", "3", "--species", "deer", "--place", RED, "--json").json["packages"][0][
        "code"
    ]
    for words in (("anything", "for", "stew"), ("anything", "for", "burgers"), ("anything", "for", "tonight")):
        assert dog not in [row["code"] for row in house.ok("find", *words, "--json").json["rows"]]
    rotation = house.ok("rotation", "--all", "--json").json
    assert dog not in [row["code"] for row in rotation["rows"] + rotation["no_figure"]]
    assert [row["code"] for row in house.ok("find", "anything", "for", "dog", "--json").json["rows"]] == [dog]
    page = house.ok("lid", "--freezer", "Garage chest", "--to", "lid.pdf", "--json").json
    assert page["codes"][-1] == dog


def test_the_same_code_within_seconds_counts_once(house: House) -> None:
    """(vi) for a single pack; a lot gives one each time, with a second between."""
    code = codes_in(house, RED)[0]
    said = house.ok("scan", stdin=f"{code}\n{code}\n").out
    assert "scanned twice, counted once" in said
    steps = house.ok("show", code, "--json").json["history"]
    assert [step["words"] for step in steps if "gone" in step["words"]] == ["gone: eaten"]


def test_a_typed_animal_that_is_not_there_makes_no_twin(house: House) -> None:
    """(ix)"""
    assert "26A" in house.refused("pack", "stew", "1", "--animal", "26Q").err
    assert house.refused("animal", "add", "26a", "elk").status == 1
    row = house.ok("pack", "stew", "1", "--animal", "26a", "--json").json["packages"][0]
    assert row["animals"] == ["26A"]
    assert [animal["code"] for animal in house.ok("animal", "--json").json["animals"]] == ["26A", "26H"]


def test_moving_day(house: House) -> None:
    """Ours: the chest is carried off with its baskets, one bag is left behind, and all is found afterwards."""
    house.ok("freezer", "add", "New shed")
    house.ok("move", "--freezer", "Garage chest", "--to", "New shed")
    house.ok("move", RED, "--to", "Kitchen")
    house.ok("freezer", "retire", "Garage chest")
    found = {(row["freezer"], row["place"]) for row in house.ok("find", "everything", "--json").json["rows"]}
    assert found == {("Kitchen", RED), ("New shed", GREEN)}
    sign = next(one["code"] for one in house.ok("place", "--json").json["places"] if one["name"] == RED)
    said = house.ok("scan", stdin=f"{sign}\n").out
    assert "red bag, Kitchen: 4 packages" in said


def test_the_basket_nobody_trusts(house: House) -> None:
    """Ours: taking out was skipped all winter; one basket is made true, the eaten ones are given up with a day."""
    red = codes_in(house, RED)
    spring = house.at("2027-03-20T10:00")
    assert spring.ok("trust", "--json").json["places"][0]["last_checked"] is None
    spring.ok("count", RED, stdin=f"{red[0]}\ndone\n")
    spring.ok("count", RED, "--accept", "all")
    missing = [row["code"] for row in spring.ok("lost", "--json").json["rows"]]
    assert missing == sorted(red[1:])
    spring.ok("take", missing[0], "--on", "2027-02-10")
    spring.ok("lost", *missing[1:])
    assert codes_in(spring, RED) == [red[0]]
    reasons = {code: spring.ok("show", code, "--json").json["reason"] for code in missing}
    assert list(reasons.values()) == ["eaten", "lost", "lost"]
    assert spring.ok("lost", "--json").json["rows"] == []
    assert spring.ok("check", "--json").json["faults"] == []


def test_a_week_at_the_lid(house: House) -> None:
    """Ours: no machine near the freezer; paper all week, one minute on Sunday, one wrong tick taken back."""
    codes = house.ok("lid", "--freezer", "Garage chest", "--to", "lid.pdf", "--json").json["codes"]
    sunday = house.at("2026-12-06T20:00")
    result = sunday.ok("take", "--ticks", "--on", "sat", stdin="1 2\n5\n")
    assert result.out.count("taken:") == 3
    acts = len(sunday.ok("undo", "--list").out.splitlines())
    # The wrong tick alone comes back by its code; the week's ticks are one act, and one undo takes them back.
    sunday.ok("put-back", codes[4])
    gone = [sunday.ok("show", code, "--json").json["state"] == "gone" for code in codes]
    assert [number for number, out in enumerate(gone, start=1) if out] == [1, 2]
    assert sunday.refused("take", "--ticks", "1").status == 1
    assert len(sunday.ok("undo", "--list").out.splitlines()) == acts + 1
    sunday.ok("undo")
    sunday.ok("undo")
    assert all(sunday.ok("show", code, "--json").json["state"] == "frozen" for code in codes)


def test_ticks_of_a_lot_and_what_cannot_be_taken(house: House) -> None:
    """Ours: three ticks at a lot, one at a pack that went another way; the refused one stops no other."""
    lot = house.ok("pack", "ground beef", "2", "--lot", "4", "--place", RED, "--json").json["packages"][0]["code"]
    codes = house.ok("lid", "--freezer", "Garage chest", "--to", "lid.pdf", "--json").json["codes"]
    number, other = codes.index(lot) + 1, next(code for code in codes if code != lot)
    house.ok("take", other, "--as", "discarded")
    result = house.call("take", "--ticks", f"{number}x3", f"{codes.index(other) + 1}", "--json")
    assert result.status == 1
    assert [row["code"] for row in result.json["done"]] == [lot] * 3
    assert [one["code"] for one in result.json["refused"]] == [other]
    assert "3 eaten" in house.ok("history", lot).told
    assert house.ok("show", lot, "--json").json["quantity"] == 1
    assert house.refused("take", "--ticks", f"{number}x2").status == 1
    house.ok("undo")
    assert house.ok("show", lot, "--json").json["quantity"] == 4
    assert house.ok("show", other, "--json").json["reason"] == "discarded"
    assert house.ok("check", "--json").json["faults"] == []


def test_a_damaged_book_is_no_tick_that_cannot_be_taken(house: House) -> None:
    codes = house.ok("lid", "--freezer", "Garage chest", "--to", "lid.pdf", "--json").json["codes"]
    with sqlite3.connect(house.book) as connection:
        # What no program of ours can do: the guards of the file are taken off first.
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("UPDATE package SET first_frozen_on = 'soon' WHERE code = ?", (codes[1],))
    connection.close()
    refused = house.refused("take", "--ticks", "1-3")
    assert refused.status == 3
    assert "'soon'" in refused.said


def test_the_list_of_a_freezer_that_was_sold_is_asked_for_no_more(house: House) -> None:
    for code in house.ok("pack", "shank", "1", "2", "--species", "deer", "--json").json["packages"]:
        house.ok("move", code["code"], "--to", "Kitchen")
    old = house.ok("lid", "--freezer", "Kitchen", "--to", "old.pdf", "--json").json["codes"]
    ours = house.ok("lid", "--freezer", "Garage chest", "--to", "lid.pdf", "--json").json["codes"]
    asked = house.refused("take", "--ticks", "1").said
    assert "Garage chest" in asked
    assert "Kitchen" in asked
    house.ok("take", *old)
    house.ok("freezer", "retire", "Kitchen")
    assert [row["code"] for row in house.ok("take", "--ticks", "1", "--json").json["done"]] == [ours[0]]
    house.ok("take", *ours[1:])
    house.ok("freezer", "retire", "Garage chest")
    assert "No list was printed" in house.refused("take", "--ticks", "1").said


def test_a_renamed_cut_keeps_old_labels_scannable(house: House) -> None:
    """(viii) The household gives a cut another name; a label printed before still says and takes what it did."""
    code = codes_in(house, RED)[0]
    house.ok("label", "--to", "old.pdf")
    house.ok("words", "add", "racing stripe", "backstrap")
    assert {row["cut"] for row in house.ok("find", "racing stripe", "--json").json["rows"]} == {"backstrap"}
    house.ok("fix", code, "--cut", "tenderloin")
    seen = house.ok("scan", "--json", stdin=f"{code}\n").json
    assert (seen["outcome"], seen["package"]["cut"]) == ("taken", "tenderloin")


def test_two_cuts_at_once_are_either_under_headings(house: House) -> None:
    house.ok("pack", "tenderloin", ".5", "--species", "deer", "--place", RED)
    report = house.ok("find", "backstrap", "tenderloin", "--json").json
    assert {row["cut"] for row in report["rows"]} == {"backstrap", "tenderloin"}
    said = house.ok("find", "backstrap and tenderloin").out
    assert "Backstrap (4 packs" in said
    assert "Tenderloin (1 pack" in said
    assert house.refused("take", "backstrap", "tenderloin").status == 2


def test_a_freezers_size_is_said_as_the_house_measures(house: House) -> None:
    assert "Garage chest  15 cu ft" in house.ok("freezer").out
    house.ok("settings", "units", "kg")
    assert "Garage chest  425 l" in house.ok("freezer").out


def test_ticks_that_run_backwards(house: House) -> None:
    house.ok("lid", "--freezer", "Garage chest", "--to", "lid.pdf")
    assert "5-2' runs backwards" in house.refused("take", "--ticks", "5-2").err


def test_a_place_of_two_freezers_is_meant_with_its_freezer(house: House) -> None:
    house.ok("place", "add", "red bag", "--freezer", "Kitchen")
    signs = {
        one["freezer"]: one["code"] for one in house.ok("place", "--json").json["places"] if one["name"] == "red bag"
    }
    err = " ".join(house.refused("sign", "red bag", "--to", "s.pdf").err.split())
    for freezer, sign in signs.items():
        assert f'"{freezer} red bag" (sign {sign[:3]}-{sign[3:]})' in err
    for words in ("Kitchen red bag", "kitchen, red bag", "red bag, Kitchen", "red bag (Kitchen)", signs["Kitchen"]):
        assert house.ok("sign", words, "--to", f"{len(words)}{words[:3]}.pdf", "--json").json["codes"] == [
            signs["Kitchen"]
        ]
        assert house.ok("place", "show", words, "--json").json["freezer"] == "Kitchen"
    assert house.ok("lost", "--place", "Garage chest red bag", "--json").json["place"] == "red bag (Garage chest)"
    assert (
        house.ok("move", "garage red bag", "--to", "kitchen red bag", "--json").json["done"][0]["freezer"]
        == "Kitchen"
    )
    assert "red bag" in house.ok("history", "Kitchen red bag").out
    trusted = house.ok("trust").out
    assert "red bag, Kitchen" in trusted
    assert "red bag, Garage chest" in trusted
    house.ok("place", "rename", "Kitchen red bag", "blue bag")
    house.ok("place", "retire", "red bag")
    house.refused("place", "show", "Kitchen red bag")


def test_starting_a_book_tells_of_the_scanners_test_card(bare: House) -> None:
    assert "sign --cards" in bare.ok("start", "--units", "lb", "--freezer", "Chest").out
