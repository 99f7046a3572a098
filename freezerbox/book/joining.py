"""Two books into one: the union of their acts, in one order whichever comes first.

Acts are known by their uid; every row belongs to an act.  The order of the union keeps each book's own order and
otherwise goes by when an act was recorded, then by uid, so that either book joined into the other gives the same.
What two people decided differently is not decided here: it is found, and the caller says which side holds.
``answers`` tells what becomes of that when the books meet again.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from freezerbox.book.answers import asked_again
from freezerbox.book.both import Parted, all_true, filled, movement
from freezerbox.book.deeds import Deed
from freezerbox.book.schema import ANSWERED, OVERRULED, SIGN
from freezerbox.book.sides import NAMED, Clash, Key, Side, described, first_said, name_key
from freezerbox.book.transfer import Row, Value
from freezerbox.book.values import number
from freezerbox.core.records import Movement, Reason

FOLLOWING = {"net_mg": "typed"}
"""Facts that another one carries with it: they are not asked about apart."""
DAYS = ("packed_on", "first_frozen_on")
"""Facts of a spare label filled in both books that go with who filled it: they are not asked about apart."""
_OWN_SETTINGS = ("letter", "backup-to", "backup-last", "printer", "scanner")
_OWN_BEGINNINGS = ("start:", "shift:", "count:")


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


def union(ours: Side, theirs: Side, same: frozenset[str] = frozenset()) -> Union:
    """The acts of both in their joined order, and what clashes.

    ``same``: freezers said to be one, ``freezer cabin``; then the places in them may clash.
    """
    known = {str(act["uid"]) for act in ours.rows["act"]}
    there = {str(act["uid"]) for act in theirs.rows["act"]}
    clashes = tuple(_clashes(ours, theirs, known - there, there - known, same))
    asked = {clash.name for clash in clashes}
    moved = _moved(ours, known - there) & _moved(theirs, there - known)
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
    first = first_said(ours, theirs)
    sides = [[(first[str(act["uid"])][0], str(act["uid"])) for act in side] for side in (ours, theirs)]
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
    again = list(asked_again(ours, theirs, mine, new))
    yield from again
    pairs = {(clash.subject[1], uid, "name") for clash in again for uid in clash.subject[2].split()}
    yield from _code_clashes(ours, theirs, mine, new)
    twice = list(_entered_twice(ours, theirs, mine, new))
    yield from twice
    done = {clash.name for clash in twice}
    packages = [clash for clash in _package_clashes(ours, theirs, mine, new) if clash.name not in done]
    yield from packages
    yield from _origin_clashes(ours, theirs, mine, new)
    asked = {("package", clash.name, day) for clash in packages if clash.filled for day in DAYS} | pairs
    yield from (clash for clash in _fact_clashes(ours, theirs, mine, new) if clash.subject not in asked)


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
                    ours=described(other),
                    theirs=described(row),
                )


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
    decided = ruled(ours, mine) & ruled(theirs, new)
    here = {str(row["code"]): row for row in ours.rows["package"]}
    for row in theirs.rows["package"]:
        own = here.get(str(row["code"]))
        if own is None or own["uid"] == row["uid"]:
            continue
        if (ours.act_of(own) in mine and theirs.act_of(row) in new) or row["code"] in decided:
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


def ruled(side: Side, acts: Collection[str]) -> set[str]:
    """Codes of the packages of which joins among ``acts`` said which book is right."""
    return {
        str(row["subject"])
        for row in side.rows["change"]
        if row["subject_kind"] == OVERRULED and side.act_of(row) in acts
    }


def _packed(row: Row) -> str:
    return f"{row['cut']} of {row['packed_on']}"


def _package_clashes(ours: Side, theirs: Side, mine: set[str], new: set[str]) -> Iterable[Clash]:
    there = _moved(theirs, new)
    codes = sorted(_moved(ours, mine) & there)
    parted, others = _parted(ours, mine, codes), _parted(theirs, new, codes)
    # Where each has decided it, both steps of deciding would count.
    decided = ruled(ours, mine) & ruled(theirs, new)
    for code in codes:
        if code in decided or not all_true(parted[code], others[code]):
            both = filled(parted[code]) and filled(others[code])
            deeds = Deed(ours, code, mine), Deed(theirs, code, new)
            yield Clash(
                kind="package",
                name=code,
                subject=(code,),
                ours=deeds[0].words(parted[code], both),
                theirs=deeds[1].words(others[code], both),
                filled=both,
                # Where both come to the same either does, so long as it is the same one seen from either book.
                holds=("ours" if deeds[0].first < deeds[1].first else "theirs")
                if not both and deeds[0].outcome == deeds[1].outcome
                else "",
            )


def _parted(side: Side, acts: set[str], codes: Iterable[str]) -> dict[str, Parted]:
    """What moved each of ``codes``, parted into acts that both hold and ``acts``."""
    found: dict[str, tuple[list[Movement], list[Movement]]] = {code: ([], []) for code in codes}
    for row in side.rows["movement"]:
        if row["code"] in found:
            found[str(row["code"])][side.act_of(row) in acts].append(movement(row))
    return dict(found)


def _moved(side: Side, acts: set[str]) -> set[str]:
    """The packages that moved in ``acts``."""
    return {str(row["code"]) for row in side.rows["movement"] if side.act_of(row) in acts}


def _origin_clashes(ours: Side, theirs: Side, mine: set[str], new: set[str]) -> Iterable[Clash]:
    here, there = _origins(ours, mine), _origins(theirs, new)
    for code, names in there.items():
        if code in here and here[code] != names:
            told = [" and ".join(sorted(side[code])) or "nothing" for side in (here, there)]
            yield Clash(kind="origin", name=f"package {code} origin", subject=(code,), ours=told[0], theirs=told[1])


def _origins(side: Side, acts: set[str]) -> dict[str, set[str]]:
    """What packages are made of, where ``acts`` added to it afterwards, or took from it."""
    packed = {str(row["code"]): side.act_of(row) for row in side.rows["package"]}
    touched = {
        str(row["child"])
        for row in side.rows["lineage"]
        if side.act_of(row) in acts and packed.get(str(row["child"])) not in acts
    }
    for row in side.rows["change"]:
        if (row["subject_kind"], row["field"]) == ("lineage", "void") and side.act_of(row) in acts:
            touched.add(str(side.row_of[side.subject("lineage", str(row["subject"]))]["child"]))
    found: dict[str, set[str]] = {code: set() for code in touched - _void(side)}
    for row in side.named("lineage"):
        if str(row["child"]) in found:
            found[str(row["child"])].add(f"{row['kind']} {row['name']}")
    return found


def _fact_clashes(ours: Side, theirs: Side, mine: set[str], new: set[str]) -> Iterable[Clash]:
    here, quiet = _corrected(ours, mine), (ours.quiet(mine), theirs.quiet(new))
    meant = _corrected(ours, mine - quiet[0]), _corrected(theirs, new - quiet[1])
    for key, value in _corrected(theirs, new).items():
        if key in here and here[key] != value:
            # Who took his correction back says nothing of it.
            says = [key in one for one in meant]
            holds = "" if says[0] == says[1] else "ours" if says[0] else "theirs"
            if key[-1] in FOLLOWING.values() and not holds:
                continue
            yield Clash(
                kind="fact",
                holds=holds,
                name=fact_name(ours, key),
                subject=key,
                ours=_said(here[key]),
                theirs=_said(value),
            )


def _corrected(side: Side, acts: set[str]) -> dict[Key, Value]:
    """The latest word of ``acts`` on each fact they corrected."""
    found: dict[Key, Value] = {}
    for row in sorted(side.rows["change"], key=lambda row: number(row["id"])):
        kind, subject = str(row["subject_kind"]), str(row["subject"])
        if kind in (OVERRULED, ANSWERED, SIGN) or (kind, row["field"]) == ("lineage", "void"):
            # It follows from who is right about a package, a name or an origin, which is asked by itself.
            continue
        if side.act_of(row) in acts and not (kind == "setting" and own_setting(subject)):
            found[*side.subject(kind, subject), str(row["field"])] = row["new"]
    return found


def own_setting(key: str) -> bool:
    """Whether a setting belongs to one book and does not travel: it is of its machine and printer, of the sheet begun
    there, or of a count that names acts by that book's numbers.
    """
    return key in _OWN_SETTINGS or key.startswith(_OWN_BEGINNINGS)


def fact_name(side: Side, key: Key) -> str:
    """``package K7P3MT net_mg``, ``animal 26B tag``; records without a name by their uid."""
    row = side.row_of.get(key[:-1])
    name = str(row[NAMED[key[0]]]) if row and key[0] in NAMED else "/".join(key[1:-1])
    return " ".join((key[0], name, key[-1]))


def _said(value: Value) -> str:
    return "" if value is None else str(value)
