"""Writing the union of two books out as rows, renumbered, with what was decided about the clashes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from freezerbox.book import values
from freezerbox.book.joining import FOLLOWING, NAMED, Clash, Side, Union
from freezerbox.book.schema import CHANGEABLE
from freezerbox.book.transfer import Row, Value
from freezerbox.core.fold import fold_all
from freezerbox.core.records import Movement, Reason, State

OWN_SETTINGS = ("letter", "backup-to", "backup-last")
"""Settings that belong to one book and do not travel."""

Key = tuple[str, str, int]
"""A row known in both books: its table, the uid of its act, its turn within that act."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """What a person said about the clashes.

    same: ``animal 26B`` and the like that are one thing.  renamed: what the other book's is called from now on.
    ours, theirs: package codes and facts for which that book holds.
    """

    same: frozenset[str] = frozenset()
    renamed: Mapping[str, str] = field(default_factory=dict)
    ours: frozenset[str] = frozenset()
    theirs: frozenset[str] = frozenset()


@dataclass
class Assembly:
    """The joined rows as they grow.  references: by table, columns that point to rows of another."""

    mine: Side
    other: Side
    union: Union
    decided: Decided
    references: Mapping[str, Mapping[str, str]]
    join_act: Row
    numbers: dict[Key, int] = field(default_factory=dict)

    def rows(self) -> list[tuple[str, Row]]:
        """Every row of the joined book."""
        self._number()
        found: dict[str, list[dict[str, Value]]] = {"act": list(self._acts())}
        for table in self.mine.rows:
            if table not in ("act", "meta", "setting", "package_state"):
                found[table] = list(self._table(table))
        self._decide(found)
        self._follow_changes(found)
        found["package_state"] = list(_states(found["movement"]))
        found["setting"] = list(self._settings(found["change"]))
        found["meta"] = [dict(row) for row in self.mine.rows["meta"]]
        return [(table, row) for table, rows in found.items() for row in rows]

    def _side(self, uid: str) -> Side:
        return self.other if uid in self.union.new else self.mine

    def _turns(self, side: Side, table: str) -> Iterator[tuple[Key, Row]]:
        """Rows of a table with their keys, act by act as this side wrote them."""
        turns: dict[str, int] = {}
        for row in side.rows.get(table, ()):
            uid = side.act_of(row)
            turns[uid] = turns.get(uid, -1) + 1
            yield (table, uid, turns[uid]), row

    def _in_order(self, table: str) -> list[tuple[Key, Row, Side]]:
        """Each row of the union once, in the order of its acts; those that are the same as ours left out."""
        place = {uid: number for number, uid in enumerate(self.union.acts)}
        chosen = [
            (key, row, side)
            for side in (self.mine, self.other)
            for key, row in self._turns(side, table)
            if self._side(key[1]) is side and not (side is self.other and self._is_same(table, row))
        ]
        return sorted(chosen, key=lambda entry: (place[entry[0][1]], entry[0][2]))

    def _is_same(self, table: str, row: Row) -> bool:
        return table in NAMED and f"{table} {row[NAMED[table]]}".lower() in self.decided.same

    def _number(self) -> None:
        for table in self.mine.rows:
            if table in ("act", "meta", "setting", "package_state"):
                continue
            for number, (key, _, _) in enumerate(self._in_order(table), start=1):
                self.numbers[key] = number

    def _new_id(self, side: Side, table: str, old: Value) -> Value:
        """The number in the joined book of a row that ``side`` calls ``old``."""
        if old is None:
            return None
        if table == "act":
            return self._act_number(side.uid_of[int(str(old))])
        for key, row in self._turns(side, table):
            if row["id"] == old:
                if key in self.numbers:
                    return self.numbers[key]
                return self._number_of_same(table, row)
        raise ValueError(f"{table} {old} is nowhere")

    def _number_of_same(self, table: str, row: Row) -> int:
        name = str(row[NAMED[table]]).lower()
        for key, own in self._turns(self.mine, table):
            if str(own[NAMED[table]]).lower() == name and not own["void"]:
                return self.numbers[key]
        raise ValueError(f"{table} {name} is not in this book")

    def _act_number(self, uid: str) -> int:
        return self.union.acts.index(uid) + 1

    def _acts(self) -> Iterator[dict[str, Value]]:
        undone: set[int] = set()
        by_uid = {str(row["uid"]): row for side in (self.other, self.mine) for row in side.rows["act"]}
        for number, uid in enumerate(self.union.acts, start=1):
            side = self._side(uid)
            row = dict(by_uid[uid])
            row["id"] = number
            target = self._new_id(side, "act", row["undoes_act"])
            # Both took the same act back: one of the two says so, the other stands as what it moved.
            row["undoes_act"] = None if target in undone else target
            if isinstance(target, int):
                undone.add(target)
            yield row

    def _table(self, table: str) -> Iterator[dict[str, Value]]:
        pointing = self.references[table]
        for key, original, side in self._in_order(table):
            row = dict(original)
            if "id" in row:
                row["id"] = self.numbers[key]
            row["act_id"] = self._act_number(key[1])
            for column, to in pointing.items():
                if column != "act_id":
                    row[column] = self._new_id(side, to, row[column])
            if table == "change" and CHANGEABLE.get(str(row["subject_kind"]), ("",))[0] == "id":
                row["subject"] = str(self._new_id(side, str(row["subject_kind"]), int(str(row["subject"]))))
            if side is self.other:
                self._rename(table, row)
            yield row

    def _rename(self, table: str, row: dict[str, Value]) -> None:
        if table in NAMED:
            new = self.decided.renamed.get(f"{table} {row[NAMED[table]]}".lower())
            if new:
                row[NAMED[table]] = new
        if table == "lineage" and row["kind"] == "animal":
            row["name"] = self.decided.renamed.get(f"animal {row['name']}".lower(), row["name"])

    def _decide(self, found: dict[str, list[dict[str, Value]]]) -> None:
        """The act that says which book holds, where both moved a package or corrected a fact."""
        number = len(self.union.acts) + 1
        wrote = False
        for clash in self.union.clashes:
            if clash.kind not in ("package", "fact"):
                continue
            winner, loser = (self.mine, self.other) if clash.name in self.decided.ours else (self.other, self.mine)
            wrote = True
            if clash.kind == "package":
                self._settle_package(found["movement"], clash.name, winner, loser, number)
            else:
                self._settle_fact(found["change"], clash, winner, number)
        if wrote:
            found["act"].append({**self.join_act, "id": number})

    def _settle_package(
        self, movements: list[dict[str, Value]], code: str, winner: Side, loser: Side, act: int
    ) -> None:
        def own(side: Side) -> list[Row]:
            other = self.other if side is self.mine else self.mine
            shared = {str(row["uid"]) for row in other.rows["act"]}
            return [row for row in side.rows["movement"] if row["code"] == code and side.act_of(row) not in shared]

        held, lost = own(winner), own(loser)
        last = max(held, key=lambda row: (str(row["happened_on"]), int(str(row["id"]))))
        movements.append(
            {
                **last,
                "id": len(movements) + 1,
                "act_id": act,
                "happened_on": max(str(row["happened_on"]) for row in (*held, *lost)),
                "freezer_id": self._new_id(winner, "freezer", last["freezer_id"]),
                "place_id": self._new_id(winner, "place", last["place_id"]),
                "delta": -sum(int(str(row["delta"])) for row in lost),
            }
        )

    def _settle_fact(self, changes: list[dict[str, Value]], clash: Clash, winner: Side, act: int) -> None:
        """Say once more what the winner says of a fact, and of what goes with it."""
        kind, subject, name = clash.name.split(" ", 2)
        for one in (name, FOLLOWING.get(name)):
            of_it = [
                row
                for row in changes
                if row["subject_kind"] == kind and row["field"] == one and self._same_subject(row, kind, subject)
            ]
            theirs = {self._act_number(uid) for uid in self.union.new}
            held = [row for row in of_it if (row["act_id"] in theirs) == (winner is self.other)]
            if held and of_it[-1]["new"] != held[-1]["new"]:
                changes.append(
                    {
                        **held[-1],
                        "id": len(changes) + 1,
                        "act_id": act,
                        "old": of_it[-1]["new"],
                        "new": held[-1]["new"],
                    }
                )

    def _same_subject(self, row: Row, kind: str, subject: str) -> bool:
        if CHANGEABLE[kind][0] != "id":
            return row["subject"] == subject
        # A fact of a record that both books have: its number here, found by the uid the clash names.
        for key, own in self._turns(self.mine, kind):
            if str(own.get("uid")) == subject:
                return row["subject"] == str(self.numbers.get(key))
        return False

    def _follow_changes(self, found: dict[str, list[dict[str, Value]]]) -> None:
        latest: dict[tuple[str, str, str], Value] = {}
        for change in found["change"]:
            latest[str(change["subject_kind"]), str(change["subject"]), str(change["field"])] = change["new"]
        for table, (key, fields) in CHANGEABLE.items():
            for row in found.get(table, ()):
                for name in fields:
                    row[name] = latest.get((table, str(row[key]), name), row[name])

    def _settings(self, changes: Sequence[Row]) -> Iterator[dict[str, Value]]:
        own = {str(row["key"]): row["value"] for row in self.mine.rows["setting"]}
        joined = {str(row["subject"]): row["new"] for row in changes if row["subject_kind"] == "setting"}
        for key in sorted({*own, *joined}):
            value = own.get(key) if key in OWN_SETTINGS else joined.get(key, own.get(key))
            yield {"key": key, "value": value}


def _states(movements: Sequence[Row]) -> Iterator[dict[str, Value]]:
    records = [
        Movement(
            id=int(str(row["id"])),
            act_id=int(str(row["act_id"])),
            code=str(row["code"]),
            happened_on=values.day(str(row["happened_on"])),
            state=values.word(State, str(row["state"])),
            reason=values.word(Reason, str(row["reason"])) if row["reason"] else None,
            freezer_id=_number(row["freezer_id"]),
            place_id=_number(row["place_id"]),
            delta=int(str(row["delta"])),
        )
        for row in movements
    ]
    for code, state in fold_all(records).items():
        yield {
            "code": code,
            "state": state.state.value,
            "reason": state.reason.value if state.reason else None,
            "freezer_id": state.freezer_id,
            "place_id": state.place_id,
            "quantity": state.quantity,
            "since": state.since.isoformat(),
        }


def _number(value: Value) -> int | None:
    return None if value is None else int(str(value))
