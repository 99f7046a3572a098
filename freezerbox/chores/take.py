"""Taking packages out, and putting one back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from freezerbox.book import at_hand, journal, queries
from freezerbox.book.writer import Writer
from freezerbox.chores.evenings import evenings_of_detected
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.late import Way, days_to_say_again, go, lay_on, refuse_before_it_went, way_out
from freezerbox.chores.loose_ends import still_there
from freezerbox.chores.out_of_lot import coming_back, still_out_words, ways
from freezerbox.chores.rows import Row, Rows, in_rotation_order
from freezerbox.chores.sign_words import unused_words
from freezerbox.chores.went_into import how_to_unmake, in_it_too
from freezerbox.chores.wording import (
    PULLED,
    age_words,
    coded_line,
    gone_words,
    holds_words,
    is_reserved,
    of_lot_words,
    package_line,
    stay_words,
    was_pulled,
)
from freezerbox.core.code import parse_code, rejoined, show_code
from freezerbox.core.dates import add_months, long_date, months_between, parse_date, short_date
from freezerbox.core.records import Package, PackageState, Reason, State
from freezerbox.errors import AlreadyGone, Held, InvalidDate, Refused, UnknownCode
from freezerbox.food import cuts

ALLOWED_ON_HOLD = frozenset({Reason.DISCARDED, Reason.LOST, Reason.MOVED_OUT})
"""Ways out that do not end in anybody eating it."""
BY_HAND = (
    Reason.EATEN, Reason.GIVEN, Reason.DISCARDED, Reason.MADE_INTO, Reason.CANNED, Reason.FED_TO_DOG, Reason.LOST,
    Reason.MOVED_OUT,
)  # fmt: skip
"""Reasons a person may give; ``void`` is the book's own."""

SAID = {
    Reason.EATEN: "taken",
    Reason.GIVEN: "given away",
    Reason.DISCARDED: "discarded",
    Reason.MADE_INTO: "taken to be made into something",
    Reason.CANNED: "taken for canning",
    Reason.FED_TO_DOG: "taken for the dog",
    Reason.LOST: "marked lost",
    Reason.MOVED_OUT: "moved out",
}
"""How a way out is said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What was done to one package.  message: a line in plain words.  hint: a quiet second line, or "".

    number: how many of a lot it was done to.
    """

    row: Row
    message: str
    hint: str = ""
    number: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaving:
    """A package about to go.

    rows: what is known of it.  row: as it is now.  reason, day: why and when it goes.  way: what that comes to.
    number: how many of a lot.  words: what is said of it.
    """

    rows: Rows
    row: Row
    reason: Reason
    day: date
    way: Way
    number: int
    words: str

    @property
    def gone(self) -> Row:
        """The row once it is written that it went, last of all that is said of it."""
        state = PackageState(
            state=State.GONE,
            reason=self.reason,
            freezer_id=self.way.then.freezer_id,
            place_id=self.way.then.place_id,
            quantity=0,
            since=self.day,
        )
        return replace(self.row, package=replace(self.row.package, state=state))


def read_code(kitchen: Kitchen, text: str) -> str:
    """The code that was typed or scanned.  Raises: InvalidCode, proposing the live code one slip away."""
    return parse_code(text, queries.live_codes(kitchen.book))


def put_together(kitchen: Kitchen, texts: Sequence[str]) -> list[str]:
    """What was typed, with codes typed with a space as one: ``k7p 3mt``."""
    return rejoined(texts, lambda code: queries.code_kind(kitchen.book, code) is not None)


def find_row(kitchen: Kitchen, text: str) -> Row:
    """The row of the package that ``text`` names.  Raises: InvalidCode, UnknownCode."""
    package = find_package(kitchen, text)
    return Rows(kitchen, only=[package.code]).row(package)


def find_package(kitchen: Kitchen, text: str) -> Package:
    """The record of the package that ``text`` names.  Raises: InvalidCode, UnknownCode."""
    code = read_code(kitchen, text)
    package = queries.package(kitchen.book, code, as_of=kitchen.as_of)
    if package is None and kitchen.as_of and queries.package(kitchen.book, code):
        raise UnknownCode(f"{show_code(code)} was not packed yet on {long_date(kitchen.as_of)}.", code=code)
    if package is None:
        kind = queries.code_kind(kitchen.book, code)
        if kind == "place":
            place = queries.place_of_sign(kitchen.book, code)
            what = f"{show_code(code)} is the sign of {place.name}, not a package." if place else ""
            raise UnknownCode(what or unused_words(kitchen, code))
        raise UnknownCode(
            f"{show_code(code)} is not in this book. A label of another household's, or of a lost book? "
            "Nothing was changed.",
            code=code,
        )
    return package


def read_day(kitchen: Kitchen, text: str) -> date:
    """The day something happened, today when not said.  Raises: InvalidDate, also for a day that lies ahead."""
    if not text:
        return kitchen.today
    day = parse_date(text, today=kitchen.today)
    if day > kitchen.today:
        raise InvalidDate(f"{long_date(day)} lies ahead; today is {long_date(kitchen.today)}.", value=text)
    return day


@one_writer
def take(
    kitchen: Kitchen,
    text: str,
    reason: Reason = Reason.EATEN,
    *,
    already_eaten: bool = False,
    on: str = "",
    person: str = "",
    request_id: str | None = None,
    number: int = 1,
) -> Done:
    """Mark one package as gone, or ``number`` of a lot.

    A package on hold is not taken to be eaten unless it ``already_eaten`` was; the hold stays on its record.

    Raises: InvalidCode; UnknownCode; AlreadyGone, saying when and how to bring it back; Held; Refused for a spare
    label or a day before the package's latest step.
    """
    leaving = what_leaves(kitchen, text, reason, already_eaten=already_eaten, on=on, number=number)
    words = f"{show_code(leaving.row.code)} {leaving.words}"
    with kitchen.book.act(act_kind(reason), leaving.day, request_id=request_id, words=words) as act:
        let_go(act, leaving, person)
    return done_of(kitchen, leaving)


def what_leaves(
    kitchen: Kitchen, text: str, reason: Reason, *, already_eaten: bool, on: str, number: int = 1
) -> Leaving:
    """What taking a package, or ``number`` of a lot, comes to; nothing is changed.  Raises: as ``take``."""
    package = find_package(kitchen, text)
    # Names and origins are asked for once; taking a package changes none of them.
    rows = Rows(kitchen, only=[package.code])
    row = rows.row(package)
    refuse_gone(kitchen, row)
    state = package.state
    if state.state is State.SPARE:
        raise Refused(
            f"{show_code(row.code)} is a label printed ahead; no package has been weighed for it yet. "
            "Weigh it first: freezerbox weigh",
            code=row.code,
        )
    if not 1 <= number <= state.quantity:
        raise Refused(f"{show_code(row.code)} has {state.quantity} left, not {number}.", code=row.code)
    if row.holds and reason not in ALLOWED_ON_HOLD and not already_eaten:
        raise Held(held_words(kitchen, row), code=row.code, holds=[hold.why for hold in row.holds])
    if reason is Reason.EATEN and not row.for_people and not already_eaten:
        reason = Reason.FED_TO_DOG if package.cut in cuts.FOR_DOGS else Reason.MOVED_OUT
    day = read_day(kitchen, on)
    said = "recorded as eaten, still on hold" if row.holds and already_eaten else SAID[reason]
    if was_pulled(row, reason, day):
        said = PULLED
    return Leaving(
        rows=rows,
        row=row,
        reason=reason,
        day=day,
        way=way_out(kitchen, row, day, number),
        number=number,
        words=f"{said}: {package_line(kitchen, row)}{of_lot_words(row, number)}",
    )


def let_go(act: Writer, leaving: Leaving, person: str) -> None:
    """Write that a package goes, inside an act."""
    go(act, leaving.row.code, leaving.way, leaving.reason, person)


def done_of(kitchen: Kitchen, leaving: Leaving) -> Done:
    """What was done, once it is written."""
    row = leaving.row
    left = row.package.state.quantity - leaving.number
    message = f"{show_code(row.code)}  {leaving.words}"
    if row.where:
        message += f" ({row.where})"
    if leaving.way.by:
        message += f". None left since {short_date(leaving.way.by.happened_on, today=kitchen.today)}"
    else:
        message += stay_words(row, leaving.number)
    # Of what is on hold, nobody is to think that an older one would have done.
    hint = _older(kitchen, row) if leaving.reason is Reason.EATEN and not row.holds else ""
    after = leaving.rows.of_codes([row.code])[0] if left or leaving.way.gone else leaving.gone
    return Done(row=after, message=message + ".", hint=hint, number=leaving.number)


@one_writer
def put_back(
    kitchen: Kitchen,
    text: str,
    *,
    thawed: bool = False,
    place_id: int | None = None,
    on: str = "",
    number: int = 1,
    request_id: str | None = None,
) -> Done:
    """Return a package that was taken, or ``number`` of a lot, to the place it came from; its dates stay.

    ``thawed``: it was thawed in the refrigerator and is frozen a second time.  ``on``: when it was not today.

    Raises: InvalidCode; UnknownCode; InvalidDate; Refused when it is not gone, or is void, or went after that day,
    when fewer of a lot are out, and when some of a lot thawed while others did not.
    """
    row = find_row(kitchen, text)
    twice = in_it_too(kitchen, row)
    state = row.package.state
    gone = state.state is State.GONE
    if state.state is State.SPARE:
        raise Refused(
            f"{show_code(row.code)} is a label printed ahead; it was never out. Weigh it first: freezerbox weigh",
            code=row.code,
        )
    if state.reason is Reason.VOID:
        raise Refused(void_words(kitchen, row), code=row.code)
    day = read_day(kitchen, on)
    if gone:
        refuse_before_it_went(row, day)
    back = coming_back(kitchen, row, number, day)
    if thawed and not gone:
        are = "is" if state.quantity == 1 else "are"
        raise Refused(
            f"{show_code(row.code)} is a lot; the {state.quantity} that {are} there did not thaw. What thawed and is "
            "frozen again is a package of its own: freezerbox pack",
            code=row.code,
        )
    words = f"put back: {package_line(kitchen, row)}" + (
        f", {number} of them, listed until now as {ways(back.units)}" if back.lot else ""
    )
    to = state if gone else lay_on(kitchen, row, day)
    freezer_id, place_id = to.freezer_id, place_id or to.place_id
    if gone:
        freezer_id, place_id = still_there(kitchen, row.code, freezer_id, place_id)
    with kitchen.book.act("put-back", day, request_id=request_id, words=f"{show_code(row.code)} {words}") as act:
        act.move(
            row.code,
            state=State.FROZEN,
            freezer_id=freezer_id,
            place_id=place_id,
            delta=number,
            again=days_to_say_again(kitchen, row, day) if gone else (),
        )
        if thawed:
            times = row.package.times_frozen
            act.change("package", row.code, "times_frozen", times, times + 1)
    after = Rows(kitchen.afresh()).of_codes([row.code])[0]
    where = f" ({after.where})" if after.where else ""
    again = ", frozen twice now: freezerbox label again " + show_code(row.code) if thawed else ""
    held = f" ON HOLD: {holds_words(after.holds, kitchen.today)}." if after.holds else ""
    message = f"{show_code(row.code)}  {words}{where}{again}.{held}{twice}{still_out_words(after, back)}"
    return Done(row=after, message=message, number=number)


def refuse_gone(kitchen: Kitchen, row: Row) -> None:
    """Raises: AlreadyGone when the package left earlier, saying when and how to bring it back."""
    state = row.package.state
    if state.state is not State.GONE:
        return
    if state.reason is Reason.VOID:
        raise AlreadyGone(void_words(kitchen, row), code=row.code, reason=Reason.VOID.value)
    hold = f" It is ON HOLD: {holds_words(row.holds, kitchen.today)}." if row.holds else ""
    raise AlreadyGone(
        f"{coded_line(kitchen, row)}: {gone_words(row, kitchen.today)} already.{hold} "
        f"If that was wrong: {how_to_unmake(kitchen, row) or f'freezerbox put-back {show_code(row.code)}'}",
        code=row.code,
        reason=state.reason.value if state.reason else None,
        since=state.since.isoformat(),
    )


def void_words(kitchen: Kitchen, row: Row) -> str:
    """What to say of a label that stands for nothing."""
    since = short_date(row.package.state.since, today=kitchen.today)
    return f"{show_code(row.code)} is a void label since {since}: no package belongs to it. Peel it off."


def held_words(kitchen: Kitchen, row: Row) -> str:
    """The refusal for a package on hold: why, since when, and the nearest like package that is not."""
    lines = [
        f"HELD - NOT TAKEN: {coded_line(kitchen, row)}",
        f"  {holds_words(row.holds, kitchen.today).upper()}.",
    ]
    other = nearest_not_held(kitchen, row)
    if other:
        where = f" ({other.where})" if other.where else ""
        lines.append(f"  Not on hold: {coded_line(kitchen, other)}{where}.")
    lines.append(f"  If it has been eaten: freezerbox take {show_code(row.code)} --already-eaten")
    return "\n".join(lines)


def nearest_not_held(kitchen: Kitchen, row: Row) -> Row | None:
    """The package most like ``row`` that may be eaten: the same cut, first to expire; ``None`` when there is none.

    None is offered of an evening on which an animal in ``row`` was packed that tested positive.
    """
    met = evenings_of_detected(Rows(kitchen), row)
    others = [one for one in _of_cut(kitchen, row.package.cut) if one.package.packed_on not in met]
    like = [one for one in others if not one.holds and one.for_people and not is_reserved(one.package)]
    same_species = [other for other in like if other.package.species == row.package.species]
    ordered = in_rotation_order(same_species or like)
    return ordered[0] if ordered else None


def _of_cut(kitchen: Kitchen, cut: str) -> tuple[Row, ...]:
    """Rows of all packages of a cut that are in the freezer."""
    packages = queries.packages(kitchen.book, State.FROZEN, as_of=kitchen.as_of, cut=cut)
    return Rows(kitchen, only=[package.code for package in packages]).rows(packages)


def last_taken(kitchen: Kitchen, code: str) -> str | None:
    """UTC stamp of the act that last moved the package and stands; ``None`` when there is none."""
    movements = journal.heard(kitchen.book, journal.movements(kitchen.book, code=code))
    act = journal.act(kitchen.book, movements[-1].act_id) if movements else None
    return act.recorded_at if act else None


def act_kind(reason: Reason) -> str:
    """The kind of act by which packages leave in that way."""
    return {Reason.GIVEN: "give", Reason.DISCARDED: "discard"}.get(reason, "take")


def _older(kitchen: Kitchen, row: Row) -> str:
    """A quiet line about an older package of the same kind, or ""."""
    mine = row.package
    # A month ends on the 28th or the 31st: some days too many are asked for, and looked at.
    until = add_months(kitchen.today, -row.age_months - 1) + timedelta(days=3)
    for code, first in at_hand.frozen_longer(kitchen.book, mine, until):
        if months_between(first, kitchen.today) <= row.age_months:
            continue
        other = Rows(kitchen).of_codes([code])[0]
        if not other.holds and not is_reserved(other.package):
            where = f": {other.where}" if other.where else ""
            return f"An older one, {age_words(other.age_months)}, is {show_code(other.code)}{where}."
    return ""
