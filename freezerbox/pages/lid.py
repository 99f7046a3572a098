"""The list for the lid: columns of sections and groups, a box before each pack, as large as one page allows.

Lengths are millimetres here; reportlab's own unit, the point, is 1/72 in.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from freezerbox.pages import sheet

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

MARGIN_MM = 10.0
_POINTS_A_MM = 72 / 25.4
_COLUMNS = (2, 3)
_GUTTER_MM = 5.0
_LARGEST_MM, _SMALLEST_MM = 2.9, 1.45
_STEP_MM = 0.05
_MOST_BOXES = 30
_WRITE_LINES = 4
_HEAD_MM, _FOOT_MM = 16.0, 9.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Packs alike.  words: what they are.  cells: words and number of boxes of each; none for what is not ticked."""

    words: str
    cells: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One use.  title: its name."""

    title: str
    groups: tuple[Group, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """A line of a column.  kind: ``title``, ``group`` or ``cell``.  boxes: before the words."""

    kind: str
    words: str
    boxes: int = 0


def write_lid(
    sections: Sequence[Section], path: Path, *, title: str, subtitle: str, paper: str = "letter"
) -> sheet.Written:
    """Write the list as a PDF, letters as large as one page allows.

    A list too long for one page at the smallest letters goes on to more.

    Raises: InputError for a paper, an ending or a folder that is none; BookTrouble when the file cannot be written.
    """
    with sheet.pdf(path, title=title, paper=paper, such_as="lid.pdf") as canvas:
        letters = sheet.Letters()
        head = letters(title), letters(subtitle)
        pages = _draw(canvas, [_printable(section, letters) for section in sections], *head, *sheet.PAPERS[paper])
    return sheet.Written(file=path, pages=pages, unknown=letters.unknown)


def _printable(section: Section, letters: sheet.Letters) -> Section:
    """The section in letters that the font has, before any line is wrapped."""
    groups = [
        Group(words=letters(group.words), cells=tuple((letters(words), boxes) for words, boxes in group.cells))
        for group in section.groups
    ]
    return Section(title=letters(section.title), groups=tuple(groups))


def _draw(canvas: Canvas, sections: Sequence[Section], title: str, subtitle: str, width: float, height: float) -> int:
    """The whole list, in as many columns as leave the smallest line largest; how many pages it took."""
    room = height - 2 * MARGIN_MM - _HEAD_MM - _FOOT_MM
    ways = []
    for abreast in _COLUMNS:
        column = (width - 2 * MARGIN_MM - (abreast - 1) * _GUTTER_MM) / abreast
        cap = _LARGEST_MM
        columns = _filled(sections, cap, column, room)
        while len(columns) > abreast and cap - _STEP_MM >= _SMALLEST_MM:
            cap -= _STEP_MM
            columns = _filled(sections, cap, column, room)
        # A line too long for its column is made smaller: what can be read by torchlight is the smallest.
        smallest = min((_cell_size(line, cap, column) for lines in columns for line in lines), default=cap)
        ways.append((len(columns) <= abreast, round(smallest, 1), abreast, cap, column, columns))
    _, _, abreast, cap, column, columns = max(ways, key=lambda way: way[:3])
    pages = 0
    for first in range(0, len(columns), abreast):
        pages += 1
        _head(canvas, title, subtitle if pages == 1 else f"page {pages}", width, height)
        for number, lines in enumerate(columns[first : first + abreast]):
            left = MARGIN_MM + number * (column + _GUTTER_MM)
            _column(canvas, lines, left, height - MARGIN_MM - _HEAD_MM, cap, column)
        _foot(canvas, width)
        canvas.showPage()
    return pages


def _filled(sections: Sequence[Section], cap: float, column: float, room: float) -> list[list[_Line]]:
    """The lines in columns of that height; a title or a group's words never stand alone at a column's foot.

    A column that goes on with a section says at its head which.
    """
    columns: list[list[_Line]] = [[]]
    left, title, group = room, "", ""
    for block in _blocks(sections, cap, column):
        for number, line in enumerate(block):
            ahead = sum(_height(one.kind, cap) for one in block[number : number + (3 if line.kind != "cell" else 1)])
            if ahead > left and columns[-1]:
                columns.append([])
                left = room
                if line.kind != "title":
                    columns[-1].append(_Line(kind="title", words=f"{title}, more"))
                    left -= _height("title", cap)
                if line.kind == "cell":
                    columns[-1].append(_Line(kind="group", words=f"{group}, more"))
                    left -= _height("group", cap)
            title = line.words if line.kind == "title" else title
            group = line.words if line.kind == "group" else group
            columns[-1].append(line)
            left -= _height(line.kind, cap)
    return columns


def _blocks(sections: Sequence[Section], cap: float, column: float) -> Iterator[list[_Line]]:
    for section in sections:
        for number, group in enumerate(section.groups):
            lines = [_Line(kind="title", words=section.title)] if number == 0 else []
            lines += [_Line(kind="group", words=words) for words in sheet.wrapped(group.words, cap, column)]
            for words, boxes in group.cells:
                lines += _cell_lines(words, boxes, cap, column)
            yield lines


def _cell_lines(words: str, boxes: int, cap: float, column: float) -> list[_Line]:
    if boxes == 1:
        return [_Line(kind="cell", words=words, boxes=1)]
    shown = min(boxes, _MOST_BOXES)
    a_row = max(5, int((column - cap * 2) / (cap * 1.9)) // 5 * 5)
    lines = [_Line(kind="cell", words=f"{words.lstrip()} - {boxes} of them:")]
    for first in range(0, shown, a_row):
        lines.append(_Line(kind="cell", words="", boxes=min(a_row, shown - first)))
    return lines


def _height(kind: str, cap: float) -> float:
    return cap * {"title": 2.6, "group": 1.75, "cell": 1.8}[kind]


def _column(canvas: Canvas, lines: Sequence[_Line], left: float, top: float, cap: float, width: float) -> None:
    down = top
    for line in lines:
        down -= _height(line.kind, cap)
        if line.kind == "title":
            size = _fitting(line.words, cap * 1.15, width - 2)
            canvas.setFillGray(0.88)
            canvas.rect(
                left * _POINTS_A_MM,
                (down - cap * 0.45) * _POINTS_A_MM,
                width * _POINTS_A_MM,
                cap * 2.1 * _POINTS_A_MM,
                stroke=0,
                fill=1,
            )
            canvas.setFillGray(0)
            _words(canvas, line.words, left + 1, down, size)
            continue
        indent = 0.0 if line.kind == "group" else cap * 1.4
        for number in range(line.boxes):
            at = left + indent + number * cap * 1.9
            canvas.setLineWidth(0.6)
            side = cap * 1.25 * _POINTS_A_MM
            canvas.rect(at * _POINTS_A_MM, (down - cap * 0.12) * _POINTS_A_MM, side, side)
        if line.words:
            _words(canvas, line.words, left + _start(line, cap), down, _cell_size(line, cap, width))


def _start(line: _Line, cap: float) -> float:
    """How far from the column's left its words begin: after one box."""
    return (0.0 if line.kind == "group" else cap * 1.4) + (cap * 2.1 if line.boxes else 0)


def _cell_size(line: _Line, cap: float, width: float) -> float:
    """Height of a line's capitals; that of a title is its own matter."""
    return _fitting(line.words, cap * 0.95, width - _start(line, cap)) if line.kind != "title" else cap


def _fitting(words: str, most: float, room: float) -> float:
    natural = sheet.width_mm(words, 1.0)
    return min(most, room / natural) if natural else most


def _words(canvas: Canvas, words: str, x: float, y: float, cap: float) -> None:
    canvas.setFont(sheet.FONT, cap * sheet.em_per_cap() * _POINTS_A_MM)
    canvas.drawString(x * _POINTS_A_MM, y * _POINTS_A_MM, words)


def _head(canvas: Canvas, title: str, subtitle: str, width: float, height: float) -> None:
    room = width - 2 * MARGIN_MM
    _words(canvas, title, MARGIN_MM, height - MARGIN_MM - 6, _fitting(title, 5.0, room))
    _words(canvas, subtitle, MARGIN_MM, height - MARGIN_MM - 11.5, _fitting(subtitle, 2.0, room))


def _foot(canvas: Canvas, width: float) -> None:
    """What is not on the list, or came from elsewhere: write the code."""
    room = (width - 2 * MARGIN_MM) / _WRITE_LINES
    canvas.setLineWidth(0.6)
    for number in range(_WRITE_LINES):
        left = MARGIN_MM + number * room
        words = "Not on the list? Its code and the day:" if number == 0 else "code, day"
        _words(canvas, words, left, MARGIN_MM + 0.2, _fitting(words, 1.8, room - 4))
        canvas.line(left * _POINTS_A_MM, (MARGIN_MM + 3.5) * _POINTS_A_MM, (left + room - 4) * _POINTS_A_MM,
                    (MARGIN_MM + 3.5) * _POINTS_A_MM)  # fmt: skip
