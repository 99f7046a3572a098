"""Several photographs behind one ``--photo``, as a shell writes ``*.jpg``: the parser takes one value an option."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

OPTION = "--photo"
_PICTURES = (".jpg", ".jpeg", ".png", ".webp", ".avif", ".heic", ".heif", ".tif", ".tiff", ".bmp", ".gif")


def spread(arguments: Sequence[str]) -> list[str]:
    """The arguments with ``--photo A B C`` written as ``--photo A --photo B --photo C``.

    What follows the first file counts while it is a picture by its name, or a file that is there; a place's name
    (``count --photo a.jpg "red bag"``) is neither.

    >>> spread(["scan", "--photo", "a.jpg", "b.jpg", "--take"])
    ['scan', '--photo', 'a.jpg', '--photo', 'b.jpg', '--take']
    """
    said: list[str] = []
    open_ended = False
    for at, word in enumerate(arguments):
        first = at > 0 and arguments[at - 1] == OPTION
        if first or word.startswith(f"{OPTION}="):
            open_ended = True
        elif open_ended and _is_picture(word):
            said.append(OPTION)
        else:
            open_ended = False
        said.append(word)
    return said


def _is_picture(word: str) -> bool:
    if word.startswith("-"):
        return False
    try:
        return Path(word).suffix.lower() in _PICTURES or Path(word).is_file()
    except (OSError, ValueError):
        return False
