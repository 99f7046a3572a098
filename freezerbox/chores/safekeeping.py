"""Backups: one a day by itself, one wherever the household says, and the way back."""

from __future__ import annotations

import re
import shlex
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from freezerbox.book import copying, queries
from freezerbox.book.copying import Copy
from freezerbox.book.door import Chance
from freezerbox.book.parts import folder_beside, free_name, on_one_disk, refuse_no_file
from freezerbox.book.patience import Waiting, quietly
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.errors import BookBusy, BookTrouble, InputError

BACKUP_TO = "backup-to"
BACKUP_LAST = "backup-last"
SAME_DISK = "It lies on the same disk as the book: when that disk dies, both are gone."
DAYS_KEPT = 14
BEFORE_KEPT = 20
_BEFORE = re.compile(r"(?P<stem>.+)-before-[a-z]+-(?P<stamp>\d{4}-\d{2}-\d{2}T\d{6})(-(?P<turn>\d+))?\.book")
_DAILY = re.compile(r"(?P<stem>.+)-day-(?P<day>\d{4}-\d{2}-\d{2})\.book")


@dataclass(frozen=True, slots=True, kw_only=True)
class BackedUp:
    """copies: written and looked at, the second disk's last.  trouble: what could not be done beside them, or "".

    elsewhere: the last of them lies on another disk than the book, as far as this machine can tell.
    """

    copies: tuple[Copy, ...]
    trouble: str
    elsewhere: bool = False


def daily(kitchen: Kitchen) -> Path | None:
    """The day's copy, made before the first thing done on a day; ``None`` when there is one, or nothing to keep.

    Of older ones, ``DAYS_KEPT`` days, as many copies, and the first of each month stay.

    Raises: BookTrouble when it cannot be made.
    """
    book = kitchen.book
    folder = folder_beside(book.path)
    # The clock's day, not --today's: a replayed past must not thin the copies of the present.
    today = kitchen.clock.now().date()
    file = folder / f"{book.path.stem}-day-{today.isoformat()}.book"
    if file.exists():
        return None
    copying.copy_book(book, file)
    for old in superseded([path.name for path in folder.iterdir()], today):
        (folder / old).unlink(missing_ok=True)
    return file


def superseded(names: Sequence[str], today: date) -> list[str]:
    """Daily copies to let go: older than ``DAYS_KEPT`` days and not the first one of their month.

    The newest ``DAYS_KEPT`` of them stay whatever the day: a clock that is wrong once must not make them all old.
    """
    days = sorted((day, name) for name in names if (day := _day_of(name)) is not None)
    first_of_month: dict[tuple[int, int], str] = {}
    for day, name in days:
        first_of_month.setdefault((day.year, day.month), name)
    kept = set(first_of_month.values()) | {name for _, name in days[-DAYS_KEPT:]}
    return [name for day, name in days if today - day > timedelta(days=DAYS_KEPT) and name not in kept]


def _day_of(name: str) -> date | None:
    """The day of a daily copy, by its name; ``None`` for any other file."""
    match = _DAILY.fullmatch(name)
    try:
        return date.fromisoformat(match["day"]) if match else None
    except ValueError:
        return None


def before(kitchen: Kitchen, what: str) -> Copy:
    """A copy before something large, such as ``join``; of those before, the latest ``BEFORE_KEPT`` stay."""
    path = kitchen.book.path
    folder = folder_beside(path)
    name = f"{path.stem}-before-{what}-{_stamp(kitchen.clock.now())}"
    copy = copying.copy_book(kitchen.book, free_name(folder / f"{name}.book"))
    older = [file.name for file in folder.iterdir() if file != copy.path]
    for old in _too_many(older, path.stem):
        (folder / old).unlink(missing_ok=True)
    return copy


def _too_many(names: Sequence[str], stem: str) -> list[str]:
    """Copies made before something large that ``BEFORE_KEPT`` later ones follow."""
    found = [match for name in names if (match := _BEFORE.fullmatch(name)) and match["stem"] == stem]
    found.sort(key=lambda match: (match["stamp"], int(match["turn"] or 1)))
    return [match.string for match in found[: max(0, len(found) - BEFORE_KEPT)]]


def _stamp(now: datetime) -> str:
    return now.strftime("%Y-%m-%dT%H%M%S")


def back_up(kitchen: Kitchen, to: Path | None = None) -> BackedUp:
    """Copy the book now, beside itself and to the second disk; ``to`` names that one and is remembered.

    Only what lies on another disk than the book counts as a copy elsewhere.  The first copy there does not know of
    the second disk itself: it is made before it is remembered, or a copy that failed would count.

    A full or failing disk with the book is when the copy elsewhere is needed: that one is made all the same.

    Raises: BookTrouble when no copy at all could be made; when ``to`` cannot be written, with where the copy beside
    the book is; when ``to`` lies in a folder that is not there, and then nothing is copied anywhere.
    """
    path = kitchen.book.path
    name = f"{path.stem}-{_stamp(kitchen.clock.now())}.book"
    remembered = kitchen.settings.get(BACKUP_TO)
    away = to or (Path(remembered) if remembered else None)
    if away is not None and away.resolve() == folder_beside(path).resolve():
        raise InputError("That is where the book's own copies lie. Name a folder on another disk.", value=str(away))
    if to is not None:
        refuse_missing_stick(to)
    copies: list[Copy] = []
    troubles: list[str] = []
    try:
        copies.append(copying.copy_book(kitchen.book, folder_beside(path) / name))
    except BookBusy:
        raise
    except BookTrouble as error:
        if away is None:
            raise
        troubles.append(f"There is no copy beside the book: {_no_more(error)}")
    if away is None:
        return BackedUp(copies=tuple(copies), trouble="")
    if to is None and not away.is_dir():
        troubles.append(f"The second disk's folder {away} is not there. Plug it in, or name another with --to.")
        if not copies:
            raise BookTrouble(" ".join(troubles), path=str(path))
        return BackedUp(copies=tuple(copies), trouble=troubles[0])
    away = away.absolute()
    try:
        copies.append(copying.copy_book(kitchen.book, away / name))
    except BookTrouble as error:
        beside = f"The copy here is whole: {copies[0].path}" if copies else troubles[0]
        raise BookTrouble(f"{error.message} {beside}", **error.facts) from error
    elsewhere = not on_one_disk(path, away)
    try:
        _remember(kitchen, away, elsewhere=elsewhere)
    except BookTrouble as error:
        troubles.append(
            f"The copies above are whole, but the book could not note them: {_no_more(error)} The next time name the "
            f"folder again: freezerbox backup --to {shlex.quote(str(away))}"
        )
    return BackedUp(copies=tuple(copies), trouble="\n".join(troubles), elsewhere=elsewhere)


def _no_more(error: BookTrouble) -> str:
    """What a refusal says of the trouble, without that nothing was changed: there is a copy."""
    return error.message.partition(" Nothing was changed")[0]


def refuse_missing_stick(folder: Path) -> None:
    """Only the last folder of a path is made: one further up is the place where a stick or disk shows.

    Raises: BookTrouble when the folder it would lie in is not there.
    """
    above = folder.absolute().parent
    if not folder.exists() and not above.exists():
        raise BookTrouble(
            f"The folder {above} is not there; is the stick plugged in? Nothing was copied. Only the last folder of "
            "a path is made.",
            path=str(above),
        )


@one_writer
def _remember(kitchen: Kitchen, away: Path, *, elsewhere: bool) -> None:
    """Note where and when: only now that the copy is whole, or a failed one would count as the last."""
    stamp = kitchen.clock.stamp().isoformat(timespec="seconds")
    said = {BACKUP_TO: str(away)} | ({BACKUP_LAST: stamp} if elsewhere else {})
    with kitchen.book.act("backup", kitchen.today, words=f"backed up to {away}") as act:
        for key, value in said.items():
            old = kitchen.settings.get(key)
            if old != value:
                act.change("setting", key, "value", old, value)


def days_since_away(kitchen: Kitchen) -> int | None:
    """Days since the last copy on another disk; ``None`` when there never was one that is known of."""
    last = queries.settings(kitchen.book).get(BACKUP_LAST)
    try:
        return None if last is None else max(0, (kitchen.clock.stamp() - datetime.fromisoformat(last)).days)
    except (ValueError, TypeError):
        # Not a moment with its zone: somebody's own hand, or a damaged file.
        return None


def for_other_place(kitchen: Kitchen, name: str, letter: str, to: Path) -> Copy:
    """A copy for another place, such as the cabin, that issues codes with a letter of its own.

    Raises: InputError when the letter is this book's; BookTrouble.
    """
    from freezerbox.book import meta
    from freezerbox.chores.house import letter as own_letter
    from freezerbox.core.code import LETTERS

    mine = own_letter(kitchen)
    if not letter:
        free = [one for one in LETTERS if one != mine]
        letter = free[kitchen.book.chance.number(len(free))]
    letter = letter.strip().upper()
    if letter not in LETTERS or letter == mine:
        others = "".join(one for one in LETTERS if one != mine)
        raise InputError(f"{letter!r} cannot be the letter of the copy: give one of {others}.", value=letter)
    if to.exists():
        raise BookTrouble(f"{to} is there already. Give another name.", path=str(to))
    refuse_missing_stick(to.parent)
    chance = kitchen.book.chance
    return copying.copy_book(kitchen.book, to, lambda copy: meta.become(copy, chance, letter=letter, home=name))


def another_book(book: Path, copy: Path, waiting: Waiting = quietly) -> str:
    """A sentence when ``copy`` is of another book than lies at ``book``, such as the cabin's; "" when it is not.

    "" too when the book is not there, or too damaged to say.

    Raises: BookTrouble when ``copy`` cannot be read, BookBusy when another program holds either.
    """
    of_copy = copying.identity(copy, waiting)
    try:
        of_book = copying.identity(book, waiting) if book.is_file() else of_copy
    except BookBusy:
        raise
    except BookTrouble:
        return ""
    if of_copy == of_book:
        return ""
    return (
        f"{copy} is no copy of the book {book}: it is of another book. To join it into this one instead: freezerbox "
        f"import --merge {shlex.quote(str(copy))}"
    )


def restore(
    book: Path, copy: Path, now: datetime, chance: Chance, waiting: Waiting = quietly
) -> tuple[Copy, Path | None]:
    """Make ``copy`` the book; the present one is kept beside it.

    ``chance``: where it draws new codes; those drawn since the copy was made are on labels.  ``waiting``: is told
    when another program holds either file.

    Returns what was put in place, and where the old one is now (None when there was none).

    Raises: NoBook, BookTrouble, NewerBook when the copy is not a whole book; BookTrouble when another program holds
    the present book.  The present book may be missing or broken.
    """
    refuse_no_file(book)
    if copy.resolve() == book.resolve():
        raise InputError(f"{copy} is the book itself. Name a copy of it.", value=str(copy))
    found = copying.look_at(copy, waiting=waiting)
    aside = free_name(book.with_name(f"{book.stem}-replaced-{_stamp(now)}{book.suffix}"))
    there = copying.put_in_place(copy, book, aside, chance, waiting)
    return found, aside if there else None
