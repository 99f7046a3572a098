"""Labels at a printer: a label counts as printed only when the printer says that the job is done."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

from freezerbox.book import printouts, queries
from freezerbox.book.writer import Writer
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.wording import count
from freezerbox.core.code import show_code
from freezerbox.core.dates import short_date
from freezerbox.errors import BookTrouble, PrinterTrouble, Refused
from freezerbox.labels import printer
from freezerbox.labels.jobs import JobList, Mark, Owed
from freezerbox.labels.printer import Job, JobState
from freezerbox.labels.stock import Stock

START_PREFIX = "start:"
EXAMPLE, _NINTH = 9, "ninth"
"""The label that messages go on from after a jam, in a run that has so many."""
Wish = Literal["wait", "cancel", "leave"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """A printer and the person beside it.

    queue: the printer's name.  jobs: where this machine remembers what it handed over.
    warn: hears what may be wrong, before anything is sent.
    pause: waits for so many seconds.  tell: hears how the job goes.
    wish: asked when the printer is in trouble: wait on, cancel, or leave the job waiting.
    """

    queue: str
    jobs: JobList
    warn: Callable[[str], None]
    pause: Callable[[float], None]
    tell: Callable[[Job, JobState], None]
    wish: Callable[[Job, JobState], Wish]


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """Labels that wait at a printer, and how their job stands."""

    owed: Owed
    state: JobState


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What became of labels handed over earlier: printed and noted now, not printed, still waiting."""

    printed: tuple[Owed, ...]
    failed: tuple[Waiting, ...]
    waiting: tuple[Waiting, ...]

    @property
    def codes(self) -> frozenset[str]:
        """Codes that are printed or still wait at a printer: drawing them again would make doubles."""
        owed = (*self.printed, *(one.owed for one in self.waiting))
        return frozenset(mark.code for one in owed for mark in one.marks)


def kind_of(before: Sequence[str], again: bool) -> str:
    """The kind of act that prints labels: of a run, the rest of one behind those ``before``, or some again."""
    return printouts.AGAIN if again else printouts.GOES_ON if before else printouts.RUN


def mark(kitchen: Kitchen, marks: Sequence[Mark], stock: str, next_start: int | None, kind: str) -> None:
    """Note labels as printed, as an act of its own; ``next_start`` None leaves where the sheet goes on."""
    words = f"printed {count(len(marks), 'label')} on {stock}"
    with kitchen.book.act(kind, kitchen.today, words=words) as act:
        mark_in(kitchen, act, marks, stock, next_start)


def _mark_owed(kitchen: Kitchen, owed: Owed) -> None:
    mark(kitchen.afresh(), owed.marks, owed.stock, owed.next_start, kind_of(owed.before, owed.again))


def mark_in(kitchen: Kitchen, act: Writer, marks: Sequence[Mark], stock: str, next_start: int | None) -> None:
    """Note labels as printed, within an act, and where the sheet goes on; None leaves that as it is."""
    today = kitchen.today.isoformat()
    for one in marks:
        act.add(
            "label",
            code=one.code,
            stock=stock,
            text=one.text,
            mask=one.mask,
            banner=one.banner,
            printed_on=today,
        )
    if next_start is None:
        return
    key = START_PREFIX + stock
    old = kitchen.settings.get(key)
    if old != str(next_start) and (next_start > 1 or old is not None):
        act.change("setting", key, "value", old, str(next_start))


def book_uid(kitchen: Kitchen) -> str:
    """What tells this book's jobs from another's."""
    return queries.meta(kitchen.book, "uid")


@one_writer
def settle(kitchen: Kitchen, jobs: JobList) -> Settled:
    """Ask after every job handed over earlier, and note what has come out since.

    A print service that does not answer leaves everything waiting.
    """
    found = ask_after(kitchen, jobs)
    for owed in found.printed:
        _mark_owed(kitchen, owed)
        jobs.forget(owed.job)
    for one in found.failed:
        jobs.fail(one.owed.job)
    return found


def ask_after(kitchen: Kitchen, jobs: JobList) -> Settled:
    """The same, only looking: nothing is noted."""
    printed: list[Owed] = []
    failed: list[Waiting] = []
    waiting: list[Waiting] = []
    for owed in jobs.of(book_uid(kitchen)):
        if owed.failed:
            continue
        try:
            state = printer.job_state(owed.job)
        except PrinterTrouble as trouble:
            state = JobState(state="waiting", why=trouble.message)
        if state.state == "completed":
            printed.append(owed)
        else:
            (failed if state.final else waiting).append(Waiting(owed=owed, state=state))
    return Settled(printed=tuple(printed), failed=tuple(failed), waiting=tuple(waiting))


def hand_over(
    kitchen: Kitchen,
    press: Press,
    file: Path,
    marks: Sequence[Mark],
    paper: Stock,
    next_start: int,
    before: Sequence[str] = (),
    *,
    again: bool = False,
) -> Owed:
    """Give a file to the printer and remember it, before anything can go wrong with it.

    before: codes of the run that the labels go on with.  again: they are printed by their codes.

    Raises: PrinterTrouble when the printer does not take it; BookTrouble when it cannot be remembered.
    """
    job = printer.send(file, press.queue, paper)
    owed = Owed(
        book=book_uid(kitchen), job=job, stock=paper.name, next_start=next_start, marks=tuple(marks),
        before=tuple(before), again=again,
    )  # fmt: skip
    press.jobs.add(owed)
    return owed


def see_through(kitchen: Kitchen, press: Press, owed: Owed) -> None:
    """Follow a job to its end, and note its labels as printed when that is what it comes to.

    Raises: PrinterTrouble when it was cancelled or given up, or is left waiting; then nothing counts as printed;
    BookTrouble when they came out and cannot be noted yet.
    """
    job = owed.job
    while True:
        state = printer.follow(job, press.pause, tell=lambda now: press.tell(job, now))
        if state.state == "completed":
            try:
                _mark_owed(kitchen, owed)
            except BookTrouble as error:
                trouble, _, _ = error.message.partition(" Nothing was changed")
                error.message = (
                    f"{trouble} The labels are printed all the same; they count by themselves once the book can be "
                    "written, at the next freezerbox label"
                )
                raise
            press.jobs.forget(job)
            return
        if state.final:
            press.jobs.fail(job)
            raise not_printed(owed, state)
        wish = press.wish(job, state)
        if wish == "leave":
            raise not_printed(owed, state)
        if wish == "cancel":
            printer.cancel(job)  # one that ends just now is found completed at the next look


def not_printed(owed: Owed, state: JobState) -> PrinterTrouble:
    """What to say of labels that did not come out."""
    labels, job = count(len(owed.marks), "label"), owed.job
    why = f": {state.why}" if state.why else ""
    if state.state == "cancelled":
        message = (
            f"Cancelled{why}. Of {labels} none counts as printed. All anew: {_command(owed)} --from "
            f"{len(owed.before) + 1}{_from(owed)}"
        )
    elif state.state == "given-up":
        message = f"Printer {job.queue!r} gave up{why}. Of {labels} none counts as printed."
    else:
        message = (
            f"Waiting{why}. {labels} at printer {job.queue!r}, not printed yet; once out, they count by themselves. "
            "To take them back: freezerbox label cancel"
        )
    return PrinterTrouble(
        message, state=state.state, printer=job.queue, job=job.name, why=state.why or None, labels=len(owed.marks)
    )


def _command(owed: Owed) -> str:
    if not owed.again:
        return "freezerbox label"
    return f"freezerbox label again {show_code(owed.marks[0].code) if len(owed.marks) == 1 else 'CODES'}"


def _from(owed: Owed) -> str:
    """How to go on behind those that came out: a number that the run has; "" for a run of one."""
    run = len(owed.before) + len(owed.marks)
    return (
        f". From the {_NINTH} on: {_command(owed)} --from {EXAMPLE}"
        if run >= EXAMPLE > len(owed.before) + 1
        else (f". Only the last: {_command(owed)} --from {run}" if len(owed.marks) > 1 else "")
    )


def cancel_waiting(kitchen: Kitchen, jobs: JobList) -> tuple[Settled, tuple[Owed, ...]]:
    """Take back every job that waits; what had come out by then is noted as printed.

    Raises: Refused when nothing waits; PrinterTrouble when the print service does not answer.
    """
    before = settle(kitchen, jobs)
    if not before.waiting:
        raise Refused("No labels wait at a printer.")
    for one in before.waiting:
        printer.cancel(one.owed.job)
    after = settle(kitchen.afresh(), jobs)
    return after, tuple(one.owed for one in after.failed)


@dataclass(frozen=True, slots=True, kw_only=True)
class LastRun:
    """The last run of printing.

    labels: in order; marks when they were handed to a printer and did not come out whole, codes when they count as
    printed.  stock: theirs.  counted: whether they count.  when: the day and hour, or the job, in words.
    """

    labels: tuple[Mark | str, ...]
    stock: str
    counted: bool
    when: str

    @property
    def codes(self) -> tuple[str, ...]:
        """The six characters of each label."""
        return tuple(one if isinstance(one, str) else one.code for one in self.labels)

    @property
    def words(self) -> str:
        """Which run it is: ``the run of 20 labels of 21 Nov, 21:00, K7P-3MT to QFW-DC3``."""
        ends = " to ".join(show_code(code) for code in dict.fromkeys((self.codes[0], self.codes[-1])))
        return f"the run of {count(len(self.labels), 'label')} {self.when}, {ends}"


def last_run(kitchen: Kitchen, jobs: JobList | None, least: int) -> LastRun:
    """The last run of ``label`` or ``label ahead``; one of fewer labels than ``least`` only when there is no other.

    What was printed to go on after a jam belongs to the run that it goes on with.

    Raises: Refused when nothing was printed yet.
    """
    mine = jobs.of(book_uid(kitchen)) if jobs else ()
    failed = [
        LastRun(labels=(*owed.before, *owed.marks), stock=owed.stock, counted=False, when=f"of {owed.job.name}")
        for owed in mine
        if owed.failed and not owed.again
    ]
    codes, stock, at = printouts.last_prints(kitchen.book, least)
    if failed and (len(failed[-1].labels) >= least or len(codes) < least):
        return failed[-1]
    if not codes:
        raise Refused(
            "No run of labels was printed yet, so there is none to go on from. Print them: freezerbox label. Those "
            "of some codes, from the second on: freezerbox label again CODES --from 2"
        )
    try:
        moment = datetime.fromisoformat(at)
        when = f"of {short_date(moment.date(), today=kitchen.today)}, {moment:%H:%M}"
    except ValueError:
        when = f"of {at!r}"
    return LastRun(labels=codes, stock=stock, counted=True, when=when)
