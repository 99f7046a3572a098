"""``freezerbox`` alone at a terminal: what can be typed, commands as messages propose them, little loaded."""

from __future__ import annotations

import json
import sys

import pytest

from freezerbox.cli.main import says_no_command
from tests.cli.process import House, Terminal, codes_in

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are of Unix")

ASK = "freezerbox: "
# Runs the program in an interpreter that says at its end what it has brought in.
TELLING = (
    "import json, sys, freezerbox.cli.main as it; it.run([]); "
    "print('LOADED' + json.dumps([one for one in sys.modules if one.startswith('freezerbox')]))"
)


@pytest.mark.parametrize("typed", ["{code}*2", "{code} 2", "{code}x2", "{code} *2", "{code} x2", "{code} x 2"])
def test_some_of_a_lot_are_taken_at_the_prompt(house: House, typed: str) -> None:
    house.ok("pack", "ground", "--lot", "5", "--each", "1", "--species", "rabbit")
    (code,) = codes_in(house.ok("find", "rabbit").out)
    prompt = Terminal(house)
    prompt.answer(ASK, typed.format(code=code))
    assert "2 taken, 3 left" in " ".join(prompt.answer(ASK, "done").split())
    assert prompt.end()[0] == 0
    assert house.ok("show", code, "--json").json["quantity"] == 3


@pytest.mark.parametrize("asked", ["help", "?", "HELP"])
def test_help_says_what_can_be_typed(house: House, asked: str) -> None:
    prompt = Terminal(house)
    prompt.answer(ASK, asked)
    said = prompt.wait_for("freezerbox --help")
    for word in ("K7P-3MT", "words", "rotation", "undo", "done", "put-back"):
        assert word in said
    prompt.answer(ASK, "done")
    assert prompt.end()[0] == 0


def loaded(house: House, *lines: str) -> set[str]:
    prompt = Terminal(house, command=[sys.executable, "-c", TELLING])
    for line in (*lines, "done"):
        prompt.answer(ASK, line)
    status, said = prompt.end()
    assert status == 0
    return {str(name).removeprefix("freezerbox.") for name in json.loads(said.rsplit("LOADED", 1)[1])}


def test_only_what_a_line_needs_is_brought_in(house: House) -> None:
    code = codes_in(house.ok("find", "loin chops").out)[0]
    parts = ("chores.find", "chores.rotation", "chores.session")
    for lines, wanted in (
        ((), set()),
        (("help",), set()),
        (("backstrap",), {"chores.find"}),
        (("rotation",), {"chores.rotation"}),
        ((code, "undo"), {"chores.session"}),
    ):
        found = loaded(house, *lines)
        assert {part for part in parts if part in found} == wanted, lines
        assert [name for name in found if name.endswith("_commands")] == [], lines
    found = loaded(house, f"freezerbox show {code}")
    assert [name for name in found if name.endswith("_commands")] == ["cli.freezer_commands"]


def test_a_command_is_taken_as_a_message_proposes_it(house: House) -> None:
    code = codes_in(house.ok("find", "loin chops").out)[0]
    prompt = Terminal(house, "--by", "Anna")
    prompt.answer(ASK, code)
    prompt.answer(ASK, f"freezerbox put-back {code}")
    assert f"{code}  put back: Loin chops" in prompt.answer(ASK, "freezerbox take 'red")
    assert "quotation mark is missing" in prompt.answer(ASK, "freezerbox nonsense")
    assert "No such command 'nonsense'" in prompt.answer(ASK, "freezerbox")
    assert "help says what can be typed" in prompt.answer(ASK, "done")
    assert prompt.end()[0] == 0
    steps = house.ok("history", code, "--json").json["history"]
    assert [(step["kind"], step["by"]) for step in steps[-2:]] == [("take", "Anna"), ("put-back", "Anna")]


@pytest.mark.parametrize(
    ("arguments", "alone"),
    [
        ([], True),
        (["--book", "x.book"], True),
        (["--today=2 dec", "--by", "Anna"], True),
        (["find"], False),
        (["--help"], False),
        (["--by", "Anna", "nonsense"], False),
    ],
    ids=str,
)
def test_what_opens_the_prompt(arguments: list[str], alone: bool) -> None:
    assert says_no_command(arguments) is alone
