"""Weights: every way to write one, what is refused, and what comes back when a shown weight is read again."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from freezerbox.core.mass import (
    LARGEST_MG,
    MG_PER_LB,
    MG_PER_OZ,
    MassUnit,
    in_pounds,
    net_grams,
    parse_mass,
    show_mass,
)
from freezerbox.errors import InvalidMass
from tests.strategies import masses

POUND_AND_A_QUARTER = 566_990  # 1.25 x 453 592.37 mg = 566 990.4625 mg


@pytest.mark.parametrize(
    "text",
    [
        "1 lb 4", "1lb4", "1 lb 4 oz", "1lb 4oz", "1LB4OZ", "1 lbs 4", "1 pound 4 ounces", "1 pounds 4", "1#4", "1:4",
        "1: 4", "1.25 lb", "1,25 lb", "1.25lb", "1.25 pounds", "1.25#", "20 oz", "20oz", "20 ounces", "  1   lb  4  ",
    ],
)  # fmt: skip
@pytest.mark.parametrize("unit", MassUnit)
def test_a_pound_and_a_quarter_however_written_and_whatever_the_house_counts_in(text: str, unit: MassUnit) -> None:
    assert parse_mass(text, unit=unit) == POUND_AND_A_QUARTER


@pytest.mark.parametrize(
    ("text", "mg"),
    [
        ("567 g", 567_000),
        ("567g", 567_000),
        ("567 grams", 567_000),
        ("0.567 kg", 567_000),
        (".567 kg", 567_000),
        (",567 kg", 567_000),
        ("0,567 kilo", 567_000),
        ("1,2 kg", 1_200_000),
        ("1.2 KG", 1_200_000),
        ("0,950 kg", 950_000),
        ("1:15.5", round(MG_PER_LB + Decimal("15.5") * MG_PER_OZ)),
        ("0:12", round(12 * MG_PER_OZ)),
        ("0 lb 12", round(12 * MG_PER_OZ)),
        ("3 lb 0 oz", round(3 * MG_PER_LB)),
        ("200 kg", LARGEST_MG),
        ("0.001 g", 1),
    ],
)
def test_a_weight_that_names_its_unit(text: str, mg: int) -> None:
    for unit in MassUnit:
        assert parse_mass(text, unit=unit) == mg


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("1 1/4", "1.25"), ("1-1/4 lb", "1.25 lb"), ("1\u00bc", "1.25"), ("2 \u00bd lb", "2.5 lb"), ("1/2", "0.5"),
        ("3/4 lb", "0.75 lb"), ("2 7/8lb", "2.875 lb"), ("\u215b kg", "0.125 kg"), ("2.", "2"), ("2. lb", "2 lb"),
        ("0 1/2", "0.5"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("unit", MassUnit)
def test_halves_quarters_and_eighths_as_people_say_them(text: str, plain: str, unit: MassUnit) -> None:
    assert parse_mass(text, unit=unit) == parse_mass(plain, unit=unit)


def test_edge_check_two_of_the_scenarios_all_are_a_pound_and_a_quarter() -> None:
    # "1 lb 4", "1.25 lb", "20 oz", "567 g" all equal 1.25 lb: as shown, since 567 g is 9.5 mg over.
    for unit in MassUnit:
        said = [parse_mass(text, unit=unit) for text in ("1 lb 4", "1.25 lb", "20 oz", "567 g")]
        assert {show_mass(mg, MassUnit.LB) for mg in said} == {"1.25 lb"}
        assert {show_mass(mg, MassUnit.LB_OZ) for mg in said} == {"1 lb 4 oz"}
        assert {show_mass(mg, MassUnit.KG) for mg in said} == {"0.567 kg"}
        assert len(set(said[:3])) == 1


def test_a_bare_number_is_in_the_unit_of_the_house() -> None:
    assert parse_mass("1.25", unit=MassUnit.LB) == POUND_AND_A_QUARTER
    assert parse_mass("1.25", unit=MassUnit.LB_OZ) == POUND_AND_A_QUARTER
    assert parse_mass("1.25", unit=MassUnit.KG) == 1_250_000
    assert parse_mass(".9", unit=MassUnit.LB) == parse_mass("0.9", unit=MassUnit.LB) == 408_233


@pytest.mark.parametrize("text", ["x", "X", " x ", "?", "not weighed"])
def test_not_weighed(text: str) -> None:
    assert parse_mass(text, unit=MassUnit.LB) is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0", "no weight at all"),
        ("0.00", "no weight at all"),
        ("0:0", "no weight at all"),
        ("0 lb 0", "no weight at all"),
        ("0.0000001 g", "no weight at all"),
        ("-1.2", "below zero"),
        ("−1.2", "below zero"),
        ("-1 lb 4", "below zero"),
        ("1:20", "a pound has 16"),
        ("1 lb 16", "a pound has 16"),
        ("1lb16.5oz", "a pound has 16"),
        ("1,250", "1250 or 1.250"),
        ("1,250 lb", "1250 or 1.250"),
        ("12,500 g", "12500 or 12.500"),
        ("201 kg", "more than 440.92 lb"),
        ("442 lb", "Is the unit right?"),
        ("1000", "A bare number is in pounds here"),
        ("440 lb 15 oz", "more than"),
        ("9" * 40, "more than"),
        ("9" * 5000, "more than"),
        ("9" * 5000 + " lb 4", "more than"),
        ("", "is not a weight"),
        (" ", "is not a weight"),
        ("heavy", "is not a weight"),
        ("1.2.3", "is not a weight"),
        ("1 2", "is not a weight"),
        ("1.5 lb 4", "is not a weight"),
        ("1,2,3", "several weights in one word"),
        (".9,.95", "several weights in one word"),
        ("1.1;1.2", "several weights in one word"),
        ("1/3", "is not a weight"),
        ("11/4", "is not a weight"),
        ("1/2/4", "is not a weight"),
        ("1.5 1/4", "is not a weight"),
        ("0 0/4", "is not a weight"),
        ("1:4 kg", "is not a weight"),
        ("1:", "is not a weight"),
        (":4", "is not a weight"),
        ("1 stone", "is not a weight"),
        ("1e3", "is not a weight"),
        ("nan", "is not a weight"),
        ("inf", "is not a weight"),
        ("0x10", "is not a weight"),
        ("1,000,000 g", "is not a weight"),
        ("+1.2", "is not a weight"),
        (".", "is not a weight"),
        ("1.. lb", "is not a weight"),
    ],
)
def test_what_is_no_weight_is_refused_and_shown(text: str, words: str) -> None:
    with pytest.raises(InvalidMass) as refused:
        parse_mass(text, unit=MassUnit.LB)
    assert words in refused.value.message
    assert "lb" not in text or "bare number" not in refused.value.message
    assert repr(text) in refused.value.message
    assert refused.value.facts["value"] == text
    assert (refused.value.kind, refused.value.exit_code) == ("mass", 2)


@pytest.mark.parametrize("unit", MassUnit)
def test_just_over_the_largest_is_refused_and_the_largest_is_not(unit: MassUnit) -> None:
    assert parse_mass("200000 g", unit=unit) == LARGEST_MG
    with pytest.raises(InvalidMass):
        parse_mass("200000.001 g", unit=unit)


@given(st.text())
@example("１.２５")
@example("\x00")
def test_any_text_is_a_weight_in_range_or_a_refusal(text: str) -> None:
    for unit in MassUnit:
        try:
            mg = parse_mass(text, unit=unit)
        except InvalidMass:
            continue
        assert mg is None or 0 < mg <= LARGEST_MG


# How far a weight may be off after it is shown: half of the last figure, in milligrams.
HALF_A_FIGURE = {
    MassUnit.LB: MG_PER_LB / 200,
    MassUnit.LB_OZ: MG_PER_OZ / 20,
    MassUnit.KG: Decimal(500),
}


@given(masses, st.sampled_from(MassUnit))
@example(round(MG_PER_LB * 16), MassUnit.LB_OZ)
@example(LARGEST_MG, MassUnit.LB)
@example(452_200, MassUnit.LB_OZ)  # 15.95 oz: shown as a full pound, never as 16 oz
def test_a_weight_that_is_shown_reads_back_as_itself_to_the_last_figure(mg: int, unit: MassUnit) -> None:
    shown = show_mass(mg, unit)
    if mg <= HALF_A_FIGURE[unit]:
        return
    if mg > LARGEST_MG - HALF_A_FIGURE[unit]:
        mg = LARGEST_MG - int(HALF_A_FIGURE[unit]) - 1
        shown = show_mass(mg, unit)
    again = parse_mass(shown, unit=unit)
    assert again is not None
    assert abs(again - mg) <= HALF_A_FIGURE[unit] + 1
    assert show_mass(again, unit) == shown
    assert "16 oz" not in shown


@given(st.integers(1, 40_000))
def test_hundredths_of_a_pound_are_kept_for_ever(hundredths: int) -> None:
    text = f"{hundredths // 100}.{hundredths % 100:02d}"
    mg = parse_mass(text, unit=MassUnit.LB)
    assert mg is not None
    assert show_mass(mg, MassUnit.LB) == f"{text} lb"


@given(st.integers(0, 400), st.integers(0, 159))
def test_pounds_and_tenths_of_an_ounce_are_kept_for_ever(pounds: int, tenths: int) -> None:
    if not pounds and not tenths:
        return
    colon = parse_mass(f"{pounds}:{tenths / 10}", unit=MassUnit.LB_OZ)
    spoken = parse_mass(f"{pounds} lb {tenths / 10} oz", unit=MassUnit.LB_OZ)
    assert colon == spoken is not None
    assert parse_mass(show_mass(colon, MassUnit.LB_OZ), unit=MassUnit.LB_OZ) == colon


def test_a_lot_adds_up_to_the_second_decimal() -> None:
    two_pounds = parse_mass("2", unit=MassUnit.LB)
    assert two_pounds is not None
    assert show_mass(72 * two_pounds, MassUnit.LB) == "144.00 lb"


@pytest.mark.parametrize(
    ("mg", "lb", "lb_oz", "kg"),
    [
        (None, "not weighed", "not weighed", "not weighed"),
        (566_990, "1.25 lb", "1 lb 4 oz", "0.567 kg"),
        (453_592, "1.00 lb", "1 lb", "0.454 kg"),
        (340_194, "0.75 lb", "12 oz", "0.340 kg"),
        (467_767, "1.03 lb", "1 lb 0.5 oz", "0.468 kg"),
        (200_000_000, "440.92 lb", "440 lb 14.8 oz", "200.000 kg"),
    ],
)
def test_how_a_weight_is_shown(mg: int | None, lb: str, lb_oz: str, kg: str) -> None:
    assert [show_mass(mg, unit) for unit in (MassUnit.LB, MassUnit.LB_OZ, MassUnit.KG)] == [lb, lb_oz, kg]


def test_grams_for_programs() -> None:
    assert net_grams(None) is None
    assert net_grams(567_000) == 567
    assert isinstance(net_grams(567_000), int)
    assert net_grams(566_990) == 566.99


def test_pounds_are_exact() -> None:
    assert in_pounds(45_359_237) == 100
