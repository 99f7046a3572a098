"""What is asked at every scan or line, each by one short query."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from freezerbox.book import arrivals, values
from freezerbox.book.door import Book
from freezerbox.core.records import Package, State


def is_frozen(book: Book, code: str) -> bool:
    """Whether the package of ``code`` is in the freezer."""
    row = book.connection.execute("SELECT state FROM package_state WHERE code = ?", (code,)).fetchone()
    return row is not None and row[0] == State.FROZEN


def species_packed(book: Book) -> list[str]:
    """Keys of the species that packages are of, those gone too, by when the first of each was entered."""
    rows = book.connection.execute(
        "SELECT species FROM package WHERE species <> '' GROUP BY species ORDER BY min(act_id), min(rowid)"
    )
    return [row[0] for row in rows]


def latest_day(book: Book, code: str) -> date | None:
    """The last day of which anything is known of a package, its past as known now; ``None`` for nothing."""
    row = book.connection.execute("SELECT max(happened_on) FROM movement WHERE code = ?", (code,)).fetchone()
    told = arrivals.retold(book, code).get(code, ())
    return max([*(one.happened_on for one in told), *([values.day(row[0])] if row[0] else [])], default=None)


def frozen_longer(book: Book, package: Package, until: date) -> Iterator[tuple[str, date]]:
    """Code and first day of packages of the same cut and species that were frozen before it, by ``until``.

    The oldest first; only those in the freezer.
    """
    rows = book.connection.execute(
        """SELECT p.code, p.first_frozen_on FROM package p CROSS JOIN package_state s ON s.code = p.code
        WHERE p.cut = ? AND p.species = ? AND p.first_frozen_on < ? AND p.first_frozen_on <= ? AND p.code <> ?
        AND s.state = 'frozen' ORDER BY p.first_frozen_on, p.code""",
        (package.cut, package.species, package.first_frozen_on.isoformat(), until.isoformat(), package.code),
    )
    return ((row[0], values.day(row[1])) for row in rows)


def packed_quantity(book: Book, code: str) -> int:
    """How many packages a record stood for when it was packed: more than 1 for a lot."""
    row = book.connection.execute("SELECT delta FROM movement WHERE code = ? ORDER BY id LIMIT 1", (code,)).fetchone()
    return int(row[0]) if row else 0
