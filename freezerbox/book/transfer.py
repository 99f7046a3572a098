"""The whole book as rows, out and in: what an export writes and an import reads back.

Tables and columns are asked of the file itself, so that a table added later travels by itself.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from pathlib import Path

from freezerbox.book import meta, migrations
from freezerbox.book.columns import columns, misnamed, tables
from freezerbox.book.copying import reader
from freezerbox.book.door import APPLICATION_ID, Book, Chance, connect, damaged, told_plainly
from freezerbox.book.parts import new_file
from freezerbox.book.patience import Waiting, quietly
from freezerbox.book.schema import triggers

Value = str | int | None
Row = Mapping[str, Value]


def references(connection: sqlite3.Connection, table: str) -> dict[str, str]:
    """Columns of a table that point to the ``id`` of another."""
    rows = connection.execute(f"PRAGMA foreign_key_list({table})")
    return {row[3]: row[2] for row in rows if row[4] in (None, "id")}


def rows(connection: sqlite3.Connection) -> Iterator[tuple[str, dict[str, Value]]]:
    """Every row of every table, each table in the order it was written."""
    for table in tables(connection):
        names = list(columns(connection, table))
        quoted = ", ".join(f'"{name}"' for name in names)
        for row in connection.execute(f"SELECT {quoted} FROM {table} ORDER BY rowid"):
            yield table, dict(zip(names, row, strict=True))


def all_rows(book: Book) -> list[tuple[str, dict[str, Value]]]:
    """Every row of the open book, seen at one moment."""
    with book.reading():
        return list(rows(book.connection))


def file_rows(path: Path, waiting: Waiting = quietly) -> list[tuple[str, dict[str, Value]]]:
    """Every row of another book's file, which is only read; ``waiting`` is told when another program holds it.

    Raises: BookTrouble when it cannot be.
    """
    with reader(path, waiting) as connection:
        refuse_misnamed(connection, path)
        return list(rows(connection))


def refuse_misnamed(connection: sqlite3.Connection, path: Path) -> None:
    """Raises: BookTrouble when a column does not have its name: its values would be missed."""
    if fault := misnamed(connection):
        raise damaged(path, fault)


def book_of_rows(
    path: Path,
    found: Iterable[tuple[str, Row]],
    *,
    chance: Chance,
    now: Callable[[], datetime],
    check: Callable[[Book], None],
) -> None:
    """A new book at ``path`` that holds ``found``; ``check`` looks at it before it is kept.

    Only its walk through codes is its own: ``found`` may be older than the labels that are out there.

    Raises: BookTrouble when there is a file already, or a row does not go in; what ``check`` raises.  Then there is
    no file.
    """
    with new_file(path) as part, told_plainly(path):
        connection = connect(part)
        try:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            migrations.migrate(connection)
            fill(connection, found)
            meta.walk_elsewhere(connection, chance)
            check(Book(path=path, connection=connection, chance=chance, now=now))
            connection.execute("COMMIT")
        finally:
            connection.close()


def fill(connection: sqlite3.Connection, found: Iterable[tuple[str, Row]]) -> None:
    """Make a book hold exactly ``found``, inside the transaction the caller has begun.

    The triggers follow a journal as it grows; here it comes with its outcome, so they rest meanwhile and the caller
    checks the outcome afterwards.
    """
    for statement in triggers():
        connection.execute(f"DROP TRIGGER IF EXISTS {statement.split()[2]}")
    connection.execute("PRAGMA defer_foreign_keys = ON")
    for table in tables(connection):
        connection.execute(f"DELETE FROM {table}")
    for table, row in found:
        names = ", ".join(f'"{name}"' for name in row)
        marks = ", ".join("?" for _ in row)
        connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(row.values()))
    for statement in triggers():
        connection.execute(statement)
