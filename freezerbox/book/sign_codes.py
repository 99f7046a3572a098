"""What the code on the sign of a place means by now."""

from __future__ import annotations

import sqlite3

from freezerbox.book.schema import SIGN

_LATEST = "SELECT new FROM change WHERE subject_kind = ? AND {} = ? ORDER BY id DESC LIMIT 1"


def meant(connection: sqlite3.Connection, code: str) -> str:
    """The code of the place that a sign stands for: of a place that was made one with another, that one's."""
    places = {str(row[1]): str(row[0]) for row in connection.execute("SELECT code, uid FROM place")}
    if code in places.values():
        return code
    row = connection.execute(_LATEST.format("subject"), (SIGN, code)).fetchone()
    seen: set[str] = set()
    while row is not None and row[0] not in places and row[0] not in seen:
        # That one was made one with a third in its turn.
        seen.add(row[0])
        row = connection.execute(_LATEST.format("field"), (SIGN, row[0])).fetchone()
    return places.get(row[0], code) if row is not None else code


def given_up(connection: sqlite3.Connection, code: str) -> tuple[str, str] | None:
    """Name and freezer of the place that a sign stands for, when that place is no longer used; None for any other."""
    row = connection.execute(
        "SELECT p.name, f.name FROM place p JOIN freezer f ON f.id = p.freezer_id "
        "WHERE p.code = ? AND p.retired = 1 AND p.void = 0",
        (meant(connection, code),),
    ).fetchone()
    return (str(row[0]), str(row[1])) if row else None


def others(connection: sqlite3.Connection, code: str) -> tuple[str, ...]:
    """Codes of the other signs that mean the place of this one."""
    rows = connection.execute("SELECT DISTINCT subject FROM change WHERE subject_kind = ?", (SIGN,))
    return tuple(row[0] for row in rows if row[0] != code and meant(connection, row[0]) == code)
