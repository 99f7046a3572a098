"""Two books that each joined the other with other answers: asked again, and the same from then on."""

from __future__ import annotations

import shutil
from collections.abc import Callable

import pytest

from freezerbox.book.schema import ANSWERED, SIGN
from freezerbox.book.transfer import book_of_rows, file_rows
from tests.cli.process import House
from tests.conftest import StoppedClock, seeded_chance
from tests.keeping.houses import check, chops
from tests.keeping.pairs import Pair, file, told

Words = tuple[str, ...]
SAME, OTHER_NAME = ("--same", "{0}"), ("--rename", "{0}={1}")


def both(pair: Pair, *words: str) -> None:
    for house in (pair.house, pair.cabin):
        house.ok(*words)


def two_animals(pair: Pair) -> None:
    for house, tag, freezer in ((pair.house, "4471", "Garage chest"), (pair.cabin, "4472", "Cabin")):
        house.ok("animal", "add", "26C", "whitetail buck", "--tag", tag, "--test", "pending")
        house.ok("pack", "stew", "1", "--animal", "26C", "--freezer", freezer)
        house.ok("result", "26C", "not-detected", "--yes")
        house.ok("animal", "set", "26C", "--note", f"tag {tag}")


def two_freezers(pair: Pair) -> None:
    both(pair, "freezer", "add", "Shed")
    both(pair, "pack", "hock", "2", "--animal", "26H", "--freezer", "Shed")


def two_places(pair: Pair) -> None:
    both(pair, "place", "add", "T\u00fcr", "--freezer", "Cabin")
    both(pair, "pack", "hock", "2", "--animal", "26H", "--place", "T\u00fcr")


def two_people(pair: Pair) -> None:
    for house, code in zip((pair.house, pair.cabin), chops(pair.house), strict=False):
        house.ok("give", code, "--to", "Marta")


def one_weight(pair: Pair) -> None:
    code = chops(pair.house)[0]
    for house, weight in ((pair.house, "1.4"), (pair.cabin, "1.5")):
        house.ok("fix", code, "--weight", weight)


def one_setting(pair: Pair) -> None:
    pair.house.ok("settings", "units", "kg")
    pair.cabin.ok("settings", "units", "lb-oz")


def one_origin(pair: Pair) -> None:
    code = chops(pair.house)[0]
    for house, animal in ((pair.house, "26C"), (pair.cabin, "26D")):
        house.ok("animal", "add", animal, "pig")
        house.ok("fix", code, "--animal", animal)


def one_package(pair: Pair) -> None:
    code = chops(pair.house)[0]
    pair.house.ok("take", code)
    pair.cabin.at("2026-12-04T20:00").ok("take", code, "--as", "given")


def one_label(pair: Pair) -> None:
    pair.house.ok("adopt", "K7P3MT", "--cut", "hock", "--species", "pork", "--freezer", "Garage chest")
    pair.cabin.ok("adopt", "K7P3MT", "--cut", "shank", "--animal", "26B", "--freezer", "Cabin", "--on", "4 dec")


OURS, THEIRS = ("--prefer", "ours"), ("--prefer", "theirs")


def name_answers(name: str, mine: str, other: str) -> list[tuple[Words, Words]]:
    """What the house says, and what the cabin says, of two of one name."""
    same, renamed, again = ("--same", name), ("--rename", f"{name}={mine}"), ("--rename", f"{name}={other}")
    return [(same, renamed), (renamed, same), (renamed, renamed), (renamed, again)]


CASES: list[tuple[Callable[[Pair], None], Words, Words]] = [
    *((two_animals, *one) for one in name_answers("animal 26C", "26E", "26F")),
    *((two_freezers, *one) for one in name_answers("freezer Shed", "Old shed", "New shed")),
    *((two_places, *one) for one in name_answers("place T\u00dcR", "Old door", "New door")),
    *((two_people, *one) for one in name_answers("person Marta", "Old Marta", "New Marta")),
    *(
        (case, side, side)
        for case in (one_weight, one_setting, one_origin, one_package, one_label)
        for side in (OURS, THEIRS)
    ),
]


def everything(house: House) -> list[str]:
    """What people see of a book, and everything in it."""
    seen = [house.ok(*words).out for words in (("rotation",), ("balance",), ("animal",), ("place",), ("freezer",))]
    return [*seen, *told(house)]


@pytest.mark.parametrize("side", ["ours", "theirs"])
@pytest.mark.parametrize(
    ("case", "here", "there"), CASES, ids=lambda one: one.__name__ if callable(one) else " ".join(one)
)
def test_two_answers_to_one_question_are_asked_again(
    pair: Pair, case: Callable[[Pair], None], here: Words, there: Words, side: str
) -> None:
    case(pair)
    shutil.copy(file(pair.house), pair.house.folder / "house before.book")
    shutil.copy(file(pair.cabin), pair.house.folder / "cabin before.book")
    pair.join(*here)
    pair.cabin.ok("import", "--merge", "house before.book", *there)
    check(pair.cabin, file(pair.cabin))
    assert everything(pair.house) != everything(pair.cabin)
    alone = everything(pair.house if side == "ours" else pair.cabin)[:5]
    refused = pair.house.refused("import", "--merge", "cabin.book")
    assert "Decide each" in refused.said
    assert pair.cabin.call("import", "--merge", "house.book").status == 1
    shutil.copy(file(pair.house), pair.house.folder / "house apart.book")
    pair.join("--prefer", side)
    pair.cabin.ok("import", "--merge", "house apart.book", "--prefer", "theirs" if side == "ours" else "ours")
    check(pair.cabin, file(pair.cabin))
    assert everything(pair.house) == everything(pair.cabin)
    assert everything(pair.house)[:5] == alone
    pair.same_again()


def test_what_was_decided_in_the_other_book_is_told(pair: Pair) -> None:
    """The cabin was asked nothing, and hears what holds now, and what it said itself."""
    two_animals(pair)
    one_weight(pair)
    one_setting(pair)
    first, code = chops(pair.house)[:2]
    pair.house.ok("take", code)
    pair.cabin.ok("give", code, "--to", "Otto")
    pair.join("--rename", "animal 26C=26E", "--prefer", "ours")
    said = pair.cabin.ok("import", "--merge", "house.book").told
    assert "animal 26C: two, one of them (whitetail, buck) called 26E, as decided in the other book." in said
    shown = f"{code[:3]}-{code[3:]}"
    assert f"{shown}: eaten on 5 Dec, as decided in the other book; here it was given away on 5 Dec." in said
    shown = f"{first[:3]}-{first[3:]}"
    assert f"package {shown} weight: 1 lb 6.4 oz, as decided in the other book; here it was 1 lb 8 oz." in said
    assert "setting units: kg, as decided in the other book; here it was lb-oz." in said
    # Once told, it is no news.
    assert pair.cabin.ok("import", "--merge", "house.book", "--json").json["taken"] == []
    pair.cabin.ok("fix", first, "--weight", "0.7")
    assert pair.house.ok("import", "--merge", "cabin.book", "--json").json["taken"] == []


def forget_answers(house: House) -> None:
    """The book as a join left it that wrote down no answer about names."""
    path = file(house)
    rows = file_rows(path)
    joins = {row["id"] for table, row in rows if table == "act" and row["kind"] == "join"}
    kept = [
        (table, row)
        for table, row in rows
        if not (table == "act" and row["id"] in joins)
        and not (row.get("act_id") in joins and table == "change" and row["subject_kind"] in (ANSWERED, SIGN))
    ]
    path.unlink()
    book_of_rows(path, kept, chance=seeded_chance(), now=StoppedClock().stamp, check=lambda book: None)


@pytest.mark.parametrize("side", ["ours", "theirs"])
@pytest.mark.parametrize(
    ("here", "there"), [one for one in name_answers("animal 26C", "26E", "26F") if one[0] != one[1]]
)
def test_animals_that_differ_though_nobody_wrote_down_why_are_asked(
    pair: Pair, here: Words, there: Words, side: str
) -> None:
    """Both books hold the same acts; the join before wrote no answer."""
    two_animals(pair)
    shutil.copy(file(pair.house), pair.house.folder / "house before.book")
    shutil.copy(file(pair.cabin), pair.house.folder / "cabin before.book")
    pair.join(*here)
    pair.cabin.ok("import", "--merge", "house before.book", *there)
    for house in (pair.house, pair.cabin):
        forget_answers(house)
        check(house, file(house))
    alone = everything(pair.house if side == "ours" else pair.cabin)[:5]
    assert "animal 26" in pair.house.refused("import", "--merge", "cabin.book").said
    shutil.copy(file(pair.house), pair.house.folder / "house apart.book")
    pair.join("--prefer", side)
    pair.cabin.ok("import", "--merge", "house apart.book", "--prefer", "theirs" if side == "ours" else "ours")
    assert everything(pair.house) == everything(pair.cabin)
    assert everything(pair.house)[:5] == alone
    pair.same_again()
