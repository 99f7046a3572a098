"""Holds that the household puts on a package or an animal itself, and letting go of any hold."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from freezerbox.book import origins, printouts
from freezerbox.chores.guidance import guidance
from freezerbox.chores.header import find_animal
from freezerbox.chores.kitchen import Kitchen, no_such, one_writer
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import find_row, read_day
from freezerbox.chores.wording import animal_words, batch_words, count, hold_words, package_line
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.lineage import animal_holds
from freezerbox.core.records import HOLDING_RESULTS, Animal, Reason, State, TestResult
from freezerbox.errors import InputError, InvalidCode, InvalidDate, OutOfLine, Refused, UnknownCode, UnknownRecord

MOST_LETTERS = 120
"""Of a reason to hold or to release: it is said in every list that the package stands in."""
BATCH_CODE = re.compile(r"[A-Za-z]?\d{2}-\d{1,4}")
"""How a batch is called: ``G26-1``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What a hold is put on: a package with its row, an animal, or a batch.  words: what people call it.

    made: rows of a batch's packages, but for the void ones; () for the others.
    """

    row: Row | None
    animal: Animal | None
    words: str
    batch: str = ""
    made: tuple[Row, ...] = ()

    @property
    def code(self) -> str:
        """Package, animal or batch code as stored."""
        if self.row is not None:
            return self.row.code
        return self.animal.code if self.animal else self.batch

    @property
    def packages(self) -> tuple[Row, ...]:
        """The package itself, or those of the batch; () for an animal."""
        return (self.row,) if self.row is not None else self.made

    @property
    def animals(self) -> tuple[Animal, ...]:
        """The animal, or those in the package or the batch."""
        if self.animal:
            return (self.animal,)
        return tuple(dict.fromkeys(animal for row in self.packages for animal in row.animals))


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What a hold, a release or a result came to.

    rows: packages it reaches, as they are now, those in the freezer first.  message: in a line or two.
    still_held: those of them that another hold keeps.  reprint: codes in the freezer whose printed label carries a
    hold banner that no longer stands.  together: the one code that names just these; "" when there is none.
    """

    rows: tuple[Row, ...]
    message: str
    still_held: tuple[Row, ...] = ()
    reprint: tuple[str, ...] = ()
    together: str = ""


def find_batch(kitchen: Kitchen, code: str) -> origins.Batch | None:
    """The batch of that code, whatever its case; None when there is none."""
    wanted = code.strip().lower()
    return next((batch for batch in origins.batches(kitchen.book) if batch.code.lower() == wanted), None)


def find_subject(kitchen: Kitchen, text: str) -> Subject:
    """The package, animal or batch of that code.

    Raises: UnknownRecord for what has the form of an animal's or a batch's code and is none; InvalidCode, UnknownCode
    for the rest.
    """
    batch = find_batch(kitchen, text)
    if batch is not None:
        rows = Rows(kitchen).all()
        made = tuple(
            row for row in rows if row.package.batch == batch.code and row.package.state.reason is not Reason.VOID
        )
        return Subject(row=None, animal=None, words=batch_words(batch), batch=batch.code, made=made)
    if BATCH_CODE.fullmatch(text.strip()):
        raise no_such("batch", text.strip(), [one.code for one in origins.batches(kitchen.book)], "grind makes them.")
    try:
        animal = find_animal(kitchen, text)
    except UnknownRecord as unknown:
        try:
            row = find_row(kitchen, text)
        except (InvalidCode, UnknownCode):
            if len(text.strip()) <= 4:  # too short for a package code: an animal was meant
                raise unknown from None
            raise
        return Subject(row=row, animal=None, words=f"{show_code(row.code)} ({package_line(kitchen, row)})")
    return Subject(row=None, animal=animal, words=animal_words(animal))


def reached(kitchen: Kitchen, subject: Subject) -> tuple[Row, ...]:
    """Itself and every package made of it, whatever became of it; those in the freezer first."""
    rows = Rows(kitchen)
    if subject.animal:
        codes = dict.fromkeys(rows.lineage.descendants("animal", subject.animal.code))
    else:
        codes = dict.fromkeys(row.code for row in subject.packages)
        for one in subject.packages:
            codes.update(dict.fromkeys(rows.lineage.descendants("package", one.code)))
    found = [row for row in rows.of_codes(list(codes)) if row.package.state.reason != "void"]
    return tuple(sorted(found, key=lambda row: row.package.state.state is not State.FROZEN))


@one_writer
def hold(kitchen: Kitchen, text: str, why: str, *, since: str = "") -> Held:
    """Put a hold of the household's own on a package, an animal or a batch; everything made of it is held too.

    Raises: InvalidCode, UnknownCode, UnknownRecord for the code; InputError without a reason; InvalidDate.
    """
    subject = find_subject(kitchen, text)
    reason = _reason(why, f"freezerbox hold {text} --why")
    if subject.row is not None and subject.row.package.state.reason == "void":
        raise Refused(f"{show_code(subject.code)} is a void label; there is nothing to hold.", code=subject.code)
    day = read_day(kitchen, since)
    with kitchen.book.act("hold", kitchen.today, words=f"put {subject.words} on hold: {reason}") as act:
        if subject.animal:
            act.add("animal_hold", animal_id=subject.animal.id, why=reason, since=day.isoformat())
        for one in subject.packages:
            act.add("own_hold", code=one.code, why=reason, since=day.isoformat())
    rows = reached(kitchen.afresh(), subject)
    return Held(rows=rows, message=f"On hold: {subject.words}: {reason}. {_reaches(rows)}")


@one_writer
def release(kitchen: Kitchen, text: str, why: str, *, on: str = "", yes: bool = False) -> Held:
    """Let go of the holds that stand on this very package, animal or batch; the reason is kept.

    Where the household's own holds and a test hold an animal, its own are let go, and the test is for the next time:
    a reason for the one says nothing of the other.  With ``yes`` all are let go at once.

    Holds that a package has from its animal or its sources are let go there.

    Raises: InvalidCode, UnknownCode, UnknownRecord for the code; InputError without a reason; Refused when nothing
    holds it, or what holds it lies elsewhere, named then; OutOfLine when a test says detected and ``yes`` does not
    say that it is let go all the same; InvalidDate.
    """
    subject = find_subject(kitchen, text)
    reason = _reason(why, f"freezerbox release {text} --why")
    day = read_day(kitchen, on)
    on_it = [subject.animal.code] if subject.animal else [row.code for row in subject.packages]
    own = [hold_row for code in on_it for hold_row in origins.own_holds(kitchen.book, code)]
    tests = [
        test
        for test in (subject.animal.tests if subject.animal else ())
        if test.result in HOLDING_RESULTS and test.released_on is None
    ]
    if not own and not tests:
        raise _nothing_here(subject)
    if any(test.result is TestResult.DETECTED for test in tests) and not yes:
        raise OutOfLine(
            f"Nothing released: a test of {subject.words} says DETECTED. {guidance(subject.animals)} "
            f"If the result was wrong, record the right one: freezerbox result {subject.code} RESULT. "
            "To let go all the same, add --yes.",
            code=subject.code,
        )
    left = ""
    if own and tests and not yes:
        standing = animal_holds(subject.animal) if subject.animal else ()
        waiting = "; ".join(hold_words(hold, kitchen.today) for hold in standing if hold.kind == "test")
        left = f" Not let go: {waiting}. If that too: freezerbox release {subject.code} --why REASON"
        tests = []
    since = [*(hold_row.since for hold_row in own), *(test.result_on or test.sent_on for test in tests)]
    if day < max(since):
        raise InvalidDate(
            f"{subject.words} cannot be released on {long_date(day)}: it is on hold since {long_date(max(since))}. "
            "One of the two days is wrong.",
            value=on,
        )
    before = reached(kitchen, subject)
    with kitchen.book.act("release", kitchen.today, words=f"released {subject.words}: {reason}") as act:
        for hold_row in own:
            act.change(hold_row.table, hold_row.id, "released_on", None, day.isoformat())
            act.change(hold_row.table, hold_row.id, "released_why", "", reason)
        for test in tests:
            act.change("animal_test", test.id, "released_on", None, day.isoformat())
            act.change("animal_test", test.id, "released_why", "", reason)
    rows = reached(kitchen.afresh(), subject)
    message = f"Released by the household: {subject.words}: {reason}."
    held = lifted(kitchen.afresh(), before, rows, message, subject.animal.code if subject.animal else subject.batch)
    return replace(held, message=held.message + left)


def lifted(kitchen: Kitchen, before: tuple[Row, ...], rows: tuple[Row, ...], message: str, of: str = "") -> Held:
    """What came of letting go: which are free now, which another hold still keeps, whose label says otherwise.

    ``of``: the animal or batch of which ``rows`` are all; "" for a package.
    """
    was_held = {row.code for row in before if row.holds}
    frozen = [row for row in rows if row.package.state.state is State.FROZEN]
    free = [row for row in frozen if not row.holds and row.code in was_held]
    kept = tuple(row for row in frozen if row.holds)
    banners = printouts.printed_banners(kitchen.book)
    number = sum(row.package.state.quantity for row in free)
    message += f" {count(number, 'package')} in the freezer {'is' if number == 1 else 'are'} off hold."
    if kept:
        still = sum(row.package.state.quantity for row in kept)
        message += f" {count(still, 'package')} {'stays' if still == 1 else 'stay'} on hold for another reason."
    reprint = tuple(row.code for row in free if banners.get(row.code))
    return Held(
        rows=rows,
        message=message,
        still_held=kept,
        reprint=reprint,
        together=of if len(reprint) == len(frozen) > 1 else "",
    )


def _nothing_here(subject: Subject) -> Refused:
    holds = [hold for row in subject.packages for hold in row.holds]
    if not holds:
        return Refused(f"{subject.words} is not on hold.", code=subject.code)
    of = dict.fromkeys(hold.of for hold in holds)
    named = ", ".join(f"{_shown(one)}" for one in of)
    return Refused(
        f"{subject.words} is held because of {named}, not by a hold of its own. "
        f"To let go there: freezerbox release {_shown(next(iter(of)))} --why REASON",
        code=subject.code,
        of=list(of),
    )


def _shown(code: str) -> str:
    return show_code(code) if len(code) == 6 else code


def _reason(why: str, how: str) -> str:
    reason = " ".join(why.split())
    if not reason:
        raise InputError(f'Say why, in a few words, such as: {how} "smells odd"', value=why)
    if len(reason) > MOST_LETTERS:
        raise InputError(
            f"The reason has {len(reason)} letters; {MOST_LETTERS} is the most, since every list says it. It begins "
            f"{reason[:40]!r}. Say it shorter; the rest may go into a note.",
            value=reason[:MOST_LETTERS],
        )
    return reason


def _reaches(rows: tuple[Row, ...]) -> str:
    frozen = sum(row.package.state.quantity for row in rows if row.package.state.state is State.FROZEN)
    if not rows:
        return "No package was made of it yet; what comes will be held too."
    verb = "is" if frozen == 1 else "are"
    return f"{count(frozen, 'package')} in the freezer {verb} held, and all that is made of it."
