"""The tables themselves: stable numbers, no dangling keys, every row with its source."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from decimal import Decimal
from importlib.resources import files
from pathlib import Path

import pytest

from freezerbox.errors import UnknownWord
from freezerbox.food import kinds
from freezerbox.food.cuts import (
    cut,
    cut_by_number,
    cuts,
    form,
    form_by_number,
    forms,
    keeps_as,
    species,
    species_by_number,
    species_list,
)
from freezerbox.food.kinds import cell_list, in_use
from freezerbox.food.tables import read_rows

STABLE = Path(__file__).with_name("stable_numbers.txt")
CLASSES = {"big-game", "beef", "pork", "lamb", "poultry", "game-bird", "small-game", "fish", "other"}
GROUPS = """deer-family bear wild-pig other-game small-game game-bird beef veal pork lamb goat chicken turkey
duck-goose fish-lean fish-fatty fish-other other"""
KEEPS = """steak chop roast ground stew organ raw-sausage smoked-sausage hard-sausage bacon ham-cooked ham-fresh
ham-cured corned cooked-dish soup-broth whole pieces giblets cooked-poultry fish fish-cooked fish-smoked jerky trim
bones fat other"""
TABLES = ("cuts.csv", "forms.csv", "species.csv", "words.csv", "packs.csv", "sex_age.csv")


def test_no_number_on_an_old_label_has_changed_its_meaning() -> None:
    """The golden list only ever grows; a line of it that is gone or differs breaks labels already in freezers."""
    now = {
        f"{what} {row['number']} {row['key']}"
        for what in ("cuts", "forms", "species")
        for row in read_rows(f"{what}.csv")
    }
    written = STABLE.read_text(encoding="utf-8").splitlines()
    assert set(written) <= now, "these were renumbered or deleted"
    assert now <= set(written), "new rows: add them at the end of stable_numbers.txt"
    assert len(written) == len(set(written))


@pytest.mark.parametrize(
    ("name", "largest"),
    [
        ("cuts.csv", kinds.LARGEST_CUT_NUMBER),
        ("forms.csv", kinds.LARGEST_FORM_NUMBER),
        ("species.csv", kinds.LARGEST_SPECIES_NUMBER),
    ],
)
def test_keys_and_numbers_are_unique_and_fit_the_label(name: str, largest: int) -> None:
    rows = read_rows(name)
    numbers = [int(row["number"]) for row in rows]
    assert len({row["key"] for row in rows}) == len(rows) == len(set(numbers))
    assert min(numbers) >= 1
    assert max(numbers) <= largest


def test_numbers_lead_back_to_their_rows_and_nought_to_none() -> None:
    assert all(cut_by_number(each.number) == each for each in cuts())
    assert all(form_by_number(each.number) == each for each in forms())
    assert all(species_by_number(each.number) == each for each in species_list())
    assert (cut_by_number(0), form_by_number(0), species_by_number(0)) == (None, None, None)
    for look_up in (cut_by_number, form_by_number, species_by_number):
        with pytest.raises(UnknownWord, match="later version"):
            look_up(9999)


def test_keys_lead_to_their_rows() -> None:
    assert all(cut(each.key) == each for each in cuts())
    for look_up in (cut, form, species):
        with pytest.raises(UnknownWord, match="'no-such-key'"):
            look_up("no-such-key")


def test_a_retired_cut_leads_to_what_took_its_place() -> None:
    old = replace(cut("skirt"), key="inside-skirt", number=200, retired_to="outside-skirt")
    middle = replace(cut("skirt"), key="outside-skirt", number=201, retired_to="skirt")
    table = {each.key: each for each in (old, middle, cut("skirt"))}
    assert in_use(old, table) == in_use(middle, table) == in_use(cut("skirt"), table) == cut("skirt")


@pytest.mark.parametrize("name", TABLES)
def test_every_row_names_a_known_source_and_has_no_stray_cells(name: str) -> None:
    sources = tomllib.loads(files("freezerbox.food").joinpath("tables", "sources.toml").read_text(encoding="utf-8"))
    for row in read_rows(name):
        assert row["source_id"] in sources, row
        assert row["locator"], row
        assert all(isinstance(cell, str) and cell == cell.strip() for cell in row.values()), row


def test_cells_hold_only_words_the_program_knows() -> None:
    animals = {each.key for each in species_list()}
    for each in cuts():
        assert set(each.klasses) <= CLASSES | animals, each.key
        assert each.keeps_as in KEEPS.split(), each.key
        assert each.cue in ("fast", "slow", "grind", "either", "dry", ""), each.key
        assert all(cut(key) != each for key in each.near), each.key
        assert all(form(key) for key in each.forms), each.key
        assert all(keeps_as(each, form(key)) in KEEPS.split() for key in each.forms), each.key
        assert each.meaning, each.key
        assert bool(each.piece) == bool(each.pieces), each.key
    for kind in species_list():
        assert kind.klass in CLASSES, kind.key
        assert kind.guide_group in GROUPS.split(), kind.key
        assert not kind.kind_of or species(kind.kind_of), kind.key
    for shape in forms():
        assert not shape.keeps_as or shape.keeps_as in KEEPS.split()
        assert set(shape.keeps_as_over) <= set(KEEPS.split())
        assert bool(shape.keeps_as) == bool(shape.keeps_as_over)


def test_words_name_rows_that_exist_and_either_ask_or_tell() -> None:
    animals = {each.key for each in species_list()}
    for row in read_rows("words.csv"):
        assert set(cell_list(row["klasses"])) <= CLASSES | animals, row
        assert (row["ask"] == "yes") == bool(row["choices"]) == (not row["cut"]), row
        if row["cut"]:
            assert cut(row["cut"])
        if row["form"]:
            assert form(row["form"])


def test_sex_words_name_species_that_exist() -> None:
    assert all(species(key) for row in read_rows("sex_age.csv") for key in cell_list(row["alone"]))


def test_packs_run_from_less_to_more_for_cuts_that_exist() -> None:
    seen = set()
    for row in read_rows("packs.csv"):
        assert cut(row["cut"])
        assert row["size"] in ("", "big")
        assert Decimal(0) < Decimal(row["lo_lb"]) <= Decimal(row["hi_lb"]), row
        for klass in cell_list(row["klasses"]):
            assert (row["cut"], klass, row["size"]) not in seen, row
            seen.add((row["cut"], klass, row["size"]))


def test_cautions_named_by_species_exist() -> None:
    cautions = tomllib.loads(files("freezerbox.food").joinpath("tables", "cautions.toml").read_text(encoding="utf-8"))
    named = {each.key: each.caution for each in species_list() if each.caution}
    assert named == {"bear": "cook-through", "wild-pig": "cook-through"}
    assert set(named.values()) <= set(cautions)


def test_what_is_not_for_people_and_what_holds_backbone() -> None:
    assert {each.key for each in cuts() if each.not_for_people} == {"dog-scraps", "dog-bones", "bait", "hide"}
    spine = {each.key for each in cuts() if each.spine_bone}
    assert {"neck", "saddle", "neck-bones", "t-bone", "half-carcass"} <= spine
    assert not spine & {"backstrap", "tenderloin", "ground", "shank"}
