"""The stocks, designs and fonts that come with the program, by name."""

from __future__ import annotations

import difflib
from functools import lru_cache
from pathlib import Path

from freezerbox.errors import InvalidTemplate, UnknownWord
from freezerbox.labels.stock import Design, Stock
from freezerbox.labels.template import parse_design, parse_stock


@lru_cache(maxsize=1)
def templates_folder() -> Path:
    """Where the template files lie: inside the package when installed, beside it in a checkout.

    Raises: InvalidTemplate when they are in neither.
    """
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "label_templates", package.parent / "label_templates"):
        if (folder / "stocks").is_dir():
            return folder
    raise InvalidTemplate("The label templates are missing; install freezerbox again.")


def fonts_folder() -> Path:
    """Where the font files lie."""
    return templates_folder() / "fonts"


def stock_names(own: Path | None = None) -> tuple[str, ...]:
    """Every stock there is, in order of the alphabet; with ``own``, the household's in that folder too."""
    names = {path.stem for folder in _folders(own) for path in (folder / "stocks").glob("*.toml")}
    return tuple(sorted(names))


def design_names(own: Path | None = None) -> tuple[str, ...]:
    """Every design there is, in order of the alphabet."""
    names = {path.stem for folder in _folders(own) for path in (folder / "designs").glob("*.toml")}
    return tuple(sorted(names))


def stock(name: str, own: Path | None = None) -> Stock:
    """The stock of that name; one of the household's own, in folder ``own``, goes before a shipped one.

    Raises: UnknownWord with near names; InvalidTemplate when its file has faults.
    """
    wanted = name.strip().lower()
    known = stock_names(own)
    if wanted not in known:
        near = difflib.get_close_matches(wanted, known, n=3, cutoff=0.4)
        raise UnknownWord(f"{name!r} is no label stock. There are: {', '.join(known)}.", word=name, near=near)
    return _stock(wanted, own)


@lru_cache(maxsize=64)
def _stock(wanted: str, own: Path | None) -> Stock:
    file = f"stocks/{wanted}.toml"
    found = parse_stock(_read(file, own), file=file)
    if found.name != wanted:
        raise InvalidTemplate(
            f"{file} is not a stock file:",
            faults=[f"{file}: name: {found.name!r} is not the file's name"],
        )
    return found


def design_for(stock: Stock, own: Path | None = None) -> Design:
    """The design that the stock names, checked against the stock.

    Raises: InvalidTemplate with every fault.
    """
    return _design(stock.design, stock, own)


def design_named(kind: str, stock: Stock, own: Path | None = None) -> Design:
    """The stock's design of another kind: ``edge`` for the strip on a pack filed upright, ``large`` and so on.

    Raises: UnknownWord naming the kinds there are for the stock's labels.
    """
    known = kinds_for(stock, own)
    wanted = kind.strip().lower()
    if wanted not in known:
        raise UnknownWord(
            f"{kind!r} is no design for {stock.title}. There are: {', '.join(known)}.", word=kind, near=list(known)
        )
    return _design(known[wanted], stock, own)


def find_design(name: str, width_mm: float, height_mm: float, dpi: int, own: Path | None = None) -> bool:
    """Whether the design of that name is for labels of that size and can be drawn at that many dots per inch."""
    tried = Stock(
        name=name, title=name, kind="roll", dpi=dpi, width_mm=width_mm, height_mm=height_mm, page_width_mm=width_mm,
        page_height_mm=height_mm, columns=1, rows=1, pitch_x_mm=width_mm, pitch_y_mm=height_mm, left_mm=0, top_mm=0,
        design=name,
    )  # fmt: skip
    try:
        _design(name, tried, own)
    except InvalidTemplate:
        return False
    return True


def kinds_for(stock: Stock, own: Path | None = None) -> dict[str, str]:
    """Kind to name of every design of the stock's size: ``standard``, ``edge``, ``large``."""
    size = stock.design.partition("-")[2]
    found: dict[str, str] = {}
    for name in (stock.design, *design_names(own)):
        kind, _, rest = name.partition("-")
        if rest == size:
            found.setdefault(kind, name)
    return found


@lru_cache(maxsize=64)
def _design(name: str, stock: Stock, own: Path | None) -> Design:
    file = f"designs/{name}.toml"
    return parse_design(_read(file, own), file=file, stock=stock)


def _folders(own: Path | None) -> tuple[Path, ...]:
    return (own, templates_folder()) if own else (templates_folder(),)


def _read(name: str, own: Path | None) -> str:
    for folder in _folders(own):
        path = folder / name
        if path.resolve().parent.parent != folder.resolve():
            raise InvalidTemplate(f"{name} leaves the templates folder; a name is one bare word.")
        if path.is_dir():
            raise InvalidTemplate(f"{name} is a folder, and should be a file.")
        if not path.is_file():
            continue
        try:
            # Some editors begin a file with the mark of UTF-8.
            return path.read_text(encoding="utf-8-sig")
        except UnicodeDecodeError as error:
            raise InvalidTemplate(f"{name} is not text in UTF-8. In the editor, save it as UTF-8.") from error
        except OSError as error:
            raise InvalidTemplate(f"{name} cannot be read: {error.strerror or error}.") from error
    raise InvalidTemplate(f"{name} is missing.", faults=[f"{name}: there is no such file"])
