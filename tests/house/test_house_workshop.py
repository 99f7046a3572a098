"""The two commands of a fresh clone: what they keep, what they leave out, and what they say when they cannot."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from demo import workshop
from tests.house.tree import ROOT, files
from tests.run import skipped

WANTED: dict[str, object] = {"place": "here", "project": "abc", "extras": ["test"]}


@pytest.mark.parametrize(
    ("stamp", "serves"),
    [
        ({"place": "here", "project": "abc", "extras": ["test"]}, True),
        ({"place": "here", "project": "abc", "extras": ["more", "test"]}, True),
        ({"place": "here", "project": "abc", "extras": []}, False),
        ({"place": "there", "project": "abc", "extras": ["test"]}, False),
        ({"place": "here", "project": "abd", "extras": ["test"]}, False),
        ({}, False),
    ],
)
def test_environment_is_filled_again_when_it_no_longer_fits(stamp: dict[str, object], serves: bool) -> None:
    assert workshop.fits(stamp, WANTED) is serves


@pytest.mark.parametrize("content", [None, "", "not json", "[1]"])
def test_broken_stamp_counts_as_none(tmp_path: Path, content: str | None) -> None:
    if content is not None:
        (tmp_path / "stamp").write_text(content)
    assert workshop.read_stamp(tmp_path / "stamp") == {}


def test_run_does_not_see_a_persons_own_book(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FREEZERBOX_BOOK", "mine")
    monkeypatch.setenv("PYTEST_ADDOPTS", "-x")
    monkeypatch.setenv("KITCHEN", "stays")
    environment = workshop.clean_environment()
    assert not [name for name in environment if name.startswith("FREEZERBOX_")]
    assert "PYTEST_ADDOPTS" not in environment
    assert environment["KITCHEN"] == "stays"


def test_python_that_is_not_one_does_not_answer(tmp_path: Path) -> None:
    assert workshop.answers(Path(sys.executable))
    assert not workshop.answers(tmp_path / "python")
    (tmp_path / "python").write_text("#!/bin/sh\nexit 1\n")
    (tmp_path / "python").chmod(0o755)
    assert not workshop.answers(tmp_path / "python")


def test_old_python_is_told_in_a_sentence() -> None:
    assert workshop.python_too_old((3, 9)).startswith(
        "this is Python 3.9, and freezerbox needs Python 3.11 or newer."
    )


@pytest.mark.parametrize(
    ("output", "reason"),
    [
        (
            "WARNING: Retrying after connection broken by 'NewConnectionError'\nERROR: x",
            "no package index could be reached",
        ),
        ("ERROR: No matching distribution found for x", "the package index in reach does not have what is needed"),
        ("something else", "pip stopped with an error"),
    ],
)
def test_failed_install_is_told_in_plain_words(output: str, reason: str) -> None:
    first, *quoted = workshop.explain_pip(output).splitlines()
    assert first == f"could not install: {reason}; nothing else was run"
    assert quoted == [f"  pip: {output.splitlines()[-1]}"]


def test_missing_venv_names_the_debian_package() -> None:
    assert "python3-venv" in workshop.explain_venv(
        "The virtual environment was not created: ensurepip is not available"
    )
    assert workshop.explain_venv("Error: no room") == "could not make .venv: Error: no room; nothing else was run"


def test_skips_are_told_and_expected_failures_are_not(tmp_path: Path) -> None:
    (tmp_path / "test_it.py").write_text(
        "import pytest\n"
        "def test_kept(): pass\n"
        "@pytest.mark.skip(reason='no printer')\n"
        "def test_left_out(): pass\n"
        "@pytest.mark.xfail\n"
        "def test_expected(): assert False\n"
    )
    report = tmp_path / "report.xml"
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", f"--junitxml={report}", "test_it.py"]
    subprocess.run(command, cwd=tmp_path, capture_output=True, check=True)
    assert skipped(report) == ["  test_it.test_left_out: no printer"]


@pytest.mark.sweep
def test_no_index_in_reach_is_told_in_plain_words(tmp_path: Path) -> None:
    """A real clone, a real environment, and an index address where nobody listens."""
    for path in files():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / path, tmp_path / path)
    environment = {k: v for k, v in workshop.clean_environment().items() if not k.startswith("PIP_")}
    environment |= {
        "PIP_CONFIG_FILE": os.devnull,
        "PIP_INDEX_URL": "http://" + "127.0.0.1:9/simple",
        "PIP_RETRIES": "0",
    }
    command = [sys.executable, "tests/run.py"]
    done = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr.splitlines()[0] == (
        "could not install: no package index could be reached; nothing else was run"
    )
    assert "Traceback" not in done.stdout + done.stderr
    assert "ruff" not in done.stdout
