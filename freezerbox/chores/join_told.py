"""What a join changed that nobody was asked about, in words: names, which facts stayed, days that do not fit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from freezerbox.book import journal, values
from freezerbox.book.arrivals import PARTING, first_against
from freezerbox.book.assembly import Assembly, Decided
from freezerbox.book.schema import CHANGEABLE
from freezerbox.book.sides import NAMED, Clash, Key, Side, described, name_key
from freezerbox.book.transfer import Row, Value
from freezerbox.chores.join_words import said, shown, two_words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.code import show_code
from freezerbox.core.dates import short_date
from freezerbox.errors import Refused

_NOT_A_FACT = ("name", "void", "retired", "freezer_id", "parent_id", "last_checked_on", "last_surprises")


def refuse_one_name(kitchen: Kitchen, joined: Mapping[str, Sequence[Row]]) -> None:
    """Raises: Refused when two records of the joined book would go by one name, with both."""
    side = Side(rows=joined)
    for table, column in NAMED.items():
        found: dict[tuple[str, str], Row] = {}
        for row in side.named(table):
            name = name_key(side, table, row, frozenset())
            if name in found:
                told = [said(kitchen, _clash("name", table, one), described(one)) for one in (found[name], row)]
                raise Refused(
                    f"Nothing joined: {two_words(table)} would have one name, {row[column]}: {told[0]}; "
                    f"and {told[1]}. Give one of them another name in its book, or another with --rename, and join "
                    "then.",
                    name=str(row[column]),
                )
            found[name] = row


def renamed(mine: Side, assembly: Assembly, joined: Mapping[str, Sequence[Row]]) -> Iterator[str]:
    """What goes by another name in this book from now on."""
    names: dict[Key, str] = {
        (table, str(row["uid"])): str(row[NAMED[table]]) for table in NAMED for row in joined.get(table, ())
    }
    for table, column in NAMED.items():
        for key, row in mine.keys.get(table, ()):
            now = names.get(assembly.naming.final(key), str(row[column]))
            if not row["void"] and now != row[column]:
                yield f"{table} {row[column]} is called {now} from now on."


def kept(
    kitchen: Kitchen, mine: Side, their: Side, assembly: Assembly, joined: Mapping[str, Sequence[Row]], by: Decided
) -> Iterator[str]:
    """Of two that were said to be one: each fact they differed in, what stays, and what it was in the other book."""
    rows: dict[Key, Row] = {(table, str(row["uid"])): row for table in NAMED for row in joined.get(table, ())}
    for clash in assembly.union.clashes:
        if clash.kind != "name" or clash.key not in by.same:
            continue
        table = clash.subject[0]
        one, other = mine.row_of[clash.subject], their.row_of[table, clash.other]
        now = rows[assembly.naming.final(clash.subject)]
        for field in CHANGEABLE[table][1]:
            if field in _NOT_A_FACT or one[field] == other[field]:
                continue
            about = _clash("fact", table, now, field)
            stays, lost = (
                said(kitchen, about, _text(value)) for value in (now[field], _lost(now, one, other, field))
            )
            whose = "this book" if now[field] != one[field] else "the other book"
            yield f"{shown(about)}: {stays} stays; in {whose} it was {lost}."


def _lost(now: Row, one: Row, other: Row, field: str) -> Value:
    return one[field] if now[field] != one[field] else other[field]


def _text(value: Value) -> str:
    return "" if value is None else str(value)


def _clash(kind: str, table: str, row: Row, field: str = "") -> Clash:
    subject: Key = (table, str(row["uid"]), field)
    return Clash(kind=kind, name=f"{table} {row[NAMED[table]]} {field}".strip(), subject=subject, ours="", theirs="")


def days_against(kitchen: Kitchen, mine: Side, their: Side, joined: Mapping[str, Sequence[Row]]) -> Iterator[str]:
    """Pack dates that one book corrected, and what the other did before that day, or split off with another day.

    ``kitchen``: of the joined book.
    """
    shared = set(mine.uid_of.values()) & set(their.uid_of.values())
    corrected: dict[str, set[str]] = {}
    for side in (mine, their):
        acts = set(side.uid_of.values()) - shared
        meant = acts - side.quiet(acts)
        for row in side.rows["change"]:
            if (row["subject_kind"], row["field"]) == ("package", "packed_on") and side.act_of(row) in meant:
                corrected.setdefault(str(row["subject"]), set()).update(acts)
    packed = {str(row["code"]): str(row["packed_on"]) for row in joined.get("package", ())}
    acts_of = {row["id"]: row for row in joined["act"]}
    for code, own in sorted(corrected.items()):
        yield from _step_before(kitchen, code, values.day(packed[code]))
        for row in joined.get("lineage", ()):
            act, part = acts_of[row["act_id"]], str(row["child"])
            of_it = (row["kind"], row["name"], row["void"]) == ("package", code, 0) and act["kind"] in PARTING
            # A part that was corrected with the lot has its day; one of the other book has not.
            if of_it and act["uid"] not in own and packed[part] != packed[code]:
                days = [_day(kitchen, str(one)) for one in (act["happened_on"], packed[part], packed[code])]
                # Nothing was split off before it was packed: then the day of the lot is to be put right first.
                fits = str(act["happened_on"]) >= packed[code]
                way = "To put it right" if fits else "Once that day is right"
                yield (
                    f"{show_code(part)}, split off {show_code(code)} on {days[0]}, still says packed on {days[1]}; "
                    f"{show_code(code)} says {days[2]} now. {way}: freezerbox fix {show_code(part)} "
                    f"--packed {packed[code] if fits else 'DAY'}"
                )


def _step_before(kitchen: Kitchen, code: str, packed: date) -> Iterator[str]:
    step, lot = first_against(kitchen.book, code, packed), show_code(code)
    act = journal.act(kitchen.book, step.act_id) if step else None
    if step and act:
        day, then = _day(kitchen, packed.isoformat()), _day(kitchen, step.happened_on.isoformat())
        yield (
            f"{lot} is packed on {day} now, as one book corrected it; but it was there on {then} (act {act.id}, "
            f"{act.words}). One of the two days is wrong: freezerbox fix {lot} --packed DAY, or "
            f"freezerbox undo {act.id}"
        )


def _day(kitchen: Kitchen, text: str) -> str:
    return short_date(values.day(text), today=kitchen.today)
