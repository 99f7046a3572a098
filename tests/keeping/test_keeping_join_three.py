"""The house's book, the cabin's and the son's: once everyone has joined everyone, in any order, they are one book."""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass
from itertools import count, permutations
from pathlib import Path
from random import Random

import pytest

from tests.cli.process import House
from tests.keeping.houses import check, chops
from tests.keeping.pairs import file, told

NAMES = ("house", "cabin", "son")
OTHERS = ("26B", "26H", "26X", "26Y", "26Z")
"""Animals that no two books have under one code."""


@dataclass
class Three:
    """The three books, and who is asked: chance answers, and counts how often; how often somebody went on."""

    books: dict[str, House]
    answers: Random
    asked: int = 0
    worked: int = 0

    def join(self, here: str, there: str) -> None:
        """The book ``there`` into the book ``here``; what is asked is answered somehow."""
        house, words = self.books[here], ["import", "--merge", str(file(self.books[there]))]
        said = house.call(*words)
        names = count(1)
        while said.status:
            assert "Decide each" in said.said, said
            self.asked += 1
            for name in re.findall(r"--same '([^']+)'", said.said):
                new = (
                    f"26{'EFGHJKLMNP'[next(names)]}{self.asked}" if name.startswith("animal") else f"no {self.asked}"
                )
                words += self.answers.choice([("--same", name), ("--rename", f"{name}={new}")])
            if "--prefer ours" in said.said and "--prefer" not in words:
                words += ["--prefer", self.answers.choice(["ours", "theirs"])]
            said = house.call(*words)
        check(house, file(house))

    def work(self, name: str) -> None:
        """Somebody goes on in one of the books, by the names it knows."""
        house = self.books[name]
        signs = [one["code"] for one in house.ok("place", "--json").json["places"]]
        bucks = [one["code"] for one in house.ok("animal", "--json").json["animals"] if one["code"] not in OTHERS]
        animal, sign = self.answers.choice(bucks), self.answers.choice(signs)
        house.ok("pack", "stew", "1", "--animal", animal, "--place", sign)
        self.worked += 1
        house.ok("fix", chops(house)[0], "--weight", f"1.{self.worked + 10}")

    def all_alike(self) -> None:
        """They hold the same, and people see the same."""
        shown = {}
        for name, house in self.books.items():
            seen = [house.ok(*words).out for words in (("rotation",), ("balance",), ("animal",), ("place",))]
            histories = [house.ok("history", code).out for code in chops(house)[:3]]
            shown[name] = (seen, histories, told(house))
        assert shown["house"] == shown["cabin"] == shown["son"]


@pytest.fixture(scope="session")
def evening(parted: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Each of the three did the same things in its own way."""
    folder = tmp_path_factory.mktemp("three") / "pair"
    shutil.copytree(parted, folder)
    letter = next(one for one in "QRS" if one != chops(three(folder)["house"])[0][0])
    three(folder)["house"].ok("backup", "--for", "son", "--letter", letter)
    for number, (name, house) in enumerate(three(folder).items()):
        first, second, third, other = chops(house)[:4]
        house.ok("animal", "add", "26C", "whitetail buck", "--tag", f"447{number}")
        house.ok("pack", "stew", "1", "--animal", "26C", "--freezer", "Cabin")
        house.ok("place", "add", "top", "--freezer", "Cabin")
        house.ok("pack", "hock", "2", "--animal", "26H", "--place", "top")
        house.ok("fix", first, "--weight", f"1.{number + 3}")
        house.ok("animal", "add", f"26{'XYZ'[number]}", "pig")
        house.ok("fix", second, "--animal", f"26{'XYZ'[number]}")
        house.ok(*(("take", third), ("give", third, "--to", name), ("move", third, "--to", "red bag"))[number])
        house.ok("move", other, "--to", ("red bag", "Cabin", "top")[number])
    return folder


def three(folder: Path) -> dict[str, House]:
    found = {}
    for number, name in enumerate(NAMES):
        more = {"FREEZERBOX_BOOK": str(folder / f"{name}.book"), "FREEZERBOX_STATION": name}
        found[name] = House(folder=folder, now=f"2026-12-05T2{number}:00", seed=name, more=more)
    return found


@pytest.mark.parametrize("order", list(permutations(NAMES)), ids="-".join)
@pytest.mark.parametrize("before", [0, 2])
def test_three_books_come_to_one(evening: Path, tmp_path: Path, order: tuple[str, str, str], before: int) -> None:
    """First ``before`` joins of some with some; then each of the others into the first, and the first into each."""
    shutil.copytree(evening, tmp_path / "three")
    books = Three(three(tmp_path / "three"), Random(f"{order} {before}"))
    for _ in range(before):
        here, there = books.answers.sample(NAMES, 2)
        books.join(here, there)
        books.work(books.answers.choice(NAMES))
    first, *others = order
    for other in others:
        books.join(first, other)
    asked = books.asked
    assert asked
    for other in others:
        books.join(other, first)
    assert books.asked == asked, "what was answered already was asked again"
    books.all_alike()
    for name in NAMES:
        books.work(name)
    for here, there in ((order[1], order[0]), (order[2], order[1]), (order[0], order[2]), (order[1], order[2])):
        books.join(here, there)
    books.all_alike()
