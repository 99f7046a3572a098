"""Words for cuts: the household's own, and what a word is in a house that has one animal for it."""

from __future__ import annotations

import pytest

from tests.cli.process import House


@pytest.mark.parametrize(
    ("word", "called"),
    [
        ("backstrap", "the cut Backstrap"),
        ("Ribeyes", "the cut Ribeye"),
        ("26a", "the code of an animal"),
        ("red bag", "a place in Garage chest"),
        ("Kitchen", "a freezer"),
        ("deer", "the animal"),
    ],
)
def test_a_word_that_is_taken_asks(house: House, word: str, called: str) -> None:
    result = house.refused("words", "add", word, "ground")
    assert result.status == 1
    assert called in " ".join(result.err.split())
    assert "--yes" in result.err
    house.ok("words", "add", word, "ground", "--yes")


@pytest.mark.parametrize("word", ["deer burger", "fillet", "racing stripe"])
def test_a_free_word_or_one_for_several_cuts_is_taught_at_once(house: House, word: str) -> None:
    house.ok("words", "add", word, "tenderloin")


@pytest.fixture
def deer_only(bare: House) -> House:
    """A house that has deer and nothing else, and two labels printed ahead of it."""
    bare.ok("start", "--units", "lb", "--freezer", "Chest")
    bare.ok("animal", "add", "26A", "whitetail", "doe")
    return bare


def spares(house: House, *words: str) -> list[str]:
    report = house.ok("label", "ahead", "2", *words, "--to", "l.pdf", "--json").json
    return [one["code"] for one in report["labels"]]


def test_a_word_for_many_animals_is_the_one_of_the_house(deer_only: House) -> None:
    code, other = spares(deer_only, "mystery")
    row = deer_only.ok("adopt", code, "--cut", "shank", "--json").json["done"][0]
    assert (row["cut"], row["species"]) == ("shank", "whitetail")
    # Of deer alone a fillet is still two muscles.
    assert deer_only.refused("adopt", other, "--cut", "fillet").status == 2
    deer_only.ok("animal", "add", "26S", "steer")
    assert "beef shank" in deer_only.refused("adopt", other, "--cut", "shank").err


def test_a_label_printed_ahead_tells_the_animal(house: House) -> None:
    """The house has deer and pig."""
    code, _ = spares(house, "ground", "--animal", "26A")
    row = house.ok("adopt", code, "--cut", "shank", "--json").json["done"][0]
    assert (row["cut"], row["species"]) == ("shank", "whitetail")
