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


@lru_cache(maxsize=1)
def stock_names() -> tuple[str, ...]:
    """Every stock there is, in order of the alphabet."""
    return tuple(sorted(path.stem for path in (templates_folder() / "stocks").glob("*.toml")))


@lru_cache(maxsize=32)
def stock(name: str) -> Stock:
    """The stock of that name.

    Raises: UnknownWord with near names; InvalidTemplate when its file has faults.
    """
    wanted = name.strip().lower()
    if wanted not in stock_names():
        near = difflib.get_close_matches(wanted, stock_names(), n=3, cutoff=0.4)
        raise UnknownWord(f"{name!r} is no label stock. There are: {', '.join(stock_names())}.", word=name, near=near)
    found = parse_stock(_read(f"stocks/{wanted}.toml"), file=f"stocks/{wanted}.toml")
    if found.name != wanted:
        raise InvalidTemplate(
            f"stocks/{wanted}.toml is not a stock file:",
            faults=[f"stocks/{wanted}.toml: name: {found.name!r} is not the file's name"],
        )
    return found


@lru_cache(maxsize=32)
def design_for(stock: Stock) -> Design:
    """The design that the stock names, checked against the stock.

    Raises: InvalidTemplate with every fault.
    """
    return parse_design(_read(f"designs/{stock.design}.toml"), file=f"designs/{stock.design}.toml", stock=stock)


def _read(name: str) -> str:
    path = templates_folder() / name
    if path.resolve().parent.parent != templates_folder().resolve():
        raise InvalidTemplate(f"{name} leaves the templates folder; a name is one bare word.")
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InvalidTemplate(f"{name} cannot be read: {error}.") from error
