"""The program stopped dead at a chosen write, by strace: what it had said by then, what it had asked of the disk."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.cli.process import House, program

WRITES = (
    "write", "pwrite64", "pwritev", "fdatasync", "fsync", "ftruncate", "rename", "renameat", "renameat2", "unlink",
    "unlinkat", "link", "linkat",
)  # fmt: skip
"""System calls that change a file, or bring it to the disk."""
_CALL = re.compile(r"(?:\d+ +)?(\w+)\((.*)\) += (-?\d+|\?)")
_FILE = re.compile(r"\d+<([^>]*)>|\"([^\"]*)\"")


@dataclass(frozen=True, slots=True)
class Call:
    """A system call.  nth: the how many-th of its name.  file: what it is about.  line: as strace shows it."""

    name: str
    nth: int
    file: str
    line: str

    @property
    def unnamed(self) -> bool:
        """It writes to a file that has no name of its own yet."""
        return self.name == "pwrite64" and self.file.endswith(".part")


@dataclass(frozen=True, slots=True)
class Run:
    """status: negative when it was stopped.  out: what it had said.  calls: what it asked of the system."""

    status: int
    out: str
    err: str
    calls: tuple[Call, ...]


def run(
    house: House,
    arguments: Sequence[str],
    stop: Call | None = None,
    fail: str = "",
    stdin: str = "",
    command: Sequence[str] = (),
) -> Run:
    """The program under strace: whole, or killed when it makes the call ``stop``.

    ``command``: another program than the installed one.
    ``fail``: calls that fail from some time on, as strace writes it: ``pwrite64:error=ENOSPC:when=3+``.
    """
    log = house.folder / "strace.log"
    # With its filter strace lets other calls run at full speed; but then it delivers no signal.
    how = [f"--inject={stop.name}:signal=SIGKILL:when={stop.nth}"] if stop else ["-f", "--seccomp-bpf"]
    how += [f"--inject={fail}"] if fail else []
    done = subprocess.run(
        [
            "strace",
            "-y",
            "-s",
            "80",
            "-o",
            str(log),
            f"--trace={','.join(WRITES)}",
            *how,
            *(command or [str(program())]),
            *arguments,
        ],
        cwd=house.folder,
        env=house.environment() | {"PYTHONDONTWRITEBYTECODE": "1"},
        input=stdin,
        capture_output=True,
        text=True,
        check=False,
    )
    assert log.exists(), f"strace could not begin: {done.stderr}"
    calls = tuple(_calls(log))
    log.unlink()
    assert calls or stop, f"strace saw nothing: {done.stderr}"
    assert "Traceback" not in done.stderr, done.stderr
    return Run(done.returncode, done.stdout, done.stderr, calls)


def _calls(log: Path) -> list[Call]:
    found: list[Call] = []
    seen: dict[str, int] = {}
    for line in log.read_text(encoding="utf-8", errors="replace").splitlines():
        match = _CALL.match(line)
        if match is None:
            continue
        name = match[1]
        seen[name] = seen.get(name, 0) + 1
        # A rename is about what it makes; everything else about the first file it names.
        files = [one or other for one, other in _FILE.findall(match[2])] or [""]
        found.append(Call(name, seen[name], files[-1 if name.startswith(("rename", "link")) else 0], line))
    return found


def worth_stopping(calls: Sequence[Call], *, every: bool, alike: int = 1) -> list[Call]:
    """Where to stop: at each call; in a file that has no name yet at every sixteenth, they are all alike.

    ``alike``: of a stretch of calls of one name about one file, the first and each so many-th after it.
    """
    chosen, run_length, before = [], 0, ("", "")
    for call in calls:
        run_length = run_length + 1 if (call.name, call.file) == before else 0
        before = (call.name, call.file)
        if run_length % (16 if call.unnamed else alike) == 0:
            chosen.append(call)
    # A few of each stretch for the everyday run: first, last, and evenly between.
    return chosen if every else [chosen[at * (len(chosen) - 1) // 3] for at in range(4)]
