"""In which order a label is read, how high its cut stands, and what it owns up to leaving off."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest

from freezerbox.chores.label import read_back
from freezerbox.chores.label_left import left_off_lines
from freezerbox.errors import LabelUnreadable
from freezerbox.food import cuts
from freezerbox.labels.content import DROP_ORDER, LabelContent
from freezerbox.labels.draw import draw
from freezerbox.labels.layout import SECOND_QR, Box, Layout, lay_out
from freezerbox.labels.library import design_for, design_named, kinds_for, stock, stock_names
from tests.labels.test_labels_layout import CONTENTS

COOK = "COOK THROUGH - freezing is not enough"
PENDING = "DO NOT EAT: TEST PENDING"
FULLEST = replace(
    CONTENTS["sausage"],
    cut="Shoulder tender (petite tender) steaks",
    hold=PENDING,
    short=((COOK, "COOK THROUGH"), (PENDING, "TEST PENDING"), *CONTENTS["sausage"].short),
)
FENCED = replace(CONTENTS["awkward"], cut="Bottom round rump roast", seasoning="hot Italian", hold=PENDING)
OWN = replace(CONTENTS["held"], cut="Grandma's red hot seven bean chili, deer", form="", hold=PENDING)
FULL = {**CONTENTS, "fullest": FULLEST, "fenced": FENCED, "own words": OWN}
BESIDE_THE_QR_MM = 1.0


def layout_of(name: str, content: LabelContent) -> Layout:
    paper = stock(name)
    return lay_out(content, paper, design_for(paper))


def first(layout: Layout, field: str) -> Box | None:
    return next((box for box in layout.boxes if box.field == field), None)


@pytest.mark.parametrize("name", stock_names())
@pytest.mark.parametrize("case", sorted(CONTENTS))
def test_cut_animal_weight_month_code(name: str, case: str) -> None:
    layout = layout_of(name, CONTENTS[case])
    fields = [box.field for box in layout.boxes]
    order = [fields.index(field) for field in ("cut", "animal", "weight", "month", "code")]
    assert order == sorted(order)
    if "pieces" in fields:
        assert fields.index("animal") < fields.index("pieces") < fields.index("month")
    weight, month, code = (first(layout, field) for field in ("weight", "month", "code"))
    assert weight
    assert month
    assert code
    # Where they stand in one column, the eye meets them in that order too.
    for one, other in ((weight, month), (month, code)):
        beside = other.x_mm >= one.x_mm + one.width_mm or one.x_mm >= other.x_mm + other.width_mm
        assert beside or one.y_mm <= other.y_mm + BESIDE_THE_QR_MM


@pytest.mark.parametrize("name", ["a4-21up", "a4-24up", "a4-plain"])
@pytest.mark.parametrize("case", ["short", "chops", "held", "longest", "plain", "bear", "accents", "brackets"])
def test_the_month_is_no_smaller_than_the_animal(name: str, case: str) -> None:
    layout = layout_of(name, CONTENTS[case])
    animal, month = (max(box.cap_mm for box in layout.boxes if box.field == field) for field in ("animal", "month"))
    assert month >= animal
    if layout.arrangement.startswith("cut on"):
        assert month >= 3.5


@pytest.mark.parametrize("kind", ["standard", "edge"])
@pytest.mark.parametrize("case", sorted(CONTENTS))
def test_on_2_x_1_in_white_stands_between_the_code_and_the_words_beside_it(kind: str, case: str) -> None:
    paper = stock("roll-2x1in-203dpi")
    much = replace(
        CONTENTS[case], animal="Beef, quarter steer 26S", weight="20.50 lb", best_by="best by NOV 2027", run=""
    )
    for content in (CONTENTS[case], much):
        layout = draw([content], paper, 1, design_named(kind, paper)).layouts[0]
        if layout.arrangement.startswith("all that must be said"):
            continue  # there the code follows the month on its line
        code = first(layout, "code")
        assert code
        for box in layout.boxes:
            level = box.y_mm < code.y_mm + code.height_mm and code.y_mm < box.y_mm + box.height_mm
            if level and box.kind in ("text", "block") and box.x_mm < code.x_mm:
                assert box.x_mm + box.width_mm <= code.x_mm - 1.45, box


def test_meat_of_many_animals_leaves_the_banners_their_size() -> None:
    many = replace(
        CONTENTS["sausage"],
        cut="Ground",
        seasoning="",
        pieces="",
        animal="Whitetail 26A + 26B + 26C + 26D + 26E 80%, Pork, half hog 26H 20%",
        short=((COOK, "COOK THROUGH"), (PENDING, "TEST PENDING")),
    )
    layout = layout_of("letter-10up", many)
    assert min(box.cap_mm for box in layout.boxes if box.field == "banners") >= 2.5


@pytest.mark.parametrize("name", stock_names())
def test_no_date_is_torn_over_two_lines(name: str) -> None:
    for kind, case in product(kinds_for(stock(name)), sorted(CONTENTS)):
        layout = draw([CONTENTS[case]], stock(name), 1, design_named(kind, stock(name))).layouts[0]
        for field, whole in (("month", "NOV 2026"), ("best_by", "best by MAR 2027")):
            assert {box.text.removesuffix(" \u00b7") for box in layout.boxes if box.field == field} <= {whole}


@pytest.mark.parametrize("name", ["letter-10up", "letter-plain", "roll-4x2in-203dpi", "roll-4x2in-300dpi"])
@pytest.mark.parametrize("case", sorted(FULL))
def test_the_cut_reads_across_a_room_whatever_else_is_said(name: str, case: str) -> None:
    layout = layout_of(name, FULL[case])
    assert min(box.cap_mm for box in layout.boxes if box.field == "cut") >= 8


def test_so_does_every_cut_with_all_that_may_have_to_be_said() -> None:
    names = {cuts.display_name(cut, form) for cut in cuts.cuts() for form in (None, *map(cuts.form, cut.forms[:2]))}
    longest = sorted(names, key=len)[-12:]
    for cut in (*longest, "Jowl", "Eye of round medallions"):
        for full in (FULLEST, replace(FULLEST, banners=("NOT FOR PEOPLE", "FROZEN TWICE"), seasoning="")):
            layout = layout_of("letter-10up", replace(full, cut=cut))
            assert min(box.cap_mm for box in layout.boxes if box.field == "cut") >= 8, cut


def test_words_too_long_for_that_are_smaller_and_not_refused() -> None:
    layout = layout_of("letter-10up", replace(FULLEST, cut="WWWWWWWWWW " * 4))
    assert 3.5 <= min(box.cap_mm for box in layout.boxes if box.field == "cut") < 8


@pytest.mark.parametrize("name", stock_names())
@pytest.mark.parametrize("case", sorted(CONTENTS))
def test_what_is_not_on_the_label_is_in_dropped_in_the_stated_order(name: str, case: str) -> None:
    content, layout = CONTENTS[case], layout_of(name, CONTENTS[case])
    shown = {box.field for box in layout.boxes}
    shown |= {"note"} if "memory" in shown else set()
    said = {field for field in DROP_ORDER if field != "memory" and (field == "code_128" or getattr(content, field))}
    gone = [field for field in DROP_ORDER if field in said - shown]
    assert list(layout.dropped[: len(gone)]) == gone
    copies = max(len(one.qr) + bool(one.link) for one in design_for(stock(name)).arrangements)
    here = sum(box.kind == "qr" for box in layout.boxes)
    assert (SECOND_QR in layout.dropped) == (here < copies)


@pytest.mark.parametrize("name", ["roll-2x1in-203dpi", "roll-2x1in-300dpi"])
@pytest.mark.parametrize("kind", ["standard", "edge"])
@pytest.mark.parametrize("run", ["3 of 14", "12 of 14", "112 of 140"])
def test_on_2_x_1_in_the_place_in_the_run_gives_way_before_the_season(name: str, kind: str, run: str) -> None:
    paper = stock(name)
    design = design_named(kind, paper)
    said = []
    for case, content in CONTENTS.items():
        layout = lay_out(replace(content, season="26/27", run=run), paper, design)
        fields = {box.field for box in layout.boxes}
        assert "season" in fields or "run" not in fields, case
        said.append("season" in fields)
    assert sum(said) >= len(said) / 2


def test_left_off_in_words() -> None:
    codes = ["K7P3MT", "K9R20A", "KAB123", "KCD456", "KEF789"]
    assert left_off_lines(codes, {}) == ()
    same = dict.fromkeys(codes, ("code_128", "best_by", SECOND_QR))
    assert left_off_lines(codes, same) == (("all 5", "left off: Code 128, best by, second QR"),)
    mixed = {"K7P3MT": ("note", "pieces"), **dict.fromkeys(codes[1:], ("wrap",))}
    assert left_off_lines(codes, mixed) == (
        ("K7P-3MT", "left off: note, pieces"),
        ("K9R-20A, KAB-123, KCD-456 and 1 more", "left off: wrap"),
    )


@pytest.mark.parametrize("name", ["letter-10up", "letter-30up"])
def test_a_label_whose_second_qr_does_not_read_is_not_printed(name: str) -> None:
    content, paper = CONTENTS["chops"], stock(name)
    drawn = draw([content], paper, 1)
    layout = drawn.layouts[0]
    read_back(content, layout.symbols, drawn.pictures[0])
    one, other = (box for box in layout.boxes if box.kind == "qr")
    for spoilt in (one, other):
        picture = drawn.pictures[0].copy()
        left, top = paper.dots(spoilt.x_mm), paper.dots(spoilt.y_mm)
        side = paper.dots(spoilt.width_mm)
        picture.paste(255, (left, top, left + side, top + side // 2))
        with pytest.raises(LabelUnreadable):
            read_back(content, layout.symbols, picture)
