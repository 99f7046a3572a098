"""The house's book and the cabin's, for tests of joining them."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.cli.process import House, dump
from tests.keeping.houses import check


@dataclass(frozen=True, slots=True)
class Pair:
    """The house's book and the cabin's, parted this evening."""

    house: House
    cabin: House

    def join(self, *words: str) -> House:
        """The cabin's book into the house's."""
        self.house.ok("import", "--merge", "cabin.book", *words)
        check(self.house, file(self.house))
        return self.house

    def both_ways(self, words: tuple[str, ...] = (), there: tuple[str, ...] = ()) -> None:
        """Joined here, and joined there from copies of before: the same book; and the joined ones change nothing."""
        folder = self.house.folder
        shutil.copy(file(self.house), folder / "house before.book")
        shutil.copy(file(self.cabin), folder / "cabin before.book")
        self.join(*words)
        self.cabin.ok("import", "--merge", "house before.book", *there)
        check(self.cabin, file(self.cabin))
        assert told(self.house) == told(self.cabin)
        self.same_again()

    def same_again(self) -> None:
        """Joined once more, in either direction, nothing changes; the books before do not bring anything back."""
        before = told(self.house), told(self.cabin)
        for here, other in (
            (self.house, "cabin.book"),
            (self.cabin, "house.book"),
            (self.house, "cabin before.book"),
        ):
            here.ok("import", "--merge", other)
        assert (told(self.house), told(self.cabin)) == before


def file(house: House) -> Path:
    """The book that the house's commands work in."""
    return Path(house.more.get("FREEZERBOX_BOOK", house.book))


def told(house: House) -> list[str]:
    """Everything in a book but what is its own: its letter, identity and settings, and when its tables were made."""
    own = ('INSERT INTO "meta"', 'INSERT INTO "setting"', 'INSERT INTO "_sqlite_migrations"')
    return [line for line in dump(file(house)).splitlines() if not line.startswith(own)]


def row(house: House, code: str) -> dict[str, Any]:
    return house.ok("show", code, "--json").json
