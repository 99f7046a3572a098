"""What to eat first: order, bands, filters, what stands apart, and 80 columns."""

from __future__ import annotations

import pytest

from tests.cli.process import START, House, codes_in


def add(house: House, *arguments: str) -> str:
    """Code of one package packed."""
    (row,) = house.ok("pack", *arguments, "--json").json["packages"]
    return str(row["code"])


@pytest.fixture
def larder(bare: House) -> tuple[House, dict[str, str]]:
    """A house with one of each band and kind, and their codes."""
    bare.ok(*START)
    bare.ok("place", "add", "left basket")
    codes = {
        "roast": add(bare, "chuck roast", "3.2", "--species", "beef", "--first-frozen", "10 nov 2025"),
        "ground": add(bare, "ground", "1.1", "--species", "whitetail", "--first-frozen", "1 mar 2026"),
        "old": add(bare, "pork loin chops", "1", "--first-frozen", "2025-01-10"),
        "elk": add(bare, "ground", "1", "--species", "elk", "--first-frozen", "2026-03-05", "--place", "left basket"),
        "fresh": add(bare, "backstrap", "1", "--species", "mule deer", "--first-frozen", "2026-03-20"),
        "chili": add(bare, "other", "chili", "2"),
        "anna": add(bare, "ground", "1", "--species", "elk", "--first-frozen", "2026-03-01", "--owner", "Anna"),
    }  # fmt: skip
    return bare.at("2026-05-25T18:00"), codes


def best_by(house: House, code: str) -> object:
    return house.ok("show", code, "--json").json["best_by"]


def order(house: House, *arguments: str) -> list[str]:
    return [row["code"] for row in house.ok("rotation", *arguments, "--json").json["rows"]]


def test_first_expired_first_which_is_not_oldest_first(bare: House) -> None:
    """Check row 68 of the food notes: a roast of 10 Nov at 12 months outlasts ground venison of 1 Mar at 3."""
    bare.ok(*START)
    roast = add(bare, "chuck roast", "3.2", "--species", "beef", "--first-frozen", "10 nov 2025")
    ground = add(bare, "ground", "1.1", "--species", "whitetail", "--first-frozen", "1 mar 2026")
    spring = bare.at("2026-03-02T18:00")
    rows = spring.ok("rotation", "--json").json["rows"]
    assert [(row["code"], row["best_by"]) for row in rows] == [(ground, "2026-06-01"), (roast, "2026-11-10")]
    listed = [code for line in spring.ok("rotation").out.splitlines() for code in codes_in(line)]
    assert [code.replace("-", "") for code in listed] == [ground, roast]


def test_bands_and_their_days(larder: tuple[House, dict[str, str]]) -> None:
    house, codes = larder
    rows = {row["code"]: row for row in house.ok("rotation", "--json").json["rows"]}
    # Months of the default guide: roast 12, ground game 3, chops 6, backstrap of game 12; use-next a quarter before.
    for name, band, best_by in (
        ("old", "past-best", "2025-07-10"),
        ("ground", "use-next", "2026-06-01"),
        ("elk", "use-next", "2026-06-05"),
        ("roast", "keeps", "2026-11-10"),
        ("fresh", "keeps", "2027-03-20"),
    ):
        assert (rows[codes[name]]["band"], rows[codes[name]]["best_by"]) == (band, best_by), name
    assert rows[codes["ground"]]["age_months"] == 2
    assert rows[codes["roast"]]["age_months"] == 6
    on_the_day = {
        row["code"]: row["band"] for row in house.at("2026-06-01T18:00").ok("rotation", "--json").json["rows"]
    }
    assert on_the_day[codes["ground"]] == "use-next"
    after = {row["code"]: row["band"] for row in house.at("2026-06-02T18:00").ok("rotation", "--json").json["rows"]}
    assert after[codes["ground"]] == "past-best"
    text = house.ok("rotation").out
    heads = [text.index(head) for head in ("\nPast best:\n", "\nUse next:\n", "\nKeeps:\n")]
    assert heads == sorted(heads)
    assert "past best: 1 pack, 1.00 lb; use next: 2 packs, 2.10 lb; keeps: 2 packs, 4.20 lb." in text


def test_filters(larder: tuple[House, dict[str, str]]) -> None:
    house, codes = larder
    assert order(house) == [codes[name] for name in ("old", "ground", "elk", "roast", "fresh")]
    assert order(house, "--within", "1") == [codes[name] for name in ("old", "ground", "elk")]
    assert order(house, "--within", "6") == [codes[name] for name in ("old", "ground", "elk", "roast")]
    assert order(house, "--species", "elk") == [codes["elk"]]
    assert order(house, "--species", "deer") == [codes["ground"], codes["elk"], codes["fresh"]], "the wider word"
    assert order(house, "--species", "whitetail") == [codes["ground"]]
    assert order(house, "--cut", "ground") == [codes["ground"], codes["elk"]]
    assert order(house, "--place", "LEFT basket") == [codes["elk"]]
    assert order(house, "--limit", "2") == [codes["old"], codes["ground"]]
    assert house.ok("rotation", "--limit", "2", "--json").json["more"] == 3
    assert "... and 3 more: --all shows every one." in house.ok("rotation", "--limit", "2").out
    assert order(house, "--everyone") == [codes[name] for name in ("old", "anna", "ground", "elk", "roast", "fresh")]


def test_twelve_rows_unless_all(house: House) -> None:
    assert len(order(house)) == 12
    assert len(order(house, "--all")) == 14
    assert len(order(house, "--limit", "13")) == 13
    assert house.ok("rotation").out.count("Loin chops, half hog") == 12
    # Totals are of all, not of what is shown.
    assert "keeps: 14 packs, 14.71 lb." in house.ok("rotation").out


def test_no_figure_at_the_end_and_held_apart(house: House) -> None:
    chili = add(house, "other", "chili", "2")
    found = house.ok("rotation", "--json").json
    held = {row["code"] for row in found["held"]}
    assert len(held) == 4
    assert held.isdisjoint(order(house, "--all"))
    assert [row["code"] for row in found["no_figure"]] == [chili]
    text = house.ok("rotation").out
    places = [text.index(words) for words in ("\nKeeps:", "HELD, not to be eaten", "No keeping figure", "Source: ")]
    assert places == sorted(places)
    assert "test pending since 21 Nov: Backstrap half, whitetail doe 26B (4 packs" in text
    assert "  chili  " in text[places[2] :]


def test_not_for_people_is_no_meal(bare: House) -> None:
    bare.ok(*START)
    dog = add(bare, "dog food", "2", "--species", "deer")
    found = bare.ok("rotation", "--json").json
    assert dog not in [row["code"] for row in (*found["rows"], *found["no_figure"], *found["held"])]


def test_taken_lately_is_on_top_until_its_day_is_over(house: House) -> None:
    """Days of the thaw table: chops 3 to 5 once thawed, so out on a Wednesday means by next Tuesday."""
    codes = order(house, "--all")
    mine, annas = codes[0], codes[1]
    house.ok("fix", annas, "--owner", "Anna")
    house.ok("take", mine)
    house.ok("take", annas)
    text = house.ok("rotation").out
    assert f"OUT since Wednesday, cook by Tuesday: {mine[:3]}-{mine[3:]}  Loin chops" in text
    assert annas[:3] + "-" + annas[3:] not in text
    assert text.index("OUT since") < text.index("Keeps:")
    out = house.ok("rotation", "--json").json["out"]
    assert [(one["package"]["code"], one["cook_by"]) for one in out] == [(mine, "2026-12-08")]
    assert len(house.ok("rotation", "--everyone", "--json").json["out"]) == 2
    assert "OUT since Wednesday" in house.at("2026-12-07T18:00").ok("rotation").out
    assert "OUT since" not in house.at("2026-12-09T18:00").ok("rotation").out
    house.ok("put-back", mine)
    assert "OUT since" not in house.ok("rotation").out


def test_other_ways_out_are_not_waiting_to_be_cooked(house: House) -> None:
    for code, reason in zip(
        order(house, "--all"), ("given", "discarded", "lost", "canned", "fed-to-dog"), strict=False
    ):
        house.ok("take", code, "--as", reason)
    assert "OUT since" not in house.ok("rotation").out


def test_the_guide_in_use_and_ones_own_figures(house: House) -> None:
    assert {row["best_by"] for row in house.ok("rotation", "--json").json["rows"]} == {"2027-06-02"}
    house.ok("guide", "set", "pork chops", "4", "8")
    found = house.ok("rotation", "--json").json
    assert {row["best_by"] for row in found["rows"]} == {"2027-08-02"}
    assert {row["source"] for row in found["rows"]} == {"this household"}
    house.ok("undo")
    pork = add(house, "ground", "1", "--species", "pork")
    # Ground meat: 3-4 months by the federal chart of 2018, 10 by the refrigeration institute's table of 1972.
    assert best_by(house, pork) == "2027-04-02"
    house.ok("guide", "use", "refrigeration-1972")
    assert best_by(house, pork) == "2027-10-02"
    assert house.ok("rotation", "--json").json["guide"] == "refrigeration-1972"


def test_an_empty_freezer_says_so(bare: House) -> None:
    bare.ok(*START)
    assert "Nothing with a keeping figure" in bare.ok("rotation").out


LONG = "the long blue basket under the left lid "[:40].strip()


def test_never_wider_than_eighty_columns(house: House) -> None:
    house.ok("place", "add", LONG)
    for words in ("old grandmother's seven bean chili, hot!", "chili"):
        add(house, "other", words, "1", "--place", LONG, "--note", "w " * 60)
    add(house, "sirloin tip", "1", "--animal", "26B", "--form", "bone-in roast", "--place", LONG, "--yes")
    add(house, "chicken breast", "1", "--place", LONG)
    (lot,) = house.ok("pack", "bratwurst", "1", "--lot", "1999", "--species", "wild pig", "--json").json["packages"]
    for code in order(house, "--all")[:3]:
        house.ok("take", code)
    for arguments in (
        ("rotation", "--all"), ("rotation",), ("--today", "2031-07-01", "rotation", "--all"), ("find", LONG),
        ("find", "chili"), ("find", "26B"), ("show", lot["code"]), ("history", lot["code"]), ("guide", "show"),
        ("guide", "list"), ("settings",), ("animal", "show", "26B"), ("undo", "--list"),
    ):  # fmt: skip
        wide = [line for line in house.ok(*arguments).out.splitlines() if len(line) > 80]
        assert not wide, arguments
