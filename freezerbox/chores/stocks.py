"""Label paper: what there is, paper of the household's own, and how far its printer is off."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.label import SHIFT_PREFIX, own_templates, paper_of
from freezerbox.chores.label_fit import shift_words
from freezerbox.chores.plain_file import write_all
from freezerbox.chores.wording import count
from freezerbox.errors import InputError, InvalidTemplate, Refused, Twin
from freezerbox.labels.auto import design_text
from freezerbox.labels.library import design_for, design_names, find_design, kinds_for, stock, stock_names
from freezerbox.labels.ordinary import has_bars
from freezerbox.labels.ruler import ruler_page
from freezerbox.labels.sheet import write
from freezerbox.labels.stock import MM_PER_INCH, Stock
from freezerbox.labels.template import parse_design, parse_stock

SHEET_DPI = 600
MOST_SHIFT_MM = 10.0
PAGES = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}
LONGEST_MM = 2000.0
LEAST_DPI, MOST_DPI = 150, 1200
MOST_COLUMNS, MOST_ROWS = 40, 60
_LENGTH = re.compile(r"(\d+(?:[.,]\d+)?|(?:\d+[ -])?\d{1,3}/\d{1,3}) ?(mm|cm|in|inch|inches|\"|)")
_NAME = re.compile(r"[a-z0-9][a-z0-9.-]{1,38}")
_UNITS = {"mm": 1.0, "": 1.0, "cm": 10.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLine:
    """A stock in a list.

    name, title, dpi: as in its file.  designs: kinds there are for it, ``standard`` first.
    own: the household's.  usual: labels go on it when nobody says another.
    shift_x_mm, shift_y_mm: the correction in use.  faults: what is wrong with its files; then the rest is empty.
    """

    name: str
    title: str
    dpi: int
    designs: tuple[str, ...]
    own: bool
    usual: bool
    shift_x_mm: float
    shift_y_mm: float
    faults: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NewStock:
    """What a household says of its label paper; lengths as typed: ``2.625 in``, ``66.7 mm``, ``66.7``.

    name: what ``--stock`` will take.  width, height: one label.
    dpi: of the printer; "" for 300 on a roll and 600 on a sheet.
    page: ``letter``, ``a4`` or ``210 x 297 mm``; "" for a roll, and then the rest is "" too.
    columns, rows: labels across and down.
    left, top: from the page's edge to the first label; "" to centre the labels.
    pitch_x, pitch_y: from one label's edge to the next one's; "" when they touch.
    """

    name: str
    width: str
    height: str
    dpi: str = ""
    page: str = ""
    columns: str = ""
    rows: str = ""
    left: str = ""
    top: str = ""
    pitch_x: str = ""
    pitch_y: str = ""


def list_stocks(kitchen: Kitchen) -> tuple[StockLine, ...]:
    """Every stock, the household's own among them; a faulty file is a line with its faults."""
    own = own_templates(kitchen)
    return _lines(own, paper_name(kitchen), lambda name: paper_of(kitchen, name))


def shipped_stocks() -> tuple[StockLine, ...]:
    """The stocks that come with the program, as a household that has no book yet finds them."""
    from freezerbox.chores.label import DEFAULT_STOCK

    return _lines(None, DEFAULT_STOCK, stock)


def _lines(own: Path | None, usual: str, paper_named: Callable[[str], Stock]) -> tuple[StockLine, ...]:
    mine: set[str] = set()
    if own is not None:
        mine = set(stock_names(own)) - set(stock_names()) | {path.stem for path in (own / "stocks").glob("*.toml")}
    lines = []
    for name in stock_names(own):
        try:
            paper = paper_named(name)
            design_for(stock(name, own), own)
            faults: tuple[str, ...] = ()
        except InvalidTemplate as error:
            paper, faults = None, error.faults or (error.message,)
        lines.append(
            StockLine(
                name=name,
                title=paper.title if paper else "",
                dpi=paper.dpi if paper else 0,
                designs=tuple(kinds_for(stock(name, own), own)) if paper else (),
                own=name in mine,
                usual=name == usual,
                shift_x_mm=paper.shift_x_mm if paper else 0.0,
                shift_y_mm=paper.shift_y_mm if paper else 0.0,
                faults=faults,
            )
        )
    return tuple(lines)


def paper_name(kitchen: Kitchen) -> str:
    """The stock labels go on when nobody says another."""
    from freezerbox.chores.label import DEFAULT_STOCK

    return kitchen.settings.get("stock") or DEFAULT_STOCK


def new_stock(kitchen: Kitchen, new: NewStock) -> tuple[Stock, tuple[Path, ...]]:
    """Write a stock file, and a design file when no shipped design is for labels of that size.

    Raises: InputError for what is no name or length, a label too small, or labels that do not fit the page; Twin;
    BookTrouble when the files cannot be written.
    """
    own = own_templates(kitchen)
    made, texts = plan_stock(kitchen, new)
    files = {own / file: text for file, text in texts.items()}
    write_all(files)
    return made, tuple(files)


def plan_stock(kitchen: Kitchen, new: NewStock) -> tuple[Stock, dict[str, str]]:
    """The stock, and the files it would be written in by name; nothing is written.

    Raises: as ``new_stock``, but for BookTrouble.
    """
    own = own_templates(kitchen)
    name = free_stock_name(kitchen, new.name)
    values = _values(new)
    size = f"{values['width_mm']:g}x{values['height_mm']:g}"
    dpi = int(values["dpi"])
    design, text = _design(values["width_mm"], values["height_mm"], dpi, size, own)
    title = _title(values)
    stock_text = _toml(
        {"name": name, "title": title, "kind": "sheet" if new.page else "roll", "design": design, **values}
    )
    file = f"stocks/{name}.toml"
    try:
        made = parse_stock(stock_text, file=file)
    except InvalidTemplate as error:  # nothing is written yet, and nobody has seen that file
        why = "; ".join(fault.removeprefix(f"{file}: ") for fault in error.faults)
        raise InputError(f"That is no label paper: {why}.", value=new.name) from error
    texts = {file: stock_text}
    if text:
        texts[f"designs/{design}.toml"] = text
        parse_design(text, file=f"designs/{design}.toml", stock=made)
    return made, texts


def bars_fit(kitchen: Kitchen, made: Stock) -> bool:
    """Whether an ordinary label of it has the Code 128.  Raises: InvalidTemplate."""
    return has_bars(made, design_for(made, own_templates(kitchen)))


def free_stock_name(kitchen: Kitchen, text: str) -> str:
    """The name that a new stock may have.  Raises: InputError when it is none; Twin when there is one already."""
    name = text.strip().lower()
    if not _NAME.fullmatch(name):
        raise InputError(
            f"{text!r} is not a name for a stock. Use 2 to 39 small letters, digits and hyphens: a4-14up.", value=text
        )
    if name in stock_names(own_templates(kitchen)):
        raise Twin(f"There is a stock {name!r} already. Give another name.", name=name)
    return name


def print_ruler(kitchen: Kitchen, name: str, to: Path) -> tuple[Stock, Path]:
    """Write the ruler page of a stock.  Raises: UnknownWord; InputError and BookTrouble for the file."""
    paper = paper_of(kitchen, name)
    return paper, write([ruler_page(paper)], to, paper)[0]


@one_writer
def correct(kitchen: Kitchen, name: str, right: str, down: str) -> Stock:
    """Take what was measured on the ruler page: how far its print lies right of and below where it belongs.

    Negative is left or above.  Corrections add up, since the next ruler page is printed with this one.

    Raises: InputError for what is no number of mm, or beyond a centimetre; UnknownWord for the stock.
    """
    paper = paper_of(kitchen, name)
    across = paper.shift_x_mm - _signed(right or "0")
    below = paper.shift_y_mm - _signed(down or "0")
    if max(abs(across), abs(below)) > MOST_SHIFT_MM:
        typed = " and ".join(f"{text!r} {way}" for text, way in ((right, "right"), (down, "down")) if text)
        raise InputError(
            f"{typed} is more than a printer is off: labels would be moved {shift_words(across, below)}, and "
            f"{MOST_SHIFT_MM:g} mm is the most. Is the page printed at 100 %?",
            value=f"{right}, {down}",
        )
    return _shift(kitchen, paper, f"{round(across, 2):g},{round(below, 2):g}")


@one_writer
def no_shift(kitchen: Kitchen, name: str) -> Stock:
    """Labels of a stock are moved no more.  Raises: Refused when they are not; UnknownWord."""
    paper = paper_of(kitchen, name)
    if not (paper.shift_x_mm or paper.shift_y_mm):
        raise Refused(f"Labels on {paper.name} are not moved.", name=paper.name)
    return _shift(kitchen, paper, "0,0")


def _shift(kitchen: Kitchen, paper: Stock, value: str) -> Stock:
    key = SHIFT_PREFIX + paper.name
    with kitchen.book.act("settings", kitchen.today, words=f"labels on {paper.name} shifted to {value} mm") as act:
        act.change("setting", key, "value", kitchen.settings.get(key), value)
    return paper_of(kitchen.afresh(), paper.name)


def shift_of(kitchen: Kitchen, name: str) -> str:
    """Which way labels of a stock are moved, in words.  Raises: UnknownWord."""
    paper = paper_of(kitchen, name)
    return shift_words(paper.shift_x_mm, paper.shift_y_mm)


def parse_length(text: str, what: str) -> float:
    """A length in mm from ``2.625 in``, ``2 5/8 in``, ``66.7 mm`` or ``66.7``.

    Raises: InputError naming ``what`` it is of.
    """
    match = _LENGTH.fullmatch(text.strip().lower())
    if match is None or ("/" in match[1] and not int(match[1].rpartition("/")[2])):
        raise InputError(f"{text!r} is not a length for {what}. Write 2.625 in or 66.7 mm.", value=text, what=what)
    # As a ruler's inch is cut: 1 1/8, or 1-1/8.
    number = float(sum(Fraction(part.replace(",", ".")) for part in re.split(r"[ -]", match[1])))
    mm = number * _UNITS.get(match[2], MM_PER_INCH)
    if mm > LONGEST_MM:
        raise InputError(
            f"{text!r} is too long for {what}: at most {LONGEST_MM:g} mm, or 78 in.", value=text, what=what
        )
    return round(mm, 4)


def _signed(text: str) -> float:
    bare = text.strip().removeprefix("+")
    negative = bare.startswith(("-", "\u2212"))
    mm = parse_length(bare.lstrip("-\u2212"), "the shift")
    return -mm if negative else mm


def parse_whole(text: str, what: str, most: int, least: int = 1) -> int:
    """A number of ``what``, from ``least`` to ``most``.  Raises: InputError."""
    bare = text.strip()
    if not (bare.isascii() and bare.isdigit() and len(bare) <= 9 and least <= int(bare) <= most):
        raise InputError(f"{text!r} is not a number for {what}: {least} to {most}.", value=text, what=what)
    return int(bare)


def parse_dpi(text: str) -> int:
    """Dots per inch that a label can be drawn in.  Raises: InputError."""
    return parse_whole(text, "dots per inch", MOST_DPI, LEAST_DPI)


def _values(new: NewStock) -> dict[str, float]:
    width = parse_length(new.width, "the label's width")
    height = parse_length(new.height, "the label's height")
    values: dict[str, float] = {"width_mm": width, "height_mm": height}
    values["dpi"] = parse_dpi(new.dpi) if new.dpi else (SHEET_DPI if new.page else 300)
    if not new.page:
        grid = (("columns", new.columns), ("rows", new.rows), ("left", new.left), ("top", new.top))
        for option, typed in (*grid, ("pitch-x", new.pitch_x), ("pitch-y", new.pitch_y)):
            if typed:
                raise InputError(
                    f"--{option} {typed!r} is for a sheet; a roll has one label after another. "
                    "Leave it out, or give the page: --page letter, --page a4.",
                    value=typed,
                )
        return values
    page_width, page_height = parse_page(new.page)
    columns = parse_whole(new.columns or "1", "columns", MOST_COLUMNS)
    rows = parse_whole(new.rows or "1", "rows", MOST_ROWS)
    pitch_x = parse_length(new.pitch_x, "the pitch across") if new.pitch_x else width
    pitch_y = parse_length(new.pitch_y, "the pitch down") if new.pitch_y else height
    left = (page_width - (columns - 1) * pitch_x - width) / 2
    top = (page_height - (rows - 1) * pitch_y - height) / 2
    return values | {
        "page_width_mm": page_width,
        "page_height_mm": page_height,
        "columns": columns,
        "rows": rows,
        "pitch_x_mm": pitch_x,
        "pitch_y_mm": pitch_y,
        "left_mm": round(parse_length(new.left, "the left margin") if new.left else max(0.0, left), 4),
        "top_mm": round(parse_length(new.top, "the top margin") if new.top else max(0.0, top), 4),
    }


def parse_page(text: str) -> tuple[float, float]:
    """Width and height of a page in mm, from ``letter``, ``a4`` or ``210 x 297 mm``.  Raises: InputError."""
    known = PAGES.get(text.strip().lower())
    if known:
        return known
    across, cross, down = text.lower().replace("\u00d7", "x").partition("x")
    if not cross:
        raise InputError(f"{text!r} is no page. Say letter, a4, or 210 x 297 mm.", value=text)
    unit = "in" if "in" in down else "mm"
    if not re.search(r"[a-z]", across):
        across += unit
    return parse_length(across, "the page"), parse_length(down, "the page")


def _design(width: float, height: float, dpi: int, size: str, own: Path) -> tuple[str, str]:
    """A design's name, and the text of a new one; "" when there is one already."""
    for candidate in design_names(own):
        if candidate.startswith("standard-") and find_design(candidate, width, height, dpi, own):
            return candidate, ""
    design = f"standard-{size}-{dpi}dpi"
    return design, design_text(design, f"Standard, {size}", width, height, dpi)


def _title(values: Mapping[str, float]) -> str:
    size = f"{values['width_mm']:g} x {values['height_mm']:g} mm"
    if "page_width_mm" not in values:
        return f"roll of {size} labels, {values['dpi']:g} dpi"
    page = next(
        (word for word, size in (("US Letter", PAGES["letter"]), ("A4", PAGES["a4"]))
         if size == (values["page_width_mm"], values["page_height_mm"])),
        f"{values['page_width_mm']:g} x {values['page_height_mm']:g} mm page",
    )  # fmt: skip
    return f"{page}, {count(int(values['columns'] * values['rows']), 'label')} of {size}"


def _toml(values: Mapping[str, str | float]) -> str:
    lines = ["# Written by freezerbox label stock new; change it as you like."]
    lines += [
        f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {value:.7g}" for key, value in values.items()
    ]
    return "\n".join(lines) + "\n"
