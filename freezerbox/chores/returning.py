"""What is asked of a package that comes back after longer than a thaw takes."""

from __future__ import annotations

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.take import find_row, read_day
from freezerbox.chores.wording import coded_line, count, gone_words
from freezerbox.core.code import show_code
from freezerbox.core.records import Reason, State
from freezerbox.errors import OutOfLine
from freezerbox.food.days import days_for

_KEPT_COLD = (Reason.LOST, Reason.MOVED_OUT, Reason.VOID)


def doubt_of_thaw(kitchen: Kitchen, text: str, on: str = "") -> str:
    """Words for a package that was out for longer than a thaw takes; "" for any other, and for one not out.

    What was lost, or moved out, was out of sight and not out of the cold.  ``on``: when it came back, if not today.
    Raises: InvalidCode, UnknownCode, InvalidDate.
    """
    row = find_row(kitchen, text)
    state = row.package.state
    days = (read_day(kitchen, on) - state.since).days
    if state.state is not State.GONE or state.reason in _KEPT_COLD or days <= days_for("thaw"):
        return ""
    return f"{coded_line(kitchen, row)}: {gone_words(row, kitchen.today)}, {count(days, 'day')} ago."


def refuse_unsaid(kitchen: Kitchen, text: str, on: str = "") -> None:
    """Raises: OutOfLine when it must be said whether a package thawed; InvalidCode, UnknownCode."""
    doubt = doubt_of_thaw(kitchen, text, on)
    if doubt:
        code = show_code(find_row(kitchen, text).code)
        raise OutOfLine(
            f"{doubt} Not put back: did it thaw? Thawed in the refrigerator and frozen again: freezerbox put-back "
            f"{code} --thawed. Never thawed: --still-frozen",
            code=code,
        )
