"""Opening a book, and the one way to write in it: an act, one immediate transaction.

The file is plain SQLite with a rollback journal and ``synchronous=EXTRA``: what an act has told is on disk, and the
file can be copied when nothing is running.
"""

from __future__ import annotations

import re
import shlex
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from freezerbox.book import migrations, patience
from freezerbox.book.cut_short import HEADER_LENGTH, MAGIC, cut_short, in_plain_words
from freezerbox.book.parts import folder_beside, latest_copy, new_file, plain, refuse_no_file, way_back, which_file
from freezerbox.book.patience import Waiting, quietly
from freezerbox.book.writer import Writer
from freezerbox.core.code import LETTERS
from freezerbox.errors import BookBusy, BookTrouble, FreezerboxError, NewerBook, NoBook

# "SQLite Database File Format", section 1.3: the application id at offset 68.
APPLICATION_ID = 0x46727A42
"""``FrzB``: tells a freezer book from any other SQLite file."""
_MISNAMED = re.compile("no such (table|column)|has no column|foreign key mismatch")
"""What SQLite says when a table or column does not have the name that it was made with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """Where new things come from, handed in so that a run can be played again.

    uid: a fresh identifier.  number: a whole number below the argument.
    """

    uid: Callable[[], str]
    number: Callable[[int], int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """An open book.

    path: the file.  connection: for the queries of this room.  chance: for uids and codes.
    now: the clock, asked once an act, aware UTC.  by, station: who writes and from where; "" when not said.
    file: which one it is on the disk, by device and number; None where nobody looks.
    """

    path: Path
    connection: patience.Patient
    chance: Chance
    now: Callable[[], datetime]
    by: str = ""
    station: str = ""
    file: tuple[int, int] | None = None

    @contextmanager
    def act(
        self,
        kind: str,
        on: date,
        *,
        by: str | None = None,
        request_id: str | None = None,
        undoes: int | None = None,
        words: str = "",
    ) -> Iterator[Writer]:
        """One thing a person does: everything written inside is on disk together, or not at all.

        ``words`` says in a line what is done, for the history and for undo.

        Raises: BookBusy when another program holds the book for longer than is waited; BookTrouble when the disk is
        full or cannot be written.
        """
        with self.writing():
            yield Writer.begin(
                self.connection,
                self.chance.uid,
                self.chance.number,
                kind=kind,
                happened_on=on,
                recorded_at=self.now().isoformat(timespec="seconds"),
                by=self.by if by is None else by,
                station=self.station,
                request_id=request_id,
                undoes=undoes,
                words=words,
            )

    @contextmanager
    def writing(self) -> Iterator[None]:
        """The book held for one writer, so that what is read inside is still true when it is written.

        Committed at the end, or rolled back whole when anything is raised.  Inside another ``writing`` it is part of
        that one.  Raises: as ``act``.
        """
        if self.connection.in_transaction:
            yield
            return
        with told_plainly(self.path):
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                self._refuse_another_file()
                yield
                self._commit()
            except BaseException:
                roll_back(self.connection)
                raise

    def _refuse_another_file(self) -> None:
        """Raises: BookTrouble when the file was moved, deleted or exchanged: what is written in it would be lost."""
        if self.file is not None and which_file(self.path) != self.file:
            raise BookTrouble(
                f"The book {self.path} was moved, deleted or exchanged while this was running. Nothing was changed. "
                "Look at the file, end this, and begin again.",
                path=str(self.path),
            )

    def _commit(self) -> None:
        try:
            self.connection.execute("COMMIT")
            self.connection.commits += 1
        except sqlite3.OperationalError as error:
            if error.sqlite_errorname not in ("SQLITE_IOERR_DIR_FSYNC", "SQLITE_IOERR_DELETE"):
                raise
            # The journal may be gone already, with only its end not on the disk: nobody can say that nothing changed.
            trouble = BookTrouble(
                f"The disk with {self.path} failed at the last moment: {error}. It may be recorded or not; look "
                "before doing it again: freezerbox undo --list",
                path=str(self.path),
            )
            trouble.unsure = True
            raise trouble from error

    @contextmanager
    def reading(self) -> Iterator[None]:
        """One moment of the book: what is read inside belongs together, whoever writes meanwhile."""
        if self.connection.in_transaction:
            yield
            return
        with told_plainly(self.path):
            self.connection.execute("BEGIN")
            try:
                yield
            finally:
                roll_back(self.connection)

    @contextmanager
    def told(self) -> Iterator[None]:
        """Trouble with the book in plain words; after something was recorded inside, the refusal says that it stays.

        Raises: BookTrouble, with ``recorded`` set then; our own refusals pass through.
        """
        before = self.connection.commits
        try:
            with told_plainly(self.path):
                yield
        except BookTrouble as error:
            if self.connection.commits > before:
                error.recorded = True
                told_after(error)
            raise

    def close(self) -> None:
        """Let go of the file."""
        self.connection.close()


def create_book(path: Path, *, chance: Chance, now: Callable[[], datetime], station: str = "") -> Book:
    """A new, empty book at ``path``; its folder is made when missing.

    Raises: BookTrouble when there is a file already, ``path`` is a folder or its folder cannot be written.
    """
    refuse_no_file(path)
    with new_file(path) as part, told_plainly(path):
        connection = connect(part)
        try:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            migrations.migrate(connection)
            letter = LETTERS[chance.number(len(LETTERS))]
            meta = {"uid": chance.uid(), "letter": letter, "walk": str(chance.number(1 << 20))}
            connection.executemany("INSERT INTO meta (key, value) VALUES (?, ?)", meta.items())
            connection.execute("COMMIT")
        finally:
            connection.close()
    return open_book(path, chance=chance, now=now, station=station)


def open_book(
    path: Path,
    *,
    chance: Chance,
    now: Callable[[], datetime],
    by: str = "",
    station: str = "",
    waiting: Waiting = quietly,
) -> Book:
    """The book at ``path``; one of an earlier program is brought up to date, after a copy.

    Raises: NoBook when there is none; BookTrouble when the file is no freezer book, cut short or cannot be read or
    written; NewerBook when a later program wrote it.
    """
    look_before(path)
    with told_plainly(path):
        connection = connect(path, waiting)
        file = which_file(path)
        book = Book(path=path, connection=connection, chance=chance, now=now, by=by, station=station, file=file)
        try:
            if _check_kind(connection, path) < migrations.CURRENT:
                _bring_up_to_date(book)
            _keep_plain(connection)
        except BaseException:
            roll_back(connection)
            connection.close()
            raise
    return book


def _keep_plain(connection: sqlite3.Connection) -> None:
    """Back to a rollback journal, where another program set the file to a log beside it: else it is no plain file."""
    if connection.execute("PRAGMA journal_mode").fetchone()[0] != "delete":
        connection.execute("PRAGMA journal_mode = DELETE")


def _bring_up_to_date(book: Book) -> None:
    """Run the steps that the file has not seen, whole or not at all; the file as it was is copied beside it first."""
    from freezerbox.book import copying

    with book.writing():
        # Of several that open an old book at once the first does it; the others waited, and find it done.
        version = _check_kind(book.connection, book.path)
        if version < migrations.CURRENT:
            folder = folder_beside(book.path)
            copying.copy_book(book, folder / f"{book.path.stem}-before-layout-{version + 1}.book")
            migrations.migrate(book.connection)


def look_before(path: Path) -> None:
    """Look at the file itself first: SQLite would take an empty file for a new database.

    Raises: NoBook; BookTrouble for a folder, a pipe, a file that cannot be read, is cut short or is no database.
    """
    refuse_no_file(path)
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            header = file.read(HEADER_LENGTH)
    except (FileNotFoundError, NotADirectoryError) as error:
        copy = latest_copy(path)
        if copy is not None:
            raise NoBook(
                f"There is no freezer book at {path}, but copies of it lie beside it. Bring back the latest: "
                f"freezerbox restore {shlex.quote(str(copy))}",
                path=str(path),
                copy=str(copy),
            ) from error
        raise NoBook(
            f"There is no freezer book at {path} yet. Start one with: freezerbox start --units lb "
            '--freezer "Garage chest"',
            path=str(path),
        ) from error
    except OSError as error:
        raise BookTrouble(
            f"The book {path} cannot be read: {plain(error)}. Look at its permissions and the disk, then: "
            "freezerbox check",
            path=str(path),
        ) from error
    if not header.startswith(MAGIC[: len(header)]):
        raise BookTrouble(
            f"{path} is not a freezer book. Is --book the right file? If it was the book, it is beyond use. "
            f"{way_back(path)}",
            path=str(path),
        )
    if short := cut_short(path, header, size):
        raise BookTrouble(f"The book {path} is cut short: {short}. {way_back(path)}", path=str(path))


def connect(path: Path, waiting: Waiting = quietly) -> patience.Patient:
    """A connection with the promises of a book: foreign keys on, every commit on the disk."""
    connection = patience.connect(path, waiting)
    try:
        read_schema(connection)
        connection.row_factory = sqlite3.Row
        connection.execute("PRAGMA foreign_keys = ON")
        # FULL does not bring the end of the journal to the disk: after a power cut an act already told could be
        # rolled back.
        connection.execute("PRAGMA synchronous = EXTRA")
    except BaseException:
        connection.close()
        raise
    return connection


def read_schema(connection: sqlite3.Connection) -> None:
    """Have SQLite read its list of tables.  Raises: sqlite3.DatabaseError when it is damaged."""
    try:
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except UnicodeDecodeError as error:
        # Python's way to say that SQLite's own complaint names a thing whose name is no text.
        raise sqlite3.DatabaseError("the list of its tables is not readable") from error


def roll_back(connection: sqlite3.Connection) -> None:
    """Undo what is not committed, if anything is."""
    # A full disk makes SQLite roll back by itself; a second ROLLBACK would hide why.
    if connection.in_transaction:
        connection.execute("ROLLBACK")


def _check_kind(connection: sqlite3.Connection, path: Path) -> int:
    application: int = connection.execute("PRAGMA application_id").fetchone()[0]
    version: int = connection.execute("PRAGMA user_version").fetchone()[0]
    if application != APPLICATION_ID or version == 0:
        raise BookTrouble(
            f"{path} is a database, but not a freezer book. Is --book the right file? If it was the book, it is "
            f"beyond use. {way_back(path)}",
            path=str(path),
        )
    if version > migrations.CURRENT:
        raise NewerBook(
            f"The book {path} was written by a later freezerbox (its layout {version}, this program knows "
            f"{migrations.CURRENT}). Bring this program up to date; nothing was changed.",
            path=str(path),
        )
    return version


@contextmanager
def told_plainly(path: Path) -> Iterator[None]:
    """Turn SQLite's troubles into words; our own refusals pass through."""
    try:
        yield
    except FreezerboxError:
        raise
    except sqlite3.IntegrityError as error:
        raise BookTrouble(
            f"The book {path} refused the entry: {error}. Nothing was changed. To look the book over: "
            "freezerbox check",
            path=str(path),
            entry=str(error),
        ) from error
    except sqlite3.OperationalError as error:
        message = str(error)
        if "decode" in message or _MISNAMED.search(message):
            raise damaged(path, message) from error
        if "locked" in message or "busy" in message:
            raise BookBusy(
                f"Another program holds the book {path} (another freezerbox, a copy or a backup running?). "
                "Nothing was changed; try again in a moment.",
                path=str(path),
            ) from error
        if "full" in message:
            raise BookTrouble(f"The disk with {path} is full. Nothing was changed.", path=str(path)) from error
        if "readonly" in message or "unable to open" in message or "disk I/O" in message:
            raise BookTrouble(
                f"The book {path} cannot be written: {message}. Look at its permissions, at those of the "
                "folder it is in, and at the disk. Nothing was changed.",
                path=str(path),
            ) from error
        raise BookTrouble(
            f"The book {path} could not do that: {message}. Nothing was changed. To look the book over: "
            "freezerbox check",
            path=str(path),
        ) from error
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
        # The second is Python's way to say that the name of a table or column is no text.
        raise damaged(path, str(error)) from error
    except IndexError as error:
        # The name of a column is damaged: the row that SQLite hands over has none of the name that is asked for.
        if str(error) != "No item with that key":
            raise
        raise damaged(path, str(error).lower()) from error


def told_after(error: BookTrouble) -> None:
    """Change the refusal, when something was recorded before it: it does not say that nothing was changed."""
    trouble, nothing, _ = error.message.partition(" Nothing was changed")
    if nothing:
        error.message = f"{trouble} What was recorded before that is kept; to look: freezerbox undo --list"


def damaged(path: Path, what: str) -> BookTrouble:
    """The refusal for a file that no longer says what it should."""
    return BookTrouble(
        f"The book {path} is damaged: {in_plain_words(what)}. Nothing was changed. {way_back(path)}",
        path=str(path),
        fault=what,
    )
