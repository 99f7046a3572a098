"""Stopped at every write: whatever the moment, the book opens, nothing is half, and what was said is there."""

from __future__ import annotations

import re
import shutil
import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from freezerbox.book.copying import look_at
from tests.cli.process import House, copy_of, dump
from tests.keeping.houses import check, played
from tests.keeping.stops import Call, run, worth_stopping

LINES = ("cut,weight,animal", "loin chops,1.05,26H", "hock,1.3,26H", "ground,1,26B")


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """Something done that may be cut off.

    arguments: with ``{chop}`` and so on for codes of the played house.
    first: commands before, in the same house; a last word that begins with ``<`` is typed into the command.
    makes: a file that must be absent or whole afterwards, instead of the book.
    later: on a day that has no copy yet.  mends: the book has a fault until it is done.
    alike: of a stretch of writes to one file, stop at each so many-th; 1 where every single one is tried.
    """

    arguments: tuple[str, ...]
    first: tuple[tuple[str, ...], ...] = ()
    makes: str = ""
    later: bool = False
    mends: bool = False
    alike: int = 1


# Pack, take, move, count, import and the migrations are stopped at every single write; so are most others.  In a file
# that has no name yet every sixteenth write stands for its like.
DEEDS = {
    "start": Deed(
        arguments=("--book", "new.book", "start", "--units", "lb", "--freezer", "Chest"), makes="new.book", alike=3
    ),
    "pack": Deed(arguments=("pack", "loin chops", "1.1", "1.05", ".98", "--animal", "26H", "--pieces", "4")),
    "take": Deed(arguments=("take", "{chop}")),
    "first take of a day": Deed(arguments=("take", "{chop}"), later=True),
    "take three": Deed(arguments=("take", "{chop}", "{chop2}", "{chop3}"), alike=3),
    "move": Deed(arguments=("move", "{chop}", "{chop2}", "--to", "red bag")),
    "fix": Deed(arguments=("fix", "{chop}", "--weight", "1.2", "--note", "thick")),
    "undo": Deed(arguments=("undo",), first=(("take", "{chop}"),)),
    "undo a pack": Deed(arguments=("undo", "7")),
    "count": Deed(
        arguments=("count", "red bag", "--accept", "all"), first=(("count", "red bag", "<{strap}\ndone\n"),)
    ),
    "give": Deed(arguments=("give", "{chop}", "{chop2}", "--to", "Marta")),
    "discard": Deed(arguments=("discard", "{chop}")),
    "result": Deed(arguments=("result", "26B", "not-detected", "--on", "2 dec", "--yes")),
    "label": Deed(arguments=("label", "again", "{chop}", "--to", "labels.pdf")),
    "table": Deed(arguments=("import", "evening.csv")),
    "export": Deed(arguments=("export", "--to", "out")),
    "import": Deed(
        arguments=("--book", "new.book", "import", "out"), first=(("export", "--to", "out"),), makes="new.book"
    ),
    "join": Deed(arguments=("import", "--merge", "cabin.book"), alike=3),
    "backup": Deed(arguments=("backup", "--to", "stick")),
    "for the shed": Deed(
        arguments=("backup", "--for", "shed", "--to", "shed.book", "--letter", "Q"), makes="shed.book"
    ),
    "restore": Deed(arguments=("restore", "cabin.book", "--yes"), alike=3),
    "restore a lost one": Deed(arguments=("--book", "new.book", "restore", "cabin.book"), makes="new.book"),
    "repair": Deed(arguments=("check", "--repair"), mends=True),
}  # fmt: skip


@pytest.fixture(scope="session")
def before(tmp_path_factory: pytest.TempPathFactory) -> House:
    """The played house with a cabin's book beside it, in which more happened, and the day's copy made."""
    house = played(tmp_path_factory.mktemp("stops"))
    house.ok("backup", "--for", "cabin", "--to", "cabin.book", "--letter", "X")
    cabin = replace(house, more={"FREEZERBOX_BOOK": str(house.folder / "cabin.book")}, seed="cabin")
    cabin.ok("pack", "hock", "2.1", "--animal", "26H")
    shutil.rmtree(house.folder / "cabin-backups")
    (house.folder / "evening.csv").write_text("\n".join(LINES), encoding="utf-8")
    house.ok("find", "chops")
    return house


def fresh(before: House, folder: Path, deed: Deed) -> tuple[House, list[str]]:
    """A house in its own folder, ready for the deed, and the deed's words."""
    shutil.copytree(before.folder, folder)
    house = replace(before, folder=folder)
    chops = [row["code"] for row in house.ok("find", "loin chops", "--json").json["rows"]]
    strap = house.ok("find", "backstrap", "--json").json["rows"][0]["code"]
    words = {"chop": chops[0], "chop2": chops[1], "chop3": chops[2], "strap": strap}
    for arguments in deed.first:
        said = [word.format(**words) for word in arguments]
        typed = said.pop()[1:] if said[-1].startswith("<") else ""
        house.ok(*said, stdin=typed)
    return house.at("2026-12-03T21:00") if deed.later else house, [word.format(**words) for word in deed.arguments]


def state(path: Path) -> str:
    """Everything in a book but what is another each time: uids, the folder it lies in, when a step was applied."""
    text = re.sub(r"'[0-9a-f]{20}'", "'uid'", dump(path)).replace(str(path.parent), "FOLDER")
    return re.sub(r"(\"_sqlite_migrations\" VALUES\(\d+,'\w+','\w+',)'[^']*'", r"\1'stamp'", text)


def stop_and_look(ready: House, arguments: Sequence[str], deed: Deed, after: Sequence[str], stop: Call) -> None:
    """Do the deed once more, stopped at ``stop``; ``after``: what may be in the book then, in order."""
    house = replace(ready, folder=ready.folder.with_name("stopped"))
    shutil.copytree(ready.folder, house.folder)
    try:
        stopped = run(house, arguments, stop)
        assert stopped.status in (-9, 137), f"not stopped at {stop.line}"
        made = house.folder / deed.makes if deed.makes else house.book
        there = made.exists()
        if not there:
            assert deed.makes, "the book is gone"
            assert stopped.out == "", "said to be done, but there is nothing"
            # The way is free to do it again.
            again = house.run(*arguments)
            assert again.status == 0, again
        elif deed.makes and arguments[-1] == "Chest":
            _start_is_whole(house, made, stopped.out)
        if deed.mends:
            # Opening it rolls back what was cut off; the fault is there still, or is not.
            house.call("check")
        else:
            check(house, made)
        found = state(made)
        reached = [number for number, wanted in enumerate(after) if found == wanted]
        if deed.makes and there:
            assert reached or "start" in arguments, f"half of it after {stop.line}"
        if not deed.makes:
            assert reached, f"something half after {stop.line}"
            said = len(after) - 1 if stopped.out.strip() else 0
            assert reached[-1] >= said, f"said, but not there, after {stop.line}"
        for copy in house.folder.rglob("*.book"):
            if not copy.name.startswith("."):
                look_at(copy)
        _same_again(house, arguments, deed)
        if deed.mends:
            house.ok("check", "--repair")
            check(house)
    finally:
        shutil.rmtree(house.folder)


def _start_is_whole(house: House, made: Path, said: str) -> None:
    """Either the book is started, or it can be."""
    again = house.run("--book", made.name, "start", "--units", "lb", "--freezer", "Chest")
    assert again.status in (0, 3), again
    if again.status == 0:
        assert said == ""
    assert house.ok("--book", made.name, "freezer", "--json").json["freezers"][0]["name"] == "Chest"


def _same_again(house: House, arguments: Sequence[str], deed: Deed) -> None:
    """What a stopped export or backup leaves does not stand in the way of the next."""
    if arguments[0] in ("export", "backup") and not deed.makes:
        again = house.at("2026-12-04T08:00").run(*arguments)
        assert again.status == 0, again


def outcomes(ready: House, arguments: Sequence[str], deed: Deed) -> tuple[list[str], tuple[Call, ...]]:
    """The states that the deed goes through when nothing stops it, and its calls."""
    house = replace(ready, folder=ready.folder.with_name("whole"))
    shutil.copytree(ready.folder, house.folder)
    made = house.folder / deed.makes if deed.makes else house.book
    states = [state(made)]
    whole = run(house, arguments)
    assert whole.status == 0, whole
    states.append(state(made))
    return list(dict.fromkeys(states)), whole.calls


def play(before: House, tmp_path: Path, name: str, choose: Callable[[Sequence[Call]], list[Call]]) -> int:
    deed = DEEDS[name]
    ready, arguments = fresh(before, tmp_path / "ready", deed)
    if name == "repair":
        break_state(ready.book)
    after, calls = outcomes(ready, arguments, deed)
    stops = choose(calls)
    for stop in stops:
        stop_and_look(ready, arguments, deed, after, stop)
    return len(stops)


def break_state(book: Path) -> None:
    """One package's stored state no longer follows its journal."""
    connection = sqlite3.connect(book)
    trigger = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'package_state_only_folds'").fetchone()[
        0
    ]
    connection.execute("DROP TRIGGER package_state_only_folds")
    connection.execute("UPDATE package_state SET state = 'gone', reason = 'eaten' WHERE rowid = 3")
    connection.execute(trigger)
    connection.commit()
    connection.close()


@pytest.mark.parametrize("name", ["take three", "undo a pack", "join", "restore", "start"])
def test_stopped_here_and_there(before: House, tmp_path: Path, name: str) -> None:
    assert play(before, tmp_path, name, lambda calls: worth_stopping(calls, every=False)) == 4


@pytest.mark.sweep
@pytest.mark.parametrize("name", DEEDS)
def test_stopped_at_every_write(before: House, tmp_path: Path, name: str) -> None:
    stops = play(before, tmp_path, name, lambda calls: worth_stopping(calls, every=True, alike=DEEDS[name].alike))
    assert stops > 10
    print(f"{name}: {stops} stops")


@pytest.mark.parametrize("name", ["take", "pack", "move", "undo", "fix"])
def test_on_disk_before_it_is_said(before: House, tmp_path: Path, name: str) -> None:
    """The book is synced, then the journal ends, then that end is synced, and only then is it said."""
    ready, arguments = fresh(before, tmp_path / "ready", DEEDS[name])
    calls = run(ready, arguments).calls
    book, journal = str(ready.book), f"{ready.book}-journal"
    assert order_of_commit(calls, book, journal) == 1


def order_of_commit(calls: Sequence[Call], book: str, journal: str) -> int:
    """Checks each commit in ``calls`` and the first word said after it; returns how many commits there were."""
    ends = [at for at, call in enumerate(calls) if call.name == "unlink" and call.file == journal]
    said = [at for at, call in enumerate(calls) if call.name == "write" and "write(1<" in call.line[:20]]
    for end in ends:
        pages = [at for at, call in enumerate(calls[:end]) if call.name == "pwrite64" and call.file == book]
        synced = [at for at, call in enumerate(calls[:end]) if "sync" in call.name and call.file == book]
        journalled = [at for at, call in enumerate(calls[:end]) if "sync" in call.name and call.file == journal]
        assert journalled, "the journal was not brought to the disk"
        first_page = min(at for at in pages if at > max((e for e in ends if e < end), default=-1))
        assert any(at < first_page for at in journalled), "a page was overwritten before the journal was on disk"
        assert any(at > pages[-1] for at in synced), "the book was not brought to the disk"
        folder = [at for at, call in enumerate(calls) if "sync" in call.name and call.file == str(Path(book).parent)]
        after = [at for at in said if at > end]
        assert after, "nothing was said"
        assert any(end < at < after[0] for at in folder), "said before the end of the journal was on disk"
    assert not [at for at in said if at < min(ends)], "said before it was done"
    return len(ends)


def test_one_scan_is_one_acts_syncs(before: House, tmp_path: Path) -> None:
    """Three scans in a running session: three commits, each on disk before its answer, and nothing more synced."""
    house = copy_of(before, tmp_path)
    chops = [row["code"] for row in house.ok("find", "loin chops", "--json").json["rows"]][:3]
    calls = run(house, ["scan"], stdin="".join(f"{code}\n" for code in chops)).calls
    journal = f"{house.book}-journal"
    own = [call for call in calls if house.folder.name + "/house-backups" not in call.file]
    ends = [at for at, call in enumerate(own) if call.name == "unlink" and call.file == journal]
    assert len(ends) == 3
    begin = 0
    for end in ends:
        syncs = [call.file for call in own[begin:end] if "sync" in call.name]
        # The journal (its pages and its head), the folder that holds its name, the book; then the end of the journal.
        assert syncs.count(str(house.book)) == 1
        assert syncs.count(journal) <= 2
        assert len(syncs) <= 5, syncs
        begin = end + 1
    answers = [at for at, call in enumerate(own) if "write(1<" in call.line[:20] and "taken" in call.line]
    assert [sum(end < at for end in ends) for at in answers] == [1, 2, 3]
