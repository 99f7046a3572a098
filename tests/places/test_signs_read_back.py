"""A sign that does not read back is not printed: each symbol is read in memory before anything is written."""

from __future__ import annotations

from dataclasses import replace

import pytest

from freezerbox.chores.signs import read_back
from freezerbox.core.code import make_code
from freezerbox.errors import LabelUnreadable
from freezerbox.labels.symbols import code128_bars, qr_symbol
from freezerbox.pages.tiles import Tile

CODE, OTHER = str(make_code("46A2R")), str(make_code("4MF2K"))
GOOD = Tile(
    title="red bag",
    code=CODE,
    modules=qr_symbol(CODE).modules,
    bars=code128_bars(CODE),
    says=(CODE, CODE),
)
BLANK = tuple(tuple(False for _ in row) for row in GOOD.modules)
# One finder pattern of three gone, and more modules than the error correction mends.
BROKEN = tuple(
    tuple(dark and not (row < 11 and column < 11) for column, dark in enumerate(line))
    for row, line in enumerate(GOOD.modules)
)


def test_what_reads_is_let_through() -> None:
    read_back([GOOD, replace(GOOD, bars="", says=(CODE,))])


@pytest.mark.parametrize(
    ("tile", "reads"),
    [
        (replace(GOOD, modules=qr_symbol(OTHER).modules), OTHER),
        (replace(GOOD, bars=code128_bars(OTHER)), OTHER),
        (replace(GOOD, modules=BLANK), CODE),
        (replace(GOOD, modules=BROKEN), CODE),
        (replace(GOOD, bars="1010101"), CODE),
        (replace(GOOD, modules=BLANK, bars="", says=(CODE,)), "nothing"),
        (replace(GOOD, says=(OTHER, CODE)), CODE),
    ],
)
def test_a_sign_that_says_something_else_is_refused(tile: Tile, reads: str) -> None:
    """Another place's square or bars, a square that is damaged or empty: the refusal says what it reads."""
    with pytest.raises(LabelUnreadable, match=f"'red bag' does not read back as it should; it reads .*{reads}"):
        read_back([GOOD, tile])
    with pytest.raises(LabelUnreadable, match="Nothing was printed"):
        read_back([tile])
