"""Yields against the figures as published, typed here once more; each with its source beside it."""

from __future__ import annotations

from decimal import Decimal

import pytest

from freezerbox.core.mass import MG_PER_LB
from freezerbox.food.sources import source
from freezerbox.food.yields import STAGES, Yield, yields


def mg(pounds: float) -> int:
    return int(Decimal(str(pounds)) * MG_PER_LB)


def pounds(milligrams: int) -> float:
    return float(milligrams / MG_PER_LB)


def of(source_id: str, *asked: str, **more: str) -> Yield:
    found = [one for one in yields(*asked, **more) if one.source_id == source_id]
    assert len(found) == 1
    return found[0]


def test_elk_bull_of_437_lb_field_dressed() -> None:
    """UW B-594R: 437 - 73 head and hide = 364 skinned, 218 lb boneless (49.9 %, 59.9 %).  [row 51]"""
    assert of("uw-elk", "elk", "dressed", "packaged").middle_mg(mg(437)) == pytest.approx(mg(218), rel=0.002)
    low, high = of("uw-elk", "elk", "hanging", "packaged", hide="off", style="boneless").expected_mg(mg(364))
    assert low <= mg(218) <= high
    assert pounds(high) == pytest.approx(218, abs=0.5)
    low, high = of("uw-elk", "elk", "dressed", "hanging").expected_mg(mg(437))
    assert low <= mg(364.1) <= high


def test_elk_cow_of_339_lb_field_dressed() -> None:
    """UW B-594R: 339 - 45 = 294 skinned, 169 lb boneless (57.5 %)."""
    low, _ = of("uw-elk", "elk", "hanging", "packaged", hide="off", style="boneless").expected_mg(mg(294))
    assert pounds(low) == pytest.approx(169, abs=0.5)


@pytest.mark.parametrize(("dressed", "skinned", "boneless"), [(114, 96, 55), (93, 79, 44)])
def test_mule_deer_means(dressed: float, skinned: float, boneless: float) -> None:
    """UW B-589R, buck 114 - 18 = 96 -> 55 lb; doe 93 - 14 = 79 -> 44 lb."""
    for one, weight in (
        (of("uw-mule-deer", "mule-deer", "hanging", "packaged", hide="off", style="boneless"), skinned),
        (of("uw-mule-deer", "mule-deer", "dressed", "packaged"), dressed),
    ):
        low, high = one.expected_mg(mg(weight))
        assert pounds(low) - 0.1 <= boneless <= pounds(high) + 0.1


@pytest.mark.parametrize(
    ("dressed", "boneless", "bone_in"), [(120, 57.6, 69.5), (60, 28.8, None), (100, 48.0, 57.3), (200, 96.0, 118.3)]
)
def test_deer_by_field_dressed_weight(dressed: float, boneless: float, bone_in: float | None) -> None:
    """MSU Extension 01600637: boneless and bone-in style.  120 lb is the check value.  [row 52]"""
    found = of("msu-deer-cuts", "whitetail", "dressed", "packaged", style="boneless").middle_mg(mg(dressed))
    assert pounds(found) == pytest.approx(boneless, abs=0.05)
    if bone_in is not None:
        found = of("msu-deer-cuts", "whitetail", "dressed", "packaged", style="bone-in").middle_mg(mg(dressed))
        assert pounds(found) == pytest.approx(bone_in, abs=0.05)


@pytest.mark.parametrize(("dressed", "boneless", "bone_in"), [(200, 86.0, 111.2), (600, 258.0, 339.2)])
def test_elk_and_moose_by_field_dressed_weight(dressed: float, boneless: float, bone_in: float) -> None:
    """MSU Extension 01600636."""
    for style, expected in (("boneless", boneless), ("bone-in", bone_in)):
        found = of("msu-elk-cuts", "moose", "dressed", "packaged", style=style).middle_mg(mg(dressed))
        assert pounds(found) == pytest.approx(expected, abs=0.05)


def test_deer_of_105_lb_dressed_was_126_to_141_live() -> None:
    """Noble Research Institute 2012: 105 lb dressed is 134 lb live, 95 % of adults 126-141.  [row 53]"""
    one = of("noble-dressed", "whitetail", "live", "dressed")
    low, high = mg(105) / one.high, mg(105) / one.low
    assert pounds(int(high)) == pytest.approx(143, abs=2.5)
    assert pounds(int(low)) == pytest.approx(126, abs=0.2)
    assert one.low < Decimal(105) / 134 < one.high


def test_steer_of_1200_lb() -> None:
    """Mississippi State P3489: 63 % of 1200 lb is 756 lb hot carcass.  [row 54]"""
    low, high = of("msstate-beef", "beef", "live", "hanging").expected_mg(mg(1200))
    assert pounds(low) == pytest.approx(720, abs=0.01)
    assert pounds(high) == pytest.approx(768, abs=0.01)
    assert low < mg(756) < high


def test_half_a_beef_brings_home_232_to_245_lb() -> None:
    """Half of what the two publications took home: a 590-lb carcass bone-in 465 lb, a 750-lb one boneless 490 lb."""
    bone_in = of("boah-beef", "beef", "hanging", "packaged")
    boneless = of("beef-750", "beef", "hanging", "packaged")
    assert pounds(int(bone_in.middle_mg(mg(590 / 2)))) == pytest.approx(232.5, abs=1)
    assert pounds(int(boneless.middle_mg(mg(750 / 2)))) == pytest.approx(245, abs=2)


def test_hog_of_250_lb() -> None:
    """NPPC and Kentucky: 250 lb live, 184 lb carcass (73.6 %), 140 lb pork.  [row 55]"""
    assert pounds(of("nppc-hog", "pork", "live", "hanging").middle_mg(mg(250))) == pytest.approx(184, abs=0.01)
    _, high = of("nppc-hog", "pork", "hanging", "packaged").expected_mg(mg(184))
    assert pounds(high) == pytest.approx(140, abs=0.5)


def test_lamb_of_120_lb() -> None:
    """Wisconsin: 54 % dressed, 43-50 % of the carcass boneless: 64.8 lb, 27.9-32.4 lb.  [row 56]"""
    live = of("uw-lamb", "lamb", "live", "hanging")
    assert live.low < Decimal("0.54") < live.high
    low, high = of("uw-lamb", "lamb", "hanging", "packaged", style="boneless").expected_mg(mg(64.8))
    assert (round(pounds(low), 1), round(pounds(high), 1)) == (27.9, 32.4)


def test_small_deer_with_bone_in_roasts_is_practice_without_a_source() -> None:
    found = yields("whitetail", "hanging", "packaged", hide="off")
    practice = [one for one in found if one.style == "mixed"]
    assert [(one.low, one.high) for one in practice] == [(Decimal("0.60"), Decimal("0.65"))]
    assert practice[0].source_id == "common-practice"
    assert source(practice[0].source_id).cite() == "common practice, no source"
    bone_in = [one for one in found if one.style == "bone-in"]
    assert (bone_in[0].low + bone_in[0].high) / 2 == Decimal("0.69")


def test_every_share_is_one() -> None:
    from freezerbox.food.tables import read_rows

    for row in read_rows("yields.csv"):
        assert 0 < Decimal(row["low"]) <= Decimal(row["high"]) < 1
        assert STAGES.index(row["from_stage"]) < STAGES.index(row["to_stage"])
