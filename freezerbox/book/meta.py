"""What the book says of itself: its letter, its identity and where its walk through codes begins."""

from __future__ import annotations

import sqlite3

from freezerbox.book.door import Chance

WALKS = 1 << 20
"""So many places a walk may begin at."""


def become(connection: sqlite3.Connection, chance: Chance, *, letter: str) -> None:
    """Make a copy a book of its own: its letter, its identity, and a walk through codes of its own."""
    for key, value in (("letter", letter), ("uid", chance.uid())):
        connection.execute("UPDATE meta SET value = ? WHERE key = ?", (value, key))
    walk_elsewhere(connection, chance)
    connection.execute("UPDATE setting SET value = NULL WHERE key = 'letter'")


def walk_elsewhere(connection: sqlite3.Connection, chance: Chance) -> None:
    """Have new codes drawn from another place on.

    Whoever goes on from a copy would else draw once more what was drawn, and put on labels, after it was made.
    """
    connection.execute("UPDATE meta SET value = ? WHERE key = 'walk'", (str(chance.number(WALKS)),))
