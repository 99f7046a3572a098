"""Files that take their name only when they are whole: new books, copies, exports."""

from __future__ import annotations

import errno
import os
import re
import shlex
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from freezerbox.errors import BookTrouble

_PART = re.compile(r"\..+\.\d+-\d+\.part(-journal)?")
_STALE_SECONDS = 3600


def part_of(path: Path) -> Path:
    """Where ``path`` is written until it is whole: hidden beside it, another for each process and thread."""
    return path.with_name(f".{path.name}.{os.getpid()}-{threading.get_ident()}.part")


def folder_beside(book: Path) -> Path:
    """Where a book's own copies lie: a folder beside it."""
    return book.with_name(f"{book.stem}-backups")


def way_back(path: Path) -> str:
    """What to run when a book is beyond use: its latest copy back, by name when one lies beside it."""
    copy = latest_copy(path)
    if copy is not None:
        return f"Bring back the latest copy: freezerbox restore {shlex.quote(str(copy))}"
    return "Bring back a copy, beginning with the latest: freezerbox restore COPY"


def refuse_pipe(path: Path) -> None:
    """Raises: BookTrouble for a pipe or a device, from which reading may never come back."""
    with suppress(OSError):
        if path.exists() and not path.is_file() and not path.is_dir():
            raise BookTrouble(
                f"{path} is not an ordinary file. Name the book or a copy of it; nothing was changed.", path=str(path)
            )


def refuse_no_file(book: Path) -> None:
    """Raises: BookTrouble when no book can be called so: a folder, a path without a name, a pipe or a device."""
    refuse_pipe(book)
    folder = book.name in ("", "..")
    with suppress(OSError):
        folder = folder or book.is_dir()
    if folder:
        raise BookTrouble(
            f"{book} is a folder, not a freezer book. Name the file in it: freezerbox --book "
            f"{shlex.quote(str(book / 'freezer.book'))}",
            path=str(book),
        )


def latest_copy(path: Path) -> Path | None:
    """The copy of a book that was made last, of those in the folder beside it; ``None`` when there is none."""
    try:
        copies = sorted(folder_beside(path).glob("*.book"), key=lambda copy: copy.stat().st_mtime)
    except OSError:
        return None
    return copies[-1] if copies else None


def which_file(path: Path) -> tuple[int, int]:
    """Device and number of a file; zeros when there is none."""
    try:
        found = path.stat()
    except OSError:
        return 0, 0
    return found.st_dev, found.st_ino


def on_one_disk(one: Path, other: Path) -> bool:
    """Whether two files lie on one disk, as far as the system tells (two parts of one disk count as two).

    Raises: OSError when either is not there.
    """
    return one.stat().st_dev == other.stat().st_dev


def free_name(path: Path) -> Path:
    """``path``, or ``labels-2.pdf`` and so on when there is something of that name: nothing is written over."""
    number, free = 1, path
    while free.exists():
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free


def is_part(name: str) -> bool:
    """Whether a file's name is that of something unfinished, perhaps of a program that was stopped."""
    return _PART.fullmatch(name) is not None


@contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """A place to write; at the end it gets the name ``path``, which nobody may have taken before.

    Raises: BookTrouble when ``path`` is there already or its folder cannot be written.
    """
    with part_file(path) as part:
        if path.exists():
            raise _there_already(path)
        yield part
        sync(part)
        try:
            try:
                os.link(part, path)
            except FileExistsError as error:
                raise _there_already(path) from error
            except OSError:
                # Disks without hard links (memory sticks): take the name first, so that of two only one gets it.
                path.open("xb").close()
                part.replace(path)
            sync_folder(path.parent)
        except FileExistsError as error:
            raise _there_already(path) from error
        except OSError as error:
            raise _not_made(path, error) from error


@contextmanager
def part_file(path: Path) -> Iterator[Path]:
    """An empty file beside ``path``, removed at the end if it is still there under that name.

    What a stopped program left in the folder an hour or more ago is cleared away.

    Raises: BookTrouble when the folder cannot be made or written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BookTrouble(f"The folder {path.parent} cannot be made: {plain(error)}.", path=str(path)) from error
    part = part_of(path)
    try:
        _clear(part)
        part.open("xb").close()
        _clear_stale(part)
    except OSError as error:
        raise _not_made(path, error) from error
    try:
        yield part
    finally:
        _clear(part)


def _clear(part: Path) -> None:
    part.unlink(missing_ok=True)
    part.with_name(f"{part.name}-journal").unlink(missing_ok=True)


def _clear_stale(part: Path) -> None:
    now = part.stat().st_mtime
    for other in part.parent.iterdir():
        if is_part(other.name):
            # Another program may clear the same leaving.
            with suppress(OSError):
                if now - other.stat().st_mtime > _STALE_SECONDS:
                    other.unlink()


def _not_made(path: Path, error: OSError) -> BookTrouble:
    """What hinders a new file is nearly always the folder it is to lie in: that is named then."""
    why = f"{plain(error)}."
    if isinstance(error, PermissionError) or error.errno == errno.EROFS:
        why = (
            f"the folder {path.parent.absolute()} cannot be written: {plain(error)}. Look at the permissions of that "
            "folder and at the disk, or name a file in another."
        )
    return BookTrouble(f"The book {path} cannot be made: {why}", path=str(path))


def _there_already(path: Path) -> BookTrouble:
    return BookTrouble(f"{path} is there already. Give --book a name that is not taken.", path=str(path))


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
