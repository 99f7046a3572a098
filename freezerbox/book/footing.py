"""What the book says in reference to a record that counts no longer: meat of an animal, packages in a place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from freezerbox.book import journal
from freezerbox.book.door import Book


@dataclass(frozen=True, slots=True, kw_only=True)
class Loose:
    """Something that stands, and a record under it that does not.

    what: ``meat`` (a package made of an animal), ``packages`` (a package in a place or freezer), ``spare`` (a label
    printed ahead, for there), ``place`` (in a freezer, or in another place), ``animal_test``, ``animal_hold`` or
    ``cost`` (of an animal).  of: code or name of what stands.  act_id: the act that says so; 0 where that is a
    movement.
    table, name: the record that is missing.  row_id: its row number; None where there never was one.
    why: ``void`` (taken back), ``retired``, or ``freezer_id`` (a place that is in another freezer by now).
    """

    what: str
    of: str
    act_id: int
    table: str
    name: str
    row_id: int | None
    why: str

    @property
    def key(self) -> tuple[str, str, str, str, int | None, str]:
        """The same whichever act says so."""
        return self.what, self.of, self.table, self.name, self.row_id, self.why


_VOID_OR_RETIRED = "CASE WHEN t.void = 1 THEN 'void' ELSE 'retired' END"
_LATEST_VOID = "(SELECT max(a.id) FROM animal a WHERE a.code = {name})"
_QUERIES = (
    f"""SELECT 'meat', l.child, l.act_id, 'animal', l.name, {_LATEST_VOID.format(name="l.name")}, 'void'
    FROM lineage l JOIN package_state s ON s.code = l.child
    WHERE l.void = 0 AND l.kind = 'animal' AND s.reason IS NOT 'void'
      AND l.name NOT IN (SELECT code FROM animal WHERE void = 0) ORDER BY l.id""",
    *(
        f"""SELECT '{kind}', a.code, h.act_id, 'animal', a.code, a.id, 'void'
        FROM {kind} h JOIN animal a ON a.id = h.animal_id WHERE h.void = 0 AND a.void = 1 ORDER BY h.id"""
        for kind in ("animal_test", "animal_hold")
    ),
    f"""SELECT 'cost', c.subject, c.act_id, 'animal', c.subject, {_LATEST_VOID.format(name="c.subject")}, 'void'
    FROM cost c WHERE c.void = 0 AND c.subject_kind = 'animal'
      AND c.subject NOT IN (SELECT code FROM animal WHERE void = 0) ORDER BY c.id""",
    *(
        f"""SELECT CASE s.state WHEN 'spare' THEN 'spare' ELSE 'packages' END, s.code, 0, '{table}', t.name, t.id,
          {_VOID_OR_RETIRED}
        FROM package_state s JOIN {table} t ON t.id = s.{table}_id
        WHERE (s.state = 'frozen' AND (t.void = 1 OR t.retired = 1)) OR (s.state = 'spare' AND t.void = 1)
        ORDER BY s.code"""
        for table in ("freezer", "place")
    ),
    """SELECT 'packages', s.code, 0, 'place', p.name, p.id, 'freezer_id'
    FROM package_state s JOIN place p ON p.id = s.place_id
    WHERE s.state = 'frozen' AND p.void = 0 AND p.retired = 0 AND p.freezer_id IS NOT s.freezer_id ORDER BY s.code""",
    *(
        f"""SELECT 'place', p.name, p.act_id, '{table}', t.name, t.id, {_VOID_OR_RETIRED}
        FROM place p JOIN {table} t ON t.id = p.{column}
        WHERE p.void = 0 AND p.retired = 0 AND (t.void = 1 OR t.retired = 1) ORDER BY p.id"""
        for table, column in (("freezer", "freezer_id"), ("place", "parent_id"))
    ),
)


def loose(book: Book) -> tuple[Loose, ...]:
    """Everything that stands on a record which is void, retired or elsewhere; empty in a book where all is well."""
    return tuple(_loose(book))


def _loose(book: Book) -> Iterator[Loose]:
    for query in _QUERIES:
        for what, of, act_id, table, name, row_id, why in book.connection.execute(query):
            yield Loose(what=what, of=of, act_id=act_id, table=table, name=name, row_id=row_id, why=why)


def taken_by(book: Book, one: Loose) -> int | None:
    """Number of the act by which the record is as it is; ``None`` where no act said so."""
    row = book.connection.execute(
        "SELECT act_id FROM change WHERE subject_kind = ? AND subject = ? AND field = ? ORDER BY id DESC LIMIT 1",
        (one.table, str(one.row_id), one.why),
    ).fetchone()
    return int(row[0]) if row else None


def said_by(book: Book, one: Loose, after: int) -> int:
    """Number of the act that says of ``one`` what it says, if need be an undo, which came after act ``after``."""
    if one.act_id > after or one.what not in ("packages", "spare"):
        return one.act_id
    moved = journal.movements(book, code=one.of, as_written=True)
    later = [step.act_id for step in journal.heard(book, moved) if step.act_id > after]
    return max(later) if later else max(step.act_id for step in moved)
