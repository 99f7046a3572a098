"""Odd arguments, odd lines, odd tables: words and an exit status of ours, never a traceback, never a damaged book."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from freezerbox.cli.main import MODULES
from tests.cli.process import House, copy_of

STATUSES = {0, 1, 2, 3}
# Those that would write or look outside the house's own folder by a stray word, or stay until they are stopped.
NOT_TRIED = {"serve", "backup", "restore"}
COMMANDS = sorted(name for _, names in MODULES.values() for name in names if name not in NOT_TRIED)
FAMILIES = ("freezer", "place", "animal", "guide", "label")
SUBCOMMANDS = ["add", "list", "show", "use", "set", "again", "ahead", "void"]

pieces_of_sense = st.sampled_from(
    [
        "backstrap", "ground", "loin chops", "other", "chili", "26B", "26H", "26Z", "whitetail", "red bag", "K7P-3MT",
        "K7P3MS", "1.1", ".9", "0", "-1.2", "x", "1 lb 4", "1:20", "14 nov", "tomorrow", "2026-02-30", "--animal",
        "--form", "--pieces", "--wrap", "--fat", "--lot", "--packed", "--json", "--yes", "--weight", "--as", "--on",
        "--place", "--freezer", "--species", "--within", "--limit", "--all", "--gone", "--everyone", "--note",
        "--table", "--photo", "--stock", "--start-at", "next", "--look", "--unused", "--list", "--help", "--",
        "letter-30up", "house.book", ".", "units", "kg", "lb-oz", "split-2018", "2", "999", "20%", "steak",
    ]
)  # fmt: skip
words = st.one_of(pieces_of_sense, pieces_of_sense, st.text(max_size=12), st.text("0123456789.,:-%", max_size=30))
LISTS = st.lists(words, max_size=7)

fuzz = settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


def fresh(house: House) -> House:
    """The same house without what earlier examples did to it."""
    folder = house.folder / "fuzz"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    return copy_of(house, folder)


def tried(house: House, arguments: list[str], stdin: bytes = b"") -> None:
    """Run in this process; anything but a status of ours is raised as the error it is."""
    before = house.dump()
    result = house.call(*arguments, stdin=stdin)
    assert result.status in STATUSES
    if result.status in (1, 2, 3) and arguments[:1] not in (["check"], ["take"], ["put-back"], ["move"]):
        assert result.err.strip() or result.out.strip(), "a refusal says something"
    if "--json" in arguments and "--help" not in arguments and result.status in (1, 2, 3) and not result.out:
        assert set(json.loads(result.err.splitlines()[-1])["error"]) >= {"kind", "message"}
    if house.dump() != before:
        assert result.status != 2, "wrong whatever the book holds, and yet it changed the book"
        assert house.call("check", "--json").json["faults"] == []


@fuzz
@given(st.sampled_from(COMMANDS), LISTS)
@example("rotation", ["--limit", "9" * 5000])
@example("pack", ["backstrap", "9" * 5000])
@example("pack", ["ground " + "9" * 5000 + "% fat", "1"])
@example("pack", ["other", "\udcff", "1"])
@example("find", ["\x1b[2J\x00"])
@example("find", ["9" * 5000 + "%"])
@example("label", ["--to", "."])
@example("settings", ["units", ""])
@example("undo", ["²"])
@example("show", ["\N{LATIN SMALL LETTER SHARP S}" * 6])
def test_a_command_with_odd_arguments(house: House, command: str, arguments: list[str]) -> None:
    tried(fresh(house), [command, *arguments])


@fuzz
@given(st.sampled_from(FAMILIES), st.sampled_from(SUBCOMMANDS), LISTS)
def test_a_command_of_a_family_with_odd_arguments(
    house: House, command: str, subcommand: str, arguments: list[str]
) -> None:
    tried(fresh(house), [command, subcommand, *arguments])


@settings(fuzz, max_examples=6)  # without a command's name every command is loaded, each time
@given(LISTS)
def test_any_arguments(house: House, arguments: list[str]) -> None:
    tried(fresh(house), [word for word in arguments if word not in NOT_TRIED])


@fuzz
@given(st.sampled_from(["scan", "weigh"]), st.one_of(st.binary(max_size=300), st.text(max_size=120).map(str.encode)))
@example("weigh", b"\xff\xfe\n1.0\n")
@example("scan", b"]Q1\n]\n]C0" + b"\n")
def test_any_lines(house: House, command: str, lines: bytes) -> None:
    tried(fresh(house), [command], stdin=lines)


@fuzz
@given(
    st.one_of(
        st.binary(max_size=200),
        st.lists(st.lists(words, min_size=1, max_size=5).map(",".join), max_size=6).map(
            lambda rows: "\n".join(["cut,weight,animal,pieces,packed", *rows]).encode()
        ),
    )
)
@example(b"cut,weight\nback\0strap,1\n")
@example(b"\xef\xbb\xbfcut;weight\r\nbackstrap;0,9\r\n")
@example(b'cut,weight\n"' + b"x" * 140_000 + b'",1\n')
def test_any_table(house: House, data: bytes) -> None:
    home = fresh(house)
    Path(home.folder, "t.csv").write_bytes(data)
    tried(home, ["pack", "--table", "t.csv"])


@pytest.mark.parametrize(
    "arguments",
    [
        (b"find", b"\xff\xfe"), (b"pack", b"other", b"\xc3\x28", b"1"), (b"--by", b"\x80", b"take", b"K7P-3MT"),
        (b"animal", b"add", b"26Q", b"elk", b"--note", b"\xff"), (b"label", b"--to", b"\xff.pdf"),
    ],
)  # fmt: skip
def test_bytes_that_are_no_text_at_the_installed_program(house: House, arguments: tuple[bytes, ...]) -> None:
    before = house.dump()
    result = house.run(*(argument.decode("utf-8", "surrogateescape") for argument in arguments))
    assert result.status == 2
    assert "is not readable text" in result.err
    assert house.dump() == before


@pytest.mark.parametrize("command", ["scan", "weigh"])
def test_lines_that_are_no_text_at_the_installed_program(house: House, command: str) -> None:
    result = house.run(command, stdin=b"\xff\xfe\x00\n\x80\n")
    assert result.status == 0
    assert "is not a package code" in result.out + result.err


def test_a_screen_that_knows_only_ascii(house: House) -> None:
    """Rotation writes a degree sign; a screen that has none gets a question mark, not a broken evening."""
    from dataclasses import replace

    plain = replace(house, more={"PYTHONIOENCODING": "ascii"})
    result = plain.run("rotation")
    assert result.status == 0
    assert "0 ?F" in result.out


def test_the_reader_of_a_pipe_may_go_away(house: House) -> None:
    import subprocess

    from tests.cli.process import program

    done = subprocess.run(
        ["bash", "-c", f"set -o pipefail; '{program()}' guide show | head -1"],
        env=house.environment(),
        capture_output=True,
        check=False,
    )
    assert done.stderr == b""
    assert done.stdout.count(b"\n") == 1
