"""Stock and design files read into records; every fault with its file and key, all reported together."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from datetime import date, time
from typing import Any, get_args

from freezerbox.errors import InvalidTemplate
from freezerbox.labels.content import FIELDS, MUST
from freezerbox.labels.stock import MM_PER_INCH, Align, Area, Arrangement, Design, Face, Fence, Row, Stack, Stock
from freezerbox.labels.symbols import FINE_DPI, LEAST_MODULE_MM, LINK_BOX, QR_BOX, least_module_mm

_SLACK_MM = 0.005  # inches written in mm to the third decimal

_STOCK_KEYS = ("name", "title", "kind", "dpi", "width_mm", "height_mm", "design")
_SHEET_KEYS = (
    "page_width_mm", "page_height_mm", "columns", "rows", "pitch_x_mm", "pitch_y_mm", "left_mm", "top_mm",
)  # fmt: skip
_AREA_KEYS = ("x_mm", "y_mm", "width_mm", "height_mm")
_ROW_OPTIONS = ("face", "good_mm", "squeeze", "lines", "small", "dot", "module_mm")
_KINDS = ("sheet", "roll")
_WORDS = ("name", "title", "design")
_WHOLE = ("dpi", "columns", "rows")
_MOST_WHOLE = 10_000
MOST_DOTS = 150_000_000
"""Of a page: a Letter page at 1,200 dpi has 135 million, and more takes too much room to draw."""
_MOST_MM = 10_000
_SIZES = ("width_mm", "height_mm", "page_width_mm", "page_height_mm", "size_mm", "thick_mm")
_ABOVE_ZERO = frozenset((*_SIZES, "least_mm", "most_mm", "good_mm", "module_mm"))
_SQUEEZE = (0.5, 1.0)
LEAST_LETTERS_MM, LEAST_BAR_MM = 1.0, 0.19
"""Capitals that an own design may have at the least, chosen here: shipped ones keep 1.8; and a bar, which is 7.5 mil,
where scanners begin (common practice, no source)."""
_UNKNOWN_MM = 1e-9  # for a size that is missing or wrong, and told already: it gives no further faults


class _Reader:
    """Takes values out of a parsed file and writes down what is wrong with them."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[str] = []

    def fault(self, key: str, problem: str) -> None:
        self.faults.append(f"{self.file}: {key}: {problem}")

    def keys(self, table: Mapping[str, Any], where: str, must: Iterable[str], may: Iterable[str] = ()) -> None:
        must, may = tuple(must), tuple(may)
        for key in table:
            if key not in must and key not in may:
                self.fault(where + key, f"unknown key; known here: {', '.join((*must, *may))}")
        for key in must:
            if key not in table:
                self.fault(where + key, "missing")

    def number(self, table: Mapping[str, Any], where: str, key: str, default: float = 0.0) -> float:
        if key not in table:
            return default
        value = table[key]
        if fault := _not_a_number(key, value):
            self.fault(where + key, f"{_as_written(value)} is not a number {fault}")
            return default
        return float(value)

    def whole(self, table: Mapping[str, Any], where: str, key: str, default: int = 1) -> int:
        value = table.get(key, default)
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= _MOST_WHOLE:
            self.fault(where + key, f"{_as_written(value)} is not a whole number from 1 to {_MOST_WHOLE}")
            return default
        return value

    def word(self, table: Mapping[str, Any], where: str, key: str) -> str:
        value = table.get(key, "")
        if key in table and (not isinstance(value, str) or not value.strip()):
            self.fault(where + key, f"{_as_written(value)} is not a text")
        return str(value)

    def choice(self, table: Mapping[str, Any], where: str, key: str, known: tuple[str, ...]) -> str:
        value = table.get(key, known[0])
        if value not in known:
            self.fault(where + key, f"{_as_written(value)} is not one of {', '.join(known)}")
            return known[0]
        return str(value)

    def tables(self, table: Mapping[str, Any], where: str, key: str) -> list[Mapping[str, Any]]:
        value = table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, Mapping) for item in value):
            self.fault(where + key, f"is not a list of tables; write [[{key}]]")
            return []
        return value

    def finish(self, kind: str) -> None:
        if self.faults:
            raise InvalidTemplate(f"{self.file} is not a {kind} file:", faults=self.faults, file=self.file)


def _as_written(value: object) -> str:
    """A value as the file may have it: words in quotes, and true, false and dates without Python's names."""
    if isinstance(value, bool):
        return str(value).lower()
    return str(value) if isinstance(value, date | time) else repr(value)


def _not_a_number(key: str, value: object) -> str:
    """What would be right for the key, when the value is not; else "".  A share in ``small`` is named as a field."""
    number = float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
    if key == "squeeze":
        return (
            ""
            if number is not None and _SQUEEZE[0] <= number <= _SQUEEZE[1]
            else "from {:g} to {:g}".format(*_SQUEEZE)
        )
    if number is not None and number >= _MOST_MM:
        return f"of less than {_MOST_MM}"
    above = key in _ABOVE_ZERO or key in FIELDS
    fits = number is not None and (number > 0 if above else number >= 0)
    return "" if fits else "of more than 0" if above else "of 0 or more"


def _toml(text: str, reader: _Reader, kind: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        reader.fault("toml", str(error))
        reader.finish(kind)
        raise  # never reached: finish has raised


def parse_stock(text: str, *, file: str) -> Stock:
    """A stock from the text of its file.

    Raises: InvalidTemplate with every fault.
    """
    reader = _Reader(file)
    table = _toml(text, reader, "stock")
    sheet = table.get("kind") == "sheet"
    must: tuple[str, ...] = _SHEET_KEYS if sheet else ()
    may: tuple[str, ...] = ("cut_marks",) if sheet else ()
    if "kind" in table and table["kind"] not in _KINDS:  # one fault, and not one more for each key of a sheet
        may = (*_SHEET_KEYS, "cut_marks")
    reader.keys(table, "", (*_STOCK_KEYS, *must), may)
    if not isinstance(table.get("cut_marks", False), bool):
        reader.fault("cut_marks", f"{table['cut_marks']!r} is neither true nor false")
    kind = reader.choice(table, "", "kind", _KINDS) if "kind" in table else "roll"
    words = {key: reader.word(table, "", key) for key in _WORDS}
    whole = {key: reader.whole(table, "", key) for key in _WHOLE}
    lengths = {
        key: reader.number(table, "", key)
        for key in ("width_mm", "height_mm", *(key for key in _SHEET_KEYS if key not in _WHOLE))
    }
    if kind == "roll":
        lengths |= {
            "page_width_mm": lengths["width_mm"], "page_height_mm": lengths["height_mm"],
            "pitch_x_mm": lengths["width_mm"], "pitch_y_mm": lengths["height_mm"],
        }  # fmt: skip
        whole |= {"columns": 1, "rows": 1}
    elif sheet:
        _check_grid(reader, whole, lengths)
    dots = lengths["page_width_mm"] * lengths["page_height_mm"] * (whole["dpi"] / MM_PER_INCH) ** 2
    if dots > MOST_DOTS:
        most = f"{MOST_DOTS / 1e6:g} million is the most"
        reader.fault("dpi", f"a page of this size has {dots / 1e6:.0f} million dots at {whole['dpi']} dpi; {most}")
    reader.finish("stock")
    return Stock(
        name=words["name"],
        title=words["title"],
        kind="sheet" if kind == "sheet" else "roll",
        design=words["design"],
        dpi=whole["dpi"],
        columns=whole["columns"],
        rows=whole["rows"],
        width_mm=lengths["width_mm"],
        height_mm=lengths["height_mm"],
        page_width_mm=lengths["page_width_mm"],
        page_height_mm=lengths["page_height_mm"],
        pitch_x_mm=lengths["pitch_x_mm"],
        pitch_y_mm=lengths["pitch_y_mm"],
        left_mm=lengths["left_mm"],
        top_mm=lengths["top_mm"],
        cut_marks=table.get("cut_marks") is True,
    )


def _check_grid(reader: _Reader, whole: Mapping[str, int], lengths: Mapping[str, float]) -> None:
    sides = (
        ("x", "columns", "left_mm", "pitch_x_mm", "width_mm", "page_width_mm"),
        ("y", "rows", "top_mm", "pitch_y_mm", "height_mm", "page_height_mm"),
    )
    for _, count, start, pitch, size, page in sides:
        if whole[count] > 1 and lengths[pitch] < lengths[size] - _SLACK_MM:
            reader.fault(pitch, f"{lengths[pitch]:g} is less than {size} {lengths[size]:g}: labels overlap")
        end = lengths[start] + (whole[count] - 1) * lengths[pitch] + lengths[size]
        if end > lengths[page] + _SLACK_MM:
            reader.fault(count, f"the labels end at {end:g} mm, off the page of {lengths[page]:g} mm")


def parse_design(text: str, *, file: str, stock: Stock | None = None) -> Design:
    """A design from the text of its file; with ``stock``, also checked against its size and dots.

    Raises: InvalidTemplate with every fault.
    """
    reader = _Reader(file)
    table = _toml(text, reader, "design")
    reader.keys(table, "", ("name", "title", "width_mm", "height_mm", "arrangement"))
    label = Area(
        x_mm=0,
        y_mm=0,
        width_mm=reader.number(table, "", "width_mm"),
        height_mm=reader.number(table, "", "height_mm"),
    )
    if stock and abs(label.width_mm - stock.width_mm) + abs(label.height_mm - stock.height_mm) > _SLACK_MM:
        size = f"{stock.width_mm:g} x {stock.height_mm:g}"
        reader.fault("width_mm", f"{label.width_mm:g} x {label.height_mm:g} mm, but {stock.name} is {size} mm")
    arrangements = tuple(
        _arrangement(reader, arrangement, f"arrangement[{number}].", label, stock)
        for number, arrangement in enumerate(reader.tables(table, "", "arrangement"), 1)
    )
    if not arrangements and "arrangement" in table:
        reader.fault("arrangement", "there is none")
    if arrangements and all(one.link for one in arrangements):
        reader.fault("arrangement", "all have a link; one without it is for households that set no name")
    absent = sorted(MUST - arrangements[-1].fields) if arrangements else []
    last = f"arrangement[{len(arrangements)}]."
    if "fence" in absent:
        absent.remove("fence")
        reader.fault(f"{last}fence", "missing; the last arrangement must have one, for what is not for people")
    if absent:
        reader.fault(f"{last}stack", f"the last arrangement must have a place for {', '.join(absent)}")
    words = {key: reader.word(table, "", key) for key in ("name", "title")}
    reader.finish("design")
    return Design(
        name=words["name"],
        title=words["title"],
        width_mm=label.width_mm,
        height_mm=label.height_mm,
        arrangements=arrangements,
    )


def _arrangement(
    reader: _Reader, table: Mapping[str, Any], where: str, label: Area, stock: Stock | None
) -> Arrangement:
    reader.keys(table, where, ("name", "qr", "stack"), ("fence", "tab", "room", "link"))
    squares = []
    copies = reader.tables(table, where, "qr")
    least = least_module_mm(len(copies), stock.dpi if stock else FINE_DPI)
    for number, square in enumerate(copies, 1):
        squares.append(_square(reader, square, f"{where}qr[{number}].", QR_BOX, least, label, stock))
    if not squares and "qr" in table:
        reader.fault(f"{where}qr", "there is none")
    link = None
    if "link" in table and not isinstance(table["link"], Mapping):
        reader.fault(f"{where}link", "is not a table")
    elif "link" in table:
        link = _square(reader, table["link"], f"{where}link.", LINK_BOX, LEAST_MODULE_MM, label, stock)
        if any(_overlap(link, square) for square in squares):
            reader.fault(f"{where}link", "lies over a QR or the white it needs round it")
        squares.append(link)
    fence = None
    if "fence" in table and not isinstance(table["fence"], Mapping):
        reader.fault(f"{where}fence", "is not a table")
    elif "fence" in table:
        key = f"{where}fence."
        reader.keys(table["fence"], key, (*_AREA_KEYS, "thick_mm"))
        fence = Fence(
            area=_area(reader, table["fence"], key, label),
            thick_mm=reader.number(table["fence"], key, "thick_mm"),
        )
    stacks = tuple(
        _stack(reader, stack, f"{where}stack[{number}].", label)
        for number, stack in enumerate(reader.tables(table, where, "stack"), 1)
    )
    for number, stack in enumerate(stacks, 1):
        if any(_overlap(stack.area, square) for square in squares):
            reader.fault(f"{where}stack[{number}]", "lies over a QR or the white it needs round it")
    named = [field for stack in stacks for row in stack.rows for field in row.fields]
    for field in dict.fromkeys(field for field in named if named.count(field) > 1):
        reader.fault(f"{where}stack", f"{field!r} stands in two places; it would be said twice")
    tab, room = (_plain_area(reader, table, where, key, label) for key in ("tab", "room"))
    for key, area in (("tab", tab), ("room", room)):
        others = [*squares, *(stack.area for stack in stacks), *([tab] if key == "room" and tab else [])]
        if area and any(_overlap(area, other) for other in others):
            reader.fault(f"{where}{key}", "lies over a QR, a stack or the tab")
    return Arrangement(
        name=reader.word(table, where, "name"),
        qr=tuple(square for square in squares if square is not link),
        fence=fence,
        stacks=stacks,
        tab=tab,
        room=room,
        link=link,
    )


def _square(
    reader: _Reader,
    table: Mapping[str, Any],
    key: str,
    modules: int,
    least: float,
    label: Area,
    stock: Stock | None,
) -> Area:
    """The square of a symbol of so many modules, its white among them, none under ``least`` mm."""
    reader.keys(table, key, ("x_mm", "y_mm", "size_mm"))
    size = reader.number(table, key, "size_mm", _UNKNOWN_MM)
    module = size / modules
    if stock:
        dot = 25.4 / stock.dpi
        module = int(module / dot + 1e-6) * dot
    if size > _UNKNOWN_MM and module < least - 1e-6:
        reader.fault(key + "size_mm", f"module of {module:.3f} mm is under {least} mm")
    sized = {**{k: v for k, v in table.items() if k != "size_mm"}, "width_mm": size, "height_mm": size}
    return _area(reader, sized, key, label)


def _plain_area(reader: _Reader, table: Mapping[str, Any], where: str, key: str, label: Area) -> Area | None:
    if key not in table:
        return None
    if not isinstance(table[key], Mapping):
        reader.fault(f"{where}{key}", "is not a table")
        return None
    reader.keys(table[key], f"{where}{key}.", _AREA_KEYS)
    return _area(reader, table[key], f"{where}{key}.", label)


def _overlap(one: Area, other: Area) -> bool:
    across = min(one.x_mm + one.width_mm, other.x_mm + other.width_mm) - max(one.x_mm, other.x_mm)
    down = min(one.y_mm + one.height_mm, other.y_mm + other.height_mm) - max(one.y_mm, other.y_mm)
    return across > _SLACK_MM and down > _SLACK_MM


def _area(reader: _Reader, table: Mapping[str, Any], where: str, label: Area) -> Area:
    x, y, width, height = (reader.number(table, where, key) for key in _AREA_KEYS)
    if x + width > label.width_mm + _SLACK_MM or y + height > label.height_mm + _SLACK_MM:
        end = f"{x + width:g}, {y + height:g} mm on {label.width_mm:g} x {label.height_mm:g}"
        reader.fault(where.rstrip("."), f"box off the label: it ends at {end}")
    return Area(x_mm=x, y_mm=y, width_mm=width, height_mm=height)


def _stack(reader: _Reader, table: Mapping[str, Any], where: str, label: Area) -> Stack:
    reader.keys(table, where, (*_AREA_KEYS, "row"), ("gap_mm", "align"))
    align = reader.choice(table, where, "align", get_args(Align))
    return Stack(
        area=_area(reader, table, where, label),
        rows=tuple(
            _row(reader, row, f"{where}row[{number}].")
            for number, row in enumerate(reader.tables(table, where, "row"), 1)
        ),
        gap_mm=reader.number(table, where, "gap_mm", 0.5),
        align="center" if align == "center" else "right" if align == "right" else "left",
    )


def _row(reader: _Reader, table: Mapping[str, Any], where: str) -> Row:
    reader.keys(table, where, ("fields", "least_mm", "most_mm"), _ROW_OPTIONS)
    fields = table.get("fields", [])
    if not isinstance(fields, list) or not fields:
        reader.fault(f"{where}fields", f"{fields!r} is not a list of fields")
        fields = []
    for field in fields:
        if field not in FIELDS or field == "fence":
            known = ", ".join(name for name in FIELDS if name != "fence")
            reader.fault(f"{where}fields", f"unknown field {field!r}; known: {known}")
    least, most = (reader.number(table, where, key) for key in ("least_mm", "most_mm"))
    if 0 < most < least:
        reader.fault(f"{where}least_mm", f"{least:g} is more than most_mm {most:g}")
    if "code_128" not in fields and 0 < least < LEAST_LETTERS_MM:
        reader.fault(f"{where}least_mm", f"{least:g} is too small to read; {LEAST_LETTERS_MM:g} mm is the least")
    squeeze = reader.number(table, where, "squeeze", 1.0)
    small = table.get("small", {})
    if not isinstance(small, Mapping) or not set(small) <= set(fields):
        reader.fault(f"{where}small", f"{small!r} is not a table of this row's fields")
        small = {}
    bars = "code_128" in fields
    if bars and len(fields) > 1:
        reader.fault(f"{where}fields", "code_128 needs a row of its own")
    if bars != ("module_mm" in table):
        reader.fault(f"{where}module_mm", "is for a row with code_128, and needed there")
    bar = reader.number(table, where, "module_mm") if bars else 0.0
    if 0 < bar < LEAST_BAR_MM:
        reader.fault(f"{where}module_mm", f"{bar:g} is too fine for scanners; {LEAST_BAR_MM:g} mm is the least")
    face = reader.choice(table, where, "face", get_args(Face))
    return Row(
        fields=tuple(str(field) for field in fields),
        face="condensed" if face == "condensed" else "mono" if face == "mono" else "sans",
        least_mm=least,
        most_mm=most,
        good_mm=reader.number(table, where, "good_mm", least),
        squeeze=squeeze,
        lines=reader.whole(table, where, "lines"),
        small=tuple((str(name), reader.number(small, f"{where}small.", name)) for name in small),
        dot=table.get("dot") is True,
        module_mm=bar if bars else None,
    )
