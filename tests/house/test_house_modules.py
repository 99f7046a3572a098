"""Each module says what it is and stays small; the ground floor rests on the standard library alone."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from tests.conftest import LONGEST_FIRST
from tests.house.tree import ROOT, files, modules, parsed

LONGEST_MODULE = 400
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "freezerbox", "label_templates", "tests", "demo"}
DOTFILES = {".ci", ".gitignore"}

# What core may import: ways to hold, compare and compute values.  Nothing that opens files, tells the time, draws
# lots, talks to the network or prints.  ``datetime`` is here for its types; the calls that read a clock are refused.
CORE_MAY_IMPORT = {
    *("__future__", "abc", "bisect", "calendar", "collections", "copy", "dataclasses", "datetime", "decimal"),
    *("enum", "fractions", "functools", "graphlib", "heapq", "itertools", "math", "operator", "re", "string"),
    *("typing", "types", "unicodedata"),
}
CORE_MAY_NOT_CALL = {"print", "open", "input", "now", "utcnow", "today", "exec", "eval", "breakpoint"}


def test_top_level_holds_what_it_should_and_nothing_else() -> None:
    entries = {path.parts[0] for path in files()}
    assert entries - TOP_LEVEL - DOTFILES == set(), "does not belong at the top level"
    assert TOP_LEVEL - entries == set(), "missing at the top level"


@pytest.mark.parametrize("path", modules(), ids=str)
def test_module_says_what_it_is(path: Path) -> None:
    assert ast.get_docstring(parsed(path)), f"{path} has no docstring"


@pytest.mark.parametrize("path", modules(), ids=str)
def test_module_is_small(path: Path) -> None:
    lines = len((ROOT / path).read_text(encoding="utf-8").splitlines())
    assert lines <= LONGEST_MODULE, f"{path} has {lines} lines: it is two modules"


def test_what_is_begun_first_is_there() -> None:
    assert [one for one in LONGEST_FIRST if not (ROOT / "tests" / one).exists()] == []


@pytest.mark.parametrize("path", [path for path in modules() if path.name == "__init__.py"], ids=str)
def test_room_is_told_in_one_sentence(path: Path) -> None:
    docstring = ast.get_docstring(parsed(path)) or ""
    assert re.fullmatch(r"[^.!?]+(?:\.\w[^.!?]*)*\.", docstring), f"{path}: one sentence, please: {docstring!r}"


@pytest.mark.parametrize("path", [path for path in modules() if path.parts[1] == "core"], ids=str)
def test_core_stands_on_the_standard_library(path: Path) -> None:
    found: set[str] = set()
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno} imports by dots"
            found.add(node.module or "")
    ours = {name for name in found if name.split(".")[0] == "freezerbox"}
    strangers = {name for name in found - ours if name.split(".")[0] not in CORE_MAY_IMPORT}
    assert strangers == set(), f"{path} imports what core may not"
    assert {name for name in ours if not name.startswith(("freezerbox.core", "freezerbox.errors"))} == set()


@pytest.mark.parametrize("path", [path for path in modules() if path.parts[1] == "core"], ids=str)
def test_core_has_no_clock_and_does_not_speak(path: Path) -> None:
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Call):
            called = node.func
            name = called.id if isinstance(called, ast.Name) else getattr(called, "attr", "")
            assert name not in CORE_MAY_NOT_CALL, f"{path}:{node.lineno} calls {name}()"


# Every opening of an SQLite file there is, with what makes the promises of a book (``door``) around it.
OPENINGS = {
    "columns.py": ["sqlite3.connect(':memory:')"],
    "copying.py": [
        "sqlite3.connect(part)",  # a copy that has no name yet
        "patience.connect(path, read_only=True)",
        "connect(book)",  # the door's
        "sqlite3.connect(':memory:')",
    ],
    "door.py": ["connect(part)", "connect(path)", "patience.connect(path)"],
    "guards.py": ["sqlite3.connect(':memory:')"],
    "migrations.py": ["Database(connection)"],  # is handed a connection, and opens none
    "patience.py": ["sqlite3.connect(name)"],
    "transfer.py": ["connect(part)"],  # the door's
}
OPENERS = {"connect", "Connection", "Patient", "Database"}
DRIVERS = {"sqlite3", "sqlite_utils", "apsw", "sqlalchemy", "dbm"}


def test_the_book_is_opened_for_writing_at_one_door() -> None:
    """Whoever comes to it, a page as well as a terminal: the promises of a book are made at that door."""
    found: dict[str, list[str]] = {}
    for path in modules():
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.Import | ast.ImportFrom):
                names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [one.name for one in node.names]
                drivers = {name.split(".")[0] for name in names} & DRIVERS
                assert not drivers or path.parts[1] == "book", f"{path}:{node.lineno} goes past the door"
            if isinstance(node, ast.Call) and path.parts[1] == "book":
                called = ast.unparse(node.func)
                if called.rpartition(".")[2] in OPENERS:
                    read_only = [ast.unparse(one) for one in node.keywords if one.arg == "read_only"]
                    told = ", ".join([*map(ast.unparse, node.args[:1]), *read_only])
                    found.setdefault(path.name, []).append(f"{called}({told})")
    assert {name: sorted(calls) for name, calls in found.items()} == {
        name: sorted(calls) for name, calls in OPENINGS.items()
    }
