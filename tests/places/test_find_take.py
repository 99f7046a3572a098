"""Finding by this household's words, taking by words, the balance, the list on the lid."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.cli.process import House, copy_of
from tests.places.look import codes_in

LB_G = 453.59237
RED, GREEN = "red bag", "green basket"


def found(house: House, *words: str) -> list[str]:
    return [row["code"] for row in house.ok("find", *words, "--json").json["rows"]]


@pytest.fixture
def cellar(house: House) -> House:
    """Scenario 6 to 8: backstraps of two seasons, a tenderloin, and two seasons of ground."""
    add = ("--species", "whitetail", "--place")
    house.ok("pack", "backstrap", "1.3", *add, "top layer", "--first-frozen", "nov 2023")
    house.ok("pack", "tenderloin", ".5", *add, RED)
    house.ok("pack", "ground", "1", "1", *add, "top layer", "--fat", "none")
    house.ok("pack", "ground", "1.1", *add, GREEN, "--first-frozen", "oct 2025", "--fat", "none")
    return house


@pytest.mark.parametrize("words", ["backstrap", "deer loins", "back straps", "BS"])
def test_backstrap_please(cellar: House, words: str) -> None:
    """Scenario 6: the same muscle in the order to take them; the neighbour is offered apart.

    The hog here has a loin too, so "loins" alone would show both under headings.
    """
    report = cellar.ok("find", words, "--json").json
    assert {row["cut"] for row in report["rows"]} == {"backstrap"}
    assert report["rows"][0]["first_frozen_on"] == "2023-11-01"
    assert report["totals"]["packages"] == 5
    assert "tenderloin" in {row["cut"] for row in report["nearby"]}
    said = cellar.ok("find", words).out
    assert said.startswith("5 packs, 4.90 lb, oldest Nov 2023")
    assert "Nearby" in said


def test_fillet_asks_which_of_two(cellar: House) -> None:
    cellar.ok("pack", "fillet", "1", "--species", "trout")
    said = cellar.ok("find", "fillet").out
    assert "Tenderloin (" in said
    assert "Fillet (" in said
    assert cellar.refused("take", "fillet").status == 2


def test_oldest_first_really(cellar: House) -> None:
    """Scenario 7: accepted, with one quiet line about the older one."""
    new = next(
        row["code"]
        for row in cellar.ok("find", "ground", "--json").json["rows"]
        if row["first_frozen_on"] == "2026-12-02"
    )
    said = cellar.ok("scan", stdin=f"{new}\n").out.splitlines()
    assert len(said) == 2
    assert "taken" in said[0]
    assert "An older one, 14 months" in said[1]
    assert "green basket" in said[1]


def test_one_stroke_take_out_wrong_pack(cellar: House) -> None:
    """Scenario 8: undo puts it back where it was; a month after it was eaten a scan says so."""
    code = codes_in(cellar, RED)[0]
    before = cellar.ok("show", code, "--json").json
    cellar.ok("scan", stdin=f"{code}\nundo\n")
    after = cellar.ok("show", code, "--json").json
    assert {**after, "history": 0} == {**before, "history": 0}
    assert len(after["history"]) == len(before["history"]) + 2
    january = cellar.at("2027-01-12T18:00")
    january.ok("take", code)
    february = cellar.at("2027-02-13T18:00")
    result = february.call("scan", stdin=f"{code}\n")
    assert "12 Jan" in result.out
    assert "put-back" in result.out
    asked = february.refused("put-back", code)
    assert asked.status == 1
    assert "--thawed" in asked.err
    assert "--still-frozen" in asked.err
    february.ok("put-back", code, "--still-frozen")
    assert february.ok("show", code, "--json").json["times_frozen"] == 1
    february.ok("undo")
    february.ok("put-back", code, "--thawed")
    row = february.ok("show", code, "--json").json
    assert (row["place"], row["first_frozen_on"], row["times_frozen"]) == (RED, before["first_frozen_on"], 2)


def test_the_first_to_expire_is_taken_by_words(cellar: House) -> None:
    done = cellar.ok("take", "ground", "2", "--json").json["done"]
    assert [row["first_frozen_on"] for row in done] == ["2025-10-01", "2026-12-02"]
    assert {row["state"] for row in done} == {"gone"}
    done = cellar.ok("take", "ground", "--from", "top layer", "--on", "today", "--json").json["done"]
    assert done[0]["place"] == "top layer"
    assert "there are 0 of ground" in cellar.refused("take", "ground").err.lower()


def test_taking_by_words_asks_when_the_list_cannot_tell(cellar: House) -> None:
    result = cellar.refused("take", "backstrap")
    assert result.status == 1
    assert "different animals" in result.err
    assert "--yes" in result.err
    (row,) = cellar.ok("take", "backstrap", "--yes", "--json").json["done"]
    assert row["first_frozen_on"] == "2023-11-01"
    (row,) = cellar.ok("take", "backstrap", "26A", "--json").json["done"]
    assert row["animals"] == ["26A"]
    cellar.ok("hold", codes_in(cellar, "top layer")[0], "--why", "smelt odd")
    assert "HELD" in cellar.refused("take", "ground", "--from", "top layer").err


def test_held_packs_are_not_taken_by_words(house: House) -> None:
    house.ok("hold", "26A", "--why", "test pending")
    assert "HELD" in house.refused("take", "backstrap").err
    assert house.refused("take", "xyzzy").status == 2
    assert house.refused("take", "K7P3MX").status == 2
    assert house.refused("take").status == 2


def test_the_prompt_knows_words_from_codes() -> None:
    from freezerbox.core.code import looks_like_code

    assert [word for word in ("ground", "tongue", "liver", "oxtail", "flank") if looks_like_code(word)] == []
    assert [text for text in ("K7P-3MT", "k7p3mx", " k7p 3mt ") if not looks_like_code(text)] == []


def test_this_household_says_deer_burger(cellar: House) -> None:
    cellar.ok("words", "add", "deer burger", "ground")
    assert set(found(cellar, "deer", "burger")) == set(found(cellar, "ground"))
    assert cellar.ok("pack", "deer burger", "1", "--species", "deer", "--json").json["packages"][0]["cut"] == "ground"
    assert cellar.ok("words", "--json").json == {"words": {"deer burger": "ground"}}
    assert cellar.refused("words", "add", "deer burger", "ground").status == 1
    assert cellar.refused("words", "add", "thing", "wombat").status == 2
    assert cellar.refused("words", "add", "thing", "fillet").status == 2
    cellar.ok("words", "remove", "deer burger")
    assert cellar.refused("words", "remove", "deer burger").status == 1


def test_find_extras(cellar: House) -> None:
    october = cellar.ok("find", "oct", "2025", "--json").json["rows"]
    assert [row["first_frozen_on"] for row in october] == ["2025-10-01"] * 2
    stew = cellar.ok("pack", "stew", "1", "--species", "deer", "--json").json["packages"][0]["code"]
    shank = cellar.ok("pack", "shank", "1", "--species", "deer", "--json").json["packages"][0]["code"]
    assert set(found(cellar, "anything", "for", "stew")) == {stew, shank}
    assert found(cellar, "anything", "for", "burgers") == found(cellar, "ground")
    assert len(found(cellar, "everything")) == 15
    assert set(found(cellar, "ground", "no", "fat")) == set(found(cellar, "ground"))
    assert found(cellar, "ground", "20%") == []
    assert set(found(cellar, "ground", "green", "basket")) < set(found(cellar, "ground"))


def test_where_all_is_set_aside_none_is_free_and_it_is_said_for_what(cellar: House) -> None:
    cellar.ok("pack", "chili", "2", "2.1", "--for", "Saturday")
    said = " ".join(cellar.ok("find", "chili").out.split())
    assert "None free of chili. Reserved: 2 packs, 4.10 lb, for Saturday (see: freezerbox find chili" in said
    assert "None: no" not in said
    assert "2 packs, 4.10 lb" in cellar.ok("find", "chili", "--reserved").out


def test_what_is_set_aside_is_out_of_other_searches(cellar: House) -> None:
    code = cellar.ok("pack", "backstrap", "1", "--species", "deer", "--for", "Saturday", "--json").json["packages"][
        0
    ]["code"]
    report = cellar.ok("find", "backstrap", "--json").json
    assert code not in [row["code"] for row in report["rows"]]
    assert [row["code"] for row in report["reserved"]] == [code]
    assert report["totals"]["packages"] == 5
    assert "Reserved, not counted: 1 pack, 1.00 lb, for Saturday" in cellar.ok("find", "backstrap").out
    assert found(cellar, "backstrap", "--reserved") == [code]


def test_a_pack_in_the_cabin_is_not_here(cellar: House) -> None:
    cellar.ok("freezer", "add", "Cabin", "--away")
    code = codes_in(cellar, RED)[0]
    cellar.ok("move", code, "--to", "Cabin")
    report = cellar.ok("find", "backstrap", "--json").json
    assert code not in [row["code"] for row in report["rows"]]
    assert [row["code"] for row in report["away"]] == [code]
    assert "Elsewhere, not here: 1 pack" in cellar.ok("find", "backstrap").out
    assert found(cellar, "backstrap", "cabin") == [code]
    assert cellar.ok("take", "backstrap", "--from", "Cabin", "--json").json["done"][0]["code"] == code


def test_other_peoples_and_the_dogs_are_apart(cellar: House) -> None:
    cellar.ok("pack", "backstrap", "1", "--species", "deer", "--owner", "Sam")
    dog = cellar.ok("pack", "dog scraps", "2", "--species", "deer", "--json").json["packages"][0]["code"]
    assert len(found(cellar, "backstrap")) == 5
    assert len(found(cellar, "backstrap", "--everyone")) == 6
    report = cellar.ok("balance", "--json").json
    assert report["others"]["packages"] == 1
    assert [line["use"] for line in report["not_for_people"]] == ["not-for-people"]
    assert all(dog != row["code"] for row in cellar.ok("rotation", "--all", "--json").json["rows"])
    assert "Apart - NOT FOR PEOPLE" in cellar.ok("balance").out


def test_what_is_kept_for_the_dog_is_apart_and_goes_to_the_dog(cellar: House) -> None:
    dog = cellar.ok("pack", "dog scraps", "3", "--animal", "26A", "--json").json["packages"][0]["code"]
    for words in ("deer", "26A", "anything"):
        report = cellar.ok("find", words, "--json").json
        assert [row["code"] for row in report["not_for_people"]] == [dog]
        assert dog not in [row["code"] for row in report["rows"]]
        assert report["totals"]["packages"] == len(report["rows"])
        assert "NOT FOR PEOPLE, not counted: 1 pack, 3.00 lb" in cellar.ok("find", words).told
    for words in ("dog", dog):
        assert found(cellar, words) == [dog]
    assert cellar.ok("take", "dog", "--json").json["done"][0]["reason"] == "fed-to-dog"
    cellar.ok("undo")
    assert cellar.ok("scan", "--json", stdin=f"{dog}\n").json_lines[0]["package"]["reason"] == "fed-to-dog"


def test_what_is_lost_names_owners_and_prices_no_dog_food(cellar: House) -> None:
    add = ("--species", "deer", "--place", RED)
    cellar.ok("pack", "shank", "1", "--owner", "Pat", *add)
    cellar.ok("pack", "dog scraps", "2", *add)
    cellar.ok("settings", "price:any", "8.00")
    report = cellar.ok("lost", "--place", RED, "--json").json
    worth = dict(zip([row["cut"] for row in report["rows"]], report["worth"], strict=True))
    assert worth["dog-scraps"] is None
    said = cellar.ok("lost", "--place", RED).told
    assert "Shank, Deer, Pat's" in said
    assert "not for people" in said
    assert "without a price" not in said


def test_what_is_only_somebody_elses_is_said_to_be_there(cellar: House) -> None:
    """ "No liver in the freezer" would be wrong; whoever names the owner has asked for it."""
    cellar.ok("pack", "liver", "1", "--species", "deer", "--owner", "Sam")
    said = cellar.ok("find", "liver").told
    assert "None: no liver of ours in the freezer." in said
    assert "1 pack, 1.00 lb of Sam. With --everyone" in said
    assert found(cellar, "liver") == []
    assert len(found(cellar, "sam")) == len(found(cellar, "liver", "sam")) == 1
    assert cellar.refused("take", "liver", "1").status == 1


def test_balance_adds_up_and_says_what_is_not_known(cellar: House) -> None:
    for _ in range(3):
        cellar.ok("pack", "shank", "x", "--species", "deer")
    report = cellar.ok("balance", "--json").json
    every = len(found(cellar, "everything"))
    assert report["totals"]["packages"] == every == sum(line["totals"]["packages"] for line in report["lines"])
    assert sum(place["totals"]["packages"] for place in report["places"]) == every
    slow = next(line for line in report["lines"] if line["use"] == "slow")
    assert slow["totals"] == {"packages": 3, "net_g": 0, "unweighed": 3}
    assert slow["meals"] is None
    said = cellar.ok("balance").out
    assert "3 packs, weight not known" in said
    assert "No pace before thirty days" in said
    assert all(line["weeks_left"] is None for line in report["lines"])


def test_meals_and_weeks_and_the_month_it_runs_out(house: House) -> None:
    house.ok("settings", "people", "4")
    lot = house.ok("pack", "ground beef", "--lot", "72", "--each", "2lb", "--place", "top layer", "--json").json[
        "packages"
    ][0]["code"]  # fmt: skip
    early = house.at("2026-12-20T18:00")
    for _ in range(4):
        early.ok("take", lot)
    assert all(line["weeks_left"] is None for line in early.ok("balance", "--json").json["lines"])
    later = house.at("2027-01-11T18:00")  # forty days of history
    line = next(one for one in later.ok("balance", "--json").json["lines"] if one["use"] == "ground")
    # 68 x 2 lb at 4 x 2 lb in 40 days; a meal is half a pound for four.
    assert line["meals"] == 68
    assert line["weeks_left"] == pytest.approx(68 / (4 / 40) / 7, abs=0.01)
    assert line["packs_a_week"] == pytest.approx(0.7, abs=0.001)
    assert line["runs_out"] == "2028-11-21"
    # What was taken back does not count as eaten, and a split is no meal.
    early.ok("undo")
    later.ok("split", lot, "--off", "9")
    line = next(one for one in later.ok("balance", "--json").json["lines"] if one["use"] == "ground")
    assert line["packs_a_week"] == pytest.approx(3 * 7 / 40, abs=0.001)
    assert line["totals"]["packages"] == 69


def test_a_freezers_room_with_its_assumption(house: House) -> None:
    (chest,) = [one for one in house.ok("balance", "--json").json["freezers"] if one["cu_ft"]]
    lb = chest["totals"]["net_g"] / LB_G
    assert chest["used"]["stacked"] == pytest.approx(lb / (15 * 35), abs=0.0002)
    assert chest["used"]["mixed"] == pytest.approx(lb / (15 * 22), abs=0.0002)
    said = house.ok("balance").out
    assert "35 lb a cubic foot" in said
    assert "22 lb a cubic foot" in said


def text_of(house: House, name: str) -> list[str]:
    import pypdfium2

    document = pypdfium2.PdfDocument(house.folder / name)
    pages = [page.get_textpage().get_text_range() for page in document]
    document.close()
    return pages


def test_the_list_on_the_lid_and_its_ticks(cellar: House) -> None:
    cellar.ok("hold", codes_in(cellar, RED)[0], "--why", "smelt odd")
    lot = cellar.ok("pack", "ground beef", "--lot", "72", "--each", "2lb", "--place", "top layer", "--json").json[
        "packages"
    ][0]["code"]  # fmt: skip
    report = cellar.ok("lid", "--freezer", "Garage chest", "--to", "lid.pdf", "--json").json
    assert report["pages"] == 1
    (page,) = text_of(cellar, "lid.pdf")
    for words in ("Ground: burgers", "HELD - DO NOT EAT", "2 Dec 2026", "take --ticks", "red bag", "72 of them"):
        assert words in page
    codes = report["codes"]
    number = codes.index(lot) + 1
    other = [at for at, code in enumerate(codes, start=1) if code != lot]
    extra = codes[other[4] - 1]
    later = cellar.at("2026-12-09T20:00")
    ticks = (f"{other[0]}-{other[0]}", f"{other[1]},{other[2]}", f"{number}x3", extra)
    done = later.ok("take", "--ticks", *ticks, "--on", "8 dec", "--json").json["done"]
    assert [row["code"] for row in done] == [codes[at - 1] for at in other[:3]] + [lot] * 3 + [extra]
    assert later.ok("show", lot, "--json").json["quantity"] == 69
    assert later.ok("show", codes[other[0] - 1], "--json").json["history"][-1]["on"] == "2026-12-08"
    # Lines from a pipe do as well.
    done = later.ok("take", "--ticks", "--json", stdin=f"{number}x2\n{other[5]}\n").json["done"]
    assert len(done) == 3
    for wrong in ("0", "99", "5-3", "abc", "3x0"):
        assert later.refused("take", "--ticks", wrong).status == 2
    assert later.refused("take", "--ticks", "1", "--freezer", "Kitchen").status == 1


def test_a_full_freezer_still_fits_one_page(house: House) -> None:
    cuts = (
        "backstrap",
        "shank",
        "ground",
        "stew",
        "sirloin tip",
        "neck",
        "liver",
        "heart",
        "italian sausage",
        "ribs",
    )
    for cut in cuts:
        house.ok("pack", cut, *["1"] * 15, "--species", "deer", "--place", "top layer")
    report = house.ok("lid", "--freezer", "Garage chest", "--to", "lid.pdf", "--json").json
    assert len(report["codes"]) == 158
    assert report["pages"] == 1
    (page,) = text_of(house, "lid.pdf")
    assert "158 1.00 lb" in " ".join(page.split())
    assert house.refused("lid", "--freezer", "Garage chest", "--to", "lid.txt").status == 2
    assert house.refused("lid", "--to", "other.pdf").status == 2
    assert house.refused("lid", "--freezer", "Kitchen", "--to", "other.pdf").status == 1


def test_a_list_that_hangs_on_the_lid_means_what_it_says_though_another_was_printed(cellar: House) -> None:
    garage = ("lid", "--freezer", "Garage chest", "--json", "--to")
    first = cellar.ok(*garage, "a.pdf").json
    assert (first["list"], cellar.ok(*garage, "b.pdf").json["list"]) == (1, 1)
    (page,) = text_of(cellar, "a.pdf")
    assert "List 1, printed 2 Dec 2026" in page
    assert "take --ticks --list 1" in page
    later = cellar.at("2026-12-06T20:00")
    later.ok("take", first["codes"][0])
    second = later.ok(*garage, "c.pdf").json
    assert (second["list"], second["codes"][0]) == (2, first["codes"][1])
    # The old sheet's 3 is the new one's 2.
    assert first["codes"][2] == second["codes"][1]
    done = later.ok("take", "--ticks", "--list", "1", "3", "--json").json["done"]
    assert [row["code"] for row in done] == [first["codes"][2]]
    assert later.ok("take", "--ticks", "3").out.startswith("By list 2 of 6 Dec 2026:\n")
    assert later.ok("show", second["codes"][2], "--json").json["state"] == "gone"
    assert "1 (2 Dec 2026), 2 (6 Dec 2026)" in later.refused("take", "--ticks", "--list", "9", "1").said


def test_a_place_and_a_season_in_the_words(cellar: House) -> None:
    """``red`` is the red bag and ``garage`` the chest when no food goes by that; ``23/24`` is a season's meat."""
    assert found(cellar, "backstrap", "red") == found(cellar, "backstrap", RED)
    assert set(found(cellar, "red")) == set(codes_in(cellar, RED))
    assert len(found(cellar, "garage")) == len(found(cellar, "everything"))
    assert [row["first_frozen_on"] for row in cellar.ok("find", "backstrap", "23/24", "--json").json["rows"]] == [
        "2023-11-01"
    ]
    assert set(found(cellar, "25/26")) == set(found(cellar, "oct", "2025"))
    assert cellar.refused("find", "23/25").status == 2
    # A food is a food, whatever a basket is called.
    cellar.ok("place", "add", "backstrap box", "--freezer", "Garage chest")
    assert len(found(cellar, "backstrap")) == 5
    assert cellar.refused("find", "wombat").status == 2


@pytest.mark.parametrize("seed", range(6))
def test_find_offers_nothing_as_here_that_is_gone_held_away_or_not_found(
    shelves: House, tmp_path: Path, seed: int
) -> None:
    """Whatever was done before: what is offered first is there, and what is not free is said to be so."""
    house, chance = copy_of(shelves, tmp_path), random.Random(seed)
    house.ok("freezer", "add", "Cabin", "--away")
    every = [row["code"] for row in house.ok("find", "everything", "--json").json["rows"]]
    done = {code: chance.choice(("stays", "gone", "held", "away", "not found")) for code in every}
    red = codes_in(house, RED)
    for code, what in done.items():
        if what == "gone":
            house.ok("discard", code)
        elif what == "held":
            house.ok("hold", code, "--why", "smelt odd")
        elif what == "away":
            house.ok("move", code, "--to", "Cabin")
    astray = {code for code in red if done[code] == "not found"}
    if astray:
        seen = [code for code in codes_in(house, RED) if code not in astray]
        house.ok("count", RED, stdin="".join(f"{code}\n" for code in (*seen, "done")))
        house.ok("count", RED, "--accept", "all")
    for words in ("everything", "backstrap", "chops", "garage"):
        report = house.ok("find", words, "--json").json
        codes = [row["code"] for row in report["rows"]]
        assert {done[code] for code in codes} <= {"stays", "held", "not found"}
        assert all(bool(row["holds"]) == (done[row["code"]] == "held") for row in report["rows"])
        ranks = [2 if done[code] == "held" else int(code in astray) for code in codes]
        assert ranks == sorted(ranks)
        assert {done[row["code"]] for row in report.get("away", [])} <= {"away"}
    if "stays" not in {done[code] for code in red}:
        house.refused("take", "backstrap", "--from", RED, "-y")
    else:
        (taken,) = house.ok("take", "backstrap", "--from", RED, "-y", "--json").json["done"]
        assert done[taken["code"]] == "stays"
