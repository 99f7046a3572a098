"""Late entries: something that happened on an earlier day, recorded now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from freezerbox.book import at_hand, borne, journal
from freezerbox.book.writer import Writer
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.fold import fold, said_once
from freezerbox.core.records import Movement, PackageState, Reason, State
from freezerbox.errors import Refused


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """How ``number`` of a package leave on a day.

    then: its state on that day, before.  left: how many of it are there at the end of that day.
    gone: the days of which it is to be said that it is gone.  by: the later step with which the last of a lot went;
    None when what leaves is the last, or some stay.
    """

    number: int
    then: PackageState
    left: int
    gone: tuple[date, ...] = ()
    by: Movement | None = None


def way_out(kitchen: Kitchen, row: Row, day: date, number: int = 1) -> Way:
    """What it comes to that ``number`` of a package left on ``day``, where later steps may be written already.

    For a single package, and for the last of a lot, no later step may stand: it would say that the package was still
    there.  Some of a lot may have left before others; then the last step of those may be the one that ended it.

    Raises: Refused, naming the step that a late entry would contradict.
    """
    state = row.package.state
    if _nothing_later(kitchen, row, day):
        return Way(number=number, then=state, left=state.quantity - number)
    movements = journal.movements(kitchen.book, code=row.code)
    later = said_once(journal.heard(kitchen.book, [one for one in movements if one.happened_on > day]))
    then = fold(movement for movement in movements if movement.happened_on <= day)
    if then is None or (then.state is State.FROZEN and then.quantity < 1):
        first = min(movements, key=lambda movement: movement.id)
        raise _came_after(row, first.happened_on, day)
    if then.quantity < number:
        only = f"only {then.quantity} of it were there" if then.quantity else "it had left already"
        raise Refused(f"{show_code(row.code)}: at the end of {long_date(day)} {only}.", code=row.code)
    against, by = _later_steps(then.quantity, number, later)
    if against is not None:
        movement, there = against
        what = _said_by(kitchen, row.code, movement.act_id)
        still = "it was still there" if there <= 1 else f"{there} of it were still there"
        raise Refused(
            f"{show_code(row.code)} cannot have left on {long_date(day)}: on {long_date(movement.happened_on)} "
            f"{still} ({what}). Take that back first if it is wrong.",
            code=row.code,
            act=movement.act_id,
        )
    left = then.quantity - number
    if by is not None:
        gone = (by.happened_on, *days_to_say_again(kitchen, row, by.happened_on))
    else:
        gone = () if left else days_to_say_again(kitchen, row, day)
    return Way(number=number, then=then, left=left, gone=gone, by=by)


def after_all_else(kitchen: Kitchen, row: Row, day: date, done: str) -> tuple[date, ...]:
    """For what is ``done``, "moved", to a package on a day after all else that stands of it.

    Returns: later days of which the journal says something, though nothing stands: it is to be said again on them.
    Raises: Refused, naming the step, when something stands of a later day.
    """
    if _nothing_later(kitchen, row, day):
        return ()
    movements = journal.movements(kitchen.book, code=row.code)
    later = said_once(journal.heard(kitchen.book, [one for one in movements if one.happened_on > day]))
    first = min(movements, key=lambda movement: movement.id)
    if first in later:
        raise _came_after(row, first.happened_on, day)
    if later:
        last = later[-1]
        what = _said_by(kitchen, row.code, last.act_id)
        raise Refused(
            f"{show_code(row.code)} cannot have been {done} on {long_date(day)}: what is known of it goes on to "
            f"{long_date(last.happened_on)} ({what}). Take that back first if it is wrong.",
            code=row.code,
            act=last.act_id,
        )
    return days_to_say_again(kitchen, row, day)


def _said_by(kitchen: Kitchen, code: str, act_id: int) -> str:
    """The act behind a later step; the swap that let the label mean another pack, where it packed that one."""
    swap = borne.swapped_onto(kitchen.book, code, act_id)
    act = journal.act(kitchen.book, act_id if swap is None else swap)
    return f"act {act.id}, {act.words}" if act else "a later step"


def _nothing_later(kitchen: Kitchen, row: Row, day: date) -> bool:
    """Whether the journal says nothing of a package after ``day``, not even what was taken back."""
    # Corrected or not, the day on which it came is no later than these two.
    if max(row.package.state.since, row.package.packed_on) <= day:
        return True
    latest = at_hand.latest_day(kitchen.book, row.code)
    return latest is not None and latest <= day


def _came_after(row: Row, came: date, day: date) -> Refused:
    return Refused(
        f"{show_code(row.code)} came into the freezer on {long_date(came)}, after {long_date(day)}. One of the two "
        "days is wrong.",
        code=row.code,
    )


def go(act: Writer, code: str, way: Way, reason: Reason, person: str = "") -> None:
    """Write that some or all of a package leave, inside an act of the day on which they did."""
    then, by = way.then, way.by
    act.move(
        code,
        state=State.FROZEN if way.left else State.GONE,
        reason=reason,
        freezer_id=then.freezer_id,
        place_id=then.place_id,
        delta=-way.number,
        person=person,
    )
    for day in way.gone:
        act.move(
            code,
            state=State.GONE,
            reason=(by.reason or reason) if by else reason,
            freezer_id=by.freezer_id if by else then.freezer_id,
            place_id=by.place_id if by else then.place_id,
            person=by.person if by else person,
            on=day,
        )


def go_whole(act: Writer, row: Row, reason: Reason) -> None:
    """Write that all there is of a package goes, inside an act of a day after all else that is known of it."""
    state = row.package.state
    go(act, row.code, Way(number=state.quantity, then=state, left=0), reason)


def refuse_before_it_went(row: Row, day: date) -> None:
    """Raises: Refused when a package that is gone was still there on ``day``, and so cannot have come back then."""
    if day < row.package.state.since:
        raise Refused(
            f"{show_code(row.code)} left on {long_date(row.package.state.since)}, after {long_date(day)}. One of the "
            "two days is wrong.",
            code=row.code,
        )


def lay_on(kitchen: Kitchen, row: Row, day: date) -> PackageState:
    """Where a package was at the end of ``day``; as it is now, where the journal says nothing of it by then."""
    by_then = fold(one for one in journal.movements(kitchen.book, code=row.code) if one.happened_on <= day)
    return by_then or row.package.state


def days_to_say_again(kitchen: Kitchen, row: Row, day: date) -> tuple[date, ...]:
    """Days after ``day`` of which the journal says something, though all of it was taken back.

    The latest day tells the state of a package, so a late entry that ends it, or brings it back, must be said again
    on each of them.
    """
    movements = journal.movements(kitchen.book, code=row.code, as_written=True)
    return tuple(dict.fromkeys(movement.happened_on for movement in movements if movement.happened_on > day))


def _later_steps(
    quantity: int, number: int, later: Sequence[Movement]
) -> tuple[tuple[Movement, int] | None, Movement | None]:
    """What later steps say to ``number`` fewer of ``quantity`` from an earlier day on.

    Returns the first that speaks against it, with how many the book has there then; and the one that takes the last.
    """
    there, left, last = quantity, quantity - number, None
    for movement in later:
        before = there
        there += movement.delta
        ended = last is not None or left == 0
        left += movement.delta
        if not ended and left == 0 and movement.delta < 0:
            last = movement
        elif ended or left < (1 if movement.state is State.FROZEN else 0):
            return (movement, max(before, there)), None
    return None, last
