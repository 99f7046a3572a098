"""The rules of rotation: bands, order, use-next and what is made from frozen meat."""

from __future__ import annotations

import random
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from freezerbox.core.dates import add_months
from freezerbox.food.keeping import (
    Band,
    band,
    best_by,
    best_by_made,
    cook_within_days,
    fefo_key,
    use_next_from,
)

days = st.dates(min_value=date(1990, 1, 1), max_value=date(2090, 12, 31))
months = st.integers(min_value=1, max_value=36)


def test_best_by_is_clamped_at_the_end_of_the_month() -> None:
    assert best_by(date(2026, 8, 31), 6) == date(2027, 2, 28)
    assert best_by(date(2026, 2, 28), 12) == date(2027, 2, 28)


@pytest.mark.parametrize(
    ("months_max", "first_day"),
    [
        (12, date(2027, 9, 15)),  # three months before
        (9, date(2027, 10, 8)),  # a quarter of nine: two months and 7 days
        (6, date(2027, 10, 31)),  # one month and 15 days
        (4, date(2027, 11, 15)),  # one month
        (3, date(2027, 11, 15)),  # at least one month
        (2, date(2027, 11, 15)),  # at most half
        (1, date(2027, 11, 30)),  # half: 15 days
    ],
)
def test_use_next_from(months_max: int, first_day: date) -> None:
    assert use_next_from(date(2027, 12, 15), months_max) == first_day


@given(frozen=days, months_max=months)
@example(frozen=date(2027, 1, 31), months_max=1)
@example(frozen=date(2026, 12, 31), months_max=2)
def test_use_next_lies_between_freezing_and_best_by(frozen: date, months_max: int) -> None:
    best = best_by(frozen, months_max)
    assert frozen < use_next_from(best, months_max) < best


def test_bands_change_on_the_day() -> None:
    best = date(2027, 12, 15)
    assert band(date(2027, 9, 14), best, 12) is Band.KEEPS
    assert band(date(2027, 9, 15), best, 12) is Band.USE_NEXT
    assert band(best, best, 12) is Band.USE_NEXT
    assert band(date(2027, 12, 16), best, 12) is Band.PAST_BEST
    assert band(best, None, None) is Band.NO_FIGURE
    assert band(best, None, 12) is Band.NO_FIGURE
    assert band(best, best, None) is Band.NO_FIGURE


@given(frozen=days, months_max=months, one=st.integers(0, 1500), other=st.integers(0, 1500))
def test_a_band_never_gets_better_with_time(frozen: date, months_max: int, one: int, other: int) -> None:
    best = best_by(frozen, months_max)
    order = [Band.KEEPS, Band.USE_NEXT, Band.PAST_BEST]
    earlier, later = sorted((one, other))
    early, late = (band(frozen + timedelta(days=after), best, months_max) for after in (earlier, later))
    assert order.index(early) <= order.index(late)


def test_half_used_leaves_half() -> None:
    # 2027-01-01 to 2028-01-01 is 365 days; on day 146 two fifths are gone, and three fifths of ten months is six.
    frozen = date(2027, 1, 1)
    assert best_by_made(frozen + timedelta(days=146), 10, frozen, 12) == date(2027, 11, 27)
    # On day 73 a fifth is gone: four fifths of four months is 3.2 months, three months and 6 days (0.2 x 30.4375).
    assert best_by_made(date(2027, 3, 15), 4, frozen, 12) == date(2027, 6, 21)


def test_made_from_meat_past_its_best_has_nothing_left_and_from_fresh_meat_all() -> None:
    assert best_by_made(date(2027, 6, 1), 4, date(2024, 11, 20), 12) == date(2027, 6, 1)
    assert best_by_made(date(2027, 6, 1), 4, date(2027, 6, 1), 12) == date(2027, 10, 1)


@given(made=days, new=months, age=st.integers(-30, 2000), old=months)
@example(made=date(2026, 12, 1), new=3, age=1, old=36)  # two months and 30 days would pass the third month's end
def test_made_lies_between_the_making_and_the_full_months(made: date, new: int, age: int, old: int) -> None:
    frozen = made - timedelta(days=age)
    assert made <= best_by_made(made, new, frozen, old) <= add_months(made, new)


@given(made=days, age=st.integers(0, 1200), new=months, old=months, more=st.integers(1, 24))
def test_a_longer_life_of_input_or_product_never_shortens_it(
    made: date, age: int, new: int, old: int, more: int
) -> None:
    frozen = made - timedelta(days=age)
    made_best = best_by_made(made, new, frozen, old)
    assert best_by_made(made, new, frozen, old + more) >= made_best
    assert best_by_made(made, new + more, frozen, old) >= made_best


packages = st.tuples(st.none() | days, days, st.text(alphabet="0123456789ABCDEFGH", min_size=6, max_size=6))


@given(rows=st.lists(packages, unique_by=lambda row: row[2]), chance=st.randoms())
def test_order_is_total_and_does_not_hang_on_the_order_before(
    rows: list[tuple[date | None, date, str]], chance: random.Random
) -> None:
    ordered = sorted(rows, key=lambda row: fefo_key(*row))
    shuffled = list(rows)
    chance.shuffle(shuffled)
    assert sorted(shuffled, key=lambda row: fefo_key(*row)) == ordered
    for (best, frozen, code), (next_best, next_frozen, next_code) in pairwise(ordered):
        if best is None:
            assert next_best is None
        elif next_best is not None:
            assert best <= next_best
        if best == next_best:
            assert (frozen, code) < (next_frozen, next_code)


def test_no_days_after_thawing_for_what_no_source_names() -> None:
    assert cook_within_days("jerky") is None
    assert cook_within_days("organ") == (1, 2, "fda-chart")
