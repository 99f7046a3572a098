"""Holds: put on, let go, by a result or by the household; what they reach, and what they refuse."""

from __future__ import annotations

from datetime import date

import pytest

from freezerbox.book import queries
from freezerbox.chores import animals, holding, pack, result, undo
from freezerbox.chores.check import check
from freezerbox.chores.fix import Corrections, fix
from freezerbox.chores.guidance import FOLLOW
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label_words import content_of
from freezerbox.chores.pull import pull_sheet
from freezerbox.chores.rotation import rotation
from freezerbox.chores.rows import Rows
from freezerbox.chores.take import find_row, take
from freezerbox.core.code import show_code
from freezerbox.core.records import Reason, TestResult
from freezerbox.errors import (
    AmbiguousWord,
    FreezerboxError,
    Held,
    InputError,
    InvalidDate,
    OutOfLine,
    Refused,
    UnknownRecord,
    UnknownWord,
)
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import fitting
from freezerbox.labels.library import design_for, stock, stock_names
from tests.conftest import Stocked


def holds(kitchen: Kitchen, code: str) -> list[str]:
    return [hold.why for hold in Rows(kitchen.afresh()).of_codes([code])[0].holds]


def test_own_hold_keeps_a_package_out_of_meals_until_released(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.chops[0].code
    held = holding.hold(kitchen, code, "seal was open")
    assert [row.code for row in held.rows] == [code]
    assert code in [row.code for row in rotation(kitchen.afresh(), limit=None).held]
    assert code not in [row.code for row in rotation(kitchen.afresh(), limit=None).rows]
    with pytest.raises(Held, match="SEAL WAS OPEN"):
        take(kitchen.afresh(), code)
    holding.release(kitchen.afresh(), code, "looked again, tight")
    assert holds(kitchen, code) == []
    assert take(kitchen.afresh(), code).row.package.state.reason is Reason.EATEN


def test_undo_says_that_what_was_released_is_held_again(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.chops[0].code
    holding.hold(kitchen, code, "seal was open")
    holding.release(kitchen.afresh(), code, "looked again, tight")
    undone = undo.undo(kitchen.afresh(), undo.target(kitchen.afresh()))
    assert undone.held == (f"{show_code(code)}: ON HOLD: seal was open since 2 Dec.",)
    undone = undo.undo(kitchen.afresh(), undo.target(kitchen.afresh(), undone.number))
    assert undone.held == (f"{show_code(code)}: not on hold.",)


def test_hold_on_an_animal_reaches_all_its_meat(stocked: Stocked) -> None:
    holding.hold(stocked.kitchen, "26h", "buyer called about it")
    assert all(holds(stocked.kitchen, row.code) == ["buyer called about it"] for row in stocked.chops)
    assert holds(stocked.kitchen, stocked.roast.code) == []
    undone = undo.undo(stocked.kitchen.afresh(), undo.target(stocked.kitchen.afresh()))
    assert undone.act.kind == "hold"
    assert holds(stocked.kitchen, stocked.chops[0].code) == []


def test_not_detected_lifts_the_hold_and_offers_clean_labels(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    with kitchen.book.act("label", kitchen.today) as act:
        for row in stocked.backstraps[:2]:
            act.add("label", code=row.code, stock="x", text="", banner="TEST PENDING", printed_on="2026-11-21")
    coming = result.understand(kitchen, "26b", "not detected", on="1 dec", sample="4471")
    assert "26B, sample 4471: not detected on 1 Dec 2026. 4 packages" in coming.words()
    held = result.record(kitchen, coming)
    assert set(held.reprint) == {row.code for row in stocked.backstraps[:2]}
    assert held.together == "", "two of the four have no label that says otherwise"
    assert all(holds(kitchen, row.code) == [] for row in stocked.backstraps)
    assert "4 packages in the freezer are off hold" in held.message


def test_own_hold_outlives_a_good_result(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.backstraps[0].code
    holding.hold(kitchen, code, "near the wound")
    held = result.record(kitchen.afresh(), result.understand(kitchen.afresh(), "26B", "not-detected"))
    assert [row.code for row in held.still_held] == [code]
    assert "3 packages in the freezer are off hold. 1 package stays on hold" in held.message


@pytest.mark.parametrize("said", ["inconclusive", "detected"])
def test_other_answers_keep_the_hold_until_the_owner_releases(stocked: Stocked, said: str) -> None:
    kitchen, code = stocked.kitchen, stocked.backstraps[0].code
    result.record(kitchen, result.understand(kitchen, "26B", said))
    assert holds(kitchen, code) == [f"test result: {said}"]
    why = "second sample clear, letter of 12 Dec"
    if said == "detected":
        with pytest.raises(OutOfLine, match=r"says DETECTED.*freezerbox result 26B RESULT"):
            holding.release(kitchen.afresh(), "26B", why)
        assert holds(kitchen, code) == ["test result: detected"]
        content = content_of(kitchen.afresh(), find_row(kitchen.afresh(), code))
        assert (content.hold, content.best_by, content.cue) == ("", "", "")  # nothing to tick, nothing to cook
        assert content.banners[0] == "DO NOT EAT: TEST SAYS DETECTED"
    holding.release(kitchen.afresh(), "26B", why, yes=said == "detected")
    assert holds(kitchen, code) == []


def test_letting_go_of_ones_own_hold_leaves_a_test_that_waits(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.backstraps[0].code
    holding.hold(kitchen, "26B", "odd glands")
    held = holding.release(kitchen.afresh(), "26B", "a vet looked at them")
    assert held.message.endswith(
        "Not let go: test pending since 21 Nov. If that too: freezerbox release 26B --why REASON"
    )
    assert holds(kitchen, code) == ["test pending"]
    holding.release(kitchen.afresh(), "26B", "the laboratory closed")
    assert holds(kitchen, code) == []


def test_fix_does_not_lift_a_hold_in_silence(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.backstraps[0].code
    with pytest.raises(OutOfLine, match="on hold no longer"):
        fix(kitchen, code, Corrections(animal="26H"))
    assert holds(kitchen, code) == ["test pending"]
    fix(kitchen.afresh(), code, Corrections(animal="26H"), yes=True)
    assert holds(kitchen, code) == []


@pytest.mark.parametrize("said", ["sample-lost", "not-tested"])
def test_no_answer_leaves_the_decision_to_the_owner(stocked: Stocked, said: str) -> None:
    kitchen, code = stocked.kitchen, stocked.backstraps[0].code
    held = result.record(kitchen, result.understand(kitchen, "26B", said))
    assert "freezerbox release 26B" in held.message
    assert holds(kitchen, code) == [f"no test result: {said.replace('-', ' ')}"]
    result.record(kitchen.afresh(), result.understand(kitchen.afresh(), "26B", "not-detected"))
    assert holds(kitchen, code) == []


def test_result_is_undone_as_a_whole(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    before = queries.animals(kitchen.book)
    result.record(kitchen, result.understand(kitchen, "26B", "sample-lost"))
    assert queries.animals(kitchen.book) != before
    undo.undo(kitchen.afresh(), undo.target(kitchen.afresh()))
    assert queries.animals(kitchen.book) == before
    assert check(kitchen.afresh()).faults == ()


def test_hold_was_there_on_the_day_before_its_release(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.chops[0].code
    holding.hold(kitchen, code, "odd smell", since="1 dec")
    stocked.clock.move_to("2026-12-09T20:00")
    holding.release(kitchen.afresh(), code, "fine after all")
    then = kitchen.afresh().at(date(2026, 12, 5))
    assert [hold.why for hold in Rows(then).of_codes([code])[0].holds] == ["odd smell"]
    assert holds(kitchen, code) == []


def test_result_for_an_animal_without_a_test_is_recorded(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    result.record(kitchen, result.understand(kitchen, "26H", "detected", sample="T-9", what_for="trichinella"))
    test = queries.animals(kitchen.book)[1].tests[0]
    assert (test.sample, test.result, test.result_on) == ("T-9", TestResult.DETECTED, date(2026, 12, 2))


def test_several_tests_are_told_apart_by_sample(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    with kitchen.book.act("animal", kitchen.today) as act:
        act.add(
            "animal_test",
            animal_id=stocked.doe.id,
            what_for="TB",
            sample="88",
            sent_on="2026-11-21",
            result="pending",
        )
    with pytest.raises(AmbiguousWord, match=r'2 tests.*--sample 4471 .*; --for "TB" \(sample 88\)'):
        result.understand(kitchen, "26B", "not-detected")
    result.record(kitchen, result.understand(kitchen, "26B", "not-detected", sample="88"))
    assert holds(kitchen, stocked.backstraps[0].code) == ["test pending"]


REFUSALS: list[tuple[str, str, dict[str, str], type[FreezerboxError], str]] = [
    ("26X", "detected", {}, UnknownRecord, "no animal '26X'"),
    ("26B", "fine", {}, UnknownWord, "not a test result"),
    ("26B", "pending", {}, InputError, "Pending is no result"),
    ("26B", "detected", {"sample": "4472"}, Refused, "26B has no sample 4472; its number is 4471"),
    ("26H", "detected", {"sample": "4471"}, Refused, "Sample 4471 is 26B's, not 26H's"),
    ("26B", "detected", {"on": "3 nov"}, InvalidDate, "before 26B was killed"),
    ("26B", "detected", {"on": "20 nov"}, InvalidDate, "before 26B had its sample sent"),
    ("26B", "detected", {"on": "2026-12-09"}, InvalidDate, "lies ahead"),
]


@pytest.mark.parametrize(("animal", "said", "more", "error", "words"), REFUSALS)
def test_result_refuses_and_the_book_is_unchanged(
    stocked: Stocked, animal: str, said: str, more: dict[str, str], error: type[FreezerboxError], words: str
) -> None:
    before = stocked.book.connection.total_changes
    with pytest.raises(error, match=words):
        result.understand(stocked.kitchen, animal, said, on=more.get("on", ""), sample=more.get("sample", ""))
    assert stocked.book.connection.total_changes == before


def test_taking_back_detected_asks(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    result.record(kitchen, result.understand(kitchen, "26B", "detected"))
    with pytest.raises(OutOfLine, match="was DETECTED on 2 Dec 2026"):
        result.understand(kitchen.afresh(), "26B", "not-detected")
    with pytest.raises(Refused, match="has that result already"):
        result.understand(kitchen.afresh(), "26B", "detected")
    assert result.understand(kitchen.afresh(), "26B", "not-detected", yes=True).result is TestResult.NOT_DETECTED


def test_hold_and_release_refuse_what_makes_no_sense(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.backstraps[0].code
    with pytest.raises(InputError, match="Say why"):
        holding.hold(kitchen, code, "  ")
    with pytest.raises(Refused, match="is not on hold"):
        holding.release(kitchen, stocked.roast.code, "x")
    with pytest.raises(Refused, match=r"held because of 26B.*freezerbox release 26B --why"):
        holding.release(kitchen, code, "x")
    with pytest.raises(UnknownRecord, match="no animal '26Z'"):
        holding.hold(kitchen, "26Z", "x")
    assert holds(kitchen, code) == ["test pending"]


def test_pull_sheet_lies_in_walking_order_and_names_what_left(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    take(kitchen, stocked.backstraps[0].code, already_eaten=True, on="30 nov")
    take(kitchen.afresh(), stocked.backstraps[1].code, Reason.DISCARDED, on="1 dec")
    result.record(kitchen.afresh(), result.understand(kitchen.afresh(), "26B", "detected"))
    sheet = pull_sheet(kitchen.afresh(), "26B")
    assert {row.code for row in sheet.to_pull} == {row.code for row in stocked.backstraps[2:]}
    assert [(one.row.code, one.on) for one in sheet.eaten] == [(stocked.backstraps[0].code, date(2026, 11, 30))]
    assert [one.reason for one in sheet.elsewhere] == [Reason.DISCARDED]
    # The chops were wrapped the same evening; the ground of March and the beef roast were not.
    assert {row.code for row in sheet.same_evening} == {row.code for row in stocked.chops}
    assert "Follow your wildlife agency's" in sheet.caution
    assert "chronic wasting disease" in sheet.caution


def test_what_was_put_back_is_to_pull_again(stocked: Stocked) -> None:
    from freezerbox.chores.take import put_back

    kitchen, code = stocked.kitchen, stocked.backstraps[0].code
    take(kitchen, code, already_eaten=True)
    put_back(kitchen.afresh(), code)
    sheet = pull_sheet(kitchen.afresh(), "26B")
    assert code in [row.code for row in sheet.to_pull]
    assert sheet.eaten == ()


def test_guidance_on_wasting_disease_is_not_given_for_another_test(kitchen: Kitchen) -> None:
    animals.add_animal(
        kitchen, animals.NewAnimal(code="26D", species="red deer", test="detected", test_for="tuberculosis")
    )
    assert pull_sheet(kitchen, "26D").caution == FOLLOW


def test_eaten_though_on_hold_names_no_older_pack(stocked: Stocked) -> None:
    words = Words(cut="backstrap", form="half", species="whitetail", packed="1 mar 2026")
    pack.write(stocked.kitchen, pack.prepare(stocked.kitchen, words, ["1"]), yes=True)
    assert take(stocked.kitchen.afresh(), stocked.backstraps[0].code, already_eaten=True).hint == ""


def test_held_pulled_package_is_scanned_out_as_discarded_only(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.backstraps[2].code
    result.record(kitchen, result.understand(kitchen, "26B", "detected"))
    with pytest.raises(Held, match=show_code(code)):
        take(kitchen.afresh(), code)
    assert take(kitchen.afresh(), code, Reason.DISCARDED).row.package.state.reason is Reason.DISCARDED


def _hold_said(content: LabelContent, name: str) -> str:
    paper = stock(name)
    (layout,), misfits = fitting([content], paper, design_for(paper))
    assert not misfits
    (block,) = (box for box in layout.boxes if box.field == "hold" and box.kind == "block")
    return block.text


@pytest.mark.parametrize("name", stock_names())
def test_label_on_hold_says_do_not_eat_where_it_fits_and_why_everywhere(stocked: Stocked, name: str) -> None:
    content = content_of(stocked.kitchen, stocked.backstraps[0])
    assert content.hold == "DO NOT EAT: TEST PENDING"
    # A backstrap has room on every paper, the small roll and the strip of one inch included.
    assert _hold_said(content, name) == content.hold
    animals.add_animal(
        stocked.kitchen.afresh(), animals.NewAnimal(code="26D", species="wild pig", what="boar", test="pending")
    )
    words = Words(
        cut="raw sausage", form="links", animals=("26D",), fat="20", added="pork fat", seasoning="hot Italian",
        twice_frozen=True,
    )  # fmt: skip
    kitchen = stocked.kitchen.afresh()
    crowded = pack.write(kitchen, pack.prepare(kitchen, words, ["1"]), yes=True).rows[0]
    assert _hold_said(content_of(kitchen.afresh(), crowded), name) in (content.hold, "TEST PENDING")
