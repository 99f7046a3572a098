"""Undo: each kind of act taken back whole, and had again."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from freezerbox.book import journal, queries
from freezerbox.book.door import Book
from freezerbox.chores import (
    adopt,
    animals,
    count,
    fix,
    grind,
    guide,
    holding,
    house,
    lost,
    move,
    pack,
    places,
    result,
    split,
    table,
    weigh,
    wraps,
)
from freezerbox.chores.check import check
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.take import put_back, take
from freezerbox.chores.undo import target, undo
from freezerbox.core.code import bodies, make_code
from freezerbox.core.records import Reason, State
from freezerbox.errors import CannotUndo
from tests.book.look import columns, everything, standing, tables
from tests.conftest import Stocked

Did = Callable[[Stocked], object]


def of(stocked: Stocked) -> Kitchen:
    return stocked.kitchen.afresh()


def packed(stocked: Stocked) -> object:
    words = Words(cut="ground", animals=("26B",), fat="20", added="pork fat", note="coarse")
    return pack.write(of(stocked), pack.prepare(of(stocked), words, ["1", "1.1", "x"]))


def a_lot_packed(stocked: Stocked) -> object:
    words = Words(cut="ground", species="whitetail", fat="none")
    return pack.write(of(stocked), pack.prepare(of(stocked), words, ["2"], quantity=72))


def took_of_a_lot(stocked: Stocked) -> object:
    code = queries.packages(stocked.book, State.FROZEN)[-1].code
    return take(of(stocked), code)


def with_a_lot(stocked: Stocked) -> None:
    a_lot_packed(stocked)


def with_one_taken(stocked: Stocked) -> None:
    take(of(stocked), stocked.roast.code)


def with_one_not_weighed(stocked: Stocked) -> None:
    pack.write(of(stocked), pack.prepare(of(stocked), Words(cut="ground", animals=("26B",)), ["x"]))


def with_spare_labels(stocked: Stocked) -> None:
    label(stocked, "ahead", "3", "ground", "--animal", "26B", "--to", "labels.pdf")


def label(stocked: Stocked, *arguments: str) -> None:
    """Labels as a person prints them, at the same table."""
    environment = {
        **{name: value for name, value in os.environ.items() if not name.startswith("FREEZERBOX_")},
        "FREEZERBOX_BOOK": str(stocked.book.path),
        "FREEZERBOX_NOW": stocked.clock.at.isoformat(),
        "FREEZERBOX_STATION": stocked.book.station,
    }
    command = [sys.executable, "-m", "freezerbox", "label", *arguments]
    done = subprocess.run(
        command, env=environment, cwd=stocked.book.path.parent, stdin=subprocess.DEVNULL, capture_output=True,
        text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


def with_another_animal(stocked: Stocked) -> None:
    animals.add_animal(of(stocked), animals.NewAnimal(code="26C", species="whitetail"))


def with_a_second_freezer(stocked: Stocked) -> None:
    places.add_freezer(of(stocked), "Kitchen")


def with_a_hold(stocked: Stocked) -> None:
    holding.hold(of(stocked), stocked.roast.code, "smells odd")


STRANGE = str(next(code for code in map(make_code, bodies("Z", 4711)) if code is not None))
"""A label that no book of these tests issued."""


def with_a_look(stocked: Stocked) -> None:
    """Seen in the red bag: a chop that lies elsewhere by the list, and one of the backstraps; the others are not."""
    count.see(of(stocked), stocked.red_bag, [stocked.chops[0].code, stocked.backstraps[0].code])


def with_a_count(stocked: Stocked) -> None:
    with_a_look(stocked)
    count.finish(of(stocked), stocked.red_bag)


def with_a_lot_of_six(stocked: Stocked) -> None:
    words = Words(cut="ground", species="whitetail", fat="none")
    pack.write(of(stocked), pack.prepare(of(stocked), words, ["2"], quantity=6))


def the_lot(stocked: Stocked) -> str:
    return queries.packages(stocked.book, State.FROZEN)[-1].code


def ground_up(stocked: Stocked) -> object:
    asked = grind.Asked(
        packages=(stocked.roast.code,), shop=("pork back fat=1",), weights=("2x2",), words=Words(cut="ground")
    )
    return grind.make(of(stocked), asked, yes=True)


def a_table(stocked: Stocked) -> object:
    file = stocked.book.path.with_name("evening.csv")
    file.write_text("cut,weight,animal,place\nhock,2,26H,red bag\nhock,2.1,26H,\n", encoding="utf-8")
    return table.pack_table(of(stocked), file, yes=True)


def nothing(stocked: Stocked) -> None:
    pass


def spare(stocked: Stocked) -> str:
    return queries.packages(stocked.book, State.SPARE)[0].code


ACTS: list[tuple[str, Callable[[Stocked], None], Did]] = [
    ("pack", nothing, packed),
    ("pack a lot", nothing, a_lot_packed),
    ("animal", nothing, with_another_animal),
    (
        "animal with a test",
        nothing,
        lambda s: animals.add_animal(of(s), animals.NewAnimal(code="26D", species="elk", test="pending", sample="1")),
    ),
    ("freezer", nothing, with_a_second_freezer),
    ("place", nothing, lambda s: places.add_place(of(s), "green basket")),
    ("place renamed", nothing, lambda s: places.rename_place(of(s), "red bag", "blue bag")),
    ("setting that was not set", nothing, lambda s: house.set_setting(of(s), "letter", "K")),
    ("setting", nothing, lambda s: house.set_setting(of(s), "units", "kg")),
    ("guide", nothing, lambda s: guide.use_guide(of(s), "refrigeration-1972")),
    ("guide of one's own", nothing, lambda s: guide.set_own(of(s), "ground venison", "4", "6")),
    ("label", nothing, lambda s: label(s, "--to", "labels.pdf")),
    ("label ahead", nothing, with_spare_labels),
    ("label void", with_spare_labels, lambda s: label(s, "void", "--unused")),
    ("weigh", with_one_not_weighed, lambda s: weigh.weigh(of(s), queries.packages(s.book)[-1].code, "1.2")),
    ("weigh a spare", with_spare_labels, lambda s: weigh.weigh(of(s), spare(s), "1.2")),
    ("take", nothing, lambda s: take(of(s), s.roast.code)),
    ("take on an earlier day", nothing, lambda s: take(of(s), s.roast.code, on="1 dec")),
    ("take what is held", nothing, lambda s: take(of(s), s.backstraps[0].code, already_eaten=True)),
    ("take one of a lot", with_a_lot, took_of_a_lot),
    ("give", nothing, lambda s: take(of(s), s.roast.code, Reason.GIVEN, person="Ann")),
    ("discard", nothing, lambda s: take(of(s), s.backstraps[0].code, Reason.DISCARDED)),
    ("put back", with_one_taken, lambda s: put_back(of(s), s.roast.code)),
    ("put back thawed", with_one_taken, lambda s: put_back(of(s), s.roast.code, thawed=True)),
    ("put back elsewhere", with_one_taken, lambda s: put_back(of(s), s.roast.code, place_id=s.red_bag.id)),
    ("fix a weight", nothing, lambda s: fix.fix(of(s), s.roast.code, fix.Corrections(weight="3.3"))),
    (
        "fix the animal",
        with_another_animal,
        lambda s: fix.fix(of(s), s.backstraps[0].code, fix.Corrections(animal="26C"), yes=True),
    ),
    ("swap", nothing, lambda s: fix.swap(of(s), s.roast.code, s.ground[0].code)),
    ("move", nothing, lambda s: move.move(of(s), [s.roast.code, s.chops[0].code], to="red bag")),
    ("move a freezer", with_a_second_freezer, lambda s: move.move_freezer(of(s), "Garage chest", to="Kitchen")),
    ("hold", nothing, lambda s: holding.hold(of(s), s.roast.code, "smells odd")),
    ("hold on an animal", nothing, lambda s: holding.hold(of(s), "26H", "asked the warden")),
    ("release", with_a_hold, lambda s: holding.release(of(s), s.roast.code, "it was the bag")),
    ("result", nothing, lambda s: result.record(of(s), result.understand(of(s), "26B", "not-detected"))),
    ("seal lost", nothing, lambda s: wraps.seal_lost(of(s), s.chops[0].code)),
    ("rewrap", nothing, lambda s: wraps.rewrap(of(s), s.chops[0].code, "paper")),
    ("a look of a count", nothing, lambda s: count.see(of(s), s.red_bag, [s.chops[0].code])),
    ("a count that differs", with_a_look, lambda s: count.finish(of(s), s.red_bag)),
    ("a count accepted", with_a_count, lambda s: count.accept(of(s), s.red_bag)),
    ("split into singles", with_a_lot_of_six, lambda s: split.split_each(of(s), the_lot(s))),
    ("split in two", with_a_lot_of_six, lambda s: split.split_off(of(s), the_lot(s), "2", to="red bag")),
    ("take a part", nothing, lambda s: split.split_take(of(s), s.chops[0].code, "2")),
    (
        "take in a stranger's label",
        nothing,
        lambda s: adopt.adopt(of(s), [STRANGE], adopt.Known(words=Words(cut="deer shank"))),
    ),
    ("a place lost", nothing, lambda s: lost.lose_place(of(s), "red bag", mark=True)),
    ("grind", nothing, ground_up),
    ("a table", nothing, a_table),
    ("result, sample lost", nothing, lambda s: result.record(of(s), result.understand(of(s), "26B", "sample-lost"))),
]


@pytest.mark.parametrize(("before", "did"), [case[1:] for case in ACTS], ids=[case[0] for case in ACTS])
def test_an_act_is_taken_back_whole_and_had_again(
    stocked: Stocked, book_path: Path, before: Callable[[Stocked], None], did: Did
) -> None:
    before(stocked)
    latest = journal.acts(stocked.book, limit=1)[0].id
    was = standing(book_path)
    did(stocked)
    done = journal.acts(stocked.book, limit=1)[0]
    assert done.id == latest + 1, "one thing a person does is one act"
    then = standing(book_path)
    assert then != was
    stocked.clock.move_to("2026-12-05T20:00")

    undone = undo(of(stocked), target(of(stocked)))
    assert undone.act.id == done.id
    assert standing(book_path) == was
    reversing = journal.acts(stocked.book, limit=1)[0]
    assert (reversing.undoes, reversing.happened_on) == (done.id, done.happened_on)

    undo(of(stocked), target(of(stocked), reversing.id))
    assert standing(book_path) == then
    assert target(of(stocked)).undoes == reversing.id  # what stands of it now is the undoing of its undoing
    undo(of(stocked), target(of(stocked)))
    assert standing(book_path) == was
    assert check(of(stocked)).faults == ()


def test_every_row_that_can_be_void_is_made_void_by_undo(stocked: Stocked, book_path: Path) -> None:
    book = stocked.book
    code = stocked.roast.code
    with book.act("test", date(2026, 12, 2), words="a row of each") as act:
        sign = act.new_code("place", "3")
        freezer = act.add("freezer", name="Kitchen")
        act.add("place", freezer_id=freezer, name="drawer", code=sign)
        act.add("person", name="Ann")
        animal = act.add("animal", code="26X", species="elk")
        act.add("animal_test", animal_id=animal, sent_on="2026-12-02", result="pending")
        act.add("animal_hold", animal_id=animal, why="a reason", since="2026-12-02")
        act.add("batch", code="G26-9", made_on="2026-12-02")
        act.add("batch_step", batch="G26-9", what="smoke", due_on="2026-12-09")
        act.add("lineage", child=code, kind="animal", name="26X", mass_mg=None)
        act.add("own_hold", code=code, why="a reason", since="2026-12-02")
        act.add("label", code=code, stock="letter-10up", text=code, printed_on="2026-12-02")
        act.add("cost", subject_kind="animal", subject="26X", what="cutting", cents=100)
    can_be_void = {each for each in tables(book.connection) if "void" in columns(book.connection, each)}
    made = {table for table, _, _ in journal.created(book, act.act_id)}
    assert made == can_be_void
    undo(of(stocked), target(of(stocked)))
    for each in can_be_void:
        query = f"SELECT count(*) FROM {each} WHERE act_id = ? AND void = 0"
        assert book.connection.execute(query, (act.act_id,)).fetchone()[0] == 0, each


def test_the_past_reads_right_after_an_undo(stocked: Stocked) -> None:
    # Taken by mistake on the 2nd, put right on the 5th: on the 3rd it lay in the freezer.
    code = stocked.roast.code
    take(of(stocked), code)
    stocked.clock.move_to("2026-12-05T20:00")
    undo(of(stocked), target(of(stocked)))
    assert [movement.happened_on for movement in journal.movements(stocked.book, code=code)][1:] == [
        date(2026, 12, 2),
        date(2026, 12, 2),
    ]
    package = queries.package(stocked.book, code)
    assert package is not None
    assert package.state.state is State.FROZEN


def test_undo_is_of_this_terminals_own_last_act(stocked: Stocked, open_again: Callable[..., Book]) -> None:
    phone = Kitchen(open_again(station="phone"), stocked.clock)
    take(of(stocked), stocked.chops[0].code)
    take(phone, stocked.chops[1].code)
    assert target(of(stocked)).words.startswith(stocked.chops[0].code[:3])
    undo(of(stocked), target(of(stocked)))
    undo(phone, target(phone))
    with pytest.raises(CannotUndo, match="Nothing to undo here"):
        target(phone)


def refusal(stocked: Stocked, number: int | None = None) -> CannotUndo:
    """What undo refuses; the book is as it was."""
    before = everything(stocked.book.path)
    with pytest.raises(CannotUndo) as refused:
        undo(of(stocked), target(of(stocked), number))
    assert everything(stocked.book.path) == before
    return refused.value


def number_of(stocked: Stocked) -> int:
    return journal.acts(stocked.book, limit=1)[0].id


def test_an_act_that_others_stand_on_is_not_taken_back(stocked: Stocked) -> None:
    take(of(stocked), stocked.roast.code)
    first = number_of(stocked)
    put_back(of(stocked), stocked.roast.code)
    second = number_of(stocked)
    refused = refusal(stocked, first)
    assert refused.facts["later"] == [second]
    assert f"freezerbox undo {second}" in refused.message
    undo(of(stocked), target(of(stocked), second))
    undo(of(stocked), target(of(stocked), first))
    package = queries.package(stocked.book, stocked.roast.code)
    assert package is not None
    assert package.state.state is State.FROZEN


def test_a_record_in_use_is_not_taken_back(stocked: Stocked) -> None:
    places.add_place(of(stocked), "green basket")
    added = number_of(stocked)
    move.move(of(stocked), [stocked.roast.code], to="green basket")
    assert refusal(stocked, added).facts["later"] == [number_of(stocked)]
    hog = next(act for act in journal.acts(stocked.book) if act.words.startswith("added animal 26H"))
    assert "loin chops" in refusal(stocked, hog.id).message.lower()


def test_what_is_taken_back_already(stocked: Stocked) -> None:
    take(of(stocked), stocked.roast.code)
    number = number_of(stocked)
    undo(of(stocked), target(of(stocked)))
    assert f"taken back already, by act {number + 1}" in refusal(stocked, number).message


def test_what_cannot_be_taken_back(stocked: Stocked) -> None:
    start = next(act for act in journal.acts(stocked.book) if act.kind == "start")
    assert "Starting the book is not undone" in refusal(stocked, start.id).message
    assert "There is no act 4711" in refusal(stocked, 4711).message


def test_a_run_is_taken_back_after_a_later_take_of_one_of_it_was_taken_back(stocked: Stocked) -> None:
    run = next(act for act in journal.acts(stocked.book) if "Loin chops" in act.words)
    take(of(stocked), stocked.chops[3].code)
    refusal(stocked, run.id)
    undo(of(stocked), target(of(stocked)))
    undone = undo(of(stocked), target(of(stocked), run.id))
    assert [row.code for row in undone.rows] == [row.code for row in stocked.chops]
    # The last day on which anything was recorded of the one that was taken and returned is a later one.
    assert {(row.package.state.reason, row.package.state.quantity) for row in undone.rows} == {(Reason.VOID, 0)}
    assert check(of(stocked)).faults == ()
    # Nor were they there on any day in between.
    for day in (date(2026, 11, 21), date(2026, 11, 25), date(2026, 12, 2)):
        there = {package.code for package in queries.packages(stocked.book, State.FROZEN, as_of=day)}
        assert there.isdisjoint(row.code for row in stocked.chops), day
    undo(of(stocked), target(of(stocked), undone.number))
    there = {package.code for package in queries.packages(stocked.book, State.FROZEN)}
    assert there.issuperset(row.code for row in stocked.chops)


def test_check_finds_what_was_taken_before_it_was_there(stocked: Stocked) -> None:
    code = stocked.roast.code
    with stocked.book.act("test", date(2025, 11, 11)) as act:
        for day, delta in ((date(2025, 11, 9), -1), (date(2025, 11, 11), 1)):
            act.move(code, state=State.FROZEN, freezer_id=1, place_id=None, delta=delta, on=day)
    (fault,) = check(of(stocked)).faults
    assert f"falls below none on 2025-11-09 (act {act.act_id})" in fault
