"""Who hears how far the reading of photographs is: it may take half a minute, and says nothing by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path

Tell = Callable[[Path, int], None]
"""Hears the photograph, and the number of the look at it from 1."""
_tell: ContextVar[Tell | None] = ContextVar("tell", default=None)
_at: ContextVar[tuple[Path, int] | None] = ContextVar("at", default=None)


@contextmanager
def watched(tell: Tell) -> Iterator[None]:
    """``tell`` hears of every look at a photograph that is taken inside."""
    before, place = _tell.set(tell), _at.set(None)
    try:
        yield
    finally:
        _tell.reset(before)
        _at.reset(place)


def begin(file: Path) -> None:
    """A photograph is opened."""
    _step(file, 1)


def look() -> None:
    """One more way of looking at it is tried."""
    at = _at.get()
    if at is not None:
        _step(at[0], at[1] + 1)


def _step(file: Path, number: int) -> None:
    tell = _tell.get()
    if tell is not None:
        _at.set((file, number))
        tell(file, number)
