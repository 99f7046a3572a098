"""Stock and design files: good ones load, each bad one names its fault (written in its first line)."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from freezerbox.errors import InvalidTemplate, UnknownWord
from freezerbox.labels import library
from freezerbox.labels.content import FIELDS
from freezerbox.labels.layout import SECOND_QR, lay_out
from freezerbox.labels.stock import Design, Stock
from freezerbox.labels.template import parse_design, parse_stock
from tests.labels.test_labels_layout import CONTENTS

FOLDER = Path(__file__).parent / "templates"
VALID = sorted(FOLDER.glob("valid/*.toml"))
INVALID = sorted(FOLDER.glob("invalid/*.toml"))


def load(path: Path) -> Stock | Design:
    text = path.read_text(encoding="utf-8")
    if path.name.startswith("stock"):
        return parse_stock(text, file=path.name)
    return parse_design(text, file=path.name)


def test_the_folders_are_not_empty() -> None:
    assert len(VALID) >= 3
    assert len(INVALID) >= 30


@pytest.mark.parametrize("path", VALID, ids=lambda path: path.stem)
def test_valid(path: Path) -> None:
    assert load(path).title


@pytest.mark.parametrize("path", INVALID, ids=lambda path: path.stem)
def test_invalid(path: Path) -> None:
    first = path.read_text(encoding="utf-8").splitlines()[0]
    assert first.startswith("# fault: ")
    with pytest.raises(InvalidTemplate) as caught:
        load(path)
    wanted = first.removeprefix("# fault: ").strip()
    assert any(wanted in fault for fault in caught.value.faults), caught.value.faults
    assert all(fault.startswith(f"{path.name}: ") for fault in caught.value.faults)
    assert caught.value.exit_code == 2


def own(name: str) -> tuple[Stock, Design]:
    """A design of a household's own, with paper of its size."""
    design = load(FOLDER / "valid" / f"design-{name}.toml")
    assert isinstance(design, Design)
    paper = library.stock("roll-4x6in-203dpi")
    return replace(paper, width_mm=design.width_mm, height_mm=design.height_mm), design


def test_an_arrangement_without_the_cut_is_passed_over() -> None:
    layout = lay_out(CONTENTS["chops"], *own("cut-last"))
    assert layout.arrangement == "all"
    assert "Loin chops" in [box.text for box in layout.boxes if box.field == "cut"]


def test_only_arrangements_that_may_be_tried_have_a_second_symbol_to_leave_off() -> None:
    paper, design = own("link")
    assert SECOND_QR not in lay_out(CONTENTS["chops"], paper, design).dropped
    named = lay_out(replace(CONTENTS["chops"], link="HTTP://FREEZER.LOCAL/K7P3MT"), paper, design)
    assert (named.arrangement, SECOND_QR in named.dropped) == ("for phones", False)


def test_two_fine_symbols_need_fine_dots() -> None:
    """Five dots of 203, or seven of 300 where there are two; one alone is eight of 300."""
    text = (library.templates_folder() / "designs" / "standard-2x1in-300dpi.toml").read_text(encoding="utf-8")
    paper = library.stock("roll-2x1in-300dpi")
    assert len(parse_design(text, file="two.toml", stock=paper).arrangements[0].qr) == 2
    with pytest.raises(InvalidTemplate) as caught:
        parse_design(text, file="two.toml", stock=replace(paper, dpi=203))
    assert "two.toml: arrangement[1].qr[2].size_mm: module of 0.500 mm is under 0.625 mm" in caught.value.faults
    one = text.replace(", { x_mm = 33.6, y_mm = 8.2, size_mm = 17.2 }", "", 1)
    with pytest.raises(InvalidTemplate) as caught:
        parse_design(one, file="one.toml", stock=paper)
    assert caught.value.faults == ("one.toml: arrangement[1].qr[1].size_mm: module of 0.593 mm is under 0.625 mm",)


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("width_mm = -3", "width_mm: -3 is not a number of more than 0"),
        ("width_mm = 0", "width_mm: 0 is not a number of more than 0"),
        ("width_mm = nan", "width_mm: nan is not a number of more than 0"),
        ("width_mm = inf", "width_mm: inf is not a number of less than 10000"),
        ("width_mm = true", "width_mm: true is not a number of more than 0"),
        ("x_mm = -3", "arrangement[1].stack[1].x_mm: -3 is not a number of 0 or more"),
        ("gap_mm = -3", "arrangement[1].stack[1].gap_mm: -3 is not a number of 0 or more"),
        ("size_mm = -3", "arrangement[1].qr[1].size_mm: -3 is not a number of more than 0"),
        ("thick_mm = 0", "arrangement[1].fence.thick_mm: 0 is not a number of more than 0"),
        ("least_mm = -3", "arrangement[1].stack[1].row[1].least_mm: -3 is not a number of more than 0"),
        ("most_mm = 0", "arrangement[1].stack[1].row[1].most_mm: 0 is not a number of more than 0"),
        ("good_mm = 0", "arrangement[1].stack[1].row[1].good_mm: 0 is not a number of more than 0"),
        ("squeeze = -3", "arrangement[1].stack[1].row[1].squeeze: -3 is not a number from 0.5 to 1"),
        ("small = { form = 0 }", "arrangement[1].stack[1].row[1].small.form: 0 is not a number of more than 0"),
    ],
)
def test_a_number_that_cannot_be_is_told_what_would_be_right(line: str, fault: str) -> None:
    """One fault, and not another that only follows from it."""
    key = line.partition(" = ")[0]
    text = (
        'name = "plain"\ntitle = "All"\nwidth_mm = 101.6\nheight_mm = 76.2\n[[arrangement]]\nname = "all"\n'
        "fence = { x_mm = 0, y_mm = 0, width_mm = 101, height_mm = 76, thick_mm = 2 }\n"
        "qr = [{ x_mm = 75, y_mm = 50, size_mm = 20 }]\n[[arrangement.stack]]\n"
        "x_mm = 3\ny_mm = 3\nwidth_mm = 70\nheight_mm = 70\ngap_mm = 1\nrow = [\n"
        '  { fields = ["cut", "form", "fat", "seasoning"], least_mm = 5, most_mm = 9, good_mm = 5, squeeze = 0.7,'
        " small = { form = 0.6 } },\n"
        '  { fields = ["animal", "weight", "month", "hold", "banners", "code"], least_mm = 2, most_mm = 5 },\n]\n'
    )
    assert parse_design(text, file="own.toml").title == "All"
    start = text.index(f"{key} = ", text.index("[[arrangement.stack]]") if key == "x_mm" else 0)
    end = min(at for at in (text.find(",", start), text.find("\n", start), text.find(" }", start)) if at > 0)
    if key == "small":
        end = text.index("}", start) + 1
    with pytest.raises(InvalidTemplate) as caught:
        parse_design(text[:start] + line + text[end:], file="own.toml")
    assert f"own.toml: {fault}" in caught.value.faults
    about = [one for one in caught.value.faults if f"{key}:" in one or "small.form:" in one]
    assert len(about) == 1, caught.value.faults


def test_every_fault_is_reported_at_once() -> None:
    with pytest.raises(InvalidTemplate) as caught:
        parse_stock('kind = "roll"\ndpi = -1\nwidth_mm = "w"\nheight_mm = 25.4\ncolour = 1\n', file="mine.toml")
    keys = {fault.split(": ")[1] for fault in caught.value.faults}
    assert {"dpi", "width_mm", "colour", "name", "title", "design"} <= keys


@pytest.mark.parametrize("name", ["stock-kind-mistyped", "stock-word-for-number", "stock-no-size"])
def test_one_wrong_word_is_one_fault(name: str) -> None:
    with pytest.raises(InvalidTemplate) as caught:
        load(FOLDER / "invalid" / f"{name}.toml")
    assert len(caught.value.faults) == 1


def test_a_design_is_held_against_its_stock() -> None:
    roll = library.stock("roll-2x1in-203dpi")
    text = (library.templates_folder() / "designs" / "standard-2.625x1in.toml").read_text(encoding="utf-8")
    with pytest.raises(InvalidTemplate, match=r"66\.675 x 25\.4 mm, but roll-2x1in-203dpi is 50\.8 x 25\.4 mm"):
        parse_design(text, file="standard-2.625x1in.toml", stock=roll)


def test_whole_dots_can_bring_a_module_under_the_minimum() -> None:
    text = (FOLDER / "valid" / "design-plain.toml").read_text(encoding="utf-8")
    sheet = 'name = "a"\ntitle = "a"\nkind = "roll"\ndpi = 100\ndesign = "a"\nwidth_mm = 101.6\nheight_mm = 76.2\n'
    with pytest.raises(InvalidTemplate, match=r"module of 0\.508 mm is under 0\.625 mm"):
        parse_design(text, file="design-plain.toml", stock=parse_stock(sheet, file="a.toml"))


def test_shipped_stocks_and_designs() -> None:
    assert library.stock_names() == (
        "a4-21up", "a4-24up", "a4-plain", "a4-plain-2up", "letter-10up", "letter-20up", "letter-30up", "letter-plain",
        "letter-plain-2up", "roll-2x1in-203dpi", "roll-2x1in-300dpi", "roll-4x2in-203dpi", "roll-4x2in-300dpi",
        "roll-4x6in-203dpi", "roll-4x6in-300dpi", "roll-62x29mm-300dpi",
    )  # fmt: skip
    for name in library.stock_names():
        paper = library.stock(name)
        design = library.design_for(paper)
        assert paper.name == name
        assert (design.width_mm, design.height_mm) == (paper.width_mm, paper.height_mm)
    used = {name for stock in library.stock_names() for name in library.kinds_for(library.stock(stock)).values()}
    assert set(library.design_names()) == used


def test_sheets_are_centred_on_their_page() -> None:
    """Source: the grids are symmetric, side + (columns - 1) x pitch + width + side = page."""
    sheets = [paper for name in library.stock_names() if (paper := library.stock(name)).kind == "sheet"]
    assert len(sheets) == 9
    for paper in sheets:
        across = 2 * paper.left_mm + (paper.columns - 1) * paper.pitch_x_mm + paper.width_mm
        down = 2 * paper.top_mm + (paper.rows - 1) * paper.pitch_y_mm + paper.height_mm
        page = (215.9, 279.4) if paper.name.startswith("letter") else (210, 297)
        assert (across, down) == pytest.approx(page, abs=0.001), paper.name


@pytest.mark.parametrize("name", ["letter-11up", "../stocks/letter-10up", "", "letter-10up.toml", "LETTER"])
def test_unknown_stock(name: str) -> None:
    with pytest.raises(UnknownWord) as caught:
        library.stock(name)
    assert "letter-10up" in caught.value.message
    if name == "letter-11up":
        assert caught.value.near[0] == "letter-10up"


def test_stock_names_are_forgiving_about_case() -> None:
    assert library.stock(" Letter-10UP ") is not None


def test_fonts_come_with_their_licence() -> None:
    files = {path.name for path in library.fonts_folder().iterdir()}
    assert files == {"DejaVuSans-Bold.ttf", "DejaVuSansCondensed-Bold.ttf", "DejaVuSansMono-Bold.ttf", "LICENCE.txt"}
    licence = (library.fonts_folder() / "LICENCE.txt").read_text(encoding="utf-8")
    assert "Permission is hereby granted, free of charge" in licence


def test_the_folder_readme_lists_every_field_and_stock() -> None:
    text = (library.templates_folder() / "README.md").read_text(encoding="utf-8")
    rows = {line.split("`")[1]: line for line in text.splitlines() if line.startswith("| `")}
    for field, meaning in FIELDS.items():
        assert meaning in rows[field]
    for name in library.stock_names():
        assert library.stock(name).title in rows[name]
