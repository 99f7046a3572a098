"""The session of the issue, typed as a household types it, at the installed program."""

from __future__ import annotations

import pytest

from tests.cli.process import (
    BACKSTRAPS,
    CHOPS,
    DOE,
    HOG,
    PACK_BACKSTRAP,
    PACK_CHOPS,
    RED_BAG,
    START,
    House,
    codes_in,
)


def packed_weights(text: str) -> list[str]:
    """Weights of the packages listed under a run."""
    return [line.split()[1] for line in text.splitlines() if codes_in(line)]


def test_the_evening_as_typed(bare: House) -> None:
    started = bare.run(*START)
    assert started.status == 0
    assert str(bare.book) in started.out
    assert bare.book.is_file()

    assert bare.run(*RED_BAG).out == "Place added: red bag in Garage chest\n"

    doe = bare.run(*DOE)
    assert "26B  Whitetail deer doe, killed 14 Nov 2026, processed 21 Nov 2026" in doe.out
    assert "ON HOLD: test pending since 21 Nov" in doe.out

    backstraps = bare.run(*PACK_BACKSTRAP)
    assert backstraps.out.splitlines()[0] == "4 packages, 3.60 lb, from whitetail doe 26B"
    assert packed_weights(backstraps.out) == ["0.90", "0.95", "0.88", "0.87"]
    assert "ON HOLD: test pending since 21 Nov" in backstraps.out

    assert "26H  Pork, half hog, processed 20 Nov 2026" in bare.run(*HOG).out

    chops = bare.run(*PACK_CHOPS)
    assert chops.out.splitlines()[0] == "14 packages, 14.71 lb, 56 chops, from half hog 26H"
    assert packed_weights(chops.out) == [f"{float(weight):.2f}" for weight in CHOPS]
    codes = codes_in(chops.out)
    assert len(set(codes)) == 14
    assert len({code[0] for code in codes + codes_in(backstraps.out)}) == 1

    labels = bare.run("label", "--stock", "letter-10up", "--to", "labels.pdf")
    assert labels.out.startswith("18 labels on letter-10up, 2 sheets: labels.pdf\n")
    assert (bare.folder / "labels.pdf").read_bytes().startswith(b"%PDF")

    ahead = bare.run(
        "label", "ahead", "20", "ground", "--animal", "26B", "--fat", "none",
        "--to", "ahead.pdf", "--start-at", "next",
    )  # fmt: skip
    assert ahead.out.startswith("20 labels on letter-10up, 3 sheets: ahead.pdf\n")

    found = bare.run("find", "backstrap")
    assert found.out.splitlines()[0] == "4 packs, 3.60 lb, HELD: test pending since 21 Nov"
    assert "red bag" in found.out
    assert sorted(codes_in(found.out)) == sorted(codes_in(backstraps.out))

    rotation = bare.run("rotation")
    listed = [line for line in rotation.out.splitlines() if codes_in(line)]
    assert len(listed) == 12
    assert all("Loin chops, half hog 26H" in line for line in listed)
    assert "... and 2 more: --all shows every one." in rotation.out
    assert "HELD, not to be eaten: 4 packs, 3.60 lb" in rotation.out
    assert "US Food and Drug Administration" in rotation.out

    code = codes[0]
    scanned = bare.run("scan", stdin=f"{code}\n")
    assert scanned.out == f"{code}  taken: Loin chops, half hog 26H, 1.10 lb (Garage chest).\n"
    assert f"Taken back: {code} taken" in bare.run("undo").out
    assert bare.run("take", code).status == 0
    assert f"{code}  put back: Loin chops" in bare.run("put-back", code).out
    assert f"{code}  Loin chops" in bare.run("show", code).out
    history = bare.run("history", code).out
    # The undo of the first taking stands between it and the second.
    steps = ["packed", "label printed on letter-10up", "gone: eaten", "undo of act", "gone: eaten", "put back"]
    places = [history.find(step, 0 if not at else history.find(steps[at - 1]) + 1) for at, step in enumerate(steps)]
    assert all(place >= 0 for place in places), history

    animal = bare.run("animal", "show", "26B").out
    assert "Gave 4 packs, 3.60 lb; in the freezer: 4 packs, 3.60 lb." in animal
    assert "sample 4471" in animal

    fixed = bare.run("fix", code, "--weight", "1.3").out
    assert "1.30 lb" in fixed
    assert f"freezerbox label again {code}" in fixed
    other = codes_in(backstraps.out)[0]
    swapped = bare.run("swap", code, other).out
    assert f"{code}  Backstrap half, whitetail doe 26B, 0.90 lb" in swapped
    assert f"{other}  Loin chops, half hog 26H, 1.30 lb" in swapped
    assert bare.run("label", "again", code, "--to", "again.png").status == 0
    assert "all is well." in bare.run("check").out


def test_twenty_labels_ahead_seventeen_weighed_three_void(house: House) -> None:
    """Acceptance scenario 2 of the needs notes."""
    house.ok("label", "--to", "evening.pdf")
    house.ok("label", "ahead", "20", "ground", "--animal", "26B", "--fat", "none", "--to", "ahead.png")
    assert house.ok("find", "ground", "--json").json["totals"]["packages"] == 0
    spare = house.ok("undo", "--list", "--json").json["acts"][0]
    assert spare["kind"] == "label-ahead"

    photographed = house.ok("scan", "--photo", "ahead.png", "--photo", "ahead-2.png", "--json").json
    codes = [code["code"] for photo in photographed["photos"] for code in photo["codes"]]
    assert len(set(codes)) == 20

    weights = ["1.02", "1.00", ".98"] * 5 + ["1.01", ".99"]
    lines = "".join(f"{code}\n{weight}\n" for code, weight in zip(codes, weights, strict=False))
    weighed = house.run("weigh", stdin=lines)
    assert weighed.status == 0
    assert weighed.err == ""
    assert len(weighed.out.splitlines()) == 17
    totals = house.ok("find", "ground", "--json").json["totals"]
    assert totals["packages"] == 17
    # 5 x (1.02 + 1.00 + 0.98) + 1.01 + 0.99 = 17.00 lb
    assert abs(totals["net_g"] - 17 * 453.59237) < 0.02

    left = codes[17:]
    voided = house.run("label", "void", "--unused")
    assert voided.out.startswith("3 labels void: ")
    assert sorted(codes_in(voided.out)) == sorted(f"{code[:3]}-{code[3:]}" for code in left)
    scanned = house.run("scan", "--json", stdin=f"{left[0]}\n").json_lines
    assert [(one["code"], one["outcome"]) for one in scanned] == [(left[0], "void")]
    assert "void label" in scanned[0]["message"]
    assert house.refused("label", "void", "--unused").status == 1
    assert house.refused("label", "--to", "more.pdf").status == 1
    assert len(BACKSTRAPS) + len(CHOPS) + 20 == house.ok("check", "--json").json["packages"]


def test_weighing_lines_loses_no_label(house: House) -> None:
    labels = house.ok("label", "ahead", "4", "ground", "--animal", "26B", "--to", "a.pdf", "--json").json["labels"]
    one, two, three, four = (label["code"] for label in labels)
    lines = [one, "1.02", one, two, "1.0", three, four, "1 1/4", "undo", f"{four} 1.25", "1.1", three, "1.", four]
    weighed = house.ok("weigh", stdin="\n".join(lines) + "\n")
    found = {row["code"]: row["net_g"] for row in house.ok("find", "ground", "--json").json["rows"]}
    pounds = {code: round(grams / 453.59237, 2) for code, grams in found.items()}
    assert pounds == {one: 1.02, two: 1.0, four: 1.25, three: 1.0}
    assert weighed.told.count("Taken back: ") == 1
    assert weighed.said.count("was weighed before: 1.02 lb.") == 1
    assert weighed.said.count("was weighed before") == 2
    assert f"No weight came for {three[:3]}-{three[3:]}" in weighed.said
    assert "'1.1' came without a label" in weighed.said


def test_a_label_is_never_a_weight_and_a_doubt_names_the_way_out(house: House) -> None:
    labels = house.ok("label", "ahead", "2", "ground", "--animal", "26B", "--to", "a.pdf", "--json").json["labels"]
    one, two = (label["code"] for label in labels)
    house.ok("weigh", one, "1")
    refused = house.refused_json("weigh", one, two, status=2, kind="mass")
    assert "--weight" not in refused["message"]
    assert "--yes" in house.refused_json("weigh", two, "110", status=1, kind="out-of-line")["message"]
    # What waits is left alone by undo: only what was weighed in the session is taken back.
    assert "Nothing scanned here" in house.ok("weigh", stdin=f"{two}\nundo\n").said
    assert house.ok("find", "ground", "--json").json["totals"]["packages"] == 1


def test_meat_packed_without_its_animal_is_asked_about(house: House) -> None:
    packed = house.ok("pack", "backstrap", "1.1", "1.2")
    code = codes_in(packed.out)[0]
    assert "No animal was named, and 26B is on hold. If it is of 26B" in packed.said
    assert f"freezerbox fix {code} --animal 26B" in packed.said
    assert packed.said.count("No animal") == 1
    # Half a hog has no backstrap of a deer, and an elk is another animal; what was frozen in May is of neither.
    for other in (
        ("backstrap", "1.1", "--animal", "26B"),
        ("backstrap", "1.1", "--species", "elk"),
        ("backstrap", "1.1", "--first-frozen", "2026-05-03"),
        ("other chili", "1.1"),
    ):
        assert "No animal" not in house.ok("pack", *other).said
    assert "No animal was named. If it is of 26H" in house.ok("pack", "fresh ham steaks", "1.1").said


def test_a_fraction_that_the_shell_took_apart_is_not_two_packages(house: House) -> None:
    refused = house.refused_json("pack", "shank", "1", "1/4", "--animal", "26B", status=2, kind="mass")
    assert "1-1/4" in refused["message"]
    assert packed_weights(house.ok("pack", "shank", "1-1/4", "2.", "--animal", "26B").out) == ["1.25", "2.00"]


def test_a_weight_in_several_words_needs_no_quotes_where_there_is_one(house: House) -> None:
    rows = house.ok("pack", "ground", "x", "x", "x", "--animal", "26B", "--json").json["packages"]
    one, two, three = (row["code"] for row in rows)
    assert "1.25 lb" in house.ok("weigh", one, "1", "lb", "4").out
    assert "1.25 lb" in house.ok("weigh", two[:3], two[3:], "20", "oz").out
    refused = house.refused_json("weigh", three, "1.1", two, "1.2", status=2, kind="mass")
    assert f"'1.1 {two} 1.2' is not a weight" in refused["message"]
    assert house.ok("show", three, "--json").json["net_g"] is None


@pytest.mark.parametrize("month", ["nov", "nov 2026", "2026-11", "November"])
def test_a_month_alone_is_not_before_the_animal_of_that_month_died(house: House, month: str) -> None:
    """Killed on 14 November and frozen "in November" is the 14th, the careful reading of an age, and no refusal."""
    (row,) = house.ok("pack", "stew", "1", "--animal", "26B", "--first-frozen", month, "--json").json["packages"]
    assert (row["first_frozen_on"], row["packed_on"]) == ("2026-11-14", "2026-11-14")
    (row,) = house.ok("pack", "stew", "1", "--animal", "26B", "--packed", month, "--json").json["packages"]
    assert (row["first_frozen_on"], row["packed_on"]) == ("2026-11-14", "2026-11-14")
    (row,) = house.ok("pack", "stew", "1", "--species", "deer", "--first-frozen", month, "--json").json["packages"]
    assert row["first_frozen_on"] == "2026-11-01"
    assert "26B was killed" in house.refused("pack", "stew", "1", "--animal", "26B", "--first-frozen", "oct").said


@pytest.mark.parametrize("group", ["animal", "guide", "freezer", "place", "words", "recipe", "label stock"])
def test_a_group_of_commands_has_an_example_in_its_help(bare: House, group: str) -> None:
    assert f"Example: freezerbox {group} " in bare.ok(*group.split(), "--help").told


def test_label_paper_is_listed_by_the_name_of_its_commands_alone(house: House) -> None:
    assert house.ok("label", "stock").out == house.ok("label", "stock", "list").out
    assert house.ok("label", "stock", "--json").json == house.ok("label", "stock", "list", "--json").json


def test_what_is_out_is_of_the_cut_that_was_asked_for(house: House) -> None:
    chop = house.ok("find", "chops", "--json").json["rows"][0]["code"]
    house.ok("take", chop)

    def out(*asked: str) -> list[str]:
        return [one["package"]["code"] for one in house.ok("rotation", *asked, "--json").json["out"]]

    assert out() == out("--species", "pork") == out("--cut", "pork loin chops") == [chop]
    assert out("--species", "elk") == out("--cut", "backstrap") == out("--place", "red bag") == []
