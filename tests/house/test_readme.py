"""What README.md and DEVELOPERS.md show in their console blocks is what happens, typed in order in an empty folder.

With FREEZERBOX_RENEW_GOLDEN=1 what does not match is written into the page, and the test fails all the same: look at
the difference before it is kept.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from tests.house.console import commands, matches, renewed, run
from tests.house.test_house_words import VERDICT
from tests.house.tree import PACKAGE, ROOT


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_page_shows_what_happens(name: str, tmp_path: Path) -> None:
    page = (ROOT / name).read_text(encoding="utf-8")
    faults, changed = [], []
    for command in commands(page):
        if not command.is_run:
            continue
        status, lines = run(command, tmp_path)
        if status != command.status:
            faults.append(f"{name}:{command.line}: $ {command.text}\nended with {status}, not {command.status}")
        if not matches(command.expected, lines):
            changed.append((command, lines))
            faults.append(
                "\n".join(
                    [f"{name}:{command.line}: $ {command.text}", "printed", *lines, "instead of", *command.expected]
                )
            )
    if changed and os.environ.get("FREEZERBOX_RENEW_GOLDEN"):
        (ROOT / name).write_text(renewed(page, changed), encoding="utf-8")
        pytest.fail(f"{name} was renewed in {len(changed)} places: look at the difference")
    assert not faults, "\n\n".join(faults)


def test_readme_shows_something() -> None:
    assert any(command.is_run for command in commands((ROOT / "README.md").read_text(encoding="utf-8")))


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_program_shown_gives_no_verdict(name: str) -> None:
    shown = commands((ROOT / name).read_text(encoding="utf-8"))
    assert [line for command in shown for line in command.expected if VERDICT.search(line)] == []


def test_developers_page_knows_the_house() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:freezerbox|label_templates|tests|demo|\.ci)/[\w./-]+?)(?: [^`]*)?`", page))
    assert named, "the page names no file"
    assert {name for name in named if not (ROOT / name).exists()} == set(), "named, but not there"
    rooms = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    assert {room for room in rooms if f"\n  {room}/ " not in page} == set(), "not on the map"
