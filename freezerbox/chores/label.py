"""Printing labels: everything not yet printed, and some ahead."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from freezerbox.book import printouts
from freezerbox.chores.header import Words, understand, whole_number
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.label_fit import far_words, none_fits, noted, refuse_to_write_over, unprinted
from freezerbox.chores.label_paper import doubts, ready
from freezerbox.chores.label_words import content_of
from freezerbox.chores.pack import Run, Weighed, put_in, refuse_mixed
from freezerbox.chores.printing import (
    START_PREFIX,
    LastRun,
    Press,
    ask_after,
    book_uid,
    hand_over,
    kind_of,
    mark,
    mark_in,
    not_printed,
    see_through,
    settle,
)
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.symbols import keep_apart
from freezerbox.core.code import show_code
from freezerbox.core.records import State
from freezerbox.errors import (
    InputError,
    LabelDoesNotFit,
    LabelUnreadable,
    OutOfLine,
    PrinterTrouble,
    Refused,
)
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import Picture, drawn_of, fitting
from freezerbox.labels.jobs import JobList, Mark
from freezerbox.labels.library import design_for, design_named
from freezerbox.labels.library import stock as stock_named
from freezerbox.labels.ordinary import has_bars
from freezerbox.labels.ruler import with_ruler
from freezerbox.labels.sheet import Position, write
from freezerbox.labels.stock import Stock
from freezerbox.reading.pictures import read_picture

DEFAULT_STOCK = "letter-10up"
SHIFT_PREFIX = "shift:"
OWN_TEMPLATES = "label_templates"
MOST_AHEAD = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """Labels drawn and written.

    files: what was written.  rows: packages in label order.  positions: where each label lies (page from 1, mm).
    page_files: the file that holds each label.  dropped: per code, fields that found no room.
    next_start: the slot after the last label; 1 when the sheet is full, and for rolls.  marked: counts as printed.
    marks: each label as the book notes it.  job: at the printer that printed them, ``labels-12``; "" for a file.
    caution: what was said of the printer's dots before; "" when they are the stock's.
    before: how many labels of the same run came before these, when it goes on after a jam.  run: that run.
    again: printed by their codes.
    sheets: how many they fill; 0 on a roll.
    shift: what to say when the labels are moved by more than the white at their edge.
    start: slot of the first label.  begun: where a sheet begun before goes on, when nobody said which sheet; else 1.
    """

    stock: str
    files: tuple[Path, ...]
    rows: tuple[Row, ...]
    positions: tuple[Position, ...]
    page_files: tuple[Path, ...]
    dropped: dict[str, tuple[str, ...]]
    next_start: int
    marked: bool
    marks: tuple[Mark, ...]
    job: str = ""
    before: int = 0
    again: bool = False
    run: LastRun | None = None
    caution: str = ""
    start: int = 1
    begun: int = 1
    sheets: int = 0
    shift: str = ""
    unknown: dict[str, str] = field(default_factory=dict)
    refused: tuple[tuple[str, LabelDoesNotFit], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class How:
    """How labels are to be printed.

    to: the file.  stock: "" for the house's own.  start_at: slot, ``next``, or "" for the first.
    look: only draw; nothing counts as printed.
    over: a file that is there already may be written over, and a printer may get paper that it does not list.
    design: "" for the one of the stock.  ruler: one in the first sheet's margin, or on a label of its own on a roll.
    press: the printer; None for the file alone.  jobs: what printers still owe; None when nobody keeps that.
    before: codes of the run that these labels go on with after a jam.  again: they are printed by their codes.
    progress: hears after each label how many of how many are drawn.
    """

    to: Path
    stock: str = ""
    start_at: str = ""
    look: bool = False
    over: bool = False
    ruler: bool = False
    design: str = ""
    press: Press | None = None
    jobs: JobList | None = None
    before: tuple[str, ...] = ()
    again: bool = False
    progress: Callable[[int, int], None] | None = None


def not_yet_printed(kitchen: Kitchen, waiting: Collection[str] = ()) -> tuple[Row, ...]:
    """Packages in the freezer, or spare, that have no label yet nor ``waiting`` at a printer, in packing order."""
    labelled = {*printouts.printed_labels(kitchen.book), *waiting}
    return tuple(row for row in Rows(kitchen).all(State.FROZEN, State.SPARE) if row.code not in labelled)


def print_new(kitchen: Kitchen, how: How) -> Printed:
    """Draw every label not yet printed.  Raises: Refused when there is none; what ``print_rows`` raises."""
    asked = ask_after if how.look else settle
    waiting = asked(kitchen, how.jobs) if how.jobs else None
    kitchen = kitchen.afresh()
    rows = not_yet_printed(kitchen, waiting.codes if waiting else ())
    if not rows and waiting and waiting.waiting:
        one = waiting.waiting[-1]
        raise not_printed(one.owed, one.state)
    if not rows and not Rows(kitchen).all(State.FROZEN, State.SPARE):
        raise Refused("Nothing is packed yet, so there is nothing to label. At the table: freezerbox pack", code=None)
    if not rows:
        raise Refused(
            "Every package has its label already. To print one again: freezerbox label again K7P-3MT", code=None
        )
    return print_rows(kitchen, rows, how)


def begun_slot(kitchen: Kitchen, how: How) -> int:
    """Where the sheet that is begun goes on, when nobody said where to start; else 1."""
    return 1 if how.start_at else start_slot(kitchen, paper_of(kitchen, how.stock), "next")


def print_ahead(kitchen: Kitchen, number: str, words: Words, how: How) -> Printed:
    """Labels for bags not yet filled: records without a weight, in state ``spare``, and their labels.

    Raises: what ``understand`` and drawing raise, and OutOfLine when the printer lists no such paper, and then
    nothing is kept; PrinterTrouble when the labels did not come out, and then the records stay, to be printed by
    ``label``.
    """
    caution = make_ready(kitchen, how)
    files: list[Path] = []
    with noted(files):
        printed = replace(_ahead(kitchen, number, words, how, files), caution=caution)
    return printed if how.press is None else _at_the_printer(kitchen.afresh(), printed, how, how.press)


@one_writer
def _ahead(kitchen: Kitchen, number: str, words: Words, how: How, files: list[Path]) -> Printed:
    count = whole_number(number, "labels", MOST_AHEAD)
    paper_of(kitchen, how.stock)
    header = understand(kitchen, words)
    if not how.over:
        refuse_mixed(header, "printed")
    run = Run(header=header, weights=tuple(Weighed(typed="", net_mg=None) for _ in range(count)))
    with kitchen.book.act("label-ahead", kitchen.today, words=f"{run.words()}: labels printed ahead") as act:
        codes = put_in(kitchen, act, run, State.SPARE)
        # Drawn inside the act: labels that do not fit or cannot be written leave no spare records behind.
        printed = draw_rows(kitchen, Rows(kitchen).of_codes(codes), how, whole=True)
        files += printed.files
        if how.press is None:
            mark_in(kitchen, act, printed.marks, printed.stock, printed.next_start)
            printed = replace(printed, marked=True)
    return printed


def print_rows(kitchen: Kitchen, rows: Sequence[Row], how: How) -> Printed:
    """Draw, read back and write the labels of ``rows``; print them when there is a printer; note them as printed.

    A label that does not fit is left out, told in ``refused``, and stays to be printed.

    Raises: UnknownWord for the stock; InputError for the start position or the file's ending; LabelDoesNotFit when
    none fits; OutOfLine when the file is there already, or the printer lists other paper; LabelUnreadable when a
    symbol does not read back, and then nothing is written; PrinterTrouble when the printer did not print them, and
    then nothing counts as printed.
    """
    caution = make_ready(kitchen, how)
    printed = replace(draw_rows(kitchen, rows, how), caution=caution)
    if how.look:
        return printed
    if how.press:
        return _at_the_printer(kitchen, printed, how, how.press)
    with noted(printed.files):
        mark(kitchen, printed.marks, printed.stock, printed.next_start, kind_of(how.before, again=how.again))
    if how.jobs and not how.again:
        how.jobs.forget(*(owed.job for owed in how.jobs.of(book_uid(kitchen)) if owed.failed))
    return replace(printed, marked=True)


def make_ready(kitchen: Kitchen, how: How, *, quiet: bool = False) -> str:
    """Before anything is drawn or noted; returns, and but for ``quiet`` says, a caution about the printer's dots.

    Raises: InputError for a file that no printer is given; PrinterTrouble for no such printer; OutOfLine when it has
    other paper.
    """
    if how.press and how.to.suffix.lower() != ".pdf":
        raise InputError(f"{how.to.name!r} is not a .pdf; that is what a printer is given.", value=str(how.to))
    if not how.press or how.look:
        return ""
    paper, usual = paper_of(kitchen, how.stock), kitchen.settings.get("stock", DEFAULT_STOCK)
    caution = ready(how.press.queue, paper, own=own_templates(kitchen), usual=usual, over=how.over)
    if caution and not quiet:
        how.press.warn(caution)
    return caution


def usual_doubts(kitchen: Kitchen, queue: str) -> tuple[OutOfLine | None, str]:
    """What to say when a printer lists no paper of the house's, and a caution when it has other dots; None and "".

    Raises: PrinterTrouble for no such printer.
    """
    return doubts(queue, paper_of(kitchen, ""), own=own_templates(kitchen))


def _at_the_printer(kitchen: Kitchen, printed: Printed, how: How, press: Press) -> Printed:
    file, paper = printed.files[0], paper_of(kitchen, printed.stock)
    try:
        owed = hand_over(kitchen, press, file, printed.marks, paper, printed.next_start, how.before, again=how.again)
        see_through(kitchen, press, owed)
    except PrinterTrouble as trouble:
        facts = {key: value for key, value in trouble.facts.items() if key != "state"}
        message = f"{trouble.message}\nThe same labels are in {str(file)!r}."
        raise PrinterTrouble(message, state=trouble.state, **facts, files=[str(file)]) from trouble
    return replace(printed, marked=True, job=owed.job.name)


def own_templates(kitchen: Kitchen) -> Path:
    """Where the household keeps stocks and designs of its own: beside the book."""
    return kitchen.book.path.parent / OWN_TEMPLATES


def paper_of(kitchen: Kitchen, stock: str) -> Stock:
    """The stock of that name, or the house's, with the shift measured here.  Raises: UnknownWord; InvalidTemplate."""
    name = stock or kitchen.settings.get("stock", DEFAULT_STOCK)
    paper = stock_named(name, own_templates(kitchen))
    across, _, down = kitchen.settings.get(SHIFT_PREFIX + paper.name, "0,0").partition(",")
    return replace(paper, shift_x_mm=float(across), shift_y_mm=float(down))


def start_slot(kitchen: Kitchen, paper: Stock, text: str) -> int:
    """The first slot to print on: a number, or ``next`` for the one after the last printed on this stock."""
    if not text:
        return 1
    if text.strip().lower() == "next":
        return min(int(kitchen.settings.get(START_PREFIX + paper.name, "1")), paper.slots)
    if paper.kind == "roll" and text.strip() != "1":
        raise InputError(
            f"Start at {text!r}: {paper.name} is a roll, and has one label after another. Leave --start-at out.",
            value=text,
        )
    return whole_number(text, "the label to start at", paper.slots)


def draw_rows(kitchen: Kitchen, rows: Sequence[Row], how: How, *, whole: bool = False) -> Printed:
    """Draw the labels of ``rows``, read each back and write them; nothing counts as printed by that.

    whole: all or none; else what does not fit is left out and told.

    Raises: as ``print_rows``, but for the printer.
    """
    paper = paper_of(kitchen, how.stock)
    own = own_templates(kitchen)
    design = design_named(how.design, paper, own) if how.design else None
    start = start_slot(kitchen, paper, how.start_at)
    design = design or design_for(paper, own)
    contents = keep_apart(kitchen, [content_of(kitchen, row) for row in rows])
    layouts, misfits = fitting(contents, paper, design, own)
    refused = tuple((rows[number].code, unprinted(rows[number], why)) for number, why in misfits.items())
    if refused and (whole or not layouts):
        raise none_fits(refused)
    rows = [row for number, row in enumerate(rows) if number not in misfits]
    contents = [content for number, content in enumerate(contents) if number not in misfits]
    drawn = drawn_of(contents, layouts, paper, start)
    if not how.over:
        refuse_to_write_over(how.to, len(drawn.pages) + (how.ruler and paper.kind == "roll"))

    def watch(number: int, picture: Picture) -> None:
        read_back(contents[number], drawn.layouts[number].symbols, picture)
        if how.progress:
            how.progress(number + 1, len(contents))

    pages = with_ruler(drawn.pages.watched(watch), paper) if how.ruler else drawn.pages.watched(watch)
    files = write(pages, how.to, drawn.stock)
    last = (start - 1 + len(rows)) % paper.slots if paper.slots > 1 else 0
    return Printed(
        stock=paper.name,
        files=tuple(files),
        rows=tuple(rows),
        positions=drawn.positions,
        page_files=tuple(files[position.page - 1] if len(files) > 1 else files[0] for position in drawn.positions),
        dropped=_left_off(rows, drawn.dropped, bars=has_bars(paper, design)),
        unknown={row.code: letters for row, letters in zip(rows, drawn.unknown, strict=True) if letters},
        refused=refused,
        next_start=last + 1,
        start=start,
        sheets=len(drawn.pages) if paper.kind == "sheet" else 0,
        shift=far_words(paper),
        begun=begun_slot(kitchen, how),
        marked=False,
        before=len(how.before),
        again=how.again,
        marks=tuple(
            Mark(code=content.code, text=content.symbol_text, mask=mask, banner=content.hold)
            for content, mask in zip(contents, drawn.masks, strict=True)
        ),
    )


def _left_off(rows: Sequence[Row], dropped: Sequence[tuple[str, ...]], *, bars: bool) -> dict[str, tuple[str, ...]]:
    """By code, what found no room; ``bars``: whether ordinary labels have them, else none is told to miss them."""
    left = {
        row.code: tuple(field for field in fields if bars or field != "code_128")
        for row, fields in zip(rows, dropped, strict=True)
    }
    return {code: fields for code, fields in left.items() if fields}


def read_back(content: LabelContent, wanted: Sequence[tuple[str, str]], picture: Picture) -> None:
    """Decode a drawn label in memory.  Raises: LabelUnreadable when a symbol is missing or says something else."""
    found = sorted((symbol.symbology, symbol.text) for symbol in read_picture(picture))
    if found != sorted(wanted):
        said = ", ".join(f"{symbology} {text!r}" for symbology, text in found) or "nothing"
        raise LabelUnreadable(
            f"The label of {show_code(content.code)} does not read back as it should; it reads {said}. "
            "Nothing was printed.",
            code=content.code,
        )
