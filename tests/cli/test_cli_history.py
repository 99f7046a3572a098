"""What happened, and when: history of anything, the list of acts, and what is said when one is taken back."""

from __future__ import annotations

from tests.cli.process import House


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


def test_undo_all_takes_nothing_back(house: House) -> None:
    house.ok("take", chop(house))
    refused = house.refused("undo", "--all")
    assert refused.status == 2
    assert "--all goes with --list" in refused.said


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


# -- as it stood on a day --------------------------------------------------------------------------------------------


def a_week(house: House) -> tuple[House, str, str]:
    """One chop taken on the 4th, one packed on the 5th, the result on the 6th; it is the 8th."""
    code = chop(house)
    house.at("2026-12-04T18:00").ok("take", code)
    packed = house.at("2026-12-05T20:00").ok(
        "pack", "loin chops", "2", "--animal", "26H", "--freezer", "Garage chest", "--yes", "--json"
    )
    house.at("2026-12-06T18:00").ok("result", "26B", "not-detected", "--yes")
    return house.at("2026-12-08T18:00"), code, packed.json["packages"][0]["code"]


def test_rotation_as_of_a_day(house: House) -> None:
    later, taken, packed = a_week(house)

    def asked(*day: str) -> tuple[set[str], set[str], str]:
        found = later.ok("rotation", "--limit", "50", *day, "--json").json
        return {row["code"] for row in found["rows"]}, {row["code"] for row in found["held"]}, found["as_of"]

    assert [len(codes) for codes in asked()[:2]] == [18, 0]
    rows, held, day = asked("--as-of", "2026-12-03")
    assert (len(rows), len(held), day) == (14, 4, "2026-12-03")
    assert taken in rows
    assert packed not in rows
    rows, held, _ = asked("--as-of", "2026-12-05")
    assert (len(rows), len(held)) == (14, 4)
    assert taken not in rows
    assert packed in rows
    assert [len(codes) for codes in asked("--as-of", "2026-12-06")[:2]] == [18, 0]
    said = later.ok("rotation", "--as-of", "2026-12-03").told
    assert "As it stood at the end of 3 Dec 2026, as known now; names, words and guide are today's." in said
    assert "As it stood" not in later.ok("rotation").told
    assert later.refused("rotation", "--as-of", "2026-12-09").status == 2


def test_balance_as_of_a_day(house: House) -> None:
    later, _, _ = a_week(house)
    days = {
        day: later.ok("balance", "--as-of", f"2026-12-0{day}", "--json").json["totals"]["packages"]
        for day in (1, 2, 3, 4, 5, 8)
    }
    assert days == {1: 0, 2: 18, 3: 18, 4: 17, 5: 18, 8: 18}
    assert later.ok("balance", "--json").json["totals"]["packages"] == 18
    assert "As it stood at the end of 3 Dec 2026" in later.ok("balance", "--as-of", "2026-12-03").told


def test_what_is_told_late_stands_on_its_day(house: House) -> None:
    """Taken on the 3rd, told on the 8th: on the 3rd it was gone, on the 2nd it lay there."""
    code = chop(house)
    later = house.at("2026-12-08T18:00")
    later.ok("take", code, "--on", "2026-12-03")
    for command, key in (("rotation", "rows"), ("find", "rows")):
        words = (command, "loin chops") if command == "find" else (command, "--limit", "50")
        for day, there in (("2026-12-02", True), ("2026-12-03", False), ("2026-12-07", False)):
            rows = later.ok(*words, "--as-of", day, "--json").json[key]
            assert (code in {row["code"] for row in rows}) is there, (command, day)
    assert later.ok("show", code, "--as-of", "2026-12-02", "--json").json["state"] == "frozen"
    assert later.ok("show", code, "--as-of", "2026-12-03", "--json").json["reason"] == "eaten"
    assert later.ok("balance", "--as-of", "2026-12-03", "--json").json["totals"]["packages"] == 17
