"""The tables of the room, read once each.

The files lie beside this module in ``tables/``; what each column means is in ``tables/README.md``.
"""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files


@cache
def read_rows(name: str) -> tuple[dict[str, str], ...]:
    """Every row of ``tables/<name>`` (such as ``cuts.csv``), column by name, in the order of the file.

    Raises: FileNotFoundError for a table that is not part of the program (a fault of the program, not of a user).
    """
    text = files("freezerbox.food").joinpath("tables", name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines(), strict=True))
