"""Copies of the book: made while it is open, looked at before they count, put in its place whole.

A copy is one plain file: SQLite's online backup writes it beside its name, it is opened and checked, brought to the
disk, and only then renamed.  There is never half a copy under a copy's name.
"""

from __future__ import annotations

import os
import sqlite3
from dataclasses import dataclass
from pathlib import Path

from freezerbox.book.door import APPLICATION_ID, BUSY_SECONDS, Book, look_before, told_plainly
from freezerbox.book.migrations import CURRENT
from freezerbox.errors import BookTrouble, NewerBook


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """A copy looked at.  acts, packages: how many it holds.  latest: UTC stamp of its last act, "" when empty."""

    path: Path
    acts: int
    packages: int
    latest: str


def copy_book(book: Book, to: Path) -> Copy:
    """A verified copy of the open book at ``to``; an older file there is replaced only once the new one is whole.

    Raises: BookTrouble when the folder cannot be written, the disk is full or the copy does not check.
    """
    part = to.with_name(f".{to.name}.part")
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
    except OSError as error:
        raise BookTrouble(f"No copy was made: {to.parent}: {plain(error)}.", path=str(to)) from error
    try:
        with told_plainly(to):
            target = sqlite3.connect(part, isolation_level=None)
            try:
                book.connection.backup(target)
            finally:
                target.close()
        found = look_at(part)
        here = _counts(book.connection)
        if (found.acts, found.packages) != here[:2]:
            raise BookTrouble(f"The copy {to} does not hold what the book holds. It was not kept.", path=str(to))
        sync(part)
        part.replace(to)
        sync_folder(to.parent)
    except OSError as error:
        raise BookTrouble(f"No copy was made at {to}: {plain(error)}.", path=str(to)) from error
    finally:
        part.unlink(missing_ok=True)
    return Copy(path=to, acts=found.acts, packages=found.packages, latest=found.latest)


def look_at(path: Path) -> Copy:
    """Open a copy without changing it and check it from end to end.

    Raises: NoBook, BookTrouble, NewerBook when it is no whole book that this program can read.
    """
    look_before(path)
    with told_plainly(path):
        connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, timeout=BUSY_SECONDS)
        try:
            application = connection.execute("PRAGMA application_id").fetchone()[0]
            version = connection.execute("PRAGMA user_version").fetchone()[0]
            if application != APPLICATION_ID or version == 0:
                raise BookTrouble(f"{path} is not a freezer book.", path=str(path))
            if version > CURRENT:
                raise NewerBook(f"{path} was written by a later freezerbox than this one.", path=str(path))
            faults = [row[0] for row in connection.execute("PRAGMA integrity_check") if row[0] != "ok"]
            if faults:
                raise BookTrouble(f"{path} is damaged: {faults[0]}. It is not used.", path=str(path))
            acts, packages, latest = _counts(connection)
        finally:
            connection.close()
    return Copy(path=path, acts=acts, packages=packages, latest=latest)


def put_in_place(copy: Path, book: Path, aside: Path) -> None:
    """Make ``copy`` the book; what is there now is kept as ``aside``.

    The journal of an interrupted write belongs to the old file and goes aside with it: beside the new file SQLite
    would play it into the wrong book.

    Raises: BookTrouble when a file cannot be moved or another program holds the present book; then the present book
    stays as it was.
    """
    part = book.with_name(f".{book.name}.part")
    journal = book.with_name(f"{book.name}-journal")
    holder = _hold(book)
    try:
        book.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(copy.read_bytes())
        sync(part)
        if book.exists():
            _keep(book, aside)
        if journal.exists():
            journal.replace(aside.with_name(f"{aside.name}-journal"))
        part.replace(book)
        sync_folder(book.parent)
    except OSError as error:
        raise BookTrouble(f"{book} could not be replaced: {plain(error)}.", path=str(book)) from error
    finally:
        part.unlink(missing_ok=True)
        if holder is not None:
            holder.close()


def _keep(book: Path, aside: Path) -> None:
    """The present book under a second name, so that there is a book at every moment."""
    try:
        os.link(book, aside)
    except OSError:
        # Disks without hard links (memory sticks): a copy, brought to the disk before the old name is reused.
        aside.write_bytes(book.read_bytes())
        sync(aside)


def _hold(book: Path) -> sqlite3.Connection | None:
    """Keep other programs out of the present book; ``None`` when there is none, or it is too broken to be held."""
    if not book.exists() or book.stat().st_size == 0:
        return None
    connection = sqlite3.connect(book, timeout=2, isolation_level=None)
    try:
        connection.execute("BEGIN EXCLUSIVE")
    except sqlite3.OperationalError as error:
        connection.close()
        if "locked" in str(error) or "busy" in str(error):
            raise BookTrouble(
                f"Another program holds the book {book}. Close it first; nothing was changed.", path=str(book)
            ) from error
        return None
    except sqlite3.DatabaseError:
        connection.close()
        return None
    return connection


def _counts(connection: sqlite3.Connection) -> tuple[int, int, str]:
    row = connection.execute(
        "SELECT (SELECT count(*) FROM act), (SELECT count(*) FROM package), (SELECT max(recorded_at) FROM act)"
    ).fetchone()
    return int(row[0]), int(row[1]), str(row[2] or "")


def sync(path: Path) -> None:
    """Bring a file's bytes to the disk."""
    with path.open("rb") as file:
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Bring a rename to the disk, where the system lets a folder be opened."""
    try:
        descriptor = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(descriptor)
    except OSError:
        pass
    finally:
        os.close(descriptor)


def plain(error: OSError) -> str:
    """An operating system's trouble in lower-case words."""
    return (error.strerror or str(error)).lower()
