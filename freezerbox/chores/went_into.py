"""What became of a package that went into something, and how the making is taken back."""

from __future__ import annotations

from freezerbox.book import journal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, Rows
from freezerbox.core.records import Reason, State


def how_to_unmake(kitchen: Kitchen, row: Row) -> str:
    """What takes back the making that a package went into, ``freezerbox undo 9``; "" when nothing is made of it."""
    state = row.package.state
    if state.state is not State.GONE or state.reason is not Reason.MADE_INTO:
        return ""
    rows = Rows(kitchen)
    made = rows.of_codes(list(rows.lineage.children("package", row.code)))
    if all(one.package.state.reason is Reason.VOID for one in made):
        return ""
    moved = journal.movements(kitchen.book, code=row.code)
    return f"freezerbox undo {moved[-1].act_id}"


def in_it_too(kitchen: Kitchen, row: Row) -> str:
    """What to say when a package comes back whose meat lies in others and is counted there too; "" else."""
    undo = how_to_unmake(kitchen, row)
    return f" What was made of it is still on the list too; if it was not made after all: {undo}" if undo else ""
