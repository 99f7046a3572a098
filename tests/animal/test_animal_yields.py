"""What an animal gave and cost, and what to mind when it is packed and cooked."""

from __future__ import annotations

from dataclasses import fields
from datetime import date, timedelta

import pytest

from freezerbox.book import queries
from freezerbox.chores import animal_facts, animals, grind, pack, undo, yields
from freezerbox.chores.animal_facts import Facts
from freezerbox.chores.cues import cook_words, cues, cues_to_say, packing_cues
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.chores.take import take
from freezerbox.cli.animal_commands import facts_lines
from freezerbox.core.mass import MG_PER_LB
from freezerbox.core.records import Animal
from freezerbox.errors import (
    FreezerboxError,
    InputError,
    InvalidDate,
    InvalidMass,
    OutOfLine,
    Refused,
    UnknownRecord,
    UnknownWord,
)
from tests.conftest import Stocked, StoppedClock


@pytest.fixture
def buck(kitchen: Kitchen) -> Kitchen:
    """26M, a mule deer buck killed 1 Nov and processed 9 Nov 2026."""
    new = animals.NewAnimal(code="26M", species="mule deer buck", killed="2026-11-01", processed="2026-11-09")
    animals.add_animal(kitchen, new)
    return kitchen.afresh()


def animal(kitchen: Kitchen, code: str) -> Animal:
    return next(one for one in queries.animals(kitchen.book) if one.code == code)


def packed(kitchen: Kitchen, cut: str, weights: str, quantity: int = 1, **more: object) -> tuple[Row, ...]:
    words = Words(cut=cut, **({"animals": ("26M",)} | more))  # type: ignore[arg-type]
    return pack.write(
        kitchen.afresh(), pack.prepare(kitchen, words, weights.split(), quantity=quantity), yes=True
    ).rows


def story(kitchen: Kitchen, code: str = "26M") -> yields.Story:
    return yields.story(kitchen.afresh(), animal(kitchen, code))


def test_mule_deer_of_the_wyoming_means_is_within_them(buck: Kitchen) -> None:
    animal_facts.set_facts(buck, "26m", Facts(dressed="114", hanging="96", hide="off"))
    packed(buck, "top round roast", "3 " * 18 + "1")
    found = story(buck)
    shares = {(step.from_stage, step.to_stage): float(step.share) for step in found.steps}
    assert shares == {
        ("dressed", "hanging"): pytest.approx(96 / 114, abs=1e-4),
        ("hanging", "packaged"): pytest.approx(55 / 96, abs=1e-4),
        ("dressed", "packaged"): pytest.approx(55 / 114, abs=1e-4),
    }
    assert (found.style, found.hang_days) == ("boneless", 8)
    assert not any(one.below or one.above for step in found.steps for one in step.against)
    assert all(step.against for step in found.steps)


def test_small_aged_deer_with_bone_in_roasts_and_pork_is_not_called_a_loss(kitchen: Kitchen) -> None:
    """0.60-0.65 of the hanging weight, bone-in roasts, 10 % pork in the grind: common practice, no source."""
    animals.add_animal(kitchen, animals.NewAnimal(code="26M", species="whitetail doe"))
    animal_facts.set_facts(kitchen, "26M", Facts(hanging="60", hide="off"))
    packed(kitchen, "neck", "4 4 4", form="bone-in")
    packed(kitchen, "top round roast", "2 2 2 2")
    asked = grind.Asked(
        animals=("26M=18",), shop=("pork fat",), fat="10", weights=("20x1",), words=Words(cut="ground")
    )
    grind.make(kitchen.afresh(), asked)
    step = next(one for one in story(kitchen).steps if one.to_stage == "packaged")
    # 12 + 8 lb and 18 lb of the 20 lb of ground: the 2 lb of pork are not the doe's.
    assert float(step.share) == pytest.approx(38 / 60, abs=1e-3)
    practice = [one for one in step.against if one.published.source_id == "common-practice"]
    assert len(practice) == 1
    assert practice[0].cite == "common practice, no source"
    assert not practice[0].below
    assert not practice[0].above


def test_far_less_than_published_is_below_every_range(buck: Kitchen) -> None:
    animal_facts.set_facts(buck, "26M", Facts(hanging="96", hide="off"))
    packed(buck, "top round roast", "3 " * 10)
    step = story(buck).steps[0]
    assert all(one.below for one in step.against)


def test_with_the_hide_on_the_skinned_figures_say_nothing(buck: Kitchen) -> None:
    packed(buck, "top round roast", "3 " * 18)
    animal_facts.set_facts(buck, "26M", Facts(hanging="110", hide="on"))
    assert story(buck).steps[0].against == ()
    animal_facts.set_facts(buck.afresh(), "26M", Facts(hide="off"))
    assert story(buck).steps[0].against != ()


def test_own_mean_is_of_other_animals_of_the_species(buck: Kitchen) -> None:
    for code, hanging, weights in (("25M", "100", "2 " * 25), ("24M", "80", "2 " * 24)):
        animals.add_animal(buck.afresh(), animals.NewAnimal(code=code, species="mule deer"))
        animal_facts.set_facts(buck.afresh(), code, Facts(hanging=hanging, hide="off"))
        packed(buck, "top round roast", weights, animals=(code,))
    animal_facts.set_facts(buck.afresh(), "26M", Facts(hanging="96", hide="off"))
    packed(buck, "top round roast", "3 " * 18)
    mean = story(buck).steps[0].own_mean
    assert mean is not None
    assert float(mean[0]) == pytest.approx((0.5 + 0.6) / 2, abs=1e-3)
    assert mean[1] == 2


def test_packages_are_counted_once_whatever_became_of_them(buck: Kitchen) -> None:
    sack = packed(buck, "trim", "5")[0]
    packed(buck, "ground", "2", quantity=4)
    eaten = packed(buck, "backstrap", "1")[0]
    take(buck.afresh(), eaten.code)
    grind.make(
        buck.afresh(), grind.Asked(packages=(sack.code,), weights=("4.8",), words=Words(cut="ground")), yes=True
    )
    packed(buck, "shank", "x")
    found = story(buck)
    assert found.packaged_mg == pytest.approx(14 * float(MG_PER_LB), rel=1e-6)
    assert found.unweighed == 1


def test_cost_a_pound_of_packaged_meat(buck: Kitchen) -> None:
    packed(buck, "top round roast", "2 " * 25)
    assert animal_facts.add_cost(buck.afresh(), "26M", "tag", "30") == 3000
    assert animal_facts.add_cost(buck.afresh(), "26m", "processing", "$95.50") == 12550
    found = story(buck)
    assert [cost.what for cost in found.costs] == ["tag", "processing"]
    assert found.cents_per(round(MG_PER_LB)) == 251
    undo.undo(buck.afresh(), undo.target(buck.afresh()))
    assert story(buck).cents == 3000


def test_batch_costs_a_pound(buck: Kitchen) -> None:
    asked = grind.Asked(
        animals=("26M=8",), shop=("pork fat=2/100%/7.50",), weights=("10x1",), words=Words(cut="ground")
    )
    made = grind.make(buck, asked)
    cost = yields.batch_cost(buck.afresh(), made.batch)
    assert cost.cents_per(round(MG_PER_LB), with_meat=False) == 75
    assert cost.cents_per(round(MG_PER_LB), with_meat=True) is None  # nothing is known of what the buck cost
    assert yields.batch_cost(buck.afresh(), "G26-9").cents_per(round(MG_PER_LB), with_meat=False) is None
    # 2.50 more for casings; the buck cost 20.00 for its 8 lb in packages.
    assert animal_facts.add_cost(buck.afresh(), made.batch.lower(), "casings", "2.50") == 1000
    animal_facts.add_cost(buck.afresh(), "26M", "processing", "20")
    cost = yields.batch_cost(buck.afresh(), made.batch)
    assert cost.cents_per(round(MG_PER_LB), with_meat=False) == 100
    assert cost.cents_per(round(MG_PER_LB), with_meat=True) == 300
    assert story(buck).cents == 2000


def test_facts_are_kept_and_taken_back_whole(buck: Kitchen) -> None:
    before = animal(buck, "26M")
    said = Facts(
        live="160", dressed="114", hanging="96", hide="OFF", taken_by="A Hunter", taken_at="the swamp gate",
        ammunition="not-lead", wound="left shoulder, trim kept apart", taste="mild", tag="T-77", note="first snow",
    )  # fmt: skip
    after = animal_facts.set_facts(buck, "26M", said)
    assert (after.hide, after.ammunition, after.taken_at, after.tag) == ("off", "not lead", "the swamp gate", "T-77")
    assert after.killed_on == date(2026, 11, 1)
    undo.undo(buck.afresh(), undo.target(buck.afresh()))
    assert animal(buck, "26M") == before


def test_another_test_holds_the_meat(buck: Kitchen) -> None:
    row = packed(buck, "backstrap", "1")[0]
    animal_facts.add_test(buck.afresh(), "26M", sample="T9", what_for="trichinella", sent="2 nov")
    from freezerbox.chores.rows import Rows

    assert [hold.why for hold in Rows(buck.afresh()).of_codes([row.code])[0].holds] == ["test pending (trichinella)"]
    with pytest.raises(Refused, match="has sample t9 already"):
        animal_facts.add_test(buck.afresh(), "26M", sample="t9")
    with pytest.raises(InvalidDate, match="before 26M was killed"):
        animal_facts.add_test(buck.afresh(), "26M", sent="30 oct")


REFUSED: list[tuple[str, Facts, type[FreezerboxError], str]] = [
    ("26X", Facts(live="100"), UnknownRecord, "26X"),
    ("26M", Facts(), InputError, "Say what to record"),
    ("26M", Facts(live="heavy"), InvalidMass, "not a weight"),
    ("26M", Facts(live="9999"), InvalidMass, "more than 2204.62 lb"),
    ("26M", Facts(dressed="90", hanging="96"), OutOfLine, "96.00 lb hanging is more than 90.00 lb dressed"),
    ("26M", Facts(hide="half"), UnknownWord, "on, off"),
    ("26M", Facts(ammunition="bow"), UnknownWord, "lead, not lead, arrow"),
    ("26M", Facts(processed="2026-10-30"), InvalidDate, "before it was killed"),
    ("26M", Facts(processed="2026-11-09"), Refused, "says that of 26M already"),
]


@pytest.mark.parametrize(("code", "said", "error", "words"), REFUSED)
def test_set_refuses_and_the_book_is_unchanged(
    buck: Kitchen, code: str, said: Facts, error: type[FreezerboxError], words: str
) -> None:
    before = buck.book.connection.total_changes
    with pytest.raises(error, match=words):
        animal_facts.set_facts(buck, code, said)
    assert buck.book.connection.total_changes == before


@pytest.mark.parametrize("money", ["", "free", "0", "-3", "1.234", "nan", "1e99"])
def test_cost_refuses_what_is_no_sum(buck: Kitchen, money: str) -> None:
    with pytest.raises(InputError, match="not a sum of money"):
        animal_facts.add_cost(buck, "26M", "fuel", money)


@pytest.mark.parametrize(
    ("what", "stages"),
    [
        ("half beef", [("hanging", "packaged")]),
        ("a quarter", [("hanging", "packaged")]),
        ("1/4 steer", [("hanging", "packaged")]),
        ("", [("live", "hanging"), ("hanging", "packaged")]),
        ("whole beef", [("live", "hanging"), ("hanging", "packaged")]),
    ],
)
def test_live_weight_of_a_share_is_not_set_beside_what_hung_of_it(
    kitchen: Kitchen, what: str, stages: list[tuple[str, str]]
) -> None:
    animals.add_animal(kitchen, animals.NewAnimal(code="26S", species="steer", what=what))
    animal_facts.set_facts(kitchen.afresh(), "26S", Facts(live="1200", hanging="378"))
    packed(kitchen.afresh(), "ground beef", "1 1", animals=("26S",))
    assert [(step.from_stage, step.to_stage) for step in story(kitchen, "26S").steps] == stages
    said = " ".join(" ".join(facts_lines(kitchen.afresh(), animal(kitchen.afresh(), "26S"))).split())
    assert ("No yield of the live weight" in said) == (len(stages) == 1)
    assert "live 1200.00 lb" in said
    assert "Less than these; trim and drying" in said


def test_every_fact_can_be_set() -> None:
    named = {one.name for one in fields(Facts)}
    assert {"live", "dressed", "hanging", "hide", "ammunition", "wound", "taste", "taken_by", "taken_at"} <= named


# --- Cautions and cues ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cut", "form", "said"),
    [
        ("rib chops", "", True),
        ("saddle", "", True),
        ("neck", "", True),
        ("neck", "boneless", False),
        ("backstrap", "", False),
        ("backstrap", "chops", False),
        ("backstrap", "bone-in-chops", True),
        ("backstrap", "bone-in roast", True),
        ("loin chops", "bone-in", True),
        ("loin chops", "boneless", False),
        ("shank", "bone-in", False),
        ("ground", "", False),
    ],
)
def test_deer_cuts_with_spine_bone_bring_the_advice_once(buck: Kitchen, cut: str, form: str, said: bool) -> None:
    rows = packed(buck, cut, "1 1 1", form=form)
    found = packing_cues(rows)
    assert len(found) == (1 if said else 0)
    if said:
        assert "wildlife agency's and public-health authority's" in found[0].words()
        assert "Texas Parks and Wildlife Department" in found[0].cite


def test_the_words_and_the_form_make_bone_in_chops_together(buck: Kitchen) -> None:
    names = [
        packed(buck, cut, "1", form=form)[0].cut_name
        for cut, form in (("loin chops", "bone-in"), ("backstrap", "bone-in-chops"), ("loin chops", "medallions"))
    ]
    assert names == ["Backstrap bone-in chops", "Backstrap bone-in chops", "Backstrap medallions"]


def test_the_advice_is_said_once_for_an_animal_and_an_evening(buck: Kitchen, clock: StoppedClock) -> None:
    def said(cut: str) -> int:
        rows = packed(buck.afresh(), cut, "1")
        return len(cues_to_say(buck.afresh(), rows))

    assert [said(cut) for cut in ("ground", "neck", "neck", "saddle")] == [0, 1, 0, 0]
    clock.at += timedelta(days=1)
    assert [said(cut) for cut in ("saddle", "neck")] == [1, 0]


def test_pork_chops_bring_no_such_advice(stocked: Stocked) -> None:
    assert packing_cues(stocked.chops) == ()


def keys(row: Row) -> list[str]:
    return [one.key for one in cues(row)]


def test_cues_by_kind_of_animal(kitchen: Kitchen) -> None:
    def one(cut: str, species: str, wrap: str = "") -> Row:
        return packed(kitchen, cut, "1", animals=(), species=species, wrap=wrap)[0]

    assert keys(one("front shoulder roast", "bear")) == ["cook-through"]
    assert keys(one("ground", "wild pig")) == ["cook-through"]
    assert keys(one("ground", "whitetail")) == ["game-temperature"]
    assert keys(one("breast", "wild duck")) == ["bird-temperature"]
    vacuum = one("backstrap", "whitetail", wrap="vacuum")
    assert keys(vacuum) == ["thaw-vacuum"]
    assert cook_words(vacuum).startswith("fast")
    assert cook_words(one("shank", "whitetail")).startswith("slow")
    assert keys(one("chuck roast", "beef")) == []


def test_held_meat_is_given_no_cooking_advice(stocked: Stocked) -> None:
    assert cues(stocked.backstraps[0]) == ()
    assert cook_words(stocked.backstraps[0]) == ""


def test_ground_of_an_animal_shot_with_lead_says_what_was_found(buck: Kitchen) -> None:
    animal_facts.set_facts(buck, "26M", Facts(ammunition="lead"))
    assert "lead" in keys(packed(buck, "ground", "1")[0])
    assert "lead" not in keys(packed(buck, "backstrap", "1")[0])
