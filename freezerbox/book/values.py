"""Words of the file turned into values; one that cannot be is told as damage, not as a programming error."""

from __future__ import annotations

import re
from datetime import date
from enum import StrEnum
from typing import TypeVar

from freezerbox.errors import BookTrouble

_COPY = "Bring back a copy, beginning with the latest: freezerbox restore COPY"

_WALK = re.compile(r"[0-9]{1,18}")

Word = TypeVar("Word", bound=StrEnum)


def day(text: str) -> date:
    """An ISO day.  Raises: BookTrouble."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise _damaged(text, "a day, such as 2026-11-21") from error


def day_or_none(text: str | None) -> date | None:
    """An ISO day, or none said.  Raises: BookTrouble."""
    return None if text is None else day(text)


def word(kind: type[Word], text: str) -> Word:
    """One of a fixed list of words.  Raises: BookTrouble."""
    try:
        return kind(text)
    except ValueError as error:
        raise _damaged(text, " or ".join(kind)) from error


def number(value: str | int | float | bytes | None) -> int:
    """A row number of the file."""
    return value if isinstance(value, int) else int(str(value))


def is_walk(text: str) -> bool:
    """Whether it says where a walk through codes begins."""
    return _WALK.fullmatch(text) is not None


def nothing_said(key: str) -> BookTrouble:
    """The trouble of a book that does not say a fact of itself."""
    return BookTrouble(f"The book is damaged: it does not say its {key}. Nothing was changed. {_COPY}", key=key)


def no_text(table: str) -> BookTrouble:
    """The trouble of a row that holds bytes where there can be only words and numbers."""
    return BookTrouble(f"The book is damaged: a row of {table} holds what is neither text nor number. {_COPY}")


def unreadable_setting(key: str, text: str, mend: str) -> BookTrouble:
    """The trouble of a setting that nobody can have set; ``mend`` is the command that sets it."""
    return BookTrouble(
        f"The book is damaged: its setting {key!r} is {text!r}, which cannot be. To mend it: {mend}",
        key=key,
        value=text,
    )


def _damaged(text: str, wanted: str) -> BookTrouble:
    return BookTrouble(
        f"The book is damaged: it says {text!r} where it should say {wanted}. Nothing was changed. {_COPY}",
        value=text,
    )
