"""All that one command names is one act: one undo takes it back."""

from __future__ import annotations

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


def test_when_nothing_can_be_done_nothing_is_written(lots: House) -> None:
    one, two, _ = codes(lots, "duck")
    lots.ok("take", one, two)
    assert lots.refused("take", one, two).status == 1
    assert lots.refused("take", "K7P-3MU", "zzz-zz9").status == 2
