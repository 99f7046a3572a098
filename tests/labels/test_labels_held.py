"""What is on hold says DO NOT EAT in full on every stock and design, of however many animals it is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from freezerbox.chores.label_left import left_off_lines
from freezerbox.labels.content import HOLD_LINE, HOLD_WORDS, LabelContent, clean, in_fewer_words
from freezerbox.labels.draw import draw
from freezerbox.labels.layout import MONTH_AT_EDGE, lay_out
from freezerbox.labels.library import design_named, kinds_for, stock, stock_names
from freezerbox.reading.pictures import read_picture
from tests.labels.test_labels_layout import CONTENTS

HOLD = "DO NOT EAT: TEST PENDING"
_BULK = "Whitetail buck 26A + Whitetail doe 26B + Pork, half hog 26H"
_TUBE = "Whitetail doe 26B + Whitetail buck 26A + Beef, quarter beef steer 26S"
_MIX = replace(CONTENTS["fat"], weight="1.00 lb", cue="", owner="", note="")
HELD: dict[str, LabelContent] = {
    "bulk": replace(
        _MIX, cut="Breakfast sausage", form="bulk", seasoning="sage no. 3 extra hot", animal=_BULK, run="", wrap="",
        short=((HOLD, "TEST PENDING"), (_BULK, "Whitetail 26A + 26B, Pork 26H")),
    ),
    "tube": replace(
        _MIX, form="tube", animal=_TUBE, run="1 of 4", wrap="zip bag",
        short=((HOLD, "TEST PENDING"), (_TUBE, "Whitetail 26B + 26A, Beef 26S")),
    ),
    "chops": replace(
        CONTENTS["held"], cut="Sirloin tip", form="boneless chops", animal="Whitetail buck 26A", weight="2.10 lb",
        pieces="2 chops", run="1 of 2", owner="for Aunt Margarethe", note="fridge first, then pan", cue="",
    ),
    **{case: CONTENTS[case] for case in ("held", "fat", "awkward", "sausage")},
}  # fmt: skip
DESIGNS = [(name, kind) for name in stock_names() if not stock(name).cut_marks for kind in kinds_for(stock(name))]


@pytest.mark.parametrize(("name", "kind"), DESIGNS)
@pytest.mark.parametrize("case", sorted(HELD))
def test_do_not_eat_is_drawn_and_the_label_reads(name: str, kind: str, case: str) -> None:
    paper = stock(name)
    drawn = draw([HELD[case]], paper, 1, design_named(kind, paper))
    (layout,) = drawn.layouts
    assert HOLD in [box.text for box in layout.boxes if box.field == "hold" and box.kind == "block"]
    assert HOLD_WORDS not in layout.dropped
    for turn in (0, 90, 180, 270):
        found = {one.text for one in read_picture(drawn.pictures[0].rotate(turn, expand=True))}
        assert HELD[case].symbol_text in found


@pytest.mark.parametrize("name", ["roll-4x6in-203dpi", "roll-4x6in-300dpi"])
@pytest.mark.parametrize("case", ["bulk", "tube"])
def test_a_large_label_has_room_for_all_of_a_mix(name: str, case: str) -> None:
    paper = stock(name)
    layout = lay_out(HELD[case], paper, design_named("large", paper))
    assert layout.dropped == ()
    assert any(box.kind == "room" for box in layout.boxes)


def test_why_it_is_held_is_the_last_thing_said_in_fewer_words() -> None:
    *before, (last, gone) = in_fewer_words(HELD["bulk"])
    assert {clean(said.hold) for said, _ in before} == {HOLD}
    assert (last.hold, gone[-2:]) == ("TEST PENDING", (HOLD_LINE, HOLD_WORDS))


@pytest.mark.parametrize("name", ["a4-21up", "letter-20up"])
def test_beside_a_hold_animals_say_less_before_a_symbol_goes(name: str) -> None:
    layout = lay_out(HELD["tube"], stock(name), design_named("standard", stock(name)))
    assert [kind for kind, _ in layout.symbols].count("QR") == 2
    assert [box.text for box in layout.boxes if box.field == "animal"] == ["Whitetail 26B + 26A, Beef 26S"]


@pytest.mark.parametrize("name", [name for name, kind in DESIGNS if kind == "edge"])
@pytest.mark.parametrize("case", sorted({*HELD, *CONTENTS}))
def test_a_month_that_leaves_the_edge_is_named(name: str, case: str) -> None:
    paper = stock(name)
    layout = lay_out({**CONTENTS, **HELD}[case], paper, design_named("edge", paper))
    (month,) = (box for box in layout.boxes if box.field == "month")
    assert (MONTH_AT_EDGE in layout.dropped) == (month.y_mm > paper.height_mm / 3)
    standard = lay_out({**CONTENTS, **HELD}[case], paper, design_named("standard", paper))
    assert MONTH_AT_EDGE not in standard.dropped


def test_that_the_month_left_the_edge_is_told_in_words() -> None:
    paper = stock("roll-2x1in-300dpi")
    low = lay_out(HELD["bulk"], paper, design_named("edge", paper))
    ((_, said),) = left_off_lines(["K7P3MT"], {"K7P3MT": low.dropped})
    assert "the month at the edge" in said


@pytest.mark.parametrize("case", ["tube", "sausage"])
def test_on_2_x_1_in_other_words_go_before_the_month_leaves_the_edge(case: str) -> None:
    paper = stock("roll-2x1in-300dpi")
    layout = lay_out(HELD[case], paper, design_named("edge", paper))
    assert MONTH_AT_EDGE not in layout.dropped
    (month,) = (box for box in layout.boxes if box.field == "month")
    assert month.cap_mm >= 2.5


@pytest.mark.parametrize("case", sorted({*HELD} - {"awkward"}))
def test_held_on_2_x_1_in_the_month_has_a_line_of_its_own(case: str) -> None:
    paper = stock("roll-2x1in-300dpi")
    layout = lay_out(HELD[case], paper, design_named("standard", paper))
    (month,) = (box for box in layout.boxes if box.field == "month")
    assert month.squeeze >= 0.75
    assert month.baseline_mm not in [box.baseline_mm for box in layout.boxes if box.field == "weight"]
    if case not in ("bulk", "sausage"):  # whose seasoning takes the season's place
        assert month.cap_mm >= 2.4
        assert "season" not in layout.dropped


@pytest.mark.parametrize("case", ["held", "chops"])
def test_a_held_address_label_has_its_month_on_a_line_of_its_own_and_its_season(case: str) -> None:
    paper = stock("letter-30up")
    layout = lay_out(HELD[case], paper, design_named("standard", paper))
    (month,) = (box for box in layout.boxes if box.field == "month")
    beside = {box.field for box in layout.boxes if box.baseline_mm == month.baseline_mm}
    assert beside == {"month", "season"}
    assert month.cap_mm >= 2.5


@pytest.mark.parametrize("kind", ["standard", "edge"])
@pytest.mark.parametrize("cut", [("Backstrap", "half"), ("Backstrap half", "")])
def test_a_held_pack_on_2_x_1_in_at_300_dpi_keeps_what_the_coarser_one_does(kind: str, cut: tuple[str, str]) -> None:
    """Cut across the top, animal on one line, season, and on the strip the month beside the cut."""
    content = replace(CONTENTS["held"], cut=cut[0], form=cut[1], weight="0.90 lb", run="1 of 2", code="QQ8E02")
    for name in ("roll-2x1in-203dpi", "roll-2x1in-300dpi"):
        layout = lay_out(content, stock(name), design_named(kind, stock(name)))
        assert {"season", "run", "pieces", MONTH_AT_EDGE}.isdisjoint(layout.dropped)
        (animal,) = (box for box in layout.boxes if box.field == "animal")
        (month,) = (box for box in layout.boxes if box.field == "month")
        assert animal.text == "Whitetail doe 26B"
        assert month.cap_mm >= (2.1 if name.endswith("203dpi") else 2.4)
        assert min(box.cap_mm for box in layout.boxes if box.field == "cut") >= 3.55


@pytest.mark.parametrize("case", ["held", "chops"])
def test_on_an_address_label_filed_upright_the_code_stands_below_all_else(case: str) -> None:
    layout = lay_out(HELD[case], stock("letter-30up"), design_named("edge", stock("letter-30up")))
    (code,) = (box for box in layout.boxes if box.field == "code")
    assert "season" not in layout.dropped
    assert all(box.y_mm + box.height_mm <= code.y_mm + 0.01 for box in layout.boxes if box.kind in ("text", "block")
               if box is not code)  # fmt: skip
