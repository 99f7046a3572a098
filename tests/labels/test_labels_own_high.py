"""Narrow and high paper of a household's own: large words, a large month, both symbols, the code and the bars."""

from __future__ import annotations

from dataclasses import replace

import pytest

from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import draw
from freezerbox.labels.ordinary import ORDINARY
from freezerbox.reading.pictures import read_picture
from tests.labels.test_labels_bands import empty_band
from tests.labels.test_labels_held import HELD
from tests.labels.test_labels_layout import CONTENTS
from tests.labels.test_labels_own_stock import own

CASES: dict[str, LabelContent] = {**CONTENTS, **HELD, "ordinary": ORDINARY}


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("size", [(50, 90), (55, 120), (62, 100), (80, 100)])
@pytest.mark.parametrize("case", ["ordinary", "held", "longest", "awkward", "bulk", "chops"])
def test_a_high_label_is_filled(size: tuple[float, float], dpi: int, case: str) -> None:
    paper, design = own(*size, dpi)
    content = replace(CASES[case], code="QJQ8QJ")
    drawn = draw([content], paper, 1, design)
    (layout,) = drawn.layouts
    assert set(layout.dropped) <= {"season_strip", *(["code_128"] if size == (80, 100) else [])}

    def least(field: str) -> float:
        return min(box.cap_mm for box in layout.boxes if box.field == field)

    assert [kind for kind, _ in layout.symbols].count("QR") == 2
    assert least("month") >= (4.5 if (size, case) == ((80, 100), "awkward") else 5)
    assert least("cut") >= 4.6
    assert least("code") >= 2.6
    assert empty_band(layout) < 0.12 * size[1]
    found = [one.text for one in read_picture(drawn.pictures[0])]
    assert found.count(content.symbol_text) == 2


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("case", ["ordinary", "held", "longest", "awkward", "bulk", "chops"])
def test_a_square_one_too_narrow_for_words_between_has_both_symbols(dpi: int, case: str) -> None:
    paper, design = own(60, 60, dpi)
    (layout,) = draw([CASES[case]], paper, 1, design).layouts
    assert [kind for kind, _ in layout.symbols].count("QR") == 2
    assert set(layout.dropped) <= {"code_128", "wrap", "best_by", "note", "season_strip"}
    assert min(box.cap_mm for box in layout.boxes if box.field == "month") >= 3
