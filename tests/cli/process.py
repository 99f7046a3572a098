"""Drives freezerbox as a person or a program would: as a process, inside this process, or at a pseudo-terminal."""

from __future__ import annotations

import io
import json
import os
import pty
import re
import select
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import chdir, contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, BinaryIO, cast

from freezerbox.cli.main import run as run_inside

EVENING = "2026-12-02T21:00"
PATIENCE_SECONDS = 60
"""A terminal that has said nothing new for so long is stuck; no test measures time."""

# What the program says of trouble is words; a traceback anywhere is a defect.
TRACEBACK = "Traceback"


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What a run came to."""

    status: int
    out: str
    err: str

    @property
    def said(self) -> str:
        """What stderr says as one line: a message is folded to the page, wherever its words happen to end."""
        return " ".join(self.err.split())

    @property
    def told(self) -> str:
        """What stdout says, as one line in the same way."""
        return " ".join(self.out.split())

    @property
    def json(self) -> dict[str, Any]:
        """The one object on stdout."""
        value = json.loads(self.out)
        assert isinstance(value, dict)
        return value

    @property
    def error(self) -> dict[str, Any]:
        """The error object on stderr; stdout must be empty beside it."""
        assert self.out == ""
        value = json.loads(self.err)
        assert list(value) == ["error"]
        return cast("dict[str, Any]", value["error"])

    @property
    def json_lines(self) -> list[dict[str, Any]]:
        """One object a line."""
        return [json.loads(line) for line in self.out.splitlines()]


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """A folder with a book in it, and a stopped clock.  seed: chance, fixed so that a failure comes again."""

    folder: Path
    now: str = EVENING
    seed: str = "1"
    more: Mapping[str, str] = field(default_factory=dict)

    @property
    def book(self) -> Path:
        """The book's file."""
        return self.folder / "house.book"

    def at(self, now: str) -> House:
        """The same house at another time."""
        return replace(self, now=now)

    def environment(self) -> dict[str, str]:
        """The variables the program sees; nothing of the developer's own settings."""
        keep = {k: v for k, v in os.environ.items() if not k.startswith(("FREEZERBOX_", "XDG_", "LC_", "PYTHON"))}
        return keep | {
            "HOME": str(self.folder),
            "LC_ALL": "C.UTF-8",
            "TERM": "dumb",
            "COLUMNS": "80",
            "FREEZERBOX_BOOK": str(self.book),
            "FREEZERBOX_NOW": self.now,
            "FREEZERBOX_SEED": self.seed,
            **self.more,
        }

    def run(self, *arguments: str, stdin: str | bytes = "") -> Result:
        """The installed program as a process."""
        done = subprocess.run(
            [str(program()), *arguments],
            cwd=self.folder,
            env=self.environment(),
            input=stdin.encode() if isinstance(stdin, str) else stdin,
            capture_output=True,
            check=False,
        )
        return _checked(Result(status=done.returncode, out=done.stdout.decode(), err=done.stderr.decode()))

    def call(self, *arguments: str, stdin: str | bytes | Iterable[str] = "") -> Result:
        """The same program inside this process, for the many runs that need no start-up.

        stdin: lines may come one by one, each when the one before is done with.
        """
        out, err = io.StringIO(), io.StringIO()
        raw: io.RawIOBase | io.BytesIO
        if isinstance(stdin, str | bytes):
            raw = io.BytesIO(stdin.encode() if isinstance(stdin, str) else stdin)
        else:
            raw = _Typed(iter(stdin))
        with (
            _environment(self.environment()),
            chdir(self.folder),
            _stdin(io.TextIOWrapper(cast("BinaryIO", raw), encoding="utf-8", errors="replace")),
            redirect_stdout(out),
            redirect_stderr(err),
        ):
            status = run_inside(arguments)
        return _checked(Result(status=status, out=out.getvalue(), err=err.getvalue()))

    def ok(self, *arguments: str, stdin: str | bytes = "") -> Result:
        """``call`` that must end with 0."""
        result = self.call(*arguments, stdin=stdin)
        assert result.status == 0, (arguments, result)
        return result

    def dump(self) -> str:
        """Every table of the book as text."""
        return dump(self.book)

    def refused(self, *arguments: str, stdin: str | bytes = "") -> Result:
        """``call`` that must change nothing in the book and say why on stderr alone, first in words, then in JSON."""
        before = self.dump()
        plain = self.call(*arguments, stdin=stdin)
        assert plain.status in (1, 2, 3), (arguments, plain)
        assert self.dump() == before, f"{arguments} changed the book"
        assert plain.out == "", (arguments, plain)
        assert plain.err.strip()
        return plain

    def refused_json(self, *arguments: str, status: int, kind: str) -> dict[str, Any]:
        """The error object of a refusal, of that status and kind; the book stays as it was."""
        result = self.refused(*arguments, "--json")
        assert result.status == status, result
        error = result.error
        assert error["kind"] == kind, error
        assert isinstance(error["message"], str)
        return error


class _Typed(io.RawIOBase):
    """Lines typed one by one."""

    def __init__(self, lines: Iterator[str]) -> None:
        self._lines = lines

    def readable(self) -> bool:
        return True

    def read1(self, size: int = -1) -> bytes:
        return next(self._lines, "").encode()


def _checked(result: Result) -> Result:
    assert TRACEBACK not in result.err + result.out, result.err
    return result


def program() -> Path:
    """The installed program beside the interpreter that runs the tests."""
    return Path(sys.executable).parent / "freezerbox"


def dump(book: Path) -> str:
    """Every table of a book as text, and the schema, read without the program; "" when there is no file."""
    if not book.exists():
        return ""
    with sqlite3.connect(f"file:{book}?mode=ro", uri=True) as connection:
        lines = list(connection.iterdump())
    connection.close()
    return "\n".join(lines)


def copy_of(house: House, folder: Path) -> House:
    """The house as it is now, in another folder."""
    moved = replace(house, folder=folder)
    shutil.copy(house.book, moved.book)
    return moved


@contextmanager
def _environment(wanted: Mapping[str, str]) -> Iterator[None]:
    before = dict(os.environ)
    os.environ.clear()
    os.environ.update(wanted)
    try:
        yield
    finally:
        os.environ.clear()
        os.environ.update(before)


@contextmanager
def _stdin(stream: io.TextIOWrapper) -> Iterator[None]:
    before = sys.stdin
    sys.stdin = stream
    try:
        yield
    finally:
        sys.stdin = before


class Terminal:
    """The program at a pseudo-terminal, and a person who waits for words before typing."""

    def __init__(self, house: House, *arguments: str, command: Sequence[str] = (), columns: int = 80) -> None:
        """``command``: what to run instead of the installed program."""
        self.seen = ""
        self._from = 0
        leader, follower = pty.openpty()
        import fcntl
        import struct
        import termios

        fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        self._leader = leader
        self._process = subprocess.Popen(
            [*(command or [str(program())]), *arguments],
            cwd=house.folder,
            env=house.environment() | {"COLUMNS": str(columns)},
            stdin=follower,
            stdout=follower,
            stderr=follower,
            start_new_session=True,
            # The terminal is made the session's own, so that Ctrl-C reaches the program as it does a person's.
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
        )
        os.close(follower)

    def wait_for(self, words: str) -> str:
        """What came since the last wait, up to and with ``words``."""
        deadline = time.monotonic() + PATIENCE_SECONDS
        while (at := self.seen.find(words, self._from)) < 0:
            if time.monotonic() > deadline or not self._read(deadline):
                raise AssertionError(f"waited for {words!r}; the terminal shows:\n{self.seen[self._from :]}")
        end = at + len(words)
        came, self._from = self.seen[self._from : end], end
        return came

    def type(self, line: str) -> None:
        """A line and Enter."""
        os.write(self._leader, line.encode() + b"\n")

    def answer(self, prompt: str, line: str) -> str:
        """Wait for a prompt, type a line; returns what stood there before."""
        came = self.wait_for(prompt)
        self.type(line)
        return came

    def press(self, control: bytes) -> None:
        """A key as the terminal sends it, such as ``\\x04``."""
        os.write(self._leader, control)

    def interrupt(self) -> None:
        """Ctrl-C until the program is gone: one that comes just before it waits for a key is seen at the next."""
        for _ in range(PATIENCE_SECONDS // 10):
            self.press(b"\x03")
            # A second one while it is leaving would cut its last words short.
            enough = time.monotonic() + 10
            while time.monotonic() < enough:
                self._read(time.monotonic() + 0.2)
                if self._process.poll() is not None:
                    return
                time.sleep(0.02)

    def end(self) -> tuple[int, str]:
        """Wait for the end; its status, and what came since the last wait."""
        deadline = time.monotonic() + PATIENCE_SECONDS
        while self._read(deadline):
            if time.monotonic() > deadline:
                self._process.send_signal(signal.SIGKILL)
                raise AssertionError(f"it does not end; the terminal shows:\n{self.seen[self._from :]}")
        try:
            status = self._process.wait(timeout=PATIENCE_SECONDS)
        finally:
            self._process.kill()
            os.close(self._leader)
        assert TRACEBACK not in self.seen, self.seen
        return status, self.seen[self._from :]

    def _read(self, deadline: float) -> bool:
        ready, _, _ = select.select([self._leader], [], [], max(0.0, deadline - time.monotonic()))
        if not ready:
            return False
        try:
            came = os.read(self._leader, 65536)
        except OSError:  # the other end is closed
            return False
        self.seen += came.decode(errors="replace").replace("\r\n", "\n")
        return bool(came)


def codes_in(text: str) -> list[str]:
    """Codes as people see them, in order: ``K7P-3MT``."""
    return re.findall(r"\b[0-9A-HJKMNP-TV-Z]{3}-[0-9A-HJKMNP-TV-Z]{3}\b", text)


# --- The evening of the issue -----------------------------------------------------------------------------------

CHOPS = ["1.10", "1.05", ".98", "1.12", "1.08", "1.02", "1.15", ".95", "1.00", "1.06", "1.11", ".99", "1.03", "1.07"]
BACKSTRAPS = [".9", ".95", ".88", ".87"]
START = ("start", "--units", "lb", "--freezer", "Garage chest", "--volume", "15 cu ft")
RED_BAG = ("place", "add", "red bag")
DOE = (
    "animal", "add", "26B", "whitetail", "doe", "--killed", "14 nov", "--processed", "21 nov",
    "--test", "pending", "--sample", "4471",
)  # fmt: skip
PACK_BACKSTRAP = (
    "pack", "backstrap", *BACKSTRAPS, "--animal", "26B", "--form", "half", "--place", "red bag", "--wrap", "vacuum",
)  # fmt: skip
HOG = ("animal", "add", "26H", "pig", "--what", "half hog", "--processed", "20 nov")
PACK_CHOPS = ("pack", "loin chops", *CHOPS, "--animal", "26H", "--pieces", "4", "--wrap", "vacuum")


def play_evening(house: House) -> House:
    """The book of the issue's evening: a doe on hold with 4 backstraps, half a hog with 14 loin chops."""
    for line in (START, RED_BAG, DOE, PACK_BACKSTRAP, HOG, PACK_CHOPS):
        house.ok(*line)
    return house
