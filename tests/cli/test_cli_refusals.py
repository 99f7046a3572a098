"""One test a refusal: what is wrong is said, the value shown, what would be right named, the book left as it was."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.process import START, House

PACK = ("pack", "backstrap")
OF_DOE = ("--animal", "26B")
UNKNOWN = "K7P-3MT"
DAMAGED = "K7P-3MS"

COMMANDS_ON_A_BOOK = [
    ("settings",), ("settings", "units", "kg"), ("freezer",), ("freezer", "add", "Kitchen"), ("place",),
    ("place", "add", "red bag"), ("animal",), ("animal", "add", "26B", "elk"), ("animal", "show", "26B"),
    ("guide", "list"), ("guide", "show"), ("guide", "use", "split-2018"), ("guide", "set", "ground", "3", "4"),
    ("pack", "backstrap", "1"), ("weigh",), ("weigh", UNKNOWN, "1"), ("label",), ("label", "again", UNKNOWN),
    ("label", "ahead", "2", "ground"), ("label", "void", "--unused"), ("find", "backstrap"), ("scan",),
    ("scan", "--photo", "x.png"), ("take", UNKNOWN), ("put-back", UNKNOWN), ("rotation",), ("show", UNKNOWN),
    ("undo",), ("undo", "--list"), ("fix", UNKNOWN, "--weight", "1"), ("swap", UNKNOWN, "K9R-20A"),
    ("history", UNKNOWN), ("check",),
]  # fmt: skip


@pytest.mark.parametrize("command", COMMANDS_ON_A_BOOK, ids=" ".join)
def test_without_a_book_every_command_says_how_to_start_one(bare: House, command: tuple[str, ...]) -> None:
    plain = bare.call(*command)
    assert plain.status == 3
    assert plain.out == ""
    assert f"There is no freezer book at {bare.book} yet. Start one with: freezerbox start" in plain.said
    assert list(bare.folder.iterdir()) == []


def test_without_a_book_in_json_and_at_the_installed_program(bare: House) -> None:
    result = bare.run("find", "backstrap", "--json")
    assert result.status == 3
    assert result.error["kind"] == "no-book"
    assert result.error["path"] == str(bare.book)
    assert bare.run().out.startswith("Usage: freezerbox")
    assert list(bare.folder.iterdir()) == []


# --- Wrong whatever the book holds (2), or the book says no (1) --------------------------------------------------
# arguments, exit status, kind, words that must be in the message

ANIMALS = [
    (("animal", "add", "26b", "elk"), 1, "twin", ["26B already", "Whitetail deer doe", "next letter"]),
    (("animal", "add", "XX", "elk"), 2, "input", ["'XX'", "26B"]),
    (("animal", "add", "26C", "unicorn"), 2, "word", ["'unicorn'", "whitetail, elk or pork"]),
    (("animal", "add", "26C", "elk", "--killed", "14 nov", "--processed", "10 nov"), 2, "date",
     ["10 Nov 2026", "14 Nov 2026", "One of the two days is wrong"]),
    (("animal", "add", "26C", "elk", "--killed", "14 dec"), 2, "date", ["14 Dec 2026 lies ahead", "2 Dec 2026"]),
    (("animal", "add", "26C", "elk", "--sample", "9", "--sent", "14 dec"), 2, "date", ["14 Dec 2026 lies ahead"]),
    (("animal", "add", "26C", "elk", "--killed", "31 feb"), 2, "date", ["'31 feb'", "2026-11-14"]),
    (("animal", "add", "26C", "elk", "--test", "purple"), 2, "word", ["'purple'", "pending", "not-detected"]),
    (("animal", "show", "26Z"), 1, "unknown-record", ["'26Z'", "26B, 26H", "freezerbox animal add 26Z"]),
]  # fmt: skip

DAYS = [
    ((*PACK, ".9", *OF_DOE, "--packed", "10 nov"), 2, "date", ["10 Nov 2026", "26B was killed on 14 Nov 2026"]),
    ((*PACK, ".9", *OF_DOE, "--first-frozen", "10 nov"), 2, "date", ["10 Nov 2026", "26B was killed"]),
    ((*PACK, ".9", "--packed", "tomorrow"), 2, "date", ["3 Dec 2026 lies ahead", "today is 2 Dec 2026"]),
    ((*PACK, ".9", "--packed", "20 dec"), 2, "date", ["20 Dec 2026 lies ahead"]),
    ((*PACK, ".9", "--packed", "nonsense"), 2, "date", ["'nonsense'", "yesterday"]),
    ((*PACK, ".9", "--first-frozen", "2027-01-01"), 2, "date", ["1 Jan 2027 lies ahead"]),
    ((*PACK, ".9", "--packed", "1 nov", "--first-frozen", "20 nov"), 2, "date", ["20 Nov 2026", "1 Nov 2026"]),
    (("--today", "never", "rotation"), 2, "date", ["'never'"]),
    (("--today", "9999-12-31", "rotation"), 2, "date", ["9999-12-31", "2199"]),
]  # fmt: skip

WEIGHTS = [
    ((*PACK, "0", *OF_DOE), 2, "mass", ["'0'", "x when it was not weighed"]),
    ((*PACK, "-1.2", *OF_DOE), 2, "mass", ["'-1.2' is below zero", "1.25"]),
    ((*PACK, "abc1"), 2, "mass", ["'abc1'", "1 lb 4", "20 oz"]),
    ((*PACK, "1,250"), 2, "mass", ["'1,250'", "1250 or 1.250"]),
    ((*PACK, "1:20"), 2, "mass", ["'1:20'", "16"]),
    ((*PACK, "9" * 5000), 2, "mass", ["440.92 lb"]),
    ((*PACK, ""), 2, "mass", ["''"]),
    ((*PACK, "40", *OF_DOE), 1, "out-of-line", ["40.00 lb of Backstrap", "up to 1.50 lb", "--yes"]),
    (("pack", "loin chops", "1.1", "1.05", "11.5", "--animal", "26H"), 1, "out-of-line",
     ["'11.5': 11.50 lb among packages of about 1.10 lb", "--yes"]),
    (("pack", "loin chops", "1.1", "1.05", "1.08", ".11", "--animal", "26H"), 1, "out-of-line", ["'.11'"]),
    ((*PACK, "1", "lb", "4"), 2, "mass", ["'1 lb 4' came as 3 words", "1lb4", '"1 lb 4"']),
    ((*PACK, ".9", "1", "LB", "4", "oz", "1.1"), 2, "mass", ["'1 LB 4 oz' came as 4 words", "1LB4oz"]),
    ((*PACK, "20", "oz", "21", "oz"), 2, "mass", ["'20 oz' came as 2 words", "20oz"]),
    (("pack", "other", "chili", "567", "g"), 2, "mass", ["'567 g' came as 2 words", "567g"]),
    ((*PACK, "1,2,.9"), 2, "mass", ["'1,2,.9' looks like several weights", "1,2."]),
    ((*PACK, "0.004", *OF_DOE, "--yes"), 2, "mass", ["'0.004' is 0.00 lb here", "x when it was not weighed"]),
    (("pack", "sirloin end", "113", "--animal", "26H"), 1, "out-of-line",
     ["113.00 lb of Sirloin end", "heaviest usual pack of any cut is 20.00 lb", "--yes"]),
    (("pack", "other", "chili", "20.01"), 1, "out-of-line", ["20.01 lb of chili"]),
    (("pack", "other", "w" * 41, "1"), 2, "input", ["is 41 characters; the name can have 40", "label"]),
    ((*PACK, "1", "--note", "w" * 121), 2, "input", ["121 characters; --note can have 120"]),
    ((*PACK, "1", "--seasoning", "w" * 61), 2, "input", ["61 characters; --seasoning can have 60"]),
    ((*PACK, "1", "--with", "w" * 41), 2, "input", ["41 characters; --with can have 40"]),
    (("pack", "backstrap"), 2, "input", ["No weights given", "freezerbox pack backstrap 1.10"]),
    (("pack", "other", "chili"), 2, "input", ["No weights given", 'freezerbox pack other "chili" 1.10']),
    ((*PACK, *["1"] * 501), 2, "input", ["501", "500"]),
]  # fmt: skip

WORDS = [
    (("pack", "bakstrap", "1"), 2, "word", ["'bakstrap'", "Did you mean backstrap?"]),
    (("pack", "qqqq", "1"), 2, "word", ["'qqqq'", "other"]),
    (("pack",), 2, "input", ["Say the cut"]),
    (("pack", "other"), 2, "input", ["other"]),
    ((*PACK, "1", "--animal", "26Z"), 1, "unknown-record", ["'26Z'", "26B, 26H", "freezerbox animal add 26Z"]),
    ((*PACK, "1", "--animal", "26B,26Z"), 1, "unknown-record", ["'26Z'"]),
    ((*PACK, "1", "--place", "blue bag"), 1, "unknown-record",
     ["'blue bag'", "red bag", 'freezerbox place add "blue bag"']),
    ((*PACK, "1", "--freezer", "Cellar"), 1, "unknown-record", ["'Cellar'", "Garage chest", "freezer add"]),
    ((*PACK, "1", "--form", "qqqq"), 2, "word", ["'qqqq'", "steaks"]),
    ((*PACK, "1", "--wrap", "qqqq"), 2, "word", ["'qqqq'", "vacuum"]),
    ((*PACK, "1", "--fat", "120"), 2, "input", ["'120'", "--fat none"]),
    ((*PACK, "1", "--fat", "9" * 5000), 2, "input", ["--fat none"]),
    ((*PACK, "1", "--pieces", "0"), 2, "input", ["'0'", "1 to 500"]),
    ((*PACK, "1", "--pieces", "two"), 2, "input", ["'two'", "1 to 500"]),
    ((*PACK, "1", "--lot", "0"), 2, "input", ["'0'", "1 to 2000"]),
    ((*PACK, "1", "--species", "unicorn"), 2, "word", ["'unicorn'"]),
    ((*PACK, "1", *OF_DOE, "--species", "elk"), 2, "input", ["26B is Whitetail deer", "Elk"]),
    ((*PACK, "1", "--frobnicate"), 2, "input", ["--frobnicate", "freezerbox pack --help"]),
    ((*PACK, "1", "-z"), 2, "input", ["-z", "freezerbox pack --help"]),
    (("find", "bakstrap"), 2, "word", ["'bakstrap'", "Did you mean backstrap?"]),
    (("find", ""), 2, "input", ["freezerbox find backstrap"]),
    (("find", "9" * 5000 + "%"), 2, "word", ["%"]),
]  # fmt: skip

CODES = [
    (("take", UNKNOWN), 1, "unknown-code", [UNKNOWN, "not in this book"]),
    (("take", DAMAGED), 2, "code", [f"'{DAMAGED}'", "mistyped"]),
    (("take", "K7P-3MU"), 2, "code", ["U is never part of one"]),
    (("show", "hello"), 2, "code", ["'hello'", "5 characters", "K7P-3MT"]),
    (("show", UNKNOWN), 1, "unknown-code", [UNKNOWN]),
    (("history", DAMAGED), 2, "code", [DAMAGED]),
    (("put-back", UNKNOWN), 1, "unknown-code", [UNKNOWN]),
    (("weigh", UNKNOWN, "1"), 1, "unknown-code", [UNKNOWN]),
    (("weigh", UNKNOWN), 2, "input", ["freezerbox weigh K7P-3MT 1.02"]),
    (("fix", UNKNOWN, "--weight", "1"), 1, "unknown-code", [UNKNOWN]),
    (("swap", UNKNOWN, UNKNOWN), 1, "unknown-code", [UNKNOWN]),
    (("label", "again", UNKNOWN), 1, "unknown-code", [UNKNOWN]),
]  # fmt: skip

LABELS = [
    (("label", "--stock", "a5-1up"), 2, "word", ["'a5-1up'", "letter-10up", "roll-2x1in-203dpi"]),
    (("label", "--start-at", "11"), 2, "input", ["'11'", "1 to 10"]),
    (("label", "--start-at", "0"), 2, "input", ["'0'", "1 to 10"]),
    (("label", "--stock", "roll-2x1in-203dpi", "--start-at", "3"), 2, "input", ["'3'", "one label after another"]),
    (("label", "--start-at", "soon"), 2, "input", ["'soon'", "1 to 10"]),
    (("label", "--to", "labels.txt"), 2, "input", ["'labels.txt'", ".pdf nor .png"]),
    (("label", "--to", ""), 2, "input", [".pdf nor .png"]),
    (("label", "--to", "nowhere/labels.pdf"), 2, "input", ["'nowhere'", "'labels.pdf'"]),
    (("label", "ahead", "0", "ground"), 2, "input", ["'0'", "1 to 200"]),
    (("label", "ahead", "201", "ground"), 2, "input", ["'201'", "1 to 200"]),
    (("label", "ahead", "2", "loin"), 2, "ambiguous", ["'loin'", "backstrap"]),
    (("label", "ahead", "2", "ground", "--animal", "26Z"), 1, "unknown-record", ["'26Z'"]),
    (("label", "ahead", "2", "ground", "--to", "labels.txt"), 2, "input", ["'labels.txt'"]),
    (("label", "void", "--unused"), 1, "refused", ["no unused spare labels"]),
]  # fmt: skip

OTHERS = [
    (("start",), 3, "book", ["there already", "--book"]),
    (("freezer", "add", "garage CHEST"), 1, "twin", ["already"]),
    (("freezer", "add", "  "), 2, "input", ["'  '"]),
    (("freezer", "add", "K", "--volume", "4 pints"), 2, "input", ["'4 pints'", "15 cu ft or 420 l"]),
    (("freezer", "add", "K", "--volume", "0 l"), 2, "input", ["'0 l'"]),
    (("place", "add", "RED bag"), 1, "twin", ["'red bag'", "already"]),
    (("place", "add", "x" * 41), 2, "input", ["41", "40"]),
    (("place", "add", "top", "--freezer", "Cellar"), 1, "unknown-record", ["'Cellar'", "Garage chest"]),
    (("guide", "use", "nothing"), 2, "word", ["'nothing'", "split-2018", "merged-current", "refrigeration-1972"]),
    (("guide", "show", "nothing"), 2, "word", ["'nothing'", "split-2018", "merged-current", "refrigeration-1972"]),
    (("guide", "set", "qqqq", "3", "4"), 2, "word", ["'qqqq'", "ground venison"]),
    (("guide", "set", "ground venison", "6", "4"), 2, "input", ["6", "4", "smaller"]),
    (("guide", "set", "ground venison", "x", "4"), 2, "input", ["'x'"]),
    (("guide", "set", "ground venison", "0", "0"), 2, "input", ["0 months"]),
    (("guide", "set", "ground venison", "4", "--bogus"), 2, "input", ["no option --bogus", "guide set --help"]),
    (("guide", "set", "ground venison", "-1", "4"), 2, "input", ["'-1'"]),
    (("settings", "colour", "red"), 2, "word", ["'colour'", "units"]),
    (("settings", "units", "stone"), 2, "word", ["'stone'", "lb-oz"]),
    (("settings", "guide", "nothing"), 2, "word", ["'nothing'", "split-2018"]),
    (("settings", "letter", "U"), 2, "input", ["'U'"]),
    (("settings", "letter", "7"), 2, "input", ["'7'"]),
    (("settings", "stock", "a5-1up"), 2, "word", ["'a5-1up'", "letter-10up"]),
    (("undo", "999"), 1, "cannot-undo", ["999", "--list"]),
    (("undo", "0"), 2, "input", ["'0'"]),
    (("undo", "x"), 2, "input", ["'x'", "whole number"]),
    (("undo", "9" * 5000), 2, "input", ["whole number"]),
    (("undo", "1"), 1, "cannot-undo", ["--book"]),
    (("undo", "3"), 1, "cannot-undo", ["added animal 26B", "packed 4 packages", "freezerbox undo 4"]),
    (("rotation", "--within", "x"), 2, "input", ["'x'", "months"]),
    (("rotation", "--limit", "0"), 2, "input", ["'0'", "rows"]),
    (("rotation", "--limit", "9" * 5000), 2, "input", ["rows"]),
    (("rotation", "--species", "unicorn"), 2, "word", ["'unicorn'"]),
    (("rotation", "--cut", "qqqq"), 2, "word", ["'qqqq'"]),
    (("rotation", "--place", "nowhere"), 1, "unknown-record", ["'nowhere'", "red bag"]),
    (("scan", "--as", "purple"), 2, "word", ["'purple'", "discarded"]),
    (("take", UNKNOWN, "--as", "void"), 2, "word", ["'void'", "eaten"]),
    (("scan", "--photo", "nothing.png"), 2, "input", ["'nothing.png'"]),
    (("scan", "--photo", "."), 2, "input", ["'.' is a folder"]),
    (("pack", "other", "\udcff", "1"), 2, "input", ["not readable text"]),
]  # fmt: skip

ALL = [*ANIMALS, *DAYS, *WEIGHTS, *WORDS, *CODES, *LABELS, *OTHERS]


def named(arguments: tuple[str, ...]) -> str:
    """A short name for a row, in ASCII."""
    return " ".join(arguments)[:60].encode("ascii", "replace").decode()


@pytest.mark.parametrize(("arguments", "status", "kind", "words"), ALL, ids=[named(row[0]) for row in ALL])
def test_refused_in_words_and_in_json(
    house: House, arguments: tuple[str, ...], status: int, kind: str, words: list[str]
) -> None:
    plain = house.refused(*arguments)
    assert plain.status == status, plain
    for each in words:
        assert " ".join(each.split()) in plain.said
    if arguments[:1] != ("--today",):
        error = house.refused_json(*arguments, status=status, kind=kind)
        for each in words:
            assert each in error["message"]


# Every word the issue names as standing for two cuts, and two of the choices that must be named.
AMBIGUOUS = {
    "sirloin": ("top sirloin", "sirloin tip"),
    "fillet": ("tenderloin", "backstrap"),
    "rump": ("bottom round rump", "top sirloin"),
    "butt": ("Boston butt", "top sirloin"),
    "loin": ("backstrap", "tenderloin"),
    "London broil": ("top round", "flank"),
    "leg": ("haunch", "lamb leg"),
    "round": ("top round", "bottom round"),
    "cutlet": ("top round cutlets", "cubed steaks"),
    "strip": ("strip loin", "backstrap"),
    "flap": ("sirloin flap", "flank"),
    "blade": ("shoulder blade", "flat iron"),
    "shoulder": ("front shoulder", "lamb shoulder"),
    "side": ("half carcass", "pork belly"),
    "chops": ("pork loin chops", "rib chops"),
    "ribs": ("spare ribs", "short ribs"),
}


@pytest.mark.parametrize("word", AMBIGUOUS)
def test_a_word_for_two_cuts_is_refused_naming_the_choices(house: House, word: str) -> None:
    plain = house.refused("pack", word, "1")
    assert plain.status == 2
    assert f"'{word}' stands for more than one thing" in plain.err
    error = house.refused_json("pack", word, "1", status=2, kind="ambiguous")
    choices = [choice for choice, _ in error["choices"]]
    for choice in AMBIGUOUS[word]:
        assert choice in choices
        assert f"\n  {choice} - " in plain.err
    # What is offered must be taken: a choice that asks again would go round in circles.
    for choice in choices:
        assert house.call("pack", choice, "x").status == 0, choice


def test_a_doubtful_weight_is_taken_with_yes(house: House) -> None:
    run = ("pack", "loin chops", "1.1", "1.05", "11.5", "--animal", "26H")
    doubts = house.refused_json(*run, status=1, kind="out-of-line")["doubts"]
    assert len(doubts) == 1, "only the slip is named, not the good weights beside it"
    packages = house.ok(*run, "--yes", "--json").json["packages"]
    assert [round(row["net_g"]) for row in packages] == [499, 476, 5216]


# --- State-dependent refusals ------------------------------------------------------------------------------------


@pytest.fixture
def chop(house: House) -> str:
    rows = house.ok("find", "loin chops", "--json").json["rows"]
    return str(rows[0]["code"])


@pytest.fixture
def held(house: House) -> str:
    rows = house.ok("find", "backstrap", "--json").json["rows"]
    return str(rows[0]["code"])


def test_held_is_not_taken(house: House, held: str) -> None:
    for reason in ("eaten", "given", "made-into", "canned", "fed-to-dog"):
        plain = house.refused("take", held, "--as", reason)
        assert plain.status == 1
        assert "HELD - NOT TAKEN" in plain.err
        assert "TEST PENDING SINCE 21 NOV" in plain.err
        assert "--already-eaten" in plain.err
    assert house.refused_json("take", held, status=1, kind="held")["holds"] == ["test pending"]


def test_taken_twice_says_when_and_how_to_bring_it_back(house: House, chop: str) -> None:
    house.ok("take", chop)
    plain = house.at("2026-12-09T18:00").refused("take", chop)
    assert plain.status == 1
    assert "eaten on 2 Dec already" in plain.err
    assert f"freezerbox put-back {chop[:3]}-{chop[3:]}" in plain.err
    error = house.refused_json("take", chop, status=1, kind="already-gone")
    assert (error["code"], error["reason"], error["since"]) == (chop, "eaten", "2026-12-02")
    house.refused_json("swap", chop, chop, status=1, kind="refused")


def test_days_of_taking(house: House, chop: str) -> None:
    ahead = house.refused_json("take", chop, "--on", "tomorrow", status=2, kind="date")
    assert "3 Dec 2026 lies ahead" in ahead["message"]
    before = house.refused_json("take", chop, "--on", "1 nov", status=1, kind="refused")
    assert "1 Nov 2026" in before["message"]


def test_put_back_of_what_is_in(house: House, chop: str) -> None:
    error = house.refused_json("put-back", chop, status=1, kind="refused")
    assert "in the freezer already, Garage chest" in error["message"]


def test_spare_and_void_labels(house: House) -> None:
    ahead = house.ok("label", "ahead", "2", "ground", "--to", "ahead.pdf", "--json").json
    spare, other = (label["code"] for label in ahead["labels"])
    for command in (("take", spare), ("put-back", spare), ("fix", spare, "--weight", "1")):
        error = house.refused_json(*command, status=1, kind="refused")
        assert "printed ahead" in error["message"]
        assert "freezerbox weigh" in error["message"]
    house.refused_json("swap", spare, other, status=1, kind="refused")
    assert house.refused_json("weigh", spare, "zz", status=2, kind="mass")["value"] == "zz"
    assert "-1.2" in house.refused_json("weigh", spare, "-1.2", status=2, kind="mass")["message"]
    assert "--frob" in house.refused_json("weigh", spare, "--frob", status=2, kind="input")["message"]
    assert "40.00 lb" in house.refused_json("weigh", spare, "40", status=1, kind="out-of-line")["message"]

    house.ok("label", "void", "--unused")
    commands: tuple[tuple[str, ...], ...] = (
        ("take", spare), ("put-back", spare), ("weigh", spare, "1"), ("label", "again", spare),
        ("fix", spare, "--weight", "1"), ("swap", spare, other),
    )  # fmt: skip
    for void in commands:
        plain = house.refused(*void)
        assert plain.status == 1
        assert "void" in plain.err or "not in the freezer" in plain.err


def test_weighed_before(house: House, chop: str) -> None:
    error = house.refused_json("weigh", chop, "1.2", status=1, kind="refused")
    assert f"freezerbox fix {chop[:3]}-{chop[3:]} --weight 1.2" in error["message"]


def test_fix_refuses(house: House, chop: str, held: str) -> None:
    assert "freezerbox fix" in house.refused_json("fix", chop, status=2, kind="input")["message"]
    house.ok("fix", chop, "--weight", "1.3")
    same = house.refused_json("fix", chop, "--weight", "1.3", status=1, kind="refused")
    assert "says that already" in same["message"]
    doubtful = house.refused_json("fix", chop, "--weight", "13", status=1, kind="out-of-line")
    assert "13.00 lb" in doubtful["message"]
    assert "--yes" in doubtful["message"]
    assert house.refused_json("fix", chop, "--weight", "-1", status=2, kind="mass")["value"] == "-1"
    assert house.refused_json("fix", chop, "--cut", "qqqq", status=2, kind="word")["word"] == "qqqq"
    house.refused_json("fix", chop, "--animal", "26Z", status=1, kind="unknown-record")
    house.refused_json("fix", chop, "--animal", "", status=2, kind="input")
    house.refused_json("fix", chop, "--packed", "tomorrow", status=2, kind="date")
    house.refused_json("fix", chop, "--pieces", "0", status=2, kind="input")
    house.refused_json("fix", chop, "--fat", "120", status=2, kind="input")
    house.refused_json("fix", chop, "--wrap", "qqqq", status=2, kind="word")
    house.refused_json("fix", chop, "--form", "qqqq", status=2, kind="word")
    # The day is held against the animal it is corrected to, not against the one it had.
    moved = house.refused_json("fix", chop, "--packed", "1 nov", "--animal", "26B", status=2, kind="date")
    assert "26B was killed on 14 Nov 2026" in moved["message"]
    assert house.ok("fix", chop, "--weight", "13", "--yes").status == 0
    house.ok("fix", chop, "--packed", "1 dec")
    assert "corrected: pack date, first frozen." in house.ok("fix", chop, "--packed", "30 nov").out


def test_swap_refuses(house: House, chop: str, held: str) -> None:
    assert "two are needed" in house.refused_json("swap", chop, chop, status=1, kind="refused")["message"]
    house.ok("take", chop)
    assert "not in the freezer" in house.refused_json("swap", held, chop, status=1, kind="refused")["message"]


def test_undo_refuses(bare: House) -> None:
    bare.ok(*START)
    nothing = bare.refused_json("undo", status=1, kind="cannot-undo")
    assert "Nothing to undo" in nothing["message"]
    bare.ok("pack", "backstrap", "1")
    bare.ok("undo")
    again = bare.refused_json("undo", "2", status=1, kind="cannot-undo")
    assert "taken back already, by act 3" in again["message"]
    assert "freezerbox undo 3" in again["message"]


def test_nothing_to_print(house: House) -> None:
    house.ok("label", "--to", "labels.pdf")
    error = house.refused_json("label", "--to", "more.pdf", status=1, kind="refused")
    assert "freezerbox label again" in error["message"]
    assert not (house.folder / "more.pdf").exists()


def test_a_place_in_two_freezers_is_named_with_its_freezer(house: House) -> None:
    house.ok("freezer", "add", "Kitchen")
    house.ok("place", "add", "red bag", "--freezer", "Kitchen")
    for command in (("pack", "backstrap", "1", "--place", "red bag"), ("rotation", "--place", "red bag")):
        error = house.refused_json(*command, status=2, kind="ambiguous")
        assert [choice for choice, _ in error["choices"]] == ["Garage chest red bag", "Kitchen red bag"]
        assert house.call(*command, "--freezer", "Kitchen").status == 0
    assert "--freezer" in house.refused("place", "add", "top").err


def test_a_photograph_of_several_is_not_taken_without_yes(house: House) -> None:
    house.ok("label", "--to", "labels.png")
    error = house.refused_json("scan", "--photo", "labels.png", "--take", status=2, kind="input")
    assert len(error["codes"]) == 10
    assert "--yes" in error["message"]


# --- A faulty table ----------------------------------------------------------------------------------------------


def table(house: House, text: str | bytes) -> str:
    file = house.folder / "evening.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return str(file)


def test_a_faulty_table_is_refused_whole_with_every_fault_by_row_and_column(house: House) -> None:
    file = table(
        house,
        "cut,weight,animal,pieces,wrap,fat,place,packed,form,count,lot\n"
        "backstrap,.9,26B,,,,,,,2,\n"
        "sirloin,0,26Z,0,cloth,200,nowhere,tomorrow,qqqq,0,x\n"
        ",1,,,,,,,,,\n"
        "backstrap,-1.2,26B,,,,,10 nov,,,\n"
        "backstrap,40,26B,,,,,,,,\n",
    )
    error = house.refused_json("pack", "--table", file, status=2, kind="file")
    columns = [fault.split(":")[0] for fault in error["faults"]]
    assert sorted(columns) == sorted(
        [
            "row 3, count", "row 3, lot", "row 3, animal", "row 3, weight", "row 3, cut", "row 3, form",
            "row 3, pieces", "row 3, wrap", "row 3, fat", "row 3, place", "row 3, packed", "row 4, cut",
            "row 5, weight", "row 5, packed", "row 6, weight",
        ]
    )  # fmt: skip
    by_column = {fault.split(":")[0]: fault for fault in error["faults"]}
    assert "'26Z'" in by_column["row 3, animal"]
    assert "'sirloin' stands for more than one thing" in by_column["row 3, cut"]
    assert "lies ahead" in by_column["row 3, packed"]
    assert "below zero" in by_column["row 5, weight"]
    assert "before 26B was killed" in by_column["row 5, packed"]
    assert "40.00 lb" in by_column["row 6, weight"]
    plain = house.refused("pack", "--table", file)
    assert plain.err.startswith("Nothing recorded: evening.csv has 15 faults (--yes takes doubtful weights).\n")
    assert house.refused("pack", "--table", file, "--yes").status == 2


def test_lines_of_a_table_measure_each_other(house: House) -> None:
    file = table(house, "cut,weight,animal\n" + "".join(f"loin chops,{w},26H\n" for w in ("1.1", "1.05", "5.5", "1")))
    error = house.refused_json("pack", "--table", file, status=2, kind="file")
    assert [fault.split(":")[0] for fault in error["faults"]] == ["row 4, weight"]
    assert house.ok("pack", "--table", file, "--yes", "--json").json["totals"]["packages"] == 4


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "there is no package in it"),
        ("cut,weight\n", "there is no package in it"),
        ("cut\nbackstrap\n", "row 1: column 'weight' is missing"),
        ("cut,weight,colour\nbackstrap,1,red\n", "row 1: no such column 'colour'. The columns are: cut, weight"),
        ("cut,weight,cut\n", "row 1: column 'cut' is there twice"),
        ("cut,weight\nbackstrap,1,2\n", "row 2: 3 cells, but 2 columns"),
        (b"cut,weight\nbackstrap,1\nback\xffstrap,1\n", "row 3: not UTF-8 text"),
        ('cut,weight\n"backstrap,1\n', "is not a table"),
        ("cut,weight\nother,2\n", "row 2, cut: Say what it is"),
        ("cut,weight,species,animal\nbackstrap,1,elk,26B\n", "Animal 26B is Whitetail deer, but --species says Elk"),
        ("cut,weight,count\nbackstrap,1,501\n", "row 2, count: '501'"),
    ],
)
def test_tables_that_are_none(house: House, text: str | bytes, words: str) -> None:
    plain = house.refused("pack", "--table", table(house, text))
    assert plain.status == 2
    assert words in plain.err


def test_table_files_that_cannot_be_read(house: House) -> None:
    assert "There is no file" in house.refused_json("pack", "--table", "no.csv", status=2, kind="input")["message"]
    assert "is a folder" in house.refused_json("pack", "--table", ".", status=2, kind="input")["message"]
    file = table(house, "cut,weight\nbackstrap,1\n")
    both = house.refused_json("pack", "backstrap", "1", "--table", file, status=2, kind="input")
    assert "not both" in both["message"]


def test_a_good_table_is_one_act(house: House) -> None:
    file = table(
        house,
        '\ufeff"Cut";"Weight";"Animal";"First Frozen";"Other";"Count"\r\n'
        '"backstrap";"1 lb 4";"26B";"";"";""\r\n\r\n;;;;;\r\n'
        '"other";"2,1";"";"nov 2025";"chili";"2"\r\n',
    )
    done = house.ok("pack", "--table", file, "--json").json
    assert [row["cut_name"] for row in done["packages"]] == ["Backstrap", "chili", "chili"]
    assert [row["first_frozen_on"] for row in done["packages"]] == ["2026-12-02", "2025-11-01", "2025-11-01"]
    assert house.ok("undo", "--json").json["done"][2]["reason"] == "void"


# --- Usage -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("nonsense",), "No such command 'nonsense'"),
        (("takee",), "Did you mean 'take'"),
        (("find",), "Missing argument 'WORDS"),
        (("put-back",), "Missing argument 'CODE"),
        (("swap", UNKNOWN), "Missing argument 'CODE'"),
        (("show",), "Missing argument 'CODE'"),
        (("label", "ahead", "20"), "Missing argument 'CUT'"),
        (("animal", "add", "26C"), "Missing argument 'SPECIES'"),
        (("place", "frob"), "No such command 'frob'"),
        (("rotation", "extra"), "unexpected extra argument"),
        (("rotation", "--frob"), "No such option: --frob"),
        (("find", "x", "-x"), "No such option: -x"),
        (("label", "void"), "--unused"),
    ],
)
def test_usage_errors_in_words_and_in_json(house: House, arguments: tuple[str, ...], words: str) -> None:
    plain = house.refused(*arguments)
    assert plain.status == 2
    assert words in plain.err
    assert "--help" in plain.err
    assert words in house.refused_json(*arguments, status=2, kind="usage")["message"]


def test_usage_error_at_the_installed_program(bare: House) -> None:
    result = bare.run("rotation", "--json", "--frob")
    assert (result.status, result.out) == (2, "")
    assert json.loads(result.err) == {"error": {"kind": "usage", "message": "No such option: --frob"}}


def test_files_that_are_no_book(bare: House, tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("Dear freezer, " * 20)
    troubles = {"letter.txt": "is not a freezer book", ".": "is a folder", "x" * 300: "file name too long"}
    for file, words in troubles.items():
        result = bare.call("--book", file, "find", "backstrap")
        assert (result.status, result.out) == (3, "")
        assert words in result.err
    assert bare.call("--book", "x" * 300, "start").status == 3
