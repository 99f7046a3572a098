"""Copies of the book: made while it is open, looked at before they count, put in its place whole.

A copy is one plain file: SQLite's online backup writes it beside its name, it is opened and checked, brought to the
disk, and only then renamed.  There is never half a copy under a copy's name.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from freezerbox.book import meta, migrations, patience
from freezerbox.book.columns import misnamed
from freezerbox.book.cut_short import HEADER_LENGTH, MAGIC, cut_short
from freezerbox.book.door import (
    APPLICATION_ID,
    Book,
    Chance,
    connect,
    read_schema,
    told_plainly,
)
from freezerbox.book.parts import folder_beside, part_file, plain, refuse_pipe, sync, sync_folder
from freezerbox.book.patience import Waiting, quietly
from freezerbox.errors import BookTrouble, NewerBook, NoBook


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """A copy looked at.  acts, packages: how many it holds.  latest: UTC stamp of its last act, "" when empty."""

    path: Path
    acts: int
    packages: int
    latest: str


def copy_book(book: Book, to: Path, change: Callable[[sqlite3.Connection], None] | None = None) -> Copy:
    """A verified copy of the open book at ``to``; an older file there is replaced only once the new one is whole.

    ``change``: what is to be different in the copy, done before it has a name.

    Raises: BookTrouble when the folder cannot be written, the disk is full or the copy does not check.
    """
    try:
        with part_file(to) as part:
            # A connection of its own: the book's may hold it for writing, and then cannot be copied from.  Counted
            # and copied in one moment, since another program may write right after.
            with reader(book.path, book.connection.waiting) as source:
                here = _counts(source)
                with told_plainly(to):
                    _fill(part, source, change)
            try:
                found = look_at(part)
            except BookTrouble as error:
                if fault := error.facts.get("fault"):
                    # A copy is what the book is: it is the book that somebody has to look at.
                    raise BookTrouble(
                        f"The book {book.path} is damaged: {fault}. See: freezerbox check", path=str(book.path)
                    ) from error
                raise
            if (found.acts, found.packages) != here[:2]:
                raise BookTrouble(f"The copy {to} does not hold what the book holds. It was not kept.", path=str(to))
            sync(part)
            part.replace(to)
            sync_folder(to.parent)
    except OSError as error:
        raise BookTrouble(f"No copy was made at {to}: {plain(error)}.", path=str(to)) from error
    return Copy(path=to, acts=found.acts, packages=found.packages, latest=found.latest)


def _fill(part: Path, source: sqlite3.Connection, change: Callable[[sqlite3.Connection], None] | None = None) -> None:
    """Write what ``source`` holds into an empty file."""
    target = sqlite3.connect(part, isolation_level=None)
    try:
        # A file without a name yet needs no journal; it is brought to the disk once, when it is whole.
        target.execute("PRAGMA journal_mode = OFF")
        target.execute("PRAGMA synchronous = OFF")
        source.backup(target)
        if change is not None:
            change(target)
    finally:
        target.close()


@contextmanager
def reader(path: Path, waiting: Waiting = quietly) -> Iterator[sqlite3.Connection]:
    """A connection that only reads, at one moment of the file; ``waiting`` is told when another program holds it.

    Raises: what ``told_plainly`` says.
    """
    with told_plainly(path):
        connection = patience.connect(path, waiting, read_only=True)
        try:
            connection.execute("BEGIN")
            read_schema(connection)
            yield connection
        finally:
            connection.close()


def look_at(path: Path, *, book: Path | None = None, waiting: Waiting = quietly) -> Copy:
    """Open a copy without changing it and check it from end to end.  ``book``: the one that it is to be, no copy.

    ``waiting``: is told when another program holds it.

    Raises: NoBook, BookTrouble, NewerBook when it is no whole book that this program can read.
    """
    _look_before(path, book)
    with reader(path, waiting) as connection:
        application = connection.execute("PRAGMA application_id").fetchone()[0]
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        if application != APPLICATION_ID or version == 0:
            raise BookTrouble(f"{path} is a database, but not a freezer book.", path=str(path))
        if version > migrations.CURRENT:
            raise NewerBook(f"{path} was written by a later freezerbox than this one.", path=str(path))
        if fault := next(_faults(connection), ""):
            raise BookTrouble(
                f"{path} is damaged: {fault}. It is not used; try an older copy: freezerbox restore COPY",
                path=str(path),
                fault=fault,
            )
        acts, packages, latest = _counts(connection)
    return Copy(path=path, acts=acts, packages=packages, latest=latest)


def identity(path: Path, waiting: Waiting = quietly) -> str:
    """Which book a file is, or is a copy of.  Raises: what ``told_plainly`` says, and reads nothing but that."""
    with reader(path, waiting) as connection:
        row = connection.execute("SELECT value FROM meta WHERE key = 'uid'").fetchone()
    return str(row[0]) if row else ""


def _faults(connection: sqlite3.Connection) -> Iterator[str]:
    """What is wrong with a file, the gravest first: what comes later cannot be asked of what came before."""
    yield from (row[0] for row in connection.execute("PRAGMA integrity_check") if row[0] != "ok")
    if fault := misnamed(connection, earlier=False):
        yield fault
    yield from (
        f"a row of {row[0]} points to nothing"
        for row in connection.execute("PRAGMA foreign_key_check")
        # States follow from the journal: a copy with a wrong one is whole, and check --repair mends it.
        if row[0] != "package_state"
    )


def _look_before(path: Path, book: Path | None) -> None:
    """Look at the file itself first: SQLite would take an empty file for a new database.

    Raises: NoBook; BookTrouble for a folder, a pipe, a file that cannot be read, is cut short or is no database.
    """
    refuse_pipe(path)
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            head = file.read(HEADER_LENGTH)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise NoBook(
            f"There is no file {path}. Nothing was changed. Is the stick plugged in? Name a copy such as "
            "STICK/freezer/NAME.book.",
            path=str(path),
        ) from error
    except IsADirectoryError as error:
        copies = [one for one in sorted(path.glob("*.book")) if book is None or one.resolve() != book.resolve()]
        name = copies[-1] if copies else path / "NAME.book"
        raise BookTrouble(f"{path} is a folder. Name the copy in it, such as {name}.", path=str(path)) from error
    except OSError as error:
        raise BookTrouble(f"{path} cannot be read: {plain(error)}. Nothing was changed.", path=str(path)) from error
    if not head.startswith(MAGIC[: len(head)]):
        raise BookTrouble(f"{path} is not a freezer book, nor a copy of one. Nothing was changed.", path=str(path))
    if short := cut_short(path, head, size):
        raise BookTrouble(f"{path} is cut short: {short}. Nothing was changed; try an older copy.", path=str(path))


def put_in_place(copy: Path, book: Path, aside: Path, chance: Chance, waiting: Waiting = quietly) -> bool:
    """Make ``copy`` the book; what is there now is kept as ``aside``.  Returns whether there was anything.

    The codes of packages that the copy does not know of are on labels: ``chance`` says where it draws new ones.
    ``waiting``: is told when another program holds either file.

    A present book that can be opened is written over inside its own file, in one transaction: another program that
    has it open waits, and then works in the restored book.  One that is missing or too broken is exchanged.

    Raises: BookTrouble when a file cannot be written, another program holds the present book, or what is there is
    something else than a book; then it stays as it was.
    """
    if copy.resolve() == book.resolve():
        raise BookTrouble(f"{copy} is the book itself. Name a copy of it.", path=str(copy))
    refuse_pipe(book)
    _refuse_what_is_no_book(book)
    # A link to the book stays one.
    book = book.resolve()
    try:
        holder = _hold(book, waiting)
        if holder is None:
            return _exchange(copy, book, aside, chance, waiting)
        try:
            _write_over(copy, holder, book, aside, chance)
        finally:
            holder.close()
    except OSError as error:
        raise BookTrouble(f"{book} could not be replaced: {plain(error)}.", path=str(book)) from error
    return True


def _refuse_what_is_no_book(book: Path) -> None:
    """Raises: BookTrouble when the file at ``book`` is another program's, or cannot be written.

    A broken book may begin with anything; then copies in the folder beside it tell that it was one.
    """
    try:
        if not book.exists() or book.stat().st_size == 0:
            return
        if not os.access(book, os.W_OK):
            raise BookTrouble(
                f"The book {book} cannot be written. Look at its permissions; nothing was changed.", path=str(book)
            )
        with book.open("rb") as file:
            head = file.read(72)
        if _is_ours(head) or any(folder_beside(book).glob("*.book")):
            return
    except OSError as error:
        raise BookTrouble(f"The book {book} cannot be read: {plain(error)}.", path=str(book)) from error
    raise BookTrouble(
        f"{book} is not a freezer book, and nothing is written over it. Is --book the right file? If it was the "
        "book, give it another name, and restore then.",
        path=str(book),
    )


def _is_ours(head: bytes) -> bool:
    """Whether a file's first bytes are those of a freezer book, whole or cut off.

    "SQLite Database File Format", section 1.3: the application id at offset 68.
    """
    ours = APPLICATION_ID.to_bytes(4, "big")
    return head[:16] == MAGIC[: len(head)] and ours.startswith(head[68:72])


def _hold(book: Path, waiting: Waiting) -> patience.Patient | None:
    """Keep other programs out of the present book; ``None`` when there is none, or it is too broken to be held."""
    if not book.exists() or book.stat().st_size == 0:
        return None
    connection = None
    try:
        connection = connect(book, waiting)
        # The lock outlives the transaction: between looking and writing over nobody gets in.
        connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        connection.execute("BEGIN EXCLUSIVE")
        read_schema(connection)
        connection.execute("COMMIT")
    except sqlite3.DatabaseError as error:
        if connection is not None:
            connection.close()
        if "locked" in str(error) or "busy" in str(error):
            raise BookTrouble(
                f"Another program holds the book {book}. Close it first; nothing was changed.", path=str(book)
            ) from error
        return None
    return connection


def _write_over(copy: Path, holder: patience.Patient, book: Path, aside: Path, chance: Chance) -> None:
    with part_file(aside) as part:
        with told_plainly(aside):
            # As it is, faults and all: it is kept to be looked at, and not checked.
            _fill(part, holder)
        sync(part)
        part.replace(aside)
        sync_folder(aside.parent)
    try:
        _write_into(copy, holder, book, chance)
    except BaseException:
        # Nothing was replaced, so nothing is kept.
        aside.unlink(missing_ok=True)
        raise


def _write_into(copy: Path, holder: patience.Patient, book: Path, chance: Chance) -> None:
    # Made ready apart, so that it comes into the book in one transaction.
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as ready:
        with reader(copy, holder.waiting) as source:
            source.backup(ready)
            meta.walk_elsewhere(ready, chance)
        with told_plainly(book):
            ready.backup(holder)


def _exchange(copy: Path, book: Path, aside: Path, chance: Chance, waiting: Waiting) -> bool:
    journal = book.with_name(f"{book.name}-journal")
    there = book.exists()
    with part_file(book) as part:
        with reader(copy, waiting) as source:
            _fill(part, source, lambda target: meta.walk_elsewhere(target, chance))
        look_at(part)
        sync(part)
        if there:
            _keep(book, aside)
        if journal.exists():
            # It belongs to the old file: beside the new one SQLite would play it into the wrong book.
            journal.replace(aside.with_name(f"{aside.name}-journal"))
        part.replace(book)
        sync_folder(book.parent)
    return there


def _keep(book: Path, aside: Path) -> None:
    """The present book under a second name, so that there is a book at every moment."""
    try:
        os.link(book, aside)
    except OSError:
        # Disks without hard links (memory sticks): a copy, brought to the disk before the old name is reused.
        aside.write_bytes(book.read_bytes())
        sync(aside)


def _counts(connection: sqlite3.Connection) -> tuple[int, int, str]:
    row = connection.execute(
        "SELECT (SELECT count(*) FROM act), (SELECT count(*) FROM package), (SELECT max(recorded_at) FROM act)"
    ).fetchone()
    return int(row[0]), int(row[1]), str(row[2] or "")
