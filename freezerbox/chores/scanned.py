"""What one scan came to, and words for it."""

from __future__ import annotations

from dataclasses import dataclass

from freezerbox.book import origins, queries
from freezerbox.chores.give import Given
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.naming import same_name
from freezerbox.chores.out_of_lot import how_many_out
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import Done, void_words
from freezerbox.chores.wording import age_words, coded_line, gone_words, holds_words
from freezerbox.core.cards import CARDS, Card
from freezerbox.core.code import LENGTH, compact, is_valid, nearest, show_code
from freezerbox.core.records import Place, Reason, State
from freezerbox.errors import AlreadyGone, BookTrouble, FreezerboxError, Held, UnknownCode

ASKS = {
    Card.TAKE: "each scan takes a package out",
    Card.PUT_BACK: "each scan puts a package back",
    Card.MOVE: "scan the place's sign, then the packs",
    Card.COUNT: "scan the place's sign, then what lies there",
    Card.WEIGH: "scan a label, then type its weight",
    Card.GIVE: "type who gets them or scan their card, then the packs",
    Card.DISCARD: "each scan marks a package thrown out",
    Card.SHOW: "each scan only says what it is",
}
"""What a card asks for next."""
ANSWERS = "MOVE makes the list say so; any other card leaves it as it was."
SIGN_ALONE = "To put packs there: the MOVE card, then this sign, then the packs."
UNNAMED = "To nobody by name: type the name, or scan the person's card, before the packs."
PERSON_HEAD = "TO "
"""How the text of a person's card begins."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scanned:
    """What one scan came to.

    code: None when none was read.  outcome: a word of the JSON contract.  message: plain words.  row: the package as
    it is now; None when there is none.  hint: a quiet second line, or "".  mode: what scans do now, ``take``,
    ``move to red bag``.
    """

    code: str | None
    outcome: str
    message: str
    row: Row | None = None
    hint: str = ""
    mode: str = ""


def place_name(kitchen: Kitchen, place: Place) -> str:
    """The place; with its freezer where another freezer has one of that name."""
    alike = [one for one in queries.places(kitchen.book) if same_name(one.name, place.name)]
    return f"{place.name}, {place.freezer}" if len(alike) > 1 else place.name


def pause_words(card: Card, mode: str, place: Place | None) -> str:
    """What is said to a scan after two quiet minutes in a card's mode."""
    go_on = f"To go on with {mode.upper()}, scan the {card.value.upper()} card"
    if card is Card.DONE and place is not None:
        go_on = f"The count of {place.name} stays open. To go on with it, scan COUNT and its sign"
    return f"PAUSED: nothing changed. {go_on}; to take packages out, the TAKE card."


def may_be_name(text: str) -> bool:
    """Whether a line is letters alone, as names are and hardly any code is."""
    return text.replace(" ", "").isalpha()


def perhaps_a_name(text: str) -> tuple[str, str]:
    """A line that is no code as a name, and how to say that it is one; both "" when it cannot be."""
    name = " ".join(text.split())
    return (name, f" If it is a name: {PERSON_HEAD}{name}, or type it again.") if may_be_name(name) else ("", "")


def who_gets_it(doubted: str) -> str:
    """What is said to a pack that is scanned while it is not known to whom it goes."""
    return (
        f"NOT GIVEN: to whom? {doubted} is not sure yet. Type it again, or {PERSON_HEAD}{doubted}, or scan the "
        "person's card; GIVE once more gives to nobody by name."
    )


def named(kitchen: Kitchen, text: str, *, giving: bool, again: str = "") -> str:
    """The person whom a line names: by a person's card, ``TO SISTER``, or while giving by a name; else "".

    ``again``: what was not sure to be a name; typed a second time it is one.
    """
    words = " ".join(text.split())
    if words.upper().startswith(PERSON_HEAD):
        return words[len(PERSON_HEAD) :]
    if not giving or not any(map(str.isalpha, words)) or words.upper() == PERSON_HEAD.strip():
        return ""
    known = any(same_name(one, words) for one in origins.persons(kitchen.book))
    if known or (may_be_name(words) and len(compact(words)) != LENGTH):
        return words
    code = compact(words)
    if not may_be_name(words) or queries.code_kind(kitchen.book, code) is not None:
        return ""
    # Six letters may be a code misread, in capitals as scanners type; a person types Sister, or types it again.
    typed = words != words.upper() and not is_valid(code) and nearest(code, queries.live_codes(kitchen.book)) is None
    return words if typed or words == again else ""


def show_words(kitchen: Kitchen, row: Row) -> str:
    """What a package is, where it is and how old, in a line."""
    state, today = row.package.state, kitchen.today
    now = row.where or "place not said"
    if state.state is State.SPARE:
        now = "a label printed ahead, nothing weighed yet"
    elif state.state is State.GONE:
        now = gone_words(row, today)
    age = f", {age_words(row.age_months)} old" if state.state is State.FROZEN else ""
    held = f" HELD, DO NOT EAT: {holds_words(row.holds, today)}." if row.holds else ""
    return f"{coded_line(kitchen, row)}{age}: {now}.{held}"


def shown(kitchen: Kitchen, row: Row) -> Scanned:
    """What a package is, where it is and how old; nothing is changed."""
    return Scanned(code=row.code, outcome="shown", message=show_words(kitchen, row), row=row)


def twice(kitchen: Kitchen, row: Row) -> Scanned:
    """A package scanned again within seconds."""
    message = f"{coded_line(kitchen, row)}: scanned twice, counted once."
    return Scanned(code=row.code, outcome="duplicate", message=message, row=row)


def in_the_way(error: BookTrouble, raw: str) -> Scanned:
    """A line that the book could not be read or written for; whether it was recorded all the same."""
    text = " ".join(raw.split())
    code = compact(text)
    card = CARDS.get(code)
    what = card.value.upper() if card else show_code(code) if is_valid(code) else text
    return Scanned(
        code=code if is_valid(code) else None,
        outcome="recorded" if error.recorded else "refused",
        message=f"{what}: {'recorded' if error.recorded else 'NOT DONE'}. {error.message}",
    )


def out_words(kitchen: Kitchen, done: Done) -> str:
    """What is said of a package that left, and of a lot how many have."""
    left = done.row.package.state.quantity
    if not left:
        return done.message
    return f"{done.message.rsplit('. ', 1)[0]}. {taken_of_lot(kitchen, done.row)} taken, {left} left."


def given_words(kitchen: Kitchen, given: Given, number: int | None) -> str:
    """What is said of a package, or of ``number`` of a lot, given to somebody by name."""
    left = given.rows[0].package.state.quantity
    many = "" if number is None else f"{number} "
    words = f"{coded_line(kitchen, given.gifts[0].row)}: {many}given to {given.person}."
    return f"{words} {left} left." if left else words


def taken_of_lot(kitchen: Kitchen, row: Row) -> int:
    """How many of a lot have left and are out."""
    return how_many_out(kitchen, row.code)


def refused(kitchen: Kitchen, code: str, error: FreezerboxError) -> Scanned:
    """A scan that the book says no to."""
    package = queries.package(kitchen.book, code)
    row = Rows(kitchen, only=[code]).row(package) if package else None
    outcome = "refused"
    if isinstance(error, Held):
        outcome = "held"
    elif row is not None and row.package.state.reason is Reason.VOID:
        return Scanned(code=code, outcome="void", message=void_words(kitchen, row), row=row)
    elif isinstance(error, AlreadyGone):
        outcome = "already-gone"
    elif isinstance(error, UnknownCode):
        outcome = "unknown"
    return Scanned(code=code if is_valid(code) else None, outcome=outcome, message=error.message, row=row)
