"""How many days a thing commonly takes, where no table of its own says it by the food."""

from __future__ import annotations

from freezerbox.food.tables import read_rows


def days_for(what: str) -> int:
    """Days that it takes: ``thaw``, from taking a pack out until it is thawed in the refrigerator; ``cut-up``, from
    an animal's killing or processing to its last package.

    Source: days.csv.  Raises: KeyError for what is no row of it.
    """
    return {row["key"]: int(row["days"]) for row in read_rows("days.csv")}[what]
