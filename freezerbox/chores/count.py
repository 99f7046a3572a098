"""Counting one place: what is as listed, what lies here but is listed elsewhere, what is listed and not seen.

What was seen is kept from scan to scan, so that a count can be left and gone on with; until it is accepted no
package moves.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from freezerbox.book import journal
from freezerbox.book.values import unreadable_setting
from freezerbox.book.writer import Writer
from freezerbox.chores.count_lots import back_here, came_here, is_lot, meant_here, recount
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.loose import checked, lies_in, place_words, rows_in
from freezerbox.chores.move import found
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.scanned import place_name
from freezerbox.chores.take import read_code
from freezerbox.chores.wording import count
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.records import Place, Reason, State
from freezerbox.errors import InputError, InvalidCode, Refused

COUNT_PREFIX = "count:"
MOST_OF_A_LOT = 5_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What was seen so far in a count.

    seen: codes in order.  lots: how many of a lot, by code.  begun: the day; "" when no count is open.  at: number of
    the latest act when each code was last looked at.  ended: the same for the end of the count; 0 while it goes on.
    by_photo: a photograph showed some of it, and nobody has ended the count since: what is not seen may be hidden.
    """

    seen: tuple[str, ...] = ()
    lots: Mapping[str, int] = field(default_factory=dict)
    begun: str = ""
    at: Mapping[str, int] = field(default_factory=dict)
    ended: int = 0
    by_photo: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """A count compared with the list.

    expected: seen, and listed here.  elsewhere: seen, but listed in another place.  gone: seen, though the book has
    it as gone.  missing: listed here and not seen.  spare: labels of packages not yet weighed, or void ones.
    unknown: codes that are not in this book.  lots: lots whose number differs, and the number counted.
    numbers: how many of each lot were counted, by code, those that left since taken off.
    """

    place: Place
    expected: tuple[Row, ...]
    elsewhere: tuple[Row, ...]
    gone: tuple[Row, ...]
    missing: tuple[Row, ...]
    spare: tuple[Row, ...]
    unknown: tuple[str, ...]
    lots: tuple[tuple[Row, int], ...]
    seen: tuple[str, ...]
    numbers: Mapping[str, int] = field(default_factory=dict)

    @property
    def surprises(self) -> int:
        """How many differences there are."""
        return sum(map(len, (self.elsewhere, self.gone, self.missing, self.spare, self.unknown, self.lots)))


class _Since:
    """What happened to the packages of a count since they were looked at."""

    def __init__(self, kitchen: Kitchen, look: Look) -> None:
        self.look = look
        marks = [*look.at.values(), *([look.ended] if look.ended else [])]
        self.later = journal.movements_after(kitchen.book, min(marks)) if marks else ()

    def moved(self, code: str) -> bool:
        """Whether a package went or came since it was seen."""
        at = self.look.at.get(code)
        return at is not None and any(act > at for act, moved, _ in self.later if moved == code)

    def came(self, code: str) -> bool:
        """Whether a package was put where it is after the count was ended."""
        return bool(self.look.ended) and any(act > self.look.ended for act, moved, _ in self.later if moved == code)

    def delta(self, code: str) -> int:
        """By how much a lot grew since it was counted."""
        at = self.look.at.get(code)
        return 0 if at is None else sum(delta for act, moved, delta in self.later if moved == code and act > at)


def look_of(kitchen: Kitchen, place: Place) -> Look:
    """What an open count of the place has seen; nothing when none is open."""
    key = f"{COUNT_PREFIX}{place.id}"
    kept = kitchen.settings.get(key)
    return look_kept(key, kept) if kept else Look()


def look_kept(key: str, kept: str) -> Look:
    """A count as it is kept in the setting ``key``.  Raises: BookTrouble when it is none."""
    try:
        values = json.loads(kept)
        return Look(
            seen=tuple(map(str, values["seen"])),
            lots={str(code): int(number) for code, number in values["lots"].items()},
            begun=str(values["begun"]),
            at={str(code): int(act) for code, act in values.get("at", {}).items()},
            ended=int(values.get("ended", 0)),
            by_photo=bool(values.get("by_photo", False)),
        )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise unreadable_setting(key, kept[:40], "freezerbox restore COPY") from error


def compare(kitchen: Kitchen, place: Place, look: Look | None = None) -> Counted:
    """The count of a place as it stands, against the list.

    A count may lie open for days: what was taken, moved or packed since it was looked at is no difference.
    """
    look = look if look is not None else look_of(kitchen, place)
    since = _Since(kitchen, look)
    listed = {row.code: row for row in rows_in(kitchen, place)}
    here = lies_in(kitchen, place)
    rows = {row.code: row for row in Rows(kitchen).of_codes(look.seen)}
    numbers = {code: max(0, number + since.delta(code)) for code, number in look.lots.items()}
    groups: dict[str, list[Row]] = {"expected": [], "elsewhere": [], "gone": [], "spare": []}
    for code in look.seen:
        row = rows.get(code)
        if row is None:
            continue
        state = row.package.state
        if here(state):
            groups["expected"].append(row)
        elif since.moved(code) or numbers.get(code) == 0:
            continue  # None of a lot was seen here, where none is listed.
        elif state.state is State.FROZEN:
            groups["elsewhere"].append(row)
        elif state.state is State.SPARE or state.reason is Reason.VOID:
            groups["spare"].append(row)
        else:
            groups["gone"].append(row)
    return Counted(
        place=place,
        expected=tuple(groups["expected"]),
        elsewhere=tuple(groups["elsewhere"]),
        gone=tuple(groups["gone"]),
        missing=tuple(row for code, row in listed.items() if code not in look.seen and not since.came(code)),
        spare=tuple(groups["spare"]),
        unknown=tuple(code for code in look.seen if code not in rows),
        lots=tuple(
            (row, numbers[row.code])
            for row in (*groups["expected"], *groups["elsewhere"], *groups["gone"])
            if numbers.get(row.code, row.package.state.quantity) != row.package.state.quantity
        ),
        numbers=numbers,
        seen=look.seen,
    )


@one_writer
def see(
    kitchen: Kitchen,
    place: Place,
    codes: Sequence[str],
    *,
    number: int | None = None,
    by_photo: bool = False,
    request_id: str | None = None,
) -> Counted:
    """Add codes to what the count has seen; with ``number``, how many there are of the one lot.

    ``by_photo``: a photograph showed them, which shows no more than what lies on top.

    Raises: InvalidCode for what is no package's code; Refused when a number is given for a single package.
    """
    look = look_of(kitchen, place)
    read = [meant_here(kitchen, place, _of_a_package(read_code(kitchen, code))) for code in codes]
    seen = tuple(dict.fromkeys([*look.seen, *read]))
    lots = dict(look.lots)
    # What is looked at again after it went or came is seen now, and not as it was then.
    since = _Since(kitchen, look)
    now = journal.latest(kitchen.book)
    at = dict(look.at) | {code: now for code in read if code not in look.seen or since.moved(code)}
    if number is not None:
        lots[read[0]], at = number, at | {read[0]: now}
        if not is_lot(kitchen, read[0]):
            raise Refused(f"{show_code(read[0])} is a single package; only a lot is counted by number.", code=read[0])
    if seen != look.seen or lots != look.lots or at != look.at:
        words = f"saw {', '.join(show_code(code) for code in read[:3])} in {place_words(place)}"
        words += f" and {len(read) - 3} more" if len(read) > 3 else ""
        _keep(
            kitchen,
            place,
            Look(seen=seen, lots=lots, begun=look.begun, at=at, by_photo=by_photo or look.by_photo),
            words,
            request_id,
        )
    return compare(kitchen.afresh(), place)


def _of_a_package(code: str) -> str:
    if not code[0].isalpha():
        raise InvalidCode(
            f"{show_code(code)} is a sign's or a card's code, and no package's. Not counted.", value=code
        )
    return code


@one_writer
def unsee(kitchen: Kitchen, place: Place) -> str | None:
    """Forget the last one seen; its code, or ``None`` when there is none."""
    look = look_of(kitchen, place)
    if not look.seen:
        return None
    last = look.seen[-1]
    lots = {code: number for code, number in look.lots.items() if code != last}
    rest = replace(look, seen=look.seen[:-1], lots=lots, ended=0)
    _keep(kitchen, place, rest, f"did not see {show_code(last)} in {place_words(place)}", None)
    return last


def again(kitchen: Kitchen, place: Place) -> None:
    """Throw away what an open count has seen, to begin anew."""
    if look_of(kitchen, place).begun:
        with kitchen.book.act(
            "count-look", kitchen.today, words=f"began the count of {place_words(place)} again"
        ) as act:
            _forget(kitchen, act, place)


@one_writer
def finish(kitchen: Kitchen, place: Place) -> Counted:
    """The count is over: the place is checked today.  What differs can still be accepted; nothing has moved."""
    counted = compare(kitchen, place)
    words = f"counted {place_words(place)}: {summary(counted)}"
    with kitchen.book.act("count", kitchen.today, words=words) as act:
        checked(kitchen, act, place, counted.surprises)
        for row in counted.expected:
            found(act, row)
        if counted.surprises == 0:
            _forget(kitchen, act, place)
        else:
            _write(
                kitchen,
                act,
                place,
                replace(look_of(kitchen, place), ended=journal.latest(kitchen.book), by_photo=False),
            )
    return counted


@one_writer
def accept(
    kitchen: Kitchen,
    place: Place,
    only: Sequence[str] | None = None,
    *,
    not_here: bool = False,
    request_id: str | None = None,
) -> tuple[Counted, tuple[Row, ...]]:
    """Make the list say what the count saw, as one act, and close the count.

    What lies here is listed here; what was taken out and lies here is put back; what is listed here and was not seen
    goes on the search list, its place kept; a lot has the number counted; some of a lot that is listed elsewhere are
    a part of their own here, under a new code.  ``only``: just these codes, and what was not seen is searched for all
    the same; an empty list accepts nothing and closes the count.  ``not_here``: somebody looked for what photographs
    do not show; without it only those of ``only`` are missing after a look at photographs.

    Returns the count as it was, and the packages as they are now.

    Raises: Refused when no count of the place is open; InvalidCode; InputError for a code with no difference to
    accept.
    """
    look = look_of(kitchen, place)
    if not look.begun:
        raise Refused(
            f"No count of {place_words(place)} is open, so there is nothing to accept. Scan what lies there first: "
            f'freezerbox count "{place_words(place, place_name(kitchen, place))}"'
        )
    counted = compare(kitchen, place)
    wanted = None if only is None else [meant_here(kitchen, place, read_code(kitchen, code)) for code in only]
    differing = [*counted.elsewhere, *counted.gone, *counted.missing, *(row for row, _ in counted.lots)]
    for code in wanted or ():
        if code not in {row.code for row in differing}:
            raise InputError(f"{show_code(code)} has no difference to accept in {place_words(place)}.", value=code)

    def takes(row: Row) -> bool:
        return wanted is None or row.code in wanted

    gone_astray = [
        row
        for row in counted.missing
        if wanted != [] and (not look.by_photo or not_here or (wanted is not None and row.code in wanted))
    ]
    words = f"counted {place_words(place)} and accepted: {summary(counted)}"
    parts: dict[str, str] = {}
    with kitchen.book.act("count", kitchen.today, request_id=request_id, words=words) as act:
        for row in filter(takes, counted.elsewhere):
            parts[row.code] = came_here(kitchen, act, row, counted.numbers.get(row.code), place)
        for row in filter(takes, counted.gone):
            back_here(kitchen, act, row, counted.numbers.get(row.code), place)
        for row in gone_astray:
            if row.package.missing_since is None:
                act.change("package", row.code, "missing_since", None, kitchen.today.isoformat())
        for row in counted.expected:
            found(act, row)
        for row, number in counted.lots:
            if takes(row) and row in counted.expected:
                recount(kitchen, act, row, number, row.package.state.freezer_id, row.package.state.place_id)
        checked(kitchen, act, place, counted.surprises)
        _forget(kitchen, act, place)
    missing = [row.code for row in gone_astray]
    done = [row.code for row in differing if takes(row) and row not in counted.missing]
    rows = dict.fromkeys([*(parts.get(code, code) for code in done), *missing])
    return counted, Rows(kitchen.afresh()).of_codes(list(rows))


def summary(counted: Counted) -> str:
    """``10 as expected, 1 not expected here (listed in green basket), 2 missing``."""
    parts = [f"{len(counted.expected)} as expected"]
    if counted.elsewhere:
        places = ", ".join(dict.fromkeys(row.place or row.freezer or "no place" for row in counted.elsewhere))
        parts.append(f"{len(counted.elsewhere)} not expected here (listed in {places})")
    if counted.gone:
        parts.append(f"{len(counted.gone)} here that the book has as gone")
    if counted.missing:
        parts.append(f"{len(counted.missing)} missing")
    if counted.lots:
        parts.append(f"{count(len(counted.lots), 'lot')} with another number")
    if counted.spare:
        parts.append(f"{count(len(counted.spare), 'label')} of no package")
    if counted.unknown:
        parts.append(f"{count(len(counted.unknown), 'code')} not in this book")
    return ", ".join(parts)


def search_list(kitchen: Kitchen) -> tuple[Row, ...]:
    """Packages a count did not find where they are listed, and that turned up nowhere since; the longest first."""
    rows = [row for row in Rows(kitchen).all(State.FROZEN) if row.package.missing_since is not None]
    return tuple(sorted(rows, key=lambda row: (row.package.missing_since or kitchen.today, row.code)))


def missing_words(row: Row) -> str:
    """``not found on 2 Dec 2026``; "" when it is not missing."""
    return f"not found on {long_date(row.package.missing_since)}" if row.package.missing_since else ""


def _keep(kitchen: Kitchen, place: Place, look: Look, words: str, request_id: str | None) -> None:
    with kitchen.book.act("count-look", kitchen.today, request_id=request_id, words=words) as act:
        _write(kitchen, act, place, look)


def _write(kitchen: Kitchen, act: Writer, place: Place, look: Look) -> None:
    key = f"{COUNT_PREFIX}{place.id}"
    begun = look.begun or kitchen.today.isoformat()
    kept = {"seen": look.seen, "lots": dict(look.lots), "begun": begun, "at": dict(look.at), "ended": look.ended}
    if look.by_photo:
        kept["by_photo"] = True
    act.change("setting", key, "value", kitchen.settings.get(key), json.dumps(kept))


def _forget(kitchen: Kitchen, act: Writer, place: Place) -> None:
    key = f"{COUNT_PREFIX}{place.id}"
    kept = kitchen.settings.get(key)
    if kept:
        act.change("setting", key, "value", kept, None)
