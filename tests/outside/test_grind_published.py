"""Fat maths against what extension sheets, butchers' arithmetic and rules say; each with its source beside it."""

from __future__ import annotations

from datetime import date

import pytest

from freezerbox.chores import grind, pack
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.mixing import percents
from freezerbox.core.mass import MG_PER_LB
from freezerbox.food import fat
from freezerbox.food.bought import bought


def mg(pounds: str) -> int:
    from decimal import Decimal

    return int((Decimal(pounds) * MG_PER_LB).to_integral_value())


def test_fresh_game_sausage_of_15_lb_lean_and_10_lb_fat() -> None:
    """MSU Extension 01600616 (1997): 15 lb lean game and 10 lb pork or beef fat; 25 lb, 40 % added.  [row 57]"""
    parts = [(mg("15"), 0), (mg("10"), 100)]
    assert float(fat.percent_of(parts)) == pytest.approx(40, abs=1e-6)
    assert fat.to_add([(mg("15"), 0)], 40, 100) == pytest.approx(mg("10"), abs=1)
    assert sum(weight for weight, _ in parts) == pytest.approx(mg("25"), abs=1)


@pytest.mark.parametrize(
    ("lean", "target", "source", "added"),
    [
        # "Fat maths people use": pure fat, fat = lean x F/(1-F): 8 lb lean + 2 lb fat = 20 %.
        ("8", 20, 100, "2"),
        # 50/50 trim, trim = lean x F/(0.5-F): 6 lb + 4 lb = 20 %.
        ("6", 20, 50, "4"),
        # Pork shoulder at 30 % to 10 %: half as much shoulder as lean.
        ("10", 10, 30, "5"),
        # The acceptance scenario: 38 lb to 20 % takes 9.5 lb of pure fat.
        ("38", 20, 100, "9.5"),
    ],
)
def test_what_to_add_as_butchers_reckon_it(lean: str, target: int, source: int, added: str) -> None:
    assert fat.to_add([(mg(lean), 0)], target, source) == pytest.approx(mg(added), abs=1)


def test_38_lb_with_half_fat_trim_is_25_and_a_third() -> None:
    added = fat.to_add([(mg("22"), 0), (mg("16"), 0)], 20, 50)
    assert float(added / MG_PER_LB) == pytest.approx(38 * 0.2 / 0.3, abs=1e-5)
    assert fat.fills(mg("38") + added, mg("1.25")) == 50


def test_mix_that_comes_out_even_is_not_one_short() -> None:
    assert fat.fills(mg("47.5"), mg("1.25")) == 38
    assert fat.fills(mg("47.4"), mg("1.25")) == 37
    assert fat.fills(mg("144"), mg("2")) == 72


@pytest.mark.parametrize(
    ("name", "species", "percent", "by_ratio"),
    [
        ("pork back fat", "pork", 100, False),
        ("Beef suet", "beef", 100, False),
        ("50/50 trim", "", 50, False),
        ("pork 50/50 trim", "pork", 50, False),
        ("50/50 beef trim", "beef", 50, False),
        ("pork shoulder", "pork", 30, False),
        ("smoked bacon ends", "pork", None, True),
        ("red wine", "", None, False),
    ],
)
def test_what_was_bought_says_what_it_is(name: str, species: str, percent: int | None, by_ratio: bool) -> None:
    found = bought(name)
    assert (found.species, found.fat_percent, found.by_ratio) == (species, percent, by_ratio)


def test_percents_of_a_mixture_sum_to_a_hundred() -> None:
    """UK SI 1995/3205, Schedule 7: a mixture shows each species with its percentage."""
    from fractions import Fraction

    assert percents({"whitetail": Fraction(4, 5), "pork": Fraction(1, 5)}) == (("whitetail", 80), ("pork", 20))
    thirds = dict.fromkeys(("elk", "pork", "whitetail"), Fraction(1, 3))
    assert sum(percent for _, percent in percents(thirds)) == 100


def test_mixed_batch_shows_the_oldest_date(kitchen: Kitchen) -> None:
    """Commission Regulation (EU) 16/2012: a mixed batch carries the oldest date: 3 and 9 November.  [row 66]"""
    packs = []
    for day in ("2026-11-09", "2026-11-03"):
        run = pack.prepare(kitchen, Words(cut="stew", species="whitetail", packed=day), ["2"])
        packs.append(pack.write(kitchen.afresh(), run).rows[0].code)
    made = grind.make(
        kitchen.afresh(), grind.Asked(packages=packs, weights=("2x2",), words=Words(cut="ground")), yes=True
    )
    assert {row.package.first_frozen_on for row in made.rows} == {date(2026, 11, 3)}
