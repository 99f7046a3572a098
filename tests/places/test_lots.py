"""Lots and parts: half a beef by table (scenario 13), singles of a lot, some pieces of a pack, wraps."""

from __future__ import annotations

import pytest

from tests.cli.process import House
from tests.places.look import codes_in

LB_G = 453.59237
# Scenario 13: cut, packs; the ground is 72 x 2 lb.  Of its words only "cutlets" means two things, and asks.
BEEF = (
    ("ground", 72), ("brisket", 1), ("skirt", 2), ("top blade", 3), ("chuck roast", 5), ("clod", 3), ("ribeye", 12),
    ("strip", 11), ("top sirloin", 5), ("tenderloin", 4), ("round tip", 2), ("bottom round", 5), ("cubed steaks", 9),
)  # fmt: skip


@pytest.fixture
def beef(house: House) -> House:
    house.ok("animal", "add", "26S", "steer", "--what", "half beef")
    lines = ["cut,weight,lot,animal,place,wrap"]
    lines += [
        f"{cut},{'2lb' if cut == 'ground' else 'x'},{'' if number == 1 else number},26S,top layer,vacuum"
        for cut, number in BEEF
    ]
    (house.folder / "half.csv").write_text("\n".join(lines), encoding="utf-8")
    report = house.ok("pack", "--table", "half.csv", "--json").json
    assert len(report["packages"]) == 13
    assert report["totals"]["packages"] == 134
    assert report["totals"]["net_g"] == pytest.approx(144 * LB_G, abs=0.05)
    return house


def lot_of(house: House, cut: str) -> str:
    rows = house.ok("find", cut, "--json").json["rows"]
    return str(next(row["code"] for row in rows if row["quantity"] > 1))


def test_what_came_against_what_was_ordered(beef: House) -> None:
    beef.folder.joinpath("order.csv").write_text("cut,count\nbrisket,1\nstew,2\nribeye,13\nstrip,10\n", "utf-8")
    said = beef.ok("cutsheet", "order.csv", "--animal", "26S").out
    assert "Brisket 1 of 1\n" in said
    assert "Stew meat 0 of 2: missing" in said
    assert "Ribeye 12 of 13: 1 missing" in said
    assert "Strip loin 11 of 10: 1 more" in said
    report = beef.ok("cutsheet", "order.csv", "--animal", "26S", "--json").json
    assert report["missing"] == 3
    assert sum(line["received"] for line in report["lines"]) == 134
    # Eating or splitting does not change what came.
    ground = lot_of(beef, "ground beef")
    beef.ok("take", ground)
    beef.ok("split", ground, "--off", "10")
    assert (
        sum(line["received"] for line in beef.ok("cutsheet", "order.csv", "--animal", "26S", "--json").json["lines"])
        == 134
    )


@pytest.mark.parametrize(
    ("text", "status"),
    [("", 2), ("cut\nbrisket\n", 2), ("cut,count\nwombat,1\nbrisket,x\n", 2), ("cut,count\nbrisket,0\n", 2)],
)
def test_a_cut_sheet_with_faults_is_refused(beef: House, text: str, status: int) -> None:
    beef.folder.joinpath("order.csv").write_text(text, "utf-8")
    assert beef.refused("cutsheet", "order.csv", "--animal", "26S").status == status
    assert beef.refused("cutsheet", "none.csv", "--animal", "26S").status == 2


def test_all_none_or_only_the_basket_is_labelled(beef: House) -> None:
    """Scenario 13: nothing must be printed; a sign for the place, for a lot, or a label for every record."""
    earlier = 8
    (top,) = [one for one in beef.ok("place", "--json").json["places"] if one["name"] == "top layer"]
    assert top["totals"]["packages"] == 134
    assert beef.ok("sign", "top layer", "--to", "place.pdf", "--json").json["codes"] == [top["code"]]
    ground = lot_of(beef, "ground beef")
    assert beef.ok("sign", ground, "--to", "lot.pdf", "--json").json["codes"] == [ground]
    assert beef.ok("balance", "--json").json["totals"]["packages"] == 134 + earlier
    assert len(beef.ok("label", "--to", "l.pdf", "--json").json["labels"]) == 13 + earlier
    # Only 72 of 134 were weighed; the rest is said to be unweighed and never counted as nothing.
    (line,) = [one for one in beef.ok("balance", "--json").json["lines"] if one["use"] == "ground"]
    assert (line["species"], line["totals"]["packages"]) == ("Beef", 72)
    assert line["totals"]["net_g"] == pytest.approx(144 * LB_G, abs=0.05)
    assert beef.ok("balance", "--json").json["totals"]["unweighed"] == 62


def test_one_scan_of_the_lot_takes_one(beef: House) -> None:
    ground = lot_of(beef, "ground beef")
    assert "1 taken, 71 left" in beef.ok("scan", stdin=f"{ground}\n").out
    assert beef.ok("show", ground, "--json").json["quantity"] == 71
    for _ in range(71):
        beef.ok("take", ground)
    row = beef.ok("show", ground, "--json").json
    assert (row["state"], row["quantity"]) == ("gone", 0)
    assert beef.refused("take", ground).status == 1
    assert beef.ok("check", "--json").json["faults"] == []


def test_a_lot_given_in_a_line(house: House) -> None:
    row = house.ok("pack", "ground beef", "--lot", "72", "--each", "2lb", "--json").json["packages"][0]
    assert row["quantity"] == 72
    assert row["unit_g"] == pytest.approx(2 * LB_G, abs=0.001)
    assert house.refused("pack", "ground beef", "2", "--each", "2lb").status == 2


def test_singles_of_a_lot(beef: House) -> None:
    chuck = lot_of(beef, "chuck roast")
    before = beef.ok("find", "chuck roast", "--json").json["totals"]
    report = beef.ok("split", chuck, "--each", "--json").json
    assert len({row["code"] for row in report["done"]}) == 5
    assert {row["quantity"] for row in report["done"]} == {1}
    assert {tuple(row["animals"]) for row in report["done"]} == {("26S",)}
    assert {(row["place"], row["first_frozen_on"], row["best_by"]) for row in report["done"]} == {
        ("top layer", report["before"]["first_frozen_on"], report["before"]["best_by"])
    }
    assert (report["before"]["state"], report["before"]["quantity"]) == ("gone", 0)
    assert beef.ok("find", "chuck roast", "--json").json["totals"] == before
    assert len(beef.ok("label", "--to", "l.pdf", "--json").json["labels"]) >= 5
    beef.ok("undo")
    beef.ok("undo")
    assert beef.ok("show", chuck, "--json").json["quantity"] == 5
    assert beef.ok("find", "chuck roast", "--json").json["totals"] == before
    assert beef.ok("check", "--json").json["faults"] == []


def test_part_of_a_lot_goes_elsewhere(beef: House) -> None:
    ground = lot_of(beef, "ground beef")
    report = beef.ok("split", ground, "--off", "20", "--to", "red bag", "--json").json
    (part,) = report["done"]
    assert (part["quantity"], part["place"], part["unit_g"]) == (20, "red bag", report["before"]["unit_g"])
    assert (report["before"]["quantity"], report["before"]["place"]) == (52, "top layer")
    assert beef.ok("find", "ground beef", "--json").json["totals"]["packages"] == 72
    assert beef.refused("split", ground, "--off", "52").status == 2
    assert beef.refused("split", ground, "--off", "0").status == 2
    assert beef.refused("split", ground, "--take", "2").status == 1
    assert beef.refused("split", ground).status == 2


def test_two_of_four_chops(house: House) -> None:
    """Edge check vii: 2 of 4 chops used: remainder 0.5 lb, relabelled, same freeze date."""
    row = house.ok(
        *("pack", "loin chops", "1", "--pieces", "4", "--animal", "26H", "--place", "red bag"),
        *("--first-frozen", "25 nov", "--json"),
    ).json["packages"][0]  # fmt: skip
    report = house.ok("split", row["code"], "--take", "2", "--json").json
    (left,) = report["done"]
    assert left["code"] != row["code"]
    assert left["net_g"] == pytest.approx(0.5 * LB_G, abs=0.001)
    same = ("cut", "first_frozen_on", "packed_on", "animals", "place", "best_by", "times_frozen")
    assert [left[key] for key in same] == [row[key] for key in same]
    assert (left["pieces"], left["state"]) == (2, "frozen")
    used = house.ok("show", row["code"], "--json").json
    assert (used["state"], used["reason"], used["pieces"]) == ("gone", "eaten", 2)
    assert used["net_g"] + left["net_g"] == pytest.approx(row["net_g"], abs=0.001)
    assert "used" in house.ok("undo").out
    back = house.ok("show", row["code"], "--json").json
    assert [back[key] for key in ("state", "pieces", "net_g", "place")] == ["frozen", 4, row["net_g"], "red bag"]
    assert house.ok("show", left["code"], "--json").json["reason"] == "void"


def test_what_is_left_may_be_weighed(house: House) -> None:
    code = codes_in(house, "green basket")[0]
    (left,) = house.ok("split", code, "--take", "1", "--left", "0.9", "--json").json["done"]
    assert left["net_g"] == pytest.approx(0.9 * LB_G, abs=0.001)
    assert left["pieces"] == 3
    assert house.refused("split", left["code"], "--take", "1", "--left", "0.95").status == 2


def test_what_cannot_be_used_in_part(house: House) -> None:
    backstrap, chops = codes_in(house, "red bag")[0], codes_in(house, "green basket")[0]
    assert "--pieces" in house.refused("split", backstrap, "--take", "1").err
    assert house.refused("split", chops, "--take", "4").status == 2
    assert house.refused("split", chops, "--each").status == 1
    house.ok("animal", "add", "26C", "whitetail", "buck", "--test", "pending")
    held = house.ok("pack", "shank", "1", "--pieces", "2", "--animal", "26C", "--json").json["packages"][0]["code"]
    assert "HELD" in house.refused("split", held, "--take", "1").err


def test_what_is_left_keeps_the_hold_of_what_it_was_split_from(house: House) -> None:
    chops = codes_in(house, "green basket")[0]
    (left,) = house.ok("split", chops, "--take", "1", "--json").json["done"]
    house.ok("hold", chops, "--why", "smelt odd")
    assert house.ok("show", left["code"], "--json").json["holds"]
    assert house.refused("take", left["code"]).status == 1


def test_the_animal_of_a_part_is_corrected_where_it_was_split_from(house: House) -> None:
    whole = codes_in(house, "red bag")[0]
    house.ok("animal", "add", "26C", "whitetail", "buck")
    house.ok("fix", whole, "--pieces", "4")
    (left,) = house.ok("split", whole, "--take", "1", "--json").json["done"]
    refusal = house.refused("fix", left["code"], "--animal", "26C")
    assert refusal.status == 1
    assert f"freezerbox fix {whole[:3]}-{whole[3:]} --animal 26C" in refusal.said
    house.ok("fix", whole, "--animal", "26C")
    for code in (whole, left["code"]):
        assert house.ok("show", code, "--json").json["animals"] == ["26C"]


def test_a_seal_that_let_go_and_a_new_wrap(house: House) -> None:
    code = house.ok("pack", "shank", "1", "--species", "deer", "--wrap", "vacuum", "--json").json["packages"][0][
        "code"
    ]
    assert house.ok("seal-lost", code, "--json").json["done"][0]["wrap"] == "seal-lost"
    assert house.refused("seal-lost", code).status == 1
    assert house.ok("fix", code, "--rewrap", "vac", "--json").json["done"][0]["wrap"] == "vacuum"
    assert house.refused("fix", code, "--rewrap", "vacuum").status == 1
    assert house.refused("fix", code, "--rewrap", "newspaper").status == 2
    history = house.ok("history", code).out
    assert "seal-lost" in history
    house.ok("undo")
    assert house.ok("show", code, "--json").json["wrap"] == "seal-lost"


def test_some_of_a_lot_move_under_a_code_of_their_own(beef: House) -> None:
    ribeye = lot_of(beef, "ribeye")
    for words in ((ribeye, "3"), (f"{ribeye}*2",)):
        report = beef.ok("move", *words, "--to", "red bag", "--json").json
        assert report["done"][0]["place"] == "red bag"
        assert report["done"][0]["code"] != ribeye
        assert report["before"]["place"] == "top layer"
    assert beef.ok("show", ribeye, "--json").json["quantity"] == 7
    assert sum(row["quantity"] for row in beef.ok("find", "ribeye", "--json").json["rows"]) == 12
    assert "freezerbox label" in beef.ok("move", ribeye, "1", "--to", "red bag").out
    beef.ok("undo")
    assert beef.ok("show", ribeye, "--json").json["quantity"] == 7
    beef.ok("move", ribeye, "7", "--to", "green basket")
    row = beef.ok("show", ribeye, "--json").json
    assert (row["quantity"], row["place"]) == (7, "green basket")


def test_a_number_among_codes_moves_nothing(beef: House) -> None:
    ribeye, strip = lot_of(beef, "ribeye"), lot_of(beef, "strip loin")
    result = beef.refused("move", ribeye, strip, "3", "--to", "red bag")
    assert result.status == 2
    assert "Nothing was moved" in result.err
    assert "has 12 left, not 30" in beef.refused("move", ribeye, "30", "--to", "red bag").err


def test_the_seal_of_one_of_a_lot(beef: House) -> None:
    ribeye = lot_of(beef, "ribeye")
    result = beef.refused("seal-lost", ribeye)
    assert result.status == 1
    assert "stands for 12" in result.err
    (one,) = beef.ok("seal-lost", ribeye, "1", "--json").json["done"]
    assert (one["quantity"], one["wrap"], one["band"], one["place"]) == (1, "seal-lost", "use-next", "top layer")
    left = beef.ok("show", ribeye, "--json").json
    assert (left["quantity"], left["wrap"], left["band"]) == (11, "vacuum", "keeps")
    assert beef.refused("seal-lost", ribeye, "12").status == 2
    beef.ok("seal-lost", ribeye, "--yes")
    assert beef.ok("show", ribeye, "--json").json["wrap"] == "seal-lost"
    # Of a lot whose seals all let go none is parted off for that, nor given a label of its own.
    assert "says that already" in beef.refused("seal-lost", ribeye, "1").said
    beef.ok("fix", ribeye, "--rewrap", "paper")
    assert beef.ok("seal-lost", ribeye, "1", "--json").json["done"][0]["quantity"] == 1


def test_a_pack_whose_seal_let_go_is_one_to_use_next(house: House) -> None:
    code = codes_in(house, "red bag")[-1]
    before = [row["code"] for row in house.ok("rotation", "--all", "--json").json["rows"]]
    house.ok("seal-lost", code)
    rows = house.ok("rotation", "--all", "--json").json["rows"]
    bands = [row["band"] for row in rows]
    assert (
        before.index(code) > rows.index(next(row for row in rows if row["code"] == code)) == bands.count("past-best")
    )
    assert "red bag, seal let go" in house.ok("rotation").told
    assert code in [row["code"] for row in house.ok("rotation", "--within", "1", "--json").json["rows"]]
    # What is named by words, and what is taken by them, is the same one.
    assert house.ok("find", "backstrap", "--json").json["rows"][0]["code"] == code
    listed = house.ok("lid", "--freezer", "Garage chest", "--to", "lid.pdf", "--json").json["codes"]
    assert next(one for one in listed if one in codes_in(house, "red bag")) == code
    assert house.ok("take", "backstrap", "--json").json["done"][0]["code"] == code


@pytest.mark.parametrize("number", ["2.5", "2,5", "0", "99999999999", "²"])
def test_a_number_that_cannot_be_brings_nothing_back(house: House, number: str) -> None:
    (lot,) = house.ok("pack", "hock", "--lot", "5", "--each", "1", "--species", "pork", "--json").json["packages"]
    house.ok("take", lot["code"], "3")
    before = house.dump()
    for command in ("put-back", "take"):
        assert f"'{number}' is not a number of packages" in house.refused(command, lot["code"], number).said
    assert house.dump() == before


def test_what_has_left_of_a_lot_that_is_still_there(house: House) -> None:
    """``find --gone`` has nothing whole to show of it, and says all the same how many left, how and when."""
    house.ok("pack", "ground", "--lot", "6", "--each", "1", "--species", "rabbit")
    code = house.ok("find", "rabbit", "--json").json["rows"][0]["code"]
    assert "None: no rabbit has left." in house.ok("find", "rabbit", "--gone").told
    house.ok("take", code, "2")
    house.ok("give", code, "--to", "Ann")
    house.ok("move", f"{code}*1", "--to", "red bag")
    said = house.ok("find", "rabbit", "--gone").told
    assert "None: no rabbit has left wholly. Of lots that are still there:" in said
    line = "2 eaten, 1 given to Ann, 1 into others or under other codes, the last on 2 Dec; 2 of 6 there"
    assert f"Ground, Rabbit, 1.00 lb: {line}" in said
    found = house.ok("find", "rabbit", "--gone", "--json").json
    assert found["rows"] == []
    (one,) = found["parted"]
    assert (one["code"], one["quantity"]) == (code, 2)
    ways = [(way["number"], way["reason"], way["to"]) for way in one["left"]]
    assert ways == [(2, "eaten", None), (1, "given", "Ann"), (1, "made-into", None)]
    # What came back has not left; what is there is told without any of it.
    house.ok("put-back", code, "3", "--still-frozen")
    assert "1 into others or under other codes, on 2 Dec; 5 of 6 there" in house.ok("find", "rabbit", "--gone").told
    assert house.ok("find", "rabbit", "--json").json["parted"] == []
    # Once all has left it stands among the gone.
    house.ok("take", code, "5")
    gone = house.ok("find", "rabbit", "--gone", "--json").json
    assert ([row["code"] for row in gone["rows"]], gone["parted"]) == ([code], [])


def test_a_finished_lot_is_as_many_as_left_it_each_in_its_way(house: House) -> None:
    """Five that left are five packs with the weight of five, not one with the last one's reason."""
    house.ok("pack", "ground", "--lot", "6", "--each", "4.1", "--species", "rabbit")
    house.ok("pack", "ground", "2", "--species", "rabbit")
    single, lot = sorted(house.ok("find", "rabbit", "--json").json["rows"], key=lambda row: int(row["quantity"]))
    code = lot["code"]
    house.ok("move", f"{code}*1", "--to", "red bag")
    house.ok("take", code, "4")
    house.ok("discard", code)
    said = house.ok("find", "rabbit", "--gone").told
    assert "5 packs, 20.50 lb" in said  # the sixth lies in the red bag under a code of its own
    assert "x5" in said
    assert "1 into others or under other codes, 4 eaten, 1 discarded, the last on 2 Dec" in said
    assert f"{code[:3]}-{code[3:]} 20.50 lb" in said
    found = house.ok("find", "rabbit", "--gone", "--json").json
    assert (found["totals"]["packages"], found["totals"]["net_g"]) == (5, pytest.approx(20.5 * 453.59237, abs=0.1))
    (one,) = found["finished_lots"]
    ways = [(way["number"], way["reason"]) for way in one["left"]]
    assert ways == [(1, "made-into"), (4, "eaten"), (1, "discarded")]
    house.ok("take", single["code"])
    later = house.ok("find", "rabbit", "--gone")
    assert "6 packs, 22.50 lb" in later.told
    assert "eaten on 2 Dec" in later.told
    assert len(house.ok("find", "rabbit", "--gone", "--json").json["finished_lots"]) == 1
