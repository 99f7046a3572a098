"""Ten years in one book, and far too much in one book: ``python tests/keeping/years.py``; part of ``tests/bench.py``.

It informs and gates nothing, but for the size of the file.  Times are processor seconds of the program, each the
middle of several runs, and as a ratio to the same command on a book of 51 packages.  Goal for ten years: at most 1.3.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from freezerbox.book.door import Book

ANIMALS, EACH = 60, 57
ROUNDS = 5
MOST_BYTES = 20_000_000
MANY = 100_000
LAST_DAY = date(2026, 11, 21)


class YearsClock:
    """The evening of a day, moved by hand."""

    def __init__(self, day: date) -> None:
        self.day = day

    def now(self) -> datetime:
        return datetime(self.day.year, self.day.month, self.day.day, 21)

    def stamp(self) -> datetime:
        return self.now().replace(tzinfo=UTC)


def build(path: Path, animals: int, each: int) -> None:
    """A book of that many animals with ``each`` packages; what is older than four animals is eaten.

    Packed through the chores; carried about and taken one by one, straight through acts.
    """
    from freezerbox.book import door
    from freezerbox.chores import animals as animal_chores
    from freezerbox.chores import house, pack, places
    from freezerbox.chores.header import Words
    from freezerbox.chores.kitchen import Kitchen

    source = Random(10)
    chance = door.Chance(uid=lambda: f"{source.getrandbits(80):020x}", number=source.randrange)
    clock = YearsClock(LAST_DAY - timedelta(days=60 * animals))
    book = door.create_book(path, chance=chance, now=clock.stamp, station="bench")
    book.connection.execute("PRAGMA synchronous = OFF")
    kitchen = Kitchen(book, clock)
    house.start(kitchen, units="lb", guide="split-2018", freezer="Garage chest", volume="15 cu ft")
    for place in ("red bag", "top layer"):
        places.add_place(kitchen.afresh(), place)
    lying: list[list[str]] = []
    for number in range(animals):
        clock.day += timedelta(days=60)
        kitchen = Kitchen(book, clock)
        code = f"{clock.day.year % 100:02}{'ABCDEFGHJK'[number % 10]}{number // 10 % 10}"
        species = "whitetail doe" if number % 2 else "pig"
        animal_chores.add_animal(kitchen, animal_chores.NewAnimal(code=code, species=species))
        mine: list[str] = []
        for cut in ("backstrap" if number % 2 else "loin chops", "ground", "stew"):
            weights = [f"{source.uniform(0.9, 1.2):.2f}" for _ in range(each // 3)]
            words = Words(cut=cut, animals=(code,), place="red bag", fat="none" if cut == "ground" else "")
            mine += [row.code for row in pack.write(kitchen, pack.prepare(kitchen, words, weights)).rows]
        lying.append(mine)
        _year_goes_by(book, clock, lying)
    book.close()


def _year_goes_by(book: Book, clock: YearsClock, lying: list[list[str]]) -> None:
    from freezerbox.core.records import Reason, State

    if len(lying) > 4:
        for code in lying.pop(0):
            for place in (2, 1, 2):
                with book.act("move", clock.day, words=f"moved {code}") as act:
                    act.move(code, state=State.FROZEN, freezer_id=1, place_id=place)
            with book.act("take", clock.day, words=f"{code} taken") as act:
                act.move(code, state=State.GONE, reason=Reason.EATEN, freezer_id=1, place_id=2, delta=-1)


def build_many(path: Path, packages: int) -> None:
    """A book with far more in it than a household has: one act, straight into the tables."""
    from freezerbox.core.code import bodies, make_code

    build(path, 1, 51)
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA synchronous = OFF")
    connection.execute("BEGIN")
    day = LAST_DAY.isoformat()
    connection.execute(
        "INSERT INTO act (id, uid, kind, happened_on, recorded_at) VALUES (999, 'many', 'pack', ?, ?)", (day, day)
    )
    codes = [code for code in map(make_code, bodies("Q", 1)) if code is not None][:packages]
    connection.executemany("INSERT OR IGNORE INTO code VALUES (?, 'package', 999)", [(code,) for code in codes])
    connection.executemany(
        "INSERT INTO package (code, uid, act_id, cut, species, net_mg, packed_on, first_frozen_on) "
        "VALUES (?, ?, 999, 'stew', 'whitetail', 450000, ?, ?)",
        [(code, f"many {code}", day, day) for code in codes],
    )
    connection.executemany(
        "INSERT INTO movement (act_id, code, happened_on, state, freezer_id, delta) "
        "VALUES (999, ?, ?, 'frozen', 1, 1)",
        [(code, day) for code in codes],
    )
    connection.execute("COMMIT")
    connection.close()


def processor_seconds(book: Path, arguments: Sequence[str]) -> float:
    """What one run of the program costs, whatever else the machine does."""
    left_out = ("FREEZERBOX_", "PYTHONDONTWRITEBYTECODE")
    own = {key: value for key, value in os.environ.items() if not key.startswith(left_out)}
    program = str(Path(sys.executable).parent / "freezerbox")
    process = subprocess.Popen(
        [program, *arguments],
        env=own | {"FREEZERBOX_BOOK": str(book), "FREEZERBOX_NOW": f"{LAST_DAY}T21:00"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"ended with {process.returncode}: {' '.join(arguments)}")
    return usage.ru_utime + usage.ru_stime


def frozen(book: Path) -> list[str]:
    connection = sqlite3.connect(book)
    rows = connection.execute("SELECT code FROM package_state WHERE state = 'frozen' ORDER BY rowid DESC").fetchall()
    connection.close()
    return [row[0] for row in rows]


def commands(book: Path) -> Iterator[tuple[str, Callable[[], Sequence[str]]]]:
    codes = frozen(book)
    fresh = iter(codes)
    yield "find", lambda: ("find", "chops")
    yield "show", lambda: ("show", codes[-1])
    yield "take", lambda: ("take", next(fresh))
    yield "undo", lambda: ("undo",)
    yield "rotation --limit 20", lambda: ("rotation", "--limit", "20")


def times(book: Path, rounds: int) -> dict[str, float]:
    processor_seconds(book, ("undo", "--list"))
    return {
        name: median(processor_seconds(book, arguments()) for _ in range(rounds))
        for name, arguments in commands(book)
    }


def counts(book: Path) -> str:
    connection = sqlite3.connect(book)
    found = [connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in ("package", "movement")]
    connection.close()
    return f"{found[0]} packages, {found[1]} movements, {book.stat().st_size / 1e6:.1f} MB"


def scans(folder: Path) -> float:
    """A take in a running session against a bare program that writes the same two rows; ratio of wall time.

    On a disk in memory where there is one, so that the program is measured and not the disk.  The two take turns and
    their medians are compared, so that neither has the quieter minute.
    """
    from freezerbox.book import door
    from freezerbox.chores.kitchen import Kitchen
    from freezerbox.chores.take import take

    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else folder) as place:
        path, bare = Path(place) / "scan.book", Path(place) / "bare.book"
        build(path, 2, 99)
        bare.write_bytes(path.read_bytes())
        source = Random(2)
        clock = YearsClock(LAST_DAY)
        chance = door.Chance(uid=lambda: f"{source.getrandbits(80):020x}", number=source.randrange)
        ours, theirs = [], []
        with (
            closing(door.open_book(path, chance=chance, now=clock.stamp, station="bench")) as book,
            closing(door.connect(bare)) as connection,
        ):
            for number, code in enumerate(frozen(path)):
                start = time.perf_counter()
                take(Kitchen(book, clock), code)
                between = time.perf_counter()
                _bare_take(connection, number, code, clock.stamp().isoformat())
                theirs.append(time.perf_counter() - between)
                ours.append(between - start)
        return median(ours) / median(theirs)


def _bare_take(connection: sqlite3.Connection, number: int, code: str, stamp: str) -> None:
    connection.execute("BEGIN IMMEDIATE")
    cursor = connection.execute(
        "INSERT INTO act (uid, kind, happened_on, recorded_at, words) VALUES (?, 'take', ?, ?, ?)",
        (f"{number:020x}", LAST_DAY.isoformat(), stamp, f"{code} taken"),
    )
    connection.execute(
        "INSERT INTO movement (act_id, code, happened_on, state, reason, freezer_id, delta) "
        "VALUES (?, ?, ?, 'gone', 'eaten', 1, -1)",
        (cursor.lastrowid, code, LAST_DAY.isoformat()),
    )
    connection.execute("COMMIT")


def main(rounds: int = ROUNDS) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        small, ten, many = (folder / f"{name}.book" for name in ("small", "ten", "many"))
        build(small, 1, 51)
        build(ten, ANIMALS, EACH)
        build_many(many, MANY)
        least = times(small, rounds)
        for name, book in (("ten years", ten), ("far too much", many)):
            print(f"{name}: {counts(book)}; processor time, ratio to {counts(small)}")
            for command, seconds in times(book, rounds).items():
                print(f"  {command:<36} {seconds * 1000:6.0f} ms  {seconds / least[command]:6.2f}", flush=True)
        if ten.stat().st_size > MOST_BYTES:
            raise SystemExit(f"ten years are {ten.stat().st_size} bytes; at most {MOST_BYTES}")
        print(f"a take in a running session, ratio to a bare program that writes the same rows: {scans(folder):.2f}")


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[2]))
    main()
