"""Labels swapped in one book, and what the other did to one of the two packs meanwhile: never joined by halves."""

from __future__ import annotations

import shlex
import shutil
from collections.abc import Sequence

import pytest

from tests.cli.process import House
from tests.keeping.houses import check, chops
from tests.keeping.pairs import Pair, file, row, told


def facts(house: House, code: str) -> tuple[str, float, str, list[str], str]:
    one = row(house, code)
    return one["cut"], one["net_g"], one["wrap"] or "", one["animals"], one["reserved_for"] or ""


@pytest.fixture
def three(pair: Pair) -> tuple[str, str, str]:
    """A held backstrap and two chops of other weights."""
    held = pair.house.ok("find", "backstrap", "--json").json["rows"][0]["code"]
    one, two = chops(pair.house)[:2]
    pair.house.ok("fix", one, "--weight", "1.3")
    pair.house.ok("fix", two, "--weight", "1.6")
    shutil.copy(file(pair.house), pair.house.folder / "again.book")
    pair.cabin.ok("import", "--merge", "again.book")
    return held, one, two


def undo_as_told(pair: Pair, refusal: str, which: int, by: House) -> None:
    """The command that the refusal gives, typed where it was read."""
    command = shlex.split(refusal.split("freezerbox ")[which].partition(" or ")[0])
    words = command if command[0] == "--book" else ["undo", command[1]]
    assert by.call(*words).status == 0


def refused_both_ways(pair: Pair) -> tuple[str, str]:
    before = told(pair.house), told(pair.cabin)
    here = pair.house.refused("import", "--merge", "cabin.book").said
    there = pair.cabin.call("import", "--merge", "house.book")
    assert there.status == 1
    assert (told(pair.house), told(pair.cabin)) == before
    return here, there.said


@pytest.mark.parametrize("words", [(), ("--prefer", "ours"), ("--prefer", "theirs")])
def test_two_swaps_that_share_a_pack_are_refused(
    pair: Pair, three: tuple[str, str, str], words: Sequence[str]
) -> None:
    held, one, two = three
    pair.house.ok("swap", held, one)
    pair.cabin.ok("swap", held, two)
    refused = pair.house.refused("import", "--merge", "cabin.book", *words).said
    assert "both books say something of one of them" in refused
    refused_both_ways(pair)


@pytest.mark.parametrize("which", ["house", "cabin"])
def test_two_swaps_one_of_them_taken_back_are_joined_whole(
    pair: Pair, three: tuple[str, str, str], which: str
) -> None:
    held, one, two = three
    was = {code: facts(pair.house, code) for code in three}
    pair.house.ok("swap", held, one)
    pair.cabin.ok("swap", held, two)
    said, _ = refused_both_ways(pair)
    assert said.count("swapped") == 2
    assert "5 Dec" in said
    acts = pair.house.refused("import", "--merge", "cabin.book", "--json").error
    assert acts["acts"][0] > 0
    undo_as_told(pair, said, 1 if which == "house" else 2, pair.house)
    pair.both_ways()
    stays = two if which == "house" else one
    gone = one if which == "house" else two
    for house in (pair.house, pair.cabin):
        assert facts(house, held) == was[stays]
        assert facts(house, stays) == was[held]
        assert facts(house, gone) == was[gone]
        check(house, file(house))


def test_a_swap_and_a_correction_of_one_of_its_packs(pair: Pair, three: tuple[str, str, str]) -> None:
    """The correction stays with the pack that it was said of."""
    held, one, _ = three
    pair.cabin.ok("fix", held, "--for", "Sunday roast")
    pair.house.ok("swap", held, one)
    here, there = refused_both_ways(pair)
    assert "here: swapped" in here
    assert "there: corrected" in here
    assert "there: swapped" in there
    assert "Take the swap back in its book, join, and swap again: freezerbox undo" in here
    assert "freezerbox --book house.book undo" in there
    undo_as_told(pair, here, 1, pair.house)
    pair.both_ways()
    for house in (pair.house, pair.cabin):
        house.ok("swap", held, one)
        assert facts(house, held)[0] == "loin"
        assert (facts(house, one)[0], facts(house, one)[4]) == ("backstrap", "Sunday roast")
        assert facts(house, held)[4] == ""


def test_a_swap_of_both_books_that_one_takes_back(pair: Pair, three: tuple[str, str, str]) -> None:
    """To take a swap back is to swap once more."""
    held, one, _ = three
    pair.house.ok("swap", held, one)
    shutil.copy(file(pair.house), pair.house.folder / "again.book")
    pair.cabin.ok("import", "--merge", "again.book")
    pair.house.ok("undo")
    pair.cabin.ok("fix", held, "--for", "Sunday roast")
    here, _ = refused_both_ways(pair)
    undo_as_told(pair, here, 1, pair.house)
    pair.both_ways()
    assert facts(pair.house, held)[0] == "loin"


def test_a_swap_of_both_books_that_both_take_back_is_no_question(pair: Pair, three: tuple[str, str, str]) -> None:
    held, one, _ = three
    was = facts(pair.house, held)
    pair.house.ok("swap", held, one)
    shutil.copy(file(pair.house), pair.house.folder / "again.book")
    pair.cabin.ok("import", "--merge", "again.book")
    pair.house.ok("undo")
    pair.cabin.ok("undo", str(pair.cabin.ok("undo", "--list", "--json").json["acts"][0]["act"]))
    pair.both_ways()
    assert facts(pair.house, held) == was


def test_swaps_of_other_packs_are_joined(pair: Pair, three: tuple[str, str, str]) -> None:
    held, one, two = three
    other = chops(pair.house)[5]
    was = {code: facts(pair.house, code) for code in three}
    pair.house.ok("swap", held, one)
    pair.cabin.ok("swap", two, other)
    pair.both_ways()
    assert facts(pair.house, held) == was[one]
    assert facts(pair.house, other) == was[two]


def test_who_took_a_correction_back_is_not_asked(pair: Pair, three: tuple[str, str, str]) -> None:
    one = three[1]
    pair.cabin.ok("fix", one, "--weight", "1.4")
    pair.house.at("2026-12-05T22:00").ok("fix", one, "--weight", "1.7")
    pair.house.at("2026-12-05T22:01").ok("undo")
    pair.both_ways()
    assert row(pair.house, one)["net_g"] == 635.029
    assert "as decided" not in pair.house.ok("history", one).told
