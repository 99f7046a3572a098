"""What SQLite itself says of the file, whether anything of the journal is lost, and rebuilding what follows."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

from freezerbox.book import guards
from freezerbox.book.door import Book
from freezerbox.book.schema import APPEND_ONLY, CHANGEABLE

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
    """What the integrity and foreign-key checks find; empty when nothing.  A lost record is told once."""
    found = []
    try:
        found = [row[0] for row in book.connection.execute("PRAGMA integrity_check") if row[0] != "ok"]
        found += _lost_records(book)
    except sqlite3.DatabaseError as error:
        found.append(str(error))
    return tuple(found)


def _lost_records(book: Book) -> Iterator[str]:
    """A sentence for each record that others point to and that is not there."""
    pointing: dict[tuple[str, object], dict[str, int]] = {}
    for table, row_id, parent, number in book.connection.execute("PRAGMA foreign_key_check").fetchall():
        columns = {row[0]: row[3] for row in book.connection.execute(f"PRAGMA foreign_key_list({table})")}
        said = book.connection.execute(f"SELECT {columns[number]} FROM {table} WHERE rowid = ?", (row_id,)).fetchone()
        here = pointing.setdefault((parent, said[0] if said else "?"), {})
        here[table] = here.get(table, 0) + 1
    for (parent, name), here in pointing.items():
        if list(here) == ["package_state"] and parent == "package":
            # It follows from the journal, and is told and mended with what else does.
            continue
        rows = sum(here.values())
        verb = "row points" if rows == 1 else "rows point"
        yield f"the {parent} {name} is not there, and {rows} {verb} to it (of {', '.join(here)})"


def lost_numbers(book: Book) -> tuple[str, ...]:
    """What the journal has lost: its rows are numbered without a gap, and none is ever deleted.

    Those numbered last may be lost without a trace.
    """
    found = []
    for table in APPEND_ONLY:
        if table == "code":
            continue
        there, last = book.connection.execute(f"SELECT count(*), coalesce(max(id), 0) FROM {table}").fetchone()
        if there < last:
            first = book.connection.execute(
                f"SELECT min(n.id) + 1 FROM (SELECT 0 AS id UNION ALL SELECT id FROM {table}) n "
                f"WHERE NOT EXISTS (SELECT 1 FROM {table} t WHERE t.id = n.id + 1)"
            ).fetchone()[0]
            found.append(f"The journal has lost {last - there} of its rows of {table}, the first is number {first}")
    return tuple(found)


def days_that_are_none(book: Book) -> tuple[str, ...]:
    """Days of the calendar that are none, each with its table and row."""
    found = []
    for table in guards.own_tables():
        names = [row[1] for row in book.connection.execute(f"PRAGMA table_info({table})")]
        key = "code" if names[0] == "code" or table == "movement" else names[0]
        for name in names:
            if name.endswith("_on") or name == "since":
                found += [
                    f"{table} {row[0]}: {name} is {row[1]!r}, which is no day such as 2026-11-21"
                    for row in book.connection.execute(
                        # Without the sum, 30 February passes.
                        f"SELECT {key}, {name} FROM {table} "
                        f"WHERE {name} IS NOT NULL AND date({name}, '+0 days') IS NOT {name}"
                    )
                ]
    return tuple(found)


def packages_without_state(book: Book) -> tuple[str, ...]:
    """Codes of packages that have no state."""
    rows = book.connection.execute("SELECT code FROM package WHERE code NOT IN (SELECT code FROM package_state)")
    return tuple(row[0] for row in rows)


def orphan_states(book: Book) -> tuple[str, ...]:
    """Codes of which a state is stored, and nothing else is known."""
    rows = book.connection.execute(
        "SELECT code FROM package_state WHERE code NOT IN (SELECT code FROM package) "
        "AND code NOT IN (SELECT code FROM movement) ORDER BY code"
    )
    return tuple(row[0] for row in rows)


def acts_of_another_day(book: Book) -> tuple[str, ...]:
    """Acts of a day on which they moved nothing, though they moved something on others; each with both days.

    A join's own step stands on the days of what it decided.
    """
    rows = book.connection.execute(
        """SELECT a.id, a.happened_on, min(m.happened_on) FROM act a JOIN movement m ON m.act_id = a.id
        WHERE a.kind <> 'join' GROUP BY a.id HAVING sum(m.happened_on = a.happened_on) = 0 ORDER BY a.id"""
    )
    return tuple(f"Act {row[0]} is of {row[1]}, but what it moved, it moved on {row[2]}" for row in rows)


def lost_origins(book: Book) -> tuple[tuple[str, str, str], ...]:
    """Package, kind and name of every origin that the book has no record of, nor an act that took it back."""
    rows = book.connection.execute(
        """SELECT l.child, l.kind, l.name FROM lineage l JOIN package_state s ON s.code = l.child
        WHERE l.void = 0 AND s.reason IS NOT 'void' AND (
          (l.kind = 'animal' AND l.name NOT IN (SELECT a.code FROM animal a WHERE a.void = 0 OR EXISTS (
            SELECT 1 FROM change c WHERE c.subject_kind = 'animal' AND c.field = 'void'
            AND c.subject = CAST(a.id AS TEXT))))
          OR (l.kind = 'package' AND l.name NOT IN (SELECT code FROM package))
        ) ORDER BY l.id"""
    )
    return tuple((row[0], row[1], row[2]) for row in rows)


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

    From a journal that has lost something no state is made, nor one that cannot be: only the guards are put back.

    Returns a sentence for each thing rebuilt.
    """
    done = guards.put_back(book)
    if lost_numbers(book):
        return tuple(done)
    for table, key, field, _, said in list(_out_of_step(book)):
        column = CHANGEABLE[table][0]
        book.connection.execute(f"UPDATE {table} SET {field} = ? WHERE CAST({column} AS TEXT) = ?", (said, key))
        done.append(f"{table} {key}: {field} is {said!r} again")
    quantity = "(SELECT sum(delta) FROM movement m WHERE m.code = package_state.code)"
    latest = {column: _LATEST.format(source=source) for column, source in _STATE_COLUMNS.items()}
    latest["quantity"] = quantity
    wrong = " OR ".join(f"{column} IS NOT {value}" for column, value in latest.items())
    moved = f"code IN (SELECT code FROM movement) AND {quantity} >= 0"
    rows = book.connection.execute(f"SELECT code FROM package_state WHERE {moved} AND ({wrong})").fetchall()
    settings = ", ".join(f"{column} = {value}" for column, value in latest.items())
    for row in rows:
        book.connection.execute(f"UPDATE package_state SET {settings} WHERE code = ?", (row[0],))
        done.append(f"the state of {row[0]} follows its journal again")
    orphans = orphan_states(book)
    if orphans:
        # Only here, inside the transaction: the guard that forbids it is put back at once.
        book.connection.execute("DROP TRIGGER package_state_no_delete")
        for code in orphans:
            book.connection.execute("DELETE FROM package_state WHERE code = ?", (code,))
            done.append(f"the state of {code}, which is no package, is gone")
        guards.put_back(book)
    for code in packages_without_state(book):
        left = book.connection.execute("SELECT sum(delta) FROM movement WHERE code = ?", (code,)).fetchone()[0]
        if left is not None and left >= 0:
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
