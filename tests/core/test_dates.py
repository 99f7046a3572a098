"""Days: as people type them, months that clamp, and an evening that lasts until four in the morning."""

from __future__ import annotations

import calendar
from contextlib import suppress
from datetime import date, datetime, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from freezerbox.core.dates import (
    EARLIEST,
    add_months,
    household_day,
    long_date,
    month_year,
    months_between,
    parse_date,
    season,
    short_date,
)
from freezerbox.errors import InvalidDate
from tests.strategies import days

TODAY = date(2026, 12, 2)  # a Wednesday


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-11-14", date(2026, 11, 14)),
        ("2026-3-1", date(2026, 3, 1)),
        ("14 nov", date(2026, 11, 14)),
        ("14nov", date(2026, 11, 14)),
        ("14-Nov", date(2026, 11, 14)),
        ("14. nov", date(2026, 11, 14)),
        ("14th November", date(2026, 11, 14)),
        ("1st dec", date(2026, 12, 1)),
        ("nov 14", date(2026, 11, 14)),
        ("Nov. 14", date(2026, 11, 14)),
        ("november 14, 2025", date(2025, 11, 14)),
        ("nov 14 2025", date(2025, 11, 14)),
        ("14 nov 2025", date(2025, 11, 14)),
        ("14 nov 25", date(2025, 11, 14)),
        ("3 sept", date(2026, 9, 3)),
        ("  14   nov  ", date(2026, 11, 14)),
        ("today", TODAY),
        ("tonight", TODAY),
        ("Yesterday", date(2026, 12, 1)),
        ("wed", TODAY),
        ("sat", date(2026, 11, 28)),
        ("Saturday", date(2026, 11, 28)),
        ("thu", date(2026, 11, 26)),
        ("thurs", date(2026, 11, 26)),
        ("tues", date(2026, 12, 1)),
        ("2 dec", TODAY),
        ("29 feb", date(2024, 2, 29)),
    ],
)
def test_a_day_as_people_type_it(text: str, day: date) -> None:
    assert parse_date(text, today=TODAY) == day


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("nov 2025", date(2025, 11, 1), date(2025, 11, 30)),
        ("November 2025", date(2025, 11, 1), date(2025, 11, 30)),
        ("2025-11", date(2025, 11, 1), date(2025, 11, 30)),
        ("feb 2024", date(2024, 2, 1), date(2024, 2, 29)),
        ("feb 2025", date(2025, 2, 1), date(2025, 2, 28)),
        ("nov", date(2026, 11, 1), date(2026, 11, 30)),
        ("dec", date(2026, 12, 1), date(2026, 12, 31)),
        ("mar", date(2026, 3, 1), date(2026, 3, 31)),
        ("dec 9999", date(9999, 12, 1), date(9999, 12, 31)),
    ],
)
def test_a_month_alone_is_its_first_day_and_for_a_deadline_its_last(text: str, first: date, last: date) -> None:
    assert parse_date(text, today=TODAY) == first
    assert parse_date(text, today=TODAY, deadline=True) == last


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("3 dec", date(2026, 12, 3)),
        ("24 dec", date(2026, 12, 24)),
        ("2 jan", date(2027, 1, 2)),  # 31 days ahead, over the year's end
        ("3 jan", date(2026, 1, 3)),  # 32 days ahead: it was last winter's
        ("1 jun", date(2026, 6, 1)),
    ],
)
def test_a_day_that_comes_up_within_a_month_is_not_put_a_year_back(text: str, day: date) -> None:
    assert parse_date(text, today=TODAY) == day


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("1 dec", date(2027, 12, 1)),
        ("2 dec", TODAY),
        ("14 nov", date(2027, 11, 14)),
        ("sat", date(2026, 12, 5)),
        ("wed", TODAY),
        ("tomorrow", date(2026, 12, 3)),
        ("mar", date(2027, 3, 1)),
        ("dec", date(2026, 12, 1)),
        ("29 feb", date(2028, 2, 29)),
    ],
)
def test_a_day_to_come(text: str, day: date) -> None:
    assert parse_date(text, today=TODAY, future=True) == day


@pytest.mark.parametrize(
    "text",
    [
        "", "someday", "31 jun", "30 feb", "0 nov", "32 nov", "2026-13-01", "2026-00-10", "2026-11-31", "29 feb 2025",
        "14 novem 2026 x", "11/14/2026", "14.11.2026", "nov 32", "marble", "14 foo", "0000-01-01", "99999-01-01",
        "satur day", "mo", "2026", "14",
    ],
)  # fmt: skip
def test_what_is_no_day_is_refused_and_shown(text: str) -> None:
    with pytest.raises(InvalidDate, match="is not a date") as refused:
        parse_date(text, today=TODAY)
    assert repr(text) in refused.value.message
    assert (refused.value.kind, refused.value.exit_code) == ("date", 2)


@pytest.mark.parametrize("text", ["1989-12-31", "14 nov 1026", "nov 1926", "0202-11-14"])
def test_a_slip_of_the_year_is_asked_about(text: str) -> None:
    with pytest.raises(InvalidDate, match="Is the year right"):
        parse_date(text, today=TODAY)


@given(st.text(), days, st.booleans(), st.booleans())
@example("9999-12", TODAY, True, False)
def test_any_text_is_a_day_or_a_refusal(text: str, today: date, deadline: bool, future: bool) -> None:
    with suppress(InvalidDate):
        assert parse_date(text, today=today, deadline=deadline, future=future) >= EARLIEST


@given(days, days)
def test_a_day_written_out_reads_back_whatever_today_is(day: date, today: date) -> None:
    for text in (
        day.isoformat(),
        long_date(day),
        f"{day:%B} {day.day}, {day.year}",
        f"{day.day}-{day:%b}-{day.year}",
    ):
        assert parse_date(text, today=today) == day


@given(days, st.dates(min_value=date(2000, 1, 1), max_value=date(2090, 1, 1)))
def test_a_day_without_a_year_is_the_nearest_one_gone_by_or_close_ahead(day: date, today: date) -> None:
    text = f"{day.day} {day:%b}"
    found = parse_date(text, today=today)
    assert (found.month, found.day) == (day.month, day.day)
    assert found - today <= timedelta(days=31)
    # No other year would do better: the next one lies over a month ahead.
    later = next(
        date(year, day.month, day.day)
        for year in range(found.year + 1, found.year + 9)
        if day.month != 2 or day.day <= calendar.monthrange(year, 2)[1]
    )
    assert later - today > timedelta(days=31) or found > today
    coming = parse_date(text, today=today, future=True)
    assert coming >= today
    assert (coming.month, coming.day) == (day.month, day.day)


@given(days, st.integers(-600, 600))
def test_months_clamp_at_the_end_of_the_month(day: date, months: int) -> None:
    later = add_months(day, months)
    assert (later.year * 12 + later.month) - (day.year * 12 + day.month) == months
    assert later.day == min(day.day, calendar.monthrange(later.year, later.month)[1])


@given(days, days, st.integers(0, 60), st.integers(0, 60))
def test_adding_months_never_turns_the_order_round(day: date, other: date, months: int, more: int) -> None:
    first, second = sorted((day, other))
    assert add_months(first, months) <= add_months(second, months)
    assert add_months(first, months) <= add_months(first, months + more)


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2026, 11, 30), 3, date(2027, 2, 28)),
        (date(2027, 11, 30), 3, date(2028, 2, 29)),
        (date(2026, 8, 31), 1, date(2026, 9, 30)),
        (date(2026, 12, 31), 2, date(2027, 2, 28)),
        (date(2026, 3, 31), -1, date(2026, 2, 28)),
        (date(2026, 11, 14), 12, date(2027, 11, 14)),
        (date(2026, 11, 14), 0, date(2026, 11, 14)),
    ],
)
def test_months_added(day: date, months: int, later: date) -> None:
    assert add_months(day, months) == later


@given(days, days)
def test_months_between_is_the_most_that_can_be_added(start: date, end: date) -> None:
    months = months_between(start, end)
    assert add_months(start, months) <= end < add_months(start, months + 1)


@given(days, st.integers(0, 600))
def test_months_between_takes_back_what_was_added(day: date, months: int) -> None:
    assert months_between(day, add_months(day, months)) == months


@pytest.mark.parametrize(
    ("now", "day"),
    [
        ("2026-11-21T23:59", date(2026, 11, 21)),
        ("2026-11-22T00:00", date(2026, 11, 21)),
        ("2026-11-22T03:59:59", date(2026, 11, 21)),
        ("2026-11-22T04:00", date(2026, 11, 22)),
        ("2027-01-01T02:30", date(2026, 12, 31)),
    ],
)
def test_the_day_turns_at_four_in_the_morning(now: str, day: date) -> None:
    assert household_day(datetime.fromisoformat(now)) == day


@pytest.mark.parametrize(
    ("day", "shown"),
    [
        (date(2026, 11, 21), "21 Nov"),
        (date(2026, 6, 3), "3 Jun"),
        (date(2026, 5, 31), "31 May 2026"),
        (date(2025, 11, 21), "21 Nov 2025"),
        (date(2027, 5, 2), "2 May"),
        (date(2027, 5, 3), "3 May 2027"),
    ],
)
def test_a_short_date_says_the_year_when_it_is_far_off(day: date, shown: str) -> None:
    assert short_date(day, today=TODAY) == shown


def test_a_month_large_on_a_label() -> None:
    assert month_year(date(2026, 11, 21)) == "NOV 2026"


@pytest.mark.parametrize(
    ("day", "name"),
    [
        (date(2024, 7, 1), "24/25"),
        (date(2025, 1, 15), "24/25"),
        (date(2025, 6, 30), "24/25"),
        (date(2025, 7, 1), "25/26"),
        (date(1999, 11, 1), "99/00"),
    ],
)
def test_a_season_spans_two_years(day: date, name: str) -> None:
    assert season(day) == name
