"""What was answered when two books were joined, and what holds when two answers to one question meet.

An answer is an act, as anything else that a person did: the act of the join, which every book has that was joined
since.  What it says stands in rows of that act, even where the book would read the same without them; so whoever was
asked leaves a trace, and books that hold the same acts are the same.

- Of a package that both moved: movements, and which steps count for nothing.  Of a fact: a change that says it once
  more.  Of where a package came from: a change for each of its origins.
- Of two records with one name: a change of the kind ``answered`` that says that they are one, or which of the two is
  called what from now on.  Of two that are one only the first is kept; a book that was told they are two brings the
  other back.

When two books meet that answered one question differently, each in an act that the other does not have, neither
answer is the later one, and it is asked again; what is said then is one more act.  An answer that only one of the two
has is later than whatever the other still says, and holds.  Of an act that both hold, the rows are taken from the
book that still tells apart what the other made one, or from the one that has all acts of the other.

Joins once left no answer about names.  Where two books differ in names and none was written down, what each shows is
taken for its answer, and asked.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from freezerbox.book.schema import ANSWERED, SIGN
from freezerbox.book.sides import NAMED, Clash, Key, Side, described, name_key
from freezerbox.book.transfer import Row, Value
from freezerbox.book.values import number

BY_CODE = ("animal", "batch")
"""Records whose name is their code and never changes; others are renamed by a change like any other."""
_SAME = "same"

Rename = dict[tuple[str, str], str]
"""Table and name in small letters -> what it is called in the joined book."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What was said of two records that had one name.

    pair: their uids, the smaller first.  name: what both were called.  renamed: the one of the two that is called
    ``to`` from then on; both "" when they are one and the same.  act: by which it was said; "" by this join.
    """

    table: str
    pair: tuple[str, str]
    name: str
    renamed: str = ""
    to: str = ""
    act: str = ""

    @property
    def key(self) -> Key:
        """What was asked, in every book alike."""
        return ANSWERED, self.table, " ".join(self.pair)

    @property
    def said(self) -> str:
        """The answer as it is kept."""
        return f"{self.renamed} {self.to}" if self.renamed else _SAME

    def row(self) -> dict[str, Value]:
        """The change that says so, without its number and act."""
        return {
            "subject_kind": ANSWERED,
            "subject": self.table,
            "field": self.key[2],
            "old": self.name,
            "new": self.said,
        }


def answers(side: Side) -> dict[Key, Answer]:
    """The latest answer of a book to each question about two of one name."""
    found: dict[Key, Answer] = {}
    for row in sorted(side.rows["change"], key=lambda row: number(row["id"])):
        if row["subject_kind"] == ANSWERED:
            first, _, second = str(row["field"]).partition(" ")
            renamed, _, to = ("", "", "") if row["new"] == _SAME else str(row["new"]).partition(" ")
            one = Answer(
                table=str(row["subject"]),
                pair=(first, second),
                name=str(row["old"]),
                renamed=renamed,
                to=to,
                act=side.act_of(row),
            )
            found[one.key] = one
    return found


def asked_again(ours: Side, theirs: Side, mine: Collection[str], new: Collection[str]) -> Iterator[Clash]:
    """Questions about two of one name that each book answered in its own way since they parted."""
    here, there = _told(ours, theirs, mine, new)
    for key in sorted(here.keys() & there.keys()):
        own, other = here[key], there[key]
        if (own.act in mine or not own.act) and (other.act in new or not other.act) and own.said != other.said:
            yield Clash(
                kind="answer",
                name=f"{own.table} {min(own.name, other.name)}",
                subject=key,
                other=f"{own.said}\n{other.said}",
                ours=answer_words(own, (ours, theirs)),
                theirs=answer_words(other, (theirs, ours)),
            )


def _told(
    ours: Side, theirs: Side, mine: Collection[str], new: Collection[str]
) -> tuple[dict[Key, Answer], dict[Key, Answer]]:
    """The answers of both books, and where a join left none, what each of the two shows was said.

    Not where one book has all acts of the other, and more: what that one shows holds.
    """
    found = answers(ours), answers(theirs)
    if bool(mine) != bool(new):
        return found
    said = {(one.table, uid) for side in found for one in side.values() for uid in one.pair}
    for turn, (side, other) in enumerate(((ours, theirs), (theirs, ours))):
        acts = set(other.uid_of.values())
        for key, row in ((key, row) for table in NAMED for key, row in side.keys.get(table, ())):
            if key in said or row["void"] or side.act_of(row) not in acts:
                continue
            table, uid = key
            name, there = str(row[NAMED[table]]), other.row_of.get(key)
            if there is not None:
                if table in BY_CODE and there[NAMED[table]] != name:
                    one = Answer(table=table, pair=(uid, uid), name=name, renamed=uid, to=name)
                    found[turn][one.key] = one
            elif kept := _instead(side, other, key):
                first, second = sorted((uid, kept[1]))
                same = Answer(table=table, pair=(first, second), name=str(other.row_of[kept][NAMED[table]]))
                found[1 - turn][same.key] = same
                found[turn][same.key] = replace(same, renamed=uid, to=name)
    return found


def answer_words(answer: Answer, sides: Sequence[Side]) -> str:
    """An answer as it is told: ``one and the same``; ``sides``: books to look up in what the renamed one is."""
    if not answer.renamed:
        return "one and the same"
    rows = (side.row_of.get((answer.table, answer.renamed)) for side in sides)
    known = next((row for row in rows if row is not None), None)
    what = described(known, but=NAMED[answer.table]) if known else ""
    return f"two, one of them{f' ({what})' if what else ''} called {answer.to}"


@dataclass
class Naming:
    """Which records are one and what they are called, in the book that two books come to.

    alias: a record that is another one -> that one.  renames: by side, the names in it that are others now.
    said: answers that this join gives, or gives once more.
    """

    ours: Side
    theirs: Side
    place_of: Mapping[str, int]
    clashes: Sequence[Clash]
    same: Collection[str]
    renamed: Mapping[str, str]
    decided: Collection[str]
    alias: dict[Key, Key] = field(default_factory=dict)
    renames: dict[int, Rename] = field(default_factory=dict)
    said: list[Answer] = field(default_factory=list)

    def __post_init__(self) -> None:
        held = list(self._held())
        self.said += self._now()
        self.said.sort(key=lambda one: one.key)
        every = [*sorted(held, key=lambda one: (self.place_of[one.act], one.key)), *self.said]
        self._unite(every)
        self._rename(self._named(every))

    def final(self, key: Key) -> Key:
        """The record that one is by now."""
        while key in self.alias:
            key = self.alias[key]
        return key

    def _held(self) -> Iterator[Answer]:
        """Answers given before; of two that differ, what this join says comes to ``said``."""
        shared = set(self.theirs.uid_of.values()) & set(self.ours.uid_of.values())
        here, there = _told(
            self.ours,
            self.theirs,
            set(self.ours.uid_of.values()) - shared,
            set(self.theirs.uid_of.values()) - shared,
        )
        clashes = {clash.subject: clash for clash in self.clashes if clash.kind == "answer"}
        for key in here.keys() | there.keys():
            own, other = here.get(key), there.get(key)
            if key in clashes:
                winner = here[key] if clashes[key].name in self.decided else there[key]
                self.said.append(winner)
            elif own is not None and (other is None or own.act not in shared):
                yield own
            elif other is not None:
                yield other

    def _now(self) -> Iterator[Answer]:
        for clash in self.clashes:
            if clash.kind != "name":
                continue
            table, name = clash.subject[0], self._asked(clash)
            first, second = sorted((clash.subject[1], clash.other))
            if clash.key in self.same:
                yield Answer(table=table, pair=(first, second), name=name)
            elif clash.key in self.renamed:
                to = self.renamed[clash.key]
                yield Answer(table=table, pair=(first, second), name=name, renamed=clash.other, to=to)

    def _asked(self, clash: Clash) -> str:
        """The name that both have, written as in the same one of the two whichever book is joined into which."""
        table = clash.subject[0]
        rows = self.ours.row_of[clash.subject], self.theirs.row_of[table, clash.other]
        return min(str(row[NAMED[table]]) for row in rows)

    def _unite(self, every: Sequence[Answer]) -> None:
        """Of all that are one the record whose act came first stays, whichever book is joined into which."""
        groups: dict[Key, set[Key]] = {}
        for one in every:
            if not one.renamed:
                first, second = ((one.table, uid) for uid in one.pair)
                group = groups.get(first, {first}) | groups.get(second, {second})
                groups |= dict.fromkeys(group, group)
        for key, group in groups.items():
            found = [
                (self.place_of[side.act_of(side.row_of[other])], other)
                for side in (self.ours, self.theirs)
                for other in group
                if other in side.row_of
            ]
            kept = min(found)[1] if found else key
            if kept != key:
                self.alias[key] = kept

    def _named(self, every: Sequence[Answer]) -> dict[Key, str]:
        """What records are called that answers are about: as one renamed them last, else as they were at first."""
        first: dict[Key, str] = {}
        renamed: dict[Key, str] = {}
        for one in every:
            for uid in one.pair:
                first.setdefault(self.final((one.table, uid)), one.name)
            if one.renamed:
                renamed[self.final((one.table, one.renamed))] = one.to
        return first | renamed

    def _rename(self, names: dict[Key, str]) -> None:
        for side in (self.ours, self.theirs):
            renames: Rename = {}
            for table in BY_CODE:
                for key, row in side.keys.get(table, ()):
                    kept = self.final(key)
                    keeper = self.ours.row_of.get(kept) or self.theirs.row_of.get(kept)
                    name = names.get(kept) or (str(keeper[NAMED[table]]) if keeper and kept != key else "")
                    old = str(row[NAMED[table]])
                    # One that was taken back has its name no longer where another has it.
                    if name and name != old and not (row["void"] and (table, old.lower()) in renames):
                        renames[table, old.lower()] = name
            self.renames[id(side)] = renames

    def rows(self) -> Iterator[dict[str, Value]]:
        """What this join answered, and what signs mean from now on: changes without their numbers and act."""
        for one in self.said:
            yield one.row()
            if one.table == "place" and not one.renamed:
                for lost in ((one.table, uid) for uid in one.pair):
                    row = self.ours.row_of.get(lost) or self.theirs.row_of.get(lost)
                    kept = self.final(lost)
                    if row is not None and kept != lost:
                        code = str(row["code"])
                        yield {"subject_kind": SIGN, "subject": code, "field": lost[1], "old": None, "new": kept[1]}

    # -- which book's rows -------------------------------------------------------------------------------------------

    def tells_apart(self) -> set[str]:
        """Acts of both books of which the other book (``theirs``) has the better rows."""
        here, there = set(self.ours.uid_of.values()), set(self.theirs.uid_of.values())
        if here < there:
            return here
        if there < here:
            return set()
        lacking = [_lacking(self.theirs, self.ours, here), _lacking(self.ours, self.theirs, there)]
        return _acts_about(self.theirs, lacking[0]) - _acts_about(self.ours, lacking[1])


def _lacking(side: Side, other: Side, acts: Collection[str]) -> set[Key]:
    """Records of a book that the other one lacks, though it has the acts that made them."""
    return {
        key
        for table in (*NAMED, "package")
        for key, row in side.keys.get(table, ())
        if key not in other.row_of and side.act_of(row) in acts
    }


def _acts_about(side: Side, records: set[Key]) -> set[str]:
    """The acts whose rows name one of these records."""
    if not records:
        return set()
    names = {
        (key[0], str(side.row_of[key][NAMED[key[0]]]).lower()) for key in records if key[0] in BY_CODE
    }  # by which rows of other tables go
    found = {side.act_of(side.row_of[key]) for key in records}
    for table, rows in side.keys.items():
        for _, row in rows:
            if not records.isdisjoint(_named_by(side, table, row)) or _names(table, row) & names:
                found.add(side.act_of(row))
    return found


def _named_by(side: Side, table: str, row: Row) -> set[Key]:
    """The records that a row names by their numbers."""
    if table == "change":
        return {side.subject(str(row["subject_kind"]), str(row["subject"]))}
    columns = {"freezer_id": "freezer", "place_id": "place", "parent_id": "place", "animal_id": "animal"}
    found = ((to, row.get(column)) for column, to in columns.items())
    return {side.key_of[to, number(at)] for to, at in found if at is not None}


def _names(table: str, row: Row) -> set[tuple[str, str]]:
    """The records that a row names by their codes."""
    column = said_in(table, row)
    return {(column[0], str(row[column[1]]).lower())} if column else set()


def said_in(table: str, row: Row) -> tuple[str, str] | None:
    """Whose code a row says, of an animal or a batch, and in which column; ``None`` for a row that says none."""
    if table == "lineage":
        return (str(row["kind"]), "name") if row["kind"] in BY_CODE else None
    return {
        "animal": ("animal", "code"),
        "batch": ("batch", "code"),
        "package": ("batch", "batch"),
        "batch_step": ("batch", "batch"),
        "cost": (str(row.get("subject_kind")), "subject"),
    }.get(table)


def _instead(side: Side, other: Side, key: Key) -> Key | None:
    """The record that a book has in place of one that it was told to be the same: the one that its rows name."""
    table, column = key[0], NAMED[key[0]]
    about = {(table, str(side.row_of[key][column]).lower())}
    for kind, rows in side.keys.items():
        for at, row in rows:
            there = other.row_of.get(at)
            if there is None or not (key in _named_by(side, kind, row) or about & _names(kind, row)):
                continue
            said = _named_by(other, kind, there), _names(kind, there)
            for one, record in other.keys.get(table, ()):
                if one in said[0] or (not record["void"] and said[1] & _names(table, record)):
                    return one
    wanted = name_key(side, table, side.row_of[key], frozenset())
    for record in other.named(table):
        if name_key(other, table, record, frozenset()) == wanted:
            return table, str(record["uid"])
    return None
