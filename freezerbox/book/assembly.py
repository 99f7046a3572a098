"""Writing the union of two books out as rows, renumbered, with what was decided about the clashes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from freezerbox.book.answers import BY_CODE, Naming, Rename, said_in
from freezerbox.book.both import emptied, movement
from freezerbox.book.joining import DAYS, FOLLOWING, Union, own_setting, ranked, ruled
from freezerbox.book.schema import CHANGEABLE, OVERRULED
from freezerbox.book.sides import Clash, Key, Side, first_said
from freezerbox.book.transfer import Row, Value
from freezerbox.book.values import number
from freezerbox.core.fold import fold, fold_all, in_order
from freezerbox.core.records import Reason, State

_WITHOUT_ACT = ("act", "meta", "setting", "package_state")


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """What a person said about the clashes.

    same: names that are one thing in both books.  renamed: what the other book's is called from now on, by the name
    of the clash.  ours: names of the clashes for which this book holds; for all others the other one does.
    """

    same: frozenset[str] = frozenset()
    renamed: Mapping[str, str] = field(default_factory=dict)
    ours: frozenset[str] = frozenset()


@dataclass
class Assembly:
    """The joined rows as they grow.  references: by table, columns that point to rows of another."""

    mine: Side
    other: Side
    union: Union
    decided: Decided
    references: Mapping[str, Mapping[str, str]]
    join_act: Row
    place_of: dict[str, int] = field(default_factory=dict)
    numbers: dict[Key, int] = field(default_factory=dict)
    alias: dict[Key, Key] = field(default_factory=dict)
    better: set[str] = field(default_factory=set)
    naming: Naming = field(init=False)

    def rows(self) -> list[tuple[str, Row]]:
        """Every row of the joined book."""
        self.place_of = {uid: place for place, uid in enumerate(self.union.acts, start=1)}
        self._find_names()
        tables = [table for table in self.mine.rows if table not in _WITHOUT_ACT]
        ordered = {table: self._in_order(table) for table in tables}
        for entries in ordered.values():
            for place, (key, _, _) in enumerate(entries, start=1):
                self.numbers[key] = place
        found: dict[str, list[dict[str, Value]]] = {"act": list(self._acts())}
        found |= {table: [self._row(table, *entry) for entry in entries] for table, entries in ordered.items()}
        self._decide(found)
        _follow_changes(found)
        found["package_state"] = list(_states(found["movement"]))
        found["setting"] = list(self._settings(found["change"]))
        found["meta"] = [dict(row) for row in self.mine.rows["meta"]]
        return [(table, row) for table, rows in found.items() for row in rows]

    # -- which rows --------------------------------------------------------------------------------------------------

    def _find_names(self) -> None:
        """Which records are one, and what each is called."""
        self.naming = Naming(
            ours=self.mine,
            theirs=self.other,
            place_of=self.place_of,
            clashes=self.union.clashes,
            same=self.decided.same,
            renamed=self.decided.renamed,
            decided=self.decided.ours,
        )
        self.alias = self.naming.alias
        self.better = self.naming.tells_apart()
        twice = {clash.name: clash.name in self.decided.ours for clash in self.union.clashes if clash.kind == "twice"}
        ruled_here = ruled(self.mine, set(self.mine.uid_of.values()) - set(self.other.uid_of.values()))
        own = {str(row["code"]): ("package", str(row["uid"])) for row in self.mine.rows["package"]}
        for row in self.other.rows["package"]:
            code = str(row["code"])
            here, there = own.get(code, ()), ("package", str(row["uid"]))
            if here and here != there:
                lost, kept = (there, here) if twice.get(code, code in ruled_here) else (here, there)
                self.alias[lost] = kept

    def _in_order(self, table: str) -> list[tuple[Key, Row, Side]]:
        """Each row of the union once, in the order of its acts; those that are another one left out."""
        chosen: dict[Key, tuple[int, int, Row, Side]] = {}
        for side in (self.mine, self.other):
            for turn, (key, row) in enumerate(side.keys.get(table, ())):
                act = side.act_of(row)
                if side is not (self.other if act in self.union.new or act in self.better else self.mine):
                    continue
                if key in self.alias or self._voids_a_lost_one(side, table, row):
                    continue
                if key not in chosen or self.place_of[act] < chosen[key][0]:
                    chosen[key] = (self.place_of[act], turn, row, side)
        entries = sorted(chosen.items(), key=lambda entry: entry[1][:2])
        return [(key, row, side) for key, (_, _, row, side) in entries]

    def _voids_a_lost_one(self, side: Side, table: str, row: Row) -> bool:
        """A change that takes back a record which is another one now; that one stays."""
        if table != "change" or row["field"] != "void":
            return False
        return side.subject(str(row["subject_kind"]), str(row["subject"])) in self.alias

    # -- their values ------------------------------------------------------------------------------------------------

    def _acts(self) -> Iterator[dict[str, Value]]:
        undone: set[int] = set()
        by_uid = {str(row["uid"]): (side, row) for side in (self.other, self.mine) for row in side.rows["act"]}
        first = first_said(self.mine.rows["act"], self.other.rows["act"])
        for uid in self.union.acts:
            side, original = by_uid[uid]
            row = dict(original)
            row["id"] = self.place_of[uid]
            row["recorded_at"], row["happened_on"] = first[uid]
            target = self._new_id(side, "act", row["undoes_act"])
            # Both took the same act back: one of the two says so, the other stands as what it moved.
            row["undoes_act"] = None if target in undone else target
            if isinstance(target, int):
                undone.add(target)
            yield row

    def _new_id(self, side: Side, table: str, old: Value) -> Value:
        """The number in the joined book of a row that ``side`` calls ``old``."""
        if old is None:
            return None
        if table == "act":
            return self.place_of[side.uid_of[number(old)]]
        return self._number_of(side.key_of[table, number(old)])

    def _number_of(self, key: Key) -> int:
        return self.numbers[self.naming.final(key)]

    def _row(self, table: str, key: Key, original: Row, side: Side) -> dict[str, Value]:
        row = dict(original)
        if "id" in row:
            row["id"] = self.numbers[key]
        row["act_id"] = self.place_of[side.act_of(original)]
        for column, to in self.references[table].items():
            if column != "act_id":
                row[column] = self._new_id(side, to, row[column])
        if table == "change" and CHANGEABLE.get(str(row["subject_kind"]), ("",))[0] == "id":
            row["subject"] = str(self._number_of(side.subject(str(row["subject_kind"]), str(row["subject"]))))
        self._rename(self.naming.renames[id(side)], table, row)
        return row

    def _rename(self, renames: Rename, table: str, row: dict[str, Value]) -> None:
        """Give animals and batches their new codes, wherever a row says one."""
        said = said_in(table, row)
        if said:
            row[said[1]] = renames.get((said[0], str(row[said[1]]).lower()), row[said[1]])
        if table == "change" and (row["subject_kind"], row["field"]) == ("package", "batch"):
            for column in ("old", "new"):
                row[column] = renames.get(("batch", str(row[column]).lower()), row[column])

    # -- what was decided --------------------------------------------------------------------------------------------

    def _decide(self, found: dict[str, list[dict[str, Value]]]) -> None:
        """The act that says which book holds, where both moved a package or corrected a fact."""
        act = len(self.union.acts) + 1
        before = len(found["movement"]) + len(found["change"])
        for code in self.union.beside:
            self._empty(found["movement"], code, act)
        for clash in sorted(self.union.clashes, key=ranked):
            ours = clash.name in self.decided.ours
            winner, loser = (self.mine, self.other) if ours else (self.other, self.mine)
            if clash.kind in ("package", "twice"):
                self._settle_package(found["movement"], clash.name, winner, loser, act)
                self._overrule(found, clash.name, loser, act)
                if clash.kind == "twice":
                    self._settle_origin(found, clash, winner, act)
                    self._settle_own_facts(found["change"], clash.name, winner, act)
                if clash.filled:
                    self._settle_own_facts(found["change"], clash.name, winner, act, DAYS)
            elif clash.kind == "fact":
                self._settle_fact(found["change"], clash, winner, act)
            elif clash.kind == "origin":
                self._settle_origin(found, clash, winner, act)
            elif clash.kind == "answer":
                self._settle_names(found["change"], clash, winner, act)
            elif clash.subject[0] not in BY_CODE and clash.key in self.decided.renamed:
                row = self._number_of((clash.subject[0], clash.other))
                old = self.other.row_of[clash.subject[0], clash.other]["name"]
                new = self.decided.renamed[clash.key]
                _change(found["change"], act, clash.subject[0], str(row), "name", old, new)
        for said in self.naming.rows():
            found["change"].append({**said, "id": len(found["change"]) + 1, "act_id": act})
        if len(found["movement"]) + len(found["change"]) > before:
            found["act"].append({**self.join_act, "id": act})

    def _settle_names(self, changes: list[dict[str, Value]], clash: Clash, winner: Side, act: int) -> None:
        """Have both go by the names that the winner gave them; those that go by a code follow by themselves."""
        table = clash.subject[1]
        for uid in clash.subject[2].split():
            row = winner.row_of.get((table, uid))
            if table not in BY_CODE and row is not None:
                number_here = str(self._number_of((table, uid)))
                of_it = [one["new"] for one in changes if _about(one) == (table, number_here, "name")]
                _change(changes, act, table, number_here, "name", of_it[-1] if of_it else row["name"], row["name"])

    def _only(self, side: Side) -> set[int]:
        """Numbers of the acts that one book alone has."""
        other = self.other if side is self.mine else self.mine
        shared = set(other.uid_of.values())
        return {self.place_of[uid] for uid in side.uid_of.values() if uid not in shared}

    def _empty(self, movements: list[dict[str, Value]], code: str, act: int) -> None:
        """Where the takings of both together left nothing of a lot: say that it is gone."""
        own = self._only(self.mine) | self._only(self.other)
        moved = [movement(row) for row in movements if row["code"] == code]
        rows = {row["id"]: row for row in movements if row["code"] == code}
        for day, last in list(emptied(moved, [one for one in moved if one.act_id in own])):
            said: dict[str, Value] = {
                "act_id": act,
                "happened_on": day.isoformat(),
                "state": State.GONE.value,
                "delta": 0,
            }
            movements.append({**rows[last.id], **said, "id": len(movements) + 1})

    def _settle_package(
        self, movements: list[dict[str, Value]], code: str, winner: Side, loser: Side, act: int
    ) -> None:
        """On each day the loser says something: take its pieces back, and say where the winner has it."""
        away = self._only(loser)
        own = [row for row in movements if row["code"] == code]
        lost = [row for row in own if row["act_id"] in away]
        held = [movement(row) for row in own if row["act_id"] not in away]
        for day in sorted({str(row["happened_on"]) for row in lost}):
            by_then = in_order(one for one in held if one.happened_on.isoformat() <= day)
            state = fold(by_then)
            movements.append(
                {
                    **lost[-1],
                    "id": len(movements) + 1,
                    "act_id": act,
                    "happened_on": day,
                    "state": state.state.value if state else State.GONE.value,
                    "reason": (state.reason.value if state.reason else None) if state else Reason.VOID.value,
                    "freezer_id": state.freezer_id if state else None,
                    "place_id": state.place_id if state else None,
                    "delta": -sum(number(row["delta"]) for row in lost if row["happened_on"] == day),
                    "person": by_then[-1].person if state and state.state is State.GONE else "",
                }
            )

    def _overrule(self, found: dict[str, list[dict[str, Value]]], code: str, loser: Side, act: int) -> None:
        """The loser's own steps count for nothing, and what it had overruled before counts again."""
        away = self._only(loser)
        uids = {place: uid for uid, place in self.place_of.items()}
        said = [row for row in found["change"] if (row["subject_kind"], row["subject"]) == (OVERRULED, code)]
        now = {str(row["field"]): row["new"] for row in said}
        held = {str(row["field"]): row["new"] for row in said if row["act_id"] not in away}
        for uid, value in now.items():
            if value != held.get(uid, 0):
                _change(found["change"], act, OVERRULED, code, uid, value, held.get(uid, 0))
        steps = (number(row["act_id"]) for row in found["movement"] if row["code"] == code)
        for step in dict.fromkeys(one for one in steps if one in away):
            _change(found["change"], act, OVERRULED, code, uids[step], 0, 1)

    def _settle_fact(self, changes: list[dict[str, Value]], clash: Clash, winner: Side, act: int) -> None:
        """Say once more what the winner says of a fact, and of what goes with it."""
        kind, name = clash.subject[0], clash.subject[-1]
        key = clash.subject[:-1]
        subject = str(self._number_of(key)) if CHANGEABLE.get(kind, ("",))[0] == "id" else key[-1]
        own = self._only(winner)
        for one in (name, FOLLOWING.get(name)):
            of_it = [row for row in changes if _about(row) == (kind, subject, one)]
            held = [row for row in of_it if row["act_id"] in own]
            # Where nobody was asked nothing is said but what is needed.
            if held and not (clash.holds and of_it[-1]["new"] == held[-1]["new"]):
                _change(changes, act, kind, subject, str(one), of_it[-1]["new"], held[-1]["new"])

    def _settle_own_facts(
        self,
        changes: list[dict[str, Value]],
        code: str,
        winner: Side,
        act: int,
        only: Sequence[str] = (),
    ) -> None:
        """What the loser corrected was another package; the one that stays is as the winner has it.

        ``only``: fields; none for all.
        """
        own = next(row for row in winner.rows["package"] if row["code"] == code)
        said: dict[str, Value] = {}
        for row in changes:
            if (row["subject_kind"], row["subject"]) == ("package", code) and (not only or row["field"] in only):
                said[str(row["field"])] = row["new"]
        for name, value in said.items():
            # Days that go with a filled label are said in any case: the next join hears that they were decided.
            if only or value != own[name]:
                _change(changes, act, "package", code, name, value, own[name])

    def _settle_origin(self, found: dict[str, list[dict[str, Value]]], clash: Clash, winner: Side, act: int) -> None:
        """Say of each origin of a package whether it is one, as the winner has it."""
        code = clash.subject[0] if clash.kind == "origin" else clash.name
        own = {self.numbers[key]: row["void"] for key, row in winner.keys["lineage"] if row["child"] == code}
        void = {row["subject"]: row["new"] for row in found["change"] if _about(row)[::2] == ("lineage", "void")}
        for row in found["lineage"]:
            if row["child"] == code:
                now, then = void.get(str(row["id"]), row["void"]), own.get(number(row["id"]), 1)
                if clash.kind == "origin" or now != then:
                    _change(found["change"], act, "lineage", str(row["id"]), "void", now, then)

    def _settings(self, changes: Sequence[Row]) -> Iterator[dict[str, Value]]:
        own = {str(row["key"]): row["value"] for row in self.mine.rows["setting"]}
        joined = {str(row["subject"]): row["new"] for row in changes if row["subject_kind"] == "setting"}
        for key in sorted({*own, *joined}):
            if not own_setting(key):
                yield {"key": key, "value": joined.get(key, own.get(key))}
            elif key in own:
                yield {"key": key, "value": own[key]}


def _change(
    changes: list[dict[str, Value]], act: int, kind: str, subject: str, field: str, old: Value, new: Value
) -> None:
    changes.append(
        {
            "id": len(changes) + 1,
            "act_id": act,
            "subject_kind": kind,
            "subject": subject,
            "field": field,
            "old": old,
            "new": new,
        }
    )


def _about(change: Row) -> tuple[Value, Value, Value]:
    return change["subject_kind"], change["subject"], change["field"]


def _follow_changes(found: dict[str, list[dict[str, Value]]]) -> None:
    latest: dict[tuple[str, str, str], Value] = {}
    for change in found["change"]:
        latest[str(change["subject_kind"]), str(change["subject"]), str(change["field"])] = change["new"]
    for table, (key, fields) in CHANGEABLE.items():
        for row in found.get(table, ()):
            for name in fields:
                row[name] = latest.get((table, str(row[key]), name), row[name])


def _states(movements: Sequence[Row]) -> Iterator[dict[str, Value]]:
    for code, state in fold_all(movement(row) for row in movements).items():
        yield {
            "code": code,
            "state": state.state.value,
            "reason": state.reason.value if state.reason else None,
            "freezer_id": state.freezer_id,
            "place_id": state.place_id,
            "quantity": state.quantity,
            "since": state.since.isoformat(),
        }
