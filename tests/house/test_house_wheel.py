"""The wheel that people install carries the tables, the label templates and the fonts, and works on its own."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.house.tree import ROOT, files

pytestmark = pytest.mark.sweep


def call(command: list[str], folder: Path, **variables: str) -> str:
    """What a command prints; it must end well."""
    environment = {k: v for k, v in os.environ.items() if not k.startswith("FREEZERBOX_")} | variables
    done = subprocess.run(
        command,
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built as an index would get it."""
    folder = tmp_path_factory.mktemp("wheel")
    call([sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--wheel-dir", str(folder), str(ROOT)], folder)
    (built,) = folder.glob("freezerbox-*.whl")
    return built


def test_wheel_carries_code_tables_and_templates(wheel: Path) -> None:
    carried = set(zipfile.ZipFile(wheel).namelist())
    ours = [path for path in files() if path.parts[0] == "freezerbox"]
    templates = [Path("freezerbox") / path for path in files() if path.parts[0] == "label_templates"]
    assert templates, "there are no label templates"
    assert {path.as_posix() for path in [*ours, *templates]} - carried == set(), "missing in the wheel"
    strangers = {name for name in carried if not name.startswith(("freezerbox/", "freezerbox-"))}
    assert strangers == set(), "does not belong in the wheel"


def test_wheel_makes_a_label_away_from_the_checkout(wheel: Path, tmp_path: Path) -> None:
    installed, kitchen = tmp_path / "installed", tmp_path / "kitchen"
    kitchen.mkdir()
    pip = [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--target", str(installed), str(wheel)]
    call(pip, tmp_path)
    variables = {
        "PYTHONPATH": str(installed),
        "FREEZERBOX_BOOK": str(kitchen / "book.db"),
        "FREEZERBOX_NOW": "2026-11-21T21:00",
        "FREEZERBOX_SEED": "1",
    }
    place = call([sys.executable, "-c", "import freezerbox; print(freezerbox.__file__)"], kitchen, **variables)
    assert Path(place.strip()).is_relative_to(installed)
    program = [sys.executable, "-m", "freezerbox"]
    call(
        [*program, "start", "--units", "lb", "--freezer", "Garage chest", "--volume", "15 cu ft"],
        kitchen,
        **variables,
    )
    call([*program, "pack", "loin chops", "1.10", "--species", "pork"], kitchen, **variables)
    call([*program, "label", "--stock", "letter-10up", "--to", "labels.pdf"], kitchen, **variables)
    assert (kitchen / "labels.pdf").read_bytes().startswith(b"%PDF-")
