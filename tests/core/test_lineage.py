"""Origins: holds and shares through mixings of mixings, against walking every path by force."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from freezerbox.core.lineage import Lineage, Origin, animal_holds
from freezerbox.core.records import HOLDING_RESULTS, Animal, AnimalTest, Hold, Source, TestResult
from freezerbox.errors import InputError

SENT = date(2026, 11, 21)


def animal(code: str, *results: TestResult) -> Animal:
    return Animal(
        id=1,
        code=code,
        species="whitetail",
        sex_age="",
        what="",
        killed_on=None,
        processed_on=None,
        tag="",
        note="",
        tests=tuple(
            AnimalTest(
                id=number,
                what_for="",
                sample="",
                sent_on=SENT,
                result=result,
                result_on=None if result is TestResult.PENDING else date(2026, 12, 1),
            )
            for number, result in enumerate(results)
        ),
    )


def from_(child: str, kind: str, name: str, mass_mg: int | None = None) -> Source:
    return Source(child=child, kind=kind, name=name, mass_mg=mass_mg)


@pytest.mark.parametrize("result", TestResult)
def test_a_result_holds_or_does_not(result: TestResult) -> None:
    held = result in (TestResult.PENDING, TestResult.DETECTED, TestResult.INCONCLUSIVE)
    assert (result in HOLDING_RESULTS) == held
    holds = animal_holds(animal("26B", result))
    assert len(holds) == held
    if held:
        assert holds[0].of == "26B"
        assert result.value in holds[0].why
        assert holds[0].since == (SENT if result is TestResult.PENDING else date(2026, 12, 1))


def test_a_hold_reaches_a_batch_of_a_batch() -> None:
    lineage = Lineage.of(
        [
            from_("TRIM01", "animal", "26B"),
            from_("GROUND", "package", "TRIM01"),
            from_("GROUND", "bought", "pork fat"),
            from_("STICKS", "package", "GROUND"),
            from_("ROAST1", "animal", "26A"),
        ],
        [animal("26B", TestResult.PENDING), animal("26A", TestResult.NOT_DETECTED)],
    )
    for code in ("TRIM01", "GROUND", "STICKS"):
        assert [(hold.kind, hold.of, hold.why) for hold in lineage.holds(code)] == [("test", "26B", "test pending")]
    assert lineage.holds("ROAST1") == lineage.holds("NOSUCH") == ()
    assert lineage.animal_codes("STICKS") == ("26B",)
    assert lineage.descendants("animal", "26B") == ("TRIM01", "GROUND", "STICKS")
    assert lineage.children("package", "TRIM01") == ("GROUND",)


def test_a_hold_on_a_package_reaches_what_was_made_of_it_and_not_its_siblings() -> None:
    own = Hold(kind="own", of="TRIM01", since=SENT, why="smells odd")
    lineage = Lineage.of(
        [
            from_("TRIM01", "animal", "26A"),
            from_("TRIM02", "animal", "26A"),
            from_("GROUND", "package", "TRIM01"),
            from_("GROUND", "package", "TRIM02"),
        ],
        [animal("26A")],
        {"TRIM01": (own,)},
    )
    assert lineage.holds("TRIM01") == lineage.holds("GROUND") == (own,)
    assert lineage.holds("TRIM02") == ()


def test_an_animal_not_in_the_book_holds_nothing() -> None:
    assert Lineage.of([from_("K7P3MT", "animal", "26Z")], []).holds("K7P3MT") == ()


PACKAGES = tuple(f"P{number}" for number in range(8))
ANIMALS = tuple(f"26{letter}" for letter in "ABCD")


@st.composite
def graphs(draw: st.DrawFn) -> tuple[list[Source], list[Animal], dict[str, tuple[Hold, ...]]]:
    """Ancestry without circles: a package is made of earlier packages, animals and bought things."""
    rows = []
    for number, child in enumerate(PACKAGES):
        names = draw(
            st.lists(st.sampled_from((*PACKAGES[:number], *ANIMALS, "fat", "salt")), max_size=3, unique=True)
        )
        for name in names:
            kind = "package" if name in PACKAGES else "animal" if name in ANIMALS else "bought"
            rows.append(from_(child, kind, name, draw(st.none() | st.integers(1, 5_000_000))))
    animals = [animal(code, *draw(st.lists(st.sampled_from(TestResult), max_size=2))) for code in ANIMALS]
    held = draw(st.sets(st.sampled_from(PACKAGES), max_size=2))
    own: dict[str, tuple[Hold, ...]] = {
        code: (Hold(kind="own", of=code, since=SENT, why="own"),) for code in sorted(held)
    }
    return rows, animals, own


def reached(rows: list[Source], start: str) -> set[str]:
    """Every name above ``start``, by force: step up from all that is reached until nothing is added."""
    above = {start}
    while True:
        wider = above | {row.name for row in rows if row.child in above}
        if wider == above:
            return above
        above = wider


@given(graphs(), st.randoms(use_true_random=False))
def test_holds_are_those_of_everything_that_can_be_reached(
    graph: tuple[list[Source], list[Animal], dict[str, tuple[Hold, ...]]], source: Random
) -> None:
    rows, animals, own = graph
    source.shuffle(rows)
    lineage = Lineage.of(rows, animals, own)
    for code in PACKAGES:
        above = reached(rows, code)
        expected = [hold for name in above for hold in own.get(name, ())]
        expected += [
            Hold(
                kind="test",
                of=each.code,
                since=test.result_on or test.sent_on,
                why="test pending" if test.result is TestResult.PENDING else f"test result: {test.result.value}",
            )
            for each in animals
            if each.code in above
            for test in each.tests
            if test.result.value in ("pending", "detected", "inconclusive")
        ]
        found = lineage.holds(code)
        assert sorted(map(repr, found)) == sorted(map(repr, expected))
        assert [hold.since for hold in found] == sorted(hold.since for hold in found)
        assert set(lineage.animal_codes(code)) == above & set(ANIMALS)
        assert len(lineage.ancestors(code)) == sum(row.child in above for row in rows)


@given(graphs())
def test_down_is_up_turned_round(graph: tuple[list[Source], list[Animal], dict[str, tuple[Hold, ...]]]) -> None:
    rows, animals, own = graph
    lineage = Lineage.of(rows, animals, own)
    for name in (*PACKAGES, *ANIMALS):
        kind = "package" if name in PACKAGES else "animal"
        down = lineage.descendants(kind, name)
        assert len(set(down)) == len(down)
        assert set(down) == {code for code in PACKAGES if code != name and name in reached(rows, code)}


def shares_by_force(rows: list[Source], code: str) -> dict[Origin, Fraction] | None:
    """Every path up, each with the product of its parts."""
    own = [row for row in rows if row.child == code]
    if not own:
        return {("package", code): Fraction(1)}
    if len(own) > 1 and any(row.mass_mg is None for row in own):
        return None
    total = sum(row.mass_mg or 0 for row in own)
    found: dict[Origin, Fraction] = {}
    for row in own:
        part = Fraction(row.mass_mg or 0, total) if len(own) > 1 else Fraction(1)
        above = shares_by_force(rows, row.name) if row.kind == "package" else {(row.kind, row.name): Fraction(1)}
        if above is None:
            return None
        for origin, share in above.items():
            found[origin] = found.get(origin, Fraction(0)) + part * share
    return found


@given(graphs())
def test_shares_are_the_sum_over_every_path_and_make_one(
    graph: tuple[list[Source], list[Animal], dict[str, tuple[Hold, ...]]],
) -> None:
    rows, animals, own = graph
    lineage = Lineage.of(rows, animals, own)
    for code in PACKAGES:
        shares = lineage.shares(code)
        assert shares == shares_by_force(rows, code)
        if shares is not None:
            assert sum(shares.values()) == 1


def test_a_circle_in_a_damaged_book_does_not_hang() -> None:
    rows = [from_("P1", "package", "P2"), from_("P2", "package", "P1"), from_("P2", "animal", "26B", 1)]
    lineage = Lineage.of(rows, [animal("26B", TestResult.PENDING)])
    assert [hold.of for hold in lineage.holds("P1")] == ["26B"]
    assert set(lineage.descendants("animal", "26B")) == {"P1", "P2"}
    assert lineage.shares("P1") is not None


def test_a_circle_is_refused_before_it_is_made() -> None:
    lineage = Lineage.of([from_("P2", "package", "P1"), from_("P3", "package", "P2")], [])
    lineage.refuse_circle("P4", ["P3", "P1"])
    with pytest.raises(InputError, match="cannot be made of itself"):
        lineage.refuse_circle("P1", ["P1"])
    with pytest.raises(InputError, match="P3 was itself made of P1"):
        lineage.refuse_circle("P1", ["P3"])
