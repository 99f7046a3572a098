"""Keeping months against the published charts, row by row.

The numbers are typed here from the publications as they were read (or recalled, where the name says so), not from the
program's own tables.  Numbers in brackets are the check values of the project's notes.
"""

from __future__ import annotations

from datetime import date

import pytest

from freezerbox.food.cautions import caution, cautions
from freezerbox.food.keeping import Band, band, best_by, cook_within_days, fefo_key, guide
from freezerbox.food.sources import source

# What each id must cite: title and publisher typed here.
FDA = "Refrigerator & Freezer Storage Chart, US Food and Drug Administration, March 2018"
FDA_RECALLED = "Refrigerator & Freezer Storage Chart, US Food and Drug Administration, edition not noted"
FSIS = "Freezing and Food Safety, USDA Food Safety and Inspection Service"
MEAT_TRADE = "Cold Storage Chart, a consumer page of the US meat industry"
MINNESOTA = "Freeze or Can Wild Game to Preserve for Later Use, University of Minnesota Extension, reviewed 2012"
NEW_HAMPSHIRE = "Freezing Small and Large Game, and Game Birds, University of New Hampshire Extension"
WISCONSIN = "Advice on home-made jerky, University of Wisconsin"
MICHIGAN = "Preserving Food Safely 01600816, smoked fish, Michigan State University Extension"
FEDERAL_NOW = "Cold Food Storage Chart, FoodSafety.gov"
IIR = (
    "Recommendations for the Processing and Handling of Frozen Foods, International Institute of Refrigeration, Paris"
)
IIR_1972, IIR_1986 = f"{IIR}, 1972", f"{IIR}, third edition, 1986"
READ, SECONDARY, MEMORY = "read", "secondary", "memory"

Row = tuple[str, str, int | None, int, str, str]  # group, keeps as, months from, months to, citation, seen

SPLIT_2018: list[Row] = [
    ("beef", "ground", 3, 4, FDA, READ),  # [1]
    ("pork", "ground", 3, 4, FDA, READ),  # [1]
    ("lamb", "ground", 3, 4, FDA, READ),  # [1]
    ("veal", "ground", 3, 4, FDA, READ),
    ("turkey", "ground", 3, 4, FDA, READ),
    ("beef", "stew", 3, 4, FDA, READ),
    ("beef", "steak", 6, 12, FDA, READ),  # [2]
    ("veal", "steak", 6, 12, FDA, READ),
    ("lamb", "steak", 6, 12, FDA, READ),
    ("pork", "steak", 6, 12, FDA, READ),
    ("pork", "chop", 4, 6, FDA, READ),  # [3]
    ("lamb", "chop", 4, 6, FDA, READ),
    ("veal", "chop", 4, 6, FDA, READ),
    ("beef", "roast", 4, 12, FDA, READ),  # [4]
    ("veal", "roast", 4, 12, FDA, READ),  # [4]
    ("pork", "roast", 4, 12, FDA, READ),  # [4]
    ("lamb", "roast", 4, 12, FDA, READ),  # [4]
    ("pork", "raw-sausage", 1, 2, FDA, READ),  # [5]
    ("beef", "raw-sausage", 1, 2, FDA, READ),  # [5]
    ("pork", "bacon", 1, 1, FDA, READ),  # [6]
    ("beef", "organ", 3, 4, FDA, READ),  # [7]
    ("deer-family", "organ", 3, 4, FDA, READ),  # [7]
    ("other", "soup-broth", 2, 3, FDA, READ),  # [8]
    ("chicken", "whole", 12, 12, FDA, READ),  # [9]
    ("turkey", "whole", 12, 12, FDA, READ),
    ("chicken", "pieces", 9, 9, FDA, READ),  # [9]
    ("turkey", "pieces", 9, 9, FDA, READ),
    ("chicken", "giblets", 3, 4, FDA, READ),  # [9]
    ("pork", "smoked-sausage", 1, 2, FDA, READ),
    ("pork", "ham-cooked", 1, 2, FDA, READ),
    ("beef", "corned", 1, 1, FDA, READ),
    ("other", "cooked-dish", 2, 3, FDA, READ),
    ("beef", "hard-sausage", 1, 2, MEAT_TRADE, SECONDARY),
    ("chicken", "cooked-poultry", 4, 4, FSIS, SECONDARY),
    ("other-game", "pieces", 8, 12, FSIS, SECONDARY),  # [10]
    ("deer-family", "ground", 2, 3, MINNESOTA, READ),  # [11]
    ("deer-family", "roast", 8, 12, MINNESOTA, READ),  # [11]
    ("deer-family", "steak", 8, 12, MINNESOTA, READ),
    ("deer-family", "stew", 2, 3, MINNESOTA, READ),  # [11]
    ("bear", "roast", 8, 12, MINNESOTA, READ),
    ("wild-pig", "ground", 2, 3, MINNESOTA, READ),
    ("small-game", "whole", None, 12, NEW_HAMPSHIRE, READ),  # [12]
    ("small-game", "pieces", None, 12, NEW_HAMPSHIRE, READ),  # [12]
    ("game-bird", "whole", None, 6, NEW_HAMPSHIRE, READ),  # [13]
    ("game-bird", "pieces", None, 6, NEW_HAMPSHIRE, READ),  # [13]
    ("deer-family", "jerky", None, 6, WISCONSIN, SECONDARY),
    ("fish-fatty", "fish-smoked", 2, 3, MICHIGAN, SECONDARY),
    ("pork", "ham-fresh", 6, 6, FEDERAL_NOW, MEMORY),
    ("pork", "ham-cured", 3, 4, FEDERAL_NOW, MEMORY),
    ("fish-lean", "fish", 6, 6, FDA_RECALLED, MEMORY),
    ("fish-fatty", "fish", 2, 3, FDA_RECALLED, MEMORY),
    ("fish-lean", "fish-cooked", 4, 6, FDA_RECALLED, MEMORY),
]

MERGED_CURRENT: list[Row] = [
    ("beef", "steak", 4, 12, FSIS, SECONDARY),
    ("pork", "chop", 4, 12, FSIS, SECONDARY),
    ("lamb", "roast", 4, 12, FSIS, SECONDARY),
    ("beef", "ground", 3, 4, FSIS, SECONDARY),
    ("pork", "bacon", 1, 2, FSIS, SECONDARY),  # bacon and sausage pooled
    ("pork", "raw-sausage", 1, 2, FSIS, SECONDARY),
    ("chicken", "whole", 12, 12, FSIS, SECONDARY),
    ("chicken", "pieces", 9, 9, FSIS, SECONDARY),
    ("chicken", "giblets", 3, 4, FSIS, SECONDARY),
    ("turkey", "cooked-poultry", 4, 4, FSIS, SECONDARY),
    ("other", "cooked-dish", 2, 3, FSIS, SECONDARY),
    ("other", "soup-broth", 2, 3, FSIS, SECONDARY),
    ("deer-family", "roast", 8, 12, FSIS, SECONDARY),  # [10]
    ("game-bird", "whole", 8, 12, FSIS, SECONDARY),  # [10]
    ("deer-family", "ground", 2, 3, MINNESOTA, READ),
    ("pork", "ham-fresh", 6, 6, FEDERAL_NOW, MEMORY),
    ("pork", "ham-cured", 3, 4, FEDERAL_NOW, MEMORY),
    ("fish-lean", "fish", 6, 8, FEDERAL_NOW, MEMORY),
]

# The column for -18 °C.
REFRIGERATION: list[Row] = [
    ("beef", "roast", None, 12, IIR_1972, SECONDARY),  # [15]
    ("beef", "steak", None, 12, IIR_1972, SECONDARY),
    ("pork", "roast", None, 6, IIR_1972, SECONDARY),  # [16]
    ("pork", "chop", None, 6, IIR_1972, SECONDARY),  # [16]
    ("beef", "ground", None, 10, IIR_1972, SECONDARY),
    ("veal", "roast", None, 9, IIR_1972, SECONDARY),
    ("lamb", "chop", None, 10, IIR_1972, SECONDARY),
    ("pork", "raw-sausage", None, 6, IIR_1972, SECONDARY),
    ("pork", "bacon", 2, 4, IIR_1972, SECONDARY),
    ("pork", "fat", None, 9, IIR_1972, SECONDARY),
    ("turkey", "whole", None, 12, IIR_1972, SECONDARY),
    ("chicken", "cooked-poultry", None, 6, IIR_1972, SECONDARY),
    ("beef", "organ", None, 4, IIR_1972, SECONDARY),
    ("duck-goose", "whole", None, 12, IIR_1986, MEMORY),
    ("fish-lean", "fish", None, 9, IIR_1986, MEMORY),
    ("fish-fatty", "fish", None, 5, IIR_1986, MEMORY),
]


@pytest.mark.parametrize(
    ("key", "row"),
    [
        pytest.param(key, row, id=f"{key}-{row[0]}-{row[1]}")
        for key, rows in (
            ("split-2018", SPLIT_2018),
            ("merged-current", MERGED_CURRENT),
            ("refrigeration-1972", REFRIGERATION),
        )
        for row in rows
    ],
)
def test_published_row(key: str, row: Row) -> None:
    group, kind, months_min, months_max, citation, seen = row
    keeping = guide(key).keeping(group, kind)
    assert keeping is not None
    assert (keeping.months_min, keeping.months_max) == (months_min, months_max)
    cited = source(keeping.source_id)
    assert cited.cite().startswith(citation)
    assert cited.seen == seen
    assert keeping.locator
    assert keeping.guide == key
    assert not keeping.own


@pytest.mark.parametrize(
    ("group", "kind", "split", "merged"),
    [  # the older federal chart tells them apart, the current one does not
        ("beef", "steak", (6, 12), (4, 12)),
        ("pork", "chop", (4, 6), (4, 12)),
        ("beef", "roast", (4, 12), (4, 12)),
    ],
)
def test_older_and_merged_chart(group: str, kind: str, split: tuple[int, int], merged: tuple[int, int]) -> None:
    for key, months in (("split-2018", split), ("merged-current", merged)):
        keeping = guide(key).keeping(group, kind)
        assert keeping is not None
        assert (keeping.months_min, keeping.months_max) == months


@pytest.mark.parametrize("key", ["split-2018", "merged-current", "refrigeration-1972"])
@pytest.mark.parametrize("kind", ["bones", "other"])
def test_no_source_names_it(key: str, kind: str) -> None:
    assert guide(key).keeping("deer-family", kind) is None


def test_trim_is_named_by_no_chart_and_takes_the_row_of_stew_meat() -> None:
    for key in ("split-2018", "merged-current"):
        for group in ("deer-family", "pork"):
            trim, stew = guide(key).keeping(group, "trim"), guide(key).keeping(group, "stew")
            assert trim is not None
            assert stew is not None
            assert (trim.months_min, trim.months_max) == (stew.months_min, stew.months_max)
            assert trim.note.startswith("No chart names trim")
    assert guide("refrigeration-1972").keeping("deer-family", "trim") is None


def test_the_institute_names_no_game_and_the_charts_no_goat_steak() -> None:
    assert guide("refrigeration-1972").keeping("deer-family", "steak") is None
    assert guide("refrigeration-1972").keeping("deer-family", "ground") is None
    assert guide("split-2018").keeping("goat", "steak") is None
    assert guide("split-2018").keeping("pork", "fat") is None
    assert guide("split-2018").keeping("fish-other", "fish") is None


def test_past_best_is_quality_and_nothing_more() -> None:  # [14]
    assert band(date(2027, 11, 22), date(2027, 11, 21), 12) is Band.PAST_BEST
    line = caution("quality").text
    assert "quality" in line
    assert "0 °F (-18 °C)" in line
    assert source(caution("quality").source_id).cite().startswith(FDA)


@pytest.mark.parametrize("word", ["safe", "unsafe", "legal", "illegal"])
def test_no_verdict_in_the_programs_own_voice(word: str) -> None:
    ours = [line.text.lower() for line in cautions()] + [line.label_text.lower() for line in cautions()]
    for key in ("split-2018", "merged-current", "refrigeration-1972"):
        chosen = guide(key)
        ours += [chosen.name.lower(), chosen.about.lower()]
        ours += [f"{row.keeping.food} {row.keeping.note} {row.keeping.locator}".lower() for row in chosen.rows]
    assert not [line for line in ours if word in line.replace("-", " ").split()]


@pytest.mark.parametrize(
    ("kind", "days"),
    [  # University of Illinois Extension, after USDA's The Big Thaw [34, 35]
        ("ground", (1, 2)),
        ("stew", (1, 2)),
        ("whole", (1, 2)),
        ("pieces", (1, 2)),
        ("fish", (1, 2)),
        ("roast", (3, 5)),
        ("steak", (3, 5)),
        ("chop", (3, 5)),
    ],
)
def test_days_after_a_refrigerator_thaw(kind: str, days: tuple[int, int]) -> None:
    within = cook_within_days(kind)
    assert within is not None
    assert (within.days_min, within.days_max) == days
    assert source(within.source_id).publisher == "University of Illinois Extension"


def test_freezing_never_clears_bear_or_wild_pig() -> None:  # [50] US CDC, How to Prevent Trichinellosis
    line = caution("cook-through")
    assert source(line.source_id).title == "How to Prevent Trichinellosis"
    assert "bear and wild pig" in line.text
    assert line.label_text == "COOK THROUGH - freezing is not enough"


def test_canadian_temperature_for_game() -> None:  # [45] Government of Canada, 2017
    line = caution("game-temperature")
    assert "165 °F (74 °C)" in line.text
    assert source(line.source_id).publisher == "Government of Canada"


def test_first_expired_is_not_first_in() -> None:  # [68]
    venison = guide("split-2018")
    ground, roast = venison.keeping("deer-family", "ground"), venison.keeping("deer-family", "roast")
    assert ground is not None
    assert roast is not None
    frozen = {"ROAST": date(2026, 11, 10), "GROUND": date(2027, 3, 1)}
    best = {
        "ROAST": best_by(frozen["ROAST"], roast.months_max),
        "GROUND": best_by(frozen["GROUND"], ground.months_max),
    }
    assert best == {"ROAST": date(2027, 11, 10), "GROUND": date(2027, 6, 1)}
    assert sorted(frozen, key=frozen.__getitem__) == ["ROAST", "GROUND"]
    assert sorted(frozen, key=lambda code: fefo_key(best[code], frozen[code], code)) == ["GROUND", "ROAST"]
