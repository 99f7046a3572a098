"""Every row about the world names a source that we list, and says where in it the figure stands."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import PACKAGE, ROOT

SOURCES = PACKAGE / "food" / "tables" / "sources.toml"
SEEN = {"read", "secondary", "memory"}
# Not publications, and so without publisher and edition, and not always in use.
NOT_PUBLISHED = {"common-practice", "this-household", "needs-2026"}


def sources() -> dict[str, dict[str, object]]:
    return tomllib.loads(SOURCES.read_text(encoding="utf-8"))


def csv_tables() -> list[Path]:
    return sorted(PACKAGE.rglob("*.csv"))


def csv_rows(path: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """Place and content of each row."""
    with path.open(encoding="utf-8", newline="") as lines:
        reader = csv.DictReader(lines)
        for row in reader:
            yield f"{path.relative_to(ROOT)}:{reader.line_num}", row


def toml_rows() -> Iterator[tuple[str, dict[str, object]]]:
    """Place and content of each TOML table, in any depth, that names a source."""

    def walk(place: str, value: object) -> Iterator[tuple[str, dict[str, object]]]:
        if isinstance(value, dict):
            if "source_id" in value:
                yield place, value
            for key, inner in value.items():
                yield from walk(f"{place}: {key}", inner)
        elif isinstance(value, list):
            for number, inner in enumerate(value, 1):
                yield from walk(f"{place} {number}", inner)

    for path in sorted([*PACKAGE.rglob("*.toml"), *(ROOT / "label_templates").rglob("*.toml")]):
        yield from walk(str(path.relative_to(ROOT)), tomllib.loads(path.read_text(encoding="utf-8")))


def test_sources_say_what_they_are() -> None:
    for key, source in sources().items():
        assert source.get("title"), f"{key} has no title"
        assert source.get("seen") in SEEN, f"{key}: seen is one of {SEEN}"
        if key not in NOT_PUBLISHED:
            assert source.get("publisher"), f"{key} has no publisher"
            assert source.get("edition"), f"{key} has no edition"


@pytest.mark.parametrize("path", csv_tables(), ids=lambda path: path.name)
def test_rows_of_a_table_name_their_source(path: Path) -> None:
    known = sources()
    rows = list(csv_rows(path))
    assert rows, f"{path.name} is empty"
    for place, row in rows:
        assert None not in row, f"{place} has more fields than the heading"
        assert None not in row.values(), f"{place} has fewer fields than the heading"
        assert row.get("source_id") in known, f"{place}: source {row.get('source_id')!r} is not in sources.toml"
        assert row.get("locator", "").strip(), f"{place} does not say where in its source it stands"


def test_toml_rows_name_their_source() -> None:
    known = sources()
    rows = list(toml_rows())
    assert rows, "no TOML row names a source"
    for place, row in rows:
        assert row["source_id"] in known, f"{place}: source {row['source_id']!r} is not in sources.toml"
        assert row.get("locator"), f"{place} does not say where in its source it stands"


def test_no_source_stands_idle() -> None:
    used = {str(row["source_id"]) for _, row in toml_rows()}
    used |= {row.get("source_id", "") for path in csv_tables() for _, row in csv_rows(path)}
    assert set(sources()) - used - NOT_PUBLISHED == set()
