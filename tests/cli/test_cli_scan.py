"""A scanner at the freezer: lines through a pipe, one answer each, nothing lost, nothing counted twice."""

from __future__ import annotations

import random

import pytest
from PIL import Image

from freezerbox.labels.proof import picture_of
from freezerbox.labels.symbols import qr_symbol
from tests.cli.process import House, codes_in


@pytest.fixture
def chops(house: House) -> list[str]:
    """Codes of the 14 loin chops, as shown on their labels."""
    return sorted(set(codes_in(house.ok("find", "loin chops").out)))


@pytest.fixture
def held(house: House) -> list[str]:
    """Codes of the 4 backstraps on hold."""
    return sorted(set(codes_in(house.ok("find", "backstrap").out)))


def state(house: House, code: str) -> tuple[str, str | None, int]:
    row = house.ok("show", code, "--json").json
    return row["state"], row["reason"], row["quantity"]


def test_one_line_back_for_each(house: House, chops: list[str]) -> None:
    result = house.run("scan", stdin="\n".join(chops[:3]) + "\n")
    assert (result.status, result.err) == (0, "")
    lines = result.out.splitlines()
    assert [codes_in(line)[0] for line in lines] == chops[:3]
    assert all(" taken: Loin chops, half hog 26H" in line for line in lines)
    assert [state(house, code)[:2] for code in chops[:3]] == [("gone", "eaten")] * 3


def test_the_same_within_ten_seconds_counts_once_also_across_sessions(house: House, chops: list[str]) -> None:
    code = chops[0]
    twice = house.ok("scan", stdin=f"{code}\n{code}\n").out.splitlines()
    assert " taken: " in twice[0]
    assert "scanned twice, counted once" in twice[1]
    for now, words in (
        ("2026-12-02T21:00:09", "scanned twice, counted once"),
        ("2026-12-02T21:00:10", "eaten on 2 Dec already. If that was wrong: freezerbox put-back"),
        ("2026-12-03T08:00", "eaten on 2 Dec already"),
    ):
        before = house.dump()
        assert words in house.at(now).ok("scan", stdin=f"{code}\n").out, now
        assert house.dump() == before


def test_put_back_and_taken_again_is_no_duplicate(house: House, chops: list[str]) -> None:
    code = chops[0]
    house.ok("scan", stdin=f"{code}\n")
    house.ok("put-back", code)
    assert " taken: " in house.at("2026-12-02T21:00:05").ok("scan", stdin=f"{code}\n").out


def test_a_lot_counts_each_second_and_says_what_is_left(house: House) -> None:
    (row,) = house.ok("pack", "ground", "1", "--lot", "72", "--species", "deer", "--json").json["packages"]
    code = row["code"]
    first = house.ok("scan", stdin=f"{code}\n{code}\n").out.splitlines()
    assert first[0].endswith("1 taken, 71 left.")
    assert "scanned twice, counted once" in first[1]
    assert house.at("2026-12-02T21:00:01").ok("scan", stdin=f"{code}\n").out.endswith("2 taken, 70 left.\n")
    assert state(house, code) == ("frozen", None, 70)
    house.ok("undo")
    assert state(house, code) == ("frozen", None, 71)
    for second in range(2, 60):
        house.at(f"2026-12-02T21:00:{second:02d}").ok("take", code)
    assert state(house, code) == ("frozen", None, 13)
    for second in range(13):
        last = house.at(f"2026-12-02T21:01:{second:02d}").ok("take", code)
    assert state(house, code) == ("gone", "eaten", 0)
    assert "left" not in last.out
    assert house.at("2026-12-03T08:00").refused("take", code).status == 1


def test_many_of_a_lot_are_one_act(house: House) -> None:
    (row,) = house.ok("pack", "ground", "1", "--lot", "72", "--species", "deer", "--json").json["packages"]
    code = row["code"]
    assert "2 left" in house.ok("take", code, "70").out
    assert state(house, code) == ("frozen", None, 2)
    refused = house.refused("take", code, "3")
    assert refused.status == 1
    assert "has 2 left, not 3" in refused.said
    assert house.refused("take", code, "0").status == 2
    assert house.refused("take", code, "9999").status == 2
    house.ok("undo")
    assert state(house, code) == ("frozen", None, 72)


def test_undo_in_a_session(house: House, chops: list[str]) -> None:
    result = house.ok("scan", stdin=f"{chops[0]}\n{chops[1]}\nundo\nOOPS\n{chops[1]}\n").out.splitlines()
    assert result[2].startswith(f"Taken back: {chops[1]} taken")
    assert result[3].startswith(f"Taken back: {chops[0]} taken")
    assert " taken: " in result[4], "what was undone is no duplicate"
    assert [state(house, code)[0] for code in chops[:2]] == ["frozen", "gone"]


def test_undo_in_a_session_takes_back_nothing_that_went_before_it(house: House, chops: list[str]) -> None:
    run = house.ok("pack", "ground", *(["1"] * 40), "--animal", "26B", "--json").json["packages"]
    before = house.dump()
    said = house.ok("scan", "--json", stdin="undo\n").json_lines
    assert [one["outcome"] for one in said] == ["refused"]
    assert house.dump() == before
    said = house.ok("scan", "--json", stdin=f"{chops[0]}\nundo\nundo\n0VND09\n").json_lines
    assert [one["outcome"] for one in said] == ["taken", "undone", "refused", "refused"]
    number = next(act["act"] for act in house.ok("undo", "--list", "--json").json["acts"] if act["kind"] == "pack")
    assert (
        f"packed 40 packages of Ground from whitetail doe 26B. To take that back: freezerbox undo {number}"
        in (said[-1]["message"])
    )
    assert state(house, run[0]["code"]) == ("frozen", None, 1)
    assert state(house, chops[0])[0] == "frozen"
    house.ok("undo", str(number))
    assert state(house, run[39]["code"]) == ("gone", "void", 0)


def test_held_is_said_loudly_and_not_taken(house: House, held: list[str]) -> None:
    before = house.dump()
    result = house.run("scan", stdin=f"{held[0]}\n")
    assert house.dump() == before
    lines = result.out.splitlines()
    assert "DO NOT EAT" in result.out
    assert lines[0] == lines[2] == "*" * 60
    assert f"HELD - NOT TAKEN: {held[0]}  Backstrap half, whitetail doe 26B" in result.out
    assert "TEST PENDING SINCE 21 NOV" in result.out
    assert f"freezerbox take {held[0]} --already-eaten" in result.out


def test_held_names_the_nearest_that_is_not(house: House, held: list[str]) -> None:
    (free,) = house.ok("pack", "backstrap", "1", "--species", "elk", "--place", "red bag", "--json").json["packages"]
    shown = f"{free['code'][:3]}-{free['code'][3:]}"
    assert f"Not on hold: {shown}  Backstrap, Elk, 1.00 lb (Garage chest, red bag)." in house.ok(
        "scan", stdin=f"{held[0]}\n"
    ).out  # fmt: skip
    house.ok("fix", shown, "--for", "Christmas")
    assert "Not on hold" not in house.ok("scan", stdin=f"{held[0]}\n").out


def test_already_eaten_is_recorded_and_keeps_the_hold(house: House, held: list[str]) -> None:
    assert "recorded as eaten, still on hold" in house.ok("scan", "--already-eaten", stdin=f"{held[0]}\n").out
    assert "recorded as eaten, still on hold" in house.ok("take", held[1], "--already-eaten").out
    for code in held[:2]:
        row = house.ok("show", code, "--json").json
        assert (row["state"], row["reason"]) == ("gone", "eaten")
        assert [hold["why"] for hold in row["holds"]] == ["test pending"]
    assert "ON HOLD: test pending" in house.at("2026-12-05T12:00").ok("scan", stdin=f"{held[0]}\n").out
    # It was taken out in the last days, and yet nobody is told to cook it.
    assert "OUT since" not in house.ok("rotation").out
    assert house.ok("rotation", "--json").json["out"] == []


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        ("eaten", "taken"), ("given", "given away"), ("discarded", "discarded"), ("made-into", "made into"),
        ("canned", "canning"), ("fed-to-dog", "for the dog"), ("lost", "lost"), ("moved-out", "moved out"),
    ],
)  # fmt: skip
def test_each_way_out(house: House, chops: list[str], held: list[str], reason: str, words: str) -> None:
    result = house.ok("scan", "--as", reason, stdin=f"{chops[0]}\n{held[0]}\n").out
    assert words in result.splitlines()[0]
    assert state(house, chops[0])[:2] == ("gone", reason)
    # A held package may be thrown away, lost or moved; nobody eats it by that.
    leaves = reason in ("discarded", "lost", "moved-out")
    assert state(house, held[0])[:2] == (("gone", reason) if leaves else ("frozen", None))
    assert ("DO NOT EAT" in result) is not leaves


@pytest.mark.parametrize("written", ["Fed To Dog", "dog", " CANNED ", "made into"])
def test_a_way_out_is_read_forgivingly(house: House, chops: list[str], written: str) -> None:
    house.ok("scan", "--as", written, stdin=chops[0])
    assert state(house, chops[0])[0] == "gone"


@pytest.mark.parametrize(
    "form",
    [
        "{code}", "{bare}", "{lower}", " {code} ", "{code}\r", "\x02{bare}\x03", "{spaced}", "]Q1{bare}", "]C0{bare}",
        "HTTP://NAME/{bare}", "http://freezer.home:8080/{lower}/", "http://freezer.local/{bare}", "{symbol}",
        "]Q1{symbol}", "{stripped}",
    ],
)  # fmt: skip
def test_every_form_of_a_code(house: House, chops: list[str], form: str) -> None:
    bare = chops[0].replace("-", "")
    seen = ""
    if "{s" in form:
        house.ok("label", "again", bare, "--to", "one.png")
        seen = house.ok("scan", "--photo", "one.png", "--json").json["photos"][0]["codes"][0]["text"]
        assert (seen[:6], len(seen)) == (bare, 16)
    line = form.format(
        code=chops[0], bare=bare, lower=bare.lower(), spaced=" ".join(bare), symbol=seen, stripped=seen.rstrip()
    )
    (scanned,) = house.ok("scan", "--json", stdin=f"{line}\n").json_lines
    assert (scanned["code"], scanned["outcome"]) == (bare, "taken")


def test_misread_letters(house: House, chops: list[str]) -> None:
    """O for 0, I and L for 1 are read as what they look like; another slip proposes the one code it can be."""
    with_figure = next(code for code in chops if set("01") & set(code.replace("-", "")))
    typed = with_figure.replace("0", "O").replace("1", "l")
    (scanned,) = house.ok("scan", "--json", stdin=f"{typed}\n").json_lines
    assert scanned["outcome"] == "taken"
    swapped = chops[-1][:4] + chops[-1][5] + chops[-1][4] + chops[-1][6]
    assert swapped != chops[-1]
    (scanned,) = house.ok("scan", "--json", stdin=f"{swapped}\n").json_lines
    assert scanned["outcome"] == "damaged"
    assert f"Did you mean {chops[-1]}?" in scanned["message"]


def test_empty_lines_line_ends_and_the_end_word(house: House, chops: list[str]) -> None:
    stdin = f"\n\r\n  \n\t\n{chops[0]}\r\n\r\n{chops[1]}\ndone\n{chops[2]}\n"
    assert len(house.run("scan", stdin=stdin).out.splitlines()) == 2
    assert state(house, chops[2])[0] == "frozen"
    assert house.ok("scan", stdin=chops[3]).out.count("taken") == 1, "a last line without its end is a line"
    assert house.ok("scan", stdin="").out == ""


def test_wild_bytes_never_stop_a_session(house: House, chops: list[str]) -> None:
    chance = random.Random(20261202)
    junk = [bytes(chance.randrange(256) for _ in range(chance.randrange(1, 400))) for _ in range(40)]
    lines = b"\n".join(junk) + b"\n\xff\xfe\x00\n" + b"x" * 100_000 + b"\n" + chops[0].encode() + b"\n"
    result = house.run("scan", stdin=lines)
    assert (result.status, result.err) == (0, "")
    assert " taken: Loin chops" in result.out.splitlines()[-1]
    assert house.ok("check", "--json").json["faults"] == []
    assert sum(row["state"] == "gone" for row in (house.ok("show", c, "--json").json for c in chops)) == 1


def test_signs_and_strangers_change_nothing(house: House, chops: list[str]) -> None:
    sign = house.ok("place", "--json").json["places"][0]["code"]
    before = house.dump()
    out = house.ok("scan", stdin=f"{sign}\nK7P-3MT\nK7P-3MS\n5012345678900\nhello\n").out.splitlines()
    assert house.dump() == before
    assert "red bag, Garage chest: 4 packages by the list. Nothing changed." in out[0]
    assert "K7P-3MT is not in this book" in out[2]
    assert "mistyped" in out[3]
    assert "'5012345678900' is not a package code" in out[4]
    assert len(out) == 6


def test_five_hundred_lines_none_lost(house: House) -> None:
    packed = house.ok("pack", "ground", *["1"] * 250, "--species", "elk", "--json").json["packages"]
    codes = [row["code"] for row in packed]
    lines = [line for code in codes for line in (code, "K7P-3MT")]
    result = house.run("scan", "--json", stdin="".join(f"{line}\r\n" for line in lines))
    assert (result.status, result.err) == (0, "")
    assert [one["code"] for one in result.json_lines] == [line.replace("-", "") for line in lines]
    assert [one["outcome"] for one in result.json_lines] == ["taken", "unknown"] * 250
    assert house.ok("find", "ground", "--json").json["totals"]["packages"] == 0
    assert len(house.ok("find", "ground", "--gone", "--json").json["rows"]) == 250


def test_an_older_one_is_mentioned(house: House) -> None:
    house.ok("pack", "ground", "1", "--species", "elk", "--first-frozen", "jul 2026", "--place", "red bag")
    (young,) = house.ok("pack", "ground", "1", "--species", "elk", "--json").json["packages"]
    out = house.ok("scan", stdin=young["code"]).out.splitlines()
    assert out[1].startswith("  An older one, 5 months, is ")
    assert out[1].endswith(": Garage chest, red bag.")


def test_trim_that_waits_for_the_grinder_is_offered_and_what_is_kept_for_a_day_is_not(house: House) -> None:
    """As find has it: reserved is what is set aside for a meal, a day or somebody."""
    add = ("--species", "elk", "--first-frozen")
    house.ok("pack", "trim", "3", *add, "may 2026", "--for", "the party on Sunday")
    (later,) = house.ok("pack", "trim", "2", *add, "jul 2026", "--for", "grind later", "--json").json["packages"]
    (young,) = house.ok("pack", "trim", "1", "--species", "elk", "--json").json["packages"]
    assert [row["code"] for row in house.ok("find", "trim", "--json").json["rows"]] == [later["code"], young["code"]]
    shown = f"{later['code'][:3]}-{later['code'][3:]}"
    house.ok("hold", young["code"], "--why", "smelt odd")
    assert f"Not on hold: {shown}  " in house.call("scan", stdin=f"{young['code']}\n").out
    house.ok("undo")
    assert f"An older one, 5 months, is {shown}" in house.ok("scan", stdin=f"{young['code']}\n").out


def test_photographs_look_and_take(house: House, chops: list[str]) -> None:
    house.ok("label", "--to", "sheet.png")
    before = house.dump()
    looked = house.ok("scan", "--photo", "sheet.png").out
    assert house.dump() == before
    assert looked.splitlines()[0] == "sheet.png: 10 labels"
    assert looked.count("HELD: test pending") == 4
    assert "Only looked; nothing changed." in looked
    taken = house.ok("scan", "--photo", "sheet.png", "--take", "--yes", "--as", "discarded", "--json").json["scans"]
    assert [one["outcome"] for one in taken] == ["discarded"] * 10


def test_a_basket_taken_by_mistake_goes_back_in_one_line(house: House, chops: list[str]) -> None:
    house.ok("label", "--to", "sheet.png")
    before = house.ok("rotation", "--json").json
    out = " ".join(house.ok("scan", "--photo", "sheet.png", "--take", "--yes", "--as", "discarded").out.split())
    assert house.ok("rotation", "--json").json != before
    words = out.split("All back in: freezerbox ")[1].split()
    house.ok(*words)
    assert house.ok("rotation", "--json").json == before


def test_signs_and_cards_in_view_are_no_packages(house: House, chops: list[str]) -> None:
    """A basket with its sign on it, and the cards that hang beside it."""
    (sign,) = {place["code"] for place in house.ok("place", "list", "--json").json["places"][:1]}
    package = chops[0].replace("-", "")
    picture = Image.new("L", (2600, 500), 200)
    for at, text in enumerate((package, sign, "0TAK30", "TO GRANDMA")):
        picture.paste(picture_of(qr_symbol(text).modules), (60 + 500 * at, 100))
    picture.paste(picture_of(qr_symbol(package).modules), (60 + 500 * 4, 100))
    picture.save(house.folder / "basket.png")
    head, *lines = house.ok("scan", "--photo", "basket.png", "--take").out.splitlines()
    assert head == "basket.png: 1 label, 1 sign, 2 cards"
    assert any(f"sign of {name}" in lines[1] for name in house.ok("place", "list").out.split("  "))
    assert "TAKE card: for a scanner, not for photographs" in lines[2]
    assert "card 'TO GRANDMA'" in lines[3]
    assert lines[0].endswith("on 2 labels")
    assert state(house, chops[0])[:2] == ("gone", "eaten")
    codes = house.ok("scan", "--photo", "basket.png", "--json").json["photos"][0]["codes"]
    assert [one["on"] for one in codes] == ["label", "sign", "card", "card"]
    house.ok("undo")
    counted = house.ok("count", sign, "--photo", "basket.png", "--json").json
    assert counted["seen"] == [package]


def test_a_photograph_says_what_was_there_before_it_is_taken_and_what_to_do_where_none_reads(
    house: House, chops: list[str]
) -> None:
    house.ok("label", "again", chops[0], "--stock", "roll-4x2in-203dpi", "--to", "one.png")
    Image.new("L", (400, 300), 200).save(house.folder / "blank.png")
    out = house.ok("scan", "--photo", "one.png", "--take").out
    assert "eaten" not in out.split("taken: ", maxsplit=1)[0]
    assert "Where none reads" not in out
    assert "Where none reads: wipe the frost off" in house.ok("scan", "--photo", "blank.png").told
