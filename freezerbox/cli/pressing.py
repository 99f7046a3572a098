"""Between the labels and the printer: which one, what it says on the way, and the person beside it."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import typer

from freezerbox.book.parts import free_name
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label import How
from freezerbox.chores.printing import Press, Settled, Wish
from freezerbox.chores.wording import count
from freezerbox.cli.output import note
from freezerbox.cli.wiring import application_folder, at_terminal
from freezerbox.labels.jobs import JobList
from freezerbox.labels.printer import Job, JobState, available

DEFAULT_FILE, LOOK_FILE = Path("labels.pdf"), Path("look.pdf")
NO_PRINTER = "none"
SETTING = "printer"
_LONG = 40
"""So many labels take longer than a person likes to look at a still screen."""


def job_list() -> JobList:
    """Where this machine remembers what it handed to printers."""
    return JobList(application_folder() / "print-jobs.json")


def queue_of(kitchen: Kitchen, named: str, to: Path | None) -> str:
    """The printer to use: the one named, else the house's, unless a file was asked for; "" for a file alone."""
    if named:
        return "" if named.strip().lower() == NO_PRINTER else named.strip()
    usual = kitchen.settings.get(SETTING) or NO_PRINTER
    return "" if to is not None or usual == NO_PRINTER else usual


def press_of(queue: str, *, as_json: bool = False, patient: bool = False) -> Press:
    """That printer; in JSON, or where nobody can be asked, a job in trouble is left waiting."""
    quiet = as_json or not at_terminal()
    return Press(
        queue=queue,
        jobs=job_list(),
        warn=_silence if as_json else note,
        pause=time.sleep,
        tell=_silence if as_json else _tell,
        wish=_leave if quiet or not patient else _wish,
    )


@contextmanager
def how_to_print(
    kitchen: Kitchen,
    *,
    to: Path | None,
    printer: str,
    stock: str,
    start_at: str,
    look: bool = False,
    over: bool = False,
    ruler: bool = False,
    design: str = "",
    as_json: bool = False,
) -> Iterator[How]:
    """How the command line wants its labels; a bar on stderr while many are drawn."""
    queue = "" if look else queue_of(kitchen, printer, to)
    if queue and not available():
        note("There is no print system on this machine, so the labels go into a file.")
        queue = ""
    with _bar() as progress:
        yield How(
            to=to or free_name(LOOK_FILE if look else DEFAULT_FILE),
            stock=stock,
            start_at=start_at,
            look=look,
            over=over,
            ruler=ruler,
            design=design,
            press=press_of(queue, as_json=as_json, patient=True) if queue else None,
            jobs=job_list(),
            progress=progress,
        )


@contextmanager
def _bar() -> Iterator[Callable[[int, int], None] | None]:
    """A bar that appears only at a terminal and only when there is much to draw."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress, TaskID

    bar = Progress(console=Console(stderr=True), transient=True)
    task: list[TaskID] = []

    def progress(done: int, total: int) -> None:
        if total < _LONG:
            return
        if not task:
            bar.start()
            task.append(bar.add_task("Drawing labels", total=total))
        bar.update(task[0], completed=done)
        if done == total:
            bar.stop()

    try:
        yield progress
    finally:
        bar.stop()


def say_settled(settled: Settled) -> None:
    """What became of labels handed over earlier, on stderr."""
    for owed in settled.printed:
        note(f"Out of printer {owed.job.queue} since: {count(len(owed.marks), 'label')}, printed.")
    for one in settled.failed:
        why = f": {one.state.why}" if one.state.why else ""
        note(f"Not printed: {count(len(one.owed.marks), 'label')} at {one.owed.job.queue}, {one.state.state}{why}.")


def _tell(job: Job, state: JobState) -> None:
    why = f": {state.why}" if state.why else ""
    note(f"{job.name}: {state.state}{why}")


def _silence(*said: object) -> None:
    pass


def _leave(job: Job, state: JobState) -> Wish:
    return "leave"


def _wish(job: Job, state: JobState) -> Wish:
    question = f"{job.queue}: {state.why or 'waiting'}. w waits on, c cancels, Enter leaves the labels waiting there"
    answer = typer.prompt(question, default="", show_default=False).strip().lower()
    return "wait" if answer.startswith("w") else "cancel" if answer.startswith("c") else "leave"
