"""The book against a plain model: acts in any order, undo anywhere, late entries, past days, other books."""

from __future__ import annotations

import tempfile
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from freezerbox.book import copying, queries
from freezerbox.book.door import Book, create_book, open_book
from freezerbox.chores import pack, places, safekeeping
from freezerbox.chores.check import check
from freezerbox.chores.export import bring_back, export
from freezerbox.chores.fix import Corrections, fix, swap
from freezerbox.chores.header import Words
from freezerbox.chores.join import join
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.move import move
from freezerbox.chores.split import split_off
from freezerbox.chores.take import put_back, take
from freezerbox.chores.undo import target, undo
from freezerbox.core.records import Reason
from freezerbox.errors import CannotUndo, Refused
from tests.book.look import everything
from tests.conftest import StoppedClock, seeded_chance, started
from tests.keeping.model import CHEST, Done, Model, Step, Where

PLACES = ("red bag", "top layer")


class KeepingMachine(RuleBasedStateMachine):
    """A household with a cabin."""

    @initialize()
    def start(self) -> None:
        self.folder = tempfile.TemporaryDirectory(prefix="freezerbox-keeping-")
        self.clock = StoppedClock()
        self.books = 0
        self.model = Model()
        book = create_book(self.path(), chance=seeded_chance("keeping"), now=self.clock.stamp, station="table")
        self.kitchen = self.quick(started(book, self.clock))
        for place in PLACES:
            places.add_place(self.kitchen, place)

    def path(self) -> Path:
        return Path(self.folder.name) / f"{self.books}.book"

    def quick(self, kitchen: Kitchen) -> Kitchen:
        # The disk is not what is tried here.
        kitchen.book.connection.execute("PRAGMA synchronous = OFF")
        return kitchen

    def opened(self, path: Path, station: str = "table") -> Kitchen:
        self.books += 1
        book = open_book(path, chance=seeded_chance(f"{path}/{self.books}"), now=self.clock.stamp, station=station)
        return self.quick(Kitchen(book, self.clock))

    def teardown(self) -> None:
        if hasattr(self, "kitchen"):
            self.kitchen.book.close()
            self.folder.cleanup()

    # -- doing -------------------------------------------------------------------------------------------------------

    def done(self, kind: str, kitchen: Kitchen, **what: object) -> Done:
        uid = uids(kitchen.book)[-1]
        act = Done(uid=uid, kind=kind, **what)  # type: ignore[arg-type]
        self.model.acts.append(act)
        return act

    def code(self, pick: int) -> str:
        codes = self.model.codes()
        return codes[-1 - pick % min(len(codes), 4)]

    def some(self) -> bool:
        return bool(self.model.codes())

    @rule(days=st.sampled_from((1, 2, 30)))
    def days_go_by(self, days: int) -> None:
        self.clock.at += timedelta(days=days)
        self.kitchen = self.kitchen.afresh()

    @rule(ago=st.integers(0, 4), quantity=st.sampled_from((1, 1, 3)), place=st.sampled_from((CHEST, *PLACES)))
    def packs(self, ago: int, quantity: int, place: str) -> None:
        self._pack(self.kitchen, ago, quantity, place)

    def _pack(self, kitchen: Kitchen, ago: int, quantity: int, place: str) -> str:
        day = kitchen.today - timedelta(days=ago)
        words = Words(cut="loin chops", species="pork", packed=day.isoformat(), place=place)
        row = pack.write(kitchen, pack.prepare(kitchen, words, ["1.1"], quantity=quantity)).rows[0]
        step = Step(row.code, day, place, "", quantity)
        weight = (row.code, 0, row.package.net_mg or 0)
        self.done("pack", kitchen, steps=(step,), codes=frozenset({row.code}), weights=(weight,))
        return row.code

    @precondition(some)
    @rule(
        pick=st.integers(0, 3),
        ago=st.sampled_from((0, 0, 0, 1, 3)),
        reason=st.sampled_from((Reason.EATEN, Reason.GIVEN)),
    )
    def takes(self, pick: int, ago: int, reason: Reason) -> None:
        self._take(self.kitchen, self.code(pick), ago, reason)

    def _take(self, kitchen: Kitchen, code: str, ago: int, reason: Reason) -> None:
        day = kitchen.today - timedelta(days=ago)
        now, then = self.model.where(code, kitchen.today), self.model.where(code, day)
        later = [step for step in self.model.steps(code, kitchen.today) if step.day > day]
        fine = now is not None and now[2] > 0 and then is not None
        with_the_last: Step | None = None
        if fine and later and then is not None:
            # Only of a lot may one have gone before others: one is left through all that came later, or the last went
            # with the latest of them.
            left = then[2] - 1
            counts = [left := left + step.delta for step in later]
            if counts[-1] == 0 and later[-1].way:
                with_the_last = later[-1]
                del counts[-1]
            fine = then[2] > 1 and all(
                count >= (0 if step.place is None else 1) for count, step in zip(counts, later, strict=False)
            )
        if not fine:
            with pytest.raises(Refused):
                take(kitchen, code, reason, on=day.isoformat())
            return
        assert then is not None
        assert now is not None
        take(kitchen, code, reason, on=day.isoformat())
        last = now[2] == 1 and with_the_last is None
        steps = [Step(code, day, None if last else then[0], reason.value if last else "", -1, reason.value)]
        if with_the_last is not None:
            steps.append(Step(code, with_the_last.day, None, with_the_last.way, 0))
        self.done("take", kitchen, steps=tuple(steps), codes=frozenset({code}))

    @precondition(some)
    @rule(pick=st.integers(0, 3), ago=st.integers(1, 3))
    def eats_up_a_lot_and_remembers_one_of_it_late(self, pick: int, ago: int) -> None:
        code = self.code(pick)
        now = self.model.where(code, self.kitchen.today)
        if now is None or now[2] < 2:
            return
        for _ in range(now[2] - 1):
            self._take(self.kitchen, code, 0, Reason.EATEN)
        self._take(self.kitchen, code, ago, Reason.GIVEN)

    @precondition(some)
    @rule(pick=st.integers(0, 3))
    def puts_back(self, pick: int) -> None:
        code = self.code(pick)
        now = self.model.where(code, self.kitchen.today)
        steps = list(self.model.steps(code, self.kitchen.today))
        packed = next((step.delta for step in steps), 0)
        packed += sum(step.delta for step in steps if step.way == Reason.MADE_INTO)
        if now is not None and now[1] == Reason.MADE_INTO:
            return
        # Of a lot that is partly out, one comes back to where the rest lies.
        if now is None or (now[0] != "out" and now[2] >= packed):
            with pytest.raises(Refused):
                put_back(self.kitchen, code)
            return
        put_back(self.kitchen, code)
        place = self.place_before(code) if now[0] == "out" else now[0]
        self.done(
            "put-back", self.kitchen, steps=(Step(code, self.kitchen.today, place, "", 1),), codes=frozenset({code})
        )

    def place_before(self, code: str) -> str:
        """Where it lay before it was taken."""
        place = CHEST
        for step in self.model.steps(code, self.kitchen.today):
            place = step.place if step.place is not None else place
        return place

    @precondition(some)
    @rule(pick=st.integers(0, 3), place=st.sampled_from(PLACES))
    def moves(self, pick: int, place: str) -> None:
        code = self.code(pick)
        now = self.model.where(code, self.kitchen.today)
        if now is None or now[0] in ("out", place):
            with pytest.raises(Refused):
                move(self.kitchen, [code], to=place)
            return
        move(self.kitchen, [code], to=place)
        self.done(
            "move", self.kitchen, steps=(Step(code, self.kitchen.today, place, "", 0),), codes=frozenset({code})
        )

    @precondition(some)
    @rule(pick=st.integers(0, 3), grams=st.integers(300, 900))
    def corrects(self, pick: int, grams: int) -> None:
        code = self.code(pick)
        old = self.model.weight(code)
        if self.model.where(code, self.kitchen.today) is None or old == grams * 1000:
            return
        fix(self.kitchen, code, Corrections(weight=f"{grams} g"), yes=True)
        self.done("fix", self.kitchen, codes=frozenset({code}), weights=((code, old, grams * 1000),))

    @precondition(some)
    @rule(pick=st.integers(0, 3), number=st.integers(1, 2))
    def splits_a_lot(self, pick: int, number: int) -> None:
        code = self.code(pick)
        now = self.model.where(code, self.kitchen.today)
        if now is None or now[0] == "out" or now[2] <= number:
            return
        (row,) = split_off(self.kitchen, code, str(number)).rows
        off = Step(code, self.kitchen.today, now[0], "", -number, Reason.MADE_INTO)
        packed, weight = self.model.packed(code), self.model.weight(code)
        self.done(
            "split",
            self.kitchen,
            steps=(off, Step(row.code, self.kitchen.today, now[0], "", number)),
            codes=frozenset({code, row.code}),
            weights=((row.code, 0, weight),),
            packed=((row.code, packed, packed),),
        )

    @precondition(some)
    @rule(pick=st.integers(0, 3), ago=st.integers(0, 6))
    def corrects_the_day_it_was_packed(self, pick: int, ago: int) -> None:
        """With a lot go those of its parts that say the same day."""
        code, day = self.code(pick), self.kitchen.today - timedelta(days=ago)
        old = self.model.packed(code)
        there = [one for one in self.model.parts_of(code) if self.model.where(one, self.kitchen.today) is not None]
        along = [one for one in there if self.model.packed(one) == old]
        swapped = {one for act in self.model.acts for one, _ in act.swapped}
        if self.model.where(code, self.kitchen.today) is None or day == old or swapped & {code, *along}:
            return
        steps = list(self.model.steps(code, self.kitchen.today))
        if any(step.day < day for step in steps[0 if code in self.model.parts() else 1 :]):
            with pytest.raises(Refused):
                fix(self.kitchen, code, Corrections(packed=day.isoformat()))
            return
        fix(self.kitchen, code, Corrections(packed=day.isoformat()))
        packed = tuple((one, old, day) for one in (code, *along))
        self.done("fix", self.kitchen, codes=frozenset({code, *along}), packed=packed)

    @precondition(some)
    @rule(pick=st.integers(0, 3), other=st.integers(1, 3))
    def swaps_labels(self, pick: int, other: int) -> None:
        one, two = self.code(pick), self.code(pick + other)
        single = all(
            (now := self.model.where(code, self.kitchen.today)) is not None
            and now[0] != "out"
            and all(step.delta <= 1 for act in self.model.acts for step in act.steps if step.code == code)
            and not any(act.kind == "fix" and code in {one for one, _, _ in act.packed} for act in self.model.acts)
            for code in (one, two)
        )
        said = [(self.model.packed(code), self.model.weight(code)) for code in (one, two)]
        if one == two or not single or said[0] == said[1]:
            return
        swap(self.kitchen, one, two)
        self.done(
            "swap",
            self.kitchen,
            codes=frozenset({one, two}),
            weights=((one, said[0][1], said[1][1]), (two, said[1][1], said[0][1])),
            swapped=((one, said[0][0]), (two, said[1][0])),
        )

    @rule(before=st.integers(0, 3), ago=st.integers(0, 5))
    def finds_that_a_lot_now_split_was_packed_on_another_day(self, before: int, ago: int) -> None:
        self._pack(self.kitchen, before, 3, CHEST)
        self.splits_a_lot(0, 1)
        self.corrects_the_day_it_was_packed(1, ago)

    @rule(ago=st.integers(1, 4), place=st.sampled_from(PLACES))
    def finds_two_labels_on_each_others_packs(self, ago: int, place: str) -> None:
        self._pack(self.kitchen, ago, 1, place)
        self._pack(self.kitchen, ago - 1, 1, CHEST)
        self.moves(1, PLACES[0])
        self.swaps_labels(0, 1)

    @precondition(lambda self: self.model.acts)
    @rule(pick=st.integers(0, 7))
    def takes_an_act_back(self, pick: int) -> None:
        """Any act of the last eight, an undo too."""
        act = self.model.acts[-1 - pick % len(self.model.acts)]
        number = uids(self.kitchen.book).index(act.uid) + 1
        if act.undone_by is not None or self.model.refused_to_undo(act):
            if act.undone_by is not None:
                return
            with pytest.raises(CannotUndo):
                undo(self.kitchen, target(self.kitchen, number))
            return
        undo(self.kitchen, target(self.kitchen, number))
        act.undone_by = self.done("undo", self.kitchen, codes=act.codes, undoes=act)

    # -- other books -------------------------------------------------------------------------------------------------

    @rule()
    def goes_out_into_plain_files_and_comes_back(self) -> None:
        folder = Path(self.folder.name) / f"export-{self.books}"
        export(self.kitchen, folder)
        self.books += 1
        path = self.path()
        bring_back(path, folder, chance=seeded_chance(), clock=self.clock)
        back, here = everything(path), everything(self.kitchen.book.path)
        # When the tables were made, by the machine's own clock.
        del back["_sqlite_migrations"], here["_sqlite_migrations"]
        # What came back draws other codes: those of an evening that was lost are on labels.
        for book in (back, here):
            book["meta"] = [row for row in book["meta"] if row[0] != "walk"]
        assert back == here
        self.kitchen.book.close()
        self.kitchen = self.opened(path)

    @precondition(some)
    @rule(pick=st.integers(0, 3), place=st.sampled_from(PLACES), ago=st.sampled_from((0, 2)), home=st.booleans())
    def has_a_book_at_the_cabin(self, pick: int, place: str, ago: int, home: bool) -> None:
        """Packed and taken there, packed here meanwhile, and joined: either way round it is the same book."""
        self.books += 1
        cabin_file = self.path()
        safekeeping.for_other_place(self.kitchen, "cabin", "", cabin_file)
        cabin = self.opened(cabin_file, station="cabin")
        there = self._pack(cabin, 0, 1, place)
        self._take(cabin, self.code(pick + 1), ago, Reason.EATEN)
        self.clock.at += timedelta(minutes=5)
        self.kitchen, cabin = self.kitchen.afresh(), cabin.afresh()
        if home:
            self._pack(self.kitchen, ago, 1, CHEST)
        self._take(cabin, there, 0, Reason.GIVEN)
        self.books += 1
        mine = self.path()
        copying.copy_book(self.kitchen.book, mine)
        cabin.book.close()
        first = join(self.kitchen, cabin_file)
        again = join(self.kitchen.afresh(), cabin_file)
        assert (again.acts, again.packages) == (0, 0)
        assert first.acts >= 2
        other = self.opened(cabin_file, station="cabin")
        join(other, mine)
        other.book.close()
        here, elsewhere = everything(self.kitchen.book.path), everything(cabin_file)
        for own in ("meta", "setting", "_sqlite_migrations"):
            del here[own], elsewhere[own]
        assert here == elsewhere
        self.kitchen = self.kitchen.afresh()
        order = {uid: place for place, uid in enumerate(uids(self.kitchen.book))}
        self.model.acts.sort(key=lambda act: order[act.uid])

    # -- what must hold ----------------------------------------------------------------------------------------------

    @invariant()
    def holds(self) -> None:
        if not hasattr(self, "kitchen"):
            return
        assert check(self.kitchen.afresh()).faults == ()
        self.compare(self.kitchen.today, None)
        for package in queries.packages(self.kitchen.book):
            if self.model.where(package.code, self.kitchen.today) is not None:
                assert package.net_mg == self.model.weight(package.code)
                assert package.packed_on == self.model.packed(package.code)

    @rule(ago=st.integers(0, 40))
    def looks_back(self, ago: int) -> None:
        day = self.kitchen.today - timedelta(days=ago)
        self.compare(day, day)

    def compare(self, day: date, as_of: date | None) -> None:
        names = queries.place_names(self.kitchen.book)
        found: dict[str, Where] = {}
        for package in queries.packages(self.kitchen.book, as_of=as_of):
            state = package.state
            if state.reason is Reason.VOID:
                assert state.quantity == 0
                continue
            place = "out" if state.reason else names.get(state.place_id or 0, CHEST)
            found[package.code] = (place, state.reason.value if state.reason else "", state.quantity)
        wanted = {code: self.model.where(code, day) for code in self.model.codes()}
        assert found == {code: where for code, where in wanted.items() if where is not None}


def uids(book: Book) -> list[str]:
    return [row[0] for row in book.connection.execute("SELECT uid FROM act ORDER BY id")]


@pytest.mark.parametrize(
    ("examples", "steps"),
    [pytest.param(8, 22, id="some"), pytest.param(50, 35, marks=pytest.mark.sweep, id="many")],
)
def test_the_book_is_what_people_did(examples: int, steps: int) -> None:
    run_state_machine_as_test(
        KeepingMachine,
        settings=settings(max_examples=examples, stateful_step_count=steps, deadline=None, print_blob=True),
    )
