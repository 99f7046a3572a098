"""What happened, and when: history of anything, the list of acts, and what is said when one is taken back."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.process import House, copy_of, play_evening


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> House:
    """The evening: 4 held backstraps of 26B, 14 loin chops of 26H."""
    return play_evening(House(folder=tmp_path_factory.mktemp("history")))


@pytest.fixture
def house(played: House, tmp_path: Path) -> House:
    return copy_of(played, tmp_path)


def chop(house: House) -> str:
    return str(house.ok("find", "loin chops", "--json").json["rows"][0]["code"])


def test_history_of_a_code_on_a_day(house: House) -> None:
    code = chop(house)
    house.at("2026-12-04T18:00").ok("take", code)
    later = house.at("2026-12-06T18:00")
    said = later.ok("history", code, "--on", "4 dec").out
    assert "gone: eaten" in said
    assert "packed" not in said
    assert [step["on"] for step in later.ok("history", code, "--on", "4 dec", "--json").json["history"]] == [
        "2026-12-04"
    ]
    assert "nothing" in later.ok("history", code, "--on", "3 dec").out
    assert later.refused("history", code, "--on", "30 feb").status == 2


def test_history_of_a_freezer(house: House) -> None:
    house.ok("freezer", "add", "Cabin")
    code = chop(house)
    house.ok("move", code, "--to", "Cabin")
    said = house.ok("history", "garage CHEST").told
    assert "Garage chest" in said
    assert "started the book" in said
    assert "packed 14 packages of Loin chops" in said
    # It left from there, and came there.
    assert "moved" in said
    cabin = house.ok("history", "Cabin").told
    assert "moved" in cabin
    assert "packed" not in cabin
    assert "place or freezer" in house.refused("history", "Shed").said


def test_show_as_of_a_day_ends_with_that_day(house: House) -> None:
    code = chop(house)
    house.at("2026-12-04T18:00").ok("take", code)
    later = house.at("2026-12-06T18:00")
    assert "eaten" in later.ok("show", code).out
    then = later.ok("show", code, "--as-of", "2026-12-03")
    assert "eaten" not in then.out
    assert "As it stood at the end of 3 Dec 2026" in then.told
    found = later.ok("show", code, "--as-of", "2026-12-03", "--json").json
    assert found["state"] == "frozen"
    assert [step["kind"] for step in found["history"]] == ["pack"]
    assert len(later.ok("show", code, "--as-of", "2026-12-04", "--json").json["history"]) == 2


def test_the_list_of_acts_says_when_and_by_whom_and_ends(house: House) -> None:
    code = chop(house)
    house.ok("--by", "Ann", "take", code)
    for number in range(20):
        house.ok("fix", code, "--note", f"note {number}")
    late = house.at("2026-12-05T18:30")
    late.ok("take", house.ok("find", "loin chops", "--json").json["rows"][0]["code"], "--on", "3 dec")
    listed = late.ok("undo", "--list")
    lines = listed.out.splitlines()
    assert lines[0].startswith("28  3 Dec ")
    assert "(recorded 5 Dec 18:30)" in listed.told
    assert "27  2 Dec 21:00" in listed.out
    older = len(late.ok("undo", "--list", "--all", "--json").json["acts"]) - 15
    assert lines[-1] == f"{older} older acts: freezerbox undo --list --all"
    assert len(late.ok("undo", "--list", "--json").json["acts"]) == 15
    everything = late.ok("undo", "--list", "--all").out
    assert "(by Ann)" in everything
    assert "older act" not in everything
    assert "started the book" in everything
    assert late.ok("undo", "--list", "--json").json["acts"][0]["recorded_at"] == "2026-12-05T18:30:00+00:00"


def test_a_result_taken_back_says_what_is_on_hold_again(house: House) -> None:
    house.ok("result", "26B", "not-detected", "--yes")
    said = house.ok("undo").told
    assert "Animal 26B is ON HOLD: test pending" in said
    assert "4 packages in the freezer" in said
    again = house.ok("undo", said.rpartition("freezerbox undo ")[2])
    assert "Animal 26B is not on hold; 4 packages in the freezer" in again.told


def test_a_hold_on_one_package_taken_back_names_it(house: House) -> None:
    code = chop(house)
    house.ok("hold", code, "--why", "smells odd")
    assert house.ok("undo", "--json").json["done"][0]["code"] == code


def test_a_table_that_is_none_says_where(house: House) -> None:
    (house.folder / "evening.csv").write_text('cut,weight\nham,1\nham,"1"x\n', encoding="utf-8")
    assert "row 3: " in house.refused("import", "evening.csv").said
