"""Swaps of labels where two books meet: one act about two packs, which cannot be joined fact by fact."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from freezerbox.book.arrivals import PARTING
from freezerbox.book.sides import Side
from freezerbox.book.transfer import Row


@dataclass(frozen=True, slots=True, kw_only=True)
class Met:
    """A swap in one book, and what the other book says of one of the two packs.  Both are acts of one book alone.

    here: whether the swap is in the book that is joined into.  swap, other: the acts.
    again: whether the other is a swap too; then ``here`` is true.
    """

    here: bool
    swap: Row
    other: Row
    again: bool


def met(ours: Side, theirs: Side) -> Iterator[Met]:
    """Each swap of one book alone that the other book, in acts of its own, swapped or corrected a pack of.

    Taken back in one book it is as if it were not, and a swap that both hold is one when one of them takes it back.
    """
    own = [set(side.uid_of.values()) for side in (ours, theirs)]
    own = [own[0] - own[1], own[1] - own[0]]
    said = [list(_said(side, acts)) for side, acts in zip((ours, theirs), own, strict=True)]
    for turn in (0, 1):
        for root, swap, packs in said[turn]:
            if root["kind"] != "swap":
                continue
            for other_root, other, others in said[1 - turn]:
                again = other_root["kind"] == "swap"
                # Both took one swap back, or of two swaps it was told from the other side.
                if packs.isdisjoint(others) or other_root["uid"] == root["uid"] or (again and turn):
                    continue
                yield Met(here=not turn, swap=swap, other=other, again=again)


def _said(side: Side, acts: Collection[str]) -> Iterator[tuple[Row, Row, set[str]]]:
    """What acts say of packages: the act it began with, the last about it, and the packages."""
    touched: dict[str, set[str]] = {}
    for row in side.rows["change"]:
        kind, subject = str(row["subject_kind"]), str(row["subject"])
        if kind == "package" and row["field"] != "missing_since":
            touched.setdefault(side.act_of(row), set()).add(subject)
        elif kind == "lineage":
            origin = side.row_of[side.subject(kind, subject)]
            codes = (row["old"], row["new"]) if row["field"] == "child" else (origin["child"],)
            touched.setdefault(side.act_of(row), set()).update(map(str, codes))
    kinds = {str(act["uid"]): act["kind"] for act in side.rows["act"]}
    packed = {str(row["code"]): side.act_of(row) for row in side.rows["package"]}
    for row in side.rows["lineage"]:
        # An origin added afterwards, and a part: it says what the book said of the whole.
        act = side.act_of(row)
        if packed.get(str(row["child"])) != act:
            touched.setdefault(act, set()).add(str(row["child"]))
        elif row["kind"] == "package" and kinds[act] in PARTING:
            touched.setdefault(act, set()).add(str(row["name"]))
    for root, own in side.about(acts):
        packs = touched.get(str(root["uid"]), set())
        if packs and len(own) % 2:
            yield root, own[-1], packs
