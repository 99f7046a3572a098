"""The whole story of an animal: why it is held, what of a mixture is its own, who has some; what is forgotten."""

from __future__ import annotations

import pytest

from freezerbox.chores import animal_facts, animals, give, grind, holding, pack, result
from freezerbox.chores.animals import AnimalStory, animal_story
from freezerbox.chores.header import Words, find_animal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.reminders import unanswered
from freezerbox.chores.rotation import rotation
from freezerbox.chores.take import take
from freezerbox.cli.animal_commands import held_mark, story_lines
from freezerbox.core.mass import MG_PER_LB
from tests.cli.process import House
from tests.conftest import Stocked, StoppedClock


def told(kitchen: Kitchen, code: str) -> tuple[AnimalStory, str]:
    found = animal_story(kitchen.afresh(), code)
    return found, "\n".join(story_lines(kitchen.afresh(), found))


def lb(mg: int | None) -> float:
    assert mg is not None
    return mg / float(MG_PER_LB)


def test_story_says_why_it_is_held_and_since_when(stocked: Stocked) -> None:
    _, said = told(stocked.kitchen, "26B")
    assert said.startswith("HELD, DO NOT EAT: test pending since 21 Nov. 4 packages in the freezer.")
    assert said.count(" - HELD") == 4
    holding.hold(stocked.kitchen.afresh(), stocked.backstraps[0].code, "smells odd")
    _, said = told(stocked.kitchen, "26B")
    assert " ".join(said.split()).count(" - HELD, smells odd since 2 Dec") == 1
    _, free = told(stocked.kitchen, "26H")
    assert "HELD" not in free
    result.record(stocked.kitchen.afresh(), result.understand(stocked.kitchen.afresh(), "26B", "detected"))
    _, bad = told(stocked.kitchen, "26B")
    assert bad.startswith("HELD, DO NOT EAT: test result: detected on 2 Dec.")
    assert "Test, sample 4471: DETECTED on 2 Dec 2026" in bad


def test_only_its_own_part_of_a_mixture_is_counted(stocked: Stocked) -> None:
    asked = grind.Asked(
        animals=["26H=6"], packages=[stocked.backstraps[0].code], shop=["pork back fat=2.1"],
        weights=["4x2"], words=Words(cut="fresh sausage"),
    )  # fmt: skip
    rows = grind.make(stocked.kitchen, asked, with_held=True, yes=True).rows
    found, said = told(stocked.kitchen, "26B")
    # 0.90 lb of the doe, 6 of the hog, 2.1 of fat: a tenth of each of the 4 sausages, 8 lb of the 9 that went in.
    assert found.totals.packages == 7  # 3 backstraps and 4 sausages; the backstrap that went in is in those
    assert lb(found.own_mg) == pytest.approx(2.70 + 0.8, abs=0.001)
    assert lb(found.totals.net_mg) == pytest.approx(2.70 + 8, abs=0.001)
    assert "Gave 7 packs, 10.70 lb, 3.50 lb of it its own; in the freezer: 7 packs, 10.70 lb," in " ".join(
        said.split()
    )
    assert "0.20 of 2.00 lb" in said
    give.give(stocked.kitchen.afresh(), [rows[0].code], "Sister", held_too=True, yes=True)
    take(stocked.kitchen.afresh(), rows[1].code, already_eaten=True)
    found, said = told(stocked.kitchen, "26B")
    assert (found.totals.packages, found.left.packages) == (7, 5)
    assert lb(found.left_own_mg) == pytest.approx(2.70 + 0.4, abs=0.001)
    assert [(holder.person, len(holder.exits)) for holder in found.holders] == [("Sister", 1)]
    assert "With Sister: 1 package." in said
    assert "given away on 2 Dec to Sister" in said


def test_a_lot_counts_what_it_was_and_who_has_some_of_it(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    lot = pack.write(kitchen, pack.prepare(kitchen, Words(cut="ground", animals=("26H",)), ["1"], quantity=10)).rows[
        0
    ]
    for _ in range(3):
        take(kitchen.afresh(), lot.code)
    give.give(kitchen.afresh(), [f"{lot.code}*2"], "Ben", yes=True)
    found, said = told(kitchen, "26H")
    part = next(part for part in found.parts if part.row.code == lot.code)
    assert (part.number, part.here) == (10, 5)
    assert found.totals.packages == 24
    assert "5 left" in part.where
    assert "2 given to Ben" in part.where
    assert "With Ben: 2 packages." in said


def test_story_for_programs(house: House) -> None:
    code = house.ok("find", "backstrap", "--json").json["rows"][0]["code"]
    house.ok("give", code, "--to", "Sister", "--held-too")
    found = house.ok("animal", "show", "26B", "--json").json
    assert found["with"] == [{"person": "Sister", "packages": 1}]
    assert found["totals"]["own_g"] == pytest.approx(found["totals"]["net_g"])
    assert found["parts"][-1]["where"] == "given away on 2 Dec to Sister"
    listed = house.ok("animal", "list").out
    assert "processed 21 Nov 2026 - HELD: test\n  pending since 21 Nov" in listed


def test_an_unanswered_test_is_asked_about_after_two_weeks(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    assert unanswered(kitchen, [find_animal(kitchen, "26B")]) == ()
    stocked.clock.move_to("2026-12-05T20:00")
    assert rotation(kitchen.afresh()).reminders == ()
    stocked.clock.move_to("2026-12-06T20:00")
    (one,) = rotation(kitchen.afresh()).reminders
    assert (one.kind, one.of) == ("test", "26B")
    assert "sent 21 Nov 2026, 15 days ago; 4 packages wait for it." in one.words
    assert "Wisconsin" in one.words
    result.record(kitchen.afresh(), result.understand(kitchen.afresh(), "26B", "not-detected"))
    assert rotation(kitchen.afresh()).reminders == ()


def test_nobody_is_quoted_on_how_long_another_animals_test_takes(kitchen: Kitchen, clock: StoppedClock) -> None:
    animals.add_animal(kitchen, animals.NewAnimal(code="26C", species="bear", test="pending", test_for="trichinella"))
    animal_facts.add_test(kitchen.afresh(), "26C", what_for="CWD", sample="9")
    clock.move_to("2027-02-01T20:00")
    now = kitchen.afresh()
    bear = find_animal(now, "26C")
    assert ["Wisconsin" in one.words for one in unanswered(now, [bear])] == [False, False]
    assert "8 weeks ago" in unanswered(now, [bear])[0].words
    assert held_mark(now, bear).startswith(" - HELD: test pending (trichinella) since")


def test_whole_quarters_kept_for_later_show_their_age(kitchen: Kitchen, clock: StoppedClock) -> None:
    words = Words(cut="carcass quarter", species="elk")
    quarter = pack.write(kitchen, pack.prepare(kitchen, words, ["62"]), yes=True).rows[0]
    clock.move_to("2027-09-03T20:00")
    (one,) = rotation(kitchen.afresh()).reminders
    assert (one.kind, one.of) == ("whole", quarter.code)
    assert one.words.startswith("STILL WHOLE, to be cut up: ")
    assert "62.00 lb, 9 months" in one.words
    take(kitchen.afresh(), quarter.code)
    assert rotation(kitchen.afresh()).reminders == ()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (Words(cut="hindquarter", species="deer"), True),
        (Words(cut="front shoulder", form="whole", species="deer"), True),
        (Words(cut="half carcass", species="lamb"), True),
        (Words(cut="front shoulder", form="roast", species="deer"), False),
        (Words(cut="haunch", form="rolled", species="deer"), False),
        (Words(cut="hindquarter", species="deer", reserved_for="Christmas"), False),
        (Words(cut="hindquarter", species="deer", reserved_for="cut up later"), True),
    ],
)
def test_what_counts_as_whole(kitchen: Kitchen, words: Words, said: bool) -> None:
    pack.write(kitchen, pack.prepare(kitchen, words, ["9"]), yes=True)
    assert bool(rotation(kitchen.afresh()).reminders) is said


def test_an_animal_of_which_nothing_is_packed_yet_shows_its_weight(kitchen: Kitchen) -> None:
    animals.add_animal(kitchen, animals.NewAnimal(code="26D", species="whitetail doe", tag="77"))
    animal_facts.set_facts(kitchen.afresh(), "26D", animal_facts.Facts(dressed="93"))
    _, said = told(kitchen, "26D")
    assert "weights  dressed 93.00 lb" in said
    assert said.endswith("Nothing of it is packed yet.")
    pack.write(kitchen.afresh(), pack.prepare(kitchen.afresh(), Words(cut="shank", animals=("26D",)), ["2"]))
    _, said = told(kitchen, "26D")
    assert "dressed 93.00 lb -> packaged 2.00 lb" in said
    assert "weights  dressed" not in said


def test_a_lot_that_was_divided_says_split_off_and_how_many_are_where(house: House) -> None:
    lot = house.ok("pack", "ground pork", "1", "--lot", "72", "--animal", "26H", "--json").json["packages"][0]["code"]
    house.ok("split", lot, "--off", "30")
    said = house.ok("animal", "show", "26H").told
    assert "30 split off" in said
    assert "made into" not in said
    assert "Ground pork x42" in said or "Ground x42" in said
    assert " x30 " in said


def test_a_sample_number_of_another_animal_is_asked_about(house: House) -> None:
    for words in ("add 26C whitetail doe --test pending --sample 4471", "test 26H --sample 4471"):
        refused = house.refused("animal", *words.split())
        assert "Sample 4471 is of 26B already" in refused.said
        assert refused.status == 1
        house.ok("animal", *words.split(), "--yes")
    house.ok("animal", "add", "26D", "whitetail", "doe", "--test", "pending", "--sample", "4472")
