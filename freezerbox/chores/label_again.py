"""Printing labels again: those of some codes, and the rest of a run after a jam."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from freezerbox.chores.header import whole_number
from freezerbox.chores.holding import find_subject, reached
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label import How, Printed, begun_slot, make_ready, own_templates, print_rows
from freezerbox.chores.printing import ask_after, kind_of, last_run, mark, not_printed, settle
from freezerbox.chores.rows import Row
from freezerbox.chores.take import find_row, void_words
from freezerbox.core.records import Reason, State
from freezerbox.errors import Refused
from freezerbox.labels.jobs import Mark
from freezerbox.labels.library import stock_names


def print_again(kitchen: Kitchen, codes: Sequence[str], how: How, number: str = "1") -> Printed:
    """Draw labels again, as the records are now, from the ``number``-th of them on; no new package comes of it.

    A code may be an animal's or a batch's: then of all its packages in the freezer.
    They go on the sheet that is begun, from its next free label, unless a start position is given.

    Raises: InvalidCode; UnknownCode; UnknownRecord; InputError for a number beyond them; Refused for a void label, or
    for nothing in the freezer; what ``print_rows`` raises.
    """
    rows = [row for code in codes for row in _meant(kitchen, code)]
    for row in rows:
        if row.package.state.reason is Reason.VOID:
            raise Refused(void_words(kitchen, row), code=row.code)
    first = whole_number(number, "the label to go on from", len(rows))
    begun = begun_slot(kitchen, how)
    before = tuple(row.code for row in rows[: first - 1])
    how = replace(how, start_at=how.start_at or "next", before=before, again=True)
    return replace(print_rows(kitchen, rows[first - 1 :], how), begun=begun)


def _meant(kitchen: Kitchen, code: str) -> tuple[Row, ...]:
    subject = find_subject(kitchen, code)
    if subject.row is not None:
        return (subject.row,)
    rows = tuple(row for row in reached(kitchen, subject) if row.package.state.state is State.FROZEN)
    if not rows:
        raise Refused(f"{subject.words} has nothing in the freezer to print a label for.", code=subject.code)
    return rows


def print_from(kitchen: Kitchen, number: str, how: How) -> Printed:
    """After a jam: the labels of the last run from its ``number``-th on; those before it came out, and count.

    They belong to that run: at a second jam its numbers are still those of the first sheet.  Labels printed again
    since do not take its place, nor does a single new one, unless its first is asked for.

    Raises: InputError for a number beyond the run; Refused when nothing was printed yet; PrinterTrouble while the
    last run still waits at the printer, or for no such printer, and OutOfLine when that lists other paper: then
    nothing counts that did not before; what ``print_rows`` raises.
    """
    if how.jobs:
        waiting = (ask_after if how.look else settle)(kitchen, how.jobs).waiting
        if waiting:
            raise not_printed(waiting[-1].owed, waiting[-1].state)
        kitchen = kitchen.afresh()
    run = last_run(kitchen, how.jobs, least=1 if number.strip() == "1" else 2)
    first = whole_number(number, f"a label of {run.words}", len(run.labels))
    out = [one for one in run.labels[: first - 1] if isinstance(one, Mark)]
    rows = [find_row(kitchen, code) for code in run.codes[first - 1 :]]
    # Spare codes are printed on pages that are no label stock.
    stocks = stock_names(own_templates(kitchen))
    stock = how.stock or (run.stock if run.stock in stocks else "")
    how = replace(how, stock=stock, before=run.codes[: first - 1])
    make_ready(kitchen, how, quiet=True)
    if out and not how.look:
        mark(kitchen, out, run.stock, None, kind_of(how.before[: -len(out)], again=False))
        kitchen = kitchen.afresh()
    return replace(print_rows(kitchen, rows, how), run=run)
