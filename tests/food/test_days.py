"""Days that a thing commonly takes: the figures, typed once more, and no others."""

from __future__ import annotations

import pytest

from freezerbox.food.days import days_for


@pytest.mark.parametrize(("what", "days"), [("thaw", 1), ("cut-up", 14)])
def test_days(what: str, days: int) -> None:
    assert days_for(what) == days


def test_what_is_no_row_has_no_days() -> None:
    with pytest.raises(KeyError):
        days_for("ripening")
