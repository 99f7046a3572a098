"""Since when a package is gone, as the household tells it: not by what undo had to write to say so again."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from freezerbox.book import journal
from freezerbox.book.door import Book
from freezerbox.core.fold import told
from freezerbox.core.records import Package, Reason, State

# Only an undo, an act told late or a join says a state on another day than the one it began on.
_SAID_AGAIN = """SELECT DISTINCT m.code FROM json_each(:codes) g CROSS JOIN movement m ON m.code = g.value
JOIN act a ON a.id = m.act_id WHERE a.undoes_act IS NOT NULL OR a.kind = 'join' OR m.happened_on <> a.happened_on"""


def with_days_told(book: Book, packages: Sequence[Package], as_of: date | None) -> tuple[Package, ...]:
    """The packages, those that are gone with ``since`` the day they went; ``as_of``: by what had happened by then."""
    gone = [
        package.code
        for package in packages
        if package.state.state is State.GONE and package.state.reason is not Reason.VOID
    ]
    if not gone:
        return tuple(packages)
    said_again = {row[0] for row in book.connection.execute(_SAID_AGAIN, {"codes": json.dumps(gone)})}
    silent = journal.silent(book) if said_again else frozenset()
    overruled = journal.overruled(book) if said_again else frozenset()

    def of(package: Package) -> Package:
        if package.code not in said_again:
            return package
        moved = [
            movement
            for movement in journal.movements(book, code=package.code)
            if as_of is None or movement.happened_on <= as_of
        ]
        state = told(moved, silent, overruled)
        return replace(package, state=replace(package.state, since=state.since)) if state else package

    return tuple(map(of, packages))
