"""Sharing out: fair by weight and by cut, wishes, what leaves our stock; scenario 14."""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from freezerbox.chores import animals, holding, pack, share, trace, undo
from freezerbox.chores.check import check
from freezerbox.chores.handover import handover
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pages import print_share
from freezerbox.chores.pull import pull_sheet
from freezerbox.chores.rows import Rows
from freezerbox.chores.splitting import Item, Wish, split
from freezerbox.core.records import Reason, State
from freezerbox.errors import AmbiguousWord, FreezerboxError, InputError, Refused, UnknownRecord, UnknownWord
from tests.conftest import Stocked

CUTS = ("backstrap", "ground", "shank")


@st.composite
def packs(draw: st.DrawFn, most: int) -> list[Item]:
    made = draw(st.lists(st.tuples(st.sampled_from(CUTS), st.integers(300, 3000)), min_size=1, max_size=most))
    return [Item(key=str(number), cut=cut, mass=mass) for number, (cut, mass) in enumerate(made)]


def weights(heaps: dict[str, tuple[Item, ...]]) -> list[int]:
    return [sum(item.mass for item in own) for own in heaps.values()]


@settings(max_examples=60, deadline=None)
@given(packs(12))
def test_two_people_against_brute_force(items: list[Item]) -> None:
    heaps = split(items, {"Ann": 1, "Ben": 1})
    assert sorted(item.key for own in heaps.values() for item in own) == sorted(item.key for item in items)
    apart = abs(weights(heaps)[0] - weights(heaps)[1])
    largest = max(item.mass for item in items)
    assert apart <= largest, "never more than one pack apart"
    counts = [[sum(item.cut == cut for item in own) for cut in CUTS] for own in heaps.values()]
    assert all(abs(one - other) <= 1 for one, other in zip(*counts, strict=True)), "each cut is shared out evenly"
    # Of all splits that share each cut out evenly, found by trying every one, ours is within a pack of the best.
    best = min(
        abs(sum(item.mass if side else -item.mass for item, side in zip(items, sides, strict=True)))
        for sides in product((True, False), repeat=len(items))
        if all(
            abs(sum(1 if side else -1 for item, side in zip(items, sides, strict=True) if item.cut == cut)) <= 1
            for cut in CUTS
        )
    )
    assert best <= apart <= best + largest


@settings(max_examples=100, deadline=None)
@given(packs(60), st.integers(2, 4))
def test_bound_holds_for_sixty_packs_and_more_people(items: list[Item], number: int) -> None:
    heaps = split(items, {str(person): 1 for person in range(number)})
    assert sum(weights(heaps)) == sum(item.mass for item in items)
    assert max(weights(heaps)) - min(weights(heaps)) <= max(item.mass for item in items)


@settings(max_examples=60, deadline=None)
@given(packs(40))
def test_two_parts_to_one(items: list[Item]) -> None:
    heaps = split(items, {"Ann": 2, "Ben": 1})
    total, largest = sum(item.mass for item in items), max(item.mass for item in items)
    ann, _ = weights(heaps)
    assert abs(ann - total * 2 / 3) <= largest


@settings(max_examples=60, deadline=None)
@given(packs(24))
def test_no_exchange_of_two_packs_of_a_cut_would_bring_two_people_nearer(items: list[Item]) -> None:
    ann, ben = split(items, {"Ann": 1, "Ben": 1}).values()
    gap = sum(item.mass for item in ann) - sum(item.mass for item in ben)
    for mine, his in product(ann, ben):
        if mine.cut == his.cut:
            assert abs(gap - 2 * (mine.mass - his.mass)) >= abs(gap)


def test_sixty_packs_between_three_are_within_one_pack() -> None:
    """Sixty, neither more nor fewer: an evening's heap of ten cuts whose weights fit nothing evenly."""
    items = [Item(key=str(n), cut=f"cut {n % 10}", mass=400 + n * n * 37 % 2900) for n in range(60)]
    heaps = split(items, {"Ann": 1, "Ben": 1, "Cass": 1})
    assert sum(len(own) for own in heaps.values()) == 60
    assert max(weights(heaps)) - min(weights(heaps)) <= max(item.mass for item in items)


def test_two_parts_to_one_are_two_to_one_of_each_cut_too() -> None:
    items = [Item(key=f"r{n}", cut="top-round", mass=3100) for n in range(12)]
    items += [Item(key=f"g{n}", cut="ground", mass=1500) for n in range(21)]
    items += [Item(key=f"b{n}", cut="backstrap", mass=2000 + n) for n in range(6)]
    heaps = split(items, {"Ann": 2, "Ben": 1})
    assert [[sum(item.cut == cut for item in own) for cut in ("top-round", "ground", "backstrap")]
            for own in heaps.values()] == [[8, 14, 4], [4, 7, 2]]  # fmt: skip


def test_wishes_come_first_and_are_made_up_for_by_weight() -> None:
    items = [Item(key=f"s{n}", cut="shank", mass=1400) for n in range(4)]
    items += [Item(key=f"g{n}", cut="ground", mass=1000) for n in range(40)]
    heaps = split(items, {"Ann": 1, "Ben": 1}, [Wish(cut="shank", person="Ben", number=None, more=False)])
    assert [item.key for item in heaps["Ben"] if item.cut == "shank"] == ["s0", "s1", "s2", "s3"]
    assert abs(weights(heaps)[0] - weights(heaps)[1]) <= 1400


def test_one_more_of_a_cut_is_beyond_the_fair_number() -> None:
    items = [Item(key=f"b{n}", cut="backstrap", mass=900) for n in range(5)]
    items += [Item(key=f"g{n}", cut="ground", mass=1000) for n in range(20)]
    heaps = split(items, {"Ann": 1, "Ben": 1}, [Wish(cut="backstrap", person="Ann", number=1, more=True)])
    assert [sum(item.cut == "backstrap" for item in own) for own in heaps.values()] == [3, 2]


# --- In a book (scenario 14) -------------------------------------------------------------------------


@pytest.fixture
def elk(kitchen: Kitchen) -> Kitchen:
    """An elk, 26E, of 143 lb: backstrap, shanks, roasts, a lot of ground and two packs not weighed."""
    animals.add_animal(kitchen, animals.NewAnimal(code="26E", species="elk cow"))
    for cut, listed in (
        ("backstrap", "1.5 1.4 1.6 1.3 1.2"),
        ("shank", "3.1 2.9 3.3 2.7"),
        ("sirloin tip roast", "3.5 3.4 3.3 3.2 3.1 3 2.9 2.8 2.5"),
    ):
        run = pack.prepare(kitchen, Words(cut=cut, animals=("26E",)), listed.split())
        pack.write(kitchen.afresh(), run, yes=True)
    run = pack.prepare(kitchen, Words(cut="ground", animals=("26E",)), ["1.5"], quantity=64)
    pack.write(kitchen.afresh(), run)
    return kitchen.afresh()


def proposal(kitchen: Kitchen) -> share.Proposal:
    return share.propose(
        kitchen, "Ann, Ben", animal="26e", wishes=["all shank to Ben", "1 more backstrap to Ann"], parts="1:1"
    )


def test_elk_between_two_with_wishes(elk: Kitchen) -> None:
    found = proposal(elk)
    ann, ben = found.heaps
    assert found.difference_mg <= found.largest_mg
    assert abs(ann.net_mg - ben.net_mg) == found.difference_mg
    counts = {heap.person: {name: number for name, number, _ in heap.by_cut} for heap in found.heaps}
    assert counts["Ben"]["Shank"] == 4
    assert "Shank" not in counts["Ann"]
    assert (counts["Ann"]["Backstrap"], counts["Ben"]["Backstrap"]) == (3, 2)
    assert counts["Ann"]["Ground"] + counts["Ben"]["Ground"] == 64
    assert Rows(elk).all(State.GONE) == (), "a proposal changes nothing"


def test_his_packages_leave_our_stock_and_stay_traceable(elk: Kitchen, tmp_path: Path) -> None:
    found = proposal(elk)
    print_share(elk, found, tmp_path / "lists.pdf")
    share.accept(elk, found)
    after = elk.afresh()
    ben = trace.with_person(after, "ben")
    assert sum(one.number for one in ben.exits) == found.heaps[1].packages
    assert {one.reason for one in ben.exits} == {Reason.MOVED_OUT}
    ours = Rows(after).all(State.FROZEN)
    assert sum(row.package.state.quantity for row in ours) == found.heaps[0].packages
    assert [holder.person for holder in trace.who_has(after, "26E")] == ["Ben"]
    assert sum(one.number for one in pull_sheet(after, "26E").given) == found.heaps[1].packages
    gone = Rows(after).all(State.GONE)
    assert {row.package.owner for row in gone} == {"Ben"}
    undo.undo(after, undo.target(after))
    assert trace.who_has(elk.afresh(), "26E") == ()
    assert sum(row.package.state.quantity for row in Rows(elk.afresh()).all(State.FROZEN)) == 82
    assert check(elk.afresh()).faults == ()


def test_handover_tells_a_partners_book_what_it_needs(elk: Kitchen) -> None:
    found = proposal(elk)
    rows = share.accept(elk, found)
    gone = Rows(elk.afresh()).of_codes([row.code for row in rows])
    told = handover(elk.afresh(), "Ben", [(row, 1) for row in gone], elk.today)
    assert json.loads(json.dumps(told)) == told
    packages = told["packages"]
    assert isinstance(packages, list)
    assert {one["code"] for one in packages} == {row.code for row in rows}
    animals = told["animals"]
    assert isinstance(animals, list)
    assert len(animals) == 1
    expected: dict[str, object] = {
        "code": "26E",
        "species": "elk",
        "sex_age": "cow",
        "killed_on": None,
        "tests": [],
        "holds": [],
    }
    assert expected.items() <= animals[0].items()


def test_held_packages_are_left_out_and_named(elk: Kitchen) -> None:
    shank = next(row for row in Rows(elk).all() if row.package.cut == "shank")
    holding.hold(elk, shank.code, "freezer burn, look first")
    found = share.propose(elk.afresh(), "Ann,Ben", animal="26E")
    assert [row.code for row in found.held] == [shank.code]
    assert shank.code not in [row.code for heap in found.heaps for row, _ in heap.rows]
    assert share.propose(elk.afresh(), "Ann,Ben", animal="26E", held_too=True).held == ()


REFUSED: list[tuple[str, dict[str, object], type[FreezerboxError], str]] = [
    ("Ann", {}, InputError, "between 2 and 8"),
    ("Ann, ann", {}, InputError, "one of them twice"),
    ("Ann, Ben", {"parts": "1:2:3"}, InputError, "not the parts of 2 people"),
    ("Ann, Ben", {"parts": "1:0"}, InputError, "not the parts"),
    ("Ann:2, Ben: 1", {}, InputError, '--between "Ann, Ben" --parts 2:1'),
    ("Ann, Ben", {"wishes": ["shanks please"]}, InputError, "is not a wish"),
    ("Ann, Ben", {"wishes": ["all shank to Carl"]}, InputError, "has no part in it"),
    ("Ann, Ben", {"wishes": ["9 backstrap to Ben"]}, InputError, "asks for more than there is: 5 packages"),
    ("Ann, Ben", {"wishes": ["all fillet to Ben"]}, AmbiguousWord, "fillet"),
    ("Ann, Ben", {"wishes": ["all xyzzyx to Ben"]}, UnknownWord, "xyzzyx"),
    ("Ann, Ben", {"animal": "26X"}, UnknownRecord, "26X"),
    ("Ann, Ben", {"animal": ""}, InputError, "Say which packages"),
]


@pytest.mark.parametrize(("between", "more", "error", "words"), REFUSED)
def test_share_refuses(
    elk: Kitchen, between: str, more: dict[str, object], error: type[FreezerboxError], words: str
) -> None:
    with pytest.raises(error, match=words):
        share.propose(elk, between, **({"animal": "26E"} | more))  # type: ignore[arg-type]


def test_nothing_left_to_share(elk: Kitchen) -> None:
    animals.add_animal(elk, animals.NewAnimal(code="26F", species="elk"))
    with pytest.raises(Refused, match="26F has nothing in the freezer"):
        share.propose(elk.afresh(), "Ann, Ben", animal="26F")


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        (
            ["all loin chops to Ben", "1 loin chops to Ann"],
            "'all loin chops to Ben' and '1 loin chops to Ann' cannot",
        ),
        (["all loin chops to Ben", "all loin chops to Ann"], "cannot both come true"),
        (["1 loin chops to Ben", "2 loin chops to Ben"], "cannot both come true"),
        (["8 loin chops to Ben", "7 loin chops to Ann"], "ask together for 15, more than there is: 14 packages"),
        (["1 more loin chops to Ben", "1 more loin chops to Ann"], "give everybody more of it"),
    ],
)
def test_wishes_that_contradict_each_other_are_refused_naming_both(
    stocked: Stocked, wishes: list[str], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        share.propose(stocked.kitchen, "Ann, Ben", animal="26H", wishes=wishes)


def test_wishes_that_go_together_are_kept(stocked: Stocked) -> None:
    wishes = ["8 loin chops to Ben", "Six loin chops to Ann"]
    proposal = share.propose(stocked.kitchen, "Ann, Ben", animal="26H", wishes=wishes)
    assert [heap.packages for heap in proposal.heaps] == [6, 8]
    three = share.propose(
        stocked.kitchen, "Ann, Ben, Cy", animal="26H", wishes=["1 more loin chops to Ann", "1 more loin chops to Ben"]
    )
    assert [heap.packages for heap in three.heaps] == [5, 5, 4]
