"""Which tables and columns a file has, and which this program makes."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from functools import cache

from freezerbox.book import migrations


def tables(connection: sqlite3.Connection) -> tuple[str, ...]:
    """The book's own tables, in the order they were made."""
    rows = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY rowid")
    return tuple(row[0] for row in rows if not row[0].startswith(("sqlite_", "_sqlite_")))


def columns(connection: sqlite3.Connection, table: str) -> dict[str, str]:
    """Columns of a table and their types."""
    return {row[1]: row[2] for row in connection.execute(f"PRAGMA table_info({table})")}


@cache
def schema_columns() -> Mapping[str, Mapping[str, str]]:
    """Tables and columns of the schema this program writes."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        connection.execute("BEGIN")
        migrations.migrate(connection)
        return {table: columns(connection, table) for table in tables(connection)}


def misnamed(connection: sqlite3.Connection, *, earlier: bool = True) -> str:
    """What is wrong with the names of the columns, ``table change has no column new``; "" when nothing is.

    A file of an earlier layout may lack some, and has none that this program does not know; ``earlier`` says whether
    such a one is looked at, too.
    """
    old = connection.execute("PRAGMA user_version").fetchone()[0] < migrations.CURRENT
    if old and not earlier:
        return ""
    for table, wanted in schema_columns().items():
        there = columns(connection, table)
        if there and (odd := sorted(there.keys() - wanted.keys())):
            return f"table {table} has a column {odd[0]}, which is none of this program's"
        if not old and (lacking := sorted(wanted.keys() - there.keys())):
            return f"table {table} has no column {lacking[0]}"
    return ""
