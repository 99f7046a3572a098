"""The words for one package seen in a count: what it came to first, so that a cold hand reads on only if it must."""

from __future__ import annotations

from collections.abc import Sequence

from freezerbox.chores.count import Counted
from freezerbox.chores.count_lots import parted
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.chores.wording import gone_words, holds_words
from freezerbox.core.code import show_code

A_LOT = "A LOT"
"""How the words begin for one that is still to be counted."""


def saw_words(kitchen: Kitchen, counted: Counted, code: str) -> str:
    """``RIGHT, 3 seen: K7P-3MT  Backstrap half, 0.88 lb``; or listed elsewhere, gone by the book, not in it."""
    number = f"{len(counted.seen)} seen"
    lots = {row.code: how_many for row, how_many in counted.lots}
    for row, what in _said(kitchen, counted):
        if row.code == code:
            if row.package.state.quantity > 1 and code not in counted.numbers:
                what = f"{A_LOT}, {row.package.state.quantity} LISTED"
            if code in lots:
                there = f" IN {_where(counted, row).upper()}" if row in counted.elsewhere else ""
                what = f"{lots[code]} COUNTED, {row.package.state.quantity} LISTED{there}"
            if row in counted.gone:
                return f"{what}, {number}: {show_code(row.code)}  {row.cut_name}, {gone_words(row, kitchen.today)}."
            held = f" HELD: {holds_words(row.holds, kitchen.today)}." if row.holds else ""
            return f"{what}, {number}: {seen_line(kitchen, row)}.{held}"
    return f"NOT IN THIS BOOK, {number}: {show_code(code)}."


def lot_words(kitchen: Kitchen, counted: Counted, row: Row, number: int) -> str:
    """``61 counted, 72 listed``; of a lot that is listed elsewhere also what becomes of the rest."""
    listed = row.package.state.quantity
    if row not in counted.elsewhere:
        return f"{number} counted, {listed} listed"
    where = _where(counted, row)
    if not parted(kitchen, row, number):
        return f"{number} counted here, {listed} listed in {where} - move it?"
    return f"{number} counted here, {listed} listed in {where} - part them off the lot? The rest stays there"


def new_labels(counted: Counted, rows: Sequence[Row]) -> str:
    """Which of the packages made right are parts of lots under new codes, and how they are labelled; "" for none."""
    before = {row.code for row in (*counted.elsewhere, *counted.gone, *counted.missing, *counted.expected)}
    codes = " ".join(show_code(row.code) for row in rows if row.code not in before)
    if not codes:
        return ""
    return f"New code, part of a lot whose rest stays where it was: {codes}. Label: freezerbox label again {codes}"


def all_of_it(counted: Counted, row: Row) -> str:
    """Of a lot whose number was not said: that all of it would be moved; "" else."""
    listed = row.package.state.quantity
    if listed < 2 or row.code in counted.numbers:
        return ""
    return f", all {listed} of it; if fewer lie here, count them: {show_code(row.code)} 3"


def seen_line(kitchen: Kitchen, row: Row) -> str:
    """``K7P-3MT  Backstrap half, 0.88 lb``: as short as tells one pack from the next."""
    weight = "" if row.package.net_mg is None else f", {kitchen.mass(row.package.net_mg)}"
    return f"{show_code(row.code)}  {row.cut_name}{weight}"


def _said(kitchen: Kitchen, counted: Counted) -> list[tuple[Row, str]]:
    return [
        *((row, "RIGHT") for row in counted.expected),
        *((row, f"LISTED IN {_where(counted, row).upper()}") for row in counted.elsewhere),
        *((row, "LISTED AS GONE") for row in counted.gone),
        *((row, "A LABEL WITHOUT A PACKAGE") for row in counted.spare),
    ]


def _where(counted: Counted, row: Row) -> str:
    """The place; with its freezer when that is another one."""
    return (row.place if row.freezer == counted.place.freezer else row.where) or row.where or "no place"
