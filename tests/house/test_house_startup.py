"""Start-up at the freezer: what is heavy is imported by the command that needs it, and by no other."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = frozenset(
    (
        *(
            "PIL",
            "qrcode",
            "barcode",
            "zxingcpp",
            "sqlite_utils",
            "rapidfuzz",
            "rich",
            "starlette",
            "numpy",
            "reportlab",
        ),
        # The validators that the command-line library would make for each option: see freezerbox/cli/plain_values.py.
        "pydantic",
    )
)


def run(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """The program run from ``folder`` on a book in it, its imports told on stderr."""
    environment = {key: value for key, value in os.environ.items() if not key.startswith("FREEZERBOX_")}
    environment |= {
        "FREEZERBOX_BOOK": str(folder / "book.db"),
        "FREEZERBOX_NOW": "2026-11-21T21:00",
        "FREEZERBOX_SEED": "1",
    }
    command = [sys.executable, "-X", "importtime", "-m", "freezerbox", *arguments]
    done = subprocess.run(
        command, cwd=folder, env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, "\n".join(x for x in done.stderr.splitlines() if not x.startswith("import time:"))
    return done


def heavy_imports(done: subprocess.CompletedProcess[str]) -> set[str]:
    """The heavy libraries that a run imported."""
    told = [line.rsplit("|", 1)[1].strip() for line in done.stderr.splitlines() if line.startswith("import time:")]
    assert "freezerbox" in told, "the run told nothing about its imports"
    return {name.split(".")[0] for name in told} & HEAVY


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A folder with a book of three packages, and the code of one of them."""
    folder = tmp_path_factory.mktemp("kitchen")
    run(folder, "start", "--units", "lb", "--freezer", "Garage chest", "--volume", "15 cu ft")
    packed = run(folder, "pack", "loin chops", "1.10", "1.05", "0.98", "--species", "pork", "--json")
    return folder, json.loads(packed.stdout)["packages"][0]["code"]


def test_importing_the_program_imports_nothing_heavy() -> None:
    code = "import json, sys, freezerbox.cli.main; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert {name.split(".")[0] for name in json.loads(done.stdout)} & HEAVY == set()


@pytest.mark.parametrize("words", ["--help", "rotation", "find loin", "show CODE", "take CODE", "undo"])
def test_everyday_command_imports_nothing_heavy(kitchen: tuple[Path, str], words: str) -> None:
    folder, code = kitchen
    done = run(folder, *(code if word == "CODE" else word for word in words.split()))
    assert heavy_imports(done) == set()
