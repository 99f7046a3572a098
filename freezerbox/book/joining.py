"""Two books into one: the union of their acts, in one order whichever comes first.

Acts are known by their uid; every row belongs to an act.  The order of the union keeps each book's own order and
otherwise goes by when an act was recorded, then by uid, so that either book joined into the other gives the same.
What two people decided differently is not decided here: it is found, and the caller says which side holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from freezerbox.book.schema import CHANGEABLE
from freezerbox.book.transfer import Row, Value

Rows = Mapping[str, Sequence[Row]]
"""The rows of a book by table."""

NAMED = {"freezer": "name", "place": "name", "animal": "code", "person": "name", "batch": "code"}
"""Tables whose records go by a name that is unique in a book."""
FOLLOWING = {"net_mg": "typed"}
"""Facts that another one carries with it: they are not asked about apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Something both books say differently.

    kind: ``name`` (two records of one name), ``code`` (two packages of one code), ``package`` (it moved in both) or
    ``fact`` (corrected in both).  name: what it is about.  ours, theirs: what each book says, in plain words.
    """

    kind: str
    name: str
    ours: str
    theirs: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Union:
    """What both books hold together.

    acts: uids in the joined order.  new: those that only the other book has.  clashes: what is to be decided.
    """

    acts: tuple[str, ...]
    new: frozenset[str]
    clashes: tuple[Clash, ...]


@dataclass
class Side:
    """One book, with its rows findable by act."""

    rows: Rows
    uid_of: dict[int, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.uid_of = {_int(act["id"]): str(act["uid"]) for act in self.rows["act"]}

    def order(self) -> list[Row]:
        """Acts as this book recorded them."""
        return sorted(self.rows["act"], key=lambda act: _int(act["id"]))

    def act_of(self, row: Row) -> str:
        """The uid of the act a row belongs to."""
        return self.uid_of[_int(row["act_id"])]


def by_table(found: Iterable[tuple[str, Row]]) -> dict[str, list[Row]]:
    """Rows grouped by table."""
    grouped: dict[str, list[Row]] = {}
    for table, row in found:
        grouped.setdefault(table, []).append(row)
    return grouped


def union(ours: Side, theirs: Side) -> Union:
    """The acts of both in their joined order, and what clashes."""
    known = {str(act["uid"]) for act in ours.rows["act"]}
    new = frozenset(str(act["uid"]) for act in theirs.rows["act"]) - known
    return Union(
        acts=tuple(_joined(ours.order(), theirs.order())), new=new, clashes=tuple(_clashes(ours, theirs, new))
    )


def _joined(ours: Sequence[Row], theirs: Sequence[Row]) -> list[str]:
    """Both orders kept; between two that are free, the one recorded first, then the smaller uid."""
    waiting = [[(str(act["recorded_at"]), str(act["uid"])) for act in side] for side in (ours, theirs)]
    members = [set(side) for side in waiting]
    joined: dict[str, None] = {}
    while any(waiting):
        heads = [side[0] for side in waiting if side]
        # An act that both books hold waits until it is next in both.
        free = [
            head
            for head in heads
            if all(head not in own or side[0] == head for side, own in zip(waiting, members, strict=True) if side)
        ]
        chosen = min(free or heads)
        joined[chosen[1]] = None
        for number, side in enumerate(waiting):
            waiting[number] = side[1:] if side and side[0] == chosen else [one for one in side if one != chosen]
    return list(joined)


def _clashes(ours: Side, theirs: Side, new: frozenset[str]) -> Iterable[Clash]:
    mine_only = {str(act["uid"]) for act in ours.rows["act"]} - {str(act["uid"]) for act in theirs.rows["act"]}
    yield from _name_clashes(ours, theirs, mine_only, new)
    yield from _code_clashes(ours, theirs, mine_only, new)
    yield from _package_clashes(ours, theirs, mine_only, new)
    yield from _fact_clashes(ours, theirs, mine_only, new)


def _name_clashes(ours: Side, theirs: Side, mine: set[str], new: frozenset[str]) -> Iterable[Clash]:
    for table, column in NAMED.items():
        here = {
            _name_key(ours, table, row): row
            for row in ours.rows.get(table, ())
            if not row["void"] and ours.act_of(row) in mine
        }
        for row in theirs.rows.get(table, ()):
            other = here.get(_name_key(theirs, table, row))
            if other is not None and not row["void"] and theirs.act_of(row) in new:
                yield Clash(
                    kind="name",
                    name=f"{table} {row[column]}",
                    ours=_described(other),
                    theirs=_described(row),
                )


def _name_key(side: Side, table: str, row: Row) -> tuple[str, str]:
    """A name in small letters, and for a place the freezer it is in."""
    freezer = _subject_uid(side, "freezer", str(row["freezer_id"])) if table == "place" else ""
    return freezer, str(row[NAMED[table]]).lower()


def _code_clashes(ours: Side, theirs: Side, mine: set[str], new: frozenset[str]) -> Iterable[Clash]:
    here = {str(row["code"]): row for row in ours.rows["code"] if ours.act_of(row) in mine}
    for row in theirs.rows["code"]:
        if theirs.act_of(row) in new and str(row["code"]) in here:
            yield Clash(kind="code", name=str(row["code"]), ours="issued in this book", theirs="issued in the other")


def _package_clashes(ours: Side, theirs: Side, mine: set[str], new: frozenset[str]) -> Iterable[Clash]:
    here = _moved(ours, mine)
    for code, movement in _moved(theirs, new).items():
        if code in here:
            yield Clash(kind="package", name=code, ours=_step(here[code]), theirs=_step(movement))


def _moved(side: Side, acts: Iterable[str]) -> dict[str, Row]:
    """The latest movement in ``acts`` of each package that moved there."""
    chosen = set(acts)
    rows = [row for row in side.rows["movement"] if side.act_of(row) in chosen]
    return {str(row["code"]): row for row in sorted(rows, key=lambda row: (str(row["happened_on"]), _int(row["id"])))}


def _fact_clashes(ours: Side, theirs: Side, mine: set[str], new: frozenset[str]) -> Iterable[Clash]:
    here = _corrected(ours, mine)
    for key, value in _corrected(theirs, new).items():
        if key in here and here[key] != value and key[2] not in FOLLOWING.values():
            kind, subject, name = key
            yield Clash(kind="fact", name=f"{kind} {subject} {name}", ours=str(here[key]), theirs=str(value))


def _corrected(side: Side, acts: Iterable[str]) -> dict[tuple[str, str, str], Value]:
    chosen = set(acts)
    found: dict[tuple[str, str, str], Value] = {}
    for row in sorted(side.rows["change"], key=lambda row: _int(row["id"])):
        if side.act_of(row) in chosen and row["subject_kind"] != "setting":
            kind, subject = str(row["subject_kind"]), str(row["subject"])
            if CHANGEABLE.get(kind, ("",))[0] == "id":
                subject = _subject_uid(side, kind, subject)
            found[kind, subject, str(row["field"])] = row["new"]
    return found


def _subject_uid(side: Side, table: str, row_id: str) -> str:
    """A name for a row that is the same in both books: its uid, or its act and turn."""
    for row in side.rows.get(table, ()):
        if str(row["id"]) == row_id:
            return str(row.get("uid") or f"{side.act_of(row)}/{row_id}")
    return row_id


def _described(row: Row) -> str:
    told = ("code", "name", "species", "sex_age", "what", "killed_on", "recipe", "made_on")
    return ", ".join(str(row[column]) for column in told if row.get(column))


def _step(row: Row) -> str:
    how = row["reason"] or row["state"]
    return f"{how} on {row['happened_on']}"


def _int(value: Value) -> int:
    return value if isinstance(value, int) else int(str(value))
