"""What stands on what: no undo leaves meat without its animal, or packages in a place that no list shows."""

from __future__ import annotations

import pytest

from freezerbox.book import journal, queries
from freezerbox.chores import animals, fix, holding, move, pack, places
from freezerbox.chores.check import check
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Rows
from freezerbox.chores.take import put_back, take
from freezerbox.chores.undo import target, undo
from freezerbox.core.records import State
from freezerbox.errors import CannotUndo, Refused
from tests.book.look import everything
from tests.conftest import Stocked


def of(stocked: Stocked) -> Kitchen:
    return stocked.kitchen.afresh()


def last(stocked: Stocked) -> int:
    return journal.latest(stocked.book)


def back(stocked: Stocked, number: int) -> int:
    """Takes an act back; returns the number of the undo."""
    return undo(of(stocked), target(of(stocked), number)).number


def refused(stocked: Stocked, number: int) -> str:
    """What undo says; the book is as it was."""
    before = everything(stocked.book.path)
    with pytest.raises(CannotUndo) as error:
        back(stocked, number)
    assert everything(stocked.book.path) == before
    return error.value.message


def a_doe(stocked: Stocked) -> int:
    animals.add_animal(of(stocked), animals.NewAnimal(code="26K", species="whitetail", test="pending", sample="9"))
    return last(stocked)


def of_the_doe(stocked: Stocked) -> str:
    words = Words(cut="backstrap", animals=("26K",))
    return pack.write(of(stocked), pack.prepare(of(stocked), words, ["1"])).rows[0].code


def in_place(stocked: Stocked, place: str) -> str:
    words = Words(cut="ground", species="whitetail", fat="none", place=place)
    return pack.write(of(stocked), pack.prepare(of(stocked), words, ["1"])).rows[0].code


def place_of(stocked: Stocked, code: str) -> str:
    (row,) = Rows(of(stocked)).of_codes([code])
    return row.where


def held(stocked: Stocked, code: str) -> bool:
    (row,) = Rows(of(stocked)).of_codes([code])
    return bool(row.holds)


def test_an_animal_stays_while_a_package_of_it_that_was_had_again_stands(stocked: Stocked) -> None:
    doe = a_doe(stocked)
    code = of_the_doe(stocked)
    again = back(stocked, back(stocked, last(stocked)))
    assert f"act {again}: had again act" in refused(stocked, doe)
    assert held(stocked, code)
    # What is told to be done can be done, and then the animal may go.
    back(stocked, again)
    back(stocked, doe)
    assert check(of(stocked)).faults == ()


def test_a_package_is_not_had_again_without_its_animal(stocked: Stocked) -> None:
    doe = a_doe(stocked)
    code = of_the_doe(stocked)
    unpacked = back(stocked, last(stocked))
    gone = back(stocked, doe)
    said = refused(stocked, unpacked)
    assert f"animal 26K: taken back by act {gone}" in said
    assert f"freezerbox undo {gone}" in said
    back(stocked, gone)
    back(stocked, unpacked)
    assert held(stocked, code)
    assert check(of(stocked)).faults == ()


def test_a_correction_is_not_had_again_without_its_animal(stocked: Stocked) -> None:
    doe = a_doe(stocked)
    code = stocked.ground[0].code
    fix.fix(of(stocked), code, fix.Corrections(animal="26K"), yes=True)
    undone = back(stocked, last(stocked))
    gone = back(stocked, doe)
    assert f"freezerbox undo {gone}" in refused(stocked, undone)
    back(stocked, gone)
    back(stocked, undone)
    assert held(stocked, code)


def test_an_animal_stays_while_a_hold_on_it_stands(stocked: Stocked) -> None:
    doe = a_doe(stocked)
    holding.hold(of(stocked), "26K", "asked the warden")
    hold = last(stocked)
    assert f"freezerbox undo {hold}" in refused(stocked, doe)
    undone = back(stocked, hold)
    gone = back(stocked, doe)
    assert f"freezerbox undo {gone}" in refused(stocked, undone)


def test_packages_are_not_had_again_in_a_place_and_freezer_that_were_taken_back(stocked: Stocked) -> None:
    places.add_freezer(of(stocked), "Cabin")
    freezer = last(stocked)
    places.add_place(of(stocked), "top shelf", "Cabin")
    place = last(stocked)
    code = in_place(stocked, "top shelf")
    unpacked, unplaced, unfrozen = (back(stocked, number) for number in (last(stocked), place, freezer))
    assert f"freezerbox undo {unfrozen}" in refused(stocked, unpacked)  # the freezer before the place in it
    assert f"freezer Cabin: taken back by act {unfrozen}" in refused(stocked, unplaced)
    for number in (unfrozen, unplaced, unpacked):
        back(stocked, number)
    assert place_of(stocked, code) == "Cabin, top shelf"
    assert check(of(stocked)).faults == ()


def test_a_take_is_not_taken_back_into_a_place_that_was_retired(stocked: Stocked) -> None:
    places.add_place(of(stocked), "green basket")
    code = in_place(stocked, "green basket")
    take(of(stocked), code)
    taken = last(stocked)
    places.retire_place(of(stocked), "green basket")
    retired = last(stocked)
    said = refused(stocked, taken)
    assert f"place green basket: retired by act {retired}" in said
    assert f"freezerbox undo {retired}" in said
    back(stocked, retired)
    back(stocked, taken)
    assert place_of(stocked, code) == "Garage chest, green basket"


def test_a_place_taken_into_use_again_stays_while_packages_lie_in_it(stocked: Stocked) -> None:
    places.add_place(of(stocked), "green basket")
    places.retire_place(of(stocked), "green basket")
    places.add_place(of(stocked), "green basket")
    again = last(stocked)
    code = in_place(stocked, "green basket")
    packed = last(stocked)
    assert f"freezerbox undo {packed}" in refused(stocked, again)
    assert place_of(stocked, code) == "Garage chest, green basket"


def test_a_take_is_not_taken_back_into_another_freezer_than_its_basket(stocked: Stocked) -> None:
    places.add_place(of(stocked), "green basket")
    code = in_place(stocked, "green basket")
    take(of(stocked), code)
    taken = last(stocked)
    places.add_freezer(of(stocked), "Cabin")
    move.move(of(stocked), ["green basket"], to="Cabin")
    assert f"place green basket: moved to Cabin by act {last(stocked)}" in refused(stocked, taken)
    # Put back, it lies where its basket is by now.
    put_back(of(stocked), code)
    assert place_of(stocked, code) == "Cabin, green basket"
    assert check(of(stocked)).faults == ()


def test_put_back_goes_to_no_place_that_is_in_use_no_more(stocked: Stocked) -> None:
    places.add_freezer(of(stocked), "Cabin")
    places.add_place(of(stocked), "top shelf", "Cabin")
    code = in_place(stocked, "top shelf")
    take(of(stocked), code)
    places.retire_place(of(stocked), "top shelf")
    put_back(of(stocked), code)
    assert place_of(stocked, code) == "Cabin"
    take(of(stocked), code)
    places.retire_freezer(of(stocked), "Cabin")
    with pytest.raises(Refused, match='freezerbox freezer add "Cabin"'):
        put_back(of(stocked), code)
    assert code not in {package.code for package in queries.packages(stocked.book, State.FROZEN)}


def left_alone(stocked: Stocked, table: str, name: str, field: str, value: int) -> int:
    """A record changed as no chore would: what an earlier program's undo left behind."""
    column = "code" if table == "animal" else "name"
    row = stocked.book.connection.execute(f"SELECT id, {field} FROM {table} WHERE {column} = ?", (name,)).fetchone()
    with stocked.book.act("test", of(stocked).today, words="as it was left") as act:
        act.change(table, row[0], field, row[1], value)
    return last(stocked)


@pytest.mark.parametrize("what", ["place", "freezer"])
@pytest.mark.parametrize("field", ["void", "retired"])
def test_check_finds_packages_that_no_list_shows(stocked: Stocked, what: str, field: str) -> None:
    number = left_alone(stocked, what, {"place": "red bag", "freezer": "Garage chest"}[what], field, 1)
    said = [fault for fault in check(of(stocked)).faults if "no list of what is there shows it" in fault]
    assert len(said) == 1
    assert f"To have it again: freezerbox undo {number}." in said[0]
    back(stocked, number)
    assert check(of(stocked)).faults == ()


def test_check_finds_packages_in_another_freezer_than_their_place(stocked: Stocked) -> None:
    places.add_freezer(of(stocked), "Cabin")
    cabin = next(one.id for one in queries.freezers(stocked.book) if one.name == "Cabin")
    left_alone(stocked, "place", "red bag", "freezer_id", cabin)
    said = [fault for fault in check(of(stocked)).faults if "in another freezer than" in fault]
    assert len(said) == 1
    assert "moved to Cabin" in said[0]


def test_check_says_which_undo_brings_an_animal_and_its_hold_back(stocked: Stocked) -> None:
    number = left_alone(stocked, "animal", "26B", "void", 1)
    (said,) = check(of(stocked)).faults
    assert "a hold on it would not show" in said
    assert f"To have it again: freezerbox undo {number}." in said
    assert "restore" not in said
    back(stocked, number)
    assert check(of(stocked)).faults == ()


def test_what_an_earlier_program_left_behind_keeps_nobody_from_undoing(stocked: Stocked) -> None:
    left_alone(stocked, "place", "red bag", "void", 1)
    take(of(stocked), stocked.roast.code)
    back(stocked, last(stocked))
    assert place_of(stocked, stocked.roast.code) == "Garage chest"


def test_a_refusal_names_things_as_people_do(stocked: Stocked) -> None:
    doe = a_doe(stocked)
    code = of_the_doe(stocked)
    gone = back(stocked, back(stocked, last(stocked)))
    number = queries.animals(stocked.book)[-1].id
    said = refused(stocked, doe)
    assert f"({number})" not in said
    assert f"act {gone}" in said
    assert code
