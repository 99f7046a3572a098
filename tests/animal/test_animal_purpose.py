"""Trim and whole pieces that wait to be made into something: a purpose is no reservation."""

from __future__ import annotations

import pytest

from freezerbox.chores import find, grind, pack, wording
from freezerbox.chores.chronicle import of_thing
from freezerbox.chores.header import Words
from freezerbox.chores.label_words import content_of
from freezerbox.chores.rows import Row
from freezerbox.core.records import Reason
from freezerbox.errors import UnknownRecord
from freezerbox.food import cuts, uses
from tests.conftest import Stocked


def packed(stocked: Stocked, cut: str, kept_for: str, species: str = "whitetail") -> Row:
    kitchen, words = stocked.kitchen.afresh(), Words(cut=cut, species=species, reserved_for=kept_for)
    return pack.write(kitchen, pack.prepare(kitchen, words, ["5"]), yes=True).rows[0]


@pytest.mark.parametrize(
    ("cut", "kept_for", "said"),
    [
        ("trim", "grind later", "to grind later"),
        ("trim", "to grind", "to grind"),
        ("trim", "sausage", "for sausage"),
        ("trim", "Italian sausage in January", "for Italian sausage in January"),
        ("trim", "jerky", "for jerky"),
        ("belly", "smoke", "to smoke"),
        ("fresh-ham", "cure and smoke next winter", "to cure and smoke next winter"),
        ("carcass-quarter", "cut up later", "to cut up later"),
        # Kept for a meal or for somebody, whatever is to be cooked of it.
        ("trim", "Ben", ""),
        ("backstrap", "summer party", ""),
        ("backstrap", "sausage breakfast Sunday", ""),
        ("backstrap", "later", ""),
        ("backstrap", "", ""),
    ],
)
def test_what_is_a_purpose_and_what_a_reservation(cut: str, kept_for: str, said: str) -> None:
    assert uses.making(kept_for, cuts.cut(cut)) == said


def test_trim_to_grind_is_listed_and_counted(stocked: Stocked) -> None:
    trim = packed(stocked, "trim", "grind later")
    kept = packed(stocked, "trim", "Ben")
    found = find.find(stocked.kitchen.afresh(), "trim")
    assert ([row.code for row in found.rows], found.totals.packages) == ([trim.code], 1)
    assert [row.code for row in found.reserved] == [kept.code]
    assert wording.for_words(trim.package) == "to grind later"
    assert content_of(stocked.kitchen.afresh(), trim).note == "to grind later"
    # Asked for, both are shown.
    asked = find.find(stocked.kitchen.afresh(), "trim", reserved=True)
    assert {row.code for row in asked.rows} == {trim.code, kept.code}


def test_a_batch_has_a_history(stocked: Stocked) -> None:
    from freezerbox.chores.take import take

    trim = packed(stocked, "trim", "grind later")
    asked = grind.Asked(packages=[trim.code], weights=["2", "2"], words=Words(cut="fresh sausage"), recipe="Italian")
    made = grind.make(stocked.kitchen.afresh(), asked, yes=True).rows
    take(stocked.kitchen.afresh(), made[0].code, Reason.EATEN)
    chapter = of_thing(stocked.kitchen.afresh(), "g26-1")
    assert chapter.title == "batch G26-1, Italian"
    assert [act.kind for act in chapter.acts] == ["grind", "take"]
    assert of_thing(stocked.kitchen.afresh(), "G26-1", "1 dec").acts == ()
    with pytest.raises(UnknownRecord, match="batch such as G26-1"):
        of_thing(stocked.kitchen.afresh(), "G26-9")
