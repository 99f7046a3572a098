"""What became of a package's wrapping: wrapped anew, or a vacuum seal that let go."""

from __future__ import annotations

from freezerbox.chores.fix import Fixed
from freezerbox.chores.header import parse_wrap, whole_number
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.rows import SEAL_LOST, Row, Rows
from freezerbox.chores.split import part_off
from freezerbox.chores.take import find_row, refuse_gone
from freezerbox.chores.wording import coded_line
from freezerbox.core.code import show_code
from freezerbox.errors import OutOfLine, Refused


@one_writer
def rewrap(kitchen: Kitchen, text: str, wrap: str) -> Fixed:
    """Record that a pack was wrapped anew; its days stay.

    Raises: InvalidCode; UnknownCode; UnknownWord for the wrap; AlreadyGone; Refused when it says so already.
    """
    row = find_row(kitchen, text)
    refuse_gone(kitchen, row)
    new = parse_wrap(wrap)
    return _set(kitchen, row, "rewrap", new, f"wrapped anew, {new.replace('-', ' ')}")


@one_writer
def seal_lost(kitchen: Kitchen, text: str, number: str = "", *, yes: bool = False) -> Fixed:
    """Record that the seal of a pack let go and air got in.

    Of a lot, ``number`` of it are parted off under a code of their own; ``yes`` is for all of it.

    Raises: InvalidCode; UnknownCode; AlreadyGone; Refused when it says so already; InputError for the number;
    OutOfLine for a lot when neither is said.
    """
    row = find_row(kitchen, text)
    refuse_gone(kitchen, row)
    code, quantity = show_code(row.code), row.package.state.quantity
    if number and whole_number(number, "packages", max(1, quantity)) < quantity:
        return _some(kitchen, row, int(number))
    if quantity > 1 and not (number or yes):
        raise OutOfLine(
            f"{code} stands for {quantity}. Of how many did the seal let go? Of one: freezerbox seal-lost {code} 1. "
            "Of all: add --yes",
            code=row.code,
        )
    return _set(kitchen, row, "seal-lost", SEAL_LOST, "the seal let go")


def _some(kitchen: Kitchen, row: Row, number: int) -> Fixed:
    """Some of a lot, parted off where they lie."""
    _refuse_same(row, SEAL_LOST)
    state, said = row.package.state, f"the seal of {number} let go"
    with kitchen.book.act("seal-lost", kitchen.today, words=f"{show_code(row.code)} {said}") as act:
        code = part_off(kitchen, act, row, number, state.freezer_id, state.place_id)
        act.change("package", code, "wrap", row.package.wrap, SEAL_LOST)
    message = (
        f"{coded_line(kitchen, row)}: {said}; {'it is' if number == 1 else 'they are'} {show_code(code)} now, "
        "a label: freezerbox label"
    )
    return Fixed(rows=Rows(kitchen.afresh()).of_codes([code]), message=f"{message}. Use next.", reprint=())


def _refuse_same(row: Row, wrap: str) -> None:
    """Raises: Refused when the record says so already."""
    if row.package.wrap == wrap:
        raise Refused(f"{show_code(row.code)} says that already; nothing was changed.", code=row.code)


def _set(kitchen: Kitchen, row: Row, kind: str, wrap: str, said: str) -> Fixed:
    _refuse_same(row, wrap)
    message = f"{coded_line(kitchen, row)}: {said}."
    with kitchen.book.act(kind, kitchen.today, words=f"{show_code(row.code)} {said}") as act:
        act.change("package", row.code, "wrap", row.package.wrap, wrap)
    if wrap == SEAL_LOST:
        message += f" Wrap it anew: freezerbox fix {show_code(row.code)} --rewrap vacuum; or use it next."
    return Fixed(rows=Rows(kitchen.afresh()).of_codes([row.code]), message=message, reprint=())
