"""While photographs are looked at: which one, on a terminal, since a large blank one takes half a minute."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from freezerbox.reading.watch import watched

_AFTER = 1.0
"""Seconds of stillness before a line appears."""


@contextmanager
def looking(files: int) -> Iterator[None]:
    """A line on stderr, gone when it is over: the photograph, how many of how many, and the pass; none in a pipe."""
    if not sys.stderr.isatty():
        yield
        return
    from threading import Timer

    from rich.console import Console
    from rich.markup import escape
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    if console.is_dumb_terminal:  # it cannot take a line back
        yield
        return
    line = Progress(
        SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn(), console=console, transient=True
    )
    task = line.add_task("Looking at the photograph")
    seen: list[Path] = []

    def tell(file: Path, step: int) -> None:
        if not seen or seen[-1] != file:
            seen.append(file)
        which = f" ({len(seen)} of {files})" if files > 1 else ""
        again = f", look {step}" if step > 1 else ""
        line.update(task, description=f"Looking at {escape(file.name)}{which}{again}")

    start = Timer(_AFTER, line.start)
    start.daemon = True
    start.start()
    try:
        with watched(tell):
            yield
    finally:
        start.cancel()
        start.join()
        line.stop()
