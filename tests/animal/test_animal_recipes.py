"""The household's own recipes: kept, scaled by the weight of a batch, with dated steps; none is shipped."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from freezerbox.chores import grind, recipes, undo
from freezerbox.chores.cues import making_cues
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.mass import MG_PER_LB
from freezerbox.errors import FreezerboxError, InputError, InvalidMass, Refused, Twin, UnknownRecord
from tests.cli.process import House
from tests.conftest import Stocked

LINES = ("80 g salt", "20 g fennel seed", "2.5% sugar", "a glass of wine")


@pytest.fixture
def italian(kitchen: Kitchen) -> Kitchen:
    recipes.set_recipe(kitchen, " Italian ", "10", LINES, ["cure=7 days", "smoke=10"])
    return kitchen.afresh()


def test_recipe_is_scaled_to_what_there_is(italian: Kitchen) -> None:
    recipe = recipes.find_recipe(italian, "italian")
    assert recipe.scaled(int(Decimal("13.9") * MG_PER_LB)) == (
        "111 g salt", "27.8 g fennel seed", "2.5% sugar", "a glass of wine",
    )  # fmt: skip
    assert recipe.dated(date(2026, 12, 30)) == ((date(2027, 1, 6), "cure"), (date(2027, 1, 9), "smoke"))


def test_batch_of_a_recipe_brings_its_steps_and_undo_takes_them(italian: Kitchen) -> None:
    asked = grind.Asked(
        shop=("pork shoulder=12",), weights=("12x1",), recipe="ITALIAN", words=Words(cut="fresh sausage")
    )
    made = grind.make(italian, asked)
    assert made.plan.recipe == "Italian"
    assert made.plan.scaled[0] == "96 g salt"
    waiting = recipes.waiting(italian.afresh())
    assert [(step.batch, step.what, step.due_on) for step in waiting] == [
        (made.batch, "cure", date(2026, 12, 9)),
        (made.batch, "smoke", date(2026, 12, 12)),
    ]
    recipes.step_done(italian.afresh(), made.batch.lower(), "")
    assert [step.what for step in recipes.waiting(italian.afresh())] == ["smoke"]
    with pytest.raises(Refused, match="No step cure"):
        recipes.step_done(italian.afresh(), made.batch, "cure")
    undo.undo(italian.afresh(), undo.target(italian.afresh()))
    undo.undo(italian.afresh(), undo.target(italian.afresh()))
    assert recipes.waiting(italian.afresh()) == ()


def test_batch_may_be_named_after_a_recipe_on_paper(stocked: Stocked) -> None:
    asked = grind.Asked(
        shop=("pork shoulder=2",), weights=("2x1",), recipe="Grandfather's", words=Words(cut="ground")
    )
    made = grind.make(stocked.kitchen, asked)
    assert (made.plan.recipe, made.plan.scaled, made.plan.steps) == ("Grandfather's", (), ())


def test_no_recipe_comes_with_the_program(kitchen: Kitchen) -> None:
    assert recipes.recipes(kitchen) == ()


@pytest.mark.parametrize(
    ("name", "per", "lines", "steps", "error", "words"),
    [
        ("", "10", LINES, (), InputError, "has a name and ingredients"),
        ("Salami", "10", (), (), InputError, "has a name and ingredients"),
        ("Salami", "", LINES, (), InputError, "how much meat"),
        ("Salami", "x", LINES, (), InputError, "how much meat"),
        ("Salami", "ten", LINES, (), InvalidMass, "not a weight"),
        ("Salami", "10", LINES, ("smoke",), InputError, "not a step"),
        ("Salami", "10", LINES, ("smoke=999",), InputError, "not a step"),
        ("ITALIAN", "10", LINES, (), Twin, "already"),
    ],
)
def test_what_a_recipe_needs(
    italian: Kitchen, name: str, per: str, lines: tuple[str, ...], steps: tuple[str, ...],
    error: type[FreezerboxError], words: str,
) -> None:  # fmt: skip
    before = italian.book.connection.total_changes
    with pytest.raises(error, match=words):
        recipes.set_recipe(italian, name, per, lines, steps)
    assert italian.book.connection.total_changes == before


def test_unknown_recipe_names_those_there_are(italian: Kitchen) -> None:
    with pytest.raises(UnknownRecord, match="Italian"):
        recipes.find_recipe(italian, "Salami")


@pytest.mark.parametrize(
    ("keeps", "steps", "jerky", "keys"),
    [
        ("hard-sausage", False, False, ["cure-smoke"]),
        ("smoked-sausage", True, False, ["cure-smoke"]),
        ("bacon", False, False, ["cure-smoke"]),
        ("", True, False, ["cure-smoke"]),
        ("", True, True, ["jerky-heat"]),
        ("jerky", False, False, ["jerky-heat"]),
        ("ground", False, True, ["jerky-heat"]),
        ("raw-sausage", False, False, []),
    ],
)
def test_curing_and_smoking_have_their_own_caution(keeps: str, steps: bool, jerky: bool, keys: list[str]) -> None:
    found = making_cues(keeps, steps=steps, jerky=jerky)
    assert [one.key for one in found] == keys
    assert all(("jerky" in one.cite.casefold()) == (one.key == "jerky-heat") for one in found)


def test_summer_sausage_without_a_recipe_says_the_caution(house: House) -> None:
    said = house.ok("grind", "--from", "26H=9/20%", "--into", "summer sausage").told
    assert "Curing and smoking go by a tested recipe of yours; none is given here. The CDC says" in said
    kept = house.ok("recipe", "set", "Belly bacon", "--per", "10", "100 g salt", "--step", "smoke=10").told
    assert "Curing and smoking" in kept
    assert "Jerky" not in kept
