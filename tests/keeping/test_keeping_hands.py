"""Many hands at once: none lost, none twice, none "locked"; and a session killed at any moment keeps what it said."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from freezerbox.book import journal, queries
from freezerbox.book.door import open_book
from freezerbox.chores import count as counting
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.records import State
from tests.cli.process import House, copy_of, program
from tests.conftest import StoppedClock, seeded_chance
from tests.keeping.houses import check, chops

HANDS = 8


def start(house: House, *arguments: str, seed: str = "") -> subprocess.Popen[str]:
    """The program begun, with a seed of its own: two of one seed would draw the same uids."""
    own = replace(house, seed=seed or house.seed)
    return subprocess.Popen(
        [str(program()), *arguments],
        cwd=house.folder,
        env=own.environment(),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


HAND = Path(__file__).with_name("hand.py")


@pytest.mark.parametrize("times", [15, pytest.param(100, marks=pytest.mark.sweep)])
def test_eight_at_once(house: House, times: int) -> None:
    """Two scan, two pack, one moves, one counts, one corrects, one takes back: each says what it did, and the book
    agrees.
    """
    house.ok("pack", "loin chops", *["1.1"] * 3 * times, "--animal", "26H", "--yes")
    codes = chops(house)
    (house.folder / "codes").write_text(" ".join(codes), encoding="utf-8")
    before = acts(house)
    hands = [
        subprocess.Popen(
            [sys.executable, str(HAND), kind, str(number), str(times), str(house.book), str(house.folder / "codes")],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=Path(__file__).parents[2],
        )
        for number, kind in enumerate(["scan", "scan", "pack", "pack", "move", "count", "fix", "undo"])
    ]
    said: Counter[str] = Counter()
    taken: Counter[str] = Counter()
    packed: list[str] = []
    for hand in hands:
        out, err = hand.communicate(timeout=600)
        assert hand.returncode == 0, err
        assert err == ""
        lines = [json.loads(line) for line in out.splitlines()]
        assert len(lines) == times
        for line in lines:
            assert line["outcome"] != "trouble", line
            said[line["outcome"]] += 1
            if line["outcome"] == "taken":
                taken[line["code"]] += 1
            packed += line.get("codes", [])
    check(house)
    # Everything said to be done is an act of its own, and nothing else is.
    done = sum(said[what] for what in ("taken", "packed", "moved", "counted", "fixed")) + 2 * said["undone"]
    assert said["counted"] == times
    assert acts(house) - before == done
    assert len(packed) == len(set(packed)) == 3 * said["packed"]
    book = open_book(house.book, chance=seeded_chance(), now=StoppedClock().stamp)
    found = {package.code: package for package in queries.packages(book)}
    (place,) = queries.places(book)
    look = counting.look_of(Kitchen(book, StoppedClock()), place)
    assert look.seen == tuple(codes[:times])
    movements = Counter(movement.code for movement in journal.movements(book) if movement.state is State.GONE)
    book.close()
    assert all(number == 1 for number in taken.values()), "one package was taken by two"
    for code, number in taken.items():
        assert found[code].state.state is State.GONE
        assert movements[code] >= number
    gone = [code for code, one in found.items() if one.state.state is State.GONE]
    assert sorted(gone) == sorted(taken)
    assert set(packed) <= set(found)


def acts(house: House) -> int:
    book = open_book(house.book, chance=seeded_chance(), now=StoppedClock().stamp)
    try:
        return len(journal.acts(book))
    finally:
        book.close()


def test_one_package_taken_by_two_at_once(house: House) -> None:
    """Whichever is first takes it; the other is told, and the book has it once."""
    code = chops(house)[0]
    hands = [start(house, "take", code, seed=f"hand {number}") for number in range(4)]
    ended = [(hand.communicate(timeout=120), hand.returncode) for hand in hands]
    assert sorted(status for _, status in ended) == [0, 1, 1, 1]
    for (out, err), status in ended:
        assert ("taken:" in out) if status == 0 else ("eaten on 2 Dec already" in err), (out, err)
    check(house)


def test_one_act_taken_back_by_two_at_once(house: House) -> None:
    house.ok("take", chops(house)[0])
    hands = [start(house, "undo", "8", seed=f"hand {number}") for number in range(3)]
    ended = [(hand.communicate(timeout=120), hand.returncode) for hand in hands]
    assert sorted(status for _, status in ended) == [0, 1, 1]
    assert sum("taken back already" in err for (_, err), _ in ended) == 2
    check(house)


def test_four_begin_the_same_day(house: House) -> None:
    """The day's copy is made by several at once: each finds its own whole, and none says otherwise."""
    later = house.at("2026-12-05T21:00")
    hands = [start(later, "find", "chops", seed=f"hand {number}") for number in range(4)]
    for hand in hands:
        _, err = hand.communicate(timeout=120)
        assert (hand.returncode, err) == (0, "")
    names = [path.name for path in (house.folder / "house-backups").iterdir()]
    assert names.count("house-day-2026-12-05.book") == 1
    assert not [name for name in names if name.startswith(".")]


def test_copies_while_others_write(house: House) -> None:
    """A backup in the middle of a busy evening holds a whole number of acts, and says nothing is wrong."""
    scanning = [start(house, "scan", seed=f"scanner {number}") for number in range(2)]
    codes = chops(house)
    for number, scanner in enumerate(scanning):
        assert scanner.stdin is not None
        scanner.stdin.write("".join(f"{code}\n" for code in codes[number::2]))
        scanner.stdin.close()
    for minute in range(4):
        house.at(f"2026-12-02T21:0{minute}").ok("backup")
    for scanner in scanning:
        scanner.stdin = None
        assert scanner.wait(timeout=120) == 0
        scanner.communicate()
    for copy in (house.folder / "house-backups").glob("house-2026*.book"):
        check(house, copy)
    check(house)
    assert chops(house) == []


SESSIONS = [4, pytest.param(60, marks=pytest.mark.sweep)]


@pytest.mark.parametrize("times", SESSIONS)
def test_killed_at_any_moment(good: House, tmp_path: Path, times: int) -> None:
    """A scan session killed at a moment nobody chose: every answer it gave is in the book, and at most one more."""
    chance = Random(60)
    lost = 0
    for number in range(times):
        folder = tmp_path / str(number)
        folder.mkdir()
        house = copy_of(good, folder)
        codes = chops(house)
        scanner = start(house, "scan", "--json", seed=f"session {number}")
        assert scanner.stdin is not None
        assert scanner.stdout is not None
        scanner.stdin.write("".join(f"{code}\n" for code in codes))
        scanner.stdin.flush()
        told = [json.loads(scanner.stdout.readline())["code"] for _ in range(chance.randrange(len(codes) - 1))]
        time.sleep(chance.random() / 50)
        scanner.send_signal(signal.SIGKILL)
        # Read here and not by communicate, which drops the lines that were read ahead of the last one asked for.
        rest = scanner.stdout.read()
        scanner.communicate()
        told += [json.loads(line)["code"] for line in rest.splitlines() if line.endswith("}")]
        check(house)
        left = chops(house)
        gone = [code for code in codes if code not in left]
        lost += len(set(told) - set(gone))
        assert set(told) <= set(gone)
        assert len(gone) <= len(told) + 1
    assert lost == 0
