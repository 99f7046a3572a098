"""A season spans two years: edge check (iv), by the days of packing and taking; and what came in is what left."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from freezerbox.core.dates import parse_season, season, season_days
from freezerbox.errors import InvalidDate
from tests.cli.process import House, copy_of


def packs(report: dict[str, Any]) -> dict[str, int]:
    return {name: sums["packages"] for name, sums in report["totals"].items()}


def codes(house: House, *arguments: str) -> list[str]:
    return [row["code"] for row in house.ok("pack", *arguments, "--json").json["packages"]]


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> House:
    """Two seasons: 10 ground of November 2024, of which some are eaten in each of three seasons."""
    bare = House(folder=tmp_path_factory.mktemp("years"))
    first = bare.at("2024-09-01T12:00")
    first.ok("start", "--units", "lb", "--freezer", "Chest")
    first.ok("animal", "add", "24A", "whitetail", "doe")
    autumn = bare.at("2024-11-14T21:00")
    ground = codes(autumn, "ground", *["1"] * 10, "--animal", "24A")
    (lot,) = codes(autumn, "ground beef", "2", "--lot", "12")
    bare.at("2024-12-24T18:00").ok("take", *ground[:2])
    bare.at("2025-03-02T18:00").ok("take", ground[2])
    bare.at("2025-03-02T18:05").ok("take", lot, "5")
    bare.at("2025-06-30T23:00").ok("give", ground[3], "--to", "Sister")
    # Past midnight is still the evening of 30 June, and four in the morning is July.
    bare.at("2025-07-01T02:00").ok("take", ground[4])
    bare.at("2025-07-01T09:00").ok("discard", ground[5])
    bare.at("2025-10-01T18:00").ok("take", ground[6])
    bare.at("2025-10-02T08:00").ok("put-back", ground[6])
    bare.at("2025-10-03T18:00").ok("take", lot, "3")
    bare.at("2025-10-03T18:01").ok("undo")
    codes(bare.at("2025-11-20T21:00"), "stew", "1", "1.5", "--animal", "24A")
    return bare.at("2026-02-01T12:00")


@pytest.fixture
def years(lived: House, tmp_path: Path) -> House:
    """See ``lived``."""
    return copy_of(lived, tmp_path)


def test_a_season_spans_two_years(years: House) -> None:
    """24/25 is from 1 July 2024 to 30 June 2025, in one report."""
    report = years.ok("season", "24/25", "--json").json
    assert (report["begins"], report["ends"], report["until"]) == ("2024-07-01", "2025-06-30", "2025-06-30")
    assert packs(report) == {"before": 0, "in": 22, "eaten": 9, "given": 1, "other": 0, "left": 12}
    assert report["totals"]["eaten"]["net_g"] == pytest.approx(14 * 453.59237, abs=0.01)
    assert [(line["species"], line["left"]["packages"]) for line in report["lines"]] == [
        ("Beef", 7), ("Whitetail deer", 5),
    ]  # fmt: skip
    said = years.ok("season", "24/25").out
    assert "Season 24/25: 1 Jul 2024 to 30 Jun 2025." in said
    assert "Eaten: 9 packs, 14.00 lb" in said


def test_the_next_season_begins_with_what_was_left(years: House) -> None:
    report = years.ok("season", "--json").json
    assert (report["season"], report["until"]) == ("25/26", "2026-02-01")
    assert packs(report) == {"before": 12, "in": 2, "eaten": 0, "given": 0, "other": 1, "left": 13}
    assert report["other_ways"] == {"discarded": 1}
    assert packs(years.ok("season", "2023/24", "--json").json) == dict.fromkeys(packs(report), 0)
    assert years.ok("balance", "--json").json["totals"]["packages"] == 13


def test_what_was_there_and_came_is_what_left_and_is_left(years: House) -> None:
    for which in ("23/24", "24/25", "25/26"):
        report = years.ok("season", which, "--json").json
        for line in [*report["lines"], report["totals"]]:
            ways = {name: line[name]["packages"] for name in ("before", "in", "eaten", "given", "other", "left")}
            assert ways["before"] + ways["in"] == sum(ways[name] for name in ("eaten", "given", "other", "left"))


def test_other_peoples_packages_only_when_asked(years: House) -> None:
    years.ok("pack", "stew", "1", "--species", "deer", "--owner", "Guest")
    assert packs(years.ok("season", "--json").json)["in"] == 2
    assert packs(years.ok("season", "--everyone", "--json").json)["in"] == 3


@pytest.mark.parametrize("text", ["24/25", "24-25", "2024/25", "2024-2025", "2024", "24", " 24 / 25 "])
def test_a_season_as_people_write_it(text: str) -> None:
    assert parse_season(text) == (date(2024, 7, 1), date(2025, 6, 30))


@pytest.mark.parametrize("text", ["24/26", "25/24", "1924", "nov 2024", "24/25/26", "٢٤", "x"])
def test_no_season(years: House, text: str) -> None:
    with pytest.raises(InvalidDate, match="is not a season"):
        parse_season(text)
    assert years.refused("season", text).status == 2


def test_a_season_ahead(years: House) -> None:
    assert "lies ahead" in years.refused("season", "26/27").said


def test_every_day_is_in_its_own_season() -> None:
    for day in (date(2024, 7, 1), date(2024, 12, 31), date(2025, 1, 1), date(2025, 6, 30)):
        assert season(day) == "24/25"
        assert season_days(day) == parse_season("24/25")


def test_an_empty_bag_never_came_in(bare: House) -> None:
    """Of three labels printed ahead one is weighed in the next season and two are void: one pack came, and then."""
    june = bare.at("2026-06-20T12:00")
    june.ok("start", "--units", "lb", "--freezer", "Chest")
    june.ok("animal", "add", "26A", "whitetail", "doe")
    ahead = june.ok("label", "ahead", "3", "ground", "--animal", "26A", "--to", "ahead.pdf", "--json").json
    july = bare.at("2026-07-05T12:00")
    july.ok("weigh", ahead["labels"][0]["code"], "1.1")
    july.ok("label", "void", "--unused")
    last = july.ok("season", "25/26", "--json").json
    assert set(packs(last).values()) == {0}
    report = july.ok("season", "--json").json
    assert packs(report) == {"before": 0, "in": 1, "eaten": 0, "given": 0, "other": 0, "left": 1}
    assert report["other_ways"] == {}
