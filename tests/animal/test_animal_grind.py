"""Batches: what to add, what it makes, what is written, what is refused; the numbers of scenarios 3 and 16."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import pytest

from freezerbox.book import journal, origins, queries
from freezerbox.chores import animals, grind, holding, pack, result, undo
from freezerbox.chores.check import check
from freezerbox.chores.grind import Asked
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label_words import content_of
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import put_back, take
from freezerbox.core.code import show_code
from freezerbox.core.lineage import Lineage
from freezerbox.core.mass import in_pounds
from freezerbox.core.records import Reason, Source, State
from freezerbox.errors import (
    AlreadyGone,
    FreezerboxError,
    Held,
    InputError,
    InvalidDate,
    InvalidMass,
    OutOfLine,
    Refused,
    UnknownRecord,
)
from freezerbox.food import keeping
from tests.conftest import Stocked, StoppedClock


@pytest.fixture
def deer(kitchen: Kitchen, clock: StoppedClock) -> Kitchen:
    """Two whitetails of November 2024, on the evening of 30 November 2024; 24B waits for its test."""
    clock.move_to("2024-11-30T19:00")
    kitchen = kitchen.afresh()
    animals.add_animal(kitchen, animals.NewAnimal(code="24A", species="whitetail buck", killed="2024-11-12"))
    animals.add_animal(
        kitchen,
        animals.NewAnimal(code="24B", species="whitetail doe", killed="2024-11-14", test="pending", sample="77"),
    )
    return kitchen.afresh()


def asked(**more: object) -> Asked:
    """38 lb lean, 22 of 24A and 16 of 24B, to 20 % with pork back fat, in 1.25 lb tubes."""
    scenario = Asked(
        animals=("24A=22", "24B=16"), shop=("pork back fat",), fat="20", each="1.25", words=Words(cut="ground")
    )
    return replace(scenario, **more)  # type: ignore[arg-type]


def pounds(mg: int | None) -> str:
    assert mg is not None
    return f"{in_pounds(mg):.1f}"


def test_38_lb_lean_to_20_percent_takes_9_and_a_half_of_pure_fat(deer: Kitchen) -> None:
    planned = grind.plan(deer, asked())
    assert planned.added is not None
    assert pounds(planned.added.mass_mg) == "9.5"
    assert float(planned.of_mix or 0) == pytest.approx(0.2)
    assert float(planned.of_lean or 0) == pytest.approx(0.25)
    assert (pounds(planned.total_mg), planned.up_to) == ("47.5", 38)
    assert planned.lean == (("24A", 58), ("24B", 42))
    assert [one.name for one in planned.held] == ["24B"]
    assert queries.packages(deer.book) == ()


def test_38_lb_lean_to_20_percent_takes_25_3_of_half_fat_trim(deer: Kitchen) -> None:
    planned = grind.plan(deer, asked(shop=("50/50 trim",)))
    assert planned.added is not None
    assert (pounds(planned.added.mass_mg), pounds(planned.total_mg), planned.up_to) == ("25.3", "63.3", 50)


def test_pork_shoulder_of_a_known_fat_and_bacon_by_ratio(deer: Kitchen) -> None:
    shoulder = grind.plan(deer, asked(animals=("24A=10",), shop=("pork shoulder",), fat="10")).added
    assert shoulder is not None
    assert pounds(shoulder.mass_mg) == "5.0"
    bacon = grind.plan(deer, asked(animals=("24A=10",), shop=("bacon ends",), fat="", ratio="80/20"))
    assert bacon.added is not None
    assert (pounds(bacon.added.mass_mg), bacon.reached, bacon.header.fat_percent) == ("2.5", None, None)


def test_percent_reached_follows_what_was_really_added(deer: Kitchen) -> None:
    planned = grind.plan(deer, asked(shop=("pork back fat=8",)))
    assert planned.added is None
    assert float(planned.reached or 0) == pytest.approx(100 * 8 / 46, abs=0.01)
    assert planned.header.fat_percent == 17


def test_batch_is_held_with_the_held_animal_and_says_what_is_in_it(deer: Kitchen) -> None:
    with pytest.raises(Held, match=r"(?s)24B is on hold: test pending.*--with-held") as refused:
        grind.make(deer, asked(weights=("38x1.25",)))
    assert refused.value.message.count("24B") == 1
    assert queries.packages(deer.book) == ()
    made = grind.make(deer, asked(weights=("38x1.25",)), with_held=True)
    assert (made.batch, len(made.rows), made.totals.net_mg) == ("G24-1", 38, 38 * 566990)
    row = made.rows[0]
    assert all(each.holds for each in made.rows)
    assert row.mix == (("whitetail", 80), ("pork", 20))
    assert (row.package.fat_percent, row.package.times_frozen, row.package.added) == (20, 1, "pork back fat")
    label = content_of(deer, row)
    assert label.animal == "Whitetail 24A + 24B 80%, Pork 20%"
    assert "CONTAINS PORK" in label.banners
    assert (label.fat, label.hold, label.run) == ("20% FAT", "DO NOT EAT: TEST PENDING", "G24-1 1 of 38")
    result.record(deer.afresh(), result.understand(deer.afresh(), "24B", "not-detected"))
    assert not any(each.holds for each in Rows(deer.afresh()).all())


def test_batch_stays_held_while_any_input_is(deer: Kitchen) -> None:
    holding.hold(deer, "24A", "looked thin")
    made = grind.make(deer.afresh(), asked(weights=("47.5",)), with_held=True, yes=True)
    result.record(deer.afresh(), result.understand(deer.afresh(), "24B", "not-detected"))
    row = Rows(deer.afresh()).of_codes([made.rows[0].code])[0]
    assert [hold.why for hold in row.holds] == ["looked thin"]


def test_inputs_and_outputs_balance_to_the_milligram(deer: Kitchen) -> None:
    made = grind.make(deer, asked(weights=("1.2", "1.31", "x", ".9")), with_held=True, yes=True)
    lineage = Rows(deer.afresh()).lineage
    for one in made.plan.inputs:
        parts = [
            source.mass_mg or 0
            for row in made.rows
            for source in lineage.sources[row.code]
            if (source.kind, source.name) == (one.kind, one.name)
        ]
        assert len(parts) == 4
        assert sum(parts) == one.mass_mg
    for row in made.rows:
        shares = lineage.shares(row.code)
        assert shares is not None
        assert sum(shares.values()) == 1
        assert float(shares["animal", "24A"]) == pytest.approx(22 / 47.5, abs=1e-5)


# --- Frozen trim, made into sausage (scenario 16) ---------------------------------------------------


@pytest.fixture
def sacks(kitchen: Kitchen, clock: StoppedClock) -> tuple[Kitchen, Sequence[Row]]:
    """Trim sacks 24A 4.8 lb of November 2024 and 23C 5.1 lb of October 2024, on 14 January 2025."""
    found = []
    for day, code, killed, weight in (
        ("2024-11-15", "24A", "2024-11-12", "4.8"),
        ("2024-10-20", "23C", "2024-10-15", "5.1"),
    ):
        clock.move_to(f"{day}T20:00")
        kitchen = kitchen.afresh()
        animals.add_animal(kitchen, animals.NewAnimal(code=code, species="whitetail", killed=killed))
        run = pack.prepare(kitchen, Words(cut="trim", animals=(code,)), [weight])
        found.append(pack.write(kitchen, run).rows[0])
    clock.move_to("2025-01-14T18:00")
    return kitchen.afresh(), found


def sausage(sacks: Sequence[Row], weights: Sequence[str]) -> Asked:
    return Asked(
        packages=tuple(row.code for row in sacks),
        shop=("pork shoulder=4/30%/9.80",),
        weights=weights,
        recipe="Italian",
        words=Words(cut="fresh sausage", seasoning="Italian"),
    )


def test_january_sausage_from_frozen_trim(sacks: tuple[Kitchen, Sequence[Row]]) -> None:
    kitchen, trim = sacks
    made = grind.make(kitchen, sausage(trim, ("13x1",)))
    row = made.rows[0]
    assert (pounds(made.plan.total_mg), pounds(made.plan.loss_mg)) == ("13.9", "0.9")
    assert row.package.times_frozen == 2
    assert row.package.first_frozen_on == date(2024, 10, 20)
    assert [animal.code for animal in row.animals] == ["24A", "23C"]
    assert content_of(kitchen, row).banners[0] == "FROZEN TWICE"
    for sack in Rows(kitchen.afresh()).of_codes([one.code for one in trim]):
        assert (sack.package.state.state, sack.package.state.reason) == (State.GONE, Reason.MADE_INTO)
    assert [(cost.what, cost.cents) for cost in origins.costs(kitchen.book, "batch", made.batch)] == [
        ("pork shoulder", 980)
    ]


def test_best_by_is_what_the_oldest_input_left_over(sacks: tuple[Kitchen, Sequence[Row]]) -> None:
    kitchen, trim = sacks
    row = grind.make(kitchen, sausage(trim, ("13x1",))).rows[0]
    # The oldest sack, of 20 Oct, had used 86 of the 92 days of trim; 6/92 of sausage's 2 months are 3 days.
    assert (date(2025, 1, 14) - date(2024, 10, 20)).days == 86
    assert row.best_by == keeping.best_by_made(date(2025, 1, 14), 2, date(2024, 10, 20), 3) == date(2025, 1, 17)
    assert row.from_frozen


def test_sausage_of_sausage_counts_what_was_used_before(sacks: tuple[Kitchen, Sequence[Row]]) -> None:
    kitchen, trim = sacks
    first = grind.make(kitchen, sausage(trim[:1], ("8.7",)), yes=True).rows[0]
    # 24A's sack, of 15 Nov, had used 60 of 92 days; 32/92 of 2 months are left.
    assert first.best_by == keeping.best_by_made(date(2025, 1, 14), 2, date(2024, 11, 15), 3)
    again = Asked(packages=(first.code,), weights=("8.6",), words=Words(cut="fresh sausage"))
    second = grind.make(kitchen.afresh(), again, yes=True).rows[0]
    assert second.best_by == first.best_by
    assert second.package.times_frozen == first.package.times_frozen


def test_trim_wrapped_the_same_evening_is_not_frozen_twice(deer: Kitchen) -> None:
    sack = pack.write(deer, pack.prepare(deer, Words(cut="trim", animals=("24A",)), ["5"])).rows[0]
    made = grind.make(deer.afresh(), Asked(packages=(sack.code,), weights=("5x1",), words=Words(cut="ground")))
    assert made.rows[0].package.times_frozen == 1
    assert not made.rows[0].from_frozen
    assert made.rows[0].package.fat_percent == 0


def test_batch_of_minced_packs_carries_the_oldest_date(deer: Kitchen) -> None:
    packs = []
    for day in ("2024-11-20", "2024-11-26"):
        run = pack.prepare(deer, Words(cut="stew", animals=("24A",), packed=day), ["2"])
        packs.append(pack.write(deer, run).rows[0].code)
    made = grind.make(deer.afresh(), Asked(packages=packs, weights=("4",), words=Words(cut="ground")))
    assert made.rows[0].package.first_frozen_on == date(2024, 11, 20)


def test_some_of_a_lot_goes_in_and_the_rest_stays(deer: Kitchen) -> None:
    run = pack.prepare(deer, Words(cut="trim", animals=("24A",)), ["2"], quantity=6)
    lot = pack.write(deer, run).rows[0]
    made = grind.make(deer.afresh(), Asked(packages=(f"{lot.code}*4",), weights=("8x1",), words=Words(cut="ground")))
    assert pounds(made.plan.total_mg) == "8.0"
    left = Rows(deer.afresh()).of_codes([lot.code])[0].package.state
    assert (left.state, left.quantity, left.reason) == (State.FROZEN, 2, None)
    assert check(deer.afresh()).faults == ()


def test_a_few_pounds_of_a_lot_do_not_use_it_up_without_a_word(deer: Kitchen) -> None:
    run = pack.prepare(deer, Words(cut="trim", animals=("24A",)), ["1"], quantity=19)
    code = pack.write(deer, run).rows[0].code
    kitchen = deer.afresh()
    four = Asked(packages=(f"{code}=4",), weights=("4",), words=Words(cut="ground"))
    with pytest.raises(OutOfLine, match=rf"packed at 19.00 lb in 19; 4.00 lb goes in.*--use {show_code(code)}\*4"):
        grind.make(kitchen, four)
    assert Rows(kitchen.afresh()).of_codes([code])[0].package.state.quantity == 19
    assert grind.make(kitchen.afresh(), replace(four, packages=(f"{code}*4=4.1",))).plan.loss_mg is not None
    assert Rows(deer.afresh()).of_codes([code])[0].package.state.quantity == 15


def test_a_tenth_of_a_sack_is_asked_about(sacks: tuple[Kitchen, Sequence[Row]]) -> None:
    kitchen, trim = sacks
    code = trim[0].code
    tenth = Asked(packages=(f"{code}=0.48",), weights=("0.48",), words=Words(cut="ground"))
    with pytest.raises(OutOfLine, match=r"packed at 4.80 lb; 0.48 lb goes in.*freezerbox pack"):
        grind.make(kitchen, tenth)
    assert pounds(grind.make(kitchen, tenth, yes=True).plan.total_mg) == "0.5"


def row_without_day(row: Row) -> Row:
    """An undo is the latest step of the package, on the day of what it takes back; all else is as before."""
    return replace(row, package=replace(row.package, state=replace(row.package.state, since=date.min)))


def test_a_sack_that_was_ground_names_the_making_when_it_comes_back(sacks: tuple[Kitchen, Sequence[Row]]) -> None:
    kitchen, rows = sacks
    code = rows[0].code
    grind.make(kitchen, Asked(packages=[code], weights=["4"], words=Words(cut="ground")), yes=True)
    number = journal.acts(kitchen.book, limit=1)[0].id
    with pytest.raises(AlreadyGone, match=f"If that was wrong: freezerbox undo {number}$"):
        take(kitchen.afresh(), code)
    assert f"still on the list too; if it was not made after all: freezerbox undo {number}" in (
        put_back(kitchen.afresh(), code).message
    )
    # Taken to be made into something that the book knows nothing of: nothing is counted twice.
    take(kitchen.afresh(), code, Reason.MADE_INTO)
    other = rows[1].code
    take(kitchen.afresh(), other, Reason.MADE_INTO)
    assert "on the list too" not in put_back(kitchen.afresh(), other).message


def test_undo_of_a_grind_restores_all(sacks: tuple[Kitchen, Sequence[Row]]) -> None:
    kitchen, trim = sacks
    before = [row_without_day(row) for row in Rows(kitchen).of_codes([row.code for row in trim])]
    made = grind.make(kitchen, sausage(trim, ("13x1",)))
    undo.undo(kitchen.afresh(), undo.target(kitchen.afresh()))
    after = kitchen.afresh()
    assert [row_without_day(row) for row in Rows(after).of_codes([row.code for row in trim])] == before
    assert Rows(after).lineage.descendants("animal", "24A") == (trim[0].code,)
    assert origins.batches(kitchen.book) == ()
    assert origins.costs(kitchen.book, "batch", made.batch) == ()
    assert all(row.package.state.reason is Reason.VOID for row in Rows(after).of_codes([r.code for r in made.rows]))
    assert check(after).faults == ()
    again = grind.make(after, sausage(trim, ("13x1",)))
    assert again.batch == "G25-2", "a code that stood on labels is not given again"


# --- Refusals ---------------------------------------------------------------------------------------

REFUSED: list[tuple[dict[str, object], type[FreezerboxError], str]] = [
    ({"animals": ("24X=22",)}, UnknownRecord, "no animal '24X'"),
    ({"animals": ("24A",)}, InputError, "Say how much of 24A"),
    ({"animals": ("24A=-2",)}, InvalidMass, "below zero"),
    ({"animals": ("24A=2", "24a=3")}, InputError, "named twice"),
    ({"animals": ()}, InputError, "goes into"),
    ({"animals": (), "shop": ()}, InputError, "Say what goes in"),
    ({"fat": "-5"}, InputError, "not a percentage"),
    ({"fat": "100"}, InputError, "from 0 to 99"),
    ({"shop": ("50/50 trim",), "fat": "50"}, InputError, "itself 50% fat, so it cannot bring the mix to 50%"),
    ({"shop": ("pork shoulder",), "fat": "35"}, InputError, "itself 30% fat"),
    ({"animals": ("24A=10/30%",), "fat": "20"}, InputError, "30% fat already, above 20%"),
    ({"fat": ""}, InputError, "Say how much pork back fat"),
    ({"shop": ("bacon",)}, InputError, "by ratio.*--ratio 80/20"),
    ({"shop": ("bacon",), "fat": "", "ratio": "80"}, InputError, "not a ratio"),
    ({"shop": ("bacon",), "fat": "", "ratio": "0/20"}, InputError, "no ratio"),
    ({"shop": ("cheese", "suet")}, InputError, "Only one amount can be worked out"),
    ({"shop": ("cheese",)}, InputError, "How fat is cheese"),
    ({"shop": ("pork back fat", "salt=.5")}, InputError, r'How fat is salt.*"salt=WEIGHT/20%", or /0% for what has'),
    ({"shop": ("pork back fat=9/130%",)}, InputError, "not a percentage"),
    ({"shop": ("pork back fat=9/free",)}, InputError, "not a sum of money"),
    ({"weights": ("9999x1",)}, InputError, "not a weight|from 1 to 500"),
    ({"weights": ("1", "heavy")}, InvalidMass, "not a weight"),
    ({"words": Words(cut="ground", packed="2024-11-01")}, InvalidDate, "before 24A was killed"),
    ({"weights": ("40x1.25",)}, OutOfLine, "50.00 lb came out, but only 47.50 lb went in"),
    ({}, InputError, "Give the weights of what came out"),
]


@pytest.mark.parametrize(("more", "error", "words"), REFUSED, ids=[str(case[0]) for case in REFUSED])
def test_grind_refuses_and_the_book_is_unchanged(
    deer: Kitchen, more: dict[str, object], error: type[FreezerboxError], words: str
) -> None:
    before = deer.book.connection.total_changes
    with pytest.raises(error, match=words):
        grind.make(deer, asked(**more), with_held=True)
    assert deer.book.connection.total_changes == before


def test_input_already_gone_or_spare_or_unweighed_is_refused(deer: Kitchen) -> None:
    run = pack.prepare(deer, Words(cut="trim", animals=("24A",)), ["2", "x", "3"])
    gone, unweighed, whole = (row.code for row in pack.write(deer, run).rows)
    take(deer.afresh(), gone, Reason.DISCARDED)
    with deer.book.act("label-ahead", deer.today) as act:
        spare = pack.put_in(deer, act, run, State.SPARE)[0]
    cases: list[tuple[tuple[str, ...], type[FreezerboxError], str]] = [
        ((gone,), AlreadyGone, "discarded on 30 Nov already"),
        ((spare,), Refused, "printed ahead"),
        ((unweighed,), InputError, "was not weighed. Say what it weighs"),
        ((f"{whole}=9",), OutOfLine, "packed at 3.00 lb; 9.00 lb cannot come out"),
        ((f"{whole}*2",), Refused, "has 1 left, not 2"),
        ((whole, whole.lower()), InputError, "named twice"),
    ]
    for packages, error, words in cases:
        before = deer.book.connection.total_changes
        with pytest.raises(error, match=words):
            grind.make(deer.afresh(), Asked(packages=packages, weights=("1",), words=Words(cut="ground")))
        assert deer.book.connection.total_changes == before
    done = grind.make(
        deer.afresh(),
        Asked(packages=(f"{unweighed}=2.1", whole), weights=("5",), words=Words(cut="ground")),
        yes=True,
    )
    with pytest.raises(AlreadyGone, match="made into something else"):
        grind.plan(deer.afresh(), Asked(packages=(whole,), words=Words(cut="ground")))
    assert pounds(done.plan.total_mg) == "5.1"


def test_nothing_is_made_of_itself_or_in_a_circle() -> None:
    rows = [Source(child="B", kind="package", name="A", mass_mg=None)]
    rows += [Source(child="C", kind="package", name="B", mass_mg=None)]
    lineage = Lineage.of(rows, ())
    with pytest.raises(InputError, match="cannot be made of itself"):
        lineage.refuse_circle("A", ["A"])
    with pytest.raises(InputError, match="C was itself made of A"):
        lineage.refuse_circle("A", ["X", "C"])
    lineage.refuse_circle("D", ["A", "B", "C"])


def test_input_put_back_and_ground_again_is_no_circle(deer: Kitchen) -> None:
    sack = pack.write(deer, pack.prepare(deer, Words(cut="trim", animals=("24A",)), ["5"])).rows[0]
    again = Asked(packages=(sack.code,), weights=("5",), words=Words(cut="ground"))
    grind.make(deer.afresh(), again)
    put_back(deer.afresh(), sack.code)
    assert grind.make(deer.afresh(), again).batch == "G24-2"


def test_stocked_ground_mixed_with_held_meat_is_held(stocked: Stocked) -> None:
    """Check row 67: a grind of one animal cleared and one pending is pending."""
    mixed = Asked(
        packages=(stocked.ground[0].code, stocked.backstraps[0].code), weights=("1.85",), words=Words(cut="ground")
    )
    made = grind.make(stocked.kitchen, mixed, with_held=True)
    assert [hold.of for hold in made.rows[0].holds] == ["26B"]


# --- Labels printed ahead ---------------------------------------------------------------------------


def ahead_labels(kitchen: Kitchen, number: int, cut: str = "ground") -> list[str]:
    run = pack.prepare(kitchen, Words(cut=cut, animals=("24A",)), ["x"] * number)
    with kitchen.book.act("label-ahead", kitchen.today) as act:
        return pack.put_in(kitchen, act, run, State.SPARE)


def test_batch_goes_under_labels_printed_ahead(deer: Kitchen) -> None:
    labels = ahead_labels(deer, 3)
    before = Rows(deer).of_codes(labels)
    out = tuple(f"{code}={weight}" for code, weight in zip(labels, ("1.2", "1.3", "1.25"), strict=True))
    made = grind.make(deer.afresh(), asked(animals=("24A=2", "24B=1"), weights=out), with_held=True)
    assert [row.code for row in made.rows] == labels
    assert [pounds(row.net_mg) for row in made.rows] == ["1.2", "1.3", "1.2"]
    row = made.rows[0]
    assert row.package.state.state is State.FROZEN
    assert (row.package.batch, row.package.fat_percent, row.package.run_size) == ("G24-1", 20, 3)
    assert [animal.code for animal in row.animals] == ["24A", "24B"]
    assert row.mix == (("whitetail", 80), ("pork", 20))
    undo.undo(deer.afresh(), undo.target(deer.afresh()))
    assert Rows(deer.afresh()).of_codes(labels) == before
    assert check(deer.afresh()).faults == ()


def test_labels_printed_ahead_are_refused_when_they_do_not_fit(deer: Kitchen) -> None:
    label, other = ahead_labels(deer, 2)
    steak = ahead_labels(deer, 1, "top round steaks")[0]
    sack = pack.write(deer, pack.prepare(deer, Words(cut="trim", animals=("24A",)), ["2"])).rows[0].code
    plain = {"animals": (), "shop": (), "fat": ""}
    cases: list[tuple[dict[str, object], type[FreezerboxError], str]] = [
        ({"packages": (label,), "weights": (f"{label}=2",)}, InputError, "cannot be made of itself"),
        ({"packages": (sack,), "weights": (f"{sack}=2",)}, InputError, "cannot be made of itself"),
        ({"animals": ("24A=2",), "weights": (f"{sack}=2",)}, Refused, "no label printed ahead"),
        ({"animals": ("24A=2",), "weights": (f"{steak}=2",)}, Refused, "says Top round steaks"),
        ({"animals": ("24A=2",), "weights": (f"{label}=1", "1")}, InputError, "Some of the weights name a label"),
        ({"animals": ("24A=2",), "weights": (f"{label}=1", f"{label}=1")}, InputError, "named twice"),
        ({"packages": (other,), "weights": (f"{label}=1",)}, Refused, "printed ahead"),
    ]
    for more, error, words in cases:
        before = deer.book.connection.total_changes
        with pytest.raises(error, match=words):
            grind.make(deer.afresh(), asked(**(plain | more)), yes=True)
        assert deer.book.connection.total_changes == before


def test_far_less_out_than_in_is_asked_about(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    asked = Asked(animals=["26H=20"], weights=["8x2"], words=Words(cut="fresh sausage"))
    with pytest.raises(OutOfLine, match=r"20.00 lb went in, but only 16.00 lb came out: 4.00 lb is missing"):
        grind.make(kitchen, asked)
    assert origins.batches(kitchen.book) == ()
    # What a grinder keeps is no question, nor is what dries away.
    assert grind.make(kitchen.afresh(), replace(asked, weights=["9x2"])).plan.loss_mg
    dried = replace(asked, weights=["5x1"], words=Words(cut="jerky"))
    assert grind.make(kitchen.afresh(), dried, yes=False).rows
    assert grind.make(kitchen.afresh(), asked, yes=True).rows
