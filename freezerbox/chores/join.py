"""Joining the book of another place, such as the cabin's, into this one."""

from __future__ import annotations

import hashlib
import re
import shlex
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from freezerbox.book import copying, joining, meta, transfer
from freezerbox.book.assembly import Assembly, Decided
from freezerbox.book.columns import schema_columns
from freezerbox.book.joining import Union
from freezerbox.book.news import decided_there
from freezerbox.book.resigning import Resigned, part_signs
from freezerbox.book.sides import Clash, Rows, Side, by_table
from freezerbox.book.values import number
from freezerbox.chores import safekeeping
from freezerbox.chores.animals import animal_code
from freezerbox.chores.check import check
from freezerbox.chores.holding import BATCH_CODE
from freezerbox.chores.house import clean_name
from freezerbox.chores.join_swaps import refuse_swaps
from freezerbox.chores.join_told import days_against, kept, refuse_one_name, renamed
from freezerbox.chores.join_words import clash_words, shown, taken_words
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.loose_ends import unlisted
from freezerbox.chores.outdated import outdated, outdated_words
from freezerbox.core.code import compact, show_code
from freezerbox.core.names import alike
from freezerbox.errors import BookTrouble, InputError, Refused


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """acts, packages: how many came from the other book.  settled: clashes that were decided.  copy: made before.

    resigned: places whose sign has a new code, since both books had given one code to two places.
    merged: places that were two, each with a sign, and are one: ``old`` and ``new`` are its signs, both.
    unlisted: sentences about packages in a place that one book no longer has, each with what helps.
    taken: sentences about what joins in the other book decided, and this one had otherwise.
    told: sentences about what is called otherwise now, what stayed of two that are one, days that do not fit, and
    labels to print again.
    """

    acts: int
    packages: int
    settled: tuple[Clash, ...]
    copy: Path | None
    resigned: tuple[Resigned, ...] = ()
    merged: tuple[Resigned, ...] = ()
    unlisted: tuple[str, ...] = ()
    taken: tuple[str, ...] = ()
    told: tuple[str, ...] = ()


def join(
    kitchen: Kitchen,
    other: Path,
    *,
    same: Sequence[str] = (),
    rename: Sequence[str] = (),
    ours: Sequence[str] = (),
    theirs: Sequence[str] = (),
    prefer: str = "",
) -> Joined:
    """Take in every act of ``other`` that this book does not have; twice is the same as once.

    ``same``: names such as ``animal 26B`` that are one thing in both.  ``rename``: ``animal 26B=26C``, what the
    other's is called here.  ``ours``, ``theirs``: codes or facts for which that book holds; ``prefer`` says it of
    all the rest.

    Raises: Refused, listing every clash that is not decided; InputError for words that decide nothing; NoBook,
    BookTrouble, NewerBook when ``other`` is no whole book.  Then nothing has changed.
    """
    copying.look_at(other, waiting=kitchen.book.connection.waiting)
    return _join(kitchen, other, same, rename, ours, theirs, prefer)


@one_writer
def _join(
    kitchen: Kitchen,
    other: Path,
    same: Sequence[str],
    rename: Sequence[str],
    ours: Sequence[str],
    theirs: Sequence[str],
    prefer: str,
) -> Joined:
    """The book is held from the first look: an act that came in between would be lost."""
    book = kitchen.book
    transfer.refuse_misnamed(book.connection, book.path)
    rows = list(transfer.rows(book.connection)), transfer.file_rows(other, book.connection.waiting)
    resigned = part_signs(*rows)
    mine, their = map(_side, rows)
    union = joining.union(mine, their, frozenset(_name(words) for words in same))
    in_full = _in_full(union)
    same = [in_full.get(_name(words), words) for words in same]
    union = joining.union(mine, their, frozenset(_name(words) for words in same))
    refuse_swaps(kitchen, mine, their, other)
    decided = _decided(kitchen, mine, union, same, rename, ours, theirs, prefer)
    if not (union.new or union.clashes):
        return Joined(acts=0, packages=0, settled=(), copy=None)
    copy = safekeeping.before(kitchen, "join")
    assembly = Assembly(
        mine=mine,
        other=their,
        union=union,
        decided=decided,
        references={table: transfer.references(book.connection, table) for table in mine.rows},
        join_act=_join_act(kitchen, mine, their, union, decided),
    )
    joined, before = assembly.rows(), outdated(kitchen)
    tables = by_table(joined)
    refuse_one_name(kitchen, tables)
    _refuse_taken_back(tables, mine, their, other)
    transfer.fill(book.connection, joined)
    if _meta(mine, "walk") == _meta(their, "walk"):
        # A plain copy that may go on being written: from now on they draw different codes.
        meta.walk_elsewhere(book.connection, book.chance)
    # Of a place that one book gave up while the other packed into it: that is no reason to keep the books apart.
    to_say = unlisted(kitchen)
    faults = [fault for fault in check(kitchen).faults if fault not in to_say]
    if faults:
        raise BookTrouble(
            "The joined book does not add up; nothing was changed:\n  " + "\n  ".join(faults[:8]), faults=faults
        )
    packages = sum(their.act_of(row) in union.new for row in their.rows["package"])
    print_again = outdated(kitchen) - before
    return Joined(
        acts=len(union.new),
        packages=packages,
        settled=union.clashes,
        copy=copy.path,
        resigned=resigned,
        merged=tuple(_merged(mine, their, assembly, union)),
        unlisted=to_say,
        taken=tuple(taken_words(kitchen, one) for one in decided_there(mine, their, union)),
        told=(
            *renamed(mine, assembly, tables),
            *kept(kitchen, mine, their, assembly, tables, decided),
            *days_against(kitchen, mine, their, tables),
            *([outdated_words(print_again)] if print_again else ()),
        ),
    )


def _refuse_taken_back(tables: Rows, mine: Side, their: Side, other: Path) -> None:
    """Raises: Refused for an animal that one book took back and of which the other has packages, with what helps."""
    empty = {str(row["code"]) for row in tables.get("package_state", ()) if row["reason"] == "void"}
    origins = {
        str(row["name"])
        for row in tables.get("lineage", ())
        if row["kind"] == "animal" and not int(row["void"] or 0) and str(row["child"]) not in empty
    }
    living = {str(row["code"]) for row in tables.get("animal", ()) if not int(row["void"] or 0)}
    uids = {row["id"]: str(row["uid"]) for row in tables["act"]}
    lines, names = [], []
    for row in tables.get("animal", ()):
        code = str(row["code"])
        acts = [
            number(change["act_id"])
            for change in tables.get("change", ())
            if (change["subject_kind"], change["subject"], change["field"]) == ("animal", str(row["id"]), "void")
        ]
        if code in origins - living and acts:
            uid = uids[max(acts)]
            here = {one: act for act, one in mine.uid_of.items()}.get(uid)
            there = {one: act for act, one in their.uid_of.items()}.get(uid)
            book = "" if here is not None else f"--book {shlex.quote(str(other))} "
            lines.append(f"animal {code}: freezerbox {book}undo {there if here is None else here}")
            names.append(code)
    if lines:
        raise Refused(
            "Nothing joined: one book took an animal back, and the other has packages of it. A hold on it would not "
            "show. Have it again where it was taken back, and join then:\n  " + "\n  ".join(lines),
            animals=names,
        )


def _merged(mine: Side, their: Side, assembly: Assembly, union: Union) -> Iterable[Resigned]:
    """Places that this join made one with another; not again what an earlier one did."""
    now = {clash.other for clash in union.clashes if clash.kind == "name"}
    now |= {uid for clash in union.clashes if clash.kind == "answer" for uid in clash.subject[2].split()}
    for lost, stays in sorted(assembly.alias.items()):
        known = lost in mine.row_of or (lost[1] in now and lost in their.row_of)
        if lost[0] != "place" or not known:
            continue
        here = lost in mine.row_of
        old, new = (mine if here else their).row_of[lost], mine.row_of.get(stays) or their.row_of[stays]
        if old["code"] != new["code"]:
            yield Resigned(place=str(new["name"]), old=str(old["code"]), new=str(new["code"]), here=here)


def _side(found: Iterable[tuple[str, transfer.Row]]) -> Side:
    return Side(rows={**{table: [] for table in schema_columns()}, **by_table(found)})


def _meta(side: Side, key: str) -> transfer.Value:
    return next((row["value"] for row in side.rows["meta"] if row["key"] == key), None)


def _join_act(kitchen: Kitchen, mine: Side, their: Side, union: Union, decided: Decided) -> transfer.Row:
    """The act that says which book holds, should one be needed: of today, and after all that it decides about.

    Its uid is the same whichever book is joined into which: two who decide alike have decided once, on the first day.
    """
    rows = {str(row["uid"]): row for side in (mine, their) for row in side.rows["act"]}
    shared = set(mine.uid_of.values()) & set(their.uid_of.values())
    # A side goes by the first of the acts that it alone has, which is the same from either side.
    sides = {side is mine: min(set(side.uid_of.values()) - shared, default="") for side in (mine, their)}
    # Names said to be one have no side that holds.
    said = [
        f"{clash.kind} {clash.name.lower()}: {sides[clash.name in decided.ours]}"
        for clash in union.clashes
        if clash.kind != "name"
    ]
    names = []
    for clash in union.clashes:
        if clash.kind == "name":
            first, second = sorted((clash.subject[1], clash.other))
            to = f"{clash.other} {decided.renamed[clash.key]}" if clash.key in decided.renamed else "same"
            names.append(f"{first} {second}: {to}")
        if clash.kind == "answer":
            names.append(f"{clash.subject[2]}: {clash.other.splitlines()[clash.name not in decided.ours]}")
    text = "\n".join([*sorted(rows), *sorted(said), *sorted(names)])
    return {
        "id": None,
        "uid": hashlib.sha256(text.encode()).hexdigest()[:20],
        "kind": "join",
        "happened_on": kitchen.today.isoformat(),
        "recorded_at": max(
            kitchen.clock.stamp().isoformat(timespec="seconds"), *(str(row["recorded_at"]) for row in rows.values())
        ),
        "by": "",
        "station": "",
        "request_id": None,
        "undoes_act": None,
        "words": "joined two books, and decided what they said differently",
    }


def _decided(
    kitchen: Kitchen,
    mine: Side,
    union: Union,
    same: Sequence[str],
    rename: Sequence[str],
    ours: Sequence[str],
    theirs: Sequence[str],
    prefer: str,
) -> Decided:
    if prefer not in ("", "ours", "theirs"):
        raise InputError(f"{prefer!r} is no side. Say --prefer ours or --prefer theirs.", value=prefer)
    renamed = {}
    in_full = _in_full(union)
    for words in rename:
        old, equals, new = words.partition("=")
        if not equals or not new.strip():
            raise InputError(f"{words!r} renames nothing. Write it as: --rename 'animal 26B=26C'", value=words)
        old = in_full.get(_name(old), old)
        renamed[_name(old)] = _new_name(old, clean_name(new))
    sides = {"ours": {_name(one) for one in ours}, "theirs": {_name(one) for one in theirs}}
    known = {_name(clash.name) for clash in union.clashes}
    typed = {_name(shown(clash)): _name(clash.name) for clash in union.clashes}
    sides = {side: {typed.get(one, one) for one in said} for side, said in sides.items()}
    sames = {_name(words) for words in same}
    words_of = {_name(words): words for words in (*same, *(one.partition("=")[0] for one in rename), *ours, *theirs)}
    for one in (*sames, *renamed, *sides["ours"], *sides["theirs"]):
        if one not in known and union.new:
            typed_words = words_of.get(one, one)
            there = ", ".join(shown(clash) for clash in union.clashes[:6]) or "none"
            raise InputError(
                f"There is no clash about {typed_words!r}; nothing was changed. The clashes are: {there}.",
                value=typed_words,
            )
    for one in (sames & set(renamed)) | (sides["ours"] & sides["theirs"]):
        raise InputError(f"{one!r} is decided both ways; nothing was changed.", value=one)
    _refuse_same_codes(mine, union)
    undecided = []
    for clash in union.clashes:
        name = _name(clash.name)
        if clash.holds and name not in sides["ours"] | sides["theirs"]:
            sides[clash.holds].add(name)
        if clash.kind == "name":
            if name not in renamed and name not in sames:
                undecided.append(clash)
            continue
        if name not in sides["ours"] | sides["theirs"]:
            if not prefer:
                undecided.append(clash)
            sides[prefer or "ours"].add(name)
    if undecided:
        raise Refused(clash_words(kitchen, undecided), clashes=[clash.name for clash in undecided])
    return Decided(
        same=frozenset(sames),
        renamed=renamed,
        ours=frozenset(clash.name for clash in union.clashes if _name(clash.name) in sides["ours"]),
    )


def _in_full(union: Union) -> dict[str, str]:
    """How two of one name are asked about, ``animal 26C``, by the name alone where nothing else is asked so."""
    found: dict[str, list[str]] = {}
    for clash in union.clashes:
        if clash.kind == "name":
            found.setdefault(_name(clash.name.partition(" ")[2]), []).append(clash.name)
    return {name: asked[0] for name, asked in found.items() if len(asked) == 1}


def _refuse_same_codes(mine: Side, union: Union) -> None:
    """Raises: Refused with every such code, and the acts to take back here.

    Taking them back has this book draw other codes; else what is packed again would draw the next one that the other
    book drew, and they would never come together.
    """
    codes = [clash.name for clash in union.clashes if clash.kind == "code"]
    if not codes:
        return
    drawn = {str(row["code"]): number(row["act_id"]) for row in mine.rows["code"]}
    packed = {str(row["code"]) for row in mine.rows["package"]}
    acts = sorted({drawn[code] for code in codes}, reverse=True)
    what = "packages" if packed.issuperset(codes) else "things"
    shown = ", ".join(show_code(code) for code in codes[:6]) + (", ..." if len(codes) > 6 else "")
    raise Refused(
        f"Nothing joined: both books issued {shown} for different {what}; one book is a plain copy of the other. "
        f"Take back here what drew them ({', '.join(f'freezerbox undo {act}' for act in acts[:6])}), enter it again "
        "with new labels, and join then: after that undo this book draws other codes. For another place, make the "
        "book with: freezerbox backup --for NAME",
        codes=codes,
        acts=acts,
    )


def _name(words: str) -> str:
    """A clash's name however it is typed; a code without its hyphen."""
    code = compact(words)
    if words.lower().startswith("package "):
        words = re.sub(r"\b(\w{3})-(\w{3})\b", r"\1\2", words)
    return code.lower() if len(code) == 6 and " " not in words.strip() else alike(words)


def _new_name(old: str, new: str) -> str:
    """A record's new name as it is kept.  Raises: InputError for a code that no animal or batch can have."""
    kind = old.split()[:1]
    if kind == ["animal"]:
        return animal_code(new)
    if kind == ["batch"] and not BATCH_CODE.fullmatch(new):
        raise InputError(f"{new!r} is not a batch code. Write it as G26-1.", value=new)
    return new
