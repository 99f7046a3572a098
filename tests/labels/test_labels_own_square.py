"""High paper of a household's own: packages of several animals have both symbols and letters as large as others."""

from __future__ import annotations

from dataclasses import replace

import pytest

from freezerbox.labels.draw import draw
from freezerbox.reading.pictures import read_picture
from tests.labels.test_labels_held import HELD
from tests.labels.test_labels_own_stock import own


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", [(100, 100), (76.2, 76.2), (101.6, 76.2)])
@pytest.mark.parametrize("case", ["bulk", "tube", "sausage", "bulk, not held"])
def test_a_mix_keeps_both_symbols_and_large_letters(size: tuple[float, float], dpi: int, case: str) -> None:
    content = HELD.get(case) or replace(HELD["bulk"], hold="", short=())
    paper, design = own(*size, dpi)
    drawn = draw([content], paper, 1, design)
    (layout,) = drawn.layouts
    assert [kind for kind, _ in layout.symbols].count("QR") == 2
    assert set(layout.dropped) <= {"code_128", "wrap", "best_by", "animal words", "banner words"}
    assert min(box.cap_mm for box in layout.boxes if box.field == "cut") >= 0.06 * size[0]
    assert min(box.cap_mm for box in layout.boxes if box.field == "month") >= 0.05 * size[0]
    for turn in (0, 90, 180, 270):
        found = [one.text for one in read_picture(drawn.pictures[0].rotate(turn, expand=True))]
        assert found.count(content.symbol_text) == 2
