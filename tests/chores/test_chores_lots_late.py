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
from freezerbox.chores.take import take
from freezerbox.chores.undo import target, undo
from freezerbox.core.records import Reason, State
from freezerbox.errors import Refused
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
