"""Looking the book over: is the file whole, and does the state follow from the journal?"""

from __future__ import annotations

from dataclasses import dataclass

from freezerbox.book import inspection, journal, queries
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.code import is_valid, show_code
from freezerbox.core.fold import fold_all
from freezerbox.food import cuts


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """faults: a sentence each; empty when all is well.  packages, movements: how many were looked at."""

    faults: tuple[str, ...]
    packages: int
    movements: int


def check(kitchen: Kitchen) -> Checked:
    """Compare everything with everything; nothing is changed."""
    book = kitchen.book
    faults = [f"The file: {fault}" for fault in inspection.file_faults(book)]
    movements = journal.movements(book)
    folded = fold_all(movements)
    packages = queries.packages(book)
    for package in packages:
        shown = show_code(package.code)
        if not is_valid(package.code):
            faults.append(f"{shown} is not a code: its check character is wrong.")
        if folded.get(package.code) != package.state:
            faults.append(f"{shown} is stored as {package.state.state}, but its journal says otherwise.")
        if package.state.quantity < 0:
            faults.append(f"{shown} has {package.state.quantity} left.")
        for word, table in ((package.cut, cuts.cut), (package.form, cuts.form), (package.species, cuts.species)):
            if word:
                try:
                    table(word)
                except KeyError:
                    faults.append(f"{shown} has {word!r}, which the tables do not know.")
    stateless = inspection.packages_without_state(book)
    faults.extend(f"{show_code(code)} has a record but no journal." for code in stateless)
    faults.extend(inspection.missing_guards(book))
    return Checked(faults=tuple(faults), packages=len(packages), movements=len(movements))
