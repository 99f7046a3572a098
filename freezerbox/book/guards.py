"""The tables, indexes and triggers of a file against those that this program makes."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from functools import cache

from freezerbox.book import migrations
from freezerbox.book.door import Book


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """Something of the file that is not as this program makes it.

    kind: ``table``, ``index``, ``trigger`` or ``view``.  name: in the file.  fault: ``missing``, ``altered`` or
    ``foreign`` (none of ours).  sql: the statement that makes it; "" for a foreign one.
    """

    kind: str
    name: str
    fault: str
    sql: str

    @property
    def words(self) -> str:
        """A sentence without its full stop."""
        if self.fault == "foreign":
            return f"The {self.kind} {self.name} is none of this program's, and may change what is written"
        if self.fault == "missing":
            return f"The {self.kind} {self.name} is missing from the file"
        return f"The {self.kind} {self.name} is not as this program makes it"


def faulty(book: Book) -> tuple[Guard, ...]:
    """All that is missing, altered or foreign; tables first.

    A foreign table only lies there, and is none of these: nothing reads it.
    """
    return tuple(sorted(_faulty(book), key=lambda one: one.kind != "table"))


def _faulty(book: Book) -> Iterator[Guard]:
    wanted, there = _made(), _named(book.connection)
    for name, (kind, sql) in wanted.items():
        if name not in there or there[name][0] != kind:
            yield Guard(kind=kind, name=name, fault="missing", sql=sql)
        elif _bare(there[name][1]) != _bare(sql):
            yield Guard(kind=kind, name=name, fault="altered", sql=sql)
    for name, (kind, _) in there.items():
        if kind != "table" and wanted.get(name, ("",))[0] != kind:
            yield Guard(kind=kind, name=name, fault="foreign", sql="")


def put_back(book: Book) -> list[str]:
    """Make indexes and triggers as they should be, inside the caller's transaction; tables are left as they are.

    Returns a sentence for each.
    """
    done = []
    for one in sorted(faulty(book), key=lambda one: one.fault != "foreign"):
        if one.kind == "table":
            continue
        if one.fault != "missing":
            quoted = one.name.replace('"', '""')
            book.connection.execute(f'DROP {one.kind} "{quoted}"')
        if one.sql:
            book.connection.execute(one.sql)
        done.append(f"the {one.kind} {one.name} is {'back' if one.sql else 'gone'}")
    return done


def own_tables() -> tuple[str, ...]:
    """Names of the book's tables."""
    return tuple(name for name, (kind, _) in _made().items() if kind == "table" and not name.startswith("_"))


def _made() -> dict[str, tuple[str, str]]:
    """Kind and statement, by name, of all that the steps make in an empty file."""
    return _made_by(migrations.steps)


@cache
def _made_by(_steps: Callable[[], object]) -> dict[str, tuple[str, str]]:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as blank:
        blank.execute("BEGIN")
        migrations.migrate(blank)
        return _named(blank)


def _named(connection: sqlite3.Connection) -> dict[str, tuple[str, str]]:
    # As text: in a damaged book a name may be stored as bytes.
    rows = connection.execute(
        "SELECT CAST(name AS TEXT), CAST(type AS TEXT), CAST(sql AS TEXT) FROM sqlite_master "
        "WHERE sql IS NOT NULL AND name IS NOT NULL AND type IS NOT NULL ORDER BY rowid"
    )
    return {row[0]: (row[1], row[2]) for row in rows if not row[0].startswith("sqlite_")}


def _bare(sql: str) -> str:
    """A statement without its spacing and quotes, which another program may write otherwise."""
    return "".join(sql.replace('"', "").split()).lower()
