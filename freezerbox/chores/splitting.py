"""A fair split of packages between people: by weight and by cut, with wishes.  Pure arithmetic; no book.

Wishes first.  Then, the cut with the most weight first, each pack, the largest first, goes to the one who has fewest
of that cut for his part, and among equals to whoever is owed most by weight; when somebody is owed more than a pack
beyond the others, he comes first whatever the cut.  At last packs of one cut change hands while that evens the
weights.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One pack.  key: what tells it from the others.  cut: what is shared out evenly.  mass: any unit."""

    key: str
    cut: str
    mass: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """``number`` of a cut to one person (None: all of them); ``more``: beyond his fair number of that cut."""

    cut: str
    person: str
    number: int | None
    more: bool


def split(
    items: Sequence[Item], parts: Mapping[str, int], wishes: Sequence[Wish] = ()
) -> dict[str, tuple[Item, ...]]:
    """Who gets which, for people and their parts; every item goes to exactly one of them."""
    table = _Table(items, parts)
    waiting = sorted(items, key=lambda item: (-item.mass, item.key))
    for wish in wishes:
        wished = [item for item in waiting if item.cut == wish.cut]
        for item in wished if wish.number is None else wished[: wish.number]:
            table.give(wish.person, item, counted=not wish.more)
            waiting.remove(item)
    fixed = {item.key for own in table.got.values() for item in own}
    weight_of_cut: dict[str, int] = {}
    for item in waiting:
        weight_of_cut[item.cut] = weight_of_cut.get(item.cut, 0) + item.mass
    for cut in sorted(weight_of_cut, key=lambda cut: (-weight_of_cut[cut], cut)):
        for item in waiting:
            if item.cut == cut:
                table.give(table.next_for(item), item)
    table.even_out(fixed)
    return {person: tuple(own) for person, own in table.got.items()}


class _Table:
    """The heaps on the table while they grow."""

    def __init__(self, items: Sequence[Item], parts: Mapping[str, int]) -> None:
        self.parts = dict(parts)
        self.all = sum(parts.values())
        self.dealt = 0
        self.largest = max((item.mass for item in items), default=0)
        self.got: dict[str, list[Item]] = {person: [] for person in parts}
        self.mass: dict[str, int] = dict.fromkeys(parts, 0)
        self.count: dict[tuple[str, str], int] = {}

    def give(self, person: str, item: Item, *, counted: bool = True) -> None:
        self.got[person].append(item)
        self.mass[person] += item.mass
        self.dealt += item.mass
        if counted:
            self.count[person, item.cut] = self.count.get((person, item.cut), 0) + 1

    def owed(self, person: str) -> Fraction:
        """What his part of all that is dealt by now would be, less what he has.

        Not of the whole: whoever has the larger part would be owed most until the end, and get the first cuts all.
        """
        return Fraction(self.dealt * self.parts[person], self.all) - self.mass[person]

    def next_for(self, item: Item) -> str:
        """Who gets the next pack: by fewest of its cut, unless that would leave somebody owed more than a pack."""
        names = list(self.parts)
        most_owed = max(names, key=self.owed)
        fair = min(names, key=lambda name: (self._turn(name, item.cut), -self.owed(name)))
        gap = self.owed(most_owed) - self.owed(fair)
        return most_owed if gap and gap + item.mass > self.largest else fair

    def _turn(self, person: str, cut: str) -> Fraction:
        return Fraction(self.count.get((person, cut), 0) + 1, self.parts[person])

    def even_out(self, fixed: set[str]) -> None:
        """Exchange packs of one cut between the most and the least owed, while that brings them nearer."""
        for _ in range(4 * sum(len(own) for own in self.got.values())):
            low = max(self.parts, key=self.owed)
            high = min(self.parts, key=self.owed)
            gap = self.owed(low) - self.owed(high)
            best: tuple[Fraction, Item, Item] | None = None
            for mine in self.got[high]:
                for his in self.got[low]:
                    step = mine.mass - his.mass
                    if mine.cut != his.cut or step <= 0 or mine.key in fixed or his.key in fixed:
                        continue
                    left = abs(gap - 2 * step)
                    if left < gap and (best is None or left < best[0]):
                        best = (left, mine, his)
            if best is None:
                return
            _, mine, his = best
            self._exchange(high, mine, low, his)

    def _exchange(self, one: str, mine: Item, other: str, his: Item) -> None:
        self.got[one].remove(mine)
        self.got[other].remove(his)
        self.got[one].append(his)
        self.got[other].append(mine)
        self.mass[one] += his.mass - mine.mass
        self.mass[other] += mine.mass - his.mass
