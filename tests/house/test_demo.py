"""The season of the demo is played to its end, says the same each time, and leaves what it names."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.test_house_words import VERDICT
from tests.house.tree import ROOT

# What the story is there to show; each would be missing if a step had gone another way.
TOLD = (
    "looks out of line",
    "stands for more than one thing",
    "HELD - NOT TAKEN",
    "scanned twice, counted once",
    "Did you mean",
    "is not in this book",
    "Taken back: ",
    "8 labels",
    "labels void: ",
    "Only looked; nothing changed.",
    "off hold",
    "HELD - NOT GIVEN",
    "1 package given to Sister, ON HOLD.",
    "recorded as eaten, still on hold",
    "DETECTED (CWD) on 17 Dec 2026, sample 4502",
    "TO PULL, whitetail buck 26C: 10 packs",
    "Eaten already: 1 package",
    "With other people: 1 package",
    "pulled and discarded: Backstrap",
    "TO PULL, whitetail buck 26C: 7 packs",
    "Released by the household: ",
    "An older one",
    "OUT since Tuesday",
    "Past best:",
    "all is well",
)


def play(folder: Path) -> str:
    done = subprocess.run(
        [sys.executable, ROOT / "demo" / "season.py", folder], capture_output=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr
    assert done.stderr == ""
    return done.stdout


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    folder = tmp_path_factory.mktemp("hollow-road") / "out"
    return folder, play(folder)


def test_season_tells_what_it_is_there_to_show(played: tuple[Path, str]) -> None:
    _, said = played
    assert [words for words in TOLD if words not in said] == []


def test_season_shows_no_traceback_no_unknown_command_and_no_place_of_this_machine(played: tuple[Path, str]) -> None:
    folder, said = played
    for unwanted in ("Traceback", "Usage: ", "No such command", str(folder), str(ROOT)):
        assert unwanted not in said
    assert VERDICT.search(said) is None


def test_season_leaves_the_files_it_names(played: tuple[Path, str]) -> None:
    folder, said = played
    named = re.findall(r"^  ([\w.-]+\.\w+)  ", said.split("To look at")[1], re.MULTILINE)
    assert len(named) > 5
    assert [name for name in named if not (folder / name).is_file() or not (folder / name).stat().st_size] == []
    assert {Path(name).suffix for name in named} >= {".pdf", ".png", ".txt", ".book"}


@pytest.mark.sweep
def test_season_is_the_same_each_time(played: tuple[Path, str], tmp_path: Path) -> None:
    folder, said = played
    again = tmp_path / "again"
    again.mkdir()
    (again / "left from before").write_text("x", encoding="utf-8")
    assert play(again) == said
    for file in folder.iterdir():
        if file.suffix in (".pdf", ".png", ".txt"):
            assert (again / file.name).read_bytes() == file.read_bytes(), file.name
    assert not (again / "left from before").exists()
