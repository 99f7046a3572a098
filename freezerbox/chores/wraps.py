"""What became of a package's wrapping: wrapped anew, or a vacuum seal that let go."""

from __future__ import annotations

from freezerbox.chores.fix import Fixed
from freezerbox.chores.header import parse_wrap
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import find_row, refuse_gone
from freezerbox.chores.wording import coded_line
from freezerbox.core.code import show_code
from freezerbox.errors import Refused

SEAL_LOST = "seal-lost"
"""What the record's wrap says when air got in."""


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
def seal_lost(kitchen: Kitchen, text: str) -> Fixed:
    """Record that the seal of a pack let go and air got in.

    Raises: InvalidCode; UnknownCode; AlreadyGone; Refused when it says so already.
    """
    row = find_row(kitchen, text)
    refuse_gone(kitchen, row)
    return _set(kitchen, row, "seal-lost", SEAL_LOST, "the seal let go")


def _set(kitchen: Kitchen, row: Row, kind: str, wrap: str, said: str) -> Fixed:
    old = row.package.wrap
    if old == wrap:
        raise Refused(f"{show_code(row.code)} says that already; nothing was changed.", code=row.code)
    message = f"{coded_line(kitchen, row)}: {said}."
    with kitchen.book.act(kind, kitchen.today, words=f"{show_code(row.code)} {said}") as act:
        act.change("package", row.code, "wrap", old, wrap)
    if wrap == SEAL_LOST:
        message += f" Wrap it anew: freezerbox fix {show_code(row.code)} --rewrap vacuum; or use it next."
    return Fixed(rows=Rows(kitchen.afresh()).of_codes([row.code]), message=message, reprint=())
