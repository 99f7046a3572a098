"""What SQLite itself says of the file, whether the book's guards are all there, and rebuilding what follows."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator

from freezerbox.book.door import Book
from freezerbox.book.schema import CHANGEABLE, statements

_NAMED = re.compile(r"CREATE (?:UNIQUE )?(TABLE|INDEX|TRIGGER) (\w+)")
_LATEST = """(SELECT {source} FROM movement m WHERE m.code = package_state.code
ORDER BY m.happened_on DESC, m.id DESC LIMIT 1)"""
# As the trigger movement_folds has it: one taken of a lot has a reason, but the lot is not gone.
_STATE_COLUMNS = {
    "state": "m.state",
    "reason": "CASE WHEN m.state = 'gone' THEN m.reason END",
    "freezer_id": "m.freezer_id",
    "place_id": "m.place_id",
    "since": "m.happened_on",
}


def file_faults(book: Book) -> tuple[str, ...]:
    """What the integrity and foreign-key checks find; empty when nothing."""
    found = []
    try:
        found = [row[0] for row in book.connection.execute("PRAGMA integrity_check") if row[0] != "ok"]
        for row in book.connection.execute("PRAGMA foreign_key_check"):
            found.append(f"a row of {row[0]} points to a {row[2]} that is not there")
    except sqlite3.DatabaseError as error:
        found.append(str(error))
    return tuple(found)


def packages_without_state(book: Book) -> tuple[str, ...]:
    """Codes of packages that have no state."""
    rows = book.connection.execute("SELECT code FROM package WHERE code NOT IN (SELECT code FROM package_state)")
    return tuple(row[0] for row in rows)


def lost_origins(book: Book) -> tuple[tuple[str, str, str], ...]:
    """Package, kind and name of every origin that the book has no record of; a hold may have gone with it."""
    rows = book.connection.execute(
        """SELECT l.child, l.kind, l.name FROM lineage l JOIN package_state s ON s.code = l.child
        WHERE l.void = 0 AND s.reason IS NOT 'void' AND (
          (l.kind = 'animal' AND l.name NOT IN (SELECT code FROM animal WHERE void = 0))
          OR (l.kind = 'package' AND l.name NOT IN (SELECT code FROM package))
        ) ORDER BY l.id"""
    )
    return tuple((row[0], row[1], row[2]) for row in rows)


def missing_guards(book: Book) -> tuple[str, ...]:
    """Tables, indexes and triggers that the schema has and the file has not."""
    return tuple(f"The {kind} {name} is missing from the file" for kind, name, _ in _missing(book))


def _missing(book: Book) -> Iterator[tuple[str, str, str]]:
    there = {row[0] for row in book.connection.execute("SELECT name FROM sqlite_master")}
    for statement in statements():
        match = _NAMED.match(statement)
        if match and match[2] not in there:
            yield match[1].lower(), match[2], statement


def out_of_step(book: Book) -> tuple[str, ...]:
    """Fields that do not say what their latest change says."""
    return tuple(
        f"{table} {key}: {field} is {value!r}, but was last set to {latest!r}"
        for table, key, field, value, latest in _out_of_step(book)
    )


def _out_of_step(book: Book) -> Iterator[tuple[str, str, str, object, object]]:
    for table, (key, fields) in CHANGEABLE.items():
        for field in fields:
            yield from (
                (table, str(row[0]), field, row[1], row[2])
                for row in book.connection.execute(
                    f"""SELECT t.{key}, t.{field}, c.new FROM {table} t JOIN change c ON c.id = (
                      SELECT max(l.id) FROM change l WHERE l.subject_kind = :table AND l.field = :field
                      AND l.subject = CAST(t.{key} AS TEXT)) WHERE t.{field} IS NOT c.new""",
                    {"table": table, "field": field},
                )
            )


def rebuild(book: Book) -> tuple[str, ...]:
    """Put states, corrected fields and guards back to what the journal says, inside the caller's transaction.

    Returns a sentence for each thing rebuilt.
    """
    done = []
    for kind, name, statement in list(_missing(book)):
        if kind != "table":
            book.connection.execute(statement)
            done.append(f"the {kind} {name} is back")
    for table, key, field, _, said in list(_out_of_step(book)):
        column = CHANGEABLE[table][0]
        book.connection.execute(f"UPDATE {table} SET {field} = ? WHERE CAST({column} AS TEXT) = ?", (said, key))
        done.append(f"{table} {key}: {field} is {said!r} again")
    quantity = "(SELECT sum(delta) FROM movement m WHERE m.code = package_state.code)"
    latest = {column: _LATEST.format(source=source) for column, source in _STATE_COLUMNS.items()}
    latest["quantity"] = quantity
    wrong = " OR ".join(f"{column} IS NOT {value}" for column, value in latest.items())
    moved = "code IN (SELECT code FROM movement)"
    rows = book.connection.execute(f"SELECT code FROM package_state WHERE {moved} AND ({wrong})").fetchall()
    settings = ", ".join(f"{column} = {value}" for column, value in latest.items())
    for row in rows:
        book.connection.execute(f"UPDATE package_state SET {settings} WHERE code = ?", (row[0],))
        done.append(f"the state of {row[0]} follows its journal again")
    for code in packages_without_state(book):
        if book.connection.execute("SELECT 1 FROM movement WHERE code = ?", (code,)).fetchone():
            _add_state(book, code)
            done.append(f"the state of {code} is back")
    return tuple(done)


def _add_state(book: Book, code: str) -> None:
    columns = ", ".join(_STATE_COLUMNS)
    sources = ", ".join(_STATE_COLUMNS.values())
    book.connection.execute(
        f"""INSERT INTO package_state (code, {columns}, quantity)
        SELECT m.code, {sources}, (SELECT sum(delta) FROM movement WHERE code = :code)
        FROM movement m WHERE m.code = :code ORDER BY m.happened_on DESC, m.id DESC LIMIT 1""",
        {"code": code},
    )
