"""A page of plain blocks, one under another: headings, text, lines to tick, lines to sign, words of a set height.

Lengths are millimetres here; reportlab's own unit, the point, is 1/72 in.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from freezerbox.errors import BookTrouble, InputError

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

PAPERS = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}
"""Width and height in mm: ANSI/ASME Y14.1 size A, and ISO 216 A4."""
MARGIN_MM = 15.0
_POINTS_A_MM = 72 / 25.4
FONT = "FreezerboxSans"
_FONT_FILE = "DejaVuSansCondensed-Bold.ttf"
_LEADING = 1.3
_ABOVE = 230  # Unicode Standard, 4.3: the combining class of marks above a letter
# By capital and marks on it: none of these or one; a capital with an accent; with two.  As the font shipped draws
# them: U with diaeresis is 1.272 capitals high, A with breve and hook 1.540.
_RISES = (1.0, 1.0, 1.28, 1.55)


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """Words, wrapped.  size_mm: height of a capital letter.  indent_mm, above_mm: room before and over it.

    over: they head the lines that follow, and are said again where those go on on another page.
    """

    words: str
    size_mm: float = 2.6
    indent_mm: float = 0.0
    above_mm: float = 1.0
    over: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Cells in columns; ``ticks`` empty boxes before them.  widths_mm: of each cell but the last."""

    cells: tuple[str, ...]
    widths_mm: tuple[float, ...]
    ticks: int = 0
    size_mm: float = 2.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """A line to write on, with what belongs there under it."""

    words: str
    width_mm: float = 80.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A thin line across the page."""


Block = Text | Line | Blank | Rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A PDF written.  pages: how many it took.  unknown: the letters that the font has not; a ``?`` for each."""

    file: Path
    pages: int
    unknown: str = ""


def write_sheet(blocks: Sequence[Block], path: Path, *, title: str, paper: str = "letter", foot: str = "") -> Written:
    """Write the blocks as a PDF, on as many pages as they take.

    Raises: InputError for a paper, an ending or a folder that is none; BookTrouble when the file cannot be written.
    """
    with pdf(path, title=title, paper=paper, such_as="slip.pdf") as canvas:
        letters = Letters()
        flow = _Flow(canvas, *PAPERS[paper], letters(foot or title))
        for block in blocks:
            flow.put(_printable(block, letters))
        flow.end()
    return Written(file=path, pages=flow.page, unknown=letters.unknown)


@contextmanager
def pdf(path: Path, *, title: str, paper: str, such_as: str) -> Iterator[Canvas]:
    """A canvas for the pages of a PDF, which takes the place of the file that is there only once it is whole.

    ``such_as``: a name that would do.  The same strokes make the same bytes, whatever the hour.

    Raises: InputError for a paper, an ending or a folder that is none; BookTrouble when the file cannot be written.
    """
    if paper not in PAPERS:
        raise InputError(f"{paper!r} is not a paper. The papers are: {', '.join(PAPERS)}.", value=paper)
    if path.suffix.lower() != ".pdf":
        raise InputError(f"{path.name!r} must end in .pdf, such as {such_as}.", value=str(path))
    if not path.parent.is_dir():
        raise InputError(f"There is no folder {str(path.parent)!r} to write {path.name!r} into.", value=str(path))
    from reportlab.pdfgen.canvas import Canvas

    register_font()
    part = path.with_name(f".{path.name}.part")
    width, height = (side * _POINTS_A_MM for side in PAPERS[paper])
    canvas = Canvas(str(part), pagesize=(width, height), invariant=1, initialFontName=FONT)
    canvas.setTitle(title)
    yield canvas
    try:
        canvas.save()
        part.replace(path)
    except OSError as error:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise BookTrouble(f"{path} cannot be written: {(error.strerror or str(error)).lower()}.") from error


class _Flow:
    """The pen, walking down the pages."""

    def __init__(self, canvas: Canvas, width_mm: float, height_mm: float, foot: str) -> None:
        self.canvas, self.width, self.height, self.foot = canvas, width_mm, height_mm, foot
        self.page, self.left = 1, height_mm - 2 * MARGIN_MM
        self.over: Text | None = None

    @property
    def _down(self) -> float:
        return self.height - MARGIN_MM - self.left

    def _room(self, needed_mm: float) -> None:
        if needed_mm > self.left and self.left < self.height - 2 * MARGIN_MM:
            self._footer()
            self.canvas.showPage()
            self.page += 1
            self.left = self.height - 2 * MARGIN_MM

    def put(self, block: Block) -> None:
        """Draw a block under the last one, on the next page when this one is full."""
        if not isinstance(block, Line):
            self.over = None
        if isinstance(block, Text):
            room = self.width - 2 * MARGIN_MM - block.indent_mm
            lines = list(wrapped(block.words, block.size_mm, room))
            self._room(block.above_mm + block.size_mm * em_per_cap() * _LEADING)
            self.left -= block.above_mm
            for line in lines:
                self._words(line, block.size_mm, MARGIN_MM + block.indent_mm)
            self.over = block if block.over else None
        elif isinstance(block, Line):
            self._line(block)
        elif isinstance(block, Blank):
            self._room(16)
            self.left -= 11
            self._stroke(MARGIN_MM, block.width_mm)
            self._words(block.words, 2.0, MARGIN_MM)
        else:
            self._room(4)
            self.left -= 2
            self._stroke(MARGIN_MM, self.width - 2 * MARGIN_MM)
            self.left -= 1

    def _line(self, line: Line) -> None:
        box, x = line.size_mm * 1.4, MARGIN_MM
        start = x + line.ticks * (box + 2) + (1 if line.ticks else 0)
        room = self.width - MARGIN_MM - start - sum(line.widths_mm)
        last = list(wrapped(line.cells[-1], line.size_mm, room)) or [""]
        step = line.size_mm * em_per_cap() * _LEADING
        before = self.page
        self._room(step * len(last) + 1)
        if self.page > before and self.over:
            for words in wrapped(f"{self.over.words}, continued", self.over.size_mm, self.width - 2 * MARGIN_MM):
                self._words(words, self.over.size_mm, MARGIN_MM)
        self.left -= 0.6
        base = self._down + line.size_mm * 1.25
        for number in range(line.ticks):
            at = x + number * (box + 2)
            self.canvas.setLineWidth(0.8)
            self.canvas.rect(self._x(at), self._y(base + 0.2), box * _POINTS_A_MM, box * _POINTS_A_MM)
        x = start
        for cell, width in zip(line.cells, line.widths_mm, strict=False):
            words = next(wrapped(cell, line.size_mm, width), "")
            self._draw(words, line.size_mm, x, base)
            x += width
        for words in last:
            self._draw(words, line.size_mm, x, self._down + line.size_mm * 1.25)
            self.left -= step

    def _words(self, words: str, size_mm: float, x_mm: float) -> None:
        step = size_mm * em_per_cap() * _LEADING
        self._room(step)
        self._draw(words, size_mm, x_mm, self._down + size_mm * 1.2)
        self.left -= step

    def _draw(self, words: str, size_mm: float, x_mm: float, base_mm: float) -> None:
        self.canvas.setFont(FONT, size_mm * em_per_cap() * _POINTS_A_MM)
        self.canvas.drawString(self._x(x_mm), self._y(base_mm), words)

    def _stroke(self, x_mm: float, width_mm: float) -> None:
        self.canvas.setLineWidth(0.6)
        y = self._y(self._down)
        self.canvas.line(self._x(x_mm), y, self._x(x_mm + width_mm), y)

    def _x(self, mm: float) -> float:
        return mm * _POINTS_A_MM

    def _y(self, down_mm: float) -> float:
        return (self.height - down_mm) * _POINTS_A_MM

    def _footer(self) -> None:
        self._draw(f"{self.foot}   page {self.page}", 1.8, MARGIN_MM, self.height - MARGIN_MM / 2)

    def end(self) -> None:
        """Close the last page."""
        self._footer()
        self.canvas.showPage()


def wrapped(words: str, size_mm: float, room_mm: float) -> Iterator[str]:
    """The words in lines that fit ``room_mm``, capitals ``size_mm`` high."""
    from reportlab.lib.utils import simpleSplit

    size = size_mm * em_per_cap() * _POINTS_A_MM
    for line in simpleSplit(words, FONT, size, room_mm * _POINTS_A_MM):
        yield str(line)


def width_mm(words: str, size_mm: float) -> float:
    """How wide the words come out, capitals ``size_mm`` high."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    register_font()
    return float(stringWidth(words, FONT, size_mm * em_per_cap() * _POINTS_A_MM)) / _POINTS_A_MM


def printable(words: str) -> tuple[str, str]:
    """The words composed, single spaces, ``?`` for every letter that the font shipped has not; and those letters."""
    return _known(" ".join(words.split()))


def _known(words: str) -> tuple[str, str]:
    from reportlab.pdfbase.pdfmetrics import getFont

    register_font()
    known = getFont(FONT).face.charToGlyph
    composed = unicodedata.normalize("NFC", words)
    missing = "".join(dict.fromkeys(letter for letter in composed if ord(letter) not in known))
    return "".join("?" if letter in missing else letter for letter in composed), missing


class Letters:
    """Words as the font shipped can print them, line by line; keeps in mind which letters it has not."""

    def __init__(self) -> None:
        self._missing: dict[str, None] = {}

    def __call__(self, words: str) -> str:
        """The words, their white as it is, with ``?`` for every letter that the font has not."""
        lines = [_known(line) for line in words.split("\n")]
        self._missing.update(dict.fromkeys(letter for _, missing in lines for letter in missing))
        return "\n".join(line for line, _ in lines)

    @property
    def unknown(self) -> str:
        """The letters that stood for nothing so far, each once."""
        return "".join(self._missing)


def _printable(block: Block, letters: Letters) -> Block:
    """The block in letters that the font has, before it is wrapped."""
    if isinstance(block, Line):
        return replace(block, cells=tuple(map(letters, block.cells)))
    return block if isinstance(block, Rule) else replace(block, words=letters(block.words))


def rise_per_cap(words: str) -> float:
    """How high the words reach over their line, in heights of a capital: accents on capitals stand above them."""
    marks = [
        (base := unicodedata.normalize("NFD", letter))[0].isupper()
        + sum(unicodedata.combining(mark) == _ABOVE for mark in base)
        for letter in words
    ]
    return _RISES[min(max(marks, default=0), len(_RISES) - 1)]


@lru_cache(maxsize=1)
def register_font() -> None:
    """Make the shipped font known to reportlab."""
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    registerFont(TTFont(FONT, str(_font_file())))


def em_per_cap() -> float:
    """How many capitals' heights an em of the font shipped is."""
    # A capital H is 1493 units high, of 2048 an em; what reportlab calls capHeight is the height of the ascenders.
    return 2048 / 1493


def _font_file() -> Path:
    """The font shipped: inside the package when installed, beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "label_templates", package.parent / "label_templates"):
        file = folder / "fonts" / _FONT_FILE
        if file.is_file():
            return file
    raise BookTrouble("The fonts are missing; install freezerbox again.")
