"""What a join changes that nobody was asked about is told: names, what stays of two that are one, days that clash."""

from __future__ import annotations

import shutil

from tests.keeping.pairs import Pair, file, row


def lot(pair: Pair) -> str:
    (pair.house.folder / "cabin.book").unlink()
    words = ("pack", "ground", "--lot", "10", "--each", "1", "--species", "deer", "--json")
    code = str(pair.house.at("2026-11-29T21:00").ok(*words).json["packages"][0]["code"])
    pair.house.ok("backup", "--for", "cabin")
    return code


def test_a_name_alone_is_enough_where_one_clash_has_it(pair: Pair) -> None:
    for house, species in ((pair.house, "mule deer"), (pair.cabin, "elk")):
        house.ok("animal", "add", "26C", species)
        house.ok("place", "add", "Top", "--freezer", "Cabin")
    refused = pair.house.refused("import", "--merge", "cabin.book").said
    assert "here 26C, mule deer; there 26C, elk" in refused
    places = pair.house.ok("place", "--json").json["places"]
    sign = next(one["code"] for one in places if one["name"] == "Top")
    assert f"here {sign[:3]}-{sign[3:]}, Top" in refused
    pair.join("--rename", "26c=26D", "--same", "top")
    animals = {one["code"] for one in pair.house.ok("animal", "--json").json["animals"]}
    assert {"26C", "26D"} <= animals


def test_what_is_called_otherwise_now_is_told(pair: Pair) -> None:
    pair.house.ok("place", "rename", "red bag", "Navy")
    pair.cabin.ok("place", "rename", "red bag", "Sky")
    pair.house.ok("place", "add", "Top", "--freezer", "Cabin")
    pair.cabin.ok("place", "add", "top", "--freezer", "Cabin")
    pair.join("--prefer", "ours", "--same", "place top")
    said = pair.cabin.ok("import", "--merge", "house.book").told
    assert "place Sky is called Navy from now on." in said
    names = {one["name"] for one in pair.cabin.ok("place", "--json").json["places"]}
    assert ("place top is called Top from now on." in said) == ("Top" in names)


def test_two_that_would_have_one_name_are_named(pair: Pair) -> None:
    pair.house.ok("animal", "add", "26C", "mule deer")
    pair.house.ok("animal", "add", "26D", "pig")
    pair.cabin.ok("animal", "add", "26C", "elk")
    refused = pair.house.refused("import", "--merge", "cabin.book", "--rename", "26C=26D").said
    assert "Nothing joined: two animals would have one name, 26D: 26D, elk; and 26D, pork." in refused


def test_of_two_that_are_one_each_fact_that_differed_is_told(pair: Pair) -> None:
    for house, tag, weight in ((pair.house, "4471", "100"), (pair.cabin, "4472", "120")):
        house.ok("animal", "add", "26C", "whitetail buck", "--tag", tag)
        house.ok("animal", "set", "26C", "--dressed", weight)
    pair.cabin.ok("animal", "set", "26C", "--note", "spike")
    pair.house.ok("animal", "set", "26C", "--killed", "14 nov")
    shutil.copy(file(pair.house), pair.house.folder / "house before.book")
    told = []
    for house, other in ((pair.house, "cabin.book"), (pair.cabin, "house before.book")):
        said = house.ok("import", "--merge", other, "--same", "26C").told
        animal = next(one for one in house.ok("animal", "--json").json["animals"] if one["code"] == "26C")
        stays, lost = (animal["tag"], "4472" if animal["tag"] == "4471" else "4471")
        assert f"animal 26C tag: {stays} stays; in " in said
        assert f"it was {lost}." in said
        assert "animal 26C dressed weight: " in said
        assert "animal 26C note: spike stays" in said or "it was spike." in said
        told.append(said)
    assert "this book" in "".join(told)


def test_a_pack_date_corrected_here_and_steps_before_it_there(pair: Pair) -> None:
    code = lot(pair)
    shown = f"{code[:3]}-{code[3:]}"
    pair.cabin.ok("take", code, "2", "--on", "1 dec")
    pair.house.ok("fix", code, "--packed", "3 dec")
    shutil.copy(file(pair.house), pair.house.folder / "house before.book")
    for house, other in ((pair.house, "cabin.book"), (pair.cabin, "house before.book")):
        said = house.ok("import", "--merge", other).told
        assert f"{shown} is packed on 3 Dec now, as one book corrected it; but it was there on 1 Dec (act" in said
        assert f"freezerbox fix {shown} --packed DAY, or freezerbox undo" in said
    # What was told once is no news.
    assert "is packed on" not in pair.house.ok("import", "--merge", "cabin.book").told


def test_a_part_split_off_there_that_keeps_another_day(pair: Pair) -> None:
    code = lot(pair)
    pair.cabin.ok("move", code, "2", "--to", "Cabin")
    pair.house.ok("fix", code, "--packed", "27 nov")
    said = pair.house.ok("import", "--merge", "cabin.book").told
    part = next(one["code"] for one in pair.house.ok("find", "ground", "--json").json["rows"] if one["code"] != code)
    shown = f"{part[:3]}-{part[3:]}"
    assert f"{shown}, split off {code[:3]}-{code[3:]} on 5 Dec, still says packed on 29 Nov;" in said
    assert f"freezerbox fix {shown} --packed 2026-11-27" in said
    pair.house.ok("fix", part, "--packed", "2026-11-27")
    assert row(pair.house, part)["packed_on"] == "2026-11-27"


def test_to_take_back_what_is_one_with_another_now_is_refused(pair: Pair) -> None:
    """The act that added the one that is no more; the other one is taken back as any is."""
    for house in (pair.house, pair.cabin):
        house.ok("place", "add", "Top", "--freezer", "Cabin")
    pair.join("--same", "Top")
    acts = pair.house.ok("undo", "--list", "--all", "--json").json["acts"]
    added = [one["act"] for one in acts if one["words"] == "added place Top"]
    assert len(added) == 2
    said = [pair.house.call("undo", str(act)) for act in added]
    (refused,) = [one for one in said if one.status == 1 and "one and the same" in one.said]
    assert "cannot be taken back: when two books were joined, what it added" in refused.said
