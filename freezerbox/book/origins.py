"""What the book knows of the animal behind a package: holds, batches, costs, people."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from freezerbox.book import values
from freezerbox.book.door import Book


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnHold:
    """A hold that the household put on an animal or a package itself.

    table: ``own_hold`` or ``animal_hold``; id: its row there.  of: code of the package or animal.
    released_on, released_why: None and "" while it stands, or when it was taken back whole.
    """

    table: str
    id: int
    of: str
    why: str
    since: date
    released_on: date | None = None
    released_why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """A making: what was ground or mixed together in one go.

    code: ``G26-1``.  recipe: its name, "" when not said.  fat_percent: what was aimed at; None for no aim.
    """

    id: int
    act_id: int
    code: str
    recipe: str
    fat_percent: int | None
    made_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchStep:
    """Something still to be done with a batch on a day: cure, smoke.  done_on: None while it waits."""

    id: int
    batch: str
    what: str
    due_on: date
    done_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Money spent on an animal or a batch.  cents: hundredths of the household's own money."""

    id: int
    subject_kind: str
    subject: str
    what: str
    cents: int


def own_holds(book: Book, of: str) -> tuple[OwnHold, ...]:
    """Standing holds of the household on a package or an animal, by its code, the oldest first."""
    rows = book.connection.execute(
        "SELECT 'own_hold', id, code, why, since FROM own_hold WHERE code = :of AND void = 0 AND released_on IS NULL "
        "UNION ALL SELECT 'animal_hold', h.id, a.code, h.why, h.since FROM animal_hold h "
        "JOIN animal a ON a.id = h.animal_id WHERE a.code = :of AND a.void = 0 AND h.void = 0 "
        "AND h.released_on IS NULL ORDER BY 5, 2",
        {"of": of},
    )
    return tuple(OwnHold(table=row[0], id=row[1], of=row[2], why=row[3], since=values.day(row[4])) for row in rows)


def holds_ever(book: Book, code: str) -> tuple[tuple[int, OwnHold], ...]:
    """Every hold that was put on this very package, as it was put on: number of the act, and the hold."""
    rows = book.connection.execute("SELECT act_id, id, why, since FROM own_hold WHERE code = ? ORDER BY id", (code,))
    return tuple(
        (row[0], OwnHold(table="own_hold", id=row[1], of=code, why=row[2], since=values.day(row[3]))) for row in rows
    )


def holds_let_go(book: Book, of: str) -> tuple[OwnHold, ...]:
    """Holds of the household on a package or an animal that stand no more, released or taken back, the oldest first.

    None of those that stand again in the same words since the same day.
    """
    rows = book.connection.execute(
        "SELECT 'own_hold', id, code, why, since, released_on, released_why FROM own_hold "
        "WHERE code = :of AND (void = 1 OR released_on IS NOT NULL) "
        "UNION ALL SELECT 'animal_hold', h.id, a.code, h.why, h.since, h.released_on, h.released_why "
        "FROM animal_hold h JOIN animal a ON a.id = h.animal_id "
        "WHERE a.code = :of AND a.void = 0 AND (h.void = 1 OR h.released_on IS NOT NULL) ORDER BY 5, 2",
        {"of": of},
    )
    standing = {(hold.why, hold.since) for hold in own_holds(book, of)}
    found = (
        OwnHold(
            table=row[0], id=row[1], of=row[2], why=row[3], since=values.day(row[4]),
            released_on=values.day(row[5]) if row[5] else None, released_why=row[6],
        )
        for row in rows
    )  # fmt: skip
    return tuple(hold for hold in found if (hold.why, hold.since) not in standing)


def animal_uid(book: Book, animal_id: int) -> str:
    """What tells an animal from any other in any book, by its row number here; "" when there is none."""
    row = book.connection.execute("SELECT uid FROM animal WHERE id = ?", (animal_id,)).fetchone()
    return str(row[0]) if row else ""


def batches(book: Book) -> tuple[Batch, ...]:
    """Every batch, in the order made."""
    rows = book.connection.execute("SELECT * FROM batch WHERE void = 0 ORDER BY id")
    return tuple(
        Batch(
            id=row["id"],
            act_id=row["act_id"],
            code=row["code"],
            recipe=row["recipe"],
            fat_percent=row["fat_percent"],
            made_on=values.day(row["made_on"]),
        )
        for row in rows
    )


def batch_codes(book: Book) -> tuple[str, ...]:
    """Every batch code ever given, those taken back too: one that stood on a label is not given again."""
    return tuple(row[0] for row in book.connection.execute("SELECT code FROM batch ORDER BY id"))


def batch_steps(book: Book, batch: str | None = None) -> tuple[BatchStep, ...]:
    """Steps of a batch, or of all, by the day they are due."""
    rows = book.connection.execute("SELECT * FROM batch_step WHERE void = 0 ORDER BY due_on, id")
    return tuple(
        BatchStep(
            id=row["id"],
            batch=row["batch"],
            what=row["what"],
            due_on=values.day(row["due_on"]),
            done_on=values.day_or_none(row["done_on"]),
        )
        for row in rows
        if batch is None or row["batch"] == batch
    )


def costs(book: Book, subject_kind: str, subject: str) -> tuple[Cost, ...]:
    """What was spent on an animal or a batch, in the order entered."""
    rows = book.connection.execute(
        "SELECT id, subject_kind, subject, what, cents FROM cost "
        "WHERE subject_kind = ? AND subject = ? AND void = 0 ORDER BY id",
        (subject_kind, subject),
    )
    return tuple(Cost(id=row[0], subject_kind=row[1], subject=row[2], what=row[3], cents=row[4]) for row in rows)


def persons(book: Book) -> tuple[str, ...]:
    """Names of the people the book knows, in the order entered."""
    return tuple(row[0] for row in book.connection.execute("SELECT name FROM person WHERE void = 0 ORDER BY id"))


def packages_held(book: Book, records: Collection[tuple[str, str]]) -> list[str]:
    """Codes of the packages that these holds, by table and row number, were put on; each once."""
    ids = [int(row_id) for table, row_id in records if table == "own_hold"]
    marks = ", ".join("?" * len(ids))
    rows = book.connection.execute(f"SELECT DISTINCT code FROM own_hold WHERE id IN ({marks}) ORDER BY code", ids)
    return [row[0] for row in rows]


def animals_of(book: Book, records: Collection[tuple[str, str]]) -> set[int]:
    """Row numbers of the animals that these tests and holds, by table and row number, are about."""
    found: set[int] = set()
    for table, row_id in records:
        if table in ("animal_test", "animal_hold"):
            rows = book.connection.execute(f"SELECT animal_id FROM {table} WHERE id = ?", (int(row_id),))
            found.update(row[0] for row in rows)
    return found
