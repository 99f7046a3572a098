"""What both books say alike is no question, and what is told of a package is the day of the deed, not of the join."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from tests.cli.process import House
from tests.keeping.houses import check, chops
from tests.keeping.pairs import Pair, file, row, told


@pytest.mark.parametrize(
    "words", [("take", "{0}", "--on", "4 dec"), ("give", "{0}", "--to", "Otto", "--on", "4 dec"), ("lost", "{0}")]
)
def test_the_same_said_in_both_books_is_no_question(pair: Pair, words: tuple[str, ...]) -> None:
    code = chops(pair.house)[0]
    for house in (pair.house, pair.cabin):
        house.ok(*(word.format(code) for word in words))
    same = ("--same", "person Otto") if words[0] == "give" else ()
    pair.both_ways(same, same)
    for house in (pair.house, pair.cabin):
        assert row(house, code)["quantity"] == 0
        history = house.ok("history", code).told
        assert history.count("(in both books)") == 1
        assert "overruled" not in history
        assert "as decided" not in history


def test_one_place_said_in_both_books_is_no_question(pair: Pair) -> None:
    code = chops(pair.house)[0]
    pair.house.ok("move", code, "--to", "red bag")
    pair.cabin.at("2026-12-04T20:00").ok("move", code, "--to", "red bag")
    pair.both_ways()
    assert row(pair.cabin, code)["place"] == "red bag"


@pytest.mark.parametrize(
    "other",
    [
        ("take", "{0}", "--on", "3 dec"),
        ("give", "{0}", "--to", "Marta", "--on", "4 dec"),
        ("discard", "{0}", "--on", "4 dec"),
        ("move", "{0}", "--to", "red bag"),
    ],
)
def test_another_day_way_or_place_is_a_question(pair: Pair, other: tuple[str, ...]) -> None:
    code = chops(pair.house)[0]
    pair.house.ok("take", code, "--on", "4 dec")
    pair.cabin.ok(*(word.format(code) for word in other))
    assert f"--ours '{code[:3]}-{code[3:]}'" in pair.house.refused("import", "--merge", "cabin.book").said


def son(pair: Pair) -> House:
    letter = next(one for one in "QRS" if one != chops(pair.house)[0][0])
    pair.house.ok("backup", "--for", "son", "--letter", letter)
    more = {"FREEZERBOX_BOOK": str(pair.house.folder / "son.book"), "FREEZERBOX_STATION": "son"}
    return replace(pair.house, seed="son", more=more, now="2026-12-05T22:00")


def joined(pair: Pair, name: str, others: tuple[str, str]) -> House:
    """The house's book as it stands, with the others joined into it one after the other; the house is right."""
    path = pair.house.folder / f"{name}.book"
    shutil.copy(file(pair.house), path)
    house = replace(pair.house, more={"FREEZERBOX_BOOK": str(path), "FREEZERBOX_STATION": "kitchen"})
    for other in others:
        house.ok("import", "--merge", f"{other}.book", "--prefer", "ours")
    return house


def test_the_same_answers_in_two_orders_are_one(pair: Pair) -> None:
    """Given away, eaten or discarded: the house is right, whoever is joined first."""
    boy, (code, other) = son(pair), chops(pair.house)[:2]
    shown = f"{code[:3]}-{code[3:]}"
    pair.house.ok("give", code, "--to", "Marta", "--on", "3 dec")
    pair.house.ok("move", other, "--to", "red bag")
    pair.cabin.ok("take", code, "--on", "4 dec")
    pair.cabin.ok("take", other, "--on", "4 dec")
    boy.ok("discard", code, "--on", "5 dec")
    boy.ok("take", other, "--on", "5 dec")
    one, two = joined(pair, "one", ("cabin", "son")), joined(pair, "two", ("son", "cabin"))
    asked = two.call("import", "--merge", "cabin.book")
    assert asked.status == 0
    before = Path(file(one)).read_bytes()
    one.ok("import", "--merge", "two.book")
    (pair.house.folder / "before.book").write_bytes(before)
    two.ok("import", "--merge", "before.book")
    assert told(one) == told(two)
    for house in (one, two):
        check(house, file(house))
        history = house.ok("history", code).told
        assert history.count("as decided: gone: given to Marta on 3 Dec") == 1
        assert history.count("given to Marta") == 2
        assert "given away on 3 Dec, 2 days ago" in house.call("put-back", code).said
        assert "given away on 3 Dec" in house.ok("find", "loin chops", "--gone").told
    # The cabin hears it, and who goes on there is asked about the deed and not about the join.
    heard = pair.cabin.ok("import", "--merge", "one.book").told
    assert f"{shown}: given away on 3 Dec, as decided in the other book; here it was eaten on 4 Dec." in heard


def test_a_question_after_a_join_names_the_day_of_the_deed(pair: Pair) -> None:
    boy, code = son(pair), chops(pair.house)[0]
    pair.house.ok("give", code, "--to", "Marta", "--on", "3 dec")
    pair.cabin.ok("take", code, "--on", "4 dec")
    pair.join("--prefer", "ours")
    boy.ok("discard", code, "--on", "5 dec")
    refused = pair.house.refused("import", "--merge", "son.book").said
    assert "here given away on 3 Dec; there discarded on 5 Dec" in refused
    pair.house.ok("import", "--merge", "son.book", "--prefer", "theirs")
    history = pair.house.ok("history", code).told
    assert "as decided: gone: given to Marta" not in history
    assert "as decided: gone: discarded" in history


def lot_of_both(pair: Pair) -> str:
    """A lot of ten that both books have, packed before they parted."""
    (pair.house.folder / "cabin.book").unlink()
    words = ("pack", "ground", "--lot", "10", "--each", "1", "--species", "deer", "--json")
    lot = str(pair.house.at("2026-11-29T21:00").ok(*words).json["packages"][0]["code"])
    pair.house.ok("backup", "--for", "cabin")
    return lot


def test_of_a_lot_the_takings_are_told(pair: Pair) -> None:
    lot = lot_of_both(pair)
    pair.house.ok("take", lot, "6", "--on", "3 dec")
    pair.cabin.ok("give", lot, "6", "--to", "Otto", "--on", "4 dec")
    pair.join("--prefer", "ours")
    said = pair.cabin.ok("import", "--merge", "house.book").told
    assert "6 eaten on 3 Dec, as decided in the other book; here it was 6 given away on 4 Dec." in said


def test_two_answers_about_a_lot_never_both_count(pair: Pair) -> None:
    """Each book is right for itself: asked again, and what is left is what the one who is right left."""
    lot = lot_of_both(pair)
    pair.house.ok("take", lot, "6", "--on", "3 dec")
    pair.cabin.ok("give", lot, "7", "--to", "Otto", "--on", "4 dec")
    shutil.copy(file(pair.house), pair.house.folder / "house alone.book")
    pair.join("--prefer", "ours")
    pair.cabin.ok("import", "--merge", "house alone.book", "--prefer", "ours")
    assert (row(pair.house, lot)["quantity"], row(pair.cabin, lot)["quantity"]) == (4, 3)
    refused = pair.house.refused("import", "--merge", "cabin.book").said
    assert "here 6 eaten on 3 Dec; there 7 given away on 4 Dec" in refused
    pair.both_ways(("--prefer", "ours"), ("--prefer", "theirs"))
    assert (row(pair.house, lot)["quantity"], row(pair.cabin, lot)["quantity"]) == (4, 4)


def test_the_same_answers_about_a_lot_in_two_orders_count_once(pair: Pair) -> None:
    boy = son(pair)
    words = ("pack", "ground", "--lot", "10", "--each", "1", "--species", "deer", "--json")
    lot = str(pair.house.at("2026-12-05T20:00").ok(*words).json["packages"][0]["code"])
    shutil.copy(file(pair.house), pair.house.folder / "with lot.book")
    for house in (pair.cabin, boy):
        house.ok("import", "--merge", "with lot.book")
    pair.house.ok("take", lot, "6")
    pair.cabin.ok("give", lot, "6", "--to", "Otto")
    boy.ok("take", chops(pair.house)[0])
    pair.house.ok("give", chops(pair.house)[0], "--to", "Marta")
    one, two = joined(pair, "one", ("cabin", "son")), joined(pair, "two", ("son", "cabin"))
    before = Path(file(one)).read_bytes()
    one.ok("import", "--merge", "two.book")
    (pair.house.folder / "before.book").write_bytes(before)
    two.ok("import", "--merge", "before.book")
    assert told(one) == told(two)
    for house in (one, two):
        assert row(house, lot)["quantity"] == 4
