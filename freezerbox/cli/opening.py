"""Opening a file that was written, with whatever this machine shows such files with."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, TypeAlias

import typer

from freezerbox.cli.output import note
from freezerbox.cli.wiring import at_terminal

Door: TypeAlias = Callable[[Path], bool]
"""Opens a file; whether it was opened."""
Open = Annotated[bool, typer.Option("--open", help="Open the file afterwards, to print it from there.")]
_PATIENCE_SECONDS = 3
"""A program that shows the file may stay as long as it does; one that cannot has said so by then."""


def door(system: str = sys.platform) -> Door:
    """What opens files on such a system."""
    if system == "win32":
        return _windows
    return lambda file: _run("open" if system == "darwin" else "xdg-open", file)


def open_written(file: Path, by: Door | None = None) -> None:
    """Open it for the person at the terminal; where that cannot be done, say on stderr where it is."""
    if not at_terminal():
        note(f"--open is for a terminal. The file: {file.resolve()}")
    elif not (by or door())(file):
        note(f"It could not be opened from here. The file: {file.resolve()}")


def _windows(file: Path) -> bool:
    start = getattr(os, "startfile", None)
    if start is None:
        return False
    try:
        start(str(file.resolve()))
    except OSError:
        return False
    return True


def _run(program: str, file: Path) -> bool:
    found = shutil.which(program)
    if found is None:
        return False
    try:
        started = subprocess.Popen(
            [found, str(file.resolve())],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError:
        return False
    try:
        return started.wait(timeout=_PATIENCE_SECONDS) == 0
    except subprocess.TimeoutExpired:
        return True
