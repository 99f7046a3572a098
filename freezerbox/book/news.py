"""What the other book's joins decided that this book had otherwise: nobody need be asked, and it is told."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from freezerbox.book.answers import answer_words, answers
from freezerbox.book.deeds import Deed
from freezerbox.book.joining import Union, fact_name, own_setting, ruled
from freezerbox.book.schema import ANSWERED, OVERRULED, SIGN
from freezerbox.book.sides import Clash, Key, Side
from freezerbox.book.transfer import Value
from freezerbox.book.values import number


def decided_there(ours: Side, theirs: Side, union: Union) -> tuple[Clash, ...]:
    """Each with what this book said until now ("" where it said nothing) and what holds, as ``theirs``."""
    joins = {str(act["uid"]) for act in theirs.rows["act"] if act["kind"] == "join"} & union.new
    if not joins:
        return ()
    asked = {clash.name for clash in union.clashes}
    found = {clash.name: clash for clash in (*_names(ours, theirs, joins), *_others(ours, theirs, joins))}
    return tuple(clash for name, clash in found.items() if name not in asked and clash.ours != clash.theirs)


def _names(ours: Side, theirs: Side, joins: Collection[str]) -> Iterator[Clash]:
    here = answers(ours)
    for key, one in answers(theirs).items():
        if one.act in joins:
            before = answer_words(here[key], (ours, theirs)) if key in here else ""
            said = answer_words(one, (theirs, ours))
            yield Clash(kind="answer", name=f"{one.table} {one.name}", subject=key, ours=before, theirs=said)


def _others(ours: Side, theirs: Side, joins: Collection[str]) -> Iterator[Clash]:
    known = {str(row["code"]) for row in ours.rows["package"]}
    for code in sorted(ruled(theirs, joins) & known):
        told = [Deed(side, code, set(side.uid_of.values())).words() for side in (ours, theirs)]
        yield Clash(kind="package", name=code, subject=(code,), ours=told[0], theirs=told[1])
    for row in sorted(theirs.rows["change"], key=lambda row: number(row["id"])):
        kind, field = str(row["subject_kind"]), str(row["field"])
        if theirs.act_of(row) not in joins or kind in (ANSWERED, OVERRULED, SIGN) or field in ("void", "name"):
            continue
        key = (*theirs.subject(kind, str(row["subject"])), field)
        if kind == "setting" and own_setting(key[1]):
            continue
        before, after = (_value(side, key) for side in (ours, theirs))
        if before is not _NOWHERE and after is not _NOWHERE and field != "typed":
            said = ["" if value is None else str(value) for value in (before, after)]
            yield Clash(kind="fact", name=fact_name(theirs, key), subject=key, ours=said[0], theirs=said[1])


_NOWHERE = object()


def _value(side: Side, key: Key) -> Value | object:
    """What a book says of a fact; ``_NOWHERE`` where it has no such record."""
    kind, field = key[0], key[-1]
    if kind == "setting":
        return next((row["value"] for row in side.rows["setting"] if row["key"] == key[1]), _NOWHERE)
    if kind == "package":
        return next((row[field] for row in side.rows["package"] if row["code"] == key[1]), _NOWHERE)
    row = side.row_of.get(key[:-1])
    return _NOWHERE if row is None else row[field]
