"""The keeping tables themselves: every row sourced, every span in order, no row twice; the household's own rows."""

from __future__ import annotations

import csv
import tomllib
from pathlib import Path

import pytest

import freezerbox.food.keeping as keeping_module
from freezerbox.errors import InputError, UnknownRecord, UnknownWord
from freezerbox.food.cautions import caution, cautions
from freezerbox.food.keeping import (
    DEFAULT_GUIDE,
    GUIDE_GROUPS,
    KEEPS_AS,
    guide,
    guides,
    own_row,
)
from freezerbox.food.sources import Seen, source, sources

TABLES = Path(keeping_module.__file__).parent / "tables"
NEED_NO_ROW = {"needs-2026", "common-practice", "this-household"}


def rows_of(name: str) -> list[dict[str, str]]:
    with (TABLES / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def used_sources() -> set[str]:
    used: set[str] = set()
    for table in TABLES.glob("*.csv"):
        used |= {row["source_id"] for row in rows_of(table.name) if "source_id" in row}
    for table in TABLES.glob("*.toml"):
        entries = tomllib.loads(table.read_text(encoding="utf-8")).values()
        used |= {entry["source_id"] for entry in entries if isinstance(entry, dict) and "source_id" in entry}
    return used


def test_every_source_named_exists_and_none_is_unused() -> None:
    known = {entry.id for entry in sources()}
    assert used_sources() <= known
    assert known - used_sources() <= NEED_NO_ROW
    assert known >= NEED_NO_ROW


def test_sources_are_whole_and_carry_no_addresses() -> None:
    for entry in sources():
        assert entry.title
        assert isinstance(entry.seen, Seen)
        assert bool(entry.publisher) == bool(entry.edition)
        for text in (entry.title, entry.publisher, entry.note):
            assert "http" not in text
            assert "www." not in text
    assert source("iir-1972").cite() == (
        "Recommendations for the Processing and Handling of Frozen Foods, "
        "International Institute of Refrigeration, Paris, 1972 (seen: secondary)"
    )
    assert source("common-practice").cite() == "common practice, no source"


@pytest.mark.parametrize("name", ["guides.csv", "thaw.csv"])
def test_rows_have_every_cell(name: str) -> None:
    for row in rows_of(name):
        assert None not in row, row  # a cell too many: a comma that is not quoted
        assert None not in row.values(), row
        assert row["source_id"], row
        assert row["locator"], row


def test_guide_rows_use_known_words_and_spans_in_order() -> None:
    for entry in guides():
        assert entry.rows
        for row in entry.rows:
            assert row.guide_groups == ("*",) or set(row.guide_groups) <= set(GUIDE_GROUPS)
            assert set(row.keeps_as) <= set(KEEPS_AS)
            assert row.keeping.food
            assert 1 <= row.keeping.months_max <= 24
            assert row.keeping.months_min is None or row.keeping.months_min <= row.keeping.months_max


def test_no_two_rows_of_a_guide_for_one_food() -> None:
    for entry in guides():
        cells = [(group, kind) for row in entry.rows for group in row.guide_groups for kind in row.keeps_as]
        assert len(cells) == len(set(cells)), entry.key


def test_a_row_recalled_from_memory_says_so() -> None:
    for entry in guides():
        for row in entry.rows:
            if source(row.keeping.source_id).seen is Seen.MEMORY:
                assert "memory" in row.keeping.note


def test_thaw_rows() -> None:
    kinds = [kind for row in rows_of("thaw.csv") for kind in row["keeps_as"].split(";")]
    assert set(kinds) <= set(KEEPS_AS)
    assert len(kinds) == len(set(kinds))
    for row in rows_of("thaw.csv"):
        assert 1 <= int(row["days_min"]) <= int(row["days_max"])


def test_cautions_are_fit_for_labels() -> None:
    assert {"cook-through", "test-hold", "quality", "thaw-vacuum", "power-cut"} <= {line.key for line in cautions()}
    for line in cautions():
        assert line.text.endswith(".")
        assert line.locator
        assert line.label_text.isascii()
        assert len(line.label_text) <= 44


def test_the_default_comes_first() -> None:
    assert guides()[0] is guide(DEFAULT_GUIDE)
    assert [entry.key for entry in guides()] == ["split-2018", "merged-current", "refrigeration-1972"]


def test_unknown_guide_source_and_caution_name_those_there_are() -> None:
    with pytest.raises(UnknownWord, match=r"'federal'.*split-2018, merged-current"):
        guide("federal")
    with pytest.raises(UnknownRecord, match=r"'fda'.*fda-2018"):
        source("fda")
    with pytest.raises(UnknownRecord, match=r"'bear'.*cook-through"):
        caution("bear")


def test_months_in_words() -> None:
    split = guide("split-2018")
    words = {
        (group, kind): found.months()
        for group, kind in (("pork", "chop"), ("chicken", "whole"), ("small-game", "whole"), ("pork", "bacon"))
        if (found := split.keeping(group, kind))
    }
    assert list(words.values()) == ["4-6 months", "12 months", "up to 12 months", "1 month"]


def test_own_row_is_shown_as_its_own_and_leaves_the_rest() -> None:
    split = guide("split-2018")
    ours = split.with_own([own_row("deer-family", "ground", 6, 9, food="ground venison")])
    found = ours.keeping("deer-family", "ground")
    assert found is not None
    assert (found.months_min, found.months_max, found.own, found.guide) == (6, 9, True, "split-2018")
    assert source(found.source_id).cite() == "this household"
    assert ours.keeping("deer-family", "roast") == split.keeping("deer-family", "roast")
    before = guide("split-2018").keeping("deer-family", "ground")
    assert before is not None
    assert (before.months_max, before.own) == (3, False)


def test_own_row_for_any_animal_comes_before_published_rows_that_name_one() -> None:
    ours = guide("split-2018").with_own([own_row("*", "bacon", None, 4), own_row("pork", "bacon", None, 6)])
    found = {group: ours.keeping(group, "bacon") for group in ("pork", "beef")}
    assert {group: row.months_max for group, row in found.items() if row} == {"pork": 6, "beef": 4}
    chops = guide("split-2018").with_own([own_row("*", "chop", None, 3)]).keeping("pork", "chop")
    assert chops is not None
    assert chops.months_max == 3


def test_a_later_own_row_replaces_an_earlier() -> None:
    first = guide("split-2018").with_own([own_row("goat", "steak", 6, 9)])
    second = first.with_own([own_row("goat", "steak", 4, 8)])
    found = second.keeping("goat", "steak")
    assert found is not None
    assert found.months_max == 8
    assert len([row for row in second.rows if row.keeping.own]) == 1
    assert len(second.rows) == len(guide("split-2018").rows) + 1


def test_own_row_refuses_what_cannot_be() -> None:
    with pytest.raises(UnknownWord, match="'stake'") as refused:
        own_row("beef", "stake", 6, 9)
    assert "steak" in refused.value.near
    with pytest.raises(UnknownWord, match="'deer'"):
        own_row("deer", "steak", 6, 9)
    with pytest.raises(InputError, match="0 months"):
        own_row("beef", "steak", None, 0)
    with pytest.raises(InputError, match="600 months"):
        own_row("beef", "steak", 4, 600)
    with pytest.raises(InputError, match="9 to 6 months"):
        own_row("beef", "steak", 9, 6)
