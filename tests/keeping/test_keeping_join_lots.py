"""Two books into one, and what both did to one package: takings of a lot, a spare label filled twice, one place."""

from __future__ import annotations

import shutil
from dataclasses import replace

import pytest

from tests.cli.process import House
from tests.keeping.houses import check, chops
from tests.keeping.pairs import Pair, file, row, told
from tests.keeping.test_keeping_joins import spares


@pytest.fixture
def lot(pair: Pair) -> str:
    """Ten tubes of ground, packed before the books parted."""
    (pair.house.folder / "cabin.book").unlink()
    words = ("pack", "ground", "--lot", "10", "--each", "1", "--species", "deer", "--json")
    packed = pair.house.at("2026-11-29T21:00").ok(*words).json["packages"]
    pair.house.ok("backup", "--for", "cabin")
    return str(packed[0]["code"])


def left(house: House, day: str) -> int:
    """Tubes that were in the freezer by that day."""
    found = house.ok("find", "ground", "--as-of", day, "--json").json["rows"]
    return sum(int(one["quantity"]) for one in found)


def test_takings_that_fit_together_all_stay(pair: Pair, lot: str) -> None:
    pair.house.ok("take", lot, "3", "--on", "2 dec")
    pair.cabin.ok("take", lot, "1", "--on", "1 dec")
    pair.cabin.ok("give", lot, "--to", "Otto", "--on", "3 dec")
    pair.both_ways()
    for house in (pair.house, pair.cabin):
        one = row(house, lot)
        assert (one["state"], one["quantity"]) == ("frozen", 5)
        days = [left(house, f"2026-{day}") for day in ("11-30", "12-01", "12-02", "12-03")]
        assert days == [10, 9, 6, 5]
        history = house.ok("history", lot).told
        assert "3 eaten" in history
        assert "overruled" not in history
        assert "as decided" not in history
        assert "Otto" in history
    pair.house.ok("undo")
    assert row(pair.house, lot)["quantity"] == 8
    # What the other took since is taken back first, as in a book of one's own.
    refused = pair.cabin.refused("undo").said
    pair.cabin.ok("undo", refused.partition("freezerbox undo ")[2].split()[0])
    pair.cabin.ok("undo")
    assert row(pair.cabin, lot)["quantity"] == 9
    assert left(pair.cabin, "2026-12-03") == 9


@pytest.mark.parametrize("days", [("1 dec", "3 dec"), ("3 dec", "1 dec"), ("3 dec", "3 dec")])
def test_takings_that_leave_nothing_leave_it_gone(pair: Pair, lot: str, days: tuple[str, str]) -> None:
    pair.house.ok("take", lot, "4", "--on", days[0])
    pair.cabin.ok("take", lot, "6", "--on", days[1])
    pair.both_ways()
    one = row(pair.cabin, lot)
    assert (one["state"], one["reason"], one["quantity"]) == ("gone", "eaten", 0)
    assert left(pair.house, "2026-11-30") == 10
    assert left(pair.house, "2026-12-02") == {"1 dec": 6, "3 dec": 4 if days[1] == "1 dec" else 10}[days[0]]
    assert left(pair.house, "2026-12-03") == 0
    assert "3 Dec" in pair.house.ok("find", "ground", "--gone").told


@pytest.mark.parametrize("days", [("1 dec", "3 dec"), ("3 dec", "1 dec"), ("3 dec", "3 dec")])
def test_takings_that_leave_nothing_together_are_taken_back_and_had_again(
    pair: Pair, lot: str, days: tuple[str, str]
) -> None:
    pair.house.ok("take", lot, "4", "--on", days[0])
    pair.cabin.ok("take", lot, "6", "--on", days[1])
    pair.both_ways()
    house = pair.house
    acts = [one["act"] for one in house.ok("undo", "--list", "--all", "--json").json["acts"] if one["kind"] == "take"]
    assert len(acts) == 2
    before = [left(house, f"2026-{day}") for day in ("11-30", "12-01", "12-02", "12-03", "12-05")]
    house.ok("undo", str(max(acts)))
    assert row(house, lot)["state"] == "frozen"
    stays = row(house, lot)["quantity"]
    assert [left(house, "2026-11-30"), left(house, "2026-12-05")] == [10, stays]
    assert stays in (4, 6)
    house.ok("undo", str(house.ok("undo", "--list", "--all", "--json").json["acts"][0]["act"]))
    assert row(house, lot)["state"] == "gone"
    assert [left(house, f"2026-{day}") for day in ("11-30", "12-01", "12-02", "12-03", "12-05")] == before
    house.ok("undo", str(max(acts)))
    house.ok("undo", str(min(acts)))
    assert (row(house, lot)["state"], row(house, lot)["quantity"]) == ("frozen", 10)
    assert [left(house, f"2026-{day}") for day in ("11-30", "12-02", "12-05")] == [10, 10, 10]
    assert house.ok("check", "--json").json["faults"] == []


def test_what_was_decided_stays_and_put_back_is_named(pair: Pair, lot: str) -> None:
    pair.house.ok("take", lot, "4", "--on", "2 dec")
    pair.cabin.ok("take", lot, "7", "--on", "3 dec")
    pair.house.ok("import", "--merge", "cabin.book", "--prefer", "ours")
    acts = [one["act"] for one in pair.house.ok("undo", "--list", "--all", "--json").json["acts"]]
    refused = " ".join(pair.house.refused("undo", str(acts[1])).said.split())
    way = f"freezerbox put-back {lot[:3]}-{lot[3:]} 4"
    assert refused.endswith(way)
    pair.house.ok("put-back", lot, "4", "--still-frozen")
    assert row(pair.house, lot)["quantity"] == 10


def test_takings_that_do_not_fit_are_asked_with_their_numbers(pair: Pair, lot: str) -> None:
    pair.house.ok("take", lot, "4", "--on", "2 dec")
    pair.cabin.ok("take", lot, "7", "--on", "3 dec")
    shown = f"{lot[:3]}-{lot[3:]}"
    refused = pair.house.refused("import", "--merge", "cabin.book")
    assert f"{shown}: here 4 eaten on 2 Dec; there 7 eaten on 3 Dec" in refused.said
    pair.both_ways(("--theirs", shown), ("--ours", shown))
    assert row(pair.house, lot)["quantity"] == 3


def test_a_lot_taken_here_and_moved_or_counted_there_is_asked(pair: Pair, lot: str) -> None:
    pair.house.ok("take", lot, "4", "--on", "2 dec")
    pair.cabin.ok("move", lot, "--to", "Cabin")
    refused = pair.house.refused("import", "--merge", "cabin.book")
    assert "here 4 eaten on 2 Dec; there put in Cabin on 5 Dec" in refused.said
    pair.cabin.ok("undo")
    pair.cabin.ok("lost", lot, "--yes")
    assert "there 1 marked lost on 5 Dec" in pair.house.refused("import", "--merge", "cabin.book").said


@pytest.mark.parametrize("ours", [True, False])
def test_a_spare_filled_in_both_has_its_days_from_the_one_who_is_right(pair: Pair, ours: bool) -> None:
    code = spares(pair.house)[0]
    later = [replace(one, now="2026-12-08T21:00") for one in (pair.house, pair.cabin)]
    late = Pair(*later)
    late.house.ok("adopt", code, "--cut", "hock", "--freezer", "Garage chest", "--on", "2026-12-07")
    late.cabin.ok("adopt", code, "--cut", "hock", "--freezer", "Cabin", "--on", "2026-12-06")
    refused = late.house.refused("import", "--merge", "cabin.book")
    assert "here packed on 7 Dec, put in Garage chest on 7 Dec; there packed on 6 Dec, put in" in refused.said
    assert "pack date" not in refused.said
    assert "packed_on" not in refused.said
    mine, theirs = ("--ours", code, "--prefer", "theirs"), ("--theirs", code, "--prefer", "ours")
    late.both_ways(mine if ours else theirs, theirs if ours else mine)
    day = "2026-12-07" if ours else "2026-12-06"
    for house in (late.house, late.cabin):
        assert (row(house, code)["packed_on"], row(house, code)["first_frozen_on"]) == (day, day)
        found = [house.ok("find", "hock", "--as-of", f"2026-12-0{one}", "--json").json for one in (6, 7)]
        seen = [code in [one["code"] for one in [*said["rows"], *said.get("away", [])]] for said in found]
        assert seen == [not ours, True]


def test_a_spare_filled_on_the_day_of_its_printing(pair: Pair) -> None:
    """The house corrected no day, since the label said it already; the cabin's later day goes with the cabin."""
    code = spares(pair.house)[0]
    printed = row(pair.house, code)["packed_on"]
    pair.house.ok("adopt", code, "--cut", "hock", "--freezer", "Garage chest", "--on", printed)
    pair.cabin.ok("adopt", code, "--cut", "hock", "--freezer", "Cabin", "--on", "2026-12-05")
    pair.both_ways(("--ours", code), ("--theirs", code))
    assert row(pair.cabin, code)["packed_on"] == printed


def test_the_sign_of_a_place_that_was_two_is_told(pair: Pair) -> None:
    codes = []
    for here in (pair.house, pair.cabin):
        here.ok("place", "add", "top", "--freezer", "Cabin")
        places = here.ok("place", "--json").json["places"]
        codes += [one["code"] for one in places if one["name"] == "top"]
    mine, theirs = codes
    said = pair.house.ok("import", "--merge", "cabin.book", "--same", "place top").told
    kept = next(one["code"] for one in pair.house.ok("place", "--json").json["places"] if one["name"] == "top")
    lost = mine if kept == theirs else theirs
    flat = " ".join(said.split())
    assert f"Both may hang: {kept[:3]}-{kept[3:]} and {lost[:3]}-{lost[3:]} mean top from now on." in flat
    # The other book hears it too when the joined one comes back to it.
    signs = pair.cabin.ok("import", "--merge", "house.book", "--json").json["signs"]
    assert signs == ([{"place": "top", "old": lost, "new": kept}] if lost == theirs else [])
    assert told(pair.house) == told(pair.cabin)


def test_both_signs_of_a_place_that_was_two_mean_it(pair: Pair) -> None:
    """In move, count, scan and find; and when it is said later that they are two, each means its own place again."""
    signs, packs = [], []
    for here in (pair.house, pair.cabin):
        signs.append(here.ok("place", "add", "top", "--freezer", "Cabin", "--json").json["place"]["code"])
        packed = here.ok("pack", "hock", "2", "--animal", "26H", "--place", "top", "--json").json["packages"]
        packs.append(packed[0]["code"])
    shutil.copy(file(pair.house), pair.house.folder / "house before.book")
    pair.join("--same", "place top")
    code, other, third = chops(pair.house)[:3]
    for sign, moved in zip(signs, (code, other), strict=True):
        pair.house.ok("move", moved, "--to", sign)
        found = pair.house.ok("find", sign, "--json").json
        assert {one["code"] for one in [*found["rows"], *found.get("away", [])]} >= {*packs, code}
        counted = pair.house.call("count", sign, stdin=f"{packs[0]}\n").said
        assert "no place" not in counted
    said = pair.house.ok("scan", stdin=f"MOVE\n{signs[0]}\n{third}\n{signs[1]}\n{third}\n").told
    assert "MOVED from Garage chest" in said
    assert "THERE ALREADY" in said
    assert row(pair.house, third)["place"] == "top"
    for old, new in (("top", "shelf"), ("shelf", "top")):
        renamed = pair.house.ok("place", "rename", signs[0], new).told
        assert f"Place renamed: {old} is {new} now." in renamed
        hanging = [sign for sign in signs if f"{sign[:3]}-{sign[3:]}" in renamed]
        assert hanging == signs, "of the one that is printed anew and of the other"
    for moved in (code, other, third):
        pair.house.ok("move", moved, "--freezer", "Garage chest")
    pair.house.ok("move", *packs, "--freezer", "Garage chest")
    # Given up, neither sign means anything; in use again, both do.
    pair.house.ok("place", "retire", "top")
    assert all(pair.house.call("move", code, "--to", sign).status for sign in signs)
    pair.house.ok("place", "add", "top", "--freezer", "Cabin")
    for sign, moved in zip(signs, (code, other), strict=True):
        pair.house.ok("move", moved, "--to", sign)
        assert row(pair.house, moved)["place"] == "top"
    # The cabin says of the two that they are two, and that holds in the end.
    pair.cabin.ok("import", "--merge", "house before.book", "--rename", "place top=old top")
    pair.house.ok("import", "--merge", "cabin.book", "--theirs", "place top")
    check(pair.house)
    names = []
    for sign in signs:
        pair.house.ok("move", third, "--to", sign)
        names.append(row(pair.house, third)["place"])
    assert names == ["old top", "top"]


def test_clashes_are_asked_in_words_of_people_and_decided_by_them(pair: Pair) -> None:
    code, other = chops(pair.house)[:2]
    shown = f"package {other[:3]}-{other[3:]} note"
    for here, cut in ((pair.house, "stew"), (pair.cabin, "ground")):
        here.ok("words", "add", "deery", cut)
        here.ok("fix", other, "--note", f"for {cut}")
        here.ok("settings", "units", "kg" if cut == "stew" else "lb-oz")
    pair.house.ok("take", code)
    pair.cabin.ok("give", code, "--to", "Otto", "--on", "4 dec")
    said = pair.house.refused("import", "--merge", "cabin.book").said
    assert f"{code[:3]}-{code[3:]}: here eaten on 5 Dec; there given away on 4 Dec" in said
    assert "word deery: here stew; there ground" in said
    assert "setting units: here kg; there lb-oz" in said
    assert f"{shown}: here for stew; there for ground" in said
    words = ("--ours", "word deery", "--theirs", "setting units", "--ours", shown)
    back = ("--theirs", "word deery", "--ours", "setting units", "--theirs", shown)
    pair.both_ways((*words, "--ours", code), (*back, "--theirs", code))
    assert row(pair.cabin, other)["note"] == "for stew"


def test_several_packages_decided_have_one_order_from_either_side(pair: Pair) -> None:
    """Corrected and taken in another order here than there: the joined book is the same row for row."""
    first, second, third = chops(pair.house)[:3]
    for code in (first, second, third):
        pair.house.ok("take", code)
        pair.house.ok("fix", code, "--note", "here")
    for code in (third, first, second):
        pair.cabin.ok("give", code, "--to", "Otto")
        pair.cabin.ok("fix", code, "--note", "there")
    pair.both_ways(("--prefer", "theirs"), ("--prefer", "ours"))
    assert row(pair.house, first)["note"] == "there"
