"""What is where, read from the program's own JSON."""

from __future__ import annotations

from typing import Any

from tests.cli.process import House


def where(house: House) -> dict[str, tuple[str | None, str | None]]:
    """Freezer and place of every package in the book that is frozen, by code."""
    found = {}
    for freezer in house.ok("freezer", "--json").json["freezers"]:
        assert freezer["totals"]["packages"] >= 0
    for row in rows(house):
        found[row["code"]] = (row["freezer"], row["place"])
    return found


def rows(house: House, *words: str) -> list[dict[str, Any]]:
    """Package rows that ``find`` gives, everyone's, here and away."""
    wanted = words or ("everything",)
    report = house.ok("find", *wanted, "--everyone", "--json").json
    return [*report["rows"], *report.get("away", []), *report.get("reserved", [])]


def codes_in(house: House, place: str) -> list[str]:
    """Codes that the list has in a place."""
    return [row["code"] for row in house.ok("place", "show", place, "--json").json["rows"]]
