"""The stocked freezer that other tests begin with is what its description says."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from freezerbox.book import guards, inspection
from freezerbox.chores.check import check
from freezerbox.chores.rows import Rows, in_rotation_order, totals
from freezerbox.core.mass import in_pounds
from freezerbox.core.records import State
from tests.conftest import Stocked


def test_the_stocked_freezer_is_what_it_says(stocked: Stocked) -> None:
    rows = {row.code: row for row in Rows(stocked.kitchen).all(State.FROZEN)}
    assert tuple(rows) == stocked.codes
    assert len(rows) == 21
    assert stocked.kitchen.today == date(2026, 12, 2)
    backstraps = totals(rows[row.code] for row in stocked.backstraps)
    assert round(in_pounds(backstraps.net_mg), 4) == Decimal("3.6")
    assert all(rows[row.code].holds and rows[row.code].place == "red bag" for row in stocked.backstraps)
    chops = totals(rows[row.code] for row in stocked.chops)
    assert (chops.packages, round(in_pounds(chops.net_mg), 4), chops.pieces) == (14, Decimal("14.71"), 56)
    assert [rows[row.code].best_by for row in stocked.ground] == [date(2026, 6, 1)] * 2
    assert rows[stocked.roast.code].best_by == date(2026, 11, 10)
    assert (
        in_rotation_order([rows[stocked.roast.code], rows[stocked.ground[0].code]])[0].code == stocked.ground[0].code
    )
    assert [code for code, row in rows.items() if row.holds] == [row.code for row in stocked.backstraps]


def test_the_stocked_freezer_has_no_faults(stocked: Stocked) -> None:
    assert inspection.file_faults(stocked.book) == ()
    assert guards.faulty(stocked.book) == ()
    assert check(stocked.kitchen).faults == ()
