"""The records of the book: frozen, one class for each thing the household knows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class State(StrEnum):
    """Where a package is in its life."""

    SPARE = "spare"
    """Its label is printed ahead; nothing is in the bag yet."""
    FROZEN = "frozen"
    """It is in the freezer."""
    GONE = "gone"
    """It left; the reason says how."""


class Reason(StrEnum):
    """How a package left."""

    EATEN = "eaten"
    GIVEN = "given"
    DISCARDED = "discarded"
    MADE_INTO = "made-into"
    CANNED = "canned"
    FED_TO_DOG = "fed-to-dog"
    LOST = "lost"
    VOID = "void"
    """Never was: a spare label not used, or an entry taken back."""
    MOVED_OUT = "moved-out"


class TestResult(StrEnum):
    """What a laboratory said of an animal's sample."""

    __test__ = False  # not a test class, whatever its name says to pytest

    PENDING = "pending"
    NOT_DETECTED = "not-detected"
    DETECTED = "detected"
    INCONCLUSIVE = "inconclusive"
    NOT_TESTED = "not-tested"
    SAMPLE_LOST = "sample-lost"


HOLDING_RESULTS = frozenset({TestResult.PENDING, TestResult.DETECTED, TestResult.INCONCLUSIVE})
"""Results under which the animal's meat is held; after the others the owner decides."""

WRAPS = ("paper", "zip-bag", "vacuum", "double-wrap", "film-and-foil", "tray", "jar", "glazed")
"""Ways to wrap that a label and the record can name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Freezer:
    """A freezer.

    id: row number in this book.  name: the household's own word, unique without regard to case.
    volume_l: inside volume in litres; None when not said.  away: it stands elsewhere, at the cabin or the parents'.
    """

    id: int
    name: str
    volume_l: float | None
    away: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A basket, bag, layer or shelf inside a freezer.

    id: row number in this book.  name: the household's own word.  kind: what it is; "" when not said.
    freezer_id, freezer: where it stands.  code: its sign's code, beginning with a digit.
    parent_id: the place it is inside of; None when it stands in the freezer itself.
    last_checked_on: day of the last count; None before the first.  last_surprises: differences it found then.
    """

    id: int
    name: str
    kind: str
    freezer_id: int
    freezer: str
    code: str
    parent_id: int | None = None
    last_checked_on: date | None = None
    last_surprises: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AnimalTest:
    """A laboratory test of an animal.

    what_for: what is tested for; "" when not said.  sample: sample number.  sent_on: day the wait began.
    result: what the laboratory said so far.  result_on: day of the result; None while pending.
    released_on, released_why: the owner released the meat all the same, and the reason given; None and "" otherwise.
    """

    id: int
    what_for: str
    sample: str
    sent_on: date
    result: TestResult
    result_on: date | None
    released_on: date | None = None
    released_why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Animal:
    """An animal, or a share of one.

    code: year and letter as people write it, ``26B``.  species: key of the species table.
    sex_age: words such as ``doe``; "" when not said.  what: the share in words, ``half hog``; "" for a whole one.
    killed_on, processed_on: None when not said.  tag: tag or permit number; "" when none.  note: free words.
    tests: in the order entered.  own_holds: put on all its meat by the household, not yet released.
    taken_by, taken_at: who killed it, and where; "" when not said.
    live_mg, dressed_mg, hanging_mg: on the hoof, field-dressed and hung, in milligrams; None when not weighed.
    hide: ``on`` or ``off`` when the hanging weight was taken; "" when not said.
    ammunition: ``lead``, ``not lead`` or ``arrow``; "" when not said.
    wound_note: shot damage, and meat kept from near it.  taste: what to remember of it at the table.
    """

    id: int
    code: str
    species: str
    sex_age: str
    what: str
    killed_on: date | None
    processed_on: date | None
    tag: str
    note: str
    tests: tuple[AnimalTest, ...]
    own_holds: tuple[Hold, ...] = ()
    taken_by: str = ""
    taken_at: str = ""
    live_mg: int | None = None
    dressed_mg: int | None = None
    hanging_mg: int | None = None
    hide: str = ""
    ammunition: str = ""
    wound_note: str = ""
    taste: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """Why a package is not to be eaten.

    kind: ``test`` or ``own``.  of: the animal or package it comes from.  since: the day it began.
    why: plain words, ``test pending``.
    """

    kind: str
    of: str
    since: date
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackageState:
    """Where a package is now: the fold of its movements.

    state, reason: reason is None unless gone.  freezer_id, place_id: None when not said; what they were when it went.
    quantity: how many are left (1 for a single package, 0 when gone).
    since: day of the latest movement; of a package read from the book that is gone, the day it went.
    """

    state: State
    reason: Reason | None
    freezer_id: int | None
    place_id: int | None
    quantity: int
    since: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Package:
    """A package as the book knows it.

    code: its code.  cut, form, species: keys of the tables; form and species "" when not said.
    other_words: what the household calls it, where that says more than the cut: of ``other``, of a dish.
    net_mg: weight of one unit in milligrams; None when not weighed.  typed: the weight as it was typed.
    pieces: count inside; None when not counted.
    packed_on, first_frozen_on: days.  times_frozen: 1, or 2 when made from frozen meat.
    wrap, seasoning, note, reserved_for, owner: words, "" when not said.
    fat_percent: 0 for plain; None when not said.  added: bought meat or fat in it, ``pork fat``; "" for none.
    batch: batch code; "" for none.  run_number, run_size: its turn in the run it was packed in; None for a single.
    state: where it is now.  missing_since: day of the count that did not find it; None when it is where it should be.
    """

    code: str
    cut: str
    form: str
    species: str
    other_words: str
    net_mg: int | None
    typed: str
    pieces: int | None
    packed_on: date
    first_frozen_on: date
    times_frozen: int
    wrap: str
    seasoning: str
    fat_percent: int | None
    added: str
    owner: str
    reserved_for: str
    note: str
    batch: str
    run_number: int | None
    run_size: int | None
    state: PackageState
    missing_since: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One line of a package's origin.

    child: code of the package that came of it.  kind: ``animal``, ``package`` or ``bought``.
    name: animal code, package code, or what was bought.  mass_mg: how much went in; None when not said.
    fat_percent: of what was bought; None when not known.
    """

    child: str
    kind: str
    name: str
    mass_mg: int | None
    fat_percent: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """One step of one package: into, within or out of the freezer.

    id orders movements of one day.  delta: change of the quantity.  reason: how what left it went; also for one of a
    lot, while others stay.  person: who it went to; "" for nobody.  The rest is the state after the step.
    """

    id: int
    act_id: int
    code: str
    happened_on: date
    state: State
    reason: Reason | None
    freezer_id: int | None
    place_id: int | None
    delta: int
    person: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A fact corrected: the field of a subject, what it said and what it says now."""

    id: int
    act_id: int
    subject_kind: str
    subject: str
    field: str
    old: str | int | None
    new: str | int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One thing a person did.

    id: its number in this book, used by ``undo``.  kind: the command.  happened_on: the household's day.
    recorded_at: UTC, ISO 8601.  by: who; "" when not said.  station: the terminal, phone or scanner.
    undoes: the act this one takes back; None for an ordinary act.  undone_by: the act that took this one back.
    words: what was done, in a line.
    """

    id: int
    kind: str
    happened_on: date
    recorded_at: str
    by: str
    station: str
    undoes: int | None
    undone_by: int | None
    words: str
