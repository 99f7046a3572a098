"""Steps from one schema to the next: numbered, forward only, never edited once released.

``user_version`` of the file is the number of the last step, so that opening a current book needs no library but
sqlite3.  sqlite-utils runs the steps; its ``transform()`` is not used, since it drops triggers.
"""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, Any

from freezerbox.book.schema import statements

if TYPE_CHECKING:
    from sqlite_utils import Migrations

CURRENT = 1
"""The schema this program writes."""


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the file behind ``connection`` to ``CURRENT``, in the transaction the caller has begun."""
    from sqlite_utils import Database

    steps().apply(Database(connection))
    connection.execute(f"PRAGMA user_version = {CURRENT}")


def steps() -> Migrations:
    """Every step so far."""
    from sqlite_utils import Migrations

    migrations = Migrations("freezerbox")

    @migrations()
    def m001_first_book(database: Any) -> None:
        for statement in statements():
            database.execute(statement)

    return migrations
