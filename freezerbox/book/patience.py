"""Waiting for another program that holds the book: every statement does, and after a second says so."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from math import ceil
from pathlib import Path

BUSY_SECONDS = 20
"""So long another program is waited for before it is given up."""
SILENT_SECONDS = 1
"""So long it is waited for without a word."""
TURN_SECONDS = 0.05
"""So long one turn of SQLite's own waiting lasts."""
Waiting = Callable[[str], None]
"""Is told, in a sentence, that another program is waited for."""


def quietly(said: str) -> None:
    """Nobody is there to be told."""


class Patient(sqlite3.Connection):
    """A connection that waits for another program in short turns, ``BUSY_SECONDS`` in all.

    SQLite tries after 1, 2, 5, 10 ms and then ever more seldom, to a tenth of a second: of many that write at once
    the one that has waited longest would be passed over by all that come fresh.  So each turn begins anew.

    book: the file, for the words.  waiting: told once a wait, after ``SILENT_SECONDS``.  commits: how many
    transactions it has brought to the disk.
    """

    book: Path
    waiting: Waiting
    commits: int = 0

    def execute(self, sql: str, parameters: sqlite3._Parameters = (), /) -> sqlite3.Cursor:
        """As in the base class.  Raises: sqlite3.OperationalError, after all the waiting, when the book is held."""
        try:
            return super().execute(sql, parameters)
        except sqlite3.OperationalError as error:
            return self._in_turns(sql, parameters, error)

    def _in_turns(
        self, sql: str, parameters: sqlite3._Parameters, trouble: sqlite3.OperationalError
    ) -> sqlite3.Cursor:
        silent = ceil(min(SILENT_SECONDS, BUSY_SECONDS) / TURN_SECONDS)
        for turn in range(1, ceil(BUSY_SECONDS / TURN_SECONDS) + 1):
            if trouble.sqlite_errorname != "SQLITE_BUSY":
                break
            if turn == silent:
                self.waiting(
                    f"Waiting for another program that holds the book {self.book}: another freezerbox, a copy or a "
                    f"backup? After {BUSY_SECONDS} seconds this gives up, and nothing is changed."
                )
            try:
                return super().execute(sql, parameters)
            except sqlite3.OperationalError as error:
                trouble = error
        raise trouble


def connect(path: Path, waiting: Waiting = quietly, *, read_only: bool = False) -> Patient:
    """A connection to the file that waits, and commits nothing by itself.

    ``read_only``: nothing is written in the file, nor made when it is not there.
    """
    name = f"{path.resolve().as_uri()}?mode=ro" if read_only else path
    connection = sqlite3.connect(name, timeout=TURN_SECONDS, isolation_level=None, factory=Patient, uri=read_only)
    connection.book, connection.waiting = path, waiting
    return connection
