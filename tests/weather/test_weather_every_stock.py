"""Every stock keeps the floors: the measurement that was recorded, and a few photographs of it taken again."""

from __future__ import annotations

from random import Random

import pytest

from freezerbox.labels.draw import draw
from freezerbox.labels.library import stock, stock_names
from tests.weather.every_stock import (
    DECODED,
    EACH,
    MATCHED,
    MISSED,
    RECORD,
    below,
    cells_of,
    counts,
    photos,
    record,
    recorded,
)
from tests.weather.household import ALIKE, OTHERS, STOCKS, content, live_labels
from tests.weather.runs import judge_all
from tests.weather.test_weather_rates import LEAST_OVERALL, wrong
from tests.weather.test_weather_rates import recorded as at_length
from tests.weather.weathers import FAMILIES

AGAIN = 2
"""So many photographs of each family and stock are taken again: 320, which two cores make in about a minute."""
SLACK = 2
"""Photographs of a stock's 32 that another version of a library may turn."""


def test_every_stock_is_measured() -> None:
    """A new stock is photographed, or is another one dot for dot."""
    assert sorted([*STOCKS, *OTHERS, *ALIKE]) == list(stock_names())
    assert set(ALIKE.values()) <= {*STOCKS, *OTHERS}
    assert set(recorded()) == {(family, one) for family in FAMILIES for one in OTHERS}


@pytest.mark.parametrize(("name", "other"), ALIKE.items())
def test_stocks_that_are_alike(name: str, other: str) -> None:
    code, text = live_labels()[0]
    one, two = (draw([content(Random(code), code, text)], which) for which in (name, other))
    assert (one.stock.width_mm, one.stock.height_mm, one.stock.dpi) == (
        two.stock.width_mm, two.stock.height_mm, two.stock.dpi,
    )  # fmt: skip
    assert stock(name).design == stock(other).design
    assert one.pictures[0].tobytes() == two.pictures[0].tobytes()


def test_the_record_keeps_the_floors_on_every_stock() -> None:
    cells = recorded()
    assert [cell for cell, each in cells.items() if below(each)] == []
    assert min(len(each) for each in cells.values()) >= EACH
    assert set("".join(cells.values())) <= {DECODED, MATCHED, MISSED}
    for one in OTHERS:
        numbers, decoded, read = (
            sum(column) for column in zip(*(counts(cells[family, one]) for family in FAMILIES), strict=True)
        )
        assert read >= LEAST_OVERALL * numbers, one
        # Matching must have had something to do.
        assert decoded < 0.97 * numbers, one
    everything = [counts(each) for each in cells.values()]
    everything += [one for (family, _), one in at_length().items() if family in FAMILIES]
    numbers, _, read = (sum(column) for column in zip(*everything, strict=True))
    assert read >= LEAST_OVERALL * numbers


def test_the_table_counts_its_letters() -> None:
    before = recorded()
    text = RECORD.read_bytes()
    record({})
    assert RECORD.read_bytes() == text
    assert recorded() == before


@pytest.mark.sweep
def test_a_few_of_every_stock_again() -> None:
    judged = judge_all(photos(OTHERS, 0, AGAIN))
    assert len(judged) == AGAIN * len(OTHERS) * len(FAMILIES)
    assert wrong(judged) == []
    now, before = cells_of(judged), recorded()
    lines = []
    for one in OTHERS:
        new = "".join(now[family, one] for family in FAMILIES)
        old = "".join(before[family, one][:AGAIN] for family in FAMILIES)
        for stage, letters in (("ladder", DECODED), ("with matching", DECODED + MATCHED)):
            read, was = (sum(each in letters for each in which) for which in (new, old))
            if read < was - SLACK:
                lines.append(f"{one}, {stage}: {read} of {len(new)} read, {was} recorded: something got worse")
            elif read > was + SLACK:
                lines.append(f"{one}, {stage}: {read} of {len(new)} read, {was} recorded: better, measure it anew")
    assert lines == []
