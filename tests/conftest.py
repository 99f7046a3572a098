"""Fixtures of every room: a clock moved by hand, chance that plays again, a book, a kitchen, a stocked freezer.

Nothing stands in for a real part: the clock and chance come in by the doors that the program itself uses.
"""

from __future__ import annotations

import shutil
import signal
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from random import Random

import pytest
from hypothesis import settings
from xdist.remote import Producer
from xdist.scheduler import LoadScopeScheduling

from freezerbox.book.door import Book, Chance, create_book, open_book
from freezerbox.chores import animals, house, pack, places
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.core.records import Animal, Place
from freezerbox.food import keeping
from tests.cli.process import House, play_evening

# The same examples each run, no clock, nothing left behind: a failure is one that anybody can play again.
settings.register_profile("house", derandomize=True, database=None, deadline=None)
settings.load_profile("house")

# Begun in the background, by a shell without job control, the tests and all they start would be deaf to Ctrl-C.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

LONGEST_FIRST = (
    "printing",
    "weather/test_weather_rates.py",
    "keeping/test_keeping_stops.py",
    "outside/test_labels_renderers.py",
    "keeping/test_keeping_layouts.py",
    "places/test_adopt.py",
    "labels/test_labels_layout.py",
    "keeping/test_keeping_machine.py",
    "keeping/test_keeping_hands.py",
    "weather/test_weather_every_stock.py",
    "keeping/test_keeping_room.py",
    "reading/test_reading_closely.py",
    "house/test_demo.py",
)
"""What takes longest, in that order: begun last, it would keep one core busy while the others have nothing to do."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes longest comes first."""
    order = {one: place for place, one in enumerate(LONGEST_FIRST)}
    items.sort(key=lambda item: order.get(_together(item.nodeid), len(order)))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> LoadScopeScheduling:
    """The tests of a file run in one process, since they share a stocked book; those of all printing in one as well.

    There can be one print shop on a machine: a second process would wait for the first to end.
    """

    scheduler = LoadScopeScheduling(config, log)
    scheduler._split_scope = _together
    return scheduler


def _together(nodeid: str) -> str:
    room, _, file = nodeid.partition("::")[0].removeprefix("tests/").partition("/")
    return room if room == "printing" else f"{room}/{file}"


WRAPPING_EVENING = datetime(2026, 11, 21, 21, 0)
LATER_EVENING = datetime(2026, 12, 2, 21, 0)


@dataclass
class StoppedClock:
    """A clock that stands at ``at`` until a test moves it; local time is taken as UTC."""

    at: datetime = LATER_EVENING

    def now(self) -> datetime:
        return self.at

    def stamp(self) -> datetime:
        return self.at.replace(tzinfo=UTC)

    def move_to(self, text: str) -> None:
        """``2026-12-03`` or ``2026-12-03T21:00``; ask a kitchen ``afresh()`` afterwards, it remembers its day."""
        self.at = datetime.fromisoformat(text)


@dataclass(frozen=True, kw_only=True)
class Stocked:
    """A small stocked freezer, as it lies on the evening of 2 December 2026.

    kitchen: today is 2026-12-02; the book's letter is in its codes.
    doe: 26B, whitetail, killed 14 Nov, processed 21 Nov 2026, test pending, sample 4471.
    hog: 26H, half hog, processed 20 Nov 2026.  red_bag: where the backstraps and the ground venison lie.
    backstraps: 4, of the doe, 3.6 lb together, HELD.  chops: 14 loin chops of the hog, 14.71 lb, 56 pieces, no place.
    ground: 2 of plain ground deer, 1 Mar 2026, 3 months by the default guide: best by 1 Jun 2026; no animal.
    roast: a beef chuck roast of 10 Nov 2025, 12 months: best by 10 Nov 2026; no animal.
    Rows are as they were when packed; ask the kitchen again for how they are now.
    """

    kitchen: Kitchen
    clock: StoppedClock
    doe: Animal
    hog: Animal
    red_bag: Place
    backstraps: tuple[Row, ...]
    chops: tuple[Row, ...]
    ground: tuple[Row, ...]
    roast: Row

    @property
    def book(self) -> Book:
        return self.kitchen.book

    @property
    def codes(self) -> tuple[str, ...]:
        """Codes of all 21 packages, in the order they were packed."""
        return tuple(row.code for row in (*self.ground, self.roast, *self.backstraps, *self.chops))


def seeded_chance(seed: object = 1) -> Chance:
    """Chance that comes out the same each time for a seed."""
    source = Random(f"tests/{seed}")
    return Chance(uid=lambda: f"{source.getrandbits(80):020x}", number=source.randrange)


@pytest.fixture
def clock() -> StoppedClock:
    return StoppedClock()


@pytest.fixture
def chance() -> Chance:
    return seeded_chance()


@pytest.fixture
def book_path(tmp_path: Path) -> Path:
    return tmp_path / "freezer.book"


@pytest.fixture
def book(book_path: Path, chance: Chance, clock: StoppedClock) -> Iterator[Book]:
    """A new, empty book: not even started."""
    made = create_book(book_path, chance=chance, now=clock.stamp, station="table")
    yield made
    made.close()


@pytest.fixture
def open_again(book_path: Path, clock: StoppedClock) -> Iterator[Callable[..., Book]]:
    """Opens the book of this test once more, as another program would; ``open_again(station=..., seed=...)``."""
    opened: list[Book] = []

    def again(*, station: str = "phone", by: str = "", seed: object = "again") -> Book:
        opened.append(
            open_book(
                book_path,
                chance=seeded_chance(f"{seed}/{len(opened)}"),
                now=clock.stamp,
                by=by,
                station=station,
            )
        )
        return opened[-1]

    yield again
    for each in opened:
        each.close()


@pytest.fixture
def kitchen(book: Book, clock: StoppedClock) -> Kitchen:
    """A started house: weights in lb, the default guide, one freezer, nothing in it; today is 2026-12-02."""
    return started(book, clock)


def started(book: Book, clock: StoppedClock) -> Kitchen:
    """Start the house of ``kitchen`` in an empty book."""
    made = Kitchen(book, clock)
    house.start(made, units="lb", guide=keeping.DEFAULT_GUIDE, freezer="Garage chest", volume="15 cu ft")
    return made.afresh()


@pytest.fixture(scope="session")
def stocked_before(tmp_path_factory: pytest.TempPathFactory) -> Stocked:
    """Stocked once; its book is closed, and copied for each test."""
    clock = StoppedClock()
    path = tmp_path_factory.mktemp("stocked") / "freezer.book"
    made = create_book(path, chance=seeded_chance(), now=clock.stamp, station="table")
    filled = stock(started(made, clock), clock)
    made.close()
    return filled


@pytest.fixture
def stocked(stocked_before: Stocked, book_path: Path, clock: StoppedClock) -> Iterator[Stocked]:
    """See ``Stocked``; its book is at ``book_path``.  Ask for it alone: ``kitchen`` and ``book`` make another."""
    shutil.copy(stocked_before.book.path, book_path)
    book = open_book(book_path, chance=seeded_chance("stocked"), now=clock.stamp, station="table")
    yield replace(stocked_before, kitchen=Kitchen(book, clock), clock=clock)
    book.close()


def stock(kitchen: Kitchen, clock: StoppedClock) -> Stocked:
    """Fill a started kitchen with what ``Stocked`` says."""
    clock.at = WRAPPING_EVENING
    at_the_table = kitchen.afresh()

    def packed(words: Words, weights: str) -> tuple[Row, ...]:
        return pack.write(at_the_table, pack.prepare(at_the_table, words, weights.split())).rows

    red_bag = places.add_place(at_the_table, "red bag")
    ground = packed(
        Words(cut="ground", species="whitetail", fat="none", packed="2026-03-01", place="red bag"), "1 1.02"
    )
    roast = packed(Words(cut="chuck roast", species="beef", packed="2025-11-10"), "3.2")
    doe = animals.add_animal(
        at_the_table,
        animals.NewAnimal(
            code="26B",
            species="whitetail doe",
            killed="2026-11-14",
            processed="2026-11-21",
            test="pending",
            sample="4471",
        ),
    )
    backstraps = packed(
        Words(cut="backstrap", animals=("26B",), form="half", place="red bag", wrap="vacuum"), ".9 .95 .88 .87"
    )
    hog = animals.add_animal(
        at_the_table, animals.NewAnimal(code="26H", species="pig", what="half hog", processed="2026-11-20")
    )
    chops = packed(
        Words(cut="loin chops", animals=("26H",), pieces="4", wrap="vacuum"),
        "1.10 1.05 .98 1.12 1.08 1.02 1.15 .95 1.00 1.06 1.11 .99 1.03 1.07",
    )
    clock.at = LATER_EVENING
    return Stocked(
        kitchen=at_the_table.afresh(),
        clock=clock,
        doe=doe,
        hog=hog,
        red_bag=red_bag,
        backstraps=backstraps,
        chops=chops,
        ground=ground,
        roast=roast[0],
    )


@pytest.fixture(scope="session")
def played_evening(tmp_path_factory: pytest.TempPathFactory) -> House:
    """The evening that the tests of commands begin with, played once and copied for each."""
    return play_evening(House(folder=tmp_path_factory.mktemp("evening")))
