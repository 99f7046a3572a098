"""Labels on pages: which goes where, the pages drawn, the file written whole or not at all."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from freezerbox.errors import BookTrouble, InputError
from freezerbox.labels.stock import Stock

if TYPE_CHECKING:
    from PIL.Image import Image

# The same labels give the same bytes, so a PDF carries no time of its own.
_NO_TIME = time.gmtime(946_684_800)  # 1 January 2000


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


def draw_pages(pictures: Sequence[Image], positions: Sequence[Position], stock: Stock) -> list[Image]:
    """The pages with every picture at its position, mode ``1`` at the stock's dots per inch."""
    from PIL import Image

    size = (stock.dots(stock.page_width_mm), stock.dots(stock.page_height_mm))
    pages = [Image.new("1", size, 255) for _ in range(max((p.page for p in positions), default=0))]
    for picture, position in zip(pictures, positions, strict=True):
        pages[position.page - 1].paste(picture, (stock.dots(position.x_mm), stock.dots(position.y_mm)))
    return pages


def write(pages: Sequence[Image], path: Path, stock: Stock) -> list[Path]:
    """Writes the pages and returns the files: one PDF, or a PNG a page (``labels.png``, ``labels-2.png``, ...).

    Each file is written beside its place and renamed when all are whole, so there is never half a file.

    Raises: InputError for another ending, a missing folder or no pages; BookTrouble when the disk refuses.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending not in (".pdf", ".png"):
        name = path.name or str(path)
        raise InputError(f"{name!r} ends in neither .pdf nor .png; labels are written as one of these.")
    if not pages:
        raise InputError("There is no label to write.")
    if not path.parent.is_dir():
        raise InputError(f"There is no folder {str(path.parent)!r} to write {path.name!r} into.")
    if path.is_dir():
        raise InputError(f"{str(path)!r} is a folder; give the name of a file.")
    if ending == ".pdf":
        return _write_all({path: lambda part: _save_pdf(pages, part, stock)})
    names = [path, *(path.with_name(f"{path.stem}-{n}{path.suffix}") for n in range(2, len(pages) + 1))]
    return _write_all(
        {name: _png_saver(page, stock) for name, page in zip(names, pages, strict=True)},
    )


def _png_saver(page: Image, stock: Stock) -> Callable[[Path], None]:
    return lambda part: page.save(part, format="PNG", dpi=(stock.dpi, stock.dpi), optimize=False)


def _save_pdf(pages: Sequence[Image], part: Path, stock: Stock) -> None:
    from PIL import features

    if not features.check("libtiff"):
        # Without it Pillow would store black and white as JPEG, with rings around every module.
        raise BookTrouble("This Pillow lacks libtiff, which a sharp PDF needs. Write a .png, or reinstall Pillow.")
    pages[0].save(
        part,
        format="PDF",
        save_all=True,
        append_images=list(pages[1:]),
        resolution=stock.dpi,
        title="freezerbox labels",
        creationDate=_NO_TIME,
        modDate=_NO_TIME,
    )


def _write_all(files: dict[Path, Callable[[Path], None]]) -> list[Path]:
    parts = {path: path.with_name(f".{path.name}.part") for path in files}
    try:
        for path, save in files.items():
            save(parts[path])
        for path, part in parts.items():
            part.replace(path)
    except OSError as error:
        why = error.strerror or str(error)
        raise BookTrouble(f"The labels could not be written to {str(next(iter(files)))!r}: {why}.") from error
    finally:
        for part in parts.values():
            if part.is_symlink() or part.is_file():
                part.unlink()
    return list(files)
