"""Factors of weight against NIST Handbook 44, appendix C, "General Tables of Units of Measurement".

The figures are typed here from the handbook (recalled; its tables mark exact values by underlining or bold) and not
taken from the program.  Section 4, units of mass: 1 grain = 64.798 91 milligrams exactly; 1 ounce avoirdupois =
437.5 grains exactly = 28.349 523 125 grams exactly; 1 pound avoirdupois = 7000 grains = 16 ounces exactly =
453.592 37 grams exactly; 1 hundredweight (short) = 100 pounds; 1 kilogram = 2.204 623 pounds (rounded).
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from freezerbox.core.mass import MG_PER_LB, MG_PER_OZ, MassUnit, in_pounds, parse_mass, show_mass

GRAIN_MG = Decimal("64.79891")  # Handbook 44, appendix C, section 4, units of mass: grain, exact


def test_the_pound_and_the_ounce_are_exact() -> None:
    assert Decimal("453.59237") * 1000 == MG_PER_LB  # pound avoirdupois, exact
    assert Decimal("28.349523125") * 1000 == MG_PER_OZ  # ounce avoirdupois, exact


def test_they_agree_with_the_grain_from_which_the_handbook_builds_them() -> None:
    assert 7000 * GRAIN_MG == MG_PER_LB  # section 2, avoirdupois mass: 7000 grains = 1 pound
    assert Decimal("437.5") * GRAIN_MG == MG_PER_OZ  # 437.5 grains = 1 ounce
    assert 16 * MG_PER_OZ == MG_PER_LB  # 16 ounces = 1 pound


@pytest.mark.parametrize(
    ("typed", "milligrams"),
    [
        ("1 lb", "453592.37"),
        ("1 oz", "28349.523125"),
        ("16 oz", "453592.37"),
        ("100 lb", "45359237"),  # 1 short hundredweight = 45.359 237 kg, exact
        ("1 kg", "1000000"),
        ("1 g", "1000"),
    ],
)
def test_what_is_typed_is_the_handbooks_value_to_the_milligram(typed: str, milligrams: str) -> None:
    mg = parse_mass(typed, unit=MassUnit.LB)
    assert mg is not None
    assert abs(mg - Decimal(milligrams)) <= Decimal("0.5")


@pytest.mark.parametrize(
    ("kilograms", "pounds"),
    # Section 4: 1 kilogram = 2.204 623 pounds; multiples follow.
    [("1", "2.204623"), ("10", "22.04623"), ("100", "220.4623")],
)
def test_kilograms_in_pounds_as_the_handbook_rounds_them(kilograms: str, pounds: str) -> None:
    mg = parse_mass(f"{kilograms} kg", unit=MassUnit.LB)
    assert mg is not None
    assert round(in_pounds(mg), -Decimal(pounds).as_tuple().exponent) == Decimal(pounds)  # type: ignore[operator]
    assert show_mass(mg, MassUnit.LB) == f"{Decimal(pounds):.2f} lb"
