"""Ctrl-C while the program still starts."""

from __future__ import annotations

import sys
from importlib.abc import MetaPathFinder
from types import ModuleType

import pytest

from freezerbox import __main__ as program


class Impatient(MetaPathFinder):
    """Somebody who presses Ctrl-C as soon as the command line is loaded."""

    def find_spec(self, name: str, path: object, target: ModuleType | None = None) -> None:
        if name == "freezerbox.cli.main":
            raise KeyboardInterrupt


def test_it_says_so_and_shows_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delitem(sys.modules, "freezerbox.cli.main", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Impatient(), *sys.meta_path])
    with pytest.raises(SystemExit) as stopped:
        program.main()
    assert stopped.value.code == 130
    assert capsys.readouterr().err == "\nStopped. Nothing was done.\n"
