"""Which animals the book said a package came from, and the acts that made it say something else."""

from __future__ import annotations

from dataclasses import dataclass

from freezerbox.book import journal
from freezerbox.book.arrivals import PARTING
from freezerbox.book.door import Book
from freezerbox.core.records import Change


@dataclass(frozen=True, slots=True, kw_only=True)
class Reassigned:
    """An act after which a package came from other animals.  before, after: their codes; () for none known."""

    act_id: int
    before: tuple[str, ...]
    after: tuple[str, ...]


@dataclass(slots=True)
class _Origin:
    act_id: int
    child: str
    name: str
    void: bool = False


def reassignments(book: Book, code: str) -> tuple[Reassigned, ...]:
    """The acts that gave a package other animals than it had, in the order recorded; its packing is none of them."""
    changes = journal.changes(book, subject_kind="lineage")
    touching = {change.subject for change in changes if change.field == "child" and code in (change.old, change.new)}
    rows = book.connection.execute(
        "SELECT id, act_id, child, name FROM lineage WHERE kind = 'animal' ORDER BY id"
    ).fetchall()
    origins = {
        str(row[0]): _Origin(act_id=row[1], child=row[2], name=row[3])
        for row in rows
        if row[2] == code or str(row[0]) in touching
    }
    changes = tuple(change for change in changes if change.subject in origins)
    for change in reversed(changes):
        if change.field == "child":
            origins[change.subject].child = str(change.old)
    made = book.connection.execute("SELECT act_id FROM package WHERE code = ?", (code,)).fetchone()
    found = []
    before: tuple[str, ...] = ()
    acts = sorted({origin.act_id for origin in origins.values()} | {change.act_id for change in changes})
    for act_id in acts:
        _follow(origins, [change for change in changes if change.act_id == act_id])
        after = tuple(
            origin.name
            for origin in origins.values()
            if origin.act_id <= act_id and origin.child == code and not origin.void
        )
        if after != before and act_id != made[0]:
            found.append(Reassigned(act_id=act_id, before=before, after=after))
        before = after
    return tuple(found)


def acts_of_animal(book: Book, animal: str) -> set[int]:
    """Numbers of the acts by which a package came to be, or ceased to be, of this animal."""
    rows = book.connection.execute(
        """SELECT act_id FROM lineage WHERE kind = 'animal' AND name = :animal
        UNION SELECT c.act_id FROM change c JOIN lineage l
          ON c.subject_kind = 'lineage' AND c.subject = CAST(l.id AS TEXT)
        WHERE l.kind = 'animal' AND l.name = :animal AND c.field IN ('void', 'child')""",
        {"animal": animal},
    )
    return {row[0] for row in rows}


def children(book: Book, act_id: int) -> tuple[str, ...]:
    """Codes of the packages whose origins an act wrote or corrected."""
    rows = book.connection.execute(
        """SELECT child FROM lineage WHERE act_id = :act
        UNION SELECT l.child FROM change c JOIN lineage l
          ON c.subject_kind = 'lineage' AND c.subject = CAST(l.id AS TEXT) WHERE c.act_id = :act""",
        {"act": act_id},
    )
    return tuple(row[0] for row in rows)


def parts_of(book: Book, code: str) -> tuple[str, ...]:
    """Codes of what was split off a lot or a pack, and off those parts in turn, in the order parted."""
    marks = ", ".join("?" * len(PARTING))
    rows = book.connection.execute(
        f"""WITH RECURSIVE parting (id) AS (SELECT id FROM act WHERE kind IN ({marks})), part (code) AS (
        SELECT ? UNION SELECT l.child FROM lineage l JOIN part ON l.name = part.code
        WHERE l.kind = 'package' AND l.void = 0 AND l.act_id IN (SELECT id FROM parting)) SELECT code FROM part""",
        (*PARTING, code),
    )
    return tuple(row[0] for row in rows if row[0] != code)


def partings(book: Book, code: str) -> tuple[int, ...]:
    """Numbers of the acts by which something was split off a package, those taken back too."""
    marks = ", ".join("?" * len(PARTING))
    rows = book.connection.execute(
        f"""SELECT DISTINCT l.act_id FROM lineage l JOIN act a ON a.id = l.act_id
        WHERE l.kind = 'package' AND l.name = ? AND a.kind IN ({marks}) ORDER BY l.act_id""",
        (code, *PARTING),
    )
    return tuple(row[0] for row in rows)


def _follow(origins: dict[str, _Origin], changes: list[Change]) -> None:
    for change in changes:
        origin = origins[change.subject]
        if change.field == "child":
            origin.child = str(change.new)
        elif change.field == "void":
            origin.void = bool(change.new)
