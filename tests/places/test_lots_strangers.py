"""What is typed behind a code and is neither a code nor a number moves nothing at all; a number in words is one."""

from __future__ import annotations

import pytest

from tests.cli.process import House

EVERY = (
    ("take",),
    ("discard",),
    ("lost",),
    ("give", "--to", "Otto", "--yes"),
    ("move", "--to", "garage chest"),
    ("put-back", "--still-frozen"),
)


@pytest.fixture
def lot(house: House) -> str:
    """A lot of 20 of which 8 are out, so that every command has something it could do."""
    packed = house.ok("pack", "ground", "--lot", "20", "--each", "1", "--species", "rabbit", "--json").json
    code: str = packed["packages"][0]["code"]
    house.ok("take", code, "8")
    return code


def quantity(house: House, code: str) -> int:
    number: int = house.ok("show", code, "--json").json["quantity"]
    return number


@pytest.mark.parametrize("command", EVERY, ids=lambda command: command[0])
@pytest.mark.parametrize("strange", ["few", "2x 3", "xyz CODE", "two three", "half"])
def test_a_word_that_is_no_number_moves_nothing(
    house: House, lot: str, command: tuple[str, ...], strange: str
) -> None:
    name, *options = command
    words = strange.replace("CODE", lot).split()
    refused = house.refused(name, lot, *words, *options)
    assert refused.status == 2
    assert any(repr(word) in refused.said for word in words), "the word that stops it is shown"
    assert quantity(house, lot) == 12


@pytest.mark.parametrize(
    ("word", "number"), [("one", 1), ("TWO", 2), ("six", 6), ("twelve", 12), ("x three", 3), ("all", 12)]
)
def test_a_number_in_words_is_that_many(house: House, lot: str, word: str, number: int) -> None:
    for command in (("take",), ("discard",), ("give", "--to", "Otto", "--yes")):
        house.ok(command[0], lot, *word.split(), *command[1:])
        assert quantity(house, lot) == 12 - number
        house.ok("undo")


def test_all_of_a_lot_move_under_their_own_code_and_two_under_another(house: House, lot: str) -> None:
    house.ok("place", "add", "high shelf", "--freezer", "Garage chest")
    assert len(house.ok("move", lot, "two", "--to", "high shelf", "--json").json["done"]) == 1
    assert quantity(house, lot) == 10
    (moved,) = house.ok("move", lot, "all", "--to", "high shelf", "--json").json["done"]
    assert (moved["code"], moved["quantity"]) == (lot, 10)


def test_all_that_are_out_are_not_guessed_from_what_is_there(house: House, lot: str) -> None:
    house.ok("take", lot, "9")
    assert "'all'" in house.refused("put-back", lot, "all", "--still-frozen").said
    assert quantity(house, lot) == 3
