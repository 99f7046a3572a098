"""What of a package or a lot is out, and what of it a return brings back: always what left last."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from freezerbox.book import journal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.chores.wording import left_words
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.fold import in_order
from freezerbox.core.records import Movement, Package, Reason, State
from freezerbox.errors import Refused


@dataclass(frozen=True, slots=True, kw_only=True)
class Out:
    """One that left.  reason, person: how, and to whom; "" for nobody.  on: the day."""

    reason: Reason
    person: str
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Back:
    """What comes back.  number: how many.  units: how those left, the last first.  still: what stays out.

    lot: the code stands for several.
    """

    number: int
    units: tuple[Out, ...]
    still: tuple[Out, ...]
    lot: bool


def out_of(movements: Sequence[Movement]) -> list[Out]:
    """Each one of a package that is out, in the order in which they left, from its movements that stand."""
    out: list[Out] = []
    gone = False
    for movement in in_order(movements):
        if movement.delta < 0:
            one = Out(reason=movement.reason or Reason.EATEN, person=movement.person, on=movement.happened_on)
            out += [one] * -movement.delta
        for _ in range(movement.delta):
            found = [one for one in out if one.reason is Reason.LOST] if movement.reason is Reason.LOST else []
            found = found or _may_return(out, gone=gone)
            if found:
                out.reverse()
                out.remove(found[-1])
                out.reverse()
        gone = movement.state is State.GONE
    return out


def how_many_out(kitchen: Kitchen, code: str) -> int:
    """How many of a package are out."""
    return len(_of(kitchen, code))


def is_lot(kitchen: Kitchen, package: Package) -> bool:
    """Whether the code stands for several, those that are out too."""
    return package.state.quantity + how_many_out(kitchen, package.code) > 1


def coming_back(kitchen: Kitchen, row: Row, number: int, day: date) -> Back:
    """What ``number`` of a package that come back on ``day`` are: of those out by then, what left last.

    While some of a lot are there, what went into something else, or on under other codes, is not among them.

    Raises: Refused when nothing is out, or fewer than ``number``, or they left after that day.
    """
    state, code = row.package.state, show_code(row.code)
    out, gone = _of(kitchen, row.code), state.state is State.GONE
    lot = state.quantity + len(out) > 1
    may = _may_return(out, gone=gone)
    if not may and not gone:
        where = f", {row.where}" if row.where else ""
        every = f": all {state.quantity} of it" if lot and not out else ""
        rest = f"; {len(out)} of it went into others and come back with their undo alone" if out else ""
        raise Refused(f"{code} is in the freezer already{where}{every}{rest}.", code=row.code)
    if not 1 <= number <= max(1, len(may)):
        are = "is" if len(may) == 1 else "are"
        raise Refused(f"{len(may)} of {code} {are} out, not {number}.", code=row.code)
    by_then = [one for one in may if one.on <= day]
    if len(by_then) < number and may:
        late = min((one for one in may if one.on > day), key=lambda one: one.on)
        raise Refused(
            f"{code}: {len(by_then)} of it were out on {long_date(day)}; the next left on {long_date(late.on)}. "
            "One of the two days is wrong.",
            code=row.code,
        )
    units = tuple(reversed(by_then[-number:]))
    still = list(may)
    for one in units:
        still.remove(one)
    return Back(number=number, units=units, still=tuple(still), lot=lot)


def ways(units: Sequence[Out]) -> str:
    """How they left: ``eaten``; ``2 eaten, 1 given to Ann`` where they did not all leave alike."""
    words = Counter(left_words(one.reason, one.person) for one in units)
    if len(words) == 1:
        return next(iter(words))
    return ", ".join(f"{number} {word}" for word, number in words.items())


def still_out_words(row: Row, back: Back) -> str:
    """`` 3 there now. 2 still out (eaten): freezerbox put-back K7P-3MT 2.``; "" of a single package.

    ``row``: as it is now.
    """
    if not back.lot:
        return ""
    words = f" {row.package.state.quantity} there now."
    number = len(back.still)
    if number:
        many = f" {number}" if number > 1 else ""
        words += f" {number} still out ({ways(back.still)}): freezerbox put-back {show_code(row.code)}{many}"
    return words


def _of(kitchen: Kitchen, code: str) -> list[Out]:
    return out_of(journal.heard(kitchen.book, journal.movements(kitchen.book, code=code)))


def _may_return(out: Sequence[Out], *, gone: bool) -> list[Out]:
    return [one for one in out if gone or one.reason is not Reason.MADE_INTO]
