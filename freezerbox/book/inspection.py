"""What SQLite itself says of the file, and whether the book's guards are all there."""

from __future__ import annotations

import re
import sqlite3

from freezerbox.book.door import Book
from freezerbox.book.schema import statements

_NAMED = re.compile(r"CREATE (?:UNIQUE )?(TABLE|INDEX|TRIGGER) (\w+)")


def file_faults(book: Book) -> tuple[str, ...]:
    """What the integrity and foreign-key checks find; empty when nothing."""
    found = []
    try:
        found = [row[0] for row in book.connection.execute("PRAGMA integrity_check") if row[0] != "ok"]
        for row in book.connection.execute("PRAGMA foreign_key_check"):
            found.append(f"a row of {row[0]} points to a {row[2]} that is not there")
    except sqlite3.DatabaseError as error:
        found.append(str(error))
    return tuple(found)


def packages_without_state(book: Book) -> tuple[str, ...]:
    """Codes of packages that never moved."""
    rows = book.connection.execute("SELECT code FROM package WHERE code NOT IN (SELECT code FROM package_state)")
    return tuple(row[0] for row in rows)


def missing_guards(book: Book) -> tuple[str, ...]:
    """Tables, indexes and triggers that the schema has and the file has not."""
    there = {row[0] for row in book.connection.execute("SELECT name FROM sqlite_master")}
    named = [match for match in map(_NAMED.match, statements()) if match]
    return tuple(
        f"The {match[1].lower()} {match[2]} is missing from the file." for match in named if match[2] not in there
    )
