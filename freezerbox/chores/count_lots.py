"""A lot in a count: some of it seen in another place is a part of its own there, and never a loss."""

from __future__ import annotations

from freezerbox.book import at_hand, journal, printouts, queries
from freezerbox.book.writer import Writer
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.loose import lies_in, place_id
from freezerbox.chores.move import found, put
from freezerbox.chores.rows import Row
from freezerbox.chores.split import part_off
from freezerbox.core.records import Package, Place, Reason, State


def meant_here(kitchen: Kitchen, place: Place, code: str) -> str:
    """The code that a label stands for in a place: bags parted off a lot still bear the label of the whole.

    Returns the code of the part that lies here, where the lot itself lies elsewhere; else ``code``.
    """
    whole = queries.package(kitchen.book, code)
    here = lies_in(kitchen, place)
    if whole is None or here(whole.state) or not is_lot(kitchen, code):
        return code
    parts = queries.packages_by_code(kitchen.book, queries.lineage(kitchen.book).descendants("package", code))
    return next((part.code for part in parts if here(part.state) and _alike(part, whole)), code)


def is_lot(kitchen: Kitchen, code: str) -> bool:
    """Whether the code stands for more than one package, or did when it was packed; or may, since an adopted label
    does not say how many it stands for.
    """
    package = queries.package(kitchen.book, code)
    return package is not None and (
        package.state.quantity > 1
        or at_hand.packed_quantity(kitchen.book, code) > 1
        or printouts.of_another_book(kitchen.book, code)
    )


def parted(kitchen: Kitchen, row: Row, number: int) -> bool:
    """Whether ``number`` of a lot, seen in another place, leave some where the list has it."""
    return _leaves_some(row, number, _lost_of(kitchen, row.code))


def _leaves_some(row: Row, number: int, lost: int) -> bool:
    return number - min(number, lost) < row.package.state.quantity


def came_here(kitchen: Kitchen, act: Writer, row: Row, number: int | None, place: Place) -> str:
    """Write that a package, or ``number`` of a lot, lies in ``place`` and not where the list has it.

    What an earlier count missed of the lot is what turned up; the rest of ``number`` came from where it is listed.
    Returns the code that it has here: a new one when some of the lot stay.
    """
    lost = 0 if number is None else _lost_of(kitchen, row.code)
    if number is None or not _leaves_some(row, number, lost):
        put(act, row, place.freezer_id, place_id(place))
        if number is not None and number != row.package.state.quantity:
            recount(kitchen, act, row, number, place.freezer_id, place_id(place))
        return row.code
    again = min(number, lost)
    if again:
        state = row.package.state
        act.move(
            row.code,
            state=State.FROZEN,
            reason=Reason.LOST,
            freezer_id=state.freezer_id,
            place_id=state.place_id,
            delta=again,
        )
    return part_off(kitchen, act, row, number, place.freezer_id, place_id(place), again=again)


def back_here(kitchen: Kitchen, act: Writer, row: Row, number: int | None, place: Place) -> None:
    """Write that what the book has as gone lies in ``place``: one, or ``number`` of a lot."""
    act.move(row.code, state=State.FROZEN, freezer_id=place.freezer_id, place_id=place_id(place), delta=number or 1)
    found(act, row)


def recount(
    kitchen: Kitchen, act: Writer, row: Row, number: int, freezer_id: int | None, place_id: int | None
) -> None:
    """Write how many of a lot there are, where it lies."""
    delta = number - row.package.state.quantity
    act.move(
        row.code,
        state=State.FROZEN if number else State.GONE,
        reason=Reason.LOST if delta < 0 or 0 < delta <= _lost_of(kitchen, row.code) else None,
        freezer_id=freezer_id,
        place_id=place_id,
        delta=delta,
    )


def _lost_of(kitchen: Kitchen, code: str) -> int:
    """How many of a lot counts did not find, and none has found since."""
    lost = 0
    for movement in journal.heard(kitchen.book, journal.movements(kitchen.book, code=code)):
        if movement.reason is Reason.LOST:
            lost = max(0, lost - movement.delta)
    return lost


def _alike(part: Package, whole: Package) -> bool:
    """A part of the lot, and not what was made of it."""
    return (part.cut, part.form, part.net_mg, part.packed_on) == (
        whole.cut,
        whole.form,
        whole.net_mg,
        whole.packed_on,
    )
