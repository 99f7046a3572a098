"""Where a package came from, where an animal went, and who has any of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from freezerbox.book import journal, origins
from freezerbox.chores.exits import Exit, exits
from freezerbox.chores.header import find_animal
from freezerbox.chores.holding import find_batch, find_subject, reached
from freezerbox.chores.kitchen import Kitchen, no_such
from freezerbox.chores.naming import same_name
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.wording import animal_words, batch_words, gone_words, holds_words, left_words, package_line
from freezerbox.core.code import show_code
from freezerbox.core.lineage import Lineage
from freezerbox.core.records import Reason, State


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """One thing in a tree of origins.

    kind: ``animal``, ``batch``, ``package`` or ``bought``.  name: its code, or what was bought.
    words: what people call it.  net_mg: its weight in milligrams; None when not known.
    part_mg: downwards, how much of the thing asked for is in it; upwards, how much of it went into what stands above
    it in the tree; None when not known.  where: where it is now, or how it left.  row: the package; None for others.
    again: it stood in the tree before; its branches are not repeated.
    """

    kind: str
    name: str
    words: str
    net_mg: int | None
    part_mg: int | None
    where: str
    row: Row | None
    again: bool
    branches: tuple[Node, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """What was asked for, with what it is made of (up) and what was made of it (down)."""

    top: str
    up: Node
    down: Node


@dataclass(frozen=True, slots=True, kw_only=True)
class Holder:
    """A person who has packages.  exits: what went to them and stayed there, by day."""

    person: str
    exits: tuple[Exit, ...]


def trace(kitchen: Kitchen, code: str) -> Trace:
    """Up and down from an animal, a batch or a package.  Raises: UnknownRecord; InvalidCode; UnknownCode."""
    walk = _Walk(kitchen)
    batch = find_batch(kitchen, code)
    if batch is not None:
        rows = [row for row in walk.rows.all() if row.package.batch == batch.code and _is(row)]
        made_of = walk.up_of([row.code for row in rows])
        top = Node(
            kind="batch", name=batch.code, words=batch_words(batch), net_mg=_sum(rows), part_mg=None, where="",
            row=None, again=False, branches=(),
        )  # fmt: skip
        down = tuple(walk.down(row.code) for row in rows)
        return Trace(top=batch.code, up=_with(top, made_of), down=_with(top, down))
    subject = find_subject(kitchen, code)
    kind = "animal" if subject.animal else "package"
    walk.of = (kind, subject.code)
    if subject.animal:
        animal = subject.animal
        top = Node(
            kind="animal", name=animal.code, words=animal_words(animal), net_mg=None, part_mg=None, where="",
            row=None, again=False, branches=(),
        )  # fmt: skip
        return Trace(top=animal.code, up=top, down=_with(top, walk.down_of(kind, subject.code)))
    top = walk.node(subject.code, None)
    return Trace(
        top=subject.code,
        up=_with(top, walk.up_of([subject.code])),
        down=_with(top, walk.down_of(kind, subject.code)),
    )


def who_has(kitchen: Kitchen, code: str) -> tuple[Holder, ...]:
    """Who was given any of an animal, a batch or a package, or of anything made of it; by name.

    What was eaten here, or left in another way, is not among it.

    Raises: UnknownRecord; InvalidCode; UnknownCode.
    """
    return holders(exits(kitchen, reached(kitchen, find_subject(kitchen, code))))


def with_person(kitchen: Kitchen, name: str) -> Holder:
    """Everything that one person was given and has.  Raises: UnknownRecord, naming the people the book knows."""
    found = holders(exits(kitchen, Rows(kitchen).all()))
    for holder in found:
        if same_name(holder.person, name):
            return holder
    known = [holder.person for holder in found]
    raise no_such("person who was given anything called", name, known, 'Give with: freezerbox give CODE --to "NAME"')


def holders(left: Sequence[Exit]) -> tuple[Holder, ...]:
    """Ways out that ended with a person, by that person; gifts to nobody named are under ""."""
    by_person: dict[str, list[Exit]] = {}
    for one in left:
        if one.person or one.reason is Reason.GIVEN:
            by_person.setdefault(one.person, []).append(one)
    return tuple(
        Holder(person=person, exits=tuple(found)) for person, found in sorted(by_person.items(), key=_by_name)
    )


class _Walk:
    """Walks the lineage; remembers what it has shown."""

    def __init__(self, kitchen: Kitchen) -> None:
        self.kitchen = kitchen
        self.rows = Rows(kitchen)
        self.lineage: Lineage = self.rows.lineage
        self.of: tuple[str, str] | None = None
        self.batches = {batch.code: batch for batch in origins.batches(kitchen.book)}
        self._left: dict[str, list[Exit]] = {}
        for one in exits(kitchen, self.rows.all()):
            self._left.setdefault(one.row.code, []).append(one)
        self._shown: set[str] = set()
        self._shares: dict[str, Fraction | None] = {}

    def down_of(self, kind: str, name: str) -> tuple[Node, ...]:
        """What was made of something, what came of one batch under that batch."""
        nodes = [self.down(code) for code in self.lineage.children(kind, name)]
        nodes = [node for node in nodes if node.row is None or _is(node.row)]
        found: list[Node] = []
        for batch, own in _by_batch(nodes):
            if not batch or (self.of and self.of[0] == "batch") or batch not in self.batches:
                found.extend(own)
                continue
            parts = [node.part_mg for node in own]
            found.append(
                Node(
                    kind="batch",
                    name=batch,
                    words=batch_words(self.batches[batch]),
                    net_mg=_sum([node.row for node in own if node.row]),
                    part_mg=None if None in parts else sum(part or 0 for part in parts),
                    where="",
                    row=None,
                    again=False,
                    branches=tuple(own),
                )
            )
        return tuple(found)

    def down(self, code: str) -> Node:
        """A package and all that was made of it."""
        node = self.node(code, self._part(code))
        if code in self._shown:
            return _again(node)
        self._shown.add(code)
        return _with(node, self.down_of("package", code))

    def up_of(self, codes: Sequence[str]) -> tuple[Node, ...]:
        """What packages are made of, each origin once with all that went in."""
        went: dict[tuple[str, str], int | None] = {}
        for code in codes:
            for row in self.lineage.sources.get(code, ()):
                key = (row.kind, row.name)
                before = went.get(key, 0)
                went[key] = None if before is None or row.mass_mg is None else before + row.mass_mg
        return tuple(self._up(kind, name, mass) for (kind, name), mass in went.items())

    def _up(self, kind: str, name: str, mass_mg: int | None) -> Node:
        if kind == "package":
            node = self.node(name, mass_mg)
            if name in self._shown:
                return _again(node)
            self._shown.add(name)
            return _with(node, self.up_of([name]))
        words = animal_words(find_animal(self.kitchen, name)) if kind == "animal" else f"{name}, bought"
        return Node(
            kind=kind, name=name, words=words, net_mg=None, part_mg=mass_mg, where="", row=None, again=False,
            branches=(),
        )  # fmt: skip

    def node(self, code: str, part_mg: int | None) -> Node:
        """A package by itself."""
        row = self.rows.of_codes([code])[0]
        where = where_now(self.kitchen, row, self._left.get(code, ()))
        if row.holds and row.package.state.state is State.FROZEN:
            where += f" - HELD, {holds_words(row.holds, self.kitchen.today)}"
        return Node(
            kind="package",
            name=code,
            words=f"{show_code(code)}  {package_line(self.kitchen, row)}",
            net_mg=row.net_mg,
            part_mg=part_mg,
            where=where,
            row=row,
            again=False,
            branches=(),
        )

    def _part(self, code: str) -> int | None:
        if self.of is None:
            return None
        share = self.lineage.share_of(code, *self.of, self._shares)
        net = self.rows.of_codes([code])[0].net_mg
        return None if share is None or net is None else int(share * net)


def where_now(kitchen: Kitchen, row: Row, left: Sequence[Exit]) -> str:
    """Where a package is, or how it left and who to; of a lot, how many are left and what became of the others."""
    state = row.package.state
    where = row.where or "in the freezer" if state.state is State.FROZEN else gone_words(row, kitchen.today)
    if state.state is State.GONE and left and left[-1].person:
        where += f" to {left[-1].person}"
    elif state.state is State.FROZEN and left:
        ways = (f"{one.number} {_way(kitchen, one)}" + _to(one) for one in left)
        where = f"{state.quantity} left, {where}; {', '.join(ways)}"
    return where


def _way(kitchen: Kitchen, one: Exit) -> str:
    act = journal.act(kitchen.book, one.act_id) if one.reason is Reason.MADE_INTO else None
    return "split off" if act and act.kind == "split" else left_words(one.reason)


def _to(one: Exit) -> str:
    return f" to {one.person}" if one.person else ""


def _by_batch(nodes: Sequence[Node]) -> list[tuple[str, list[Node]]]:
    groups: dict[str, list[Node]] = {}
    for node in nodes:
        groups.setdefault(node.row.package.batch if node.row else "", []).append(node)
    return list(groups.items())


def _is(row: Row) -> bool:
    return row.package.state.reason is not Reason.VOID


def _with(node: Node, branches: tuple[Node, ...]) -> Node:
    return replace(node, branches=branches)


def _again(node: Node) -> Node:
    return replace(node, again=True)


def _sum(rows: Sequence[Row]) -> int | None:
    weights = [row.net_mg for row in rows]
    return None if None in weights else sum(weight or 0 for weight in weights)


def _by_name(pair: tuple[str, list[Exit]]) -> str:
    return pair[0].lower()
