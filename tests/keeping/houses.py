"""Houses whose books are put to the test, and what must hold of every book."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from freezerbox.book.copying import look_at
from tests.cli.process import House, dump, play_evening


def played(folder: Path) -> House:
    """The evening of the issue, and a freezer at the cabin: 4 held backstraps, 14 loin chops, acts 1 to 7."""
    house = play_evening(House(folder=folder))
    house.ok("freezer", "add", "Cabin")
    return house


def check(house: House, book: Path | None = None) -> None:
    """The book opens, and everything in it adds up."""
    found = house.call(*(("--book", str(book)) if book else ()), "check", "--json")
    assert found.status == 0, found
    assert found.json["faults"] == []
    look_at(book or house.book)


def chops(house: House) -> list[str]:
    """Codes of the loin chops that are in the freezer."""
    return [row["code"] for row in house.ok("find", "loin chops", "--json").json["rows"]]


def named(house: House, book: Path) -> House:
    """The house, working in another book."""
    return replace(house, more={"FREEZERBOX_BOOK": str(book)})


def held(book: Path) -> str:
    """Everything in a book but where it draws its codes, which no copy hands on."""
    return "\n".join(line for line in dump(book).splitlines() if "VALUES('walk'," not in line)
