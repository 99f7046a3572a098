"""The list on the lid: one page a freezer, by use, a box to tick for each pack; and entering the ticks."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from freezerbox.book import queries
from freezerbox.book.values import unreadable_setting
from freezerbox.chores.balance import use_of
from freezerbox.chores.kitchen import Kitchen, no_such, one_writer
from freezerbox.chores.move import find_target
from freezerbox.chores.rows import Row, Rows, in_rotation_order, totals
from freezerbox.chores.take import SAID, Done, Leaving, act_kind, done_of, let_go, read_day, what_leaves
from freezerbox.chores.wording import count, for_words, holds_words, on_hold_words, origin_words, packs_and_weight
from freezerbox.core.code import looks_like_code
from freezerbox.core.dates import long_date, month_year
from freezerbox.core.records import Freezer, Reason, State
from freezerbox.errors import FreezerboxError, InputError, Refused
from freezerbox.food import uses
from freezerbox.pages.lid import Group, Section, write_lid

LID_PREFIX = "lid:"
MOST_KEPT = 12
"""Lists of a freezer whose lines are kept: more than hang on any lid."""
_RANGE = re.compile(r"(\d{1,4})-(\d{1,4})")
_TIMES = re.compile(r"(\d{1,4})[x*](\d{1,3})")
_NUMBER = re.compile(r"\d{1,4}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Lid:
    """A list printed.

    file, pages: the PDF.  codes: by number on the list, from 1.  freezer: its name.  number: the list's own, which it
    says in its head.  unknown: the letters that the font has not; a ``?`` stands for each.
    """

    file: Path
    pages: int
    codes: tuple[str, ...]
    freezer: str
    number: int
    unknown: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """What a printed list's numbers stand for, for as long as it may hang on a lid.

    number: the list's own; 0 for one printed before lists had any.  printed: the day.  codes: by number, from 1.
    """

    number: int
    printed: date
    codes: tuple[str, ...]

    @property
    def words(self) -> str:
        """``list 7 of 6 Dec 2026``."""
        return (
            f"list {self.number} of {long_date(self.printed)}"
            if self.number
            else f"list of {long_date(self.printed)}"
        )


@one_writer
def print_lid(kitchen: Kitchen, to: Path, *, freezer: str = "", paper: str = "letter") -> Lid:
    """Write the list of one freezer; what its numbers stand for is kept, so that ticks can be entered.

    Each list has a number, and its own lines go on meaning what they meant when another is printed; what is printed
    again with the same lines keeps its number.

    Raises: UnknownRecord for the freezer; InputError when several are there and none is named, or for the file;
    Refused for an empty freezer.
    """
    of = _which(kitchen, freezer)
    rows = [row for row in Rows(kitchen).all(State.FROZEN) if row.package.state.freezer_id == of.id]
    if len(queries.freezers(kitchen.book)) == 1:
        rows = list(Rows(kitchen).all(State.FROZEN))
    ours = in_rotation_order(row for row in rows if not row.package.owner)
    if not ours:
        raise Refused(f"The list has nothing in {of.name}.")
    listed = _in_list_order(ours)
    sections = _sections(kitchen, listed)
    held = [row for row in ours if row.holds]
    if held:
        sections.append(_held(kitchen, held))
    free = totals(row for row in ours if not row.holds)
    title = f"{of.name}: {packs_and_weight(kitchen, free)}{on_hold_words(kitchen, totals(held))}"
    codes = tuple(row.code for row in listed)
    key = f"{LID_PREFIX}{of.id}"
    before = _kept(kitchen, key)
    number = max((one.number for name in kitchen.settings for one in _kept(kitchen, name)), default=0) + 1
    if before and before[0].codes == codes and before[0].number:
        number, before = before[0].number, before[1:]
    subtitle = (
        f"List {number}, printed {long_date(kitchen.today)}. Tick the box of what you take. Once a week somebody "
        f"types the ticked numbers: freezerbox take --ticks --list {number}"
    )
    written = write_lid(sections, to, title=title, subtitle=subtitle, paper=paper)
    now = Listed(number=number, printed=kitchen.today, codes=codes)
    kept = json.dumps(_as_kept(now) | {"before": [_as_kept(one) for one in before[: MOST_KEPT - 1]]})
    with kitchen.book.act("lid", kitchen.today, words=f"printed list {number}, of {of.name}") as act:
        act.change("setting", key, "value", kitchen.settings.get(key), kept)
    return Lid(
        file=written.file,
        pages=written.pages,
        codes=codes,
        freezer=of.name,
        number=number,
        unknown=written.unknown,
    )


def listed_by(kitchen: Kitchen, number: str = "", *, freezer: str = "") -> Listed:
    """The printed list that ticks are of: the one of that number, else the latest of the freezer.

    Raises: Refused when none was printed; InputError for a number that no list kept has, or when several freezers
    have one and none is named.
    """
    kept = {key: _kept(kitchen, key) for key in kitchen.settings if key.startswith(LID_PREFIX)}
    if not kept:
        raise Refused("No list was printed to tick. Print one: freezerbox lid --to lid.pdf")
    if number:
        every = sorted((one for lists in kept.values() for one in lists if one.number), key=lambda one: one.number)
        found = next((one for one in every if str(one.number) == number.strip().lstrip("0")), None)
        if found is None:
            there = ", ".join(f"{one.number} ({long_date(one.printed)})" for one in every)
            raise InputError(f"{number!r} is no list that is kept here. These are: {there or 'none'}.", value=number)
        return found
    return _latest(kitchen, kept, freezer)


def read_ticks(
    kitchen: Kitchen, texts: Sequence[str], *, freezer: str = "", number: str = ""
) -> tuple[tuple[str, ...], Listed | None]:
    """The codes that ticks stand for: numbers of the printed list, ``3``, ``12-15``, ``40x3`` of a lot, or codes.

    ``number``, ``freezer``: which list, as of ``listed_by``.  Returns the list too; ``None`` when all were codes.

    Raises: InputError for what is none of these; what ``listed_by`` raises.
    """
    of = listed_by(kitchen, number, freezer=freezer) if number else None
    found: list[str] = []
    for text in " ".join(texts).replace(",", " ").split():
        # Three figures and three more are more than any list has; six characters with a figure are a code.
        if looks_like_code(text) and not _NUMBER.fullmatch(text) and not _RANGE.fullmatch(text):
            found.append(text)
            continue
        of = of or listed_by(kitchen, freezer=freezer)
        codes = of.codes
        if match := _RANGE.fullmatch(text):
            first, last, times = int(match[1]), int(match[2]), 1
        elif match := _TIMES.fullmatch(text):
            first, last, times = int(match[1]), int(match[1]), int(match[2])
        elif _NUMBER.fullmatch(text):
            first, last, times = int(text), int(text), 1
        else:
            raise InputError(
                f"{text!r} is no tick. Write numbers of the list (3, 12-15, 40x3 for three of a lot) or codes.",
                value=text,
            )
        if first > last:
            raise InputError(f"{text!r} runs backwards. Write the smaller first: {last}-{first}.", value=text)
        if not 1 <= first <= last <= len(codes) or times < 1:
            raise InputError(f"{text!r} is not on the list: its numbers go from 1 to {len(codes)}.", value=text)
        found.extend(code for code in codes[first - 1 : last] for _ in range(times))
    return tuple(found), of


@one_writer
def take_ticked(
    kitchen: Kitchen,
    codes: Sequence[str],
    reason: Reason = Reason.EATEN,
    *,
    already_eaten: bool = False,
    on: str = "",
    request_id: str | None = None,
) -> tuple[tuple[Done, ...], tuple[tuple[str, FreezerboxError], ...]]:
    """Mark what a list was ticked for as gone, all as one act, which one undo takes back.

    A code may stand several times, for so many of a lot.  Those that can are taken.

    Returns what was done, and what was refused and why.  Raises: InvalidDate; BookTrouble.
    """
    day = read_day(kitchen, on)
    leaving: list[Leaving] = []
    refused: list[tuple[str, FreezerboxError]] = []
    for code, number in Counter(codes).items():
        try:
            leaving.append(what_leaves(kitchen, code, reason, already_eaten=already_eaten, on=on, number=number))
        except FreezerboxError as error:
            if error.exit_code == 3:
                raise
            refused.append((code, error))
    if leaving:
        total = sum(one.number for one in leaving)
        words = f"{SAID[reason]} by the ticks of a list: {count(total, 'package')}"
        with kitchen.book.act(act_kind(reason), day, request_id=request_id, words=words) as act:
            for one in leaving:
                let_go(act, one, "")
    return tuple(done_of(kitchen, one) for one in leaving), tuple(refused)


def _kept(kitchen: Kitchen, key: str) -> tuple[Listed, ...]:
    """The lists kept in the setting ``key``, the latest first; none when it keeps none.  Raises: BookTrouble."""
    kept = kitchen.settings.get(key) if key.startswith(LID_PREFIX) else None
    if not kept:
        return ()
    try:
        values = json.loads(kept)
        return tuple(
            Listed(
                number=int(one.get("number", 0)),
                printed=date.fromisoformat(one["printed"]),
                codes=tuple(map(str, one["codes"])),
            )
            for one in (values, *values.get("before", ()))
        )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise unreadable_setting(key, kept[:40], "freezerbox restore COPY") from error


def _as_kept(one: Listed) -> dict[str, object]:
    return {"number": one.number, "printed": one.printed.isoformat(), "codes": list(one.codes)}


def _latest(kitchen: Kitchen, kept: Mapping[str, Sequence[Listed]], freezer: str) -> Listed:
    # A freezer that was sold has no lid any more, and its name would not be taken.
    there = (_which(kitchen, freezer),) if freezer else queries.freezers(kitchen.book)
    names = {f"{LID_PREFIX}{one.id}": one.name for one in there}
    kept = {key: lists for key, lists in kept.items() if key in names and lists}
    if not kept:
        raise Refused("No list was printed to tick. Print one: freezerbox lid --to lid.pdf")
    if len(kept) > 1:
        raise InputError(
            f"Say which list it is, with --list and the number in its head, or whose, with --freezer: "
            f"{', '.join(names[key] for key in kept)}.",
            value=freezer,
        )
    return next(iter(kept.values()))[0]


def _which(kitchen: Kitchen, name: str) -> Freezer:
    freezers = queries.freezers(kitchen.book)
    if name:
        target = find_target(kitchen, name)
        if target.place is not None:
            raise no_such("freezer", name, [one.name for one in freezers], "A list is of a whole freezer.")
        return target.freezer
    if not freezers:
        raise Refused('There is no freezer yet. Add one: freezerbox freezer add "Garage chest"')
    if len(freezers) > 1:
        names = ", ".join(one.name for one in freezers)
        raise InputError(f"Say which freezer, with --freezer: {names}.", value=name)
    return freezers[0]


def _in_list_order(rows: Sequence[Row]) -> list[Row]:
    order = {use.key: number for number, use in enumerate(uses.uses())}
    free = [row for row in rows if not row.holds]
    return sorted(free, key=lambda row: (order[use_of(row).key], _group_name(row)))


def _sections(kitchen: Kitchen, rows: Sequence[Row]) -> list[Section]:
    sections: dict[str, dict[str, list[tuple[str, int]]]] = {}
    for number, row in enumerate(rows, start=1):
        groups = sections.setdefault(use_of(row).name, {})
        groups.setdefault(_group_name(row), []).append(
            (_cell(kitchen, f"{number:\u2007>{len(str(len(rows)))}}", row), max(1, row.package.state.quantity))
        )
    return [
        Section(title=title, groups=tuple(Group(words=words, cells=tuple(cells)) for words, cells in groups.items()))
        for title, groups in sections.items()
    ]


def _held(kitchen: Kitchen, rows: Sequence[Row]) -> Section:
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(f"{_group_name(row)}: {holds_words(row.holds, kitchen.today)}", []).append(row)
    return Section(
        title="HELD - DO NOT EAT",
        groups=tuple(
            Group(words=f"{words} ({packs_and_weight(kitchen, totals(own))})", cells=())
            for words, own in groups.items()
        ),
    )


def _group_name(row: Row) -> str:
    package = row.package
    details = [
        row.cut_name,
        origin_words(row),
        f"{package.fat_percent}% fat" if package.fat_percent else "",
        package.seasoning,
        for_words(package),
    ]
    return ", ".join(detail for detail in details if detail)


def _cell(kitchen: Kitchen, number: str, row: Row) -> str:
    weight = "" if row.package.net_mg is None else kitchen.mass(row.package.net_mg)
    when = month_year(row.package.first_frozen_on).title()
    return "  ".join(part for part in (number, weight, when, row.place) if part)
