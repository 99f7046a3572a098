"""How people type: a code with a space in it, several photographs behind one option, words that run over the page."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

from freezerbox.cli.photos import spread
from freezerbox.cli.reports import OUTCOMES
from freezerbox.core.code import rejoined
from tests.cli.process import House, Terminal, codes_in

ROOT = Path(__file__).resolve().parents[2]


def free(house: House) -> list[str]:
    return codes_in(house.ok("find", "loin chops").out)


def state(house: House, code: str) -> str:
    return str(house.ok("show", code, "--json").json["state"])


# --- A code typed with a space ------------------------------------------------------------------------------------


def test_a_code_typed_as_two_words_is_taken(house: House) -> None:
    one, two, three = free(house)[:3]
    assert f"{one}  taken" in house.ok("take", *one.lower().split("-")).out
    done = house.ok("take", *two.split("-"), three, "--json").json["done"]
    assert [row["code"] for row in done] == [two.replace("-", ""), three.replace("-", "")]
    house.ok("put-back", *one.split("-"), *two.split("-"))
    house.ok("discard", one[:2], one[2:].replace("-", ""))
    assert [state(house, code) for code in (one, two, three)] == ["gone", "frozen", "gone"]


def test_a_code_in_two_words_with_a_slip_is_told_as_a_code(house: House) -> None:
    code = free(house)[0]
    head, tail = code.split("-")
    slip = tail[:2] + ("A" if tail[2] != "A" else "B")
    error = house.refused_json("take", head, slip, status=2, kind="code")
    assert f"Did you mean {code}?" in error["message"]


def test_words_and_a_number_stay_words(house: House) -> None:
    house.ok("take", "loin chops", "2")
    house.ok("take", "loin", "chops", "2", "--yes")
    assert house.ok("find", "loin chops", "--json").json["totals"]["packages"] == 10
    assert "no cut, species" in house.refused("take", "K7P", "what").said


@pytest.mark.parametrize(
    ("words", "issued", "expected"),
    [
        (["k7p", "3mt"], False, ["k7p 3mt"]),
        (["K7", "P3MT", "red"], False, ["K7 P3MT", "red"]),
        (["K7P-3MT", "K7P-3MT"], True, ["K7P-3MT", "K7P-3MT"]),
        (["K7P", "3MS"], True, ["K7P", "3MS"]),
        (["ground", "2"], True, ["ground", "2"]),
        ([], True, []),
    ],
    ids=str,
)
def test_what_is_one_code(words: list[str], issued: bool, expected: list[str]) -> None:
    assert rejoined(words, lambda code: issued) == expected


def test_a_number_belongs_to_a_code_only_when_it_was_issued() -> None:
    # Three letters and a number of three figures that check together by chance.
    assert rejoined(["HAM", "105"], lambda code: True) == ["HAM 105"]
    assert rejoined(["HAM", "105"], lambda code: False) == ["HAM", "105"]


# --- Photographs --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("scan --photo a.jpg b.JPG c.png --take", "scan --photo a.jpg --photo b.JPG --photo c.png --take"),
        ("scan --photo a.jpg --photo b.jpg", "scan --photo a.jpg --photo b.jpg"),
        ("scan --photo=a.jpg b.jpg", "scan --photo=a.jpg --photo b.jpg"),
        ("count --photo a.jpg b.jpg basket", "count --photo a.jpg --photo b.jpg basket"),
        ("count basket --photo a b.jpg", "count basket --photo a --photo b.jpg"),
        ("scan --photo a.jpg --show b.png", "scan --photo a.jpg --show b.png"),
        ("find a.jpg b.jpg", "find a.jpg b.jpg"),
    ],
)
def test_files_behind_one_photo_option(typed: str, meant: str) -> None:
    assert spread(typed.split()) == meant.split()


def test_several_photographs_behind_one_option(house: House) -> None:
    one, two = free(house)[:2]
    for code, name in ((one, "one.png"), (two, "two.png")):
        house.ok("label", "again", code, "--look", "--to", name, "--stock", "roll-2x1in-203dpi")
    seen = house.ok("scan", "--photo", "one.png", "two.png", "--json").json
    assert seen == house.ok("scan", "--photo", "one.png", "--photo", "two.png", "--json").json
    assert [photo["file"] for photo in seen["photos"]] == ["one.png", "two.png"]
    counted = house.ok("count", "--photo", "one.png", "two.png", "red bag", "--json").json
    assert sorted(counted["seen"]) == sorted(code.replace("-", "") for code in (one, two))
    # A bad one is told, and the others are read.
    some = house.call("scan", "--photo", "one.png", "three.jpg")
    assert (some.status, one in some.out) == (1, True)
    assert "'three.jpg'" in some.err


# --- Lines that are wider than the page ---------------------------------------------------------------------------

LONG = ("place", "add", "the small blue basket at the back left")


def widest(text: str) -> int:
    return max(len(line) for line in text.splitlines())


def test_no_refusal_is_wider_than_the_page(house: House) -> None:
    for arguments in (
        ("guide", "set", "qqqq", "3", "4"),
        ("pack", "backstrap", "40", "--animal", "26B"),
        ("pack", "loin chops", "1.1", "1.05", "11.5", "--animal", "26H"),
        ("label", "--stock", "a5-1up"),
        ("take", codes_in(house.ok("find", "backstrap").out)[0]),
        ("settings", "colour"),
        ("find", "--nonsense"),
    ):
        assert widest(house.refused(*arguments).err) <= 80, arguments


@pytest.mark.parametrize("length", range(4, 41, 4))
def test_a_command_in_a_refusal_is_kept_in_one_piece(house: House, length: int) -> None:
    name = ("a small blue bag for the top of it all...")[:length].strip()
    error = house.refused("pack", "backstrap", "1", "--place", name).err
    assert widest(error) <= 80
    assert [line for line in error.splitlines() if line.endswith(f'freezerbox place add "{name}"')], error


def test_a_scan_in_a_pipe_stays_a_line_and_is_folded_at_a_terminal(house: House) -> None:
    house.ok(*LONG)
    code = free(house)[0]
    house.ok("move", code, "--to", LONG[2])
    assert len(house.ok("scan", stdin=f"{code}\n").out.splitlines()) == 1
    session = Terminal(house, "scan", columns=60)
    session.answer("scan: ", "undo")
    assert widest(session.answer("scan: ", code)) <= 60
    assert widest(session.answer("scan: ", "done")) <= 60
    assert session.end()[0] == 0


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are of Unix")
@pytest.mark.parametrize("columns", [60, 80, 132])
def test_what_is_said_at_a_terminal_fits_it_and_eighty(house: House, columns: int) -> None:
    table = Terminal(house, "pack", "shank", "--animal", "26B", columns=columns)
    for typed in ("a bit more than a pound", "1,250", "0", "-1.2", "done"):
        table.answer("26B  1: ", typed)
    assert table.end()[0] == 0
    scale = Terminal(house, "weigh", columns=columns)
    for typed in ("K7P-3MS", "hello there", "done"):
        scale.answer("scan: ", typed)
    assert scale.end()[0] == 0
    prompt = Terminal(house, columns=columns)
    for typed in ("nothing like it", "K7P-3MT", "help", "rotation", "done"):
        prompt.answer("freezerbox: ", typed)
    assert prompt.end()[0] == 0
    for session in (table, scale, prompt):
        assert widest(session.seen) <= min(columns, 80)


def test_what_a_fault_lists_stands_under_it(house: House) -> None:
    (house.folder / "evening.csv").write_text("cut,weight\nsirloin,2\nqqqq,1\n", encoding="utf-8")
    first, *faults = house.refused("pack", "--table", "evening.csv").err.splitlines()
    assert "2 faults" in first
    indents = [len(line) - len(line.lstrip()) for line in faults]
    assert faults[0].startswith("  row 2, cut: 'sirloin'")
    assert faults[1].startswith("    top sirloin - ")
    (last,) = [at for at, line in enumerate(faults) if line.startswith("  row 3, cut: 'qqqq'")]
    assert set(indents[1:last]) == {4}, "choices stand under their row"


# --- Scan outcomes ------------------------------------------------------------------------------------------------


def outcomes_said() -> set[str]:
    """The outcomes written in the chores, as the word of an ``outcome=`` or as what an ``outcome`` is set to."""
    said: set[str] = set()
    for module in (ROOT / "freezerbox" / "chores").glob("*.py"):
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            values: list[ast.expr] = []
            if isinstance(node, ast.keyword) and node.arg == "outcome":
                values = [node.value]
            elif isinstance(node, ast.Assign) and any(
                isinstance(target, ast.Name) and target.id in ("outcome", "_OUTCOMES") for target in node.targets
            ):
                values = list(node.value.values) if isinstance(node.value, ast.Dict) else [node.value]
            for value in values:
                said |= {str(one.value) for one in ast.walk(value) if isinstance(one, ast.Constant)}
    return said


def test_every_outcome_of_a_scan_is_one_of_the_contract() -> None:
    said = outcomes_said()
    assert said <= set(OUTCOMES)
    assert said >= {"taken", "held", "duplicate", "refused", "paused", "shown", "moved", "undone", "already-gone"}
