"""The bytes of a file that somebody names: an ordinary one, and not without end."""

from __future__ import annotations

from pathlib import Path

from freezerbox.errors import InputError


def plain_bytes(file: Path, most: int) -> bytes:
    """What the file holds, at most ``most`` bytes.

    Raises: InputError for a pipe or a device, which may never end, and for a file that is larger; OSError.
    """
    if not file.is_file() and file.exists() and not file.is_dir():
        raise InputError(f"{str(file)!r} is not an ordinary file. Save it as a file first, and name that.")
    with file.open("rb") as opened:
        raw = opened.read(most + 1)
    if len(raw) > most:
        raise InputError(f"{file.name} is larger than {most // 1_000_000} MB; more is not read.", value=str(file))
    return raw
