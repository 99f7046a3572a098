"""What this machine's printers still owe: labels handed over and not yet known to be printed.

Job numbers belong to the machine and mean nothing in another kitchen, so they are no part of the book: they lie in a
small file beside the program's other files, and losing it loses only what the person can see at the printer.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from freezerbox.errors import BookTrouble
from freezerbox.labels.printer import Job

MOST_KEPT = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One label as drawn, which is what the book notes once it is printed.

    code: the six characters.  text, mask: of its QR.  banner: its hold banner; "" for none.
    """

    code: str
    text: str
    mask: int
    banner: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Owed:
    """Labels handed to a printer.

    book: uid of the book they belong to.  job: at the print system.
    stock: what they are drawn for.  next_start: the slot after the last label.
    marks: the labels, in printing order.
    before: codes of the labels of the same run that are none of this job's, since it goes on after a jam.
    failed: known not to have come out whole (cancelled, given up); kept for ``label --from``.
    again: printed by their codes, and no run of their own.
    """

    book: str
    job: Job
    stock: str
    next_start: int
    marks: tuple[Mark, ...]
    failed: bool = False
    before: tuple[str, ...] = ()
    again: bool = False


@dataclass(frozen=True, slots=True)
class JobList:
    """The file; path: where it lies, its folder is made when needed."""

    path: Path

    def of(self, book: str) -> tuple[Owed, ...]:
        """What is owed to a book, oldest first; nothing when the file is missing or spoilt."""
        return tuple(owed for owed in self._read() if owed.book == book)

    def add(self, owed: Owed) -> None:
        """Remember one more; what failed before is forgotten, since it was printed anew or given up.

        Labels printed again are no reason to forget a run that failed.
        """
        kept = [
            each
            for each in self._read()
            if not (each.book == owed.book and each.failed and (each.again or not owed.again))
        ]
        self._write([*kept, owed])

    def fail(self, job: Job) -> None:
        """The job did not come out whole."""
        self._write([replace(each, failed=True) if each.job == job else each for each in self._read()])

    def forget(self, *jobs: Job) -> None:
        """Those jobs are settled."""
        found = self._read()
        kept = [each for each in found if each.job not in jobs]
        if len(kept) != len(found):
            self._write(kept)

    def _read(self) -> list[Owed]:
        try:
            rows = json.loads(self.path.read_text(encoding="utf-8"))
            return [
                Owed(
                    book=str(row["book"]),
                    job=Job(queue=str(row["job"]["queue"]), number=int(row["job"]["number"])),
                    stock=str(row["stock"]),
                    next_start=int(row["next_start"]),
                    marks=tuple(Mark(**mark) for mark in row["marks"]),
                    failed=bool(row["failed"]),
                    before=tuple(map(str, row.get("before", ()))),
                    again=bool(row.get("again", False)),
                )
                for row in rows
            ]
        except (OSError, ValueError, TypeError, KeyError):
            return []

    def _write(self, rows: Sequence[Owed]) -> None:
        part = self.path.with_name(f".{self.path.name}.part")
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            part.write_text(json.dumps([asdict(row) for row in rows[-MOST_KEPT:]]), encoding="utf-8")
            part.replace(self.path)
        except OSError as error:
            why = error.strerror or str(error)
            raise BookTrouble(f"{str(self.path)!r} cannot be written: {why}.") from error
