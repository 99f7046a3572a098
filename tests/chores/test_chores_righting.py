"""Putting things right: what undo, fix, swap and put-back do and leave alone, against the kitchen itself."""

from __future__ import annotations

import pytest

from freezerbox.book import journal, queries
from freezerbox.chores import animals, label, take, weigh
from freezerbox.chores.check import check
from freezerbox.chores.fix import Corrections, fix, swap
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pack import prepare, put_in, write
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.story import story
from freezerbox.chores.undo import target, undo
from freezerbox.core.records import Act, State
from freezerbox.errors import CannotUndo, InvalidDate, Refused
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
    label.void_unused(kitchen.afresh())
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


def _acts(kitchen: Kitchen) -> list[Act]:
    return list(journal.acts(kitchen.book))
