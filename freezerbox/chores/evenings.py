"""The evenings on which an animal was cut or ground: a knife may have met what else was cut then."""

from __future__ import annotations

from datetime import date

from freezerbox.chores.rows import Row, Rows
from freezerbox.core.records import TestResult


def evenings_of_detected(rows: Rows, row: Row) -> frozenset[date]:
    """Days on which meat was packed of those animals in ``row`` whose test said detected; none when none did."""
    found = [
        animal.code for animal in row.animals if any(test.result is TestResult.DETECTED for test in animal.tests)
    ]
    codes = dict.fromkeys(code for animal in found for code in rows.lineage.descendants("animal", animal))
    return frozenset(one.package.packed_on for one in rows.of_codes(list(codes)))
