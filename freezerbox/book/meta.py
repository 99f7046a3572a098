"""What the book says of itself: its letter and identity."""

from __future__ import annotations

from freezerbox.book.door import Book


def become(book: Book, *, letter: str) -> None:
    """Make an open copy a book of its own: its letter, and a walk through codes of its own."""
    with book.writing():
        book.connection.execute("UPDATE meta SET value = ? WHERE key = 'letter'", (letter,))
        book.connection.execute("UPDATE meta SET value = ? WHERE key = 'uid'", (book.chance.uid(),))
        book.connection.execute("UPDATE setting SET value = NULL WHERE key = 'letter'")
        walk = str(book.chance.number(1 << 20))
        book.connection.execute("UPDATE meta SET value = ? WHERE key = 'walk'", (walk,))
