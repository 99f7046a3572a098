"""A household's book as plain as can be, for the real one to be held against.

It keeps what people did, and takes an act that was taken back out of it as if it had never been.  The state of any
day is what is left, walked in order.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date

CHEST = ""
"""The freezer itself, no place in it."""
Where = tuple[str, str, int]
"""Where a package is: its place, or how it went when the last is gone; "" for the freezer itself; how many."""


@dataclass(frozen=True, slots=True)
class Step:
    """What an act did to a package.  place: None for out of the freezer.  delta: how many more.

    way: how one went, of which others stayed.  number: of all steps, in the order recorded.
    """

    code: str
    day: date
    place: str | None
    reason: str
    delta: int
    way: str = ""
    number: int = 0


@dataclass
class Done:
    """An act.  uid: as the book has it, which another book has too.  undoes: the act it takes back.

    swapped: two packages whose labels changed places, and when the book said that each was packed.  packed: what it
    says of the day on which packages were packed, each with the day said before.
    """

    uid: str
    kind: str
    steps: tuple[Step, ...] = ()
    codes: frozenset[str] = frozenset()
    weights: tuple[tuple[str, int, int], ...] = ()
    swapped: tuple[tuple[str, date], ...] = ()
    packed: tuple[tuple[str, date, date], ...] = ()
    undoes: Done | None = None
    undone_by: Done | None = None

    @property
    def stands(self) -> bool:
        return self.undone_by is None or not self.undone_by.stands

    @property
    def root(self) -> tuple[Done, bool]:
        """What an undo is about in the end, and whether it takes that back or has it again."""
        if self.undoes is None:
            return self, False
        root, undone = self.undoes.root
        return root, not undone


@dataclass
class Model:
    """Everything done, in the order it was recorded."""

    acts: list[Done] = field(default_factory=list)

    def steps(self, code: str, day: date) -> Iterator[Step]:
        lines: dict[str, list[Step]] = {}
        number = 0
        for act in self.acts:
            if act.undoes is not None or not act.stands:
                continue
            for step in act.steps:
                number += 1
                line = lines.setdefault(step.code, [])
                line.append(replace(step, number=number))
                line.sort(key=lambda one: (one.day, one.number))
            for code_of_it, _, packed in act.packed if act.kind == "fix" else ():
                # A part of a lot came on the day it was split off, whenever the lot was packed.
                if code_of_it not in self.parts():
                    line = lines[code_of_it]
                    first = min(line, key=lambda one: one.number)
                    line[line.index(first)] = replace(first, day=packed)
                    line.sort(key=lambda one: (one.day, one.number))
            if act.swapped:
                self._swap(*(lines[one] for one, _ in act.swapped))
        yield from (step for step in lines.get(code, ()) if step.day <= day)

    def _swap(self, one: list[Step], other: list[Step]) -> None:
        """Until the later of two packs came, only the other was there: what was done then was done to that one."""
        elder, later = sorted((one, other), key=lambda line: (line[0].day, line[0].number))
        came = (later[0].day, later[0].number)
        past = [step for step in elder if (step.day, step.number) < came]
        count = sum(step.delta for step in past)
        where = [step.place for step in past if step.place is not None][-1]
        elder[: len(past)] = [replace(later[0], place=where, delta=count)]
        later[:1] = [*past, replace(later[0], delta=later[0].delta - count)]

    def packed(self, code: str) -> date:
        """The day that the book says a package was packed on."""
        found = date.min
        for act in self.acts:
            if act.kind == "pack" and act.steps[0].code == code:
                found = act.steps[0].day
            if act.undoes is not None or not act.stands:
                continue
            found = next((day for one, _, day in act.packed if one == code), found)
            if code in dict(act.swapped):
                found = next(day for one, day in act.swapped if one != code)
        return found

    def parts(self) -> dict[str, str]:
        """By the code of each part, what it was split off."""
        return {act.steps[1].code: act.steps[0].code for act in self.acts if act.kind == "split"}

    def parts_of(self, code: str) -> list[str]:
        """What was split off a lot, and off those parts in turn."""
        own = [part for part, whole in self.parts().items() if whole == code]
        return [*own, *(one for part in own for one in self.parts_of(part))]

    def where(self, code: str, day: date) -> Where | None:
        """None before it came, or when its packing was taken back."""
        found: Where | None = None
        count = 0
        for step in self.steps(code, day):
            count += step.delta
            found = (step.place if step.place is not None else "out", step.reason, count)
        return found

    def codes(self) -> list[str]:
        return list(
            dict.fromkeys(step.code for act in self.acts for step in act.steps if act.kind in ("pack", "split"))
        )

    def weight(self, code: str) -> int:
        weight = 0
        for act in self.acts:
            for changed, _, new in act.weights:
                if changed == code and act.undoes is None and act.stands:
                    weight = new
        return weight

    def refused_to_undo(self, act: Done) -> bool:
        """Whether something that stands came after it and touches a package of it.

        To have an act again, nothing that it was done upon may have been taken back since.  A correction does not
        mind where the package is.
        """
        root, undone_by_it = act.root
        for later in self.acts[self.acts.index(root) + 1 :]:
            origin, undone = later.root
            if not later.codes & act.codes or (root.kind == "fix" and not self._stands_on_a_fix(act, origin)):
                continue
            if root.kind == "swap" and not undone_by_it and origin.kind not in ("fix", "swap"):
                # Places stay with the labels: only what was told of a day before its pack came stands on it.
                packed = dict(root.swapped)
                if not any(step.code in packed and step.day < packed[step.code] for step in origin.steps):
                    continue
            if later.undone_by is not None:
                continue
            after = self.acts.index(later) > self.acts.index(act)
            if after and not undone:
                return True
            if act.undoes is not None and undone and self.acts.index(origin) < self.acts.index(root):
                return True
        return False

    def _stands_on_a_fix(self, act: Done, later: Done) -> bool:
        """Whether ``later`` says more of the same, took over what was corrected, or was told of a day before it."""
        root, undone = act.root
        if later.kind == "split" and later.steps[0].code in root.codes:
            return self.acts.index(later) > self.acts.index(root)
        restored = {code: new if undone else old for code, old, new in root.packed}
        told_before = any(step.code in restored and step.day < restored[step.code] for step in later.steps)
        return later.kind in ("fix", "swap") or told_before
