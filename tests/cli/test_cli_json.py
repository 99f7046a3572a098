"""The JSON contract: exact keys, bare codes, grams as numbers, null for what is unknown, one object on stdout."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.cli.process import CHOPS, PACK_CHOPS, House

# design.md, "JSON contract": everywhere the same keys; keys may be added, none may go.
PACKAGE_ROW = set(
    re.findall(
        r"\w+",
        "code cut cut_name form species animals batch net_g unit_g pieces quantity wrap seasoning fat_percent note "
        "packed_on first_frozen_on times_frozen age_months best_by use_next_from band freezer place state reason "
        "owner reserved_for holds source",
    )
)
GRAMS_A_POUND = 453.59237
CODE = re.compile(r"[A-HJKMNP-TV-Z][0-9A-HJKMNP-TV-Z]{5}")
ROWS_SEEN: list[set[str]] = []


def check_row(row: dict[str, Any]) -> None:
    assert set(row) >= PACKAGE_ROW
    ROWS_SEEN.append(set(row))
    assert set(row) == ROWS_SEEN[0], "a row has the same keys everywhere"
    assert CODE.fullmatch(row["code"])
    for key in ("net_g", "unit_g"):
        assert row[key] is None or isinstance(row[key], int | float)
    for key in ("packed_on", "first_frozen_on", "best_by", "use_next_from"):
        assert row[key] is None or re.fullmatch(r"\d{4}-\d\d-\d\d", row[key])
    assert isinstance(row["animals"], list)
    assert "" not in row.values(), "what is unknown is null"
    for hold in row["holds"]:
        assert set(hold) >= {"kind", "of", "since", "why"}


def chops(house: House) -> list[str]:
    return [row["code"] for row in house.ok("find", "loin chops", "--json").json["rows"]]


def backstraps(house: House) -> list[str]:
    return [row["code"] for row in house.ok("find", "backstrap", "--json").json["rows"]]


def test_pack(house: House) -> None:
    found = house.ok(*PACK_CHOPS, "--json").json
    assert set(found) >= {"packages", "totals"}
    for row in found["packages"]:
        check_row(row)
    grams = [float(weight) * GRAMS_A_POUND for weight in CHOPS]
    assert [row["net_g"] for row in found["packages"]] == pytest.approx(grams, abs=0.0006)
    assert set(found["totals"]) >= {"packages", "net_g", "pieces"}
    assert found["totals"]["packages"] == 14
    assert found["totals"]["pieces"] == 56
    assert found["totals"]["net_g"] == pytest.approx(14.71 * GRAMS_A_POUND, abs=0.01)


def test_a_row_of_known_and_unknown(house: House) -> None:
    (row,) = house.ok("pack", "other", "chili", "x", "--json").json["packages"]
    check_row(row)
    unknown = [
        "form", "batch", "net_g", "unit_g", "pieces", "wrap", "seasoning", "fat_percent", "note", "species", "reason",
        "place", "owner", "reserved_for", "best_by", "use_next_from", "source",
    ]  # fmt: skip
    assert {key: row[key] for key in unknown} == dict.fromkeys(unknown)
    assert (row["cut"], row["cut_name"], row["quantity"], row["state"], row["band"]) == (
        "other",
        "chili",
        1,
        "frozen",
        "no-figure",
    )
    (row,) = house.ok(
        "pack", "ground", "1", "--animal", "26B", "--fat", "20", "--with", "pork fat", "--seasoning", "sage",
        "--wrap", "paper", "--place", "red bag", "--owner", "Anna", "--for", "Sunday", "--note", "thin",
        "--packed", "yesterday", "--frozen-twice", "--json",
    ).json["packages"]  # fmt: skip
    check_row(row)
    expected = {
        "cut": "ground", "cut_name": "Ground", "form": None, "species": "whitetail", "animals": ["26B"],
        "batch": None, "net_g": 453.592, "unit_g": 453.592, "pieces": None, "quantity": 1, "wrap": "paper",
        "seasoning": "sage", "fat_percent": 20, "note": "thin", "packed_on": "2026-12-01",
        "first_frozen_on": "2026-12-01", "times_frozen": 2, "age_months": 0, "best_by": "2027-03-01",
        "use_next_from": "2027-02-01", "band": "keeps", "freezer": "Garage chest", "place": "red bag",
        "state": "frozen", "reason": None, "owner": "Anna", "reserved_for": "Sunday",
        "holds": [{"kind": "test", "of": "26B", "since": "2026-11-21", "why": "test pending"}], "added": "pork fat",
    }  # fmt: skip
    assert {key: row[key] for key in expected} == expected


def test_a_lot(house: House) -> None:
    found = house.ok("pack", "ground", "2", "--lot", "72", "--species", "deer", "--json").json
    (row,) = found["packages"]
    assert (row["quantity"], row["unit_g"]) == (72, pytest.approx(2 * GRAMS_A_POUND, abs=0.001))
    # 72 x 2 lb is exactly 144 lb, to the second decimal of a pound.
    assert row["net_g"] / GRAMS_A_POUND == pytest.approx(144, abs=0.0001)
    assert found["totals"]["packages"] == 72


def test_label(house: House) -> None:
    found = house.ok("label", "--to", "labels.png", "--json").json
    assert set(found) >= {"files", "labels"}
    assert found["files"] == ["labels.png", "labels-2.png"]
    assert len(found["labels"]) == 18
    for label in found["labels"]:
        assert set(label) >= {"code", "file", "page", "x_mm", "y_mm", "width_mm", "height_mm"}
        assert CODE.fullmatch(label["code"])
        assert (label["width_mm"], label["height_mm"]) == (101.6, 50.8)
    assert [label["page"] for label in found["labels"]] == [1] * 10 + [2] * 8
    assert [label["file"] for label in found["labels"]] == ["labels.png"] * 10 + ["labels-2.png"] * 8
    again = house.ok("label", "again", chops(house)[0], "--to", "again.pdf", "--json").json
    assert set(again) == set(found)
    ahead = house.ok("label", "ahead", "2", "ground", "--to", "ahead.pdf", "--json").json
    assert set(ahead) == set(found)
    assert [label["page"] for label in ahead["labels"]] == [1, 1]


def test_find(house: House) -> None:
    found = house.ok("find", "backstrap", "--json").json
    assert set(found) >= {"rows", "nearby", "totals"}
    assert set(found["totals"]) >= {"packages", "net_g"}
    assert len(found["rows"]) == 4
    for row in found["rows"]:
        check_row(row)
    near = house.ok("find", "tenderloin", "--json").json
    assert near["rows"] == []
    assert {row["cut"] for row in near["nearby"]} >= {"backstrap"}
    for row in near["nearby"]:
        check_row(row)
    assert near["totals"]["packages"] == 0


def test_show_and_history(house: House) -> None:
    code = chops(house)[0]
    found = house.ok("show", code, "--json").json
    history = found.pop("history")
    check_row(found)
    assert set(history[0]) >= {"on", "act", "kind", "words", "by", "recorded_at"}
    assert history[0]["kind"] == "pack"
    told = house.ok("history", code, "--json").json
    assert (told["code"], told["history"]) == (code, history)


def test_rotation(house: House) -> None:
    house.ok("pack", "other", "chili", "1")
    house.ok("take", chops(house)[0])
    found = house.ok("rotation", "--json").json
    assert set(found) >= {"as_of", "guide", "source", "rows", "held", "no_figure", "totals"}
    assert found["as_of"] == "2026-12-02"
    assert found["guide"] == "split-2018"
    assert len(found["rows"]) == 12
    for row in (*found["rows"], *found["held"], *found["no_figure"]):
        check_row(row)
    assert [row["cut"] for row in found["held"]] == ["backstrap"] * 4
    assert [row["cut_name"] for row in found["no_figure"]] == ["chili"]
    assert set(found["totals"]) == {"past-best", "use-next", "keeps"}
    for sums in found["totals"].values():
        assert set(sums) >= {"packages", "net_g"}
    assert found["totals"]["keeps"]["packages"] == 13
    assert found["totals"]["past-best"] == {"packages": 0, "net_g": 0, "unweighed": 0}


def test_take_and_its_kin(house: House) -> None:
    codes = chops(house)
    held = backstraps(house)[0]
    for arguments, state in (
        (("take", codes[0]), ("gone", "eaten")),
        (("put-back", codes[0]), ("frozen", None)),
        (("fix", codes[0], "--weight", "1.3"), ("frozen", None)),
        (("take", codes[1], "--as", "made-into"), ("gone", "made-into")),
        (("undo",), ("frozen", None)),
    ):
        found = house.ok(*arguments, "--json").json
        assert set(found) >= {"done", "refused"}
        assert found["refused"] == []
        (row,) = found["done"]
        check_row(row)
        assert (row["state"], row["reason"]) == state

    several = house.call("take", codes[2], "K7P-3MT", held, codes[3], "--json")
    assert several.status == 1
    assert several.err == ""
    assert [row["code"] for row in several.json["done"]] == [codes[2], codes[3]]
    for refused in several.json["refused"]:
        assert set(refused) >= {"code", "why"}
    assert [refused["code"] for refused in several.json["refused"]] == ["K7P-3MT", held]
    assert "HELD" in several.json["refused"][1]["why"]

    swapped = house.ok("swap", codes[4], held, "--json").json
    assert [(row["code"], row["cut"]) for row in swapped["done"]] == [(codes[4], "backstrap"), (held, "loin")]


def test_all_refused_and_all_damaged(house: House) -> None:
    assert house.call("take", "K7P-3MT", "--json").status == 1
    damaged = house.call("take", "K7P-3MS", "K7P-3MR", "--json")
    assert damaged.status == 2
    assert damaged.json["done"] == []
    # A word that is no code stops all of it: what was meant is not known.
    word = house.call("take", chops(house)[0], "hello", "--json")
    assert word.status == 2
    assert "hello" in word.error["message"]


def test_check(house: House) -> None:
    found = house.ok("check", "--json").json
    assert (found["faults"], found["packages"], found["movements"]) == ([], 18, 18)


def test_scan_is_json_lines(house: House) -> None:
    codes, held = chops(house), backstraps(house)[0]
    spare = house.ok("label", "ahead", "1", "ground", "--to", "a.pdf", "--json").json["labels"][0]["code"]
    house.ok("label", "void", "--unused")
    sign = house.ok("place", "--json").json["places"][0]["code"]
    house.ok("take", codes[5])
    later = house.at("2026-12-02T21:05")
    lines = [codes[0], codes[0], "undo", codes[5], held, "K7P-3MT", "K7P-3MS", spare, sign]
    result = later.run("scan", "--json", stdin="\n".join(lines) + "\n")
    assert (result.status, result.err) == (0, "")
    assert [one["outcome"] for one in result.json_lines] == [
        "taken", "duplicate", "undone", "already-gone", "held", "unknown", "damaged", "void", "place",
    ]  # fmt: skip
    for one in result.json_lines:
        assert set(one) >= {"code", "outcome", "message", "package"}
        if one["package"] is not None:
            check_row(one["package"])
    assert [one["code"] for one in result.json_lines] == [
        codes[0], codes[0], codes[0], codes[5], held, "K7P3MT", None, spare, sign,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("reason", "outcome"),
    [("given", "given"), ("discarded", "discarded"), ("canned", "taken"), ("fed-to-dog", "taken")],
)
def test_scan_outcome_follows_the_reason(house: House, reason: str, outcome: str) -> None:
    (line,) = house.ok("scan", "--as", reason, "--json", stdin=f"{chops(house)[0]}\n").json_lines
    assert line["outcome"] == outcome
    assert line["package"]["reason"] == reason


def test_scan_of_a_photograph(house: House) -> None:
    codes = chops(house)
    house.ok("label", "again", codes[0], "--to", "one.png", "--stock", "roll-2x1in-203dpi")
    before = house.dump()
    found = house.ok("scan", "--photo", "one.png", "--json").json
    assert house.dump() == before
    assert "scans" not in found
    (photo,) = found["photos"]
    assert set(photo) >= {"file", "codes"}
    assert photo["file"] == "one.png"
    for seen in photo["codes"]:
        assert set(seen) >= {"code", "symbol", "how"}
    assert {seen["code"] for seen in photo["codes"]} == {codes[0]}
    taken = house.ok("scan", "--photo", "one.png", "--take", "--json").json
    assert set(taken) >= {"photos", "scans"}
    (scan,) = taken["scans"]
    assert (scan["code"], scan["outcome"]) == (codes[0], "taken")
    check_row(scan["package"])


def test_others_report_one_object(house: House) -> None:
    shown = house.ok("animal", "show", "26B", "--json").json
    assert set(shown) >= {"animal", "rows", "totals", "left"}
    for row in shown["rows"]:
        check_row(row)
    acts = house.ok("undo", "--list", "--json").json["acts"]
    assert set(acts[0]) >= {"act", "kind", "on", "words", "by", "undone_by"}
    assert house.ok("settings", "--json").json["settings"]["units"] == "lb"
    assert {place["name"] for place in house.ok("place", "--json").json["places"]} == {"red bag"}
    assert {guide["key"] for guide in house.ok("guide", "list", "--json").json["guides"]} >= {"split-2018"}
    for row in house.ok("guide", "show", "--json").json["rows"]:
        assert row["source"]
