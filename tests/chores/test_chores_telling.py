"""The history of a package: each step is told as what it was when it was written."""

from __future__ import annotations

from datetime import date

import pytest

from freezerbox.chores.give import give
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.move import move
from freezerbox.chores.pack import prepare, write
from freezerbox.chores.story import story
from freezerbox.chores.take import put_back, take
from freezerbox.chores.telling import tell
from freezerbox.chores.undo import target, undo
from freezerbox.core.records import Movement, Reason, State
from tests.conftest import Stocked

SPARE, FROZEN, GONE = State.SPARE, State.FROZEN, State.GONE
Step = tuple[str, int, State, int, int]
"""Kind of the act, its number, the state, the delta, the day of November."""

CASES: dict[str, tuple[list[Step], dict[int, int], set[int], dict[int, str]]] = {
    "a move that was taken back, then eaten on an earlier day": (
        [
            ("pack", 1, FROZEN, 1, 1), ("move", 2, FROZEN, 0, 10), ("undo", 3, FROZEN, 0, 10),
            ("take", 4, GONE, -1, 5), ("take", 4, GONE, 0, 10),
        ],
        {3: 2}, set(), {1: "PACKED", 2: "MOVED", 3: "MOVED_BACK", 4: "GONE"},
    ),
    "a lot emptied in two, one put back, all taken back": (
        [
            ("pack", 1, FROZEN, 5, 1), ("take", 2, FROZEN, -2, 1), ("take", 3, GONE, -3, 1),
            ("put-back", 4, FROZEN, 1, 1), ("undo", 5, GONE, -1, 1), ("undo", 6, FROZEN, 3, 1),
            ("undo", 7, FROZEN, 2, 1),
        ],
        {5: 4, 6: 3, 7: 2}, set(),
        {1: "PACKED 5", 2: "SOME_LEFT 2", 3: "GONE 3 none left", 4: "BACK 1", 5: "GONE 1 none left", 6: "BACK 3",
         7: "BACK 2"},
    ),
    "the undo of a late take is said once": (
        [
            ("pack", 1, FROZEN, 5, 1), ("take", 2, FROZEN, -1, 15), ("take", 3, FROZEN, -1, 10),
            ("undo", 4, FROZEN, 1, 10), ("undo", 4, FROZEN, 0, 15),
        ],
        {4: 3}, set(), {1: "PACKED 5", 2: "SOME_LEFT 1", 3: "SOME_LEFT 1", 4: "BACK 1"},
    ),
    "a label filled in two books, the later one overruled": (
        [
            ("label-ahead", 1, SPARE, 0, 1), ("adopt", 2, FROZEN, 1, 3), ("adopt", 3, FROZEN, 1, 4),
            ("join", 4, FROZEN, 0, 5),
        ],
        {}, {3}, {1: "SPARE", 2: "FILLED", 3: "FILLED", 4: "DECIDED"},
    ),
    "a label filled in two books, the earlier one overruled": (
        [("label-ahead", 1, SPARE, 0, 1), ("adopt", 2, FROZEN, 1, 3), ("adopt", 3, FROZEN, 1, 4)],
        {}, {2}, {1: "SPARE", 2: "FILLED", 3: "FILLED"},
    ),
    "what is had again is what it was": (
        [
            ("pack", 1, FROZEN, 1, 1), ("move", 2, FROZEN, 0, 2), ("undo", 3, FROZEN, 0, 2),
            ("undo", 4, FROZEN, 0, 2),
        ],
        {3: 2, 4: 3}, set(), {1: "PACKED", 2: "MOVED", 3: "MOVED_BACK", 4: "MOVED"},
    ),
    "a lot that a late take turned out to end": (
        [
            ("pack", 1, FROZEN, 5, 1), ("take", 2, FROZEN, -2, 15), ("take", 3, FROZEN, -3, 10),
            ("take", 3, GONE, 0, 15),
        ],
        {}, set(), {1: "PACKED 5", 2: "SOME_LEFT 2 none left", 3: "SOME_LEFT 3"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_a_step_is_told_as_it_was(case: str) -> None:
    steps, undoes, against, expected = CASES[case]
    moved = [
        Movement(
            id=number,
            act_id=act,
            code="K7P3MT",
            happened_on=date(2026, 11, day),
            state=state,
            reason=None if state is SPARE or (delta >= 0 and state is FROZEN) else Reason.EATEN,
            freezer_id=1,
            place_id=None,
            delta=delta,
        )
        for number, (_, act, state, delta, day) in enumerate(steps, start=1)
    ]
    told = tell(
        sorted(moved, key=lambda one: (one.happened_on, one.id)),
        {act: kind for kind, act, *_ in steps},
        undoes,
        {(act, "K7P3MT") for act in against},
    )
    assert len(told) == len(expected)
    for one in told:
        words = f"{one.was.name}{f' {one.number}' if one.number else ''}{' none left' if one.none_left else ''}"
        assert (one.movement.act_id, words) == (one.movement.act_id, expected[one.movement.act_id])


def said(kitchen: Kitchen, code: str) -> list[str]:
    return [step.words for step in story(kitchen.afresh(), code).steps]


def undo_last(kitchen: Kitchen) -> None:
    undo(kitchen.afresh(), target(kitchen.afresh()))


def test_the_history_of_what_is_gone_does_not_end_as_if_it_were_there(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.ground[0].code
    move(kitchen.afresh(), [code], to="Garage chest", on="2026-11-20")
    act = target(kitchen.afresh()).id
    undo_last(kitchen)
    take(kitchen.afresh(), code, on="2026-11-05")
    assert said(kitchen, code)[1:] == [
        "gone: eaten",
        f"moved to Garage chest (taken back by act {act + 1})",
        f"undo of act {act}: back to Garage chest, red bag; eaten on 5 Nov",
    ]


def test_the_history_of_a_lot_says_how_many(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    words = Words(cut="ground", species="beef", packed="2026-11-01", place="red bag")
    code = write(kitchen.afresh(), prepare(kitchen.afresh(), words, ["1"], quantity=5)).rows[0].code
    give(kitchen.afresh(), [f"{code}*2"], "Ann", yes=True)
    take(kitchen.afresh(), code, number=3)
    put_back(kitchen.afresh(), code)
    there = ["packed 5, Garage chest, red bag", "2 given to Ann", "3 eaten, none left"]
    assert said(kitchen, code) == [*there, "1 put back, Garage chest, red bag"]
    act = target(kitchen.afresh()).id
    undo_last(kitchen)
    undo_last(kitchen)
    assert [words.partition(" (")[0] for words in said(kitchen, code)] == [
        *there,
        "1 put back, Garage chest, red bag",
        f"undo of act {act}: 1 eaten, none left",
        f"undo of act {act - 1}: 3 put back, Garage chest, red bag",
    ]
