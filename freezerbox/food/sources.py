"""Where the figures come from: each publication once, with how it was seen.

A row of any food table names its source by id and says where in it to look (``locator``).
"""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files

from freezerbox.errors import UnknownRecord

THIS_HOUSEHOLD = "this-household"


class Seen(StrEnum):
    """How a publication came to our eyes."""

    READ = "read"
    SECONDARY = "secondary"
    MEMORY = "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One publication.

    ``id``: what table rows call it.  ``title``, ``publisher``, ``edition``: the citation; publisher and edition are
    empty where there is no publication (a household's own figure, trade practice).  ``seen``: read in the publication
    or a stored copy of it, read second hand, or recalled.  ``note``: what else a reader should know.
    """

    id: str
    title: str
    publisher: str
    edition: str
    seen: Seen
    note: str

    def cite(self) -> str:
        """The citation in one line, with how it was seen.

        >>> source("iir-1986").cite().endswith("third edition, 1986 (seen: memory)")
        True
        >>> source("this-household").cite()
        'this household'
        """
        if not self.publisher:
            return self.title
        return f"{self.title}, {self.publisher}, {self.edition} (seen: {self.seen})"


def source(source_id: str) -> Source:
    """The publication of this id.

    Raises: UnknownRecord when the tables have none of this id.
    """
    try:
        return _by_id()[source_id]
    except KeyError:
        known = ", ".join(_by_id())
        raise UnknownRecord(
            f"No source {source_id!r}. The sources are: {known}.", value=source_id, known=list(_by_id())
        ) from None


def sources() -> tuple[Source, ...]:
    """Every publication, in the order of the table."""
    return tuple(_by_id().values())


@cache
def _by_id() -> Mapping[str, Source]:
    return {
        source_id: Source(
            id=source_id,
            title=entry["title"],
            publisher=entry["publisher"],
            edition=entry["edition"],
            seen=Seen(entry["seen"]),
            note=entry["note"],
        )
        for source_id, entry in read_toml("sources.toml").items()
    }


def read_toml(name: str) -> dict[str, dict[str, str]]:
    """The entries of a TOML table of this room, by key, in file order."""
    text = (files("freezerbox.food") / "tables" / name).read_text(encoding="utf-8")
    entries: dict[str, dict[str, str]] = tomllib.loads(text)
    return entries


def read_csv(name: str) -> tuple[dict[str, str], ...]:
    """The rows of a CSV table of this room.

    Raises: ValueError when a row has more or fewer cells than the header, which is a fault in the shipped table.
    """
    text = (files("freezerbox.food") / "tables" / name).read_text(encoding="utf-8")
    header, *rows = csv.reader(io.StringIO(text))
    return tuple(dict(zip(header, row, strict=True)) for row in rows)
