"""Runs the ``console`` blocks of a Markdown page, in order, as a reader would, and compares what comes out.

In a block a line that begins with ``$ `` is a command; a backslash at its end continues it on the next line.  The
lines under it are what it prints, stdout and stderr together; ``...`` alone on a line stands for any lines.  A
command is expected to end with status 0, or with N where it is typed with ``# exit N`` at its end.  A comment
``<!-- now: 2026-12-02T21:00 -->`` on a line of its own between blocks moves the clock for the blocks after it.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

STARTING_CLOCK = "2026-11-21T21:00"
SEED = "1"
ANY_LINES = "..."

# Left to the person: they make the environment that this runs in, or play for a minute.
NOT_RUN = ("python3 demo/run.py", "python3 tests/run.py", "bash .ci/run", "git clone", "cd ", "python3 -m pip")

_CLOCK = re.compile(r"<!-- now: (\S+) -->")
_STATUS = re.compile(r"# exit (\d)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One command of a page.

    text: what is typed.  line: its line number, from 1.  clock: the time it runs at.
    expected: the lines under it.  first, last: where these stand, as a slice of the page's lines.
    """

    text: str
    line: int
    clock: str
    expected: tuple[str, ...]
    first: int
    last: int

    @property
    def status(self) -> int:
        """The exit status the page promises."""
        match = _STATUS.search(self.text)
        return int(match[1]) if match else 0

    @property
    def is_run(self) -> bool:
        """Whether it is run here at all."""
        return not self.text.startswith(NOT_RUN)


def commands(page: str) -> tuple[Command, ...]:
    """Every command in the ``console`` blocks of a page, in order.

    Raises: ValueError when a block does not begin with a command, or is not closed.
    """
    found = []
    lines = page.splitlines()
    clock, at = STARTING_CLOCK, 0
    while at < len(lines):
        if match := _CLOCK.fullmatch(lines[at].strip()):
            clock = match[1]
        if not re.match(r"```console\b", lines[at]):
            at += 1
            continue
        opened = at + 1
        end = next((i for i in range(opened, len(lines)) if lines[i].startswith("```")), None)
        if end is None:
            raise ValueError(f"line {opened}: the console block is not closed")
        if not lines[opened].startswith("$ "):
            raise ValueError(f"line {opened + 1}: a console block begins with a command, $ and a space before it")
        at = opened
        while at < end:
            start, text = at, lines[at][2:]
            while text.endswith("\\") and at + 1 < end:
                at += 1
                text = text[:-1] + lines[at].removeprefix("> ").lstrip()
            first = at = at + 1
            while at < end and not lines[at].startswith("$ "):
                at += 1
            expected = tuple(lines[first:at])
            found.append(Command(text=text, line=start + 1, clock=clock, expected=expected, first=first, last=at))
        at = end + 1
    return tuple(found)


def run(command: Command, folder: Path) -> tuple[int, tuple[str, ...]]:
    """Exit status and lines of a command run in ``folder``, with that folder as the person's home."""
    keep = {k: v for k, v in os.environ.items() if not k.startswith(("FREEZERBOX_", "XDG_", "LC_", "PYTHON"))}
    environment = keep | {
        "PATH": os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", os.defpath)]),
        "HOME": str(folder),
        "LC_ALL": "C.UTF-8",
        "TERM": "dumb",
        "NO_COLOR": "1",
        "COLUMNS": "80",
        "FREEZERBOX_NOW": command.clock,
        "FREEZERBOX_SEED": SEED,
    }
    done = subprocess.run(
        ["bash", "-c", command.text],
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
    )
    return done.returncode, tuple(done.stdout.decode("utf-8", errors="replace").splitlines())


def matches(expected: Sequence[str], actual: Sequence[str]) -> bool:
    """Whether ``actual`` is what the page promises, blanks at the ends of lines and of the whole apart."""
    parts = [r"(?:.*\n)*?" if x == ANY_LINES else re.escape(x) + r"\n" for x in _trimmed(expected)]
    return re.fullmatch("".join(parts), "".join(x + "\n" for x in _trimmed(actual))) is not None


def renewed(page: str, outputs: Sequence[tuple[Command, Sequence[str]]]) -> str:
    """The page with the lines under each of these commands replaced."""
    lines = page.splitlines()
    for command, actual in sorted(outputs, key=lambda pair: -pair[0].first):
        lines[command.first : command.last] = _trimmed(actual)
    return "\n".join(lines) + "\n"


def _trimmed(lines: Sequence[str]) -> list[str]:
    kept = [line.rstrip() for line in lines]
    while kept and not kept[-1]:
        kept.pop()
    return kept
