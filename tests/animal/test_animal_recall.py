"""Bad news: what is cited, what the pull sheet says, batches held, tests told apart, what was pulled."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from freezerbox.chores import animal_facts, animals, give, grind, holding, pack, places, result, trace
from freezerbox.chores.guidance import FOLLOW, batching, guidance
from freezerbox.chores.header import Words, find_animal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pull import pull_sheet
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.session import Session
from freezerbox.chores.slip import print_slip
from freezerbox.chores.story import story
from freezerbox.chores.take import nearest_not_held, put_back, take
from freezerbox.cli.pull_lines import sheet_lines
from freezerbox.core.records import Reason
from freezerbox.errors import AmbiguousWord, OutOfLine, Refused, UnknownRecord
from tests.conftest import Stocked


def animal(kitchen: Kitchen, code: str, species: str, what_for: str = "", result_of: str = "pending") -> str:
    new = animals.NewAnimal(code=code, species=species, test=result_of, test_for=what_for, sample=f"S{code}")
    return animals.add_animal(kitchen, new).code


def packed(kitchen: Kitchen, words: Words, weights: str) -> tuple[Row, ...]:
    return pack.write(kitchen.afresh(), pack.prepare(kitchen.afresh(), words, weights.split()), yes=True).rows


@pytest.mark.parametrize(
    ("species", "what_for", "cited", "not_cited"),
    [
        ("whitetail buck", "CWD", ["positive for chronic wasting disease"], ["Trichinella", "If the test"]),
        ("elk bull", "chronic wasting disease", ["positive for chronic wasting disease"], ["Trichinella"]),
        ("moose", "", ["If the test was for chronic wasting disease: The CDC"], ["Trichinella"]),
        ("elk bull", "tuberculosis", [], ["CDC", "Minnesota"]),
        ("bear", "trichinella", ["freezing may not kill Trichinella"], ["wasting", "Cook"]),
        ("bear", "", [], ["CDC", "Minnesota", "wasting"]),
        ("bear", "CWD", [], ["CDC", "wasting"]),
        ("wild pig", "Trichinosis", ["freezing may not kill Trichinella"], ["wasting"]),
        ("pig", "trichinella", [], ["CDC", "wild game"]),
        ("steer", "TB", [], ["CDC", "Minnesota"]),
    ],
)
def test_only_what_speaks_of_that_disease_in_that_animal_is_cited(
    kitchen: Kitchen, species: str, what_for: str, cited: list[str], not_cited: list[str]
) -> None:
    code = animal(kitchen, "26D", species, what_for, "detected")
    said = pull_sheet(kitchen.afresh(), code).caution
    assert said.endswith(FOLLOW)
    assert said.count(FOLLOW) == 1
    assert [words for words in cited if words not in said] == []
    assert [words for words in not_cited if words in said] == []
    if not cited:
        assert said == FOLLOW


def test_the_detected_test_is_cited_and_no_other_of_the_animal(kitchen: Kitchen) -> None:
    code = animal(kitchen, "26D", "whitetail doe", "CWD")
    animal_facts.add_test(kitchen, code, sample="88", what_for="tuberculosis")
    coming = result.understand(kitchen.afresh(), code, "detected", what_for="tuberculosis")
    result.record(kitchen.afresh(), coming)
    assert guidance([find_animal(kitchen.afresh(), code)]) == FOLLOW
    result.record(kitchen.afresh(), result.understand(kitchen.afresh(), code, "detected", sample="S26D"))
    both = guidance([find_animal(kitchen.afresh(), code)])
    assert "chronic wasting disease" in both
    assert both.count(FOLLOW) == 1


def test_awaited_tests_cite_the_deer_leaflet_for_deer_only(kitchen: Kitchen) -> None:
    deer, bear = animal(kitchen, "26D", "whitetail doe"), animal(kitchen, "26C", "bear", "trichinella")
    assert "Minnesota" in guidance([find_animal(kitchen, deer)])
    assert "CWD area" in batching([find_animal(kitchen, deer)])
    assert guidance([find_animal(kitchen, bear)]) == FOLLOW
    assert batching([find_animal(kitchen, bear)]) == ""


def test_nothing_is_cited_where_no_test_holds(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.chops[0].code
    holding.hold(kitchen, code, "smells odd")
    sheet = pull_sheet(kitchen.afresh(), code)
    assert (sheet.caution, sheet.why) == ("", "smells odd since 2 Dec")


def test_pull_sheet_says_detected_its_day_and_its_sample(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    assert pull_sheet(kitchen, "26B").why == "test pending since 21 Nov"
    result.record(kitchen, result.understand(kitchen, "26B", "detected", on="1 dec"))
    assert pull_sheet(kitchen.afresh(), "26B").why == "DETECTED on 1 Dec 2026, sample 4471"
    of_one = pull_sheet(kitchen.afresh(), stocked.backstraps[0].code)
    assert of_one.why == "DETECTED on 1 Dec 2026, sample 4471"


def test_what_lies_inside_another_place_is_fetched_with_it(kitchen: Kitchen) -> None:
    places.add_place(kitchen, "left basket")
    places.add_place(kitchen.afresh(), "right basket")
    places.add_place(kitchen.afresh(), "red bag", inside="left basket")
    code = animal(kitchen.afresh(), "26D", "whitetail doe")
    for place in ("right basket", "red bag", "", "left basket"):
        packed(kitchen, Words(cut="backstrap", animals=(code,), place=place), "0.9")
    walked = [row.place for row in pull_sheet(kitchen.afresh(), code).to_pull]
    assert walked == ["left basket", "red bag", "right basket", ""]


def test_what_left_of_the_same_evening_is_named_with_day_and_person(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    words = Words(cut="backstrap", species="whitetail", packed="2026-11-21")
    eaten, given, here = (packed(kitchen, words, "1")[0] for _ in range(3))
    take(kitchen.afresh(), eaten.code)
    give.give(kitchen.afresh(), [given.code], "Sister")
    sheet = pull_sheet(kitchen.afresh(), "26B")
    assert here.code in {row.code for row in sheet.same_evening}
    assert not {eaten.code, given.code} & {row.code for row in sheet.same_evening}
    assert {(one.row.code, one.reason, one.person) for one in sheet.same_evening_gone} == {
        (eaten.code, Reason.EATEN, ""), (given.code, Reason.GIVEN, "Sister"),
    }  # fmt: skip
    said = " ".join(" ".join(sheet_lines(kitchen.afresh(), sheet)).split())
    assert "Of the same evenings, not of it, and no longer in the freezer: 2 packages" in said
    assert "given to Sister" in said


def test_meat_of_the_same_evening_is_not_offered_in_place_of_what_was_detected(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    for day in ("2026-11-21", "2026-11-25"):
        packed(kitchen, Words(cut="backstrap", species="whitetail", packed=day), "1")
    held = stocked.backstraps[0].code

    def offered() -> date | None:
        other = nearest_not_held(kitchen.afresh(), Rows(kitchen.afresh()).of_codes([held])[0])
        return other.package.packed_on if other else None

    assert offered() == date(2026, 11, 21)
    now = kitchen.afresh()
    result.record(now, result.understand(now, "26B", "detected", yes=True))
    assert offered() == date(2026, 11, 25)


def batch_of(stocked: Stocked) -> tuple[Row, ...]:
    asked = grind.Asked(
        animals=["26H=4"], packages=[stocked.chops[0].code], shop=(), weights=["1.7", "1.7", "1.6"],
        words=Words(cut="fresh sausage", species="pig"),
    )  # fmt: skip
    return grind.make(stocked.kitchen.afresh(), asked, yes=True).rows


def test_a_batch_is_held_and_released_as_one(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    rows = batch_of(stocked)
    held = holding.hold(kitchen.afresh(), rows[0].package.batch.lower(), "salted twice")
    assert "batch G26-1" in held.message
    assert "3 packages in the freezer are held" in held.message
    now = Rows(kitchen.afresh()).of_codes([row.code for row in rows])
    assert [[hold.why for hold in row.holds] for row in now] == [["salted twice"]] * 3
    assert Rows(kitchen.afresh()).of_codes([stocked.chops[1].code])[0].holds == ()
    assert len(pull_sheet(kitchen.afresh(), "G26-1").to_pull) == 3
    # One package of it let go by itself stays free; the rest follow with the batch.
    holding.release(kitchen.afresh(), rows[0].code, "tasted, fine")
    holding.release(kitchen.afresh(), "G26-1", "tasted, fine")
    assert all(not row.holds for row in Rows(kitchen.afresh()).of_codes([row.code for row in rows]))
    with pytest.raises(Refused, match="batch G26-1 is not on hold"):
        holding.release(kitchen.afresh(), "G26-1", "again")


def test_a_batch_that_is_none_is_said_to_be_none(stocked: Stocked) -> None:
    batch_of(stocked)
    with pytest.raises(UnknownRecord, match=r"no batch 'G26-9' in this book. There is: G26-1"):
        holding.hold(stocked.kitchen.afresh(), "G26-9", "x")


def test_batch_held_by_its_animal_is_let_go_there(stocked: Stocked) -> None:
    batch_of(stocked)
    holding.hold(stocked.kitchen.afresh(), "26H", "seller called")
    with pytest.raises(Refused, match=r"batch G26-1 is held because of 26H.*release 26H"):
        holding.release(stocked.kitchen.afresh(), "G26-1", "x")


def test_who_has_any_of_a_batch_that_went_on_into_another(stocked: Stocked) -> None:
    rows = batch_of(stocked)
    asked = grind.Asked(packages=[rows[0].code], weights=["1.6"], words=Words(cut="fresh sausage", species="pig"))
    again = grind.make(stocked.kitchen.afresh(), asked, yes=True).rows[0]
    give.give(stocked.kitchen.afresh(), [again.code], "Sister", yes=True)
    assert [one.row.code for one in trace.who_has(stocked.kitchen.afresh(), "G26-1")[0].exits] == [again.code]


def test_tests_without_a_number_are_told_apart_by_disease(kitchen: Kitchen) -> None:
    code = animals.add_animal(
        kitchen, animals.NewAnimal(code="26D", species="whitetail doe", test="pending", test_for="CWD")
    ).code
    animal_facts.add_test(kitchen.afresh(), code, what_for="TB", sample="88")
    with pytest.raises(AmbiguousWord, match=r'--for "CWD" .*; --for "TB" \(sample 88\)'):
        result.understand(kitchen.afresh(), code, "not-detected")
    coming = result.understand(kitchen.afresh(), code, "not-detected", what_for="chronic wasting disease")
    assert coming.test is not None
    assert coming.test.what_for == "CWD"
    assert "for CWD: not detected" in coming.words()


def test_a_test_never_heard_of_is_asked_about_while_others_wait(kitchen: Kitchen) -> None:
    new = animals.NewAnimal(code="26D", species="whitetail doe", test="pending", test_for="TB")
    code = animals.add_animal(kitchen, new).code
    assert result.understand(kitchen.afresh(), code, "detected", what_for="bovine tuberculosis").test is not None
    with pytest.raises(OutOfLine, match=r"no test of 26D is for 'brucellosis'; those in the book are for TB\."):
        result.understand(kitchen.afresh(), code, "detected", what_for="brucellosis")
    coming = result.understand(kitchen.afresh(), code, "detected", what_for="brucellosis", yes=True)
    assert coming.test is None
    assert "this one is new" in coming.words()


def test_another_word_for_a_disease_never_tested_is_said_to_be_new(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    animal_facts.add_test(kitchen, "26B", sample="90", what_for="CWD")
    result.record(kitchen.afresh(), result.understand(kitchen.afresh(), "26B", "not-detected", sample="4471"))
    result.record(kitchen.afresh(), result.understand(kitchen.afresh(), "26B", "not-detected", sample="90"))
    assert (
        "No such test" not in result.understand(kitchen.afresh(), "26B", "detected", what_for="cwd", yes=True).words()
    )


def test_number_and_name_given_later_belong_to_the_test_that_waits(kitchen: Kitchen) -> None:
    code = animals.add_animal(kitchen, animals.NewAnimal(code="26D", species="whitetail doe", test="pending")).code
    animal_facts.add_test(kitchen.afresh(), code, sample="4471")
    animal_facts.add_test(kitchen.afresh(), code, what_for="CWD", sample="")
    tests = find_animal(kitchen.afresh(), code).tests
    # Numbered already, so a name alone is another test.
    assert [(test.sample, test.what_for) for test in tests] == [("4471", ""), ("", "CWD")]
    with pytest.raises(Refused, match="waits for that test already"):
        animal_facts.add_test(kitchen.afresh(), code, what_for="wasting disease")
    animal_facts.add_test(kitchen.afresh(), code, what_for="wasting", sample="12")
    assert [test.sample for test in find_animal(kitchen.afresh(), code).tests] == ["4471", "12"]


def test_scanned_out_after_the_result_is_pulled(stocked: Stocked) -> None:
    kitchen, before, after = stocked.kitchen, stocked.backstraps[0], stocked.backstraps[1]
    take(kitchen, before.code, Reason.DISCARDED, on="30 nov")
    result.record(kitchen.afresh(), result.understand(kitchen.afresh(), "26B", "detected", on="1 dec"))
    said = Session(kitchen.afresh(), reason=Reason.DISCARDED).code(after.code)
    assert said.outcome == "discarded"
    assert "pulled and discarded: Backstrap half" in said.message
    sheet = pull_sheet(kitchen.afresh(), "26B")
    assert [one.row.code for one in sheet.pulled] == [after.code]
    assert [one.row.code for one in sheet.elsewhere] == [before.code]
    assert len(sheet.to_pull) == 2
    lines = "\n".join(sheet_lines(kitchen.afresh(), sheet))
    assert "Pulled and discarded: 1 package" in lines
    assert [step.words for step in story(kitchen.afresh(), after.code).steps][-1] == "gone: pulled and discarded"
    assert [step.words for step in story(kitchen.afresh(), before.code).steps][-1] == "gone: discarded"


def test_putting_back_what_is_on_hold_says_so(stocked: Stocked) -> None:
    kitchen, code = stocked.kitchen, stocked.backstraps[0].code
    take(kitchen, code, already_eaten=True)
    assert "ON HOLD: test pending since 21 Nov." in put_back(kitchen.afresh(), code).message
    take(kitchen.afresh(), stocked.chops[0].code)
    assert "HOLD" not in put_back(kitchen.afresh(), stocked.chops[0].code).message


def test_a_gift_on_hold_names_it_in_its_line_and_on_the_slip(stocked: Stocked, tmp_path: Path) -> None:
    import pypdfium2

    held, free = stocked.backstraps[0].code, stocked.chops[0].code
    given = give.give(stocked.kitchen, [held, free], "Sister", held_too=True, yes=True)
    assert given.message == "2 packages given to Sister, 1 of them ON HOLD."
    kitchen = stocked.kitchen.afresh()
    assert give.gift_line(kitchen, given.gifts[0]).endswith("ON HOLD: test pending since 21 Nov")
    assert "HOLD" not in give.gift_line(kitchen, given.gifts[1])
    assert "Minnesota" in give.held_guidance(given.gifts)
    document = pypdfium2.PdfDocument(print_slip(kitchen, given, tmp_path / "slip.pdf").file)
    page = " ".join(document[0].get_textpage().get_text_range().split())
    document.close()
    assert "ON HOLD, DO NOT EAT: test pending since 21 Nov" in page
    assert FOLLOW in page
    assert [step.words for step in story(kitchen, held).steps][-1] == "gone: given to Sister"
    undone = give.give(kitchen, [stocked.chops[1].code], "Sister")
    assert (undone.message, give.held_guidance(undone.gifts)) == ("1 package given to Sister.", "")


def test_pull_sheet_calls_nothing_held_that_is_not(stocked: Stocked) -> None:
    free = "\n".join(sheet_lines(stocked.kitchen, pull_sheet(stocked.kitchen, "26H")))
    assert "Nothing holds them: freezerbox hold 26H --why WORDS." in " ".join(free.split())
    assert "held, where they lie" not in free
    held = "\n".join(sheet_lines(stocked.kitchen, pull_sheet(stocked.kitchen, "26B")))
    assert "They stay on the list, held, where they lie, until each is scanned out" in " ".join(held.split())
    holding.hold(stocked.kitchen, stocked.chops[0].code, "torn")
    some = pull_sheet(stocked.kitchen.afresh(), "26H")
    assert "Not all of them are held" in "\n".join(sheet_lines(stocked.kitchen.afresh(), some))


def test_slip_gives_no_cooking_advice_for_what_is_on_hold(kitchen: Kitchen, tmp_path: Path) -> None:
    import pypdfium2

    def page(codes: list[str], file: str) -> str:
        given = give.give(kitchen.afresh(), codes, "Sister", held_too=True, yes=True)
        document = pypdfium2.PdfDocument(print_slip(kitchen.afresh(), given, tmp_path / file).file)
        text = " ".join(document[0].get_textpage().get_text_range().split())
        document.close()
        return text

    held, free = animal(kitchen, "26C", "bear", "trichinella"), animal(kitchen, "26F", "bear", "", "not-detected")
    first = packed(kitchen, Words(cut="backstrap", animals=(held,), wrap="vacuum"), "1")
    second = packed(kitchen, Words(cut="backstrap", animals=(free,), wrap="vacuum"), "1")
    on_hold = page([first[0].code], "held.pdf")
    assert "ON HOLD, DO NOT EAT: test pending (trichinella)" in on_hold
    assert "Cook bear" not in on_hold
    assert "slit the pack" not in on_hold
    assert "Cook bear" in page([second[0].code], "free.pdf")
