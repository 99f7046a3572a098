"""Where the real world comes in: clock, chance, where the book lies, who is at the keyboard.

``FREEZERBOX_NOW`` stops the clock, ``FREEZERBOX_SEED`` fixes chance, ``--today`` sets the day (README, demo, tests).
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from random import Random, SystemRandom

from freezerbox.book import door, journal, meta
from freezerbox.book.door import Book, Chance
from freezerbox.chores.kitchen import Kitchen
from freezerbox.cli.output import note
from freezerbox.core.dates import parse_date
from freezerbox.errors import BookTrouble, InputError, InvalidDate

BOOK_NAME = "freezer.book"
FIRST_YEAR, LAST_YEAR = 1990, 2199


@dataclass(frozen=True, slots=True)
class RealClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """Local time."""
        return datetime.now()  # noqa: TID251 -- the front door

    def stamp(self) -> datetime:
        """UTC."""
        return datetime.now(UTC)  # noqa: TID251 -- the front door


@dataclass(frozen=True, slots=True)
class StoppedClock:
    """A clock that stands at ``at``; local time is taken as UTC."""

    at: datetime

    def now(self) -> datetime:
        """The moment it stands at."""
        return self.at

    def stamp(self) -> datetime:
        """The same, aware."""
        return self.at.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Front:
    """What the command line said before the command.  book: None to look where it usually lies."""

    book: Path | None
    today: str
    by: str

    def arguments(self) -> list[str]:
        """The same, as it is typed before a command."""
        said = (("--book", str(self.book) if self.book else ""), ("--today", self.today), ("--by", self.by))
        return [word for option, value in said if value for word in (option, value)]

    def path(self) -> Path:
        """The book: ``--book``, else ``FREEZERBOX_BOOK``, else the user's application folder."""
        if self.book is not None:
            return self.book.expanduser()
        named = os.environ.get("FREEZERBOX_BOOK")
        return Path(named).expanduser() if named else application_folder() / BOOK_NAME

    def clock(self) -> RealClock | StoppedClock:
        """The real clock, or the one that ``FREEZERBOX_NOW`` stops."""
        stopped = os.environ.get("FREEZERBOX_NOW")
        if not stopped:
            return RealClock()
        try:
            at = datetime.fromisoformat(stopped).replace(tzinfo=None)
        except ValueError as error:
            raise InvalidDate(
                f"FREEZERBOX_NOW is {stopped!r}; write it as 2026-12-02T21:00.", value=stopped
            ) from error
        _refuse_other_age(at.date(), "FREEZERBOX_NOW", stopped)
        return StoppedClock(at)

    def day(self) -> date | None:
        """The day that ``--today`` sets; None when it does not."""
        if not self.today:
            return None
        day = parse_date(self.today, today=self.clock().now().date(), future=False)
        _refuse_other_age(day, "--today", self.today)
        return day

    def who(self) -> str:
        """Who is at it: ``--by``, else ``FREEZERBOX_BY``; "" when not said.  Raises: InputError for no name."""
        return _named("--by", self.by) if self.by else _named("FREEZERBOX_BY", os.environ.get("FREEZERBOX_BY", ""))

    def kitchen(self) -> Kitchen:
        """The open book and all that stands beside it.  Raises: NoBook and the other BookTrouble."""
        clock = self.clock()
        book = door.open_book(
            self.path(), chance=chance(0), now=clock.stamp, by=self.who(),
            station=station(), waiting=note,
        )  # fmt: skip
        return Kitchen(_with_chance(book), clock, self.day())

    def new_kitchen(self) -> Kitchen:
        """A new, empty book, or one in which starting was cut off.  Raises: BookTrouble when there is one already."""
        clock = self.clock()
        try:
            book = door.create_book(self.path(), chance=chance(0), now=clock.stamp, station=station())
        except BookTrouble:
            there = False
            with suppress(OSError):  # In a folder that may not be entered.
                there = self.path().is_file()
            if not there:
                raise
            book = door.open_book(self.path(), chance=chance(0), now=clock.stamp, station=station())
            if journal.acts(book, limit=1):
                book.close()
                raise
        return Kitchen(_with_chance(book), clock, self.day())


def _refuse_other_age(day: date, where: str, value: str) -> None:
    """Raises: InvalidDate for a day that no household freezer sees; months are counted from it without a limit."""
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise InvalidDate(
            f"{where} is {value!r}; the year must lie between {FIRST_YEAR} and {LAST_YEAR}.", value=value
        )


def application_folder() -> Path:
    """The folder where this user's programs keep their files, by the custom of the system."""
    home = Path.home()
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA") or home / "AppData" / "Roaming") / "freezerbox"
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "freezerbox"
    # XDG Base Directory Specification: user-specific data files.
    return Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share") / "freezerbox"


def station() -> str:
    """What ``undo`` calls "this terminal": the terminal's name, or ``terminal`` without one.

    Raises: InputError when ``FREEZERBOX_STATION`` is no name.
    """
    named = _named("FREEZERBOX_STATION", os.environ.get("FREEZERBOX_STATION", ""))
    if named:
        return named
    try:
        return os.ttyname(sys.stdin.fileno())
    except (OSError, AttributeError, ValueError):
        return "terminal"


def _named(where: str, text: str) -> str:
    """A name as it is kept, "" for none.  Raises: InputError for what cannot be shown, or is too long."""
    if not text.strip():
        return ""
    from freezerbox.chores.house import clean_name

    try:
        return clean_name(text)
    except InputError as error:
        raise InputError(f"{where}: {error.message}", value=ascii(text)) from error


def at_terminal() -> bool:
    """Whether a person can be asked: both ends are a terminal."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def _with_chance(book: Book) -> Book:
    """With a fixed seed each command starts elsewhere, by the number of acts so far, or uids would come twice.

    And from the place the book was made for.
    """
    latest = journal.acts(book, limit=1)
    return replace(book, chance=chance(latest[0].id if latest else 0), station=meta.at_home(book))


def chance(acts: int) -> Chance:
    """New identifiers and codes: the system's own chance, or a fixed walk that begins at ``acts``."""
    seed = os.environ.get("FREEZERBOX_SEED")
    source = Random(f"{seed}/{acts}") if seed else SystemRandom()
    return Chance(uid=lambda: f"{source.getrandbits(80):020x}", number=lambda below: source.randrange(below))
