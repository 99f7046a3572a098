"""What the book says of itself: its letter, its identity and where its walk through codes begins."""

from __future__ import annotations

import sqlite3

from freezerbox.book.door import Book, Chance

WALKS = 1 << 20
"""So many places a walk may begin at."""


HOME = "home"
"""The place, such as the cabin, that a book was made for; the household's own book has none."""


def become(connection: sqlite3.Connection, chance: Chance, *, letter: str, home: str) -> None:
    """Make a copy a book of its own: its letter, its identity, its place, and a walk through codes of its own."""
    connection.execute("INSERT OR REPLACE INTO meta (key, value) VALUES (?, ?)", (HOME, home))
    for key, value in (("letter", letter), ("uid", chance.uid())):
        connection.execute("UPDATE meta SET value = ? WHERE key = ?", (value, key))
    walk_elsewhere(connection, chance)
    connection.execute("UPDATE setting SET value = NULL WHERE key = 'letter'")


def at_home(book: Book) -> str:
    """The book's station, with the place it was made for: ``terminal, cabin``.

    Stations have the same names everywhere: else, once the books are joined, undo here would take back what was
    done there.
    """
    home = book.connection.execute("SELECT value FROM meta WHERE key = ?", (HOME,)).fetchone()
    return f"{book.station}, {home[0]}" if home and book.station else book.station


def walk_elsewhere(connection: sqlite3.Connection, chance: Chance) -> None:
    """Have new codes drawn from another place on.

    Whoever goes on from a copy would else draw once more what was drawn, and put on labels, after it was made.
    """
    connection.execute("UPDATE meta SET value = ? WHERE key = 'walk'", (str(chance.number(WALKS)),))
