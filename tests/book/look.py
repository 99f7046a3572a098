"""A book looked at from outside, with sqlite3 alone: everything in it, and what of it stands."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

Value = str | int | float | bytes | None
Dump = dict[str, list[tuple[Value, ...]]]

JOURNAL = ("act", "movement", "change", "code")


def tables(connection: sqlite3.Connection) -> list[str]:
    rows = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    return sorted(row[0] for row in rows)


def columns(connection: sqlite3.Connection, table: str) -> list[str]:
    return [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]


def everything(path: Path) -> Dump:
    """Every row of every table: what a refusal must leave as it was."""
    with closing(sqlite3.connect(path)) as connection:
        return {table: list(connection.execute(f"SELECT * FROM {table} ORDER BY 1")) for table in tables(connection)}


def standing(path: Path) -> Dump:
    """What a person finds in the book: no journal, nothing void, no settings taken back, no void packages.

    ``since`` is left out: after an undo it is the day of the act taken back; and where the next code is drawn from,
    which an undo of what drew codes moves.
    """
    found: Dump = {}
    with closing(sqlite3.connect(path)) as connection:
        for table in tables(connection):
            if table in JOURNAL or table.startswith("_"):
                continue
            names = columns(connection, table)
            wheres = ["1"]
            if "void" in names:
                wheres.append("void = 0")
            if table == "meta":
                wheres.append("key <> 'walk'")
            if table == "setting":
                wheres.append("value IS NOT NULL")
            if table in ("package", "package_state"):
                wheres.append("code NOT IN (SELECT code FROM package_state WHERE reason = 'void')")
            if table == "lineage":
                wheres.append("child NOT IN (SELECT code FROM package_state WHERE reason = 'void')")
            shown = ", ".join(f'"{name}"' for name in names if name != "since" or table != "package_state")
            query = f"SELECT {shown} FROM {table} WHERE {' AND '.join(wheres)} ORDER BY 1"
            found[table] = list(connection.execute(query))
    return found


def objects(connection: sqlite3.Connection, kind: str) -> Iterator[str]:
    """Names of the indexes, triggers or tables that were made by a statement."""
    rows = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = ? AND sql IS NOT NULL ORDER BY name", (kind,)
    )
    yield from (row[0] for row in rows)
