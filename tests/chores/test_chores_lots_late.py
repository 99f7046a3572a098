"""Some of a lot that left on an earlier day, and some that come back."""

from __future__ import annotations

from datetime import date

import pytest

from freezerbox.book import journal, queries
from freezerbox.chores import grind
from freezerbox.chores.check import check
from freezerbox.chores.give import give
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.move import move
from freezerbox.chores.pack import prepare, write
from freezerbox.chores.returning import refuse_unsaid
from freezerbox.chores.session import Session
from freezerbox.chores.split import split_off
from freezerbox.chores.take import put_back, take
from freezerbox.chores.undo import target, undo
from freezerbox.core.code import show_code
from freezerbox.core.records import Reason, State
from freezerbox.errors import OutOfLine, Refused
from tests.conftest import Stocked


def a_lot(stocked: Stocked, number: int = 5) -> str:
    """Code of a lot that was packed on 1 November and is in the red bag."""
    kitchen = stocked.kitchen.afresh()
    words = Words(cut="ground", species="beef", packed="2026-11-01", place="red bag")
    return write(kitchen, prepare(kitchen, words, ["1"], quantity=number)).rows[0].code


def left(kitchen: Kitchen, code: str, day: str = "") -> int:
    """How many of it are there now, or at the end of a day, by the state as by the number."""
    package = queries.package(kitchen.afresh().book, code, as_of=date.fromisoformat(day) if day else None)
    assert package is not None
    assert (package.state.state is State.GONE) == (package.state.quantity == 0)
    return package.state.quantity


def test_a_late_take_may_come_to_all_of_a_lot_with_a_later_one(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, a_lot(stocked)
    give(kitchen.afresh(), [f"{code}*2"], "Ann", on="2026-11-15", yes=True)
    done = take(kitchen.afresh(), code, on="2026-11-10", number=3)
    assert done.message.endswith("None left since 15 Nov.")
    days = {"2026-11-09": 5, "2026-11-10": 2, "2026-11-14": 2, "2026-11-15": 0, "2026-11-20": 0}
    assert {day: left(kitchen, code, day) for day in days} == days
    now = queries.package(kitchen.book, code)
    assert now is not None
    # How the last of it went is how it is gone.
    assert (now.state.reason, now.state.since) == (Reason.GIVEN, date(2026, 11, 15))
    assert check(kitchen).faults == ()
    first = undo(kitchen.afresh(), target(kitchen.afresh())).number
    assert (left(kitchen, code, "2026-11-10"), left(kitchen, code, "2026-11-15"), left(kitchen, code)) == (5, 3, 3)
    undo(kitchen.afresh(), target(kitchen.afresh(), first))
    assert {day: left(kitchen, code, day) for day in days} == days
    undo(kitchen.afresh(), target(kitchen.afresh()))
    undo(kitchen.afresh(), target(kitchen.afresh()))
    assert left(kitchen, code) == 5
    assert check(kitchen).faults == ()


@pytest.mark.parametrize("giving", [False, True])
def test_why_a_late_entry_of_a_lot_is_refused_is_true(stocked: Stocked, giving: bool) -> None:
    kitchen, code = stocked.kitchen, a_lot(stocked)
    take(kitchen.afresh(), code, on="2026-11-15", number=2)
    move(kitchen.afresh(), [code], to="Garage chest", on="2026-11-18")

    def leave(number: int, day: str) -> None:
        if giving:
            give(kitchen.afresh(), [f"{code}*{number}"], "Ann", on=day, yes=True)
        else:
            take(kitchen.afresh(), code, on=day, number=number)

    with pytest.raises(Refused, match=r"on 18 Nov 2026 3 of it were still there .*moved"):
        leave(3, "2026-11-10")
    with pytest.raises(Refused, match="has 3 left, not 4"):
        leave(4, "2026-11-10")
    with pytest.raises(Refused, match="came into the freezer on 1 Nov 2026"):
        leave(1, "2026-10-31")
    leave(2, "2026-11-10")
    assert (left(kitchen, code, "2026-11-10"), left(kitchen, code, "2026-11-15"), left(kitchen, code)) == (3, 1, 1)
    with pytest.raises(Refused, match=r"18 Nov 2026 it was still there"):
        leave(1, "2026-11-10")
    assert check(kitchen).faults == ()
    assert journal.acts(kitchen.book, limit=1)[0].happened_on == date(2026, 11, 10)


def test_some_of_a_lot_were_ground_before_others_were_taken(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, a_lot(stocked)
    take(kitchen.afresh(), code, on="2026-11-15", number=2)
    asked = grind.Asked(
        packages=(f"{code}*3",), weights=("1.45", "1.45"), words=Words(cut="ground", packed="2026-11-10")
    )
    made = grind.make(kitchen.afresh(), asked, yes=True)
    assert (left(kitchen, code, "2026-11-10"), left(kitchen, code, "2026-11-15"), left(kitchen, code)) == (2, 0, 0)
    assert [row.package.packed_on for row in made.rows] == [date(2026, 11, 10)] * 2
    assert check(kitchen).faults == ()
    undo(kitchen.afresh(), target(kitchen.afresh()))
    assert left(kitchen, code) == 3


def test_of_a_lot_comes_back_what_left_last(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, a_lot(stocked)
    shown = show_code(code)
    with pytest.raises(Refused, match=f"{shown} is in the freezer already, Garage chest, red bag: all 5 of it"):
        put_back(kitchen.afresh(), code)
    give(kitchen.afresh(), [f"{code}*2"], "Ann", yes=True)
    take(kitchen.afresh(), code)
    one = put_back(kitchen.afresh(), code)
    assert one.message.endswith(
        "1 of them, listed until now as eaten (Garage chest, red bag). 3 there now. 2 still out (given to Ann): "
        f"freezerbox put-back {shown} 2"
    )
    take(kitchen.afresh(), code, number=3)
    assert left(kitchen, code) == 0
    with pytest.raises(Refused, match=f"5 of {shown} are out, not 6"):
        put_back(kitchen.afresh(), code, number=6)
    four = put_back(kitchen.afresh(), code, number=4)
    assert "4 of them, listed until now as 3 eaten, 1 given to Ann" in four.message
    assert four.message.endswith(f"1 still out (given to Ann): freezerbox put-back {shown}")
    assert (four.number, left(kitchen, code)) == (4, 4)
    undo(kitchen.afresh(), target(kitchen.afresh()))
    assert left(kitchen, code) == 0
    last = put_back(kitchen.afresh(), code, number=5)
    assert last.message.endswith("5 there now.")
    assert check(kitchen).faults == ()


def test_what_was_split_off_a_lot_does_not_come_back_to_it(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, a_lot(stocked)
    split_off(kitchen.afresh(), code, "2")
    with pytest.raises(Refused, match="2 of it went into others and come back with their undo alone"):
        put_back(kitchen.afresh(), code)
    take(kitchen.afresh(), code)
    with pytest.raises(Refused, match=r"1 of .* is out, not 2"):
        put_back(kitchen.afresh(), code, number=2)
    put_back(kitchen.afresh(), code)
    assert left(kitchen, code) == 3


def test_one_of_a_lot_comes_back_on_an_earlier_day(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, a_lot(stocked)
    take(kitchen.afresh(), code, on="2026-11-10", number=2)
    take(kitchen.afresh(), code, on="2026-11-15")
    with pytest.raises(Refused, match="0 of it were out on 9 Nov 2026; the next left on 10 Nov 2026"):
        put_back(kitchen.afresh(), code, on="2026-11-09")
    put_back(kitchen.afresh(), code, on="2026-11-12")
    days = {"2026-11-10": 3, "2026-11-12": 4, "2026-11-15": 3}
    assert {day: left(kitchen, code, day) for day in days} == days
    assert check(kitchen).faults == ()


def test_some_of_a_lot_that_were_out_long_are_asked_about(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, a_lot(stocked)
    take(kitchen.afresh(), code, on="2026-11-02", number=2)
    with pytest.raises(OutOfLine, match=r"2 of them eaten, since 2 Nov, .* it is a package of its own"):
        refuse_unsaid(kitchen.afresh(), code, number=2)
    with pytest.raises(Refused, match="the 3 that are there did not thaw"):
        put_back(kitchen.afresh(), code, thawed=True)
    take(kitchen.afresh(), code, on="2026-11-02", number=3)
    with pytest.raises(OutOfLine, match=f'freezerbox put-back {show_code(code)} 4 --on "20 nov" --thawed'):
        refuse_unsaid(kitchen.afresh(), code, "20 nov", 4)


def test_the_card_puts_back_one_of_a_lot_a_scan(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, a_lot(stocked, 3)
    take(kitchen.afresh(), code, number=3)
    session = Session(kitchen.afresh())
    session.handle("put back")
    said = []
    for second in ("00", "04", "08", "12"):
        stocked.clock.move_to(f"2026-12-02T21:00:{second}")
        said.append(session.handle(code))
    assert [one.outcome if one else "" for one in said] == ["put-back"] * 3 + ["refused"]
    assert left(kitchen, code) == 3
