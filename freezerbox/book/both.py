"""What both books did to one package: takings of a lot that are all true, and a spare label filled in both."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from freezerbox.book import values
from freezerbox.book.values import number
from freezerbox.core.fold import fold
from freezerbox.core.records import Movement, PackageState, Reason, State

Parted = tuple[Sequence[Movement], Sequence[Movement]]
"""Movements of one package in one book: those of acts that both books hold, and those of its own."""


def movement(row: Mapping[str, str | int | float | bytes | None]) -> Movement:
    """A row of the journal as a movement."""
    return Movement(
        id=number(row["id"]),
        act_id=number(row["act_id"]),
        code=str(row["code"]),
        happened_on=values.day(str(row["happened_on"])),
        state=values.word(State, str(row["state"])),
        reason=values.word(Reason, str(row["reason"])) if row["reason"] else None,
        freezer_id=None if row["freezer_id"] is None else number(row["freezer_id"]),
        place_id=None if row["place_id"] is None else number(row["place_id"]),
        delta=number(row["delta"]),
        person=str(row["person"]),
    )


def all_true(ours: Parted, theirs: Parted) -> bool:
    """Whether what each book did to a lot can stand beside what the other did: part of it left, and all fits.

    Not where one of them moved it, emptied it or counted it: a count says what was there, whoever took it.
    """
    for shared, own in (ours, theirs):
        for one in own:
            then = _by(shared, one.happened_on)
            if then is None or one.state is not State.FROZEN or one.reason is Reason.LOST:
                return False
            if (then.state, then.freezer_id, then.place_id) != (one.state, one.freezer_id, one.place_id):
                return False
    # The numbers of rows differ from book to book; the sum of a day does not.
    moved = [*ours[0], *ours[1], *theirs[1]]
    first = min(one.happened_on for one in (*ours[1], *theirs[1]))
    return all(sum(one.delta for one in moved if one.happened_on <= day) >= 0 for day in _days(moved, first))


def emptied(movements: Sequence[Movement], own: Sequence[Movement]) -> Iterator[tuple[date, Movement]]:
    """The days on which all takings together left nothing of a lot, each with the taking that was the last by then.

    ``movements``: all of the lot.  ``own``: those of them that one book alone has.
    """
    for day in _days(movements, min(one.happened_on for one in own)):
        state = _by(movements, day)
        if state is not None and state.state is State.FROZEN and state.quantity == 0:
            yield (
                day,
                max(
                    (one for one in movements if one.happened_on <= day and one.delta < 0),
                    key=lambda one: (one.happened_on, one.id),
                ),
            )


def filled(parted: Parted) -> bool:
    """Whether its own acts put something in a bag whose label was printed ahead."""
    shared = fold(parted[0])
    return shared is not None and shared.state is State.SPARE and any(one.state is State.FROZEN for one in parted[1])


def _by(movements: Iterable[Movement], day: date) -> PackageState | None:
    return fold(one for one in movements if one.happened_on <= day)


def _days(movements: Iterable[Movement], first: date) -> list[date]:
    return sorted({one.happened_on for one in movements if one.happened_on >= first})
