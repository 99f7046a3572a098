"""The journal as records: acts, movements, changes."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import replace

from freezerbox.book import arrivals, values
from freezerbox.book.door import Book
from freezerbox.book.schema import OVERRULED
from freezerbox.core.code import show_code
from freezerbox.core.fold import in_order, silent_acts, standing
from freezerbox.core.records import Act, Change, Movement

_ACTS = """SELECT a.*, u.id AS undone_by FROM act a LEFT JOIN act u ON u.undoes_act = a.id"""


def act(book: Book, act_id: int) -> Act | None:
    """The act of that number, or ``None``."""
    found = _plain(book, act_id)
    return _retold(book, found) if found else None


def acts(book: Book, *, limit: int | None = None) -> tuple[Act, ...]:
    """Acts, the latest recorded first."""
    rows = book.connection.execute(f"{_ACTS} ORDER BY a.id DESC LIMIT ?", (-1 if limit is None else limit,))
    return tuple(_retold(book, _act(row)) for row in rows)


def latest(book: Book) -> int:
    """Number of the act recorded last; 0 when there is none."""
    row = book.connection.execute("SELECT max(id) FROM act").fetchone()
    return int(row[0] or 0)


def acts_of(book: Book, station: str) -> Iterator[Act]:
    """Acts of one terminal, phone or scanner, the latest recorded first, each asked for as it is needed."""
    rows = book.connection.execute(f"{_ACTS} WHERE a.station = ? ORDER BY a.id DESC", (station,))
    return (_retold(book, _act(row)) for row in rows)


def acts_of_requests(book: Book, beginning: str) -> tuple[Act, ...]:
    """Acts whose request begins so, the latest first."""
    rows = book.connection.execute(
        f"{_ACTS} WHERE substr(a.request_id, 1, ?) = ? ORDER BY a.id DESC", (len(beginning), beginning)
    )
    return tuple(_retold(book, _act(row)) for row in rows)


def act_of_request(book: Book, request_id: str) -> Act | None:
    """The act that a request already made, if it did."""
    row = book.connection.execute(f"{_ACTS} WHERE a.request_id = ?", (request_id,)).fetchone()
    return _retold(book, _act(row)) if row else None


def movements(
    book: Book, *, code: str | None = None, act_id: int | None = None, as_written: bool = False
) -> tuple[Movement, ...]:
    """Movements of a package, of an act or of all, by day and then as recorded.

    The past is told as it is known now: pack dates as corrected, and of labels that were swapped the past of the pack
    that bears each now.  Those of an act stay under the codes they were written for.  ``as_written``: as the journal
    has it all, and the stored states.
    """
    wheres, wanted = [], []
    if code is not None:
        wheres.append("code = ?")
        wanted.append(code)
    if act_id is not None:
        wheres.append("act_id = ?")
        wanted.append(str(act_id))
    where = f" WHERE {' AND '.join(wheres)}" if wheres else ""
    rows = book.connection.execute(f"SELECT * FROM movement{where} ORDER BY happened_on, id", wanted)
    found = tuple(arrivals.movement_of(row) for row in rows)
    retold = {} if as_written else arrivals.retold(book, code)
    if not retold:
        return found
    if act_id is not None:
        days = {(one.id, one.code): one.happened_on for steps in retold.values() for one in steps}
        return tuple(
            in_order(replace(one, happened_on=days.get((one.id, one.code), one.happened_on)) for one in found)
        )
    rest = (one for one in found if one.code not in retold)
    return tuple(in_order([*rest, *(one for steps in retold.values() for one in steps)]))


def movements_after(book: Book, act_id: int) -> tuple[tuple[int, str, int], ...]:
    """What moved since an act and stands: act, code, delta."""
    away, against = silent(book), overruled(book)
    rows = book.connection.execute("SELECT act_id, code, delta FROM movement WHERE act_id > ? ORDER BY id", (act_id,))
    return tuple((row[0], row[1], row[2]) for row in rows if row[0] not in away and (row[0], row[1]) not in against)


def undoes(book: Book) -> dict[int, int]:
    """The act that each undo takes back, by the number of the undo."""
    rows = book.connection.execute("SELECT id, undoes_act FROM act WHERE undoes_act > 0")
    return {row[0]: row[1] for row in rows}


def silent(book: Book) -> frozenset[int]:
    """Numbers of the acts that count for nothing: those taken back, unless had again, and the undoing itself."""
    return silent_acts(undoes(book))


def overruled(book: Book) -> frozenset[tuple[int, str]]:
    """Steps that count for nothing since two books were joined: number of the act, and code of the package.

    What one of them did to a package where the other is right, and the step of each join that says so.
    """
    return frozenset((act, code) for join, code, lost in _rulings(book) for act in (join, lost))


def decided_against(book: Book) -> frozenset[tuple[int, str]]:
    """Those of ``overruled`` that did something, or decided it, which a join decided otherwise."""
    return frozenset((lost, code) for _, code, lost in _rulings(book))


def _rulings(book: Book) -> list[tuple[int, str, int]]:
    """The number of a join, the code of a package, and the number of an act that does not count for it."""
    rows = book.connection.execute(
        "SELECT c.act_id, c.subject, a.id FROM change c JOIN act a ON a.uid = c.field "
        "WHERE c.subject_kind = ? AND c.new = 1 AND 1 = (SELECT l.new FROM change l WHERE l.subject_kind = "
        "c.subject_kind AND l.subject = c.subject AND l.field = c.field ORDER BY l.id DESC LIMIT 1)",
        (OVERRULED,),
    )
    return [(row[0], row[1], row[2]) for row in rows]


def heard(book: Book, moved: Iterable[Movement]) -> list[Movement]:
    """Those of ``moved`` that stand: neither taken back nor overruled, in the order given."""
    return standing(moved, silent(book), overruled(book))


def root(book: Book, undo: Act) -> tuple[Act, bool]:
    """What an undo is about in the end, and whether it takes that back; an undo of an undo has it again."""
    found, undone = undo, False
    while found.undoes is not None:
        below = _plain(book, found.undoes)
        # An undo comes after what it undoes, unless the book is damaged.
        if below is None or below.id >= found.id:
            break
        found, undone = below, not undone
    return found, undone


def undo_words(found: Act, *, undone: bool) -> str:
    """``took back act 3: ...`` or ``had again act 3: ...``, of the act that an undo is about in the end."""
    return f"{'took back' if undone else 'had again'} act {found.id}: {found.words}"


def changes(
    book: Book, *, subject_kind: str | None = None, subject: str | None = None, act_id: int | None = None
) -> tuple[Change, ...]:
    """Changes of a subject, of an act or of all, as recorded."""
    wheres, values = [], []
    for column, value in (("subject_kind", subject_kind), ("subject", subject), ("act_id", act_id)):
        if value is not None:
            wheres.append(f"{column} = ?")
            values.append(value)
    where = f" WHERE {' AND '.join(wheres)}" if wheres else ""
    rows = book.connection.execute(f"SELECT * FROM change{where} ORDER BY id", values)
    return tuple(Change(**dict(row)) for row in rows)


_NAMED_BY = {
    "freezer": "name",
    "place": "name",
    "person": "name",
    "animal": "code",
    "animal_test": "sample",
    "animal_hold": "why",
    "batch": "code",
    "lineage": "child",
    "own_hold": "code",
    "cost": "what",
    "batch_step": "what",
    "label": "code",
}
"""Tables whose rows an undo marks void, each with the column that people know a row by."""


def subject_name(book: Book, kind: str, subject: str) -> str:
    """What people call the subject of a change; "" for a row that is not there."""
    if kind not in _NAMED_BY:
        return show_code(subject) if kind == "package" else subject
    column = _NAMED_BY[kind]
    row = book.connection.execute(f"SELECT {column} FROM {kind} WHERE CAST(id AS TEXT) = ?", (subject,)).fetchone()
    if row is None:
        return ""
    of_package = column == "child" or (column == "code" and kind in ("own_hold", "label"))
    return show_code(row[0]) if of_package else str(row[0])


def created(book: Book, act_id: int) -> tuple[tuple[str, int, str], ...]:
    """Rows an act made that an undo must mark void: table, row number, name."""
    found: list[tuple[str, int, str]] = []
    for table, name in _NAMED_BY.items():
        rows = book.connection.execute(f"SELECT id, {name}, void FROM {table} WHERE act_id = ?", (act_id,))
        found.extend((table, row[0], row[1]) for row in rows)
    return tuple(found)


def drew_codes(book: Book, act_id: int) -> bool:
    """Whether an act drew codes, for packages or for signs."""
    return book.connection.execute("SELECT 1 FROM code WHERE act_id = ?", (act_id,)).fetchone() is not None


def uses(book: Book, act_id: int) -> tuple[tuple[int, str], ...]:
    """Later acts that use a freezer, place or animal which ``act_id`` made: their numbers and what they use."""
    rows = book.connection.execute(
        """SELECT m.act_id, p.name FROM movement m JOIN place p ON p.id = m.place_id WHERE p.act_id = :act
        UNION SELECT m.act_id, f.name FROM movement m JOIN freezer f ON f.id = m.freezer_id WHERE f.act_id = :act
        UNION SELECT p.act_id, f.name FROM place p JOIN freezer f ON f.id = p.freezer_id WHERE f.act_id = :act
        UNION SELECT l.act_id, a.code FROM lineage l JOIN animal a ON l.kind = 'animal' AND l.name = a.code
          AND a.void = 0 WHERE a.act_id = :act""",
        {"act": act_id},
    )
    return tuple((row[0], row[1]) for row in rows if row[0] > act_id)


def _plain(book: Book, act_id: int) -> Act | None:
    """The act of that number with its words as they are stored."""
    row = book.connection.execute(f"{_ACTS} WHERE a.id = ?", (act_id,)).fetchone()
    return _act(row) if row else None


def _retold(book: Book, found: Act) -> Act:
    """An undo with its words told anew: of a book that was joined, those stored name the numbers of that one."""
    if found.undoes is None:
        return found
    about, undone = root(book, found)
    return replace(found, words=undo_words(about, undone=undone)) if about.id != found.id else found


def _act(row: sqlite3.Row) -> Act:
    return Act(
        id=row["id"],
        kind=row["kind"],
        happened_on=values.day(row["happened_on"]),
        recorded_at=row["recorded_at"],
        by=row["by"],
        station=row["station"],
        undoes=row["undoes_act"],
        undone_by=row["undone_by"],
        words=row["words"],
    )


def acts_in_freezer(book: Book, freezer_id: int) -> set[int]:
    """Numbers of the acts that brought something into a freezer, moved it about in it or took it out."""
    rows = book.connection.execute(
        """SELECT m.act_id FROM movement m WHERE m.freezer_id = :freezer
        UNION SELECT n.act_id FROM movement n JOIN movement o ON o.code = n.code AND o.freezer_id = :freezer
          AND o.id = (SELECT max(b.id) FROM movement b WHERE b.code = n.code AND b.id < n.id)
        UNION SELECT f.act_id FROM freezer f WHERE f.id = :freezer
        UNION SELECT p.act_id FROM place p WHERE p.freezer_id = :freezer
        UNION SELECT c.act_id FROM change c WHERE c.subject_kind = 'freezer' AND c.subject = CAST(:freezer AS TEXT)
        UNION SELECT c.act_id FROM change c JOIN place p ON c.subject_kind = 'place'
          AND c.subject = CAST(p.id AS TEXT) WHERE p.freezer_id = :freezer""",
        {"freezer": freezer_id},
    )
    return {row[0] for row in rows}


def acts_in_place(book: Book, place_id: int) -> set[int]:
    """Numbers of the acts that brought something into a place, moved it there or took it out."""
    rows = book.connection.execute(
        """SELECT m.act_id FROM movement m WHERE m.place_id = :place
        UNION SELECT n.act_id FROM movement n JOIN movement o ON o.code = n.code AND o.place_id = :place
          AND o.id = (SELECT max(b.id) FROM movement b WHERE b.code = n.code AND b.id < n.id)
        UNION SELECT p.act_id FROM place p WHERE p.id = :place
        UNION SELECT c.act_id FROM change c WHERE c.subject_kind = 'place' AND c.subject = CAST(:place AS TEXT)""",
        {"place": place_id},
    )
    return {row[0] for row in rows}
