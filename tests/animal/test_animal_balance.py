"""What is on hold is no meat to eat: the balance and the list on the lid count it apart."""

from __future__ import annotations

import pytest

from tests.cli.process import House


def test_balance_counts_what_is_on_hold_apart(house: House) -> None:
    house.ok("pack", "backstrap", "1.1", "--species", "deer")
    report = house.ok("balance", "--json").json
    free, held, every = report["free"], report["on_hold"], report["totals"]
    assert held["packages"] == 4
    assert free["packages"] + held["packages"] == every["packages"]
    assert free["net_g"] + held["net_g"] == pytest.approx(every["net_g"])
    line = next(one for one in report["lines"] if one["held"])
    assert line["free"]["packages"] == line["totals"]["packages"] - line["held"]
    said = house.ok("balance").out
    assert f"Together {free['packages']} packs, " in said
    assert " to eat, and 4 on hold (3.60 lb)." in said
    assert "none to eat" in said
    assert "4 ON HOLD" in said


def test_the_heading_of_the_list_on_the_lid_counts_what_is_on_hold_apart(house: House) -> None:
    import pypdfium2

    free = house.ok("balance", "--json").json["free"]["packages"]
    house.ok("lid", "--to", "lid.pdf")
    document = pypdfium2.PdfDocument(house.folder / "lid.pdf")
    page = document[0].get_textpage().get_text_range()
    document.close()
    assert page.startswith(f"Garage chest: {free} packs, ")
    assert page.splitlines()[0].endswith(" lb, and 4 on hold (3.60 lb)")


def test_soup_bones_of_a_deer_say_the_line_on_the_spine(house: House) -> None:
    said = " ".join(house.ok("pack", "soup bones", "3", "--animal", "26B").out.split())
    assert "Texas Parks and Wildlife" in said
    assert "Texas" not in house.ok("pack", "soup bones", "3", "--animal", "26H").out
    assert "Texas" not in house.ok("pack", "neck", "3", "--animal", "26B").out, "it was said tonight"
    again = house.ok("pack", "neck", "3", "--animal", "26B", "--json").json["cautions"]
    assert [one["key"] for one in again] == ["spine-bone"]


def test_worth_is_by_the_households_prices_and_of_any_day(house: House) -> None:
    assert house.ok("balance", "--json").json["worth"] is None
    assert "Worth" not in house.ok("balance").out
    house.ok("settings", "price:any", "2")
    house.ok("settings", "price:backstrap", "10")
    report = house.ok("balance", "--json").json
    # 3.60 lb of backstrap on hold at 10, the rest at 2: what it is worth does not hang on a hold.
    rest = sum(place["totals"]["net_g"] for place in report["places"]) / 453.59237 - 3.60
    assert report["worth"]["money"] == pytest.approx(36 + 2 * rest, abs=0.05)
    assert report["worth"]["unpriced"] == 0
    later = house.at("2026-12-09T20:00")
    later.ok("take", later.ok("find", "chops", "--json").json["rows"][0]["code"])
    now, then = later.ok("balance", "--json").json, later.ok("balance", "--as-of", "2 dec", "--json").json
    assert now["worth"]["money"] < then["worth"]["money"] == report["worth"]["money"]
    assert then["as_of"] == "2026-12-02"
    assert later.ok("balance", "--as-of", "2 dec").out.startswith("As it stood at the end of 2 Dec 2026")
