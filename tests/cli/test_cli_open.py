"""Labels and signs opened after they are written, by the program a desktop has for that."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest

from freezerbox.cli.opening import door
from tests.cli.process import House, Terminal


def with_opener(house: House, says: int = 0) -> House:
    """The house on a desktop whose ``xdg-open`` writes down what it was asked to open."""
    tools = house.folder / "tools"
    tools.mkdir(exist_ok=True)
    script = tools / "xdg-open"
    script.write_text(f'#!/bin/sh\nprintf "%s" "$1" > "{house.folder}/opened"\nexit {says}\n', encoding="utf-8")
    script.chmod(0o755)
    return replace(house, more={"PATH": f"{tools}{os.pathsep}{os.environ['PATH']}"})


@pytest.mark.parametrize(
    "arguments",
    [("label", "again", "{code}"), ("label", "ahead", "2", "ground", "--fat", "none"), ("sign", "--spares", "2")],
)
def test_at_a_terminal_the_file_is_opened(house: House, arguments: tuple[str, ...]) -> None:
    code = house.ok("find", "loin", "--json").json["rows"][0]["code"]
    terminal = Terminal(with_opener(house), *(one.format(code=code) for one in arguments), "--to", "a.pdf", "--open")
    assert terminal.end()[0] == 0
    assert Path((house.folder / "opened").read_text(encoding="utf-8")) == (house.folder / "a.pdf").resolve()
    assert (house.folder / "a.pdf").is_file()


def test_where_it_cannot_be_opened_the_path_is_said(house: House) -> None:
    code = house.ok("find", "loin", "--json").json["rows"][0]["code"]
    terminal = Terminal(with_opener(house, says=4), "label", "again", code, "--to", "a.pdf", "--open", columns=400)
    status, _ = terminal.end()
    assert status == 0
    assert "could not be opened from here. The file:" in terminal.seen
    assert str((house.folder / "a.pdf").resolve()) in terminal.seen


def test_away_from_a_terminal_nothing_is_opened(house: House) -> None:
    desktop = with_opener(house)
    code = house.ok("find", "loin", "--json").json["rows"][0]["code"]
    result = desktop.run("label", "again", code, "--to", "a.pdf", "--open", "--json")
    assert result.status == 0
    assert result.json["files"] == ["a.pdf"]
    assert "--open is for a terminal" in result.said
    assert not (house.folder / "opened").exists()


def test_a_machine_without_such_a_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    for system in ("linux", "darwin"):
        assert not door(system)(tmp_path / "a.pdf")
    if os.name != "nt":
        assert not door("win32")(tmp_path / "a.pdf")
