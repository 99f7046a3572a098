"""Low paper of a household's own that is very wide: words in two columns, large, and the bars."""

from __future__ import annotations

from dataclasses import replace

import pytest

from freezerbox.labels.draw import draw
from freezerbox.reading.pictures import read_picture
from tests.labels.test_labels_own_high import CASES
from tests.labels.test_labels_own_stock import own


@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.parametrize("size", [(200, 25), (200, 30), (150, 25)])
@pytest.mark.parametrize("case", ["ordinary", "held", "longest", "awkward", "bulk", "chops"])
def test_a_wide_label_is_filled(size: tuple[float, float], dpi: int, case: str) -> None:
    paper, design = own(*size, dpi)
    content = replace(CASES[case], code="QJQ8QJ")
    drawn = draw([content], paper, 1, design)
    (layout,) = drawn.layouts
    assert set(layout.dropped) <= {"season_strip"}

    def least(field: str) -> float:
        return min(box.cap_mm for box in layout.boxes if box.field == field)

    assert least("month") >= 4
    assert least("cut") >= (3.6 if case == "bulk" else 4.8)
    assert least("code") >= 3.2
    found = sorted((symbol.symbology, symbol.text) for symbol in read_picture(drawn.pictures[0]))
    assert found == sorted([("Code 128", "QJQ8QJ"), *[("QR", content.symbol_text)] * 2])


@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_a_held_label_of_a_common_sheet_has_the_bars(dpi: int) -> None:
    paper, design = own(99.1, 38.1, dpi)
    layout = draw([CASES["held"]], paper, 1, design).layouts[0]
    assert sorted(kind for kind, _ in layout.symbols) == ["Code 128", "QR", "QR"]
    assert set(layout.dropped) <= {"wrap", "best_by"}
    assert min(box.cap_mm for box in layout.boxes if box.field == "month") >= 4
