"""Late entries: something that happened on an earlier day, recorded now."""

from __future__ import annotations

from datetime import date

from freezerbox.book import journal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.fold import fold
from freezerbox.core.records import Movement, PackageState, State
from freezerbox.errors import Refused


def state_on(kitchen: Kitchen, row: Row, day: date, number: int = 1) -> PackageState:
    """Where the package was at the end of ``day``, for ``number`` of it to leave then.

    For a single package, and for the last of a lot, no later step may stand: it would say that the package was still
    there.  One of a lot may have been taken before others.

    Raises: Refused, naming the step that a late entry would contradict.
    """
    movements = journal.movements(kitchen.book, code=row.code)
    later = [movement for movement in movements if movement.happened_on > day]
    if later:
        later = journal.heard(kitchen.book, later)
    before = fold(movement for movement in movements if movement.happened_on <= day)
    if before is None or (before.state is State.FROZEN and before.quantity < 1):
        first = min(movements, key=lambda movement: movement.id)
        raise Refused(
            f"{show_code(row.code)} came into the freezer on {long_date(first.happened_on)}, after "
            f"{long_date(day)}. One of the two days is wrong.",
            code=row.code,
        )
    if later and not _leaves_the_rest_true(movements, later, day, number):
        act = journal.act(kitchen.book, later[0].act_id)
        what = f"act {act.id}, {act.words}" if act else "a later step"
        raise Refused(
            f"{show_code(row.code)} cannot have left on {long_date(day)}: on {long_date(later[0].happened_on)} it "
            f"was still there ({what}). Take that back first if it is wrong.",
            code=row.code,
            act=later[0].act_id,
        )
    return before


def refuse_before_it_went(row: Row, day: date) -> None:
    """Raises: Refused when a package that is gone was still there on ``day``, and so cannot have come back then."""
    if day < row.package.state.since:
        raise Refused(
            f"{show_code(row.code)} left on {long_date(row.package.state.since)}, after {long_date(day)}. One of the "
            "two days is wrong.",
            code=row.code,
        )


def days_to_say_again(kitchen: Kitchen, row: Row, day: date) -> tuple[date, ...]:
    """Days after ``day`` of which the journal says something, though all of it was taken back.

    The latest day tells the state of a package, so a late entry that ends it, or brings it back, must be said again
    on each of them.
    """
    movements = journal.movements(kitchen.book, code=row.code, as_written=True)
    return tuple(dict.fromkeys(movement.happened_on for movement in movements if movement.happened_on > day))


def _leaves_the_rest_true(movements: tuple[Movement, ...], later: list[Movement], day: date, number: int) -> bool:
    """Whether ``number`` fewer from ``day`` on leaves at least one after every later step: only a lot can."""
    left = sum(movement.delta for movement in movements if movement.happened_on <= day) - number
    for movement in later:
        left += movement.delta
        if left < (1 if movement.state is State.FROZEN else 0):
            return False
    return left >= 1
