"""What is easily forgotten in the freezer: a test that nobody answered, and whole pieces still to be cut up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, totals
from freezerbox.chores.wording import age_words, animal_words, coded_line, count, is_reserved
from freezerbox.core.dates import long_date
from freezerbox.core.records import Animal, TestResult
from freezerbox.food import cuts
from freezerbox.food.tests import disease_of, usual_wait

WHOLE = frozenset({"quarter", "whole side"})
"""Primals of what was frozen to be taken apart later."""
LEGS = {"haunch": ("", "whole"), "front-shoulder": ("whole",)}
"""Quarters of a deer by another name, and the forms in which they are still whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reminder:
    """Something to see to.

    kind: ``test`` or ``whole``.  of: code of the animal or package.  since: the day it began.  words: in a line.
    """

    kind: str
    of: str
    since: date
    words: str


def unanswered(kitchen: Kitchen, animals: Iterable[Animal], rows: Iterable[Row] = ()) -> tuple[Reminder, ...]:
    """Tests that wait longer than usual (food table ``waits``), the oldest first.

    ``rows``: packages in the freezer, to say how many wait for it.
    """
    usual, who, of = usual_wait()
    held = tuple(rows)
    found = []
    for animal in animals:
        for test in animal.tests:
            waited = kitchen.today - test.sent_on
            if test.result is not TestResult.PENDING or test.released_on is not None or waited <= usual:
                continue
            named = ", ".join(part for part in (test.what_for, test.sample and f"sample {test.sample}") if part)
            number = totals(row for row in held if animal in row.animals).packages
            waiting = f"; {count(number, 'package waits', 'packages wait')} for it" if number else ""
            disease = disease_of(test.what_for, animal.species)
            # Whoever is cited speaks of one disease; of others nobody is quoted.
            cited = (
                f" Usual is up to {count(usual.days // 7, 'week')} [{who}]." if disease and disease.key == of else ""
            )
            ago = count(waited.days // 7, "week") if waited >= 2 * usual else count(waited.days, "day")
            words = (
                f"NO ANSWER YET: {animal_words(animal)}{f' ({named})' if named else ''}, sent "
                f"{long_date(test.sent_on)}, {ago} ago{waiting}.{cited} Ask for it, or enter it: "
                f"freezerbox result {animal.code} RESULT"
            )
            found.append(Reminder(kind="test", of=animal.code, since=test.sent_on, words=words))
    return tuple(sorted(found, key=lambda one: (one.since, one.of)))


def whole_pieces(kitchen: Kitchen, rows: Iterable[Row]) -> tuple[Reminder, ...]:
    """Quarters and halves frozen whole for later, with their age, the oldest first; not what is set aside."""
    found = [
        Reminder(
            kind="whole",
            of=row.code,
            since=row.package.first_frozen_on,
            words=f"STILL WHOLE, to be cut up: {coded_line(kitchen, row)}, {age_words(row.age_months)}"
            + (f" ({row.where})" if row.where else ""),
        )
        for row in rows
        if _whole(row) and not row.holds and not is_reserved(row.package)
    ]
    return tuple(sorted(found, key=lambda one: (one.since, one.of)))


def _whole(row: Row) -> bool:
    package = row.package
    return cuts.cut(package.cut).primal in WHOLE or package.form in LEGS.get(package.cut, ())
