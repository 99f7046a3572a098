"""Printing through the system's own print queues (CUPS): handing over, and following a job to its end."""

from __future__ import annotations

import getpass
import os
import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from freezerbox.errors import PrinterTrouble
from freezerbox.labels import ipp
from freezerbox.labels.media import Sizes, is_range, sizes_of
from freezerbox.labels.stock import Stock

State = Literal["waiting", "printing", "completed", "cancelled", "given-up"]
_FINAL = ("completed", "cancelled", "given-up")
# RFC 8011, 5.3.7: pending, held, processing, stopped, cancelled, aborted, completed.
_STATES: dict[int, State] = {
    3: "waiting", 4: "waiting", 5: "printing", 6: "waiting", 7: "cancelled", 8: "given-up", 9: "completed",
}  # fmt: skip
_STOPPED = 5  # of a printer: RFC 8011, 5.4.11
# Printer state reasons (RFC 8011, 5.4.12, and the two that CUPS adds) in the words of somebody who stands before it.
REASONS = {
    "media-empty": "no labels or paper in it",
    "media-needed": "no labels or paper in it",
    "media-jam": "labels or paper jammed",
    "input-tray-missing": "its tray is out",
    "door-open": "its door is open",
    "cover-open": "its cover is open",
    "interlock-open": "its cover is open",
    "connecting-to-device": "printer off, or not connected",
    "offline": "printer off, or not connected",
    "timed-out": "printer off, or not connected",
    "shutdown": "printer off, or not connected",
    "stopping": "it is stopping",
    "stopped-partly": "stopped",
    "marker-supply-empty": "no ink or ribbon left",
    "toner-empty": "no toner left",
    "output-area-full": "its output is full",
    "spool-area-full": "it has no room for the job",
    "paused": "the queue is paused",
    "moving-to-paused": "the queue is paused",
}
_OFF = re.compile(r"may not exist or is unavailable|not responding|unable to (connect|locate)|is offline", re.I)
_JOB = re.compile(r"request id is (\S+)-(\d+)")
PAUSE_SECONDS = 0.5
PATIENCE = 20
"""So many looks in a row at a printer in trouble, and a job counts as waiting: ten seconds."""
IDLE_PATIENCE = 240
"""So many looks without any end or trouble in sight: two minutes a page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """A queue of this machine.

    name: what ``--printer`` takes.  about: make and model, or what its owner wrote.
    ready: takes jobs and nothing is wrong.  trouble: what is wrong, in words; "" when nothing is.
    default: jobs go to it when nobody names one.
    media: paper sizes it names itself.  resolutions: dots per inch; empty when it does not say.
    media_ranges: the halves of its ranges of sizes by the same kind of name, ``custom_min_25.4x12.7mm``.
    """

    name: str
    about: str
    ready: bool
    trouble: str
    default: bool
    media: tuple[str, ...]
    resolutions: tuple[int, ...]
    media_ranges: tuple[str, ...] = ()

    @property
    def sizes(self) -> Sizes:
        """The paper it takes, as far as it says; nothing known for a raw queue."""
        return sizes_of((*self.media, *self.media_ranges))


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A job handed over.  queue and number: together its name, ``labels-12``."""

    queue: str
    number: int

    @property
    def name(self) -> str:
        """As the print system calls it."""
        return f"{self.queue}-{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobState:
    """How a job stands.  why: what it waits for or why it was given up, in words; "" when there is nothing to say."""

    state: State
    why: str

    @property
    def final(self) -> bool:
        """Whether nothing more will happen to it."""
        return self.state in _FINAL


def available() -> bool:
    """Whether this machine has a print system that ``lp`` can hand jobs to."""
    return shutil.which("lp") is not None


def printers() -> tuple[Printer, ...]:
    """Every queue of this machine, by name; none when there are none.

    Raises: PrinterTrouble when the print service does not answer.
    """
    wanted = (
        "printer-name", "printer-info", "printer-make-and-model", "printer-state", "printer-state-reasons",
        "printer-state-message", "printer-is-accepting-jobs", "printer-type", "media-supported",
        "printer-resolution-supported", "media-ready",
    )  # fmt: skip
    answer = ipp.ask(ipp.CUPS_GET_PRINTERS, "", wanted)
    default = os.environ.get("PRINTER", "")
    found = []
    for group in answer.groups:
        name = "".join(ipp.texts(group, "printer-name"))
        if not name:
            continue
        trouble = _trouble(group)
        accepts = group.get("printer-is-accepting-jobs") != [False]
        about = next(
            (text for key in ("printer-make-and-model", "printer-info") for text in ipp.texts(group, key)), ""
        )
        resolutions = {
            value[0] for value in group.get("printer-resolution-supported", ()) if isinstance(value, tuple)
        }
        found.append(
            Printer(
                name=name,
                about=about,
                ready=accepts and not trouble,
                trouble=trouble or ("" if accepts else "takes no jobs"),
                # CUPS_PRINTER_DEFAULT, bit 17 of printer-type.
                default=name == default if default else bool(ipp.number(group, "printer-type") & 0x20000),
                media=tuple(size for size in ipp.texts(group, "media-supported") if not is_range(size)),
                resolutions=tuple(sorted(resolutions)),
                media_ranges=tuple(size for size in ipp.texts(group, "media-supported") if is_range(size)),
            )
        )
    return tuple(sorted(found, key=lambda printer: printer.name))


def printer(name: str) -> Printer:
    """The queue of that name.  Raises: PrinterTrouble naming those there are; or when there is no print system."""
    if not available():
        raise PrinterTrouble("There is no print system on this machine.", state="no-service", printer=name)
    found = printers()
    one = next((each for each in found if each.name == name), None)
    if one is None:
        names = [each.name for each in found]
        there = f"There are: {', '.join(names)}." if names else "There is none on this machine."
        raise PrinterTrouble(
            f"There is no printer {name!r}. {there}", state="unknown-printer", printer=name, known=names
        )
    return one


def media_of(stock: Stock) -> str:
    """The paper size to ask for: without one, a roll printer may take a label for a whole page of paper."""
    size = (round(stock.page_width_mm, 1), round(stock.page_height_mm, 1))
    named = {(215.9, 279.4): "Letter", (210.0, 297.0): "A4"}
    return named.get(size) or f"Custom.{stock.page_width_mm:g}x{stock.page_height_mm:g}mm"


def send(path: Path, queue: str, stock: Stock) -> Job:
    """Hand a file to a queue, at its own size.

    Raises: PrinterTrouble when the queue does not take it.
    """
    command = ["lp", "-d", queue, "-o", f"media={media_of(stock)}", "-o", "print-scaling=none", "-t", "labels"]
    done = subprocess.run(
        [*command, "--", str(path)],
        env={**os.environ, "LC_ALL": "C"},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        errors="replace",
        check=False,
    )
    found = _JOB.search(done.stdout)
    if done.returncode or found is None:
        why = (done.stderr or done.stdout).strip().removeprefix("lp: ").removeprefix("Error - ") or "no reason given"
        raise PrinterTrouble(f"Printer {queue!r} did not take the labels: {why}", state="refused", printer=queue)
    return Job(queue=found[1], number=int(found[2]))


def job_state(job: Job) -> JobState:
    """How a job stands now; a job that the print system has forgotten counts as given up.

    Raises: PrinterTrouble when the print service does not answer.
    """
    wanted = ("job-state", "job-state-reasons", "job-printer-state-message", "job-printer-state-reasons")
    answer = ipp.ask(ipp.GET_JOB, f"ipp://localhost/jobs/{job.number}", wanted)
    if answer.status == ipp.NOT_FOUND or not answer.groups:
        return JobState(state="given-up", why="the print system no longer knows it")
    group = answer.groups[0]
    state = _STATES.get(ipp.number(group, "job-state"), "waiting")
    message = "".join(ipp.texts(group, "job-printer-state-message")).strip()
    if state == "completed":
        return JobState(state=state, why="")
    if state in _FINAL:
        # The print service calls a job cancelled that the printer refused, too; then it has the printer's words.
        return JobState(state=state, why=message.rstrip("."))
    why = _why(ipp.texts(group, "job-printer-state-reasons"), message) or _queue_trouble(job.queue)
    return JobState(state="waiting" if why else state, why=why)


def _queue_trouble(queue: str) -> str:
    wanted = ("printer-state", "printer-state-reasons", "printer-state-message")
    answer = ipp.ask(ipp.GET_PRINTER, f"ipp://localhost/printers/{queue}", wanted)
    return _trouble(answer.groups[0]) if answer.done and answer.groups else ""


def _trouble(group: ipp.Values) -> str:
    message = " ".join(ipp.texts(group, "printer-state-message"))
    stopped = ipp.number(group, "printer-state") == _STOPPED
    return _why(ipp.texts(group, "printer-state-reasons"), message) or (
        f"stopped{': ' + message if message else ''}" if stopped else ""
    )


def _why(reasons: tuple[str, ...], message: str) -> str:
    """The reasons in words, each once."""
    bare = (re.sub(r"-(report|warning|error)$", "", reason) for reason in reasons)
    words = dict.fromkeys(REASONS[reason] for reason in bare if reason in REASONS)
    if not words and _OFF.search(message):
        return REASONS["offline"]
    return ", ".join(words)


def follow(
    job: Job, pause: Callable[[float], None], patience: int = PATIENCE, tell: Callable[[JobState], None] | None = None
) -> JobState:
    """Look at a job until it ends or its printer has been in trouble for ``patience`` looks in a row.

    ``pause`` waits for so many seconds; ``tell`` hears of every change.

    Raises: PrinterTrouble when the print service does not answer.
    """
    troubled, looks, last = 0, 0, None
    while True:
        state = job_state(job)
        if tell and state != last:
            tell(state)
        if state.final:
            return state
        troubled = troubled + 1 if state.why else 0
        looks = looks + 1 if state == last else 0
        last = state
        if troubled >= patience:
            return state
        if looks >= IDLE_PATIENCE:
            return JobState(state="waiting", why=state.why or "it does not say for what")
        pause(PAUSE_SECONDS)


def cancel(job: Job) -> bool:
    """Take a job back; returns whether the print system did, which it does not once all is printed."""
    user = getpass.getuser()
    return ipp.ask(ipp.CANCEL_JOB, f"ipp://localhost/jobs/{job.number}", user=user).done
