"""Two books into one: nothing lost, nothing twice, either way round the same, and what clashes is asked."""

from __future__ import annotations

import shutil
import sqlite3
from dataclasses import replace

import pytest

from tests.cli.process import House, dump
from tests.keeping.houses import check, chops
from tests.keeping.pairs import Pair, file, row, told


def test_what_each_did_is_in_both(pair: Pair) -> None:
    code, other, third = chops(pair.house)[:3]
    pair.house.ok("take", code)
    pair.cabin.ok("take", other, "--as", "given")
    pair.cabin.ok("move", third, "--to", "Cabin")
    pair.cabin.ok("place", "add", "shelf", "--freezer", "Cabin")
    packed = pair.cabin.ok("pack", "hock", "2.1", "--animal", "26H", "--place", "shelf", "--json").json["packages"]
    pair.house.ok("pack", "fresh ham steaks", "1.1", "--animal", "26H", "--freezer", "Garage chest")
    pair.both_ways()
    assert row(pair.house, code)["reason"] == "eaten"
    assert row(pair.cabin, other)["reason"] == "given"
    assert row(pair.house, third)["freezer"] == "Cabin"
    assert row(pair.house, packed[0]["code"])["place"] == "shelf"
    # Each still issues codes with its own letter.
    ours = pair.house.ok("pack", "hock", "2", "--animal", "26H", "--freezer", "Cabin", "--json").json["packages"][0]
    assert ours["code"][0] == code[0] != packed[0]["code"][0]


def test_the_word_of_an_act_that_was_taken_back(pair: Pair) -> None:
    """Undo there of what was done there, and of what was done before they parted."""
    code = chops(pair.house)[0]
    pair.cabin.ok("take", code)
    pair.cabin.ok("undo")
    pair.cabin.ok("undo", "7")
    pair.both_ways()
    assert row(pair.house, code)["state"] == "frozen"
    assert [one["name"] for one in pair.house.ok("freezer", "--json").json["freezers"]] == ["Garage chest"]


def test_one_package_taken_in_both_is_asked(pair: Pair) -> None:
    code = chops(pair.house)[0]
    pair.house.ok("take", code)
    pair.cabin.at("2026-12-04T20:00").ok("take", code, "--as", "given")
    refused = pair.house.refused("import", "--merge", "cabin.book")
    assert refused.status == 1
    assert "here eaten on 5 Dec; there given away on 4 Dec" in refused.said
    assert f"--ours '{code[:3]}-{code[3:]}' or --theirs" in refused.said
    assert pair.house.refused_json("import", "--merge", "cabin.book", status=1, kind="refused")
    pair.both_ways(("--theirs", code), ("--ours", code))
    assert row(pair.house, code)["reason"] == "given"
    # As of the days between: what the one who is right says.
    found = pair.house.ok("find", "loin chops", "--as-of", "2026-12-04", "--json").json["rows"]
    assert code not in [one["code"] for one in found]
    assert len(pair.house.ok("find", "loin chops", "--as-of", "2026-12-03", "--json").json["rows"]) == 14


def lines(house: House, *words: str) -> list[str]:
    return house.ok(*words).told.splitlines()


@pytest.mark.parametrize("reason", ["given", "eaten"])
def test_the_day_and_the_person_are_those_of_the_one_who_is_right(pair: Pair, reason: str) -> None:
    """Show, find, history, trace and who has it all tell what the winner told, and the other's step is marked."""
    code = chops(pair.house)[0]
    given = ("give", code, "--to", "Marta") if reason == "given" else ("take", code)
    pair.house.ok(*given, "--on", "4 dec")
    pair.cabin.ok("give", code, "--to", "Otto", "--on", "2 dec")
    alone = {key: said for key, said in row(pair.cabin, code).items() if key != "history"}
    pair.both_ways(("--theirs", code), ("--ours", code))
    for house in (pair.house, pair.cabin):
        assert {key: said for key, said in row(house, code).items() if key != "history"} == alone
        found = house.ok("find", "loin chops", "--gone").told
        assert "2 Dec" in found
        assert "4 Dec" not in found
        told = [line for line in lines(house, "history", code) if "gone" in line]
        marked = [line for line in told if "overruled" in line]
        assert len(marked) == 1
        assert ("Marta" in marked[0]) == (reason == "given")
        assert [line for line in told if "as decided" in line and "given to Otto" in line]
        assert not [line for line in told if "Marta" in line and line not in marked]
        trace = " ".join(house.ok("trace", code).told.split())
        assert "2 Dec to Otto" in trace
        assert "Marta" not in house.ok("trace", "26H", "--who").told


def test_a_decision_that_is_overruled_in_its_turn(pair: Pair) -> None:
    """House and cabin decide differently, each for itself; joined once more, one of the two is right in all."""
    code = chops(pair.house)[0]
    pair.house.ok("give", code, "--to", "Marta", "--on", "4 dec")
    pair.cabin.ok("give", code, "--to", "Otto", "--on", "2 dec")
    shutil.copy(file(pair.house), pair.house.folder / "house alone.book")
    pair.join("--ours", code)
    pair.cabin.ok("import", "--merge", "house alone.book", "--ours", code)
    pair.both_ways(("--ours", code), ("--theirs", code))
    assert "4 Dec to Marta" in " ".join(pair.cabin.ok("trace", code).told.split())
    assert "4 Dec" in pair.cabin.ok("find", "loin chops", "--gone").told
    assert "Otto" not in pair.cabin.ok("trace", "26H", "--who").told


@pytest.mark.parametrize("ours", [True, False])
def test_taken_there_put_back_and_moved_here(pair: Pair, ours: bool) -> None:
    """Several steps on several days; the one who is right is right on each of them."""
    code = chops(pair.house)[0]
    for day, words in ((2, ("take", code)), (3, ("put-back", code)), (4, ("move", code, "--to", "red bag"))):
        pair.house.at(f"2026-12-0{day}T21:30").ok(*words)
    for day, words in ((3, ("take", code)), (4, ("put-back", code)), (5, ("take", code, "--as", "discarded"))):
        pair.cabin.at(f"2026-12-0{day}T21:00").ok(*words)
    alone = {}
    for day in (2, 3, 4, 5):
        house = pair.house if ours else pair.cabin
        found = house.ok("find", "loin chops", "--as-of", f"2026-12-0{day}", "--json").json["rows"]
        alone[day] = [(one["code"], one["place"]) for one in found]
    mine, theirs = ("--ours", code), ("--theirs", code)
    pair.both_ways(mine if ours else theirs, theirs if ours else mine)
    for day, wanted in alone.items():
        found = pair.house.ok("find", "loin chops", "--as-of", f"2026-12-0{day}", "--json").json["rows"]
        assert [(one["code"], one["place"]) for one in found] == wanted, day


def test_one_fact_corrected_in_both_is_asked(pair: Pair) -> None:
    code, other = chops(pair.house)[:2]
    pair.house.ok("fix", code, "--weight", "1.4")
    pair.cabin.ok("fix", code, "--weight", "1.5", "--note", "thick")
    pair.house.ok("fix", other, "--wrap", "paper")
    pair.cabin.ok("fix", other, "--wrap", "paper")
    refused = pair.house.refused("import", "--merge", "cabin.book")
    assert f"package {code[:3]}-{code[3:]} weight: here 1.40 lb; there 1.50 lb" in refused.said
    assert "wrap" not in refused.said
    pair.both_ways(("--prefer", "theirs"), ("--prefer", "ours"))
    assert (row(pair.house, code)["net_g"], row(pair.house, code)["note"]) == (pytest.approx(680.389), "thick")
    assert row(pair.house, other)["wrap"] == "paper"


def test_settings_and_origins_are_asked_too(pair: Pair) -> None:
    for here, animal in ((pair.house, "26C"), (pair.cabin, "26D")):
        here.ok("animal", "add", animal, "pig")
    code = chops(pair.house)[0]
    pair.house.ok("settings", "units", "kg")
    pair.cabin.ok("settings", "units", "lb-oz")
    pair.house.ok("fix", code, "--animal", "26C")
    pair.cabin.ok("fix", code, "--animal", "26D")
    refused = pair.house.refused("import", "--merge", "cabin.book")
    assert "setting units: here kg; there lb-oz" in refused.said
    assert f"package {code[:3]}-{code[3:]} origin: here animal 26C; there animal 26D" in refused.said
    pair.both_ways(
        ("--ours", "setting units value", "--theirs", f"package {code} origin"),
        ("--theirs", "setting units value", "--ours", f"package {code} origin"),
    )
    assert row(pair.house, code)["animals"] == ["26D"]
    assert "kg" in pair.cabin.ok("show", code).told


def two_animals(pair: Pair) -> tuple[str, str]:
    """26C is a buck here and a doe there, with meat of each."""
    pair.house.ok("animal", "add", "26C", "whitetail buck", "--tag", "4471")
    mine = pair.house.ok("pack", "stew", "1", "--animal", "26C", "--freezer", "Garage chest", "--json").json
    pair.cabin.ok("animal", "add", "26C", "whitetail doe")
    other = pair.cabin.ok("pack", "stew", "2", "--animal", "26C", "--freezer", "Cabin", "--json").json
    return mine["packages"][0]["code"], other["packages"][0]["code"]


def test_one_code_for_two_animals_is_asked_and_one_renamed(pair: Pair) -> None:
    mine, other = two_animals(pair)
    refused = pair.house.refused("import", "--merge", "cabin.book")
    assert "animal 26C: here 26C, whitetail, buck; there 26C, whitetail, doe" in refused.said
    assert "--same 'animal 26C'" in refused.said
    assert pair.house.refused("import", "--merge", "cabin.book", "--prefer", "ours").status == 1
    shutil.copy(file(pair.cabin), pair.house.folder / "cabin before.book")
    refused = pair.house.refused("import", "--merge", "cabin.book", "--rename", "26D=26E")
    assert "There is no clash about '26D'; nothing was changed. The clashes are: animal 26C." in refused.said
    pair.join("--rename", "animal 26C=26E")
    assert row(pair.house, mine)["animals"] == ["26C"]
    assert row(pair.house, other)["animals"] == ["26E"]
    # The joined book goes back to the cabin, which hears there what the doe is called now.
    pair.cabin.ok("import", "--merge", "house.book")
    check(pair.cabin, file(pair.cabin))
    assert row(pair.cabin, other)["animals"] == ["26E"]
    assert told(pair.house) == told(pair.cabin)
    pair.same_again()
    # And the cabin's later work with the old name in an older copy arrives under the new one.
    older = replace(pair.cabin, more={"FREEZERBOX_BOOK": str(pair.house.folder / "cabin before.book")}, seed="older")
    late = older.ok("pack", "stew", "3", "--animal", "26C", "--freezer", "Cabin", "--json").json["packages"][0][
        "code"
    ]
    pair.house.ok("import", "--merge", "cabin before.book")
    check(pair.house)
    assert row(pair.house, late)["animals"] == ["26E"]


def test_one_code_for_one_animal_entered_twice(pair: Pair) -> None:
    mine, other = two_animals(pair)
    pair.both_ways(("--same", "animal 26C"), ("--same", "animal 26C"))
    animals = [one["code"] for one in pair.house.ok("animal", "--json").json["animals"]]
    assert animals.count("26C") == 1
    assert row(pair.house, mine)["animals"] == row(pair.house, other)["animals"] == ["26C"]


def test_one_freezer_entered_in_both_with_its_places(pair: Pair) -> None:
    for here in (pair.house, pair.cabin):
        here.ok("freezer", "add", "Shed")
        here.ok("place", "add", "top", "--freezer", "Shed")
        here.ok("pack", "hock", "2", "--animal", "26H", "--freezer", "Shed", "--place", "top")
    assert "freezer Shed" in pair.house.refused("import", "--merge", "cabin.book").said
    assert "place top" in pair.house.refused("import", "--merge", "cabin.book", "--same", "freezer Shed").said
    words = ("--same", "freezer Shed", "--same", "place top")
    pair.both_ways(words, words)
    found = pair.house.ok("find", "hock", "--json").json["rows"]
    assert [(one["freezer"], one["place"]) for one in found] == [("Shed", "top")] * 2


@pytest.mark.parametrize("name", ["K7P3MT", "../x", "=1", "é", "Old Bess"])
def test_an_animal_is_renamed_to_a_code_of_an_animal(pair: Pair, name: str) -> None:
    two_animals(pair)
    refused = pair.house.refused("import", "--merge", "cabin.book", "--rename", f"animal 26C={name}")
    assert refused.status == 2
    assert f"{name!r} is not an animal code." in refused.said


def test_two_freezers_of_one_name_and_one_renamed(pair: Pair) -> None:
    for here in (pair.house, pair.cabin):
        here.ok("freezer", "add", "Shed")
    pair.join("--rename", "freezer Shed=Old shed")
    names = [one["name"] for one in pair.house.ok("freezer", "--json").json["freezers"]]
    assert sorted(names) == ["Cabin", "Garage chest", "Old shed", "Shed"]
    pair.cabin.ok("import", "--merge", "house.book")
    assert told(pair.house) == told(pair.cabin)


def test_words_that_decide_nothing(pair: Pair) -> None:
    two_animals(pair)
    for words in (
        ("--same", "animal 26Z"),
        ("--rename", "animal 26C"),
        ("--rename", "animal 26C="),
        ("--ours", "K7P3MT"),
        ("--prefer", "mine"),
        ("--same", "animal 26C", "--rename", "animal 26C=26E"),
    ):
        assert pair.house.refused("import", "--merge", "cabin.book", *words).status == 2, words
    # A name that is taken already is no way out.
    taken = pair.house.refused("import", "--merge", "cabin.book", "--rename", "animal 26C=26B")
    assert taken.status == 1
    assert "one name" in taken.said
    assert pair.house.refused("import", "--merge", "nothing.book").status == 3
    assert pair.house.refused("import", "--merge", "house.book", "cabin.book").status == 2


def test_a_book_joined_with_itself_is_itself(pair: Pair) -> None:
    before = pair.house.dump()
    assert "Nothing new" in pair.house.ok("import", "--merge", "house.book").told
    assert pair.house.dump() == before


def test_the_copy_before_a_join_is_the_book_before(pair: Pair) -> None:
    before = pair.house.dump()
    pair.cabin.ok("take", chops(pair.house)[0])
    pair.join()
    assert dump(pair.house.folder / "house-backups" / "house-before-join-2026-12-05T210000.book") == before


def spares(house: House) -> list[str]:
    with sqlite3.connect(file(house)) as connection:
        rows = connection.execute("SELECT code FROM package_state WHERE state = 'spare' ORDER BY code").fetchall()
    connection.close()
    return [row[0] for row in rows]


def sloppy(code: str) -> str:
    """As somebody copies it from a wet strip: small letters, O for 0, l for 1, spaces."""
    return " ".join((code[:3], code[3:])).lower().replace("0", "o").replace("1", "l")


def test_five_codes_written_by_hand_at_the_cabin(pair: Pair) -> None:
    """Scenario 19 of needs.md: typed a week later, dated as told, in the cabin; nothing twice when joined."""
    codes = spares(pair.house)
    assert len(codes) == 5
    next_week = pair.cabin.at("2026-12-11T20:00")
    typed = [sloppy(code) for code in codes]
    next_week.ok(
        "adopt",
        *typed,
        "--cut",
        "shank",
        "--weight",
        "2",
        "--animal",
        "26B",
        "--freezer",
        "Cabin",
        "--on",
        "2026-12-06",
    )
    for code in codes:
        one = row(next_week, code)
        assert (one["packed_on"], one["freezer"], one["cut"]) == ("2026-12-06", "Cabin", "shank")
    pair.both_ways()
    found = pair.house.ok("find", "shank", "--json").json
    assert sorted(one["code"] for one in [*found["rows"], *found.get("away", [])]) == sorted(codes)


def test_a_spare_code_entered_in_both_is_asked(pair: Pair) -> None:
    code = spares(pair.house)[0]
    words = ("--weight", "2", "--animal", "26H", "--on", "2026-12-04")
    pair.house.ok("adopt", code, "--cut", "hock", "--freezer", "Garage chest", *words)
    pair.cabin.ok("adopt", code, "--cut", "fresh ham steaks", "--freezer", "Cabin", *words)
    refused = pair.house.refused("import", "--merge", "cabin.book")
    assert f"package {code[:3]}-{code[3:]} cut: here Hock; there Fresh ham" in refused.said
    pair.both_ways(("--prefer", "theirs"), ("--prefer", "ours"))
    one = row(pair.house, code)
    assert (one["freezer"], one["animals"], one["quantity"]) == ("Cabin", ["26H"], 1)
    assert "ham" in one["cut"]


def test_a_strangers_label_taken_in_by_both_is_asked(pair: Pair) -> None:
    """A gift's own code, in no book before: two packages of one code, and one of them stays."""
    pair.house.ok("adopt", "K7P3MT", "--cut", "hock", "--species", "pork", "--freezer", "Garage chest")
    pair.cabin.ok("adopt", "K7P3MT", "--cut", "shank", "--animal", "26B", "--freezer", "Cabin")
    refused = pair.house.refused("import", "--merge", "cabin.book")
    assert "K7P-3MT: here Hock of 5 Dec; there Shank of 5 Dec" in refused.said
    assert "--ours 'K7P-3MT' or --theirs 'K7P-3MT'" in refused.said
    pair.both_ways(("--theirs", "K7P3MT"), ("--ours", "K7P3MT"))
    one = row(pair.house, "K7P3MT")
    assert (one["cut"], one["freezer"], one["animals"], one["quantity"]) == ("shank", "Cabin", ["26B"], 1)


def test_one_animal_said_to_be_one_and_a_package_decided(pair: Pair) -> None:
    """Who decides alike at both ends has one book, the act that says so too."""
    two_animals(pair)
    code = chops(pair.house)[0]
    pair.house.ok("take", code)
    pair.cabin.ok("take", code, "--as", "given")
    same = ("--same", "animal 26C")
    pair.both_ways((*same, "--ours", code), (*same, "--theirs", code))


def test_undo_here_leaves_what_was_done_there(pair: Pair) -> None:
    """Both stations are called alike, as two without a terminal of their own are."""
    here, there = chops(pair.house)[:2]
    house = replace(pair.house, now="2026-12-05T18:00", more={})
    cabin = replace(pair.cabin, more={"FREEZERBOX_BOOK": str(file(pair.cabin))})
    house.ok("take", here)
    cabin.ok("take", there)
    house.ok("import", "--merge", "cabin.book")
    assert house.ok("undo", "--json").json["done"][0]["code"] == here
    assert row(house, there)["state"] == "gone"
    cabin.ok("import", "--merge", "house.book")
    assert cabin.ok("undo", "--json").json["done"][0]["code"] == there


def test_undo_of_what_a_join_stands_on_proposes_no_undo_of_the_join(pair: Pair) -> None:
    code = chops(pair.house)[0]
    pair.house.ok("take", code)
    pair.cabin.ok("take", code, "--as", "given")
    pair.house.ok("import", "--merge", "cabin.book", "--theirs", code)
    refused = pair.house.refused("undo")
    assert "stays. What is there after all is put back: freezerbox put-back" in refused.said
    assert "Take back the later ones first" not in refused.said


def test_an_animal_taken_back_in_one_book_is_had_again_there_first(pair: Pair) -> None:
    """What is told is typed as told, and then they join."""
    pair.house.ok("animal", "add", "26K", "whitetail buck", "--test", "pending")
    pair.cabin.ok("import", "--merge", "house.book")
    pair.cabin.ok("undo", str(pair.cabin.ok("undo", "--list", "--json").json["acts"][0]["act"]))
    code = pair.house.ok("pack", "stew", "1", "--animal", "26K", "--freezer", "Cabin", "--json").json
    refused = pair.house.refused("import", "--merge", "cabin.book")
    assert refused.status == 1
    assert "restore" not in refused.said
    _, _, command = refused.said.partition("animal 26K: freezerbox ")
    assert command.startswith("--book cabin.book undo ")
    pair.house.ok(*command.split())
    pair.join()
    assert row(pair.house, code["packages"][0]["code"])["animals"] == ["26K"]
