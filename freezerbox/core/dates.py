"""Calendar days: reading them as people type them, writing them as people read them, adding months.

The household's day turns at 04:00, so that wrapping past midnight is still the same evening.
Months are calendar months, clamped at the month's end.
"""

from __future__ import annotations

import calendar
import re
from datetime import date, datetime, timedelta

from freezerbox.errors import InvalidDate

DAY_TURNS_AT_HOUR = 4
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
EARLIEST = date(1990, 1, 1)
SEASON_BEGINS_IN = 7
"""Month: most hunting seasons begin in late summer or autumn, and one season is one winter's meat.  Common practice,
no source.
"""

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_ISO_MONTH = re.compile(r"(\d{4})-(\d{1,2})")
_DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ .-]*([a-z]{3,9})\.?(?:,?[ -]*(\d{4}|\d{2}))?")
_MONTH_DAY = re.compile(r"([a-z]{3,9})\.? *(\d{1,2})(?:st|nd|rd|th)?(?:,? +(\d{4}))?")
_SEASON = re.compile(r"(20[0-9]{2}|[0-9]{2})(?:[/-](20[0-9]{2}|[0-9]{2}))?")
_MONTH_YEAR = re.compile(r"([a-z]{3,9})\.?(?:[ -]+(\d{4}))?")


def household_day(now: datetime) -> date:
    """The day an evening belongs to: until 04:00 it is still yesterday's.

    >>> household_day(datetime(2026, 11, 22, 1, 30))
    datetime.date(2026, 11, 21)
    """
    return (now - timedelta(hours=DAY_TURNS_AT_HOUR)).date()


def add_months(day: date, months: int) -> date:
    """The same day of the month ``months`` later, or the month's last day where there is no such day.

    >>> add_months(date(2026, 11, 30), 3)
    datetime.date(2027, 2, 28)
    """
    index = day.year * 12 + day.month - 1 + months
    year, month = index // 12, index % 12 + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def months_between(start: date, end: date) -> int:
    """Whole calendar months from ``start`` to ``end``; negative when ``end`` lies before.

    >>> months_between(date(2026, 1, 31), date(2026, 2, 28))
    1
    """
    months = (end.year - start.year) * 12 + end.month - start.month
    if end < add_months(start, months):
        months -= 1
    return months


def parse_date(text: str, *, today: date, deadline: bool = False, future: bool = False) -> date:
    """The day that ``text`` names, seen from ``today``.

    Takes ``2026-11-14``, ``14 nov``, ``14 nov 2026``, ``nov 14``, ``today``, ``yesterday``, ``sat`` (the last one
    gone by), ``nov 2025`` and ``2025-11``.  A day without a year is the latest one not after ``today``, unless it
    comes up within a month: then it is that one, so that a slip of a few days is refused as lying ahead and not put
    a year back (with ``future``: the next one).  A month alone is its first day, which is the careful reading of an
    age, and its last day for a ``deadline``.

    Raises: InvalidDate when it names no day, or one before 1990.
    """
    words = " ".join(text.strip().lower().split())
    day = _read(words, today, deadline, future)
    if day is None:
        raise InvalidDate(
            f"{text!r} is not a date. Write it as 2026-11-14, 14 nov, yesterday, sat or nov 2025.", value=text
        )
    if day < EARLIEST:
        raise InvalidDate(f"{text!r} is before {EARLIEST.isoformat()}. Is the year right?", value=text)
    return day


def _read(words: str, today: date, deadline: bool, future: bool) -> date | None:
    relative = {"today": 0, "tonight": 0, "yesterday": -1, "tomorrow": 1}
    if words in relative:
        return today + timedelta(days=relative[words])
    if words[:3] in WEEKDAYS and calendar.day_name[WEEKDAYS.index(words[:3])].lower().startswith(words):
        return _weekday(WEEKDAYS.index(words[:3]), today, future)
    if words in ("tues", "weds", "thur", "thurs"):
        return _weekday(WEEKDAYS.index(words[:3]), today, future)
    if match := _ISO.fullmatch(words):
        return _day(int(match[1]), int(match[2]), int(match[3]))
    if match := _ISO_MONTH.fullmatch(words):
        return _whole_month(int(match[1]), int(match[2]), deadline)
    if (match := _DAY_MONTH.fullmatch(words)) and (month := _month(match[2])):
        return _with_year(int(match[1]), month, match[3], today, future)
    if (match := _MONTH_DAY.fullmatch(words)) and (month := _month(match[1])) and int(match[2]) <= 31:
        return _with_year(int(match[2]), month, match[3], today, future)
    if (match := _MONTH_YEAR.fullmatch(words)) and (month := _month(match[1])):
        year = int(match[2]) if match[2] else today.year
        if not match[2] and not future and (year, month) > (today.year, today.month):
            year -= 1
        if not match[2] and future and (year, month) < (today.year, today.month):
            year += 1
        return _whole_month(year, month, deadline)
    return None


def _weekday(weekday: int, today: date, future: bool) -> date:
    if future:
        return today + timedelta(days=(weekday - today.weekday()) % 7)
    return today - timedelta(days=(today.weekday() - weekday) % 7)


def _month(word: str) -> int | None:
    if word[:3] not in MONTHS:
        return None
    month = MONTHS.index(word[:3]) + 1
    if calendar.month_name[month].lower().startswith(word) or word == "sept":
        return month
    return None


def _with_year(day: int, month: int, year: str | None, today: date, future: bool) -> date | None:
    if year:
        return _day(int(year) + (2000 if len(year) == 2 else 0), month, day)
    if not future:
        for near_year in (today.year, today.year + 1):
            near = _day(near_year, month, day)
            if near and timedelta(0) < near - today <= timedelta(days=31):
                return near
    # A leap day may lie up to eight years off (1896 to 1904, 2096 to 2104).
    step = 1 if future else -1
    for candidate_year in range(today.year, today.year + 9 * step, step):
        candidate = _day(candidate_year, month, day)
        if candidate and (candidate >= today if future else candidate <= today):
            return candidate
    return None


def _whole_month(year: int, month: int, deadline: bool) -> date | None:
    first = _day(year, month, 1)
    if first is None or not deadline:
        return first
    return first.replace(day=calendar.monthrange(year, month)[1])


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def iso(day: date | None) -> str | None:
    """``2026-11-21``; None for no day."""
    return day.isoformat() if day else None


def long_date(day: date) -> str:
    """``21 Nov 2026``."""
    return f"{day.day} {MONTHS[day.month - 1].title()} {day.year}"


def short_date(day: date, *, today: date) -> str:
    """``21 Nov``, with the year when it lies six months or more back, or more than five ahead.

    >>> short_date(date(2026, 11, 21), today=date(2026, 11, 22))
    '21 Nov'
    """
    if abs(months_between(day, today)) < 6:
        return f"{day.day} {MONTHS[day.month - 1].title()}"
    return long_date(day)


def month_year(day: date) -> str:
    """``NOV 2026``, as printed large on a label."""
    return f"{MONTHS[day.month - 1].upper()} {day.year}"


def season(day: date) -> str:
    """The hunting season a day falls in, from 1 July: ``26/27``."""
    first = season_days(day)[0].year
    return f"{first % 100:02d}/{(first + 1) % 100:02d}"


def season_days(day: date) -> tuple[date, date]:
    """First and last day of the season that a day falls in.

    >>> season_days(date(2025, 3, 1))
    (datetime.date(2024, 7, 1), datetime.date(2025, 6, 30))
    """
    first = day.year if day.month >= SEASON_BEGINS_IN else day.year - 1
    return date(first, SEASON_BEGINS_IN, 1), add_months(date(first, SEASON_BEGINS_IN, 1), 12) - timedelta(days=1)


def parse_season(text: str) -> tuple[date, date]:
    """First and last day of a season written ``24/25``, ``2024/25``, ``2024-2025``, or by its first year, ``2024``.

    Raises: InvalidDate when it names none.
    """
    match = _SEASON.fullmatch("".join(text.split()))
    years = [int(part) % 100 + 2000 for part in match.groups() if part] if match else []
    if not years or (len(years) == 2 and years[1] != years[0] + 1):
        raise InvalidDate(
            f"{text!r} is not a season. Write it as 24/25: it begins on 1 July of the first year and ends on "
            "30 June of the second.",
            value=text,
        )
    return season_days(date(years[0], SEASON_BEGINS_IN, 1))
