"""What is asked of a package that comes back after longer than a thaw takes."""

from __future__ import annotations

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.out_of_lot import coming_back, ways
from freezerbox.chores.take import find_row, read_day
from freezerbox.chores.wording import coded_line, count, gone_words
from freezerbox.core.code import show_code
from freezerbox.core.dates import short_date
from freezerbox.core.records import Reason, State
from freezerbox.errors import OutOfLine, Refused
from freezerbox.food.days import days_for

_KEPT_COLD = (Reason.LOST, Reason.MOVED_OUT, Reason.VOID)


def doubt_of_thaw(kitchen: Kitchen, text: str, on: str = "", number: int = 1) -> str:
    """Words for a package, or some of a lot, that was out for longer than a thaw takes; "" for any other.

    What was lost, or moved out, was out of sight and not out of the cold.  ``on``: when it came back, if not today.
    Raises: InvalidCode, UnknownCode, InvalidDate.
    """
    row = find_row(kitchen, text)
    state, day = row.package.state, read_day(kitchen, on)
    if state.state is State.SPARE:
        return ""
    try:
        back = coming_back(kitchen, row, number, day)
    except Refused:
        return ""  # Whoever puts it back is told.
    if not back.lot:
        days = (day - state.since).days
        if state.reason in _KEPT_COLD or days <= days_for("thaw"):
            return ""
        return f"{coded_line(kitchen, row)}: {gone_words(row, kitchen.today)}, {count(days, 'day')} ago."
    warm = [one for one in back.units if one.reason not in _KEPT_COLD and (day - one.on).days > days_for("thaw")]
    if not warm:
        return ""
    since = min(one.on for one in warm)
    when = f"{short_date(since, today=kitchen.today)}, {count((day - since).days, 'day')} ago"
    return f"{coded_line(kitchen, row)}: {len(warm)} of them {ways(warm)}, since {when}."


def refuse_unsaid(kitchen: Kitchen, text: str, on: str = "", number: int = 1) -> None:
    """Raises: OutOfLine when it must be said whether a package thawed; InvalidCode, UnknownCode."""
    doubt = doubt_of_thaw(kitchen, text, on, number)
    if not doubt:
        return
    row = find_row(kitchen, text)
    code = show_code(row.code)
    command = f"freezerbox put-back {code}" + (f" {number}" if number > 1 else "")
    command += f' --on "{on}"' if " " in on else f" --on {on}" if on else ""
    thawed = f"Thawed in the refrigerator and frozen again: {command} --thawed."
    if row.package.state.state is State.FROZEN:
        thawed = "Thawed and frozen again, it is a package of its own: freezerbox pack."
    raise OutOfLine(f"{doubt} Not put back: did it thaw? {thawed} Never thawed: --still-frozen", code=code)
