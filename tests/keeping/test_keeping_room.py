"""No room: whatever write finds the disk full or failing, nothing is half, and it is told with status 3."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest

from freezerbox.book import queries
from freezerbox.chores import pack, take
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.records import State
from freezerbox.errors import BookTrouble
from tests.book.look import everything
from tests.cli.process import House, Result, copy_of, dump, program
from tests.conftest import Stocked
from tests.keeping.houses import check, chops, played
from tests.keeping.stops import run

PACK = ("pack", "loin chops", *["1.1"] * 30, "--animal", "26H", "--yes")


@pytest.fixture(scope="session")
def good(tmp_path_factory: pytest.TempPathFactory) -> House:
    house = played(tmp_path_factory.mktemp("room"))
    house.ok("find", "chops")
    return house


@pytest.fixture
def house(good: House, tmp_path: Path) -> House:
    shutil.copytree(good.folder / "house-backups", tmp_path / "house-backups")
    return copy_of(good, tmp_path)


def test_a_book_that_may_not_grow(stocked: Stocked, book_path: Path) -> None:
    """Acts until it is full; each is whole or refused, and what was recorded before is still there."""
    kitchen = stocked.kitchen
    connection = stocked.book.connection
    pages = connection.execute("PRAGMA page_count").fetchone()[0]
    connection.execute(f"PRAGMA max_page_count = {pages + 4}")
    done = 0
    for _ in range(500):
        before = everything(book_path)
        run_of_three = pack.prepare(kitchen, Words(cut="loin chops", animals=("26H",)), ["1.1", "1.2", "1.05"])
        try:
            pack.write(kitchen, run_of_three)
        except BookTrouble as error:
            told = error
            break
        done += 1
    else:
        pytest.fail("it never filled up")
    assert "is full. Nothing was changed" in told.message
    assert told.exit_code == 3
    assert everything(book_path) == before
    assert done > 0
    assert len(queries.packages(kitchen.book, State.FROZEN)) == len(stocked.codes) + 3 * done
    # What needs no more room can still be done, and the book can be used when there is room again.
    connection.execute("PRAGMA max_page_count = 100000")
    take.take(Kitchen(kitchen.book, stocked.clock), stocked.chops[0].code)


def refused_whole(house: House, result: Result, before: str) -> None:
    assert result.status == 3, result
    assert result.out == ""
    assert "cannot be written" in result.said or "is full" in result.said, result.err
    assert dump(house.book) == before
    check(house)


def limited(house: House, most_bytes: int, *arguments: str) -> Result:
    """The program, with no file allowed to grow over a size; compiled modules would be cut off too."""
    done = subprocess.run(
        [str(program()), *arguments],
        cwd=house.folder,
        env=house.environment() | {"PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes)),
    )
    assert "Traceback" not in done.stderr
    return Result(status=done.returncode, out=done.stdout, err=done.stderr)


def test_no_file_may_grow(house: House) -> None:
    size = house.book.stat().st_size
    before = dump(house.book)
    refused_whole(house, limited(house, size, *PACK), before)
    # The day's copy has no room either: said, and the act done all the same.
    later = limited(house.at("2026-12-03T21:00"), size - 4096, "find", "chops")
    assert later.status == 0
    assert "No copy of the book was made today" in later.said
    for arguments in (("backup", "--to", "stick"), ("export", "--to", "out"), ("backup", "--for", "cabin")):
        assert limited(house, 8192, *arguments).status == 3
        assert not list(house.folder.glob("*/*.part")), arguments
    assert not (house.folder / "out").exists(), "an export that failed leaves no folder"
    (house.folder / "mine").mkdir()
    assert limited(house, 8192, "export", "--to", "mine").status == 3
    assert (house.folder / "mine").is_dir()
    assert not (house.folder / "cabin.book").exists()
    assert not list((house.folder / "stick").glob("*.book"))
    assert "No copy lies on another disk yet" in house.ok("check").told


def test_a_start_without_room_leaves_nothing(tmp_path: Path) -> None:
    house = House(folder=tmp_path)
    refused = limited(house, 8192, "start", "--units", "lb", "--freezer", "Chest")
    assert refused.status == 3
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def small_disk() -> Iterator[Callable[[int], Path]]:
    """Mounts a disk of some KiB, where the system lets us; else there is none."""
    mounted: list[Path] = []

    def mount(kib: int) -> Path:
        folder = Path(tempfile.mkdtemp(prefix="freezerbox-disk-"))
        command = ["mount", "-t", "tmpfs", "-o", f"size={kib}k", "none", str(folder)]
        if os.geteuid() == 0 and subprocess.run(command, capture_output=True, check=False).returncode == 0:
            mounted.append(folder)
        return folder

    yield mount
    for folder in mounted:
        subprocess.run(["umount", str(folder)], check=True)
        folder.rmdir()


def test_a_full_disk(good: House, small_disk: Callable[[int], Path], tmp_path: Path) -> None:
    """A disk with a little room: packed until it is full.  Where nothing may be mounted, files that may not grow."""
    size = good.book.stat().st_size // 1024
    folder = small_disk(size + 120)
    house, stick = copy_of(good, folder), tmp_path
    mounted = os.path.ismount(folder)
    limit = good.book.stat().st_size + 20_000
    try:
        packed = 0
        for _ in range(40):
            before = dump(house.book)
            result = house.run(*PACK) if mounted else limited(house, limit, *PACK)
            if result.status:
                refused_whole(house, result, before)
                break
            packed += 30
        else:
            pytest.fail("it never filled up")
        assert len(chops(house)) == 14 + packed
        # Restoring and bringing back have no room either; the book stays.
        before = dump(house.book)
        copy = good.folder / "house-backups"
        restored = replace(house).run("restore", str(next(copy.glob("*.book"))), "--yes")
        assert restored.status == (3 if mounted else 0)
        if mounted:
            assert dump(house.book) == before
            check(house)
            # A copy on a stick is needed now more than ever: it is made, though the book cannot note it.
            with suppress(OSError), (folder / "fill").open("wb") as fill:
                while True:
                    fill.write(b"x" * 512)
                    fill.flush()
            saved = house.call("backup", "--to", str(stick / "freezer"))
            assert saved.status == 3
            assert saved.told.count("Copied and checked: ") == 1
            assert "There is no copy beside the book: The disk with " in saved.said
            assert "the book could not note" in saved.said
            assert "Nothing was changed" not in saved.said.partition("There is no copy beside the book")[2]
            (copy_there,) = (stick / "freezer").glob("*.book")
            assert dump(copy_there) == dump(house.book)
    finally:
        if not mounted:
            shutil.rmtree(folder)


def test_label_paper_without_room_is_not_there(house: House) -> None:
    """Neither listed as faulty, nor in the way of its own name when there is room again."""
    new = ("label", "stock", "new", "zz", "4in", "1.7in")
    refused_whole(house, limited(house, 100, *new), dump(house.book))
    assert [path for path in (house.folder / "label_templates").rglob("*") if path.is_file()] == []
    # Of two files the second, and longer one, has no room.
    refused_whole(house, limited(house, 400, *new), dump(house.book))
    assert [path for path in (house.folder / "label_templates").rglob("*") if path.is_file()] == []
    assert len(house.ok(*new, "--json").json["files"]) == 2


_ROLL = ("--stock", "roll-2x1in-203dpi")


@pytest.mark.parametrize(
    "command",
    [
        ("label", "again", *["26H"] * 9, *_ROLL),
        ("label", "ahead", "90", "ground", "--species", "pork", "--yes", *_ROLL),
        ("sign", "--spares", "200"),
    ],
    ids=lambda command: command[1],
)
def test_labels_that_the_book_has_no_room_to_note_leave_no_file(house: House, command: tuple[str, ...]) -> None:
    """Else the next try finds the file, whose labels may not be printed yet, though they are no more."""
    arguments = (*command, "--to", "labels.pdf")
    refused_whole(house, limited(house, house.book.stat().st_size, *arguments), dump(house.book))
    assert not (house.folder / "labels.pdf").exists()
    house.ok(*arguments)
    assert (house.folder / "labels.pdf").stat().st_size < house.book.stat().st_size, "there was room for the file"


FAILING = ("ENOSPC", "EIO")


@pytest.mark.parametrize("error", FAILING)
@pytest.mark.parametrize("every", [False, pytest.param(True, marks=pytest.mark.sweep)])
def test_each_write_and_each_sync_may_fail(good: House, tmp_path: Path, error: str, every: bool) -> None:
    """From the n-th write, or sync, on, the disk fails; tried for each n of an act."""

    def fresh(number: str) -> House:
        shutil.copytree(good.folder, tmp_path / number)
        return replace(good, folder=tmp_path / number)

    whole = run(fresh("whole"), ["pack", "loin chops", "1.1", "1.2", "--animal", "26H"])
    assert whole.status == 0
    before = dump(good.book)
    after = dump(tmp_path / "whole" / "house.book")
    tried = 0
    for name in ("pwrite64", "fdatasync", "fsync"):
        times = sum(call.name == name for call in whole.calls)
        for nth in range(1, times + 1) if every else {1, times}:
            if not times:
                continue
            house = fresh("broken")
            failed = run(
                house,
                ["pack", "loin chops", "1.1", "1.2", "--animal", "26H"],
                fail=f"{name}:error={error}:when={nth}+",
            )
            tried += 1
            check(house)
            assert failed.status == 3, failed
            assert failed.out == ""
            said = " ".join(failed.err.split())
            if "It may be recorded or not" in said:
                assert "sync" in name, "only the end of the journal may be in doubt"
                assert dump(house.book) in (before, after)
            else:
                assert "cannot be written" in said or "is full" in said, failed.err
                assert dump(house.book) == before
            shutil.rmtree(house.folder)
    assert tried >= 4
