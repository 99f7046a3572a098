"""What the book says of itself: its letter and identity."""

from __future__ import annotations

import sqlite3

from freezerbox.book.door import Chance


def become(connection: sqlite3.Connection, chance: Chance, *, letter: str) -> None:
    """Make a copy a book of its own: its letter, its identity, and a walk through codes of its own."""
    for key, value in (("letter", letter), ("uid", chance.uid()), ("walk", str(chance.number(1 << 20)))):
        connection.execute("UPDATE meta SET value = ? WHERE key = ?", (value, key))
    connection.execute("UPDATE setting SET value = NULL WHERE key = 'letter'")
