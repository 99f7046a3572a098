"""Putting things right: what undo, fix, swap and put-back do and leave alone, against the kitchen itself."""

from __future__ import annotations

from datetime import date

import pytest

from freezerbox.book import journal, queries
from freezerbox.chores import animals, give, rotation, take, weigh
from freezerbox.chores.ahead import void_unused
from freezerbox.chores.check import check
from freezerbox.chores.chronicle import of_thing
from freezerbox.chores.exits import exits
from freezerbox.chores.fix import Corrections, fix, swap
from freezerbox.chores.header import Words
from freezerbox.chores.house import set_setting
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pack import doubts, prepare, put_in, write
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.session import Session
from freezerbox.chores.story import story
from freezerbox.chores.undo import target, undo
from freezerbox.core.code import show_code
from freezerbox.core.records import Act, Reason, State
from freezerbox.errors import AlreadyGone, CannotUndo, InputError, InvalidDate, InvalidMass, Refused
from tests.conftest import Stocked


def now(kitchen: Kitchen, code: str) -> Row:
    return Rows(kitchen.afresh()).of_codes([code])[0]


def undo_last(kitchen: Kitchen) -> int:
    return undo(kitchen.afresh(), target(kitchen.afresh())).number


@pytest.mark.parametrize(
    "said", [{"sent": "2026-11-22"}, {"sample": "7"}, {"test_for": "prions"}, {"test": "pending"}]
)
def test_a_test_on_its_way_holds_however_it_was_said(kitchen: Kitchen, said: dict[str, str]) -> None:
    animal = animals.add_animal(kitchen, animals.NewAnimal(code="26C", species="elk", processed="2026-11-21", **said))
    (hold,) = animals.holds_of(animal)
    assert hold.since.isoformat() == said.get("sent", "2026-11-21")
    run = prepare(kitchen.afresh(), Words(cut="backstrap", animals=("26C",)), ["1"])
    assert write(kitchen.afresh(), run).rows[0].holds == (hold,)


def test_a_swap_carries_the_hold_and_leaves_the_places(stocked: Stocked) -> None:
    kitchen, held, free = stocked.kitchen, stocked.backstraps[0], stocked.chops[0]
    swap(kitchen, held.code, free.code)
    one, other = now(kitchen, held.code), now(kitchen, free.code)
    assert (one.cut_name, one.holds, one.place) == ("Loin chops", (), "red bag")
    assert (other.cut_name, [hold.of for hold in other.holds], other.place) == ("Backstrap half", ["26B"], "")
    assert (one.package.pieces, other.package.pieces) == (4, None)
    undo_last(kitchen)
    assert now(kitchen, held.code).holds == held.holds
    assert now(kitchen, free.code).package == free.package
    assert check(kitchen).faults == ()


def test_fix_to_an_animal_moves_its_holds(stocked: Stocked) -> None:
    kitchen, chop = stocked.kitchen, stocked.chops[0].code
    fix(kitchen, chop, Corrections(animal="26b"))
    row = now(kitchen, chop)
    assert ([animal.code for animal in row.animals], row.package.species) == (["26B"], "whitetail")
    assert [hold.of for hold in row.holds] == ["26B"]
    undo_last(kitchen)
    assert now(kitchen, chop).holds == ()
    assert [animal.code for animal in now(kitchen, chop).animals] == ["26H"]


def test_fix_of_a_day_before_the_new_animal_lived(stocked: Stocked) -> None:
    chop = stocked.chops[0].code
    with pytest.raises(InvalidDate, match="26B was killed on 14 Nov 2026"):
        fix(stocked.kitchen, chop, Corrections(animal="26B", packed="2026-11-10"))
    assert [animal.code for animal in now(stocked.kitchen, chop).animals] == ["26H"]


def test_a_month_alone_is_not_before_the_animal_of_that_month_died(stocked: Stocked) -> None:
    """``nov 2026`` for a doe killed on 14 November is that day; an earlier month, and a day, stay what they say."""
    kitchen, free = stocked.kitchen, stocked.backstraps[0].code
    fix(kitchen, free, Corrections(first_frozen="nov 2026"))
    assert now(kitchen, free).package.first_frozen_on == date(2026, 11, 14)
    for early in ("oct 2026", "1 nov"):
        with pytest.raises(InvalidDate, match="26B was killed on 14 Nov 2026"):
            fix(kitchen, free, Corrections(first_frozen=early))
    assert now(kitchen, free).package.first_frozen_on == date(2026, 11, 14)


def test_history_says_plain_words(stocked: Stocked) -> None:
    kitchen, chop = stocked.kitchen, stocked.chops[0].code
    fixed = fix(kitchen, chop, Corrections(pieces="", packed="2026-11-20", weight="1.3"))
    assert fixed.message == f"{chop[:3]}-{chop[3:]}  corrected: weight, pieces, pack date, first frozen."
    words = story(kitchen.afresh(), chop).steps[-1].words
    assert "weight 1.10 lb -> 1.30 lb" in words
    assert "pieces 4 -> not said" in words
    assert "None" not in words


def test_a_spare_label_waits_for_its_weight(kitchen: Kitchen) -> None:
    run = prepare(kitchen, Words(cut="ground", species="elk"), ["x"])
    with kitchen.book.act("label-ahead", kitchen.today, words="one") as act:
        (code,) = put_in(kitchen, act, run, State.SPARE)
    for attempt in (
        lambda: take.take(kitchen, code),
        lambda: take.put_back(kitchen, code),
        lambda: fix(kitchen, code, Corrections(weight="1")),
    ):
        with pytest.raises(Refused, match="printed ahead"):
            attempt()
    # Other facts may be corrected before the bag is filled, and the weight comes after all.
    fix(kitchen, code, Corrections(note="thin"))
    weigh.weigh(kitchen.afresh(), code, "1.02")
    row = now(kitchen, code)
    assert (row.package.state.state, row.package.note, row.package.typed) == (State.FROZEN, "thin", "1.02")
    assert undo_last(kitchen)
    assert now(kitchen, code).package.state.state is State.SPARE
    assert now(kitchen, code).package.net_mg is None
    void_unused(kitchen.afresh())
    assert now(kitchen, code).package.state.reason == "void"
    undo_last(kitchen)
    assert now(kitchen, code).package.state.state is State.SPARE


def test_undo_and_have_it_again(stocked: Stocked) -> None:
    kitchen, chop = stocked.kitchen, stocked.chops[0].code
    take.take(kitchen, chop)
    taken = target(kitchen.afresh())
    number = undo_last(kitchen)
    assert now(kitchen, chop).package.state.state is State.FROZEN
    with pytest.raises(CannotUndo, match=f"taken back already, by act {number}"):
        target(kitchen.afresh(), taken.id)
    undo(kitchen.afresh(), target(kitchen.afresh(), number))
    assert now(kitchen, chop).package.state.state is State.GONE
    # Had again, it can be taken back again, by its own number too.
    undo(kitchen.afresh(), target(kitchen.afresh(), taken.id))
    assert now(kitchen, chop).package.state.state is State.FROZEN
    assert check(kitchen).faults == ()


def test_undo_names_what_stands_on_it(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    take.take(kitchen, stocked.chops[3].code)
    packing = next(act for act in _acts(kitchen) if act.words.startswith("packed 14"))
    with pytest.raises(CannotUndo) as refused:
        undo(kitchen.afresh(), target(kitchen.afresh(), packing.id))
    shown = f"{stocked.chops[3].code[:3]}-{stocked.chops[3].code[3:]}"
    assert shown in refused.value.message
    later = refused.value.facts["later"]
    assert isinstance(later, list)
    undo(kitchen.afresh(), target(kitchen.afresh(), later[-1]))
    undone = undo(kitchen.afresh(), target(kitchen.afresh(), packing.id))
    assert len(undone.rows) == 14
    assert {row.package.state.reason for row in undone.rows} == {"void"}
    assert stocked.chops[0].code not in set(queries.live_codes(kitchen.book))


def test_the_undo_of_a_put_back_leaves_it_gone_since_it_went(stocked: Stocked) -> None:
    kitchen, clock, code = stocked.kitchen, stocked.clock, stocked.roast.code
    clock.move_to("2026-12-01T20:00")
    take.take(kitchen.afresh(), code)
    out = rotation.out_lately(kitchen.afresh())
    clock.move_to("2026-12-05T20:00")
    take.put_back(kitchen.afresh(), code)
    undo_last(kitchen)
    row = now(kitchen, code)
    assert (row.package.state.state, row.package.state.since) == (State.GONE, date(2026, 12, 1))
    (after,) = [by for one, by in rotation.out_lately(kitchen.afresh()) if one.code == code]
    assert [by for one, by in out if one.code == code] == [after]
    for day in ("2026-12-01", "2026-12-03", "2026-12-05"):
        then = queries.package(kitchen.book, code, as_of=date.fromisoformat(day))
        assert then is not None
        assert (then.state.state, then.state.since) == (State.GONE, date(2026, 12, 1)), day
    with pytest.raises(AlreadyGone, match="eaten on 1 Dec already"):
        take.take(kitchen.afresh(), code)
    said = Session(kitchen.afresh()).handle(code)
    assert said is not None
    assert said.outcome == "already-gone", "the undo is no scan of it a moment ago"
    assert story(kitchen.afresh(), code).steps[-1].words.endswith("gone as before, since 1 Dec")
    (left,) = exits(kitchen.afresh(), [row])
    assert left.on == date(2026, 12, 1)
    assert check(kitchen).faults == ()
    # Had again, the return stands, and a new take is of the day it is made.
    undo(kitchen.afresh(), target(kitchen.afresh(), journal.acts(kitchen.book, limit=1)[0].id))
    assert now(kitchen, code).package.state.state is State.FROZEN
    take.take(kitchen.afresh(), code)
    assert now(kitchen, code).package.state.since == date(2026, 12, 5)


def test_what_went_lately_is_found_by_the_day_it_went(stocked: Stocked) -> None:
    # Taken in November; a return on 5 December that was taken back does not bring it among the last days.
    kitchen, code = stocked.kitchen, stocked.roast.code
    take.take(kitchen.afresh(), code, on="24 nov")
    stocked.clock.move_to("2026-12-05T20:00")
    take.put_back(kitchen.afresh(), code)
    undo_last(kitchen)
    assert queries.packages(kitchen.book, State.GONE, since=date(2026, 12, 1)) == ()
    assert rotation.out_lately(kitchen.afresh()) == ()


def test_told_late_it_is_gone_since_the_day_it_went(stocked: Stocked) -> None:
    # What happened on the 5th was taken back, but the journal speaks of that day:
    # a late entry says itself again there.
    kitchen, code = stocked.kitchen, stocked.roast.code
    stocked.clock.move_to("2026-12-05T20:00")
    take.take(kitchen.afresh(), code)
    undo_last(kitchen)
    take.take(kitchen.afresh(), code, on="3 dec")
    assert now(kitchen, code).package.state.since == date(2026, 12, 3)
    (by,) = [by for one, by in rotation.out_lately(kitchen.afresh()) if one.code == code]
    assert by == date(2026, 12, 9)
    assert story(kitchen.afresh(), code).steps[1].words == "gone: eaten"
    undo_last(kitchen)
    assert now(kitchen, code).package.state.state is State.FROZEN
    assert check(kitchen).faults == ()


@pytest.mark.parametrize("lot", [False, True], ids=["one", "some of a lot"])
def test_a_gift_had_again_names_the_person_and_the_day(stocked: Stocked, lot: bool) -> None:
    kitchen, clock = stocked.kitchen, stocked.clock
    code = stocked.roast.code
    if lot:
        run = prepare(kitchen, Words(cut="ground", species="elk", packed="1 nov"), ["1"], quantity=9)
        code = write(kitchen, run).rows[0].code
    clock.move_to("2026-12-01T20:00")
    give.give(kitchen.afresh(), [f"{code}*3" if lot else code], "Ann")
    before = exits(kitchen.afresh(), [now(kitchen, code)])
    assert [(one.person, one.on, one.number) for one in before] == [("Ann", date(2026, 12, 1), 3 if lot else 1)]
    clock.move_to("2026-12-05T20:00")
    number = undo_last(kitchen)
    assert exits(kitchen.afresh(), [now(kitchen, code)]) == ()
    again = undo(kitchen.afresh(), target(kitchen.afresh(), number))
    assert (again.again, again.words) == (True, f"Had again: {again.root.words}")
    after = exits(kitchen.afresh(), [now(kitchen, code)])
    assert [(one.person, one.reason, one.on, one.number) for one in after] == [
        (one.person, one.reason, one.on, one.number) for one in before
    ]
    last = journal.movements(kitchen.book, code=code)[-1]
    assert (last.person, last.reason) == ("Ann", Reason.GIVEN)
    assert "given to Ann" in story(kitchen.afresh(), code).steps[-1].words
    assert check(kitchen).faults == ()


def test_a_corrected_animal_stands_in_all_three_histories(stocked: Stocked) -> None:
    kitchen, chop = stocked.kitchen, stocked.chops[0].code
    fix(kitchen, chop, Corrections(animal="26B"))
    fixed = journal.acts(kitchen.book, limit=1)[0].id
    step = story(kitchen.afresh(), chop).steps[-1]
    assert (step.act_id, step.on) == (fixed, date(2026, 12, 2))
    assert step.words.endswith("animal: 26B, was 26H")
    assert "animal" not in story(kitchen.afresh(), chop).steps[0].words, "packing gives it none that it had not"
    for animal in ("26B", "26H"):
        (act,) = [act for act in of_thing(kitchen.afresh(), animal).acts if act.kind == "fix"]
        assert act.words.endswith("animal: 26B, was 26H")
    undone = undo(kitchen.afresh(), target(kitchen.afresh()))
    assert [row.code for row in undone.rows] == [chop]
    assert story(kitchen.afresh(), chop).steps[-1].words.endswith("animal: 26H, was 26B")
    # One animal, and the same kind of animal: nothing but the origin changes.
    animals.add_animal(kitchen.afresh(), animals.NewAnimal(code="26K", species="pig"))
    fix(kitchen.afresh(), chop, Corrections(animal="26K"))
    assert story(kitchen.afresh(), chop).steps[-1].words == "animal: 26K, was 26H"
    undo_last(kitchen)
    again = undo(kitchen.afresh(), target(kitchen.afresh(), journal.acts(kitchen.book, limit=1)[0].id))
    assert [row.code for row in again.rows] == [chop]


def test_an_animal_said_later_was_not_said_before(stocked: Stocked) -> None:
    kitchen, roast = stocked.kitchen, stocked.roast.code
    animals.add_animal(kitchen, animals.NewAnimal(code="25S", species="beef"))
    fix(kitchen.afresh(), roast, Corrections(animal="25S"))
    assert story(kitchen.afresh(), roast).steps[-1].words == "animal: 25S, was not said"


def test_a_swap_reads_so_in_both_histories(stocked: Stocked) -> None:
    kitchen, one, other = stocked.kitchen, stocked.backstraps[0].code, stocked.chops[0].code
    swap(kitchen, one, other)
    for mine, theirs, animal in ((one, other, "animal: 26H, was 26B"), (other, one, "animal: 26B, was 26H")):
        steps = story(kitchen.afresh(), mine).steps
        assert steps[-1].words.startswith(f"labels swapped with {show_code(theirs)}: ")
        assert steps[-1].words.endswith(animal)
        # The backstrap was in the red bag; its record of today says where the label was that it bears now.
        moved = ["moved to Garage chest"] if mine == other else []
        assert [step.words for step in steps[:-1]] == ["packed, Garage chest, red bag", *moved]
    undo_last(kitchen)
    assert f"labels swapped with {show_code(one)}" in story(kitchen.afresh(), other).steps[-1].words


def test_a_swap_says_which_pack_is_held_now_and_which_labels_are_wrong(stocked: Stocked) -> None:
    kitchen, held, free = stocked.kitchen, stocked.backstraps[0].code, stocked.chops[0].code
    done = swap(kitchen, held, free)
    assert f"Not on hold is {show_code(held)}. ON HOLD is {show_code(free)} (test pending" in done.message
    # No label was printed of these two, so none is out of date.
    assert done.reprint == ()
    alike = swap(kitchen.afresh(), *(row.code for row in stocked.chops[1:3]))
    assert "hold" not in alike.message.lower()


def test_plain_meat_has_nothing_added(stocked: Stocked) -> None:
    mixed = write(stocked.kitchen, prepare(stocked.kitchen, Words(cut="ground", added="pork fat"), ["1"])).rows[0]
    for fat in ("none", "0", "plain"):
        with pytest.raises(InputError, match="contains 'pork fat'"):
            prepare(stocked.kitchen.afresh(), Words(cut="ground", fat=fat, added="pork fat"), ["1"])
        with pytest.raises(InputError, match="contains 'pork fat'"):
            fix(stocked.kitchen.afresh(), mixed.code, Corrections(fat=fat))
    assert fix(stocked.kitchen.afresh(), mixed.code, Corrections(fat="20")).rows[0].package.fat_percent == 20


def test_two_that_say_the_same_are_not_swapped(stocked: Stocked) -> None:
    run = prepare(stocked.kitchen, Words(cut="ground", species="elk"), ["1"])
    first, second = (write(stocked.kitchen.afresh(), run).rows[0].code for _ in range(2))
    with pytest.raises(Refused, match="nothing to exchange"):
        swap(stocked.kitchen.afresh(), first, second)


def test_words_of_ones_own_are_corrected(kitchen: Kitchen) -> None:
    chili = write(kitchen, prepare(kitchen, Words(cut="other", other="chili"), ["2"])).rows[0].code

    def fixed(cut: str) -> tuple[str, str]:
        package = fix(kitchen.afresh(), chili, Corrections(cut=cut)).rows[0].package
        return package.cut, package.other_words

    assert fixed("other  mild   chili") == ("other", "mild chili")
    assert story(kitchen.afresh(), chili).steps[-1].words == "name chili -> mild chili"
    assert fixed("Other 'bean stew'") == ("other", "bean stew")
    assert fixed("soup") == ("soup", "")
    with pytest.raises(InputError, match="Say what it is"):
        fixed("other")
    assert fixed("other broth") == ("other", "broth")
    with pytest.raises(Refused, match="says that already"):
        fixed("other")
    with pytest.raises(InputError, match="is 41 characters; the name can have 40"):
        fixed("other " + "w" * 41)
    with pytest.raises(InputError, match="is 61 characters; --owner can have 60"):
        fix(kitchen.afresh(), chili, Corrections(owner="w" * 61))
    assert now(kitchen, chili).package.other_words == "broth"


@pytest.mark.parametrize(
    ("cut", "species", "weight", "doubt"),
    [
        ("sirloin end", "pork", "20", ""),
        ("sirloin end", "pork", "20.01", "20.01 lb of Sirloin end, where the heaviest usual pack of any cut is"),
        ("carcass quarter", "beef", "190", ""), ("half carcass", "pork", "90", ""), ("haunch", "elk", "55", ""),
        ("whole fish", "halibut", "60", ""),
        ("fresh ham", "pork", "60", ""), ("fresh ham", "pork", "61", "61.00 lb of Fresh ham, where a usual pack is"),
        ("backstrap", "", "25", "25.00 lb of Backstrap, where a usual pack is up to"),
    ],
)  # fmt: skip
def test_a_weight_that_no_pack_has_is_asked_about(
    kitchen: Kitchen, cut: str, species: str, weight: str, doubt: str
) -> None:
    found = doubts(kitchen, prepare(kitchen, Words(cut=cut, species=species), [weight]))
    assert [one.startswith(f"{weight!r}: {doubt}") for one in found] == ([True] if doubt else [])


@pytest.mark.parametrize(
    ("unit", "none", "some"), [("lb", "0.004", "0.006"), ("lb-oz", "1g", "2g"), ("kg", ".4g", "0.6g")]
)
def test_less_than_the_house_can_show_is_no_weight(kitchen: Kitchen, unit: str, none: str, some: str) -> None:
    set_setting(kitchen, "units", unit)
    kitchen = kitchen.afresh()
    row = write(kitchen, prepare(kitchen, Words(cut="other", other="saffron"), [some])).rows[0]
    assert row.package.net_mg
    for attempt in (
        lambda: prepare(kitchen.afresh(), Words(cut="other", other="saffron"), [none]),
        lambda: fix(kitchen.afresh(), row.code, Corrections(weight=none)),
    ):
        with pytest.raises(InvalidMass, match="no weight at all"):
            attempt()
    unweighed = write(kitchen.afresh(), prepare(kitchen.afresh(), Words(cut="other", other="saffron"), ["x"])).rows[0]
    with pytest.raises(InvalidMass, match="no weight at all"):
        weigh.weigh(kitchen.afresh(), unweighed.code, none)


def _acts(kitchen: Kitchen) -> list[Act]:
    return list(journal.acts(kitchen.book))
