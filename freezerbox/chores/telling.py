"""What each step of a package was when it was written, so that its history tells the past that was."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from freezerbox.core.fold import in_order, said_once, silent_acts, standing
from freezerbox.core.records import Movement, Reason, State

_BRINGS_BACK = ("put-back", "count", "count-look", "split", "undo", "join")
"""Kinds of act that let more of a package be there, though it came before."""


class Was(Enum):
    """What a step was."""

    GONE = "gone"
    SPARE = "spare"
    PACKED = "packed"
    FILLED = "filled"
    BACK = "put back"
    FOUND = "found"
    SOME_LEFT = "some left"
    OUT_AGAIN = "out again"
    MOVED = "moved"
    MOVED_BACK = "moved back"
    DECIDED = "decided"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One step.  movement: as written.  was: what it was.  number: how many of a lot; 0 of a single package.

    none_left: the lot was all gone with it.  undo: what it says stood before the act that it takes back.
    """

    movement: Movement
    was: Was
    number: int = 0
    none_left: bool = False
    undo: bool = False


def tell(
    movements: Sequence[Movement],
    kinds: Mapping[int, str],
    undoes: Mapping[int, int],
    overruled: Collection[tuple[int, str]] = (),
) -> tuple[Told, ...]:
    """The steps of one package in the order they were written, each as what it was then.

    A step is told from those that were written before it and stood then: not from what was taken back by then, nor
    from what was written later.  What an act only says again on later days is no step.  ``kinds``: of each act.
    ``undoes``: the act that each undo takes back.  ``overruled``: as of ``fold.standing``.
    """
    by_number = sorted(movements, key=lambda one: one.id)
    lot = any(abs(one.delta) > 1 for one in by_number)
    emptied = _emptied(movements, undoes, overruled) if lot else frozenset()
    found: list[Told] = []
    by_act: dict[int, Told] = {}
    for one in said_once(by_number):
        then = silent_acts({undo: of for undo, of in undoes.items() if undo < one.act_id})
        joined = kinds.get(one.act_id) == "join"
        stood = [
            other
            for other in standing(by_number, then, () if joined else overruled)
            if other.id < one.id and other.act_id != one.act_id
        ]
        step = Told(
            movement=one,
            was=_was(one, kinds.get(one.act_id, ""), stood, (one.act_id, one.code) in overruled),
            number=abs(one.delta) if lot else 0,
            none_left=lot and one.delta < 0 and (one.state is State.GONE or one.id in emptied),
            undo=one.act_id in undoes,
        )
        root, times = _root(one.act_id, undoes)
        first = by_act.get(root)
        if times and times % 2 == 0 and first is not None:
            # What is had again is what it was the first time.
            again = replace(first.movement, id=one.id, act_id=one.act_id, happened_on=one.happened_on)
            step = replace(first, movement=again)
        by_act.setdefault(one.act_id, step)
        found.append(step)
    return tuple(found)


def _was(one: Movement, kind: str, stood: Sequence[Movement], overruled: bool) -> Was:
    if one.state is State.GONE:
        return Was.GONE
    if one.state is State.SPARE:
        return Was.SPARE
    came = any(other.state is State.FROZEN for other in stood)
    if one.delta > 0 and (not came or (overruled and kind not in _BRINGS_BACK)):
        if kind == "undo":
            return Was.BACK
        return Was.FILLED if any(other.state is State.SPARE for other in stood) else Was.PACKED
    if kind == "join":
        return Was.DECIDED
    if one.delta > 0:
        return Was.FOUND if one.reason is Reason.LOST else Was.BACK
    if one.delta < 0:
        return Was.SOME_LEFT if one.reason else Was.OUT_AGAIN
    return Was.MOVED_BACK if kind == "undo" else Was.MOVED


def _emptied(
    movements: Sequence[Movement], undoes: Mapping[int, int], overruled: Collection[tuple[int, str]]
) -> frozenset[int]:
    """Numbers of the steps that stand and took the last of a lot, as is known now."""
    there, found = 0, set()
    for one in in_order(standing(movements, silent_acts(undoes), overruled)):
        there += one.delta
        if one.delta < 0 and there == 0:
            found.add(one.id)
    return frozenset(found)


def _root(act_id: int, undoes: Mapping[int, int]) -> tuple[int, int]:
    """The act that an undo is about in the end, and by how many undoes."""
    times = 0
    while act_id in undoes:
        act_id, times = undoes[act_id], times + 1
    return act_id, times
