"""Two books that are joined, as rows to be compared, and what they say differently."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from freezerbox.book.schema import CHANGEABLE
from freezerbox.book.transfer import Row
from freezerbox.book.values import number
from freezerbox.core.names import alike

Rows = Mapping[str, Sequence[Row]]
"""The rows of a book by table."""
Key = tuple[str, ...]
"""A row wherever it is: its table and uid, or its table, the uid of its act and its turn within that act."""

NAMED = {"freezer": "name", "person": "name", "animal": "code", "batch": "code", "place": "name"}
"""Tables whose records go by a name that is unique in a book (of a place: in its freezer, so freezers come first)."""


def first_said(*sides: Sequence[Row]) -> dict[str, tuple[str, str]]:
    """When each act was recorded and of which day it is; of two that decided alike at a join, the first of them."""
    found: dict[str, tuple[str, str]] = {}
    for act in (act for side in sides for act in side):
        said = str(act["recorded_at"]), str(act["happened_on"])
        found[str(act["uid"])] = min(said, found.get(str(act["uid"]), said))
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Something both books say differently.

    kind: ``name`` (two records of one name), ``answer`` (what two of one name are, answered in both), ``code`` (drawn
    in both, for different packages), ``twice`` (the label of a stranger entered in both), ``package`` (it moved in
    both), ``origin`` (what it came of was corrected in both) or ``fact`` (corrected in both).
    name: what it is about, as people type it.  subject: the same for the program: a code; table and uid; table, uid
    and field.  other: the uid of the other book's record, for a name; both answers as they are kept, for an answer.
    ours, theirs: what each book says.
    holds: ``ours`` or ``theirs`` where nobody need be asked, since the other book took its packing back; else "".
    filled: whether it is about a spare label that both books filled; then its days go with it.
    """

    kind: str
    name: str
    subject: Key
    ours: str
    theirs: str
    other: str = ""
    holds: str = ""
    filled: bool = False

    @property
    def key(self) -> str:
        """Its name, however it is typed."""
        return alike(self.name)


@dataclass
class Side:
    """One book, with its rows findable by act and by uid."""

    rows: Rows
    uid_of: dict[int, str] = field(default_factory=dict)
    keys: dict[str, list[tuple[Key, Row]]] = field(default_factory=dict)
    key_of: dict[tuple[str, int], Key] = field(default_factory=dict)
    row_of: dict[Key, Row] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.uid_of = {number(act["id"]): str(act["uid"]) for act in self.rows["act"]}
        for table, rows in self.rows.items():
            if not rows or "act_id" not in rows[0]:
                continue
            turns: dict[str, int] = {}
            self.keys[table] = []
            for row in rows:
                act = self.act_of(row)
                turns[act] = turns.get(act, -1) + 1
                own = row.get("uid") or (row["code"] if table == "code" else None)
                key = (table, str(own)) if own else (table, act, str(turns[act]))
                self.keys[table].append((key, row))
                self.row_of[key] = row
                if "id" in row:
                    self.key_of[table, number(row["id"])] = key

    def order(self) -> list[Row]:
        """Acts as this book recorded them."""
        return sorted(self.rows["act"], key=lambda act: number(act["id"]))

    def act_of(self, row: Row) -> str:
        """The uid of the act a row belongs to."""
        return self.uid_of[number(row["act_id"])]

    def about(self, acts: Collection[str]) -> list[tuple[Row, list[Row]]]:
        """Each act with those of ``acts`` that are it, or take it back, or had it again, in their order."""
        by_number = {number(act["id"]): act for act in self.order()}
        found: dict[int, list[Row]] = {}
        for act in by_number.values():
            root = act
            while root["undoes_act"] is not None:
                root = by_number[number(root["undoes_act"])]
            if act["uid"] in acts:
                found.setdefault(number(root["id"]), []).append(act)
        return [(by_number[root], own) for root, own in found.items()]

    def quiet(self, acts: Collection[str]) -> set[str]:
        """Those of ``acts`` that come to nothing: what they took back themselves, and the undo of it."""
        return {str(act["uid"]) for _, own in self.about(acts) if len(own) % 2 == 0 for act in own}

    def named(self, table: str) -> Iterator[Row]:
        """Records of a table that are not void."""
        return (row for row in self.rows.get(table, ()) if not row["void"])

    def subject(self, kind: str, row_id: str) -> Key:
        """What a change is about: the key of a record, or its table and its own name."""
        by_number = kind in CHANGEABLE and CHANGEABLE[kind][0] == "id"
        return self.key_of.get((kind, int(row_id)), (kind, row_id)) if by_number else (kind, row_id)


def by_table(found: Iterable[tuple[str, Row]]) -> dict[str, list[Row]]:
    """Rows grouped by table."""
    grouped: dict[str, list[Row]] = {}
    for table, row in found:
        grouped.setdefault(table, []).append(row)
    return grouped


def name_key(side: Side, table: str, row: Row, same: frozenset[str]) -> tuple[str, str]:
    """A name however it is typed, and for a place the freezer it is in: by name where two are said to be one."""
    freezer = ""
    if table == "place":
        key = side.key_of["freezer", number(row["freezer_id"])]
        name = alike(f"freezer {side.row_of[key]['name']}")
        freezer = name if name in same else key[1]
    return freezer, alike(str(row[NAMED[table]]))


def described(row: Row, *, but: str = "") -> str:
    """What a record is, in the words it was entered with; ``but``: a column that is left out."""
    told = ("code", "name", "species", "sex_age", "what", "killed_on", "recipe", "made_on")
    return ", ".join(str(row[column]) for column in told if column != but and row.get(column))
