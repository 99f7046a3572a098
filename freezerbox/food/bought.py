"""What was bought to go into a mix: the animal it is of, and how fat it is, read from its name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from freezerbox.food.tables import read_rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """Bought fat or meat.

    species: key of the species; "" when the name does not tell.  fat_percent: None when the table has no figure.
    by_ratio: its fat and lean vary so much that it is added by ratio alone (bacon).
    """

    name: str
    species: str
    fat_percent: int | None
    by_ratio: bool


def bought(name: str) -> Bought:
    """What the name of something bought tells; the first row of the table that fits decides each thing.

    >>> bought("pork back fat")
    Bought(name='pork back fat', species='pork', fat_percent=100, by_ratio=False)
    >>> bought("beef 50/50 trim").species
    'beef'
    """
    rows = list(_fitting(name))
    figures = [row for row in rows if row["fat_percent"] or row["by_ratio"]]
    fat = figures[0]["fat_percent"] if figures else ""
    return Bought(
        name=name,
        species=next((row["species"] for row in rows if row["species"]), ""),
        fat_percent=int(fat) if fat else None,
        by_ratio=bool(figures) and figures[0]["by_ratio"] == "yes",
    )


def _fitting(name: str) -> Iterator[dict[str, str]]:
    words = f" {' '.join(name.lower().replace(',', ' ').replace('-', ' ').split())} "
    for row in read_rows("bought.csv"):
        if f" {row['word']} " in words:
            yield row
