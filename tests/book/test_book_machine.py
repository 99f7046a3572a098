"""Taking, putting back and undoing in any order, against a plain model that keeps whole copies."""

from __future__ import annotations

import tempfile
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from freezerbox.book import journal, queries
from freezerbox.book.door import create_book
from freezerbox.chores import pack
from freezerbox.chores.check import check
from freezerbox.chores.fix import Corrections, fix
from freezerbox.chores.header import Words
from freezerbox.chores.take import put_back, take
from freezerbox.chores.undo import target, undo
from freezerbox.core.records import Reason
from freezerbox.errors import AlreadyGone, CannotUndo, Refused
from tests.conftest import StoppedClock, seeded_chance, started

OUT = (Reason.EATEN, Reason.GIVEN, Reason.DISCARDED)
DAYS = st.sampled_from((0, 1, 3, 40))
Shelf = dict[str, tuple[int, str]]
"""By code: how many are left, and how the last one went, "" while some are left."""


@dataclass
class Model:
    """What should be.  before: the shelf before each act that stands, the latest last."""

    shelf: Shelf = field(default_factory=dict)
    before: list[tuple[int, Shelf]] = field(default_factory=list)

    def did(self, act: int, code: str, left: int, reason: str) -> None:
        self.before.append((act, dict(self.shelf)))
        self.shelf[code] = (left, "" if left else reason)


class FreezerMachine(RuleBasedStateMachine):
    """One household at one table."""

    @initialize()
    def start(self) -> None:
        self.folder = tempfile.TemporaryDirectory(prefix="freezerbox-machine-")
        self.clock = StoppedClock()
        path = Path(self.folder.name) / "freezer.book"
        book = create_book(path, chance=seeded_chance("machine"), now=self.clock.stamp, station="table")
        # The disk is not what is tried here.
        book.connection.execute("PRAGMA synchronous = OFF")
        self.kitchen = started(book, self.clock)
        self.model = Model()
        self.codes: list[str] = []

    def teardown(self) -> None:
        if hasattr(self, "kitchen"):
            assert check(self.kitchen.afresh()).faults == ()
            self.kitchen.book.close()
            self.folder.cleanup()

    def pass_time(self, days: int) -> None:
        self.clock.at += timedelta(days=days)
        self.kitchen = self.kitchen.afresh()

    def latest(self) -> int:
        return journal.acts(self.kitchen.book, limit=1)[0].id

    @precondition(lambda self: sum(left > 0 for left, _ in self.model.shelf.values()) < 3)
    @rule(quantity=st.sampled_from((1, 1, 3)))
    def packs(self, quantity: int) -> None:
        run = pack.prepare(self.kitchen, Words(cut="ground", species="elk"), ["1"], quantity=quantity)
        code = pack.write(self.kitchen, run).rows[0].code
        assert code not in self.codes
        self.codes.append(code)
        self.model.did(self.latest(), code, quantity, "")

    @precondition(lambda self: self.codes)
    @rule(pick=st.integers(0, 3), reason=st.sampled_from(OUT), days=DAYS)
    def takes(self, pick: int, reason: Reason, days: int) -> None:
        self.pass_time(days)
        code = self.codes[-1 - pick % len(self.codes)]
        left, _ = self.model.shelf.get(code, (0, "void"))
        number = self.latest()
        if left:
            take(self.kitchen, code, reason)
            self.model.did(number + 1, code, left - 1, reason.value)
        else:
            with suppress(AlreadyGone):
                take(self.kitchen, code, reason)
                raise AssertionError("taken although it was gone")
            assert self.latest() == number

    @precondition(lambda self: self.codes)
    @rule(pick=st.integers(0, 3), days=DAYS)
    def puts_back(self, pick: int, days: int) -> None:
        self.pass_time(days)
        code = self.codes[-1 - pick % len(self.codes)]
        left, reason = self.model.shelf.get(code, (0, "void"))
        number = self.latest()
        if not left and reason != "void":
            put_back(self.kitchen, code)
            self.model.did(number + 1, code, 1, "")
        elif reason == "void":
            with suppress(Refused):
                put_back(self.kitchen, code)
                raise AssertionError("put back although it is void")
            assert self.latest() == number

    @precondition(lambda self: self.codes)
    @rule(pick=st.integers(0, 3), days=st.integers(-30, 60), late=st.booleans())
    def corrects_a_pack_date(self, pick: int, days: int, late: bool) -> None:
        """It came on the day that is known now; what is recorded late may stand on it; undo gives the other back."""
        code = self.codes[-1 - pick % len(self.codes)]
        package = queries.package(self.kitchen.book, code)
        left, reason = self.model.shelf.get(code, (0, "void"))
        assert package is not None
        if reason == "void" or not days:
            return
        wrong = package.packed_on
        day = wrong - timedelta(days=days)
        if day > self.kitchen.today:
            return
        number = self.latest()
        try:
            fix(self.kitchen, code, Corrections(packed=day.isoformat()))
        except Refused:
            # Something was done with it before that day.
            assert day > wrong
            assert self.latest() == number
            return
        self.kitchen = self.kitchen.afresh()
        assert queries.package(self.kitchen.book, code, as_of=day) is not None
        assert check(self.kitchen).faults == ()
        acts = [self.latest()]
        if late and left == 1 and day < wrong:
            with suppress(Refused):
                take(self.kitchen, code, Reason.EATEN, on=day.isoformat())
                acts.append(self.latest())
                assert check(self.kitchen.afresh()).faults == ()
                with suppress(CannotUndo):
                    undo(self.kitchen, target(self.kitchen, acts[0]))
                    raise AssertionError("the day was taken from under what was recorded late")
        for act in reversed(acts):
            undo(self.kitchen.afresh(), target(self.kitchen.afresh(), act))
        self.kitchen = self.kitchen.afresh()
        assert check(self.kitchen).faults == ()

    @rule(days=DAYS)
    def undoes(self, days: int) -> None:
        self.pass_time(days)
        if not self.model.before:
            with suppress(CannotUndo):
                target(self.kitchen)
                raise AssertionError("there was nothing to undo")
            return
        act, shelf = self.model.before.pop()
        found = target(self.kitchen)
        assert found.id == act
        undo(self.kitchen, found)
        self.model.shelf = shelf

    @precondition(lambda self: len(self.model.before) > 1)
    @rule(pick=st.integers(0, 9))
    def undoes_an_earlier_one(self, pick: int) -> None:
        """Possible just when no later act that stands is of the same package."""
        place = pick % len(self.model.before)
        act, shelf = self.model.before[place]
        shelves = [each for _, each in self.model.before] + [self.model.shelf]
        code = next(code for code in self.codes if shelves[place].get(code) != shelves[place + 1].get(code))
        later = shelves[place + 1 :]
        if any(each.get(code) != later[0].get(code) for each in later[1:]):
            with suppress(CannotUndo):
                undo(self.kitchen, target(self.kitchen, act))
                raise AssertionError("others stood on it")
            return
        undo(self.kitchen, target(self.kitchen, act))
        del self.model.before[place]
        for each in (*(each for _, each in self.model.before[place:]), self.model.shelf):
            each.pop(code, None)
            if code in shelf:
                each[code] = shelf[code]

    @invariant()
    def is_what_the_model_says(self) -> None:
        if not hasattr(self, "kitchen"):
            return
        for code in self.codes:
            package = queries.package(self.kitchen.book, code)
            assert package is not None
            state = package.state
            left, reason = self.model.shelf.get(code, (0, "void"))
            assert (state.quantity, state.reason.value if state.reason else "") == (left, reason), code


TestFreezerMachine = FreezerMachine.TestCase
TestFreezerMachine.settings = settings(max_examples=50, stateful_step_count=20)
