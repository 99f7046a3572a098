"""Swaps of labels that were swapped: in any order, every pack has one past, its own, held against a plain model."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from itertools import combinations, permutations

import pytest

from freezerbox.book import journal, queries
from freezerbox.chores import pack, places
from freezerbox.chores.check import check
from freezerbox.chores.fix import swap
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.move import move
from freezerbox.chores.story import story
from freezerbox.chores.take import take
from freezerbox.chores.undo import target, undo
from freezerbox.core.records import State
from tests.conftest import StoppedClock

CUTS = ("ground", "shank", "stew")
PAIRS = tuple(combinations(range(3), 2))
DAYS = tuple(range(9, 18))
Scan = tuple[int, int, str]
"""A label seen: the day, its number, the place."""


class Plain:
    """Three labels, each packed on a day of its own, wherever each was seen since, and which were swapped."""

    def __init__(self) -> None:
        self.seen: list[Scan] = []
        self.swaps: list[tuple[int, int]] = []

    def stuck_on(self, label: int) -> int:
        return min(day for day, one, _ in self.seen if one == label)

    def bears(self) -> list[int]:
        """By label, the pack that bears it; a pack is called by the label it was packed with."""
        pack_of = [0, 1, 2]
        for one, other in self.swaps:
            pack_of[one], pack_of[other] = pack_of[other], pack_of[one]
        return pack_of

    def lay(self, day: int) -> dict[int, tuple[str, str]]:
        """What lay there at the end of a day: by the label that it bears now, its cut and its place."""
        pack_of, found = self.bears(), {}
        for label, own in enumerate(pack_of):
            if self.stuck_on(own) > day:
                continue
            ring, one = {label}, pack_of[label]
            while one not in ring:
                ring.add(one)
                one = pack_of[one]
            mixed_up = day >= max(self.stuck_on(one) for one in ring)
            then = label if mixed_up else own
            at = [place for when, one, place in self.seen if one == then and when <= day][-1]
            found[label] = (CUTS[own], at)
        return found


class Yard:
    """The book and the model of it, side by side."""

    def __init__(self, kitchen: Kitchen, clock: StoppedClock) -> None:
        kitchen.book.connection.execute("PRAGMA synchronous = OFF")
        self.kitchen, self.clock, self.plain = kitchen, clock, Plain()
        self.codes = ["", "", ""]
        for name in ("Red", "Green", "Blue", "White"):
            places.add_place(kitchen, name)

    def on(self, day: int) -> None:
        self.clock.at = datetime(2026, 11, day, 20)
        self.kitchen = self.kitchen.afresh()

    def packs(self, label: int, place: str) -> None:
        made = pack.prepare(self.kitchen, Words(cut=CUTS[label], species="deer", place=place), [str(label + 1)])
        self.codes[label] = pack.write(self.kitchen, made).rows[0].code
        self.plain.seen.append((self.kitchen.today.day, label, place))

    def moves(self, label: int, place: str) -> None:
        move(self.kitchen, [self.codes[label]], to=place)
        self.plain.seen.append((self.kitchen.today.day, label, place))

    def swaps(self, one: int, other: int) -> None:
        swap(self.kitchen, self.codes[one], self.codes[other])
        self.plain.swaps.append((one, other))

    def undoes(self) -> None:
        """The last act that stands."""
        latest = next(act.id for act in journal.acts(self.kitchen.book) if not act.undoes and not act.undone_by)
        undo(self.kitchen, target(self.kitchen, latest))

    def agree(self) -> None:
        names = queries.place_names(self.kitchen.book)
        for day in DAYS:
            told = {
                self.codes.index(one.code): (one.cut, names[one.state.place_id or 0])
                for one in queries.packages(self.kitchen.book, as_of=date(2026, 11, day))
            }
            assert told == self.plain.lay(day), (day, self.plain.swaps, self.plain.seen)


@pytest.fixture
def yard(kitchen: Kitchen, clock: StoppedClock) -> Yard:
    return Yard(kitchen, clock)


def every_way(yard: Yard, most: int, moved: bool = False) -> Iterator[None]:
    """Up to ``most`` swaps in every order, and before each but the first, if none was moved, any of them moved."""
    yield
    if not most:
        return
    for one, other in PAIRS:
        yard.swaps(one, other)
        yield from every_way(yard, most - 1, moved)
        yard.plain.swaps.pop()
        yard.undoes()
    if moved or not yard.plain.swaps:
        return
    for label in range(3):
        yard.moves(label, "White")
        yield from every_way(yard, most, moved=True)
        yard.plain.seen.pop()
        yard.undoes()


@pytest.mark.parametrize(
    ("order", "most", "ways"),
    [
        *((order, 2, 49) for order in permutations(range(3))),
        # Of the orders that two swaps pass, the one as stuck on and one turned round stand for all.
        *(pytest.param(order, 3, 265, marks=pytest.mark.sweep) for order in ((0, 1, 2), (2, 0, 1))),
    ],
    ids=str,
)
def test_every_pack_has_its_own_past(yard: Yard, order: tuple[int, int, int], most: int, ways: int) -> None:
    for turn, label in enumerate(order):
        yard.on(10 + 2 * turn)
        yard.packs(label, ("Red", "Green", "Blue")[turn])
        if turn < 2:
            yard.on(11 + 2 * turn)
            yard.moves(label, ("Green", "Blue")[turn])
    yard.on(16)
    went = 0
    for _ in every_way(yard, most):
        yard.agree()
        went += 1
    assert went == ways
    assert not check(yard.kitchen).faults


def test_a_pack_that_never_moved_lies_where_it_lay_until_the_last_label_was_stuck_on(yard: Yard) -> None:
    """The ring of three swaps, each alone, is but the swap of two: the third label is on its own pack again."""
    for label, day, place in ((2, 9, "Blue"), (0, 10, "Green"), (1, 13, "White")):
        yard.on(day)
        yard.packs(label, place)
        if label == 0:
            yard.on(11)
            yard.moves(0, "Red")
    yard.on(14)
    yard.swaps(0, 1)
    yard.swaps(1, 2)
    ground, shank, stew = (yard.plain.bears().index(own) for own in range(3))
    assert (ground, shank, stew) == (2, 0, 1)
    for day in (11, 12):
        assert yard.plain.lay(day) == {ground: ("ground", "Red"), stew: ("stew", "Blue")}
    yard.agree()
    yard.swaps(2, 0)
    assert yard.plain.bears() == [0, 2, 1]
    yard.agree()
    history = [step.on.day for step in story(yard.kitchen, yard.codes[0]).steps if step.kind != "swap"]
    assert history == [10, 11]


def test_what_was_told_late_stays_with_the_pack_it_was_told_of(yard: Yard) -> None:
    for label, day, place in ((0, 10, "Red"), (1, 12, "Green"), (2, 14, "Red")):
        yard.on(day)
        yard.packs(label, place)
    yard.on(15)
    yard.swaps(0, 2)
    # The ground bears label 2 now, which was not there on the 11th.
    take(yard.kitchen, yard.codes[2], on="11 nov")

    def there() -> list[list[str]]:
        return [
            sorted(one.cut for one in queries.packages(yard.kitchen.book, State.FROZEN, as_of=date(2026, 11, day)))
            for day in (10, 11, 12, 14, 15)
        ]

    gone = [["ground"], [], ["shank"], ["shank", "stew"], ["shank", "stew"]]
    assert there() == gone
    yard.swaps(0, 1)
    assert there() == gone
    assert not check(yard.kitchen).faults
    yard.undoes()
    yard.undoes()
    assert there() == [["ground"], ["ground"], ["ground", "shank"], [*CUTS], [*CUTS]]
    yard.undoes()
    assert there() == [["ground"], ["ground"], ["ground", "shank"], [*CUTS], [*CUTS]]
