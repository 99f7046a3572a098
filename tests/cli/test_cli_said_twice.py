"""An option given twice: nothing of what was said is dropped without a word."""

from __future__ import annotations

import pytest

from tests.cli.process import House, codes_in


def test_two_animals_are_both_of_it_and_the_hold_of_the_first_stays(house: House) -> None:
    house.ok("animal", "add", "26Q", "pig")
    packed = house.ok("pack", "brats", "1", "--animal", "26B", "--animal", "26Q", "--json").json["packages"]
    assert packed[0]["animals"] == ["26B", "26Q"]
    assert packed[0]["holds"], "26B waits for its test, and so does what is made of it"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("give CODE --to Sister --to Brother", "--to is given twice: Sister, Brother."),
        ("grind 1 --from 26H=9 --fat 10 --fat=20", "--fat is given twice: 10, 20."),
        ("pack backstrap 1 --form bone-in --form chops", "--form is given twice: bone-in, chops."),
        ("share --animal 26H --animal 26B --between Ann,Ben", "--animal is given twice: 26H, 26B."),
        ("fix CODE --animal 26H --animal 26B", "--animal is given twice: 26H, 26B."),
        ("fix CODE --animal 26H --note x --note y", "--note is given twice: x, y."),
        ("cutsheet order.csv --animal 26H --animal 26B", "--animal is given twice: 26H, 26B."),
        ("--today 2026-12-03 --today 2026-12-04 find chops", "--today is given twice: 2026-12-03, 2026-12-04."),
    ],
)
def test_a_second_value_where_one_is_meant_is_refused(house: House, words: str, said: str) -> None:
    code = codes_in(house.ok("find", "loin chops").out)[0]
    refused = house.refused(*words.replace("CODE", code).split())
    assert refused.status in (1, 2)
    assert said in refused.said


def test_options_that_may_stand_several_times_and_flags_still_do(house: House) -> None:
    plan = house.ok("grind", "--from", "26H=9/20%", "--from", "26B=3", "--json", "--json").json
    assert [one["name"] for one in plan["inputs"]] == ["26H", "26B"]


def test_a_scan_that_is_read_by_a_pipe_keeps_to_the_page_too(house: House) -> None:
    code = codes_in(house.ok("find", "loin chops").out)[0]
    out = house.ok("scan", "--as", "discarded", stdin=f"{code}\n{code}\n").out
    assert max(len(line) for line in out.splitlines()) <= 80
    assert out.startswith("DISCARD | ")
    assert "\n  " in out, "the rest of a record is set in"
