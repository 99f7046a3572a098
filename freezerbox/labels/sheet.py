"""Labels on pages: which goes where, the pages drawn, the file written whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias, overload

from freezerbox.errors import BookTrouble, InputError
from freezerbox.labels.pdf import refuse_without_libtiff, write_pdf
from freezerbox.labels.stock import Stock

if TYPE_CHECKING:
    from PIL.Image import Image


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """Where a label lies.

    page: from 1.
    slot: from 1, along the rows of the sheet; always 1 on a roll.
    x_mm, y_mm, width_mm, height_mm: from the top left corner of the page.
    """

    page: int
    slot: int
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


def place(count: int, stock: Stock, start_at: int = 1) -> tuple[Position, ...]:
    """Places for ``count`` labels, the first at slot ``start_at`` of the first page, row by row from the left.

    Raises: InputError when ``start_at`` is no slot of the sheet.
    """
    if not 1 <= start_at <= stock.slots:
        most = f"1 to {stock.slots}" if stock.slots > 1 else "1: a roll has one label a page"
        raise InputError(f"{start_at} is no place on {stock.title}. Use {most}.", value=start_at)
    positions = []
    for number in range(count):
        page, slot = divmod(number + start_at - 1, stock.slots)
        row, column = divmod(slot, stock.columns)
        positions.append(
            Position(
                page=page + 1,
                slot=slot + 1,
                x_mm=round(stock.left_mm + column * stock.pitch_x_mm, 4),
                y_mm=round(stock.top_mm + row * stock.pitch_y_mm, 4),
                width_mm=stock.width_mm,
                height_mm=stock.height_mm,
            )
        )
    return tuple(positions)


class Pages(Sequence["Image"]):
    """The pages with every label at its position, mode ``1`` at the stock's dots per inch; each drawn when asked for.

    A page of 600 dpi takes 33 MB while it is drawn, and 300 labels are 30 pages: no page is kept.
    """

    def __init__(self, pictures: Sequence[Image], positions: Sequence[Position], stock: Stock) -> None:
        self._pictures, self._positions, self._stock = pictures, positions, stock
        self._count = max((position.page for position in positions), default=0)

    def __len__(self) -> int:
        return self._count

    @overload
    def __getitem__(self, index: int) -> Image: ...
    @overload
    def __getitem__(self, index: slice) -> list[Image]: ...
    def __getitem__(self, index: int | slice) -> Image | list[Image]:
        """One page, from 0.  Raises: IndexError."""
        if isinstance(index, slice):
            return [self[number] for number in range(*index.indices(len(self)))]
        if not -len(self) <= index < len(self):
            raise IndexError(index)
        return self.draw(index % len(self))

    def draw(self, index: int, watch: Watch | None = None) -> Image:
        """One page, from 0; ``watch`` is shown each label of it by number and picture."""
        from PIL import Image

        stock = self._stock
        page = Image.new("1", (stock.dots(stock.page_width_mm), stock.dots(stock.page_height_mm)), 255)
        for number, position in enumerate(self._positions):
            if position.page - 1 == index:
                picture = self._pictures[number]
                if watch:
                    watch(number, picture)
                across, down = position.x_mm + stock.shift_x_mm, position.y_mm + stock.shift_y_mm
                page.paste(picture, (stock.dots(across), stock.dots(down)))
        if stock.cut_marks:
            _cut_marks(page, stock)
        return page

    def watched(self, watch: Watch) -> Iterator[Image]:
        """Every page in order, each label shown to ``watch`` before its page is handed out."""
        return (self.draw(index, watch) for index in range(len(self)))


Watch: TypeAlias = "Callable[[int, Image], None]"


def draw_pages(pictures: Sequence[Image], positions: Sequence[Position], stock: Stock) -> Pages:
    """The pages, to be drawn one at a time."""
    return Pages(pictures, positions, stock)


MARK_MM = 4.0
_MARK_THICK_MM = 0.12


def _cut_marks(page: Image, stock: Stock) -> None:
    """Short lines at the corners of every label, on the margins and between labels, never on a label."""
    from PIL import ImageDraw

    draw = ImageDraw.Draw(page)
    thick = max(1, stock.dots(_MARK_THICK_MM))
    columns = [stock.left_mm + column * stock.pitch_x_mm for column in range(stock.columns)]
    rows = [stock.top_mm + row * stock.pitch_y_mm for row in range(stock.rows)]
    across = sorted({edge for left in columns for edge in (left, left + stock.width_mm)})
    down = sorted({edge for top in rows for edge in (top, top + stock.height_mm)})
    for x in across:
        at = stock.dots(x + stock.shift_x_mm) - thick // 2
        for start, end in _gaps(rows, stock.height_mm, stock.page_height_mm):
            top, bottom = stock.dots(start + stock.shift_y_mm), stock.dots(end + stock.shift_y_mm)
            draw.rectangle((at, top, at + thick - 1, bottom - 1), fill=0)
    for y in down:
        at = stock.dots(y + stock.shift_y_mm) - thick // 2
        for start, end in _gaps(columns, stock.width_mm, stock.page_width_mm):
            left, right = stock.dots(start + stock.shift_x_mm), stock.dots(end + stock.shift_x_mm)
            draw.rectangle((left, at, right - 1, at + thick - 1), fill=0)


def _gaps(starts: Sequence[float], size: float, page: float) -> list[tuple[float, float]]:
    """Where marks may stand along one side: beside the first and last label, and between two when there is room."""
    last = starts[-1] + size
    gaps = [(max(0.0, starts[0] - MARK_MM), starts[0]), (last, min(page, last + MARK_MM))]
    gaps += [(start + size, after) for start, after in pairwise(starts) if after - start - size > 0.5]
    return [(start, end) for start, end in gaps if end > start]


def write(pages: Iterable[Image], path: Path, stock: Stock) -> list[Path]:
    """Writes the pages and returns the files: one PDF, or a PNG a page (``labels.png``, ``labels-2.png``, ...).

    Each file is written beside its place and renamed when all are whole, so there is never half a file; what is
    raised while the pages are drawn leaves nothing behind either.

    Raises: InputError for another ending, a missing folder or no pages; BookTrouble when the disk refuses.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending not in (".pdf", ".png"):
        name = path.name or str(path)
        raise InputError(f"{name!r} ends in neither .pdf nor .png; labels are written as one of these.")
    if not path.parent.is_dir():
        raise InputError(f"There is no folder {str(path.parent)!r} to write {path.name!r} into.")
    if path.is_dir():
        raise InputError(f"{str(path)!r} is a folder; give the name of a file.")
    drawn = iter(pages)
    first = next(drawn, None)
    if first is None:
        raise InputError("There is no label to write.")
    rest = chain([first], drawn)
    del first  # or it would stay in memory until the last page is written
    if ending == ".pdf":
        return _write_all(iter([(path, lambda part: _save_pdf(rest, part, stock))]))
    return _write_all((_name(path, number), _png_saver(page, stock)) for number, page in enumerate(rest, 1))


def file_names(path: Path, pages: int) -> list[Path]:
    """The files that ``write`` makes of so many pages; of a name it refuses, that name."""
    return [path] if path.suffix.lower() != ".png" else [_name(path, number) for number in range(1, pages + 1)]


def _name(path: Path, number: int) -> Path:
    return path if number == 1 else path.with_name(f"{path.stem}-{number}{path.suffix}")


def _png_saver(page: Image, stock: Stock) -> Callable[[Path], None]:
    return lambda part: page.save(part, format="PNG", dpi=(stock.dpi, stock.dpi), optimize=False)


def _save_pdf(pages: Iterable[Image], part: Path, stock: Stock) -> None:
    refuse_without_libtiff()
    with part.open("wb") as out:
        write_pdf(pages, out, stock.dpi)


def _write_all(files: Iterator[tuple[Path, Callable[[Path], None]]]) -> list[Path]:
    parts: dict[Path, Path] = {}
    try:
        for path, save in files:
            parts[path] = path.with_name(f".{path.name}.part")
            save(parts[path])
        for path, part in parts.items():
            part.replace(path)
    except OSError as error:
        why = error.strerror or str(error)
        raise BookTrouble(f"The labels could not be written to {str(next(iter(parts)))!r}: {why}.") from error
    finally:
        for part in parts.values():
            if part.is_symlink() or part.is_file():
                part.unlink()
    return list(parts)
