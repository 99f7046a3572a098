"""Packages under words of the household's own: chili is a cooked dish to the trade, and chili to those who eat it."""

from __future__ import annotations

from pathlib import Path

import pytest

from freezerbox.chores.find import find
from freezerbox.chores.fix import Corrections, fix
from freezerbox.chores.guide import guide_named, set_own
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label_words import content_of
from freezerbox.chores.own_words import add_word
from freezerbox.chores.pack import prepare, write
from freezerbox.chores.rotation import rotation
from freezerbox.chores.rows import Row, Rows, as_json
from freezerbox.chores.table import pack_table
from freezerbox.errors import InputError, UnknownWord


def packed(kitchen: Kitchen, cut: str, **more: str) -> Row:
    return write(kitchen, prepare(kitchen, Words(cut=cut, **more), ["2"])).rows[0]  # type: ignore[arg-type]


def now(kitchen: Kitchen, row: Row) -> Row:
    return Rows(kitchen.afresh()).of_codes([row.code])[0]


def found(kitchen: Kitchen, words: str) -> set[str]:
    return {row.code for row in find(kitchen.afresh(), words).rows}


@pytest.mark.parametrize(
    ("typed", "name", "key"),
    [
        ("chili", "chili", "cooked-dish"),
        ("Venison  Chilli", "Venison Chilli", "cooked-dish"),
        ("lasagne portions", "lasagne portions", "cooked-dish"),
        ("cooked dish", "Cooked dish", "cooked-dish"),
        ("bone broth", "bone broth", "stock"),
        ("hot italian", "hot Italian sausage", "italian-sausage"),
        ("hot italian links", "hot italian links", "italian-sausage"),
        ("bs", "Backstrap", "backstrap"),
    ],
)
def test_the_word_that_says_more_than_the_cut_is_the_name(kitchen: Kitchen, typed: str, name: str, key: str) -> None:
    row = packed(kitchen, typed)
    assert (as_json(row)["cut_name"], as_json(row)["cut"]) == (name, key)
    assert content_of(kitchen, row).cut == name


def test_a_form_said_apart_stands_behind_the_name(kitchen: Kitchen) -> None:
    assert packed(kitchen, "chili", form="portions").cut_name == "chili portions"
    assert packed(kitchen, "other", other="pesto", form="portions").cut_name == "pesto portions"


def test_each_dish_is_found_by_its_own_word_and_the_others_lie_nearby(kitchen: Kitchen) -> None:
    chili, lasagne = packed(kitchen, "chili"), packed(kitchen, "lasagne")
    other, plain = packed(kitchen, "other", other="Grandma's red chili"), packed(kitchen, "cooked dish")
    assert found(kitchen, "chili") == found(kitchen, "chilli") == {chili.code, other.code}
    assert found(kitchen, "lasagna") == {lasagne.code}
    assert found(kitchen, "cooked dish") == {chili.code, lasagne.code, plain.code}
    assert {row.code for row in find(kitchen.afresh(), "chili").nearby} >= {lasagne.code, plain.code}
    assert {row.code for row in rotation(kitchen.afresh(), cut="chili").rows} == {chili.code}


def test_a_word_taught_for_a_dish_is_kept_and_one_for_a_cut_is_not(kitchen: Kitchen) -> None:
    add_word(kitchen, "grandma's hash", "cooked dish")
    add_word(kitchen.afresh(), "deer burger", "ground")
    assert packed(kitchen.afresh(), "Grandma's hash").cut_name == "Grandma's hash"
    assert packed(kitchen.afresh(), "deer burger").cut_name == "Ground"


def test_a_table_keeps_the_words_too(kitchen: Kitchen, tmp_path: Path) -> None:
    table = tmp_path / "evening.csv"
    table.write_text("cut,weight,other\nchili,2,\nother,1,pesto\nother goulash,1.5,\n", encoding="utf-8")
    assert [row.cut_name for row in pack_table(kitchen, table).rows] == ["chili", "pesto", "goulash"]


def test_fix_gives_and_takes_the_name(kitchen: Kitchen) -> None:
    row = packed(kitchen, "chili")
    for cut, name in (("lasagne", "lasagne"), ("soup", "Soup"), ("curry", "curry"), ("backstrap", "Backstrap")):
        fix(kitchen.afresh(), row.code, Corrections(cut=cut))
        assert now(kitchen, row).cut_name == name
    fix(kitchen.afresh(), row.code, Corrections(cut="chili"))
    fix(kitchen.afresh(), row.code, Corrections(form="portions"))
    assert now(kitchen, row).cut_name == "chili portions"


def test_months_set_for_a_name_hold_for_what_is_called_so_and_nothing_else(kitchen: Kitchen) -> None:
    chili, other = packed(kitchen, "chili"), packed(kitchen, "other", other="red chilli")
    lasagne, pesto = packed(kitchen, "lasagne"), packed(kitchen, "other", other="pesto")
    before = now(kitchen, lasagne).best_by
    row = set_own(kitchen.afresh(), "chilli", "4", "9")
    assert (row.called, row.keeping.months()) == ("chili", "4-9 months")
    assert [now(kitchen, one).months_max for one in (chili, other)] == [9, 9]
    assert now(kitchen, lasagne).best_by == before
    assert now(kitchen, pesto).best_by is None
    set_own(kitchen.afresh(), "Pesto", "2", "5")
    assert now(kitchen, pesto).months_max == 5
    assert [one.called for one in guide_named(kitchen.afresh(), "").rows if one.called] == ["chili", "pesto"]
    assert [one.called for one in guide_named(kitchen.afresh(), "refrigeration-1972").rows if one.called]
    assert {one.code for one in rotation(kitchen.afresh()).rows} >= {chili.code, other.code, pesto.code}
    assert rotation(kitchen.afresh()).no_figure == ()


def test_months_for_a_cut_go_on_being_for_the_cut(kitchen: Kitchen) -> None:
    ground = packed(kitchen, "ground", species="whitetail")
    set_own(kitchen.afresh(), "ground venison", "4", "6")
    assert now(kitchen, ground).months_max == 6


def test_a_misspelled_cut_is_no_name_unless_a_package_has_it(kitchen: Kitchen) -> None:
    with pytest.raises(UnknownWord, match="Did you mean ground"):
        set_own(kitchen, "grond", "3", "4")
    packed(kitchen, "other", other="grond")
    assert set_own(kitchen.afresh(), "grond", "3", "4").called == "grond"
    for months in ("-1", "x", "1.5"):
        with pytest.raises(InputError, match="is not a number of months"):
            set_own(kitchen.afresh(), "chili", months, "3")


def test_a_name_that_holds_the_word_of_a_cut_takes_nothing_from_the_cut(kitchen: Kitchen) -> None:
    named = packed(kitchen, "other", other="bacon ground mix")
    ground, bacon = packed(kitchen, "ground", species="whitetail"), packed(kitchen, "bacon", species="pig")
    for words in ("ground", "bacon"):
        assert set_own(kitchen.afresh(), words, "1", "2").called == ""
    assert [now(kitchen, one).months_max for one in (ground, bacon, named)] == [2, 2, None]
    # The whole name, in any spelling, is the name; so is a part of it that is nothing else.
    assert set_own(kitchen.afresh(), "Bacon-Ground  mix", "1", "3").called == "bacon ground mix"
    assert now(kitchen, named).months_max == 3
    assert set_own(kitchen.afresh(), "mix", "1", "5").called == "mix"
