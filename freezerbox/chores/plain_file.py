"""Files that somebody names, ordinary and not without end, or that may be written; and new ones written whole."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from freezerbox.book.parts import part_of, plain, sync
from freezerbox.errors import BookTrouble, InputError, OutOfLine


def plain_bytes(file: Path, most: int, *, folder: str) -> bytes:
    """What the file holds, at most ``most`` bytes.  ``folder``: what to say when it is one.

    Raises: InputError for none, a folder, a pipe or a device, which may never end, and for a file that is larger,
    before any of it is read; BookTrouble when it cannot be read.
    """
    try:
        if not file.is_file() and file.exists() and not file.is_dir():
            raise InputError(f"{str(file)!r} is not an ordinary file. Save it as a file first, and name that.")
        if file.is_file() and file.stat().st_size > most:
            raise _too_large(file, most)
        with file.open("rb") as opened:
            raw = opened.read(most + 1)
    except FileNotFoundError as error:
        raise InputError(f"There is no file {str(file)!r}.", value=str(file)) from error
    except IsADirectoryError as error:
        raise InputError(f"{str(file)!r} is a folder{folder}", value=str(file)) from error
    except OSError as error:
        raise BookTrouble(f"{str(file)!r} cannot be read: {plain(error)}.") from error
    if len(raw) > most:
        raise _too_large(file, most)
    return raw


def _too_large(file: Path, most: int) -> InputError:
    return InputError(f"{file.name} is larger than {most // 1_000_000} MB; more is not read.", value=str(file))


def refuse_taken(file: Path, what: str, *, done: str = "printed") -> None:
    """Raises: OutOfLine when a file is there already: ``what`` is in it may not be ``done`` (printed, sent) yet."""
    if file.is_file():
        raise OutOfLine(
            f"{str(file)!r} is there already, and its {what} may not be {done} yet. Give another name; "
            "to write over it, add --yes",
            value=str(file),
        )


def write_all(texts: Mapping[Path, str]) -> None:
    """Write files that are new, each whole, and all of them or none.

    Raises: BookTrouble when the folder cannot be made or the disk refuses.
    """
    parts = {path: part_of(path) for path in texts}
    done: list[Path] = []
    try:
        for path, part in parts.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            part.write_text(texts[path], encoding="utf-8")
            sync(part)
        for path, part in parts.items():
            part.replace(path)
            done.append(path)
    except OSError as error:
        for new in done:
            new.unlink()
        raise BookTrouble(f"{str(path)!r} cannot be written: {plain(error)}. Nothing was changed.") from error
    finally:
        for part in parts.values():
            with suppress(OSError):  # where the folder could not be made there is none
                part.unlink()
