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
When = tuple[date, int]
"""A place in the order of things: the day, and the number of the step."""
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


def _when(step: Step) -> When:
    return step.day, step.number


def _mixed_up(lines: dict[str, list[Step]], borne: dict[str, str], code: str) -> When:
    """When the last came of those labels that changed round with this one.

    borne: by each label that was swapped, the label that the pack came with which bears it.
    """
    ring = {code}
    while borne[code] not in ring:
        code = borne[code]
        ring.add(code)
    return max(min(_when(step) for step in lines[one]) for one in ring)


@dataclass
class Model:
    """Everything done, in the order it was recorded."""

    acts: list[Done] = field(default_factory=list)

    def steps(self, code: str, day: date) -> Iterator[Step]:
        lines: dict[str, list[Step]] = {}
        total: dict[str, int] = {}
        borne: dict[str, str] = {}
        number = 0
        for act in self.acts:
            if act.undoes is not None or not act.stands:
                continue
            for step in act.steps:
                number += 1
                one = replace(step, number=number)
                # Of a day before the labels were mixed up it was told of the pack that was known to bear this one.
                late = step.code in borne and _when(one) < _mixed_up(lines, borne, step.code)
                lines.setdefault(borne[step.code] if late else step.code, []).append(one)
                total[step.code] = total.get(step.code, 0) + step.delta
            for code_of_it, _, packed in act.packed if act.kind == "fix" else ():
                # A part of a lot came on the day it was split off, whenever the lot was packed.
                if code_of_it not in self.parts():
                    line = lines[code_of_it]
                    first = min(line, key=lambda one: one.number)
                    line[line.index(first)] = replace(first, day=packed)
            if act.swapped:
                one_of_two, other = (found for found, _ in act.swapped)
                before = borne.get(one_of_two, one_of_two), borne.get(other, other)
                borne[other], borne[one_of_two] = before
        for line in lines.values():
            line.sort(key=_when)
        told = lines.get(code, [])
        if borne.get(code, code) != code:
            told = self._told(told, lines[borne[code]], _mixed_up(lines, borne, code), total[code])
        yield from (step for step in told if step.day <= day)

    def _told(self, own: list[Step], pack: list[Step], mixed_up: When, total: int) -> list[Step]:
        """What was done to a pack under the label that it came with, and under the one it bears since the mix-up."""
        past = [step for step in pack if _when(step) < mixed_up]
        since = [step for step in own if _when(step) > mixed_up]
        where = [step.place for step in own if _when(step) <= mixed_up and step.place is not None][-1]
        came = total - sum(step.delta for step in (*past, *since))
        if past and past[-1].place is None and not came:
            return [*past, *since]
        day, number = mixed_up
        return [*past, Step(own[0].code, day, where, "", came, number=number), *since]

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
