"""Acts: all or nothing, one writer at a time, none lost."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from freezerbox.book import journal, queries
from freezerbox.book.door import Book
from freezerbox.book.writer import Writer
from freezerbox.chores.check import check
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.take import take
from freezerbox.core.code import is_valid, make_code
from freezerbox.core.records import Reason, State
from freezerbox.errors import AlreadyGone, BookTrouble, Refused
from tests.book.look import everything
from tests.conftest import Stocked, StoppedClock

DAY = date(2026, 12, 2)


def pack_one(act: Writer, letter: str = "K") -> str:
    code = act.new_code("package", letter)
    act.add("package", code=code, cut="ground", packed_on="2026-12-02", first_frozen_on="2026-12-02")
    act.move(code, state=State.FROZEN, freezer_id=None, place_id=None, delta=1)
    return code


def test_an_act_is_kept_with_all_that_it_wrote(book: Book, book_path: Path, clock: StoppedClock) -> None:
    clock.move_to("2026-12-03T01:30")
    with book.act("pack", DAY, by="Ann", request_id="r1", words="packed one") as act:
        code = pack_one(act)
        act.change("package", code, "note", "", "thick")
    kept = journal.acts(book)[0]
    assert (kept.id, kept.kind, kept.happened_on, kept.by, kept.station, kept.words) == (
        act.act_id,
        "pack",
        DAY,
        "Ann",
        "table",
        "packed one",
    )
    assert kept.recorded_at == "2026-12-03T01:30:00+00:00"
    assert (kept.undoes, kept.undone_by) == (None, None)
    package = queries.package(book, code)
    assert package is not None
    assert (package.note, package.state.quantity, package.state.since) == ("thick", 1, DAY)
    assert [movement.act_id for movement in journal.movements(book, code=code)] == [act.act_id]
    assert [(one.field, one.old, one.new) for one in journal.changes(book, act_id=act.act_id)] == [
        ("note", "", "thick")
    ]
    # On the disk, not only in this connection.
    assert len(everything(book_path)["act"]) == 1


class Stumble(Exception):
    """Somebody trips over the cable."""


@pytest.mark.parametrize("trouble", [Stumble, KeyboardInterrupt, Refused, SystemExit])
def test_an_act_that_is_broken_off_leaves_nothing(
    stocked: Stocked, book_path: Path, trouble: type[BaseException]
) -> None:
    before = everything(book_path)

    def broken_off() -> None:
        with stocked.book.act("pack", DAY) as act:
            pack_one(act)
            act.change("package", stocked.roast.code, "note", "", "x")
            act.change("setting", "units", "value", "lb", "kg")
            raise trouble("stopped")

    with pytest.raises(trouble):
        broken_off()
    assert everything(book_path) == before
    assert not stocked.book.connection.in_transaction
    with stocked.book.act("pack", DAY) as act:
        pack_one(act)
    assert check(stocked.kitchen).faults == ()


def test_an_act_that_the_file_refuses_leaves_nothing_and_says_so(stocked: Stocked, book_path: Path) -> None:
    before = everything(book_path)

    def wrong() -> None:
        with stocked.book.act("pack", DAY) as act:
            code = pack_one(act)
            act.move(code, state=State.FROZEN, freezer_id=None, place_id=None, delta=-5)

    with pytest.raises(BookTrouble, match="refused the entry"):
        wrong()
    assert everything(book_path) == before


def test_an_act_inside_another_writing_is_part_of_it(stocked: Stocked, book_path: Path) -> None:
    before = everything(book_path)

    def both() -> None:
        with stocked.book.writing():
            take(stocked.kitchen, stocked.chops[0].code)
            take(stocked.kitchen, stocked.chops[0].code)

    with pytest.raises(AlreadyGone):
        both()
    assert everything(book_path) == before


def test_what_is_not_written_yet_is_not_seen_by_another(book: Book, open_again: Callable[..., Book]) -> None:
    other = open_again()
    with book.act("pack", DAY) as act:
        pack_one(act)
        assert queries.packages(other) == ()
    assert len(queries.packages(other)) == 1


def test_a_request_that_comes_twice_is_one_act(book: Book, book_path: Path) -> None:
    with book.act("pack", DAY, request_id="r1") as act:
        pack_one(act)
    before = everything(book_path)

    def again() -> None:
        with book.act("pack", DAY, request_id="r1") as act:
            pack_one(act)

    with pytest.raises(BookTrouble):
        again()
    assert everything(book_path) == before
    made = journal.act_of_request(book, "r1")
    assert made is not None
    assert made.id == act.act_id
    assert journal.act_of_request(book, "r2") is None


def test_an_act_is_undone_once(book: Book) -> None:
    with book.act("pack", DAY) as act:
        pass
    with book.act("undo", DAY, undoes=act.act_id):
        pass

    def again() -> None:
        with book.act("undo", DAY, undoes=act.act_id):
            pass

    with pytest.raises(BookTrouble):
        again()


def test_only_what_may_change_is_changed(book: Book) -> None:
    def wrong() -> None:
        with book.act("fix", DAY) as act:
            act.change("package", "K7P3MT", "uid", "a", "b")

    with pytest.raises(ValueError, match=r"package\.uid cannot be changed"):
        wrong()


def test_codes_are_never_issued_twice(book: Book) -> None:
    codes = []
    for number in range(5):
        with book.act("pack", DAY) as act:
            codes += [act.new_code("package", "K") for _ in range(40)]
            codes += [act.new_code("place", str(number)) for _ in range(5)]
    assert len(set(codes)) == len(codes)
    assert all(is_valid(code) for code in codes)
    assert {code[0] for code in codes} == {"K", "0", "1", "2", "3", "4"}


def test_a_code_that_would_be_mistaken_is_passed_over(book: Book) -> None:
    with book.act("pack", DAY) as act:
        first = act.new_code("package", "K", avoid=lambda code: code[1] in "0123456789")
        assert first[1].isalpha()


def test_when_every_code_is_to_be_passed_over_it_says_so(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    few = [body for body in ("K0000", "K0001", "K0002", "K0003", "K0004") if make_code(body)]
    monkeypatch.setattr("freezerbox.book.writer.bodies", lambda first, start: iter(few))
    with book.act("pack", DAY) as act:
        issued = {act.new_code("package", "K") for _ in few}
        assert len(issued) == len(few) > 1
        with pytest.raises(BookTrouble, match="Every code beginning with K is taken"):
            act.new_code("package", "K")


ONE_OF_EIGHT = """
import sys
from datetime import UTC, date, datetime
from pathlib import Path
from random import Random
from freezerbox.book.door import Chance, open_book
from freezerbox.core.records import State

path, seed = sys.argv[1:]
source = Random(seed)
chance = Chance(uid=lambda: f"{source.getrandbits(80):020x}", number=source.randrange)
book = open_book(Path(path), chance=chance, now=lambda: datetime(2026, 12, 2, 21, tzinfo=UTC), station=seed)
print("ready", flush=True)
sys.stdin.readline()
for number in range(20):
    with book.act("pack", date(2026, 12, 2), words=f"{seed}/{number}") as act:
        code = act.new_code("package", "K")
        act.add("package", code=code, cut="ground", packed_on="2026-12-02", first_frozen_on="2026-12-02")
        act.move(code, state=State.FROZEN, freezer_id=None, place_id=None, delta=1)
"""

CREATE = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from freezerbox.book.door import Chance, create_book
from freezerbox.errors import BookTrouble
import sqlite_utils

path, seed = sys.argv[1:]
source = Random(seed)
chance = Chance(uid=lambda: seed, number=source.randrange)
print("ready", flush=True)
sys.stdin.readline()
try:
    create_book(Path(path), chance=chance, now=lambda: datetime(2026, 12, 2, 21, tzinfo=UTC)).close()
    print("made")
except BookTrouble as trouble:
    print("is there already" in trouble.message)
"""


def at_once(program: str, path: Path, count: int) -> list[str]:
    """What ``count`` processes print that all begin at the same moment."""
    started = [
        subprocess.Popen(
            [sys.executable, "-c", program, str(path), str(number)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for number in range(count)
    ]
    for process in started:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
    for process in started:
        assert process.stdin is not None
        process.stdin.write("\n")
        process.stdin.flush()
    said = [process.communicate(timeout=120)[0].strip() for process in started]
    assert [process.returncode for process in started] == [0] * count
    return said


def test_eight_programs_writing_at_once_lose_nothing(kitchen: Kitchen, book_path: Path) -> None:
    at_once(ONE_OF_EIGHT, book_path, 8)
    written = [act.words for act in journal.acts(kitchen.book) if act.kind == "pack"]
    assert sorted(written) == sorted(f"{seed}/{number}" for seed in range(8) for number in range(20))
    for seed in range(8):  # each program's acts in its own order
        assert [words for words in reversed(written) if words.startswith(f"{seed}/")] == [
            f"{seed}/{number}" for number in range(20)
        ]
    packages = queries.packages(kitchen.book, State.FROZEN)
    assert len({package.code for package in packages}) == 160
    assert check(kitchen).faults == ()


def test_of_four_that_start_a_book_at_once_one_makes_it(tmp_path: Path) -> None:
    for round_ in range(3):
        path = tmp_path / f"{round_}.book"
        said = at_once(CREATE, path, 4)
        assert sorted(said) == ["True", "True", "True", "made"]
        meta = {key: value for key, value in everything(path)["meta"]}  # noqa: C416 -- typed pairs
        assert meta["uid"] == str(said.index("made"))


def test_two_who_take_the_same_package_take_it_once(stocked: Stocked, open_again: Callable[..., Book]) -> None:
    code = stocked.roast.code
    phone = Kitchen(open_again(), stocked.clock)
    take(stocked.kitchen, code)
    with pytest.raises(AlreadyGone):
        take(phone, code)
    assert [one.reason for one in journal.movements(phone.book, code=code)] == [None, Reason.EATEN]


KILLED = """
import os, sys
from datetime import UTC, date, datetime
from pathlib import Path
from freezerbox.book.door import Chance, open_book
from freezerbox.core.records import State

chance = Chance(uid=iter(f"killed{n}" for n in range(99)).__next__, number=lambda below: 0)
book = open_book(Path(sys.argv[1]), chance=chance, now=lambda: datetime(2026, 12, 2, 21, tzinfo=UTC))
book.connection.execute("PRAGMA cache_size = 1")  # so that pages are written to the file before the end
with book.act("pack", date(2026, 12, 2)) as act:
    for number in range(40):
        code = act.new_code("package", "K")
        act.add("package", code=code, cut="ground", packed_on="2026-12-02", first_frozen_on="2026-12-02")
        act.move(code, state=State.FROZEN, freezer_id=None, place_id=None, delta=1)
    os._exit(9)
"""


def test_power_lost_in_the_middle_of_an_act_leaves_the_book_as_it_was(stocked: Stocked, book_path: Path) -> None:
    before = everything(book_path)
    whole = book_path.read_bytes()
    stocked.book.close()
    killed = subprocess.run([sys.executable, "-c", KILLED, str(book_path)], check=False)
    assert killed.returncode == 9
    assert book_path.read_bytes() != whole  # it was in the middle of writing
    with closing(sqlite3.connect(book_path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    assert everything(book_path) == before
