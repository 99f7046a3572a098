"""Counting one place: scenario 18, leaving and going on, accepting all, some or none, lots, and the search list."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.cli.process import House, copy_of
from tests.places.look import codes_in

RED, GREEN = "red bag", "green basket"


def lines(*codes: str) -> str:
    return "".join(f"{code}\n" for code in codes)


def place(house: House, name: str) -> dict[str, object]:
    return next(one for one in house.ok("place", "--json").json["places"] if one["name"] == name)


def all_places(house: House) -> dict[str, tuple[str, str | None]]:
    """State and place of every package, by code, read from the book itself and not by the program."""
    import sqlite3

    with sqlite3.connect(house.book) as connection:
        rows = connection.execute(
            "SELECT s.code, s.state, p.name FROM package_state s LEFT JOIN place p ON p.id = s.place_id"
        ).fetchall()
    connection.close()
    return {code: (state, name) for code, state, name in rows}


@pytest.fixture
def basket(house: House) -> tuple[House, list[str], str]:
    """Scenario 18: the red bag's twelve packs by the list, and one pack listed in the green basket."""
    house.ok("pack", "backstrap", *[".9"] * 8, "--animal", "26A", "--place", RED)
    return house, codes_in(house, RED), codes_in(house, GREEN)[0]


def test_check_one_basket(basket: tuple[House, list[str], str]) -> None:
    """Eleven scanned of twelve listed, one of them another basket's."""
    house, red, green = basket
    before = all_places(house)
    said = house.ok("count", RED, stdin=lines(*red[:10], green, "done")).told
    assert "10 as expected, 1 not expected here (listed in green basket), 2 missing" in said
    assert "move it?" in said
    assert "search elsewhere" in said
    assert "checked today" in house.ok("place").out.split(RED)[1].splitlines()[0]
    assert "never checked" in house.ok("place").out.split(GREEN)[1].splitlines()[0]
    assert all_places(house) == before
    report = house.ok("count", RED, "--accept", "all", "--json").json
    assert (len(report["expected"]), len(report["elsewhere"]), len(report["missing"])) == (10, 1, 2)
    after = all_places(house)
    assert after.pop(green) == ("frozen", RED)
    before.pop(green)
    assert after == before
    assert {row["code"] for row in house.ok("lost", "--json").json["rows"]} == set(red[10:])
    house.ok("undo")
    assert all_places(house)[green] == ("frozen", GREEN)
    assert house.ok("lost", "--json").json["rows"] == []


def test_walking_away_changes_nothing_and_it_goes_on_later(basket: tuple[House, list[str], str]) -> None:
    house, red, _ = basket
    before = all_places(house)
    said = house.ok("count", RED, stdin=lines(*red[:5])).out
    assert "Left open" in said
    assert place(house, RED)["last_checked"] is None
    later = house.at("2026-12-05T10:00")
    report = later.ok("count", RED, "--json", stdin=lines(*red[5:], "done")).json
    assert len(report["expected"]) == 12
    assert report["missing"] == []
    assert place(later, RED)["last_checked"] == "2026-12-05"
    assert all_places(house) == before
    # The count was without a difference and is closed: the next one begins anew.
    assert later.ok("count", RED, "--json").json["seen"] == []


def test_a_count_begun_wrong_is_begun_again(basket: tuple[House, list[str], str]) -> None:
    house, red, green = basket
    house.ok("count", RED, stdin=lines(red[0], green, "undo", red[1]))
    assert house.ok("count", RED, "--json").json["seen"] == [red[0], red[1]]
    assert house.ok("count", RED, "--again", "--json", stdin=lines(red[3])).json["seen"] == [red[3]]


def test_undo_takes_a_count_as_a_whole(basket: tuple[House, list[str], str]) -> None:
    """After the counting, the next undo is of what was done before it, and of no single look."""
    house, red, _ = basket
    house.ok("move", red[0], "--to", GREEN)
    house.ok("count", RED, stdin=lines(*red[1:3], "done"))
    assert "Taken back: counted red bag" in house.ok("undo").told
    assert "moved" in house.ok("undo").told
    assert all_places(house)[red[0]] == ("frozen", RED)
    # One that is still open is another matter: there a look is the last thing done.
    house.ok("count", RED, stdin=lines(red[5]))
    assert f"saw {red[5][:3]}-{red[5][3:]}" in house.ok("undo").told


def test_the_list_of_acts_is_as_long_as_asked(basket: tuple[House, list[str], str]) -> None:
    house, _, _ = basket
    assert len(house.ok("undo", "--list", "3", "--json").json["acts"]) == 3
    assert house.refused("undo", "--list", "none").status == 2
    assert "--all lists every act, 3 so many" in house.refused("undo", "--list", "--all", "3").said


def test_accept_some_or_none(basket: tuple[House, list[str], str]) -> None:
    house, red, green = basket
    house.ok("count", RED, stdin=lines(*red[:10], green, "done"))
    assert house.refused("count", RED, "--accept", red[0]).status == 2
    house.ok("count", RED, "--accept", green)
    assert all_places(house)[green] == ("frozen", RED)
    # What was not seen is searched for, whatever else was accepted: the count is closed by this.
    assert {row["code"] for row in house.ok("lost", "--json").json["rows"]} == set(red[10:])
    house.ok("undo")
    house.ok("count", RED, "--accept", "none")
    assert house.ok("lost", "--json").json["rows"] == []
    house.ok("count", RED, stdin=lines(red[0], "done"))
    before = all_places(house)
    house.ok("count", RED, "--accept", "none")
    assert all_places(house) == before
    assert house.ok("lost", "--json").json["rows"] == []
    assert house.ok("count", RED, "--json").json["seen"] == []


def test_nothing_is_accepted_where_no_count_is_open(basket: tuple[House, list[str], str]) -> None:
    house, _, _ = basket
    before = all_places(house)
    refusal = house.refused("count", RED, "--accept", "all")
    assert refusal.status == 1
    assert "No count of red bag is open" in refusal.said
    assert house.ok("lost", "--json").json["rows"] == []
    assert all_places(house) == before
    # A basket found empty was counted all the same.
    house.ok("count", RED, stdin=lines("done"))
    house.ok("count", RED, "--accept", "all")
    assert len(house.ok("lost", "--json").json["rows"]) == 12
    assert house.refused("count", RED, "--accept", "all").status == 1


def test_what_went_or_came_while_a_count_lay_open_is_no_difference(basket: tuple[House, list[str], str]) -> None:
    house, red, green = basket
    house.ok("count", RED, stdin=lines(*red[:5], green))
    later = house.at("2026-12-05T10:00")
    later.ok("take", red[0])
    later.ok("move", red[1], "--to", GREEN)
    report = later.ok("count", RED, "--json", stdin=lines(*red[5:10], "done")).json
    assert report["gone"] == []
    assert [row["code"] for row in report["elsewhere"]] == [green]
    assert [row["code"] for row in report["missing"]] == red[10:]
    # The count is ended; what is packed after it was not there to be seen.
    new = later.ok("pack", "deer shank", "1", "--place", RED, "--json").json["packages"][0]["code"]
    report = later.ok("count", RED, "--accept", "all", "--json").json
    assert new not in [row["code"] for row in report["missing"]]
    assert all_places(later)[red[0]][0] == "gone"
    assert all_places(later)[red[1]] == ("frozen", GREEN)
    assert {row["code"] for row in later.ok("lost", "--json").json["rows"]} == set(red[10:])
    # Taken back, the count offers the same differences again.
    later.ok("undo")
    report = later.ok("count", RED, "--json").json
    assert [row["code"] for row in report["elsewhere"]] == [green]


def test_what_was_taken_back_and_had_again_while_a_count_lay_open_is_gone(
    basket: tuple[House, list[str], str],
) -> None:
    house, red, _ = basket
    house.ok("count", RED, stdin=lines(*red))
    later = house.at("2026-12-03T10:00")
    later.ok("take", red[0])
    later.ok("undo")
    assert later.ok("count", RED, "--json").json["gone"] == []
    undone = later.ok("undo", "--list", "--json").json["acts"][0]["act"]
    later.ok("undo", str(undone))
    report = later.ok("count", RED, "--json").json
    assert (report["gone"], report["missing"]) == ([], [])


def test_a_tube_taken_after_its_lot_was_counted_is_not_given_back(house: House) -> None:
    lot = house.ok("pack", "ground beef", "2", "--lot", "72", "--place", RED, "--json").json["packages"][0]["code"]
    house.ok("count", RED, stdin=lines(*codes_in(house, RED), "70", "done"))
    later = house.at("2026-12-05T10:00")
    later.ok("take", lot)
    assert [one["counted"] for one in later.ok("count", RED, "--json").json["lots"]] == [69]
    later.ok("count", RED, "--accept", "all")
    assert later.ok("show", lot, "--json").json["quantity"] == 69


def test_what_was_eaten_and_lies_here_is_put_back(house: House) -> None:
    code = codes_in(house, RED)[0]
    house.ok("take", code)
    said = house.ok("count", RED, stdin=lines(*codes_in(house, RED), code, "done")).out
    assert "the book has it as gone" in said
    house.ok("count", RED, "--accept", "all")
    assert all_places(house)[code] == ("frozen", RED)


def test_a_foreign_label_and_a_misread_are_said(house: House) -> None:
    red = codes_in(house, RED)
    result = house.call("count", RED, stdin=lines("K7P-3MT", "K7P3MX", *red, "done"))
    assert result.status == 0
    assert "NOT IN THIS BOOK" in result.out
    assert "does not check" in result.err


def test_a_lot_is_counted_by_a_number(house: House) -> None:
    lot = house.ok("pack", "ground beef", "2", "--lot", "72", "--place", GREEN, "--json").json["packages"][0]["code"]
    others = [code for code in codes_in(house, GREEN) if code != lot]
    said = house.ok("count", GREEN, stdin=lines(*others, f"{lot} 61", "done")).out
    assert "61 counted, 72 listed" in said
    house.ok("count", GREEN, "--accept", "all")
    assert house.ok("show", lot, "--json").json["quantity"] == 61
    # The number may also come on the line after the lot's own code.
    house.ok("count", GREEN, stdin=lines(*others, lot, "64", "done"))
    house.ok("count", GREEN, "--accept", lot)
    assert house.ok("show", lot, "--json").json["quantity"] == 64
    house.ok("count", GREEN, stdin=lines(*others, f"{lot} 0", "done"))
    house.ok("count", GREEN, "--accept", "all")
    row = house.ok("show", lot, "--json").json
    assert (row["state"], row["reason"], row["quantity"]) == ("gone", "lost", 0)
    single = codes_in(house, RED)[0]
    assert "is not a package code" in house.call("count", RED, stdin=f"{single} \u00b2\n").said
    assert "single" in house.call("count", RED, stdin=f"{single} 4\n").err
    assert house.ok("check", "--json").json["faults"] == []


def test_found_again_or_given_up(house: House) -> None:
    red = codes_in(house, RED)
    house.ok("count", RED, stdin=lines(red[0], "done"))
    house.ok("count", RED, "--accept", "all")
    assert {row["code"] for row in house.ok("lost", "--json").json["rows"]} == set(red[1:])
    said = house.ok("find", "backstrap").out
    assert "not found there on 2 Dec" in said
    assert said.startswith("1 pack, ")
    assert "besides, 3 packs, " in said.splitlines()[0]
    assert house.ok("find", "backstrap", "--json").json["rows"][0]["code"] == red[0]
    assert "not found there" in house.ok("rotation", "--all").out
    # By words only what is there is taken, with a yes too; what turned up goes by its code.
    house.ok("take", "backstrap", "--from", RED, "-y")
    refusal = house.refused("take", "backstrap", "--from", RED, "-y")
    assert "a count did not find 3 packs" in refusal.said
    house.ok("undo")
    assert house.ok("show", red[1], "--json").json["missing_since"] == "2026-12-02"
    house.ok("move", red[1], "--to", GREEN)
    told = house.ok("history", red[1]).told
    assert "not found there in a count" in told
    assert "found again" in told
    assert "not said ->" not in told
    house.ok("count", RED, stdin=lines(red[0], red[2], "done"))
    assert [row["code"] for row in house.ok("lost", "--json").json["rows"]] == [red[3]]
    house.ok("lost", red[3])
    row = house.ok("show", red[3], "--json").json
    assert (row["state"], row["reason"]) == ("gone", "lost")
    assert house.ok("lost", "--json").json["rows"] == []


def test_a_food_is_not_a_place(house: House) -> None:
    assert house.ok("count", "backstrap", "--json").json["totals"]["packages"] == 4
    assert "4 packs, 3.60 lb" in house.ok("count", "backstrap").out
    assert "no place" in house.refused("count", "xyzzy").err
    house.ok("hold", codes_in(house, RED)[0], "--why", "smelt odd")
    assert house.ok("count", "backstrap").told.startswith(
        "backstrap: 3 packs, 2.70 lb; besides, HELD: 1 pack, 0.90 lb."
    )
    assert house.ok("count", "backstrap", "--json").json["held"]["packages"] == 1


def test_trust_says_which_to_check_next(house: House) -> None:
    red = codes_in(house, RED)
    assert [one["last_checked"] for one in house.ok("trust", "--json").json["places"]] == [None, None, None]
    house.ok("count", RED, stdin=lines(*red[:3], "done"))
    house.ok("count", RED, "--accept", "all")
    house.ok("count", GREEN, stdin=lines(*codes_in(house, GREEN), "done"))
    house.ok("take", red[0])
    found = {one["place"]: one for one in house.ok("trust", "--json").json["places"]}
    assert found[RED]["surprises"] == 1
    assert (found[RED]["acts_since"], found[GREEN]["acts_since"]) == (1, 0)
    assert found[RED]["next"] < found[GREEN]["next"]
    house.ok("move", codes_in(house, GREEN)[0], "--to", RED)
    assert {one["place"]: one["acts_since"] for one in house.ok("trust", "--json").json["places"]}[GREEN] == 1


def test_what_a_count_proposes_names_one_place_where_two_freezers_have_it(house: House) -> None:
    house.ok("place", "add", RED, "--freezer", "Kitchen")
    red, cure = codes_in(house, f"{RED}, Garage chest"), f'freezerbox count "{RED}, Garage chest"'
    assert cure in house.refused("count", f"{RED}, Garage chest", "--accept", "all").said
    assert cure in house.ok("count", f"{RED}, Garage chest", stdin=lines(red[0])).told
    assert f"{cure} --accept all" in house.ok("count", f"{RED}, Garage chest", stdin=lines("done")).told
    house.ok("count", GREEN, stdin=lines(*codes_in(house, GREEN), "done"))
    assert f"Check next: {cure}" in house.ok("trust").told


def test_a_lost_freezer_is_a_list_with_weights_and_prices(house: House) -> None:
    house.ok("settings", "price:any", "4")
    house.ok("settings", "price:backstrap", "14")
    before = all_places(house)
    report = house.ok("lost", "--place", "Garage chest", "--json").json
    assert report["totals"]["packages"] == 8
    # 3.60 lb at 14.00 and 4.43 lb at 4.00, each pack to the cent.
    assert report["total_worth"] == pytest.approx(3.60 * 14 + 4.43 * 4, abs=0.04)
    assert report["total_worth"] == pytest.approx(sum(report["worth"]), abs=0.001)
    assert all_places(house) == before
    report = house.ok("lost", "--place", "Garage chest", "--yes", "--json").json
    assert report["marked"]
    assert {state for state, _ in all_places(house).values()} == {"gone"}
    assert house.refused("lost", "--place", "Garage chest").status == 1
    house.ok("undo")
    assert all_places(house) == before


def test_what_was_there_on_a_day(house: House) -> None:
    code = codes_in(house, RED)[0]
    later = house.at("2026-12-10T18:00")
    later.ok("take", code)
    assert later.ok("lost", "--place", RED, "--json").json["totals"]["packages"] == 3
    assert later.ok("lost", "--place", RED, "--on", "2026-12-09", "--json").json["totals"]["packages"] == 4
    assert later.refused("lost", "--place", RED, "--on", "2026-12-09", "--yes").status == 2


@pytest.mark.parametrize("seed", range(12))
def test_accepted_packages_are_where_they_were_seen_and_no_other_moved(
    shelves: House, tmp_path: Path, seed: int
) -> None:
    house, chance = copy_of(shelves, tmp_path), random.Random(seed)
    every = list(all_places(house))
    if seed % 3 == 0:
        house.ok("take", every[seed % len(every)])
    seen = chance.sample(every, chance.randrange(len(every) + 1))
    name = chance.choice((RED, GREEN))
    before = all_places(house)
    house.ok("count", name, stdin=lines(*seen, *chance.sample(seen, len(seen)), "done"))
    assert all_places(house) == before
    house.ok("count", name, "--accept", "all")
    after = all_places(house)
    assert {after[code] for code in seen} <= {("frozen", name)}
    assert {code: after[code] for code in every if code not in seen} == {
        code: before[code] for code in every if code not in seen
    }
    assert house.ok("check", "--json").json["faults"] == []


def test_signs_and_cards_are_not_counted(basket: tuple[House, list[str], str]) -> None:
    """A scanner sweeps over the sheet: the cards for undo and done do what they say, the others are no packs."""
    house, red, _ = basket
    sign = str(place(house, GREEN)["code"])
    result = house.ok("count", RED, stdin=lines(red[0], red[1], "0VND09", sign, "0CNT8B", red[2], red[2], "0D8NEG"))
    assert result.err.count("is a sign's or a card's code, and no package's. Not counted.") == 2
    assert f"{red[1][:3]}-{red[1][3:]} not seen." in result.told
    assert "SEEN BEFORE, counted once: " in result.told
    assert "2 as expected, 10 missing." in result.told
    assert "not in this book" not in result.told


def test_a_lot_asks_how_many_lie_there(basket: tuple[House, list[str], str]) -> None:
    house, _, _ = basket
    lot = house.ok("pack", "ground beef", "2", "--lot", "72", "--place", RED, "--json").json["packages"][0]["code"]
    said = house.ok("count", RED, stdin=lines(lot, "64", lot, f"{lot} 72")).out.splitlines()
    assert said[0].startswith("A LOT, 72 LISTED, 1 seen: ")
    assert said[0].endswith("Type how many lie here.")
    assert said[1].startswith("64 COUNTED, 72 LISTED, 1 seen: ")
    assert said[2].startswith("SEEN BEFORE")
    assert said[3].startswith("RIGHT, 1 seen: ")


def of_lots(house: House) -> dict[str, tuple[int, str | None]]:
    """How many there are of each package of ribeye that is in the freezer, and where."""
    rows = house.ok("find", "ribeye", "--json").json["rows"]
    return {row["code"]: (row["quantity"], row["place"]) for row in rows}


def lot_in(house: House, number: int, name: str) -> str:
    return str(
        house.ok("pack", "ribeye", "1", "--lot", str(number), "--species", "beef", "--place", name, "--json").json[
            "packages"
        ][0]["code"]
    )


def test_some_of_a_lot_seen_elsewhere_are_parted_off_and_none_is_lost(house: House) -> None:
    lot = lot_in(house, 12, GREEN)
    said = house.ok("count", "top layer", stdin=lines(f"{lot} 3", "done")).told
    assert "3 counted here, 12 listed in green basket - part them off the lot? The rest stays there" in said
    assert (
        "New code, part of a lot whose rest stays where it was: "
        in house.ok("count", "top layer", "--accept", "all").told
    )
    found = of_lots(house)
    assert found.pop(lot) == (9, GREEN)
    ((part, held),) = found.items()
    assert held == (3, "top layer")
    # The bags still bear the label of the whole lot: here it means the part.
    report = house.ok("count", "top layer", "--json", stdin=lines(f"{lot} 3", "done")).json
    assert [row["code"] for row in report["expected"]] == [part]
    assert (report["lots"], report["elsewhere"], report["missing"]) == ([], [], [])
    assert house.ok("check", "--json").json["faults"] == []


def test_what_one_count_missed_of_a_lot_the_next_finds_elsewhere(house: House) -> None:
    lot = lot_in(house, 12, GREEN)
    others = [code for code in codes_in(house, GREEN) if code != lot]
    house.ok("count", GREEN, stdin=lines(*others, f"{lot} 9", "done"))
    house.ok("count", GREEN, "--accept", "all")
    house.ok("count", "top layer", stdin=lines(f"{lot} 3", "done"))
    house.ok("count", "top layer", "--accept", "all")
    assert sorted(of_lots(house).values()) == [(3, "top layer"), (9, GREEN)]
    assert "3 found again" in house.ok("history", lot).told
    assert house.ok("check", "--json").json["faults"] == []
    house.ok("undo")
    assert of_lots(house) == {lot: (9, GREEN)}


def test_a_lot_that_grew_is_where_it_was_counted(house: House) -> None:
    lot = lot_in(house, 12, GREEN)
    house.ok("count", "top layer", stdin=lines(f"{lot} 14", "done"))
    house.ok("count", "top layer", "--accept", "all")
    assert of_lots(house) == {lot: (14, "top layer")}
    # None of it here is no news of a lot that is listed elsewhere, or gone.
    assert house.ok("count", RED, "--json", stdin=lines(f"{lot} 0", "done")).json["elsewhere"] == []
    house.ok("discard", *[lot] * 14)
    report = house.ok("count", "top layer", "--json", stdin=lines(f"{lot} 5", "done")).json
    assert [(one["package"]["code"], one["counted"]) for one in report["lots"]] == [(lot, 5)]
    house.ok("count", "top layer", "--accept", "all")
    assert of_lots(house) == {lot: (5, "top layer")}
    assert house.ok("check", "--json").json["faults"] == []


@pytest.mark.parametrize("seed", range(8))
def test_whatever_is_counted_where_no_lot_is_below_nothing_and_none_is_lost_by_being_seen(
    shelves: House, tmp_path: Path, seed: int
) -> None:
    """A lot really lies in up to three places; each place is counted once, truly: at the end the list is true."""
    house, chance = copy_of(shelves, tmp_path), random.Random(seed)
    names = [RED, GREEN, "top layer"]
    lot = lot_in(house, 12, chance.choice(names))
    cuts = sorted(chance.randrange(13) for _ in range(2))
    really = dict(zip(names, (cuts[0], cuts[1] - cuts[0], 12 - cuts[1]), strict=True))
    for name in chance.sample(names, 3):
        own = [code for code in codes_in(house, name) if code != lot]
        seen = lines(*own, *([f"{lot} {really[name]}"] if really[name] else []), "done")
        if "To accept" in house.ok("count", name, stdin=seen).out:
            house.ok("count", name, "--accept", "all")
        assert all(number > 0 for number, _ in of_lots(house).values())
    told = dict.fromkeys(names, 0)
    for number, where in of_lots(house).values():
        told[str(where)] += number
    assert {name: told[name] for name in names if really[name]} == {n: really[n] for n in names if really[n]}
    assert house.ok("check", "--json").json["faults"] == []


def test_what_lies_loose_in_a_freezer_is_counted_by_the_freezers_name(house: House) -> None:
    loose = [
        row["code"]
        for row in house.ok(
            "pack", "shank", "1", "1.1", "1.2", "--species", "deer", "--freezer", "Kitchen", "--json"
        ).json["packages"]
    ]
    trusted = {one["place"]: one for one in house.ok("trust", "--json").json["places"]}
    assert trusted["Kitchen"]["loose"]
    assert (trusted["Kitchen"]["packages"], trusted["Kitchen"]["last_checked"]) == (3, None)
    assert "loose in Kitchen" in house.ok("trust").out
    red = codes_in(house, RED)[0]
    said = house.ok("count", "kitchen", stdin=lines(loose[0], red, "done")).told
    assert "Loose in Kitchen: 2 codes seen, 3 listed. 1 as expected, 1 not expected here (listed in red bag)" in said
    assert 'freezerbox count "loose in Kitchen" --accept all' in said
    house.ok("count", "loose in Kitchen", "--accept", "all")
    assert house.ok("show", red, "--json").json["freezer"] == "Kitchen"
    assert all_places(house)[red] == ("frozen", None)
    assert {row["code"] for row in house.ok("lost", "--json").json["rows"]} == set(loose[1:])
    trusted = {one["place"]: one for one in house.ok("trust", "--json").json["places"]}
    assert (trusted["Kitchen"]["last_checked"], trusted["Kitchen"]["surprises"]) == ("2026-12-02", 3)
    assert trusted["Kitchen"]["acts_since"] == 0
    house.ok("take", red)
    assert {one["place"]: one["acts_since"] for one in house.ok("trust", "--json").json["places"]}["Kitchen"] == 1
    # What lies in the baskets of a freezer is not loose in it; a freezer alone may also be said with --freezer.
    assert house.ok("count", "--freezer", "Garage chest", "--json").json["missing"] == []
    assert house.ok("check", "--json").json["faults"] == []
    house.refused("count", "loose")


def test_a_freezer_without_a_place_is_counted_as_a_whole(house: House) -> None:
    lot = str(
        house.ok(
            "pack", "ribeye", "--each", "1", "--lot", "12", "--species", "beef", "--freezer", "Kitchen", "--json"
        ).json["packages"][0]["code"]
    )
    house.ok("count", "Kitchen", stdin=lines(f"{lot} 10", "done"))
    house.ok("count", "Kitchen", "--accept", "all")
    assert of_lots(house) == {lot: (10, None)}
    house.ok("count", RED, stdin=lines(*codes_in(house, RED), f"{lot} 5", "done"))
    house.ok("count", RED, "--accept", "all")
    assert sorted(number for number, _ in of_lots(house).values()) == [5, 7]
