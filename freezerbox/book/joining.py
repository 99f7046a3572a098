"""Two books into one: the union of their acts, in one order whichever comes first.

Acts are known by their uid; every row belongs to an act.  The order of the union keeps each book's own order and
otherwise goes by when an act was recorded, then by uid, so that either book joined into the other gives the same.
What two people decided differently is not decided here: it is found, and the caller says which side holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from freezerbox.book.both import Parted, all_true, filled, movement
from freezerbox.book.schema import CHANGEABLE, OVERRULED
from freezerbox.book.transfer import Row, Value
from freezerbox.book.values import number
from freezerbox.core.records import Movement, Reason, State

Rows = Mapping[str, Sequence[Row]]
"""The rows of a book by table."""
Key = tuple[str, ...]
"""A row wherever it is: its table and uid, or its table, the uid of its act and its turn within that act."""

NAMED = {"freezer": "name", "person": "name", "animal": "code", "batch": "code", "place": "name"}
"""Tables whose records go by a name that is unique in a book (of a place: in its freezer, so freezers come first)."""
FOLLOWING = {"net_mg": "typed"}
"""Facts that another one carries with it: they are not asked about apart."""
DAYS = ("packed_on", "first_frozen_on")
"""Facts of a spare label filled in both books that go with who filled it: they are not asked about apart."""
OWN_SETTINGS = ("letter", "backup-to", "backup-last")
"""Settings that belong to one book and do not travel."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Something both books say differently.

    kind: ``name`` (two records of one name), ``code`` (drawn in both, for different packages), ``twice`` (the label
    of a stranger entered in both), ``package`` (it moved in both), ``origin`` (what it came of was corrected in both)
    or ``fact`` (corrected in both).
    name: what it is about, as people type it.  subject: the same for the program: a code; table and uid; table, uid
    and field.  other: the uid of the other book's record, for a name.  ours, theirs: what each book says.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Union:
    """What both books hold together.

    acts: uids in the joined order.  new: those that only the other book has.  clashes: what is to be decided.
    beside: codes of lots that both took from, where all of it can be true.
    """

    acts: tuple[str, ...]
    new: frozenset[str]
    clashes: tuple[Clash, ...]
    beside: tuple[str, ...] = ()


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


def union(ours: Side, theirs: Side, same: frozenset[str] = frozenset()) -> Union:
    """The acts of both in their joined order, and what clashes.

    ``same``: freezers said to be one, ``freezer cabin``; then the places in them may clash.
    """
    known = {str(act["uid"]) for act in ours.rows["act"]}
    there = {str(act["uid"]) for act in theirs.rows["act"]}
    clashes = tuple(_clashes(ours, theirs, known - there, there - known, same))
    asked = {clash.name for clash in clashes}
    moved = _moved(ours, known - there).keys() & _moved(theirs, there - known).keys()
    return Union(
        acts=tuple(_joined(ours.order(), theirs.order())),
        new=frozenset(there - known),
        clashes=clashes,
        beside=tuple(sorted(moved - asked)),
    )


def ranked(clash: Clash) -> Key:
    """Where it stands among the clashes, whichever book is joined into which."""
    return (clash.kind, *(clash.subject if clash.kind == "fact" else (clash.name.lower(),)))


def _joined(ours: Sequence[Row], theirs: Sequence[Row]) -> list[str]:
    """Both orders kept; between two that are free, the one recorded first, then the smaller uid."""
    sides = [[(str(act["recorded_at"]), str(act["uid"])) for act in side] for side in (ours, theirs)]
    members = [{uid for _, uid in side} for side in sides]
    joined: dict[str, None] = {}
    at = [0, 0]
    while True:
        heads = []
        for turn, side in enumerate(sides):
            while at[turn] < len(side) and side[at[turn]][1] in joined:
                at[turn] += 1
            if at[turn] < len(side):
                heads.append((turn, side[at[turn]]))
        if not heads:
            return list(joined)
        # An act that both books hold waits until it is next in both.
        free = [head for turn, head in heads if head[1] not in members[1 - turn] or (1 - turn, head) in heads] or [
            head for _, head in heads
        ]
        joined[min(free)[1]] = None


def _clashes(ours: Side, theirs: Side, mine: set[str], new: set[str], same: frozenset[str]) -> Iterable[Clash]:
    yield from _name_clashes(ours, theirs, same)
    yield from _code_clashes(ours, theirs, mine, new)
    twice = list(_entered_twice(ours, theirs, mine, new))
    yield from twice
    done = {clash.name for clash in twice}
    packages = [clash for clash in _package_clashes(ours, theirs, mine, new) if clash.name not in done]
    yield from packages
    yield from _origin_clashes(ours, theirs, mine, new)
    days = {("package", clash.name, day) for clash in packages if clash.filled for day in DAYS}
    yield from (clash for clash in _fact_clashes(ours, theirs, mine, new) if clash.subject not in days)


def _name_clashes(ours: Side, theirs: Side, same: frozenset[str]) -> Iterable[Clash]:
    for table, column in NAMED.items():
        known = {str(row["uid"]) for row in ours.rows.get(table, ())}
        there = {str(row["uid"]) for row in theirs.rows.get(table, ())}
        # A record of an act that both books hold, but not in both books, was said to be another one before.
        acts = [{str(act["uid"]) for act in side.rows["act"]} for side in (theirs, ours)]
        here = {
            name_key(ours, table, row, same): row
            for row in ours.named(table)
            if str(row["uid"]) not in there and ours.act_of(row) not in acts[0]
        }
        for row in theirs.named(table):
            other = here.get(name_key(theirs, table, row, same))
            if other is not None and str(row["uid"]) not in known and theirs.act_of(row) not in acts[1]:
                yield Clash(
                    kind="name",
                    name=f"{table} {row[column]}",
                    subject=(table, str(other["uid"])),
                    other=str(row["uid"]),
                    ours=_described(other),
                    theirs=_described(row),
                )


def name_key(side: Side, table: str, row: Row, same: frozenset[str]) -> tuple[str, str]:
    """A name in small letters, and for a place the freezer it is in: by name where two are said to be one."""
    freezer = ""
    if table == "place":
        key = side.key_of["freezer", number(row["freezer_id"])]
        name = f"freezer {side.row_of[key]['name']}".lower()
        freezer = name if name in same else key[1]
    return freezer, str(row[NAMED[table]]).lower()


def _code_clashes(ours: Side, theirs: Side, mine: set[str], new: set[str]) -> Iterable[Clash]:
    """Codes that both drew themselves and still use; a stranger's label taken in by both is one and the same."""
    letters = {str(row["value"]) for side in (ours, theirs) for row in side.rows["meta"] if row["key"] == "letter"}
    free = _void(ours) | _void(theirs)
    here = {str(row["code"]) for row in ours.rows["code"] if ours.act_of(row) in mine} - free
    for row in theirs.rows["code"]:
        code = str(row["code"])
        if theirs.act_of(row) in new and code in here and (code[0] in letters or code[0].isdigit()):
            yield Clash(
                kind="code", name=code, subject=(code,), ours="issued in this book", theirs="issued in the other"
            )


def _void(side: Side) -> set[str]:
    """Codes of packages whose packing was taken back."""
    return {str(row["code"]) for row in side.rows["package_state"] if row["reason"] == Reason.VOID}


def _entered_twice(ours: Side, theirs: Side, mine: set[str], new: set[str]) -> Iterable[Clash]:
    """Labels of another household, or of a lost book, that each book wrote a package for.

    Of two books that drew one code, the one that took its packing back leaves the code to the other.
    """
    void = _void(ours), _void(theirs)
    here = {str(row["code"]): row for row in ours.rows["package"] if ours.act_of(row) in mine}
    for row in theirs.rows["package"]:
        own = here.get(str(row["code"]))
        if own is not None and theirs.act_of(row) in new:
            gone = [own["code"] in codes for codes in void]
            # Of two that are both void either does, so long as it is the same one seen from either book.
            first = "ours" if str(own["uid"]) < str(row["uid"]) else "theirs"
            yield Clash(
                kind="twice",
                holds="" if not any(gone) else first if all(gone) else "theirs" if gone[0] else "ours",
                name=str(row["code"]),
                subject=("package", str(own["uid"])),
                other=str(row["uid"]),
                ours=_packed(own),
                theirs=_packed(row),
            )


def _packed(row: Row) -> str:
    return f"{row['cut']} of {row['packed_on']}"


def _package_clashes(ours: Side, theirs: Side, mine: set[str], new: set[str]) -> Iterable[Clash]:
    here, there = _moved(ours, mine), _moved(theirs, new)
    codes = [code for code in there if code in here]
    parted, others = _parted(ours, mine, codes), _parted(theirs, new, codes)
    for code in codes:
        if not all_true(parted[code], others[code]):
            both = filled(parted[code]) and filled(others[code])
            told = [_step(ours, here[code], parted[code], both), _step(theirs, there[code], others[code], both)]
            yield Clash(kind="package", name=code, subject=(code,), ours=told[0], theirs=told[1], filled=both)


def _parted(side: Side, acts: set[str], codes: Iterable[str]) -> dict[str, Parted]:
    """What moved each of ``codes``, parted into acts that both hold and ``acts``."""
    found: dict[str, tuple[list[Movement], list[Movement]]] = {code: ([], []) for code in codes}
    for row in side.rows["movement"]:
        if row["code"] in found:
            found[str(row["code"])][side.act_of(row) in acts].append(movement(row))
    return dict(found)


def _moved(side: Side, acts: set[str]) -> dict[str, Row]:
    """The latest movement in ``acts`` of each package that moved there."""
    rows = [row for row in side.rows["movement"] if side.act_of(row) in acts]
    return {
        str(row["code"]): row for row in sorted(rows, key=lambda row: (str(row["happened_on"]), number(row["id"])))
    }


def _origin_clashes(ours: Side, theirs: Side, mine: set[str], new: set[str]) -> Iterable[Clash]:
    here, there = _origins(ours, mine), _origins(theirs, new)
    for code, names in there.items():
        if code in here and here[code] != names:
            told = [" and ".join(sorted(side[code])) or "nothing" for side in (here, there)]
            yield Clash(kind="origin", name=f"package {code} origin", subject=(code,), ours=told[0], theirs=told[1])


def _origins(side: Side, acts: set[str]) -> dict[str, set[str]]:
    """What packages are made of, where ``acts`` added to it afterwards."""
    packed = {str(row["code"]): side.act_of(row) for row in side.rows["package"]}
    added = {
        str(row["child"])
        for row in side.rows["lineage"]
        if side.act_of(row) in acts and packed.get(str(row["child"])) not in acts
    }
    found: dict[str, set[str]] = {code: set() for code in added}
    for row in side.named("lineage"):
        if str(row["child"]) in added:
            found[str(row["child"])].add(f"{row['kind']} {row['name']}")
    return found


def _fact_clashes(ours: Side, theirs: Side, mine: set[str], new: set[str]) -> Iterable[Clash]:
    here = _corrected(ours, mine)
    for key, value in _corrected(theirs, new).items():
        if key in here and here[key] != value and key[-1] not in FOLLOWING.values():
            yield Clash(
                kind="fact",
                name=_fact_name(ours, key),
                subject=key,
                ours=_said(here[key]),
                theirs=_said(value),
            )


def _corrected(side: Side, acts: set[str]) -> dict[Key, Value]:
    """The latest word of ``acts`` on each fact they corrected."""
    found: dict[Key, Value] = {}
    for row in sorted(side.rows["change"], key=lambda row: number(row["id"])):
        kind, subject = str(row["subject_kind"]), str(row["subject"])
        if kind == OVERRULED:
            # It follows from who is right about the package, which is asked by itself.
            continue
        if side.act_of(row) in acts and not (kind == "setting" and subject in OWN_SETTINGS):
            found[*side.subject(kind, subject), str(row["field"])] = row["new"]
    return found


def _fact_name(side: Side, key: Key) -> str:
    """``package K7P3MT net_mg``, ``animal 26B tag``; records without a name by their uid."""
    row = side.row_of.get(key[:-1])
    name = str(row[NAMED[key[0]]]) if row and key[0] in NAMED else "/".join(key[1:-1])
    return " ".join((key[0], name, key[-1]))


def _described(row: Row) -> str:
    told = ("code", "name", "species", "sex_age", "what", "killed_on", "recipe", "made_on")
    return ", ".join(str(row[column]) for column in told if row.get(column))


def _step(side: Side, row: Row, parted: Parted, packed: bool) -> str:
    """What a book says last of a package: how many left it there, or where it was put, and the day.

    ``packed``: say the day of packing too.
    """
    shared, own = parted
    gone = -sum(one.delta for one in own)
    how = str(row["reason"] or "")
    if row["state"] == State.GONE or how:
        lot = sum(one.delta for one in shared) > 1 and gone > 0
        told = f"{gone} {how}" if lot else how or str(row["state"])
    elif row["state"] == State.FROZEN:
        told = f"put in {_where(side, row)}"
    else:
        told = str(row["state"])
    days = [str(one["packed_on"]) for one in side.rows["package"] if packed and one["code"] == row["code"]]
    return "".join(f"packed on {day}, " for day in days) + f"{told} on {row['happened_on']}"


def _where(side: Side, row: Row) -> str:
    """The names of a freezer and of a place in it."""
    asked = [(table, row[f"{table}_id"]) for table in ("freezer", "place") if row[f"{table}_id"] is not None]
    return ", ".join(str(one["name"]) for table, at in asked for one in side.rows[table] if one["id"] == at)


def _said(value: Value) -> str:
    return "" if value is None else str(value)
