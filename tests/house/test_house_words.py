"""What no file of ours may say: places of one machine, addresses, makers, and verdicts that are not ours to give."""

from __future__ import annotations

import ast
import hashlib
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import PACKAGE, ROOT, modules, parsed, texts

MACHINE_PATH = re.compile(r"(?<![\w.~])/(?:work|tmp|home|root|Users)/|\b[A-Z]:\\Users")
ADDRESS = re.compile(r"https?://([^\s/:\"'`<>(){}\\]*)", re.IGNORECASE)
REGISTRY = re.compile(r"\bpyp[i]\b|python[h]osted|npm[j]s", re.IGNORECASE)
MAKER = re.compile("[\u2122\u00ae]|\\bDK-?\\d{4,5}\\b|\\bL7[01]\\d\\d\\b")
VERDICT = re.compile(r"\b(?:un)?safe\b|\b(?:il)?legal\b", re.IGNORECASE)

# Host parts that name nobody: the household's own phone page, this computer, and names reserved for examples.
NOBODY = re.compile(r"|NAME|localhost|127\.0\.0\.1|(?:[\w-]+\.)*(?:local|home|example|invalid|test)", re.IGNORECASE)

# Names of makers of labels, printers and wraps, as ``digest`` of the lower-case word, so that this file names none.
MAKER_NAMES = frozenset(
    (
        "14610d0c7b1476a0",
        "9487383d51a2ced0",
        "981ce841a00fbc08",
        "99c215a550764c27",
        "b91962cf0a6c444a",
        "c5b49d391ac1d65b",
        "cc11543e23270629",
        "ecb6f753bc3c9cd4",
    )
)

# Files that may hold what is refused elsewhere, each with its reason.
EXCUSED = {
    "label_templates/fonts/": "licences of the fonts, quoted whole as they ask",
}
# Keys of sources.toml that hold other people's words: what a publication is called and what it says of itself.
QUOTED_SOURCE_KEYS = ("title", "publisher", "note")


def excused(path: Path) -> bool:
    return any(path.as_posix().startswith(start) for start in EXCUSED)


def digest(word: str) -> str:
    return hashlib.sha256(word.encode()).hexdigest()[:16]


def found(pattern: re.Pattern[str]) -> list[str]:
    """Every place in our files where ``pattern`` stands, as ``path:line: text``."""
    return [
        f"{path}:{number}: {line.strip()[:120]}"
        for path, text in texts()
        if not excused(path)
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]


def test_no_file_knows_the_machine_it_was_written_on() -> None:
    assert found(MACHINE_PATH) == []


def test_no_file_names_a_package_registry() -> None:
    assert found(REGISTRY) == []


def test_no_file_holds_an_address_of_somebody() -> None:
    places = [
        f"{path}: {match[0]}"
        for path, text in texts()
        if not excused(path)
        for match in ADDRESS.finditer(text)
        if not NOBODY.fullmatch(match[1])
    ]
    assert places == []


def test_no_file_names_a_maker_or_its_label_numbers() -> None:
    assert found(MAKER) == []
    named = {
        f"{path}: {word}"
        for path, text in texts()
        for word in set(re.findall(r"[a-z]{4,}", text.lower()))
        if digest(word) in MAKER_NAMES
    }
    assert named == set()


def strings(path: Path) -> Iterator[tuple[int, str]]:
    """Line and text of every string in a module, docstrings included: typer prints some of them."""
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.lineno, node.value


@pytest.mark.parametrize("path", modules(), ids=str)
def test_program_gives_no_verdict(path: Path) -> None:
    assert [f"{path}:{line}: {text}" for line, text in strings(path) if VERDICT.search(text)] == []


def test_tables_give_no_verdict() -> None:
    data = [path for path in PACKAGE.rglob("*") if path.suffix in (".csv", ".toml", ".md", ".html")]
    data += list((ROOT / "label_templates").rglob("*.toml"))
    assert data, "no tables found"
    faults = []
    for path in data:
        text = path.read_text(encoding="utf-8")
        if path.name == "sources.toml":
            sources = tomllib.loads(text)
            text = "\n".join(
                str(value)
                for source in sources.values()
                for key, value in source.items()
                if key not in QUOTED_SOURCE_KEYS
            )
        faults += [f"{path.relative_to(ROOT)}: {line}" for line in text.splitlines() if VERDICT.search(line)]
    assert faults == []


@pytest.mark.parametrize(
    ("pattern", "bad", "good"),
    [
        (MACHINE_PATH, 'open("/' + 'tmp/x")', "demo/tmp/x and framework/"),
        (REGISTRY, "py" + "pi index", "happy pie"),
        (MAKER, "labels L7" + "160", "letter-10up"),
        (VERDICT, "It is Safe.", "food safety, legally, safely kept"),
    ],
)
def test_patterns_find_what_they_should(pattern: re.Pattern[str], bad: str, good: str) -> None:
    assert pattern.search(bad)
    assert not pattern.search(good)


@pytest.mark.parametrize(
    ("address", "allowed"),
    [
        ("HTTP://" + "NAME/K7P3MT", True),
        ("http://" + "freezer.local:8000/", True),
        ("https://" + "shop.com/x", False),
    ],
)
def test_addresses_are_told_apart(address: str, allowed: bool) -> None:
    match = ADDRESS.search(address)
    assert match is not None
    assert bool(NOBODY.fullmatch(match[1])) is allowed
