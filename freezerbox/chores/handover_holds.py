"""The household's own holds in a handover file: which stood once and stand no more, and what that changes here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from freezerbox.book import origins
from freezerbox.book.writer import Writer
from freezerbox.chores.handover_file import LetGo
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.dates import iso, long_date
from freezerbox.core.lineage import Lineage

LET_GO_THERE = "let go by the household it came from"
"""Why a hold that came with a file stands no more, when a later file says so."""


def with_sources(lineage: Lineage, code: str) -> list[str]:
    """The package and every package it was made of."""
    above = (source.name for source in lineage.ancestors(code) if source.kind == "package")
    return list(dict.fromkeys([code, *above]))


def lifted_json(kitchen: Kitchen, codes: Sequence[str]) -> list[dict[str, object]]:
    """Own holds that stood on any of these, as another book may still have them, and stand no more."""
    standing = {(hold.why, hold.since) for code in codes for hold in origins.own_holds(kitchen.book, code)}
    found = {
        (hold.why, hold.since): hold.released_on
        for code in codes
        for hold in origins.holds_let_go(kitchen.book, code)
        if (hold.why, hold.since) not in standing
    }
    return [
        {"why": why, "since": since.isoformat(), "released_on": iso(released)}
        for (why, since), released in found.items()
    ]


def new_holds(
    kitchen: Kitchen, code: str, theirs: Sequence[tuple[str, date]], told_on: date | None
) -> list[tuple[str, date]]:
    """Holds that this book does not have.

    One that was let go here stays let go, unless that came of an earlier file and the hold was put on again since.
    """
    standing = {(hold.why, hold.since) for hold in origins.own_holds(kitchen.book, code)}
    over = {(hold.why, hold.since): hold for hold in origins.holds_let_go(kitchen.book, code)}

    def stays_over(hold: origins.OwnHold) -> bool:
        if hold.released_on is None:  # our own taking in of it was taken back
            return False
        return hold.released_why != LET_GO_THERE or told_on is None or told_on < hold.released_on

    return [
        one for one in dict.fromkeys(theirs) if one not in standing and not (one in over and stays_over(over[one]))
    ]


def ended(kitchen: Kitchen, code: str, lifted: Sequence[LetGo]) -> list[tuple[origins.OwnHold, date | None]]:
    """Holds that stand here and were let go there, with the day."""
    days = {(one.why, one.since): one.on for one in lifted}
    return [
        (hold, days[hold.why, hold.since])
        for hold in origins.own_holds(kitchen.book, code)
        if (hold.why, hold.since) in days
    ]


def let_go(act: Writer, hold: origins.OwnHold, on: date, shown: str) -> str:
    """Write that a hold of theirs stands no more; returns the news of it."""
    act.change(hold.table, hold.id, "released_on", None, on.isoformat())
    act.change(hold.table, hold.id, "released_why", "", LET_GO_THERE)
    return f"{shown}: hold let go by its household on {long_date(on)} ({hold.why})"
