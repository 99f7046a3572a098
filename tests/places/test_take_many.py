"""All that one command names is one act: one undo takes it back."""

from __future__ import annotations

import re

import pytest

from tests.cli.process import House


@pytest.fixture
def lots(house: House) -> House:
    """A lot of 72 tubes of rabbit, and three single packs of duck."""
    house.ok("pack", "ground", "--lot", "72", "--each", "1", "--species", "rabbit")
    house.ok("pack", "breast", "1", "1.1", "1.2", "--species", "duck")
    return house


def codes(house: House, *words: str) -> list[str]:
    return [row["code"] for row in house.ok("find", *words, "--json").json["rows"]]


def left(house: House, code: str) -> int:
    quantity: int = house.ok("show", code, "--json").json["quantity"]
    return quantity


def acts(house: House) -> int:
    number: int = house.ok("undo", "--list", "--json").json["acts"][0]["act"]
    return number


def test_fifty_of_a_lot_by_words_are_one_act_and_one_line(lots: House) -> None:
    (lot,) = codes(lots, "rabbit")
    before = acts(lots)
    said = lots.ok("take", "rabbit", "50").out.splitlines()
    assert len(said) == 1
    assert "50 of them" in said[0]
    assert "22 left" in said[0]
    assert acts(lots) == before + 1
    lots.ok("undo")
    assert left(lots, lot) == 72


@pytest.mark.parametrize("command", ["take", "discard", "lost"])
def test_several_codes_are_one_act(lots: House, command: str) -> None:
    three = codes(lots, "duck")
    before = acts(lots)
    lots.ok(command, *three)
    assert acts(lots) == before + 1
    assert [left(lots, code) for code in three] == [0, 0, 0]
    lots.ok("undo")
    assert [left(lots, code) for code in three] == [1, 1, 1]


def test_those_that_can_go_though_one_is_refused(lots: House) -> None:
    one, two, three = codes(lots, "duck")
    lots.ok("take", two)
    result = lots.call("take", one, two, three, "--json")
    assert result.status == 1
    assert [row["code"] for row in result.json["done"]] == [one, three]
    assert [each["code"] for each in result.json["refused"]] == [two]
    lots.ok("undo")
    assert [left(lots, code) for code in (one, two, three)] == [1, 0, 1]


def test_a_code_named_again_is_one_package_or_one_more_of_a_lot(lots: House) -> None:
    (lot,), duck = codes(lots, "rabbit"), codes(lots, "duck")[0]
    result = lots.call("take", duck, duck)
    assert result.status == 1
    assert "named again" in result.err
    assert left(lots, duck) == 0
    lots.ok("take", lot, lot)
    assert left(lots, lot) == 70


def test_some_of_a_lot_are_taken_as_they_are_given_moved_and_scanned(lots: House) -> None:
    """``take CODE*2`` is ``take CODE 2``."""
    (lot,), duck = codes(lots, "rabbit"), codes(lots, "duck")[0]
    lots.ok("take", f"{lot}*50")
    assert left(lots, lot) == 22
    lots.ok("take", f"{lot[:3]}-{lot[3:]} x 2")
    assert left(lots, lot) == 20
    assert "has 20 left, not 21" in lots.refused("take", f"{lot}*21").said
    assert "'0' is not a number of packages" in lots.refused("take", f"{lot}*0").said
    assert "has 1 left, not 2" in lots.refused("take", f"{duck}*2").said


@pytest.mark.parametrize(
    "command", [("take",), ("discard",), ("give", "--to", "Ann", "--yes"), ("lost",)], ids=lambda command: command[0]
)
@pytest.mark.parametrize("apart", [False, True])
def test_several_lots_each_with_its_number_leave_as_one_act(lots: House, command: list[str], apart: bool) -> None:
    """A number is understood behind its code wherever packages leave: never one of the lot, and the number lost."""
    lots.ok("pack", "fresh sausage links", "--lot", "6", "--each", "1", "--species", "pork")
    (tubes,), (links,), duck = codes(lots, "rabbit"), codes(lots, "sausage"), codes(lots, "duck")[0]
    named = [tubes, "50", duck, links, "2"] if apart else [f"{tubes}*50", duck, f"{links[:3]}-{links[3:]}x2"]
    before = acts(lots)
    lots.ok(command[0], *named, *command[1:])
    assert [left(lots, code) for code in (tubes, duck, links)] == [22, 0, 4]
    assert acts(lots) == before + 1
    lots.ok("undo")
    if command[0] == "take":
        lots.ok("take", tubes, "2", duck, links)
        lots.ok("put-back", f"{tubes}*2", duck, links, "--still-frozen")
        assert [left(lots, code) for code in (tubes, duck, links)] == [72, 1, 6]


BEHIND = [("*2",), ("x2",), ("X2",), ("*", "2"), ("x", "2"), ("2x",), ("2*",), ("2", "x"), ("2 x",)]


@pytest.mark.parametrize("behind", BEHIND, ids=" ".join)
def test_times_behind_a_code_with_a_space_is_so_many_of_it(lots: House, behind: tuple[str, ...]) -> None:
    """``take CODE *2`` is ``take CODE*2``: never one of the lot, and the rest not understood."""
    (tubes,), duck = codes(lots, "rabbit"), codes(lots, "duck")[0]
    for command in (("take",), ("discard",), ("lost",), ("give", "--to", "Ann", "--yes")):
        lots.ok(command[0], duck, tubes, *behind, *command[1:])
        assert [left(lots, code) for code in (tubes, duck)] == [70, 0], command
        lots.ok("undo")
    lots.ok("take", tubes, "5")
    lots.ok("put-back", tubes, *behind, "--still-frozen")
    assert left(lots, tubes) == 69
    refused = lots.refused("move", duck, tubes, *behind, "--to", "Garage chest").said
    assert "Nothing was moved. Some of a lot move by themselves" in refused
    lots.ok("move", tubes, *behind, "--to", "Garage chest")
    assert left(lots, tubes) == 67


@pytest.mark.parametrize("number", ["0", "2.5", "99999"])
def test_a_number_that_cannot_be_takes_none_of_the_others(lots: House, number: str) -> None:
    tubes, duck = codes(lots, "rabbit")[0], codes(lots, "duck")[0]
    for command in (("take",), ("discard",), ("lost",), ("give", "--to", "Ann", "--yes")):
        for typed in (number, f"*{number}", f"x{number}", f"{number}x"):
            said = lots.refused(command[0], duck, tubes, typed, *command[1:])
            assert said.status == 2
            assert f"'{number}' is not a number of packages" in said.said


def test_a_number_that_cannot_be_moves_nothing(lots: House) -> None:
    tubes = codes(lots, "rabbit")[0]
    assert "'99999' is not a number of packages" in lots.refused("move", tubes, "x99999", "--to", "shed").said


def test_a_line_of_a_session_says_how_many_in_any_of_the_ways(lots: House) -> None:
    tubes = codes(lots, "rabbit")[0]
    scanned = lots.ok("scan", "--json", stdin=f"{tubes} 2\n{tubes} 2x\n{tubes} *2\n{tubes} x99999\n").json_lines
    assert [line["outcome"] for line in scanned] == ["taken", "taken", "taken", "refused"]
    assert left(lots, tubes) == 66
    lines = f"{tubes} 3\n{tubes} 4x\n5\n{tubes}*6\n7 x\n{tubes} x99999\n"
    counted = lots.run("count", "Garage chest", stdin=lines)
    assert re.findall(r"(\d+) COUNTED, 66 LISTED", counted.told) == list("34567")
    assert "'99999' is not a number of packages" in counted.said


def test_where_a_number_means_nothing_it_is_said(lots: House) -> None:
    (tubes,), duck = codes(lots, "rabbit"), codes(lots, "duck")[0]
    some, shown = f"{tubes}*2", f"{tubes[:3]}-{tubes[3:]}"
    for command in (("show", some), ("label", "again", some), ("fix", some, "--note", "x"), ("trace", some),
                    ("hold", some, "--why", "x"), ("weigh", some, "3"), ("swap", some, duck)):  # fmt: skip
        said = lots.refused(*command)
        assert said.status == 2
        assert f"{some!r} is so many of a lot. Here the code stands alone: {shown}" in said.said
    # They move under a code of their own, so by themselves.
    said = lots.refused("move", duck, some, "--to", "red bag")
    assert f"Some of a lot move by themselves: freezerbox move {some} --to" in said.said


def test_when_nothing_can_be_done_nothing_is_written(lots: House) -> None:
    one, two, _ = codes(lots, "duck")
    lots.ok("take", one, two)
    assert lots.refused("take", one, two).status == 1
    assert lots.refused("take", "K7P-3MU", "zzz-zz9").status == 2


def test_what_is_done_to_some_of_a_lot_is_said_alike(lots: House) -> None:
    """How many of them, and how many are left; of all that are left, and of a single package, no more than that."""
    (tubes,), duck = codes(lots, "rabbit"), codes(lots, "duck")[0]
    shown = f"{tubes[:3]}-{tubes[3:]}" if "-" not in tubes else tubes
    there = 72
    for number, command in ((1, ("take",)), (2, ("discard",)), (3, ("give", "--to", "Ann", "--yes")), (1, ("lost",))):
        there -= number
        said = lots.ok(command[0], tubes, str(number), *command[1:]).told
        assert re.search(rf"{shown} .*, {number} of them( \(.*\))?\. {there} left\.", said), said
        assert "of them" not in lots.ok(command[0], duck, *command[1:]).told
        lots.ok("undo")
    assert f"{shown}  split: " in (parted := lots.ok("split", tubes, "--off", "2").out)
    assert re.search(rf", 2 of them, now \w{{3}}-\w{{3}}\. {there - 2} left\.", parted)
    moved = lots.ok("move", tubes, "1", "--to", "Garage chest").told
    assert re.search(
        rf"{shown} +moved to Garage chest: .*, 1 of them, now (\w{{3}}-\w{{3}})\. {there - 3} left\.", moved
    )
    assert re.search(r"\w{3}-\w{3} needs a label of its own: freezerbox label$", moved.strip())
    assert f", {there - 3} of them. None left." in lots.ok("give", tubes, str(there - 3), "--to", "Ann").told
