"""Books joined that were one book once, copied as a file: both drew the same codes."""

from __future__ import annotations

import re
import shutil

import pytest

from tests.cli.process import House, dump
from tests.keeping.houses import chops
from tests.keeping.pairs import Pair, file, row, told


def plain_copy(pair: Pair) -> str:
    """A copy without --for goes on with the house's letter and walk: the same code for another package."""
    shutil.copy(file(pair.house), file(pair.cabin))
    words = ("1", "--animal", "26H", "--freezer", "Garage chest", "--json")
    ours = pair.house.ok("pack", "hock", *words).json["packages"][0]["code"]
    theirs = pair.cabin.ok("pack", "fresh ham steaks", *words).json["packages"][0]["code"]
    assert isinstance(ours, str)
    assert ours == theirs
    return ours


def in_the_freezer(house: House) -> dict[str, str]:
    return {one["code"]: one["cut"] for one in house.ok("find", "everything", "--json").json["rows"]}


@pytest.mark.parametrize("here", [True, False])
def test_plain_copies_that_issued_one_code(pair: Pair, here: bool) -> None:
    """The refusal says what to do, and then they are joined, with all that was said of the one that stays."""
    code = plain_copy(pair)
    pair.cabin.ok("fix", code, "--note", "thick")
    pair.cabin.ok("fix", code, "--note", "")
    pair.cabin.ok("move", code, "--to", "Cabin")
    before = dump(file(pair.house)), dump(file(pair.cabin))
    one, other = (pair.house, "cabin.book") if here else (pair.cabin, "house.book")
    refused = one.call("import", "--merge", other)
    assert (refused.status, refused.out) == (1, "")
    assert f"both books issued {code[:3]}-{code[3:]} for different packages" in refused.said
    # A refusal changes nothing at all, not even where the next code is drawn from; the undo it proposes does.
    assert (dump(file(pair.house)), dump(file(pair.cabin))) == before
    if not here:
        # Said of the book it is joined into; this one was worked in since, so the house takes its own back instead.
        one = pair.house
        refused = one.call("import", "--merge", "cabin.book")
    advice = re.search(r"\(freezerbox undo (\d+)\)", refused.said)
    assert advice
    one.ok("undo", advice[1])
    again = one.ok("pack", "hock", "1", "--animal", "26H", "--freezer", "Garage chest", "--json").json["packages"][0]
    # The cabin goes on: what it draws next is another one.
    third = pair.cabin.ok("pack", "hock", "3", "--animal", "26H", "--freezer", "Cabin", "--json").json["packages"][0]
    pair.both_ways()
    found = in_the_freezer(pair.house)
    assert (found[again["code"]], found[third["code"]]) == ("hock", "hock")
    assert "ham" in found[code]
    assert (row(pair.house, code)["freezer"], row(pair.house, code)["quantity"]) == ("Cabin", 1)
    assert len({code, again["code"], third["code"]}) == 3


def test_a_void_package_leaves_nothing_to_the_one_that_has_its_code(pair: Pair) -> None:
    """What was corrected on it and taken back; where it lay."""
    code = plain_copy(pair)
    for words in (
        ("fix", code, "--note", "thin"),
        ("move", code, "--to", "red bag"),
        ("undo",),
        ("undo",),
        ("undo",),
    ):
        pair.house.ok(*words)
    pair.both_ways()
    one = row(pair.house, code)
    assert (one["note"], one["place"], one["quantity"], one["state"]) == (None, None, 1, "frozen")
    assert "ham" in one["cut"]


def test_one_code_taken_back_in_both(pair: Pair) -> None:
    code = plain_copy(pair)
    pair.house.ok("undo")
    pair.cabin.ok("undo")
    pair.both_ways()
    assert code not in in_the_freezer(pair.house)


def test_plain_copies_joined_before_either_drew_a_code_draw_different_ones(pair: Pair) -> None:
    shutil.copy(file(pair.house), file(pair.cabin))
    pair.cabin.ok("take", chops(pair.cabin)[0])
    pair.house.ok("import", "--merge", "cabin.book")
    words = ("pack", "hock", "1", "--animal", "26H", "--freezer", "Garage chest", "--json")
    assert pair.house.ok(*words).json["packages"][0]["code"] != pair.cabin.ok(*words).json["packages"][0]["code"]


# -- signs -----------------------------------------------------------------------------------------------------------


def two_of_one_sign(pair: Pair) -> str:
    """Plain copies that each added a place, and each put something there: neither is to be taken back."""
    shutil.copy(file(pair.house), file(pair.cabin))
    pair.house.ok("place", "add", "green basket", "--freezer", "Garage chest")
    pair.cabin.at("2026-12-05T21:30").ok("place", "add", "shelf", "--freezer", "Cabin")
    codes = {sign(pair.house, "green basket"), sign(pair.cabin, "shelf")}
    assert len(codes) == 1
    one, other = chops(pair.house)[:2]
    pair.house.ok("move", one, "--to", "green basket")
    pair.cabin.at("2026-12-05T21:30").ok("move", other, "--to", "shelf")
    return codes.pop()


def sign(house: House, place: str) -> str:
    found = house.ok("place", "--json").json["places"]
    return str(next(one["code"] for one in found if one["name"] == place))


def test_two_places_of_one_sign(pair: Pair) -> None:
    """The place that came later gets a code of its own, the same one either way; and it is said: its sign lies."""
    code = two_of_one_sign(pair)
    shutil.copy(file(pair.cabin), pair.house.folder / "before.book")
    said = pair.house.ok("import", "--merge", "before.book").told
    new = sign(pair.house, "shelf")
    assert sign(pair.house, "green basket") == code != new
    assert f"shelf has {new[:3]}-{new[3:]} now; print its sign anew" in said
    assert 'freezerbox sign "shelf"' in said
    found = {one["place"] for one in pair.house.ok("find", "loin chops", "--json").json["rows"]}
    assert found >= {"green basket", "shelf"}
    # The cabin learns of it when it is joined in its turn, and then both are one book.
    pair.cabin.ok("import", "--merge", "house.book")
    assert sign(pair.cabin, "shelf") == new
    assert told(pair.house) == told(pair.cabin)


def test_two_places_of_one_sign_either_way_round(pair: Pair) -> None:
    two_of_one_sign(pair)
    pair.both_ways()


def test_a_sign_parted_before_stays_parted(pair: Pair) -> None:
    """The cabin went on meanwhile under the old code: joined again, its place keeps the new one."""
    two_of_one_sign(pair)
    pair.house.ok("import", "--merge", "cabin.book")
    new = sign(pair.house, "shelf")
    pair.cabin.at("2026-12-06T20:00").ok("move", chops(pair.cabin)[5], "--to", "shelf")
    pair.both_ways()
    assert sign(pair.house, "shelf") == sign(pair.cabin, "shelf") == new
