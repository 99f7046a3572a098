"""Printing labels: everything not yet printed, some again, some ahead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from freezerbox.book import queries
from freezerbox.book.writer import Writer
from freezerbox.chores.header import Words, understand, whole_number
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.label_words import content_of
from freezerbox.chores.pack import Run, Weighed, put_in
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import find_row, void_words
from freezerbox.core.code import show_code
from freezerbox.core.records import Reason, State
from freezerbox.errors import LabelDoesNotFit, LabelUnreadable, Refused
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import Drawn, draw
from freezerbox.labels.library import stock as stock_named
from freezerbox.labels.sheet import Position, write
from freezerbox.reading.pictures import read_picture

DEFAULT_STOCK = "letter-10up"
START_PREFIX = "start:"
MOST_AHEAD = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """Labels drawn and written.

    files: what was written.  rows: packages in label order.  positions: where each label lies (page from 1, mm).
    page_files: the file that holds each label.  dropped: per code, fields that found no room.
    next_start: the slot after the last label; 1 when the sheet is full, and for rolls.  marked: False for a look.
    """

    stock: str
    files: tuple[Path, ...]
    rows: tuple[Row, ...]
    positions: tuple[Position, ...]
    page_files: tuple[Path, ...]
    dropped: dict[str, tuple[str, ...]]
    next_start: int
    marked: bool


def not_yet_printed(kitchen: Kitchen) -> tuple[Row, ...]:
    """Packages in the freezer, or spare, that have no label yet, in packing order."""
    labelled = queries.printed_labels(kitchen.book)
    return tuple(row for row in Rows(kitchen).all(State.FROZEN, State.SPARE) if row.code not in labelled)


def print_new(kitchen: Kitchen, to: Path, *, stock: str = "", start_at: str = "", look: bool = False) -> Printed:
    """Draw every label not yet printed.  Raises: Refused when there is none; what ``print_rows`` raises."""
    rows = not_yet_printed(kitchen)
    if not rows:
        raise Refused(
            "Every package has its label already. To print one again: freezerbox label again K7P-3MT", code=None
        )
    return print_rows(kitchen, rows, to, stock=stock, start_at=start_at, look=look)


def print_again(
    kitchen: Kitchen, codes: Sequence[str], to: Path, *, stock: str = "", start_at: str = "", look: bool = False
) -> Printed:
    """Draw labels again, as the records are now; no new package comes of it.

    Raises: InvalidCode; UnknownCode; Refused for a void label.
    """
    rows = [find_row(kitchen, code) for code in codes]
    for row in rows:
        if row.package.state.reason is Reason.VOID:
            raise Refused(void_words(kitchen, row), code=row.code)
    return print_rows(kitchen, rows, to, stock=stock, start_at=start_at, look=look)


@one_writer
def print_ahead(
    kitchen: Kitchen, number: str, words: Words, to: Path, *, stock: str = "", start_at: str = ""
) -> Printed:
    """Labels for bags not yet filled: records without a weight, in state ``spare``, and their labels.

    Raises: what ``understand`` and ``print_rows`` raise; then nothing is kept.
    """
    count = whole_number(number, "labels", MOST_AHEAD)
    stock_named(stock or kitchen.settings.get("stock", DEFAULT_STOCK))
    header = understand(kitchen, words)
    run = Run(header=header, weights=tuple(Weighed(typed="", net_mg=None) for _ in range(count)))
    with kitchen.book.act("label-ahead", kitchen.today, words=f"{run.words()}: labels printed ahead") as act:
        codes = put_in(kitchen, act, run, State.SPARE)
        # Drawn inside the act: labels that do not fit or cannot be written leave no spare records behind.
        rows = Rows(kitchen).of_codes(codes)
        drawn, printed = _draw(kitchen, rows, to, stock, start_at)
        _mark(kitchen, act, drawn, printed)
    return printed


def print_rows(
    kitchen: Kitchen, rows: Sequence[Row], to: Path, *, stock: str = "", start_at: str = "", look: bool = False
) -> Printed:
    """Draw, read back and write the labels of ``rows``; unless it is a ``look``, mark them as printed.

    Raises: UnknownWord for the stock; InputError for the start position or the file's ending; LabelDoesNotFit;
    LabelUnreadable when a symbol does not read back, and then nothing is written.
    """
    drawn, printed = _draw(kitchen, rows, to, stock, start_at, look=look)
    if look:
        return printed
    words = f"printed {len(rows)} label{'s' if len(rows) != 1 else ''} on {printed.stock}"
    with kitchen.book.act("label", kitchen.today, words=words) as act:
        _mark(kitchen, act, drawn, printed)
    return printed


@one_writer
def void_unused(kitchen: Kitchen) -> tuple[Row, ...]:
    """Mark every spare label void: no package will come of it.  Raises: Refused when there is none."""
    rows = Rows(kitchen).all(State.SPARE)
    if not rows:
        raise Refused("There are no unused spare labels.")
    with kitchen.book.act("label-void", kitchen.today, words=f"{len(rows)} unused labels voided") as act:
        for row in rows:
            state = row.package.state
            act.move(
                row.code,
                state=State.GONE,
                reason=Reason.VOID,
                freezer_id=state.freezer_id,
                place_id=state.place_id,
                delta=-state.quantity,
            )
    return Rows(kitchen.afresh()).of_codes([row.code for row in rows])


def start_slot(kitchen: Kitchen, stock: str, text: str) -> int:
    """The first slot to print on: a number, or ``next`` for the one after the last printed on this stock."""
    paper = stock_named(stock)
    if not text:
        return 1
    if text.strip().lower() == "next":
        return int(kitchen.settings.get(START_PREFIX + stock, "1"))
    return whole_number(text, "the label to start at", paper.slots)


def _draw(
    kitchen: Kitchen, rows: Sequence[Row], to: Path, stock: str, start_at: str, *, look: bool = False
) -> tuple[Drawn, Printed]:
    stock = stock or kitchen.settings.get("stock", DEFAULT_STOCK)
    start = start_slot(kitchen, stock, start_at)
    contents = [content_of(kitchen, row) for row in rows]
    try:
        drawn = draw(contents, stock, start)
    except LabelDoesNotFit as error:
        raise LabelDoesNotFit(f"{error.message} Nothing was printed.", field=error.field) from error
    for number, content in enumerate(contents):
        read_back(content, drawn, number)
    files = write(drawn.pages, to, drawn.stock)
    slots = drawn.stock.slots
    last = (start - 1 + len(rows)) % slots if slots > 1 else 0
    return drawn, Printed(
        stock=stock,
        files=tuple(files),
        rows=tuple(rows),
        positions=drawn.positions,
        page_files=tuple(files[position.page - 1] if len(files) > 1 else files[0] for position in drawn.positions),
        dropped={row.code: fields for row, fields in zip(rows, drawn.dropped, strict=True) if fields},
        next_start=last + 1,
        marked=not look,
    )


def read_back(content: LabelContent, drawn: Drawn, number: int) -> None:
    """Decode a drawn label in memory.  Raises: LabelUnreadable when a symbol is missing or says something else."""
    found = sorted((symbol.symbology, symbol.text) for symbol in read_picture(drawn.pictures[number]))
    if found != sorted(drawn.layouts[number].symbols):
        said = ", ".join(f"{symbology} {text!r}" for symbology, text in found) or "nothing"
        raise LabelUnreadable(
            f"The label of {show_code(content.code)} does not read back as it should; it reads {said}. "
            "Nothing was printed.",
            code=content.code,
        )


def _mark(kitchen: Kitchen, act: Writer, drawn: Drawn, printed: Printed) -> None:
    for row, mask in zip(printed.rows, drawn.masks, strict=True):
        content = content_of(kitchen, row)
        act.add(
            "label",
            code=row.code,
            stock=printed.stock,
            text=content.symbol_text,
            mask=mask,
            banner=content.hold,
            printed_on=kitchen.today.isoformat(),
        )
    key = START_PREFIX + printed.stock
    old = kitchen.settings.get(key)
    if old != str(printed.next_start) and drawn.stock.slots > 1:
        act.change("setting", key, "value", old, str(printed.next_start))
