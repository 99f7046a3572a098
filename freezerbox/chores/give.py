"""Giving packages to a person or a charity, and the slip that goes with them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import date

from freezerbox.chores.guidance import guidance
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.late import Way, go, way_out
from freezerbox.chores.people import find_person, remember
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import find_row, read_day, refuse_gone
from freezerbox.chores.units import number_of, units_of
from freezerbox.chores.wording import coded_line, count, holds_words, of_lot_words, package_line, stay_words
from freezerbox.core.code import show_code
from freezerbox.core.lineage import says_detected
from freezerbox.core.records import Reason, State
from freezerbox.errors import FreezerboxError, Held, InputError, Refused

GIVER_PREFIX = "giver:"


@dataclass(frozen=True, slots=True, kw_only=True)
class Giver:
    """What a slip says of the one who gives; "" for what is left out.  Remembered from one gift to the next.

    licence: number of the hunting licence, with its state.
    """

    name: str = ""
    address: str = ""
    phone: str = ""
    licence: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gift:
    """One package, or some of a lot, that was given.  number: how many.  row: as it was before.  way: how it goes."""

    row: Row
    number: int
    way: Way

    @property
    def net_mg(self) -> int | None:
        """Weight of them together, in milligrams; None when not weighed."""
        return None if self.row.package.net_mg is None else self.row.package.net_mg * self.number


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What a gift came to.

    person: the name as the book knows it.  gifts: what was given.  rows: the same as they are now.
    refused: what was typed, and why it was not given.  giver: for the slip.
    """

    person: str
    on: date
    gifts: tuple[Gift, ...]
    rows: tuple[Row, ...]
    refused: tuple[tuple[str, FreezerboxError], ...]
    giver: Giver
    message: str


def held_among(kitchen: Kitchen, codes: Sequence[str]) -> tuple[Row, ...]:
    """Those of the packages that are on hold; codes that are none are left out."""
    found = []
    for text in codes:
        try:
            row = find_row(kitchen, units_of(text)[0])
        except FreezerboxError:
            continue
        if row.holds and row.package.state.state is State.FROZEN:
            found.append(row)
    return tuple(found)


@one_writer
def give(
    kitchen: Kitchen,
    codes: Sequence[str],
    to: str,
    *,
    on: str = "",
    giver: Giver | None = None,
    held_too: bool = False,
    yes: bool = False,
    request_id: str | None = None,
) -> Given:
    """Give packages to somebody: one act.  Those that can are given; the others are told with the reason.

    A package on hold is given only when ``held_too`` says so; its hold goes with it and is named on the slip.

    Raises: InputError for no codes or no name; OutOfLine for a name much like a known one without ``yes``; what was
    wrong with the only code, when there is only one; InvalidDate.
    """
    if not codes:
        raise InputError("Say which packages: freezerbox give K7P-3MT --to NAME", value="")
    person = find_person(kitchen, to, new=yes)
    day = read_day(kitchen, on)
    gifts: dict[str, Gift] = {}
    refused: list[tuple[str, FreezerboxError]] = []
    for text in codes:
        try:
            gift = _gift(kitchen, text, day, held_too)
            if gift.row.code in gifts:
                raise Refused(f"{show_code(gift.row.code)} is named twice; it can be given once.", code=gift.row.code)
            gifts[gift.row.code] = gift
        except FreezerboxError as error:
            if len(codes) == 1:
                raise
            refused.append((text, error))
    known = _remembered(kitchen, giver or Giver())
    if gifts:
        number = sum(gift.number for gift in gifts.values())
        words = f"gave {count(number, 'package')} to {person}{_held_words(gifts.values())}"
        with kitchen.book.act("give", day, request_id=request_id, words=words) as act:
            remember(kitchen, act, person)
            for gift in gifts.values():
                go(act, gift.row.code, gift.way, Reason.GIVEN, person)
            for one in fields(Giver):
                old, new = kitchen.settings.get(GIVER_PREFIX + one.name), getattr(known, one.name)
                if new and new != old:
                    act.change("setting", GIVER_PREFIX + one.name, "value", old, new)
    number = sum(gift.number for gift in gifts.values())
    return Given(
        person=person,
        on=day,
        gifts=tuple(gifts.values()),
        rows=Rows(kitchen.afresh()).of_codes(list(gifts)),
        refused=tuple(refused),
        giver=known,
        message=f"{count(number, 'package')} given to {person}{_held_words(gifts.values())}."
        if gifts
        else "Nothing was given.",
    )


def _gift(kitchen: Kitchen, text: str, day: date, held_too: bool) -> Gift:
    code, number = number_of(text)
    row = find_row(kitchen, code)
    refuse_gone(kitchen, row)
    state = row.package.state
    if state.state is State.SPARE:
        raise Refused(f"{show_code(row.code)} is a label printed ahead; nothing is in its bag yet.", code=row.code)
    if not 1 <= number <= state.quantity:
        raise Refused(f"{show_code(row.code)} has {state.quantity} left, not {number}.", code=row.code)
    if row.holds and not held_too:
        raise Held(held_warning(kitchen, row), code=row.code, holds=[hold.why for hold in row.holds])
    return Gift(row=row, number=number, way=way_out(kitchen, row, day, number))


def held_warning(kitchen: Kitchen, row: Row) -> str:
    """What to say before something on hold is given."""
    said = "Keep it until that is settled. If it must go all the same, --held-too; the slip will say it is on hold."
    if any(map(says_detected, row.holds)):
        # Nothing is left to settle: what becomes of it is for the agency, as when a laboratory asks for a sample.
        said = f"{guidance(row.animals)} If one of these is to have it, --held-too; the slip will say it is on hold."
    return (
        f"HELD - NOT GIVEN: {coded_line(kitchen, row)}\n  {holds_words(row.holds, kitchen.today).upper()}.\n  {said}"
    )


def _remembered(kitchen: Kitchen, giver: Giver) -> Giver:
    """The giver with what earlier slips said, where nothing was said now."""
    return Giver(
        **{
            one.name: " ".join(getattr(giver, one.name).split()) or kitchen.settings.get(GIVER_PREFIX + one.name, "")
            for one in fields(Giver)
        }
    )


def gift_line(kitchen: Kitchen, gift: Gift) -> str:
    """A gift in a line, with the hold that goes with it, and how many of a lot stay."""
    number, left = of_lot_words(gift.row, gift.number), stay_words(gift.row, gift.number)
    held = f" - ON HOLD: {holds_words(gift.row.holds, kitchen.today)}" if gift.row.holds else ""
    return f"{show_code(gift.row.code)}  {package_line(kitchen, gift.row)}{number}{held}{left}{'.' if left else ''}"


def held_guidance(gifts: Iterable[Gift]) -> str:
    """What is said of the holds that went with gifts, with its source; "" when no test holds any of them."""
    return guidance(dict.fromkeys(animal for gift in gifts if gift.row.holds for animal in gift.row.animals))


def _held_words(gifts: Iterable[Gift]) -> str:
    """``, 2 of them ON HOLD``; "" when none is."""
    every = tuple(gifts)
    number = sum(gift.number for gift in every if gift.row.holds)
    if not number:
        return ""
    return ", ON HOLD" if number == sum(gift.number for gift in every) else f", {number} of them ON HOLD"
