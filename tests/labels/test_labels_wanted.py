"""What tells one pack of a cut from another stays on before how it is wrapped and before the bars."""

from __future__ import annotations

from dataclasses import replace

import pytest

from freezerbox.errors import LabelDoesNotFit
from freezerbox.labels.draw import draw
from freezerbox.labels.layout import LINK, MONTH_AT_EDGE, SECOND_QR, Layout, lay_out
from freezerbox.labels.library import design_for, design_named, stock
from freezerbox.labels.misfit import too_long
from freezerbox.reading.pictures import read_picture
from tests.labels.test_labels_layout import CONTENTS
from tests.labels.test_labels_own_stock import own

HOLD = "DO NOT EAT: TEST PENDING"
OWNED = replace(CONTENTS["longest"], owner="Grandma", note="for Sunday")
SAID = {
    "long": OWNED,
    "brackets": replace(CONTENTS["brackets"], owner="Grandma", note="for Sunday"),
    "rolled": replace(OWNED, cut="Sirloin tip roast, boned and rolled"),
    "held": replace(OWNED, hold=HOLD, short=((HOLD, "TEST PENDING"),)),
    "bear": replace(CONTENTS["bear"], owner="Grandma", note="for Sunday"),
    "bear, rolled": replace(
        CONTENTS["bear"], cut="Shoulder roast, boned and rolled with netting", owner="Grandma", note="for Sunday"
    ),
    "fat": replace(CONTENTS["fat"], owner="Grandma"),
    "dog": replace(CONTENTS["dog"], owner="Grandma", note="for Sunday"),
}


def of(name: str, case: str) -> Layout:
    return lay_out(SAID[case], stock(name), design_for(stock(name)))


@pytest.mark.parametrize("name", ["letter-10up", "roll-4x2in-203dpi", "roll-4x2in-300dpi"])
@pytest.mark.parametrize("case", sorted(SAID))
def test_owner_season_and_a_short_note_stand_on_4_x_2_in(name: str, case: str) -> None:
    layout = of(name, case)
    assert {"owner", "season", "note", "pieces", "run", "cue"}.isdisjoint(layout.dropped)
    assert (SECOND_QR in layout.dropped) == (case == "bear, rolled")  # its cut is too long for 8 mm
    assert min(box.cap_mm for box in layout.boxes if box.field == "month") >= 3.6
    drawn = draw([SAID[case]], stock(name), 1, design_for(stock(name)))
    for turn in (0, 90, 180, 270):
        found = sorted((one.symbology, one.text) for one in read_picture(drawn.pictures[0].rotate(turn, expand=True)))
        assert found == sorted(layout.symbols)


def test_bars_stay_where_nothing_is_left_off_for_them() -> None:
    layout = of("letter-10up", "bear")
    assert "Code 128" in {kind for kind, _ in layout.symbols}


def test_the_symbol_for_phones_stays_beside_them() -> None:
    layout = lay_out(
        replace(OWNED, link="HTTP://FREEZER.LOCAL/K7P3MT"), stock("letter-10up"), design_for(stock("letter-10up"))
    )
    assert {"owner", "season", "note", LINK}.isdisjoint(layout.dropped)


SMALL = {
    "half": CONTENTS["held"],
    "fat": replace(CONTENTS["fat"], weight="1.25 lb", banners=()),
    "two lines": replace(CONTENTS["held"], cut="Sirloin tip roast", form="", animal="Beef, quarter steer 26S"),
    "mixture": replace(
        CONTENTS["fat"], banners=(), weight="1.25 lb", animal="Whitetail doe 26B + Elk cow 26C + Pork 26H"
    ),
}


@pytest.mark.parametrize("case", sorted(SMALL))
def test_held_on_2_x_1_in_the_month_stands_alone_and_as_high(case: str) -> None:
    """Not on one line with the weight, and not small below the symbol: 2.5 mm is its least on a pack not held."""
    paper = stock("roll-2x1in-300dpi")
    layout = lay_out(SMALL[case], paper, design_for(paper))
    (month,) = (box for box in layout.boxes if box.field == "month")
    assert month.cap_mm >= 2.4
    for box in layout.boxes:
        level = box.y_mm < month.y_mm + month.height_mm and month.y_mm < box.y_mm + box.height_mm
        assert not (level and box.field in ("weight", "animal")), box.text
    assert HOLD in {box.text for box in layout.boxes}
    drawn = draw([SMALL[case]], paper, 1, design_for(paper))
    for turn in (0, 90, 180, 270):
        found = sorted((one.symbology, one.text) for one in read_picture(drawn.pictures[0].rotate(turn, expand=True)))
        assert found == sorted(layout.symbols)


def test_a_mixture_that_does_not_fit_is_blamed_on_its_animals() -> None:
    """The cut's own name is short; what the line of the animals stands beside is told, and which paper has room."""
    paper = stock("roll-2x1in-300dpi")
    animals = "Whitetail 26A + 26B 50%, Pork 26H 30%, Beef 26S 20%"
    mixed = replace(
        SMALL["fat"], cut="Breakfast sausage patties", animal=animals, banners=("FROZEN TWICE", "CONTAINS PORK")
    )
    with pytest.raises(LabelDoesNotFit):
        lay_out(mixed, paper, design_for(paper))
    why = too_long(mixed, paper, design_for(paper))
    assert (why.field, why.facts["value"]) == ("animal", animals)
    assert why.facts["beside"] == (HOLD, "FROZEN TWICE", "CONTAINS PORK", "20% FAT")
    assert "roll-62x29mm-300dpi" in why.stocks


OWNERS = (
    "for Great-grandmother Wilhelmina and the cousins at the lake",
    "for Grandmother and Grandfather at the old farmhouse on the hill by the river and everyone else there",
)


@pytest.mark.parametrize("owner", OWNERS)
@pytest.mark.parametrize("kind", ["standard", "edge"])
@pytest.mark.parametrize("link", ["", "HTTP://FREEZER.LOCAL/K7P3MT"])
def test_a_long_owner_takes_lines_of_a_high_label_and_not_its_best_by(owner: str, kind: str, link: str) -> None:
    paper = stock("roll-4x6in-203dpi")
    layout = lay_out(replace(CONTENTS["chops"], owner=owner, link=link), paper, design_named(kind, paper))
    assert layout.dropped == ()
    small = [box for box in layout.boxes if box.field in ("owner", "best_by")]
    assert min(box.cap_mm for box in small) > 3.3
    assert min(box.squeeze for box in small) > 0.99


@pytest.mark.parametrize("owner", OWNERS)
@pytest.mark.parametrize("size", [(101.6, 152.4), (80, 120), (60, 200), (50, 80)])
def test_and_on_high_paper_of_the_households_own(owner: str, size: tuple[float, float]) -> None:
    paper, design = own(*size, 203)
    layout = lay_out(replace(CONTENTS["chops"], owner=owner), paper, design)
    assert {"owner", "best_by"}.isdisjoint(layout.dropped)
    letters = [box for box in layout.boxes if box.kind in ("text", "block") and box.field not in ("season", "code")]
    assert min(box.cap_mm for box in letters) >= 1.8
    assert min(box.squeeze for box in letters if box.field == "owner") > 0.99


@pytest.mark.parametrize("case", ["awkward", "sausage"])
def test_the_place_in_a_run_is_no_larger_than_the_weight_where_all_is_at_its_least(case: str) -> None:
    paper = stock("roll-62x29mm-300dpi")
    layout = lay_out(replace(CONTENTS[case], run="1 of 3"), paper, design_named("edge", paper))
    assert layout.arrangement.startswith("all that must be said")
    run, weight = (max(box.cap_mm for box in layout.boxes if box.field == field) for field in ("run", "weight"))
    assert run <= 1.05 * weight


@pytest.mark.parametrize("name", ["letter-20up"])
@pytest.mark.parametrize("kind", ["standard", "edge"])
def test_a_long_low_label_has_room_for_whose_it_is_beside_a_banner(name: str, kind: str) -> None:
    content = replace(
        OWNED, cut="Boston butt", seasoning="garlic and juniper", weight="12.34 lb", pieces="12 pieces",
        banners=("FROZEN TWICE",), hold="", owner="for Grandmother Wilhelmina", cue="SLOW", run="",
    )  # fmt: skip
    layout = lay_out(content, stock(name), design_named(kind, stock(name)))
    assert {"season", "owner", "pieces", "cue", SECOND_QR, MONTH_AT_EDGE}.isdisjoint(layout.dropped)
