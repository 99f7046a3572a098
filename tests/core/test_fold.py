"""From movements to the state: counted again by hand, whatever the order they come in."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from freezerbox.core.fold import fold, fold_all, in_order, silent_acts, told
from freezerbox.core.records import Movement, PackageState, Reason, State
from tests.strategies import movements


def step(number: int, day: int, state: State, *, reason: Reason | None = None, delta: int = 0) -> Movement:
    return Movement(
        id=number,
        act_id=number,
        code="K7P3MT",
        happened_on=date(2026, 11, day),
        state=state,
        reason=reason,
        freezer_id=1,
        place_id=number,
        delta=delta,
    )


def test_nothing_moved() -> None:
    assert fold([]) is None
    assert fold_all([]) == {}


def test_packed_and_taken() -> None:
    packed = step(1, 21, State.FROZEN, delta=1)
    taken = step(2, 30, State.GONE, reason=Reason.EATEN, delta=-1)
    assert fold([packed]) == PackageState(
        state=State.FROZEN, reason=None, freezer_id=1, place_id=1, quantity=1, since=date(2026, 11, 21)
    )
    assert fold([packed, taken]) == PackageState(
        state=State.GONE, reason=Reason.EATEN, freezer_id=1, place_id=2, quantity=0, since=date(2026, 11, 30)
    )


def test_the_day_comes_before_the_number() -> None:
    # Told late: what happened on the 20th was recorded after what happened on the 25th.
    later = step(1, 25, State.FROZEN, delta=1)
    told_late = step(2, 20, State.GONE, reason=Reason.EATEN, delta=0)
    found = fold([later, told_late])
    assert found is not None
    assert (found.state, found.since) == (State.FROZEN, date(2026, 11, 25))


def test_on_one_day_the_number_decides() -> None:
    found = fold([step(10, 21, State.GONE, reason=Reason.LOST), step(9, 21, State.FROZEN, delta=1)])
    assert found is not None
    assert (found.state, found.reason) == (State.GONE, Reason.LOST)


def test_a_reason_is_told_only_of_what_is_gone() -> None:
    # One of a lot was eaten while others stay: the movement has a reason, the lot has none.
    found = fold([step(1, 21, State.FROZEN, delta=72), step(2, 22, State.FROZEN, reason=Reason.EATEN, delta=-1)])
    assert found is not None
    assert (found.reason, found.quantity) == (None, 71)


@given(movements(), st.randoms(use_true_random=False))
def test_the_fold_is_a_recount_in_any_order(steps: list[Movement], source: Random) -> None:
    mixed = list(steps)
    source.shuffle(mixed)
    found = fold(mixed)
    assert found == fold(steps) is not None
    # By hand: the last of the latest day.
    latest = max(each.happened_on for each in steps)
    last = [each for each in steps if each.happened_on == latest][-1]
    assert found is not None
    assert (found.state, found.freezer_id, found.place_id, found.since) == (
        last.state,
        last.freezer_id,
        last.place_id,
        latest,
    )
    assert found.quantity == sum(each.delta for each in steps)
    assert (found.reason is None) == (found.state is not State.GONE)


@given(movements())
def test_movements_in_order(steps: list[Movement]) -> None:
    ordered = in_order(reversed(steps))
    assert sorted(ordered, key=lambda each: each.id) == steps
    for before, after in pairwise(ordered):
        assert (before.happened_on, before.id) < (after.happened_on, after.id)


@given(movements(most=5), movements(most=5), st.randoms(use_true_random=False))
def test_each_package_by_itself(one: list[Movement], other: list[Movement], source: Random) -> None:
    renamed = [replace(each, code="K9R20A", id=each.id + 100) for each in other]
    mixed = [*one, *renamed]
    source.shuffle(mixed)
    assert fold_all(mixed) == {"K7P3MT": fold(one), "K9R20A": fold(renamed)}


def test_what_undo_takes_back_counts_for_nothing_unless_it_was_had_again() -> None:
    # 5 takes back 3; 6 takes back 5, so that 3 counts; 8 takes back 7.
    assert silent_acts({5: 3, 6: 5, 8: 7}) == {5, 6, 7, 8}
    assert silent_acts({5: 3, 6: 5, 9: 6}) == {3, 5, 6, 9}
    assert silent_acts({}) == set()


def test_gone_since_the_day_it_went_though_undo_said_so_again_later() -> None:
    packed = replace(step(1, 1, State.FROZEN, delta=1), place_id=1)
    taken = replace(step(2, 2, State.GONE, reason=Reason.EATEN, delta=-1), place_id=1)
    back = replace(step(3, 5, State.FROZEN, delta=1), place_id=1)
    again = replace(step(4, 5, State.GONE, reason=Reason.EATEN, delta=-1), place_id=1)
    bare = fold([packed, taken, back, again])
    assert bare is not None
    assert told([packed, taken, back, again], {3, 4}) == replace(bare, since=date(2026, 11, 2))
    # A second take is another matter: it went on the 5th.
    assert told([packed, taken, back, again], ()) == bare
    # Recorded late: said again on each later day by the same act.
    late = [replace(step(5, day, State.GONE, reason=Reason.EATEN), act_id=5, id=day) for day in (20, 21, 25)]
    found = told([packed, *late], ())
    assert found is not None
    assert found.since == date(2026, 11, 20)


def test_told_of_nothing_and_of_what_was_taken_back_whole() -> None:
    packed, void = step(1, 1, State.FROZEN, delta=1), step(2, 1, State.GONE, reason=Reason.VOID, delta=-1)
    assert told([], ()) is None
    assert told([packed, void], {1, 2}) == fold([packed, void])
    # Where what stands does not add up to the state, as after a join, the bare day is told.
    assert told([packed, step(3, 4, State.GONE, reason=Reason.LOST, delta=-1)], {3}) == fold(
        [packed, step(3, 4, State.GONE, reason=Reason.LOST, delta=-1)]
    )
