"""The virtual environment both commands of a fresh clone work in: made, filled and kept current here.

Standard library only, since it runs before anything is installed, and no syntax that Python 3.7 could not
read, so that an old Python gets a sentence.  A stamp file in the environment says what was installed; while
it still fits, no package index is asked.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

OLDEST_PYTHON = (3, 11)
STAMP = "freezerbox-stamp.json"
HEARTBEAT_SECONDS = 15
BIN = "Scripts" if os.name == "nt" else "bin"

# What pip and the system say when nobody answers; compared without regard to case.
UNREACHED = (
    "failed to establish a new connection",
    "connection refused",
    "connection broken by",
    "network is unreachable",
    "name or service not known",
    "temporary failure in name resolution",
    "getaddrinfo failed",
    "could not fetch url",
    "proxyerror",
    "timed out",
    "(from versions: none)",  # nothing at all of that name: what pip says when told to be brief
)


class Trouble(Exception):
    """Why the environment cannot be had, in words for a person."""


def prepare(root: Path, extras: Sequence[str] = ()) -> Path:
    """The Python of ``root``'s ``.venv``, in which freezerbox and ``extras`` are installed.

    Raises: Trouble when it cannot be made or filled.
    """
    if sys.version_info < OLDEST_PYTHON:
        raise Trouble(python_too_old(sys.version_info[:2]))
    folder = root / ".venv"
    python = folder / BIN / "python"
    stamp = read_stamp(folder / STAMP)
    moved = bool(stamp) and stamp.get("place") != str(root)
    if moved or not answers(python):
        _make(folder, again=folder.exists())
        stamp = {}
    project = hashlib.sha256((root / "pyproject.toml").read_bytes()).hexdigest()
    wanted: dict[str, object] = {"place": str(root), "project": project, "extras": sorted(extras)}
    if fits(stamp, wanted):
        say("environment: ready in .venv")
    else:
        _install(root, python, extras)
        (folder / STAMP).write_text(json.dumps(wanted, indent=1) + "\n", encoding="utf-8")
    return python


def clean_environment() -> dict[str, str]:
    """The variables of this process without those that would lead a run to a person's own book or options."""
    own = ("PYTHONPATH", "PYTHONHOME", "PYTEST_ADDOPTS", "PYTEST_PLUGINS", "VIRTUAL_ENV")
    return {k: v for k, v in os.environ.items() if not k.startswith("FREEZERBOX_") and k not in own}


def say(line: str) -> None:
    """Print one line of progress at once, also into a pipe."""
    print(line, flush=True)


def seconds_since(start: float) -> str:
    """``4 s``."""
    return f"{time.monotonic() - start:.0f} s"


def read_stamp(path: Path) -> dict[str, object]:
    """What an earlier run wrote down; empty when there is none or it cannot be read."""
    try:
        stamp = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def fits(stamp: dict[str, object], wanted: dict[str, object]) -> bool:
    """Whether what is installed serves: same place, same project file, and at least the extras wanted."""
    extras, have = wanted["extras"], stamp.get("extras")
    if not isinstance(extras, list) or not isinstance(have, list):
        return False
    same = all(stamp.get(key) == wanted[key] for key in ("place", "project"))
    return same and set(extras) <= set(have)


def python_too_old(found: tuple[int, ...]) -> str:
    """The sentence for a Python that cannot run freezerbox."""
    return (
        "this is Python {}.{}, and freezerbox needs Python {}.{} or newer. "
        "Run the same command with a newer one, for example python3.11.".format(*found, *OLDEST_PYTHON)
    )


def explain_pip(output: str) -> str:
    """Why pip failed, in one sentence and the lines of pip's that name an error (else its last ones)."""
    said = output.lower()
    if any(sign in said for sign in UNREACHED):
        reason = "no package index could be reached"
    elif "no matching distribution found" in said:
        reason = "the package index in reach does not have what is needed"
    else:
        reason = "pip stopped with an error"
    lines = [line.strip() for line in output.splitlines() if line.strip()]
    telling = [line for line in lines if line.lower().startswith("error") or "Error: " in line]
    quoted = [f"  pip: {line[:300]}" for line in (telling or lines)[-4:]]
    return "\n".join([f"could not install: {reason}; nothing else was run", *quoted])


def explain_venv(output: str) -> str:
    """Why no virtual environment could be made."""
    if "ensurepip" in output or "No module named venv" in output:
        return (
            "could not make .venv: this Python comes without its venv part; nothing else was run. "
            "On Debian and Ubuntu install the package python3-venv, then run the same command again."
        )
    last = output.strip().splitlines()[-1:] or ["no reason given"]
    return f"could not make .venv: {last[0]}; nothing else was run"


def answers(python: Path) -> bool:
    """Whether an environment's Python starts, is new enough and has pip."""
    code = f"import sys, pip; sys.exit(sys.version_info < {OLDEST_PYTHON!r} or sys.prefix == sys.base_prefix)"
    try:
        done = subprocess.run([python, "-c", code], capture_output=True, env=clean_environment(), check=False)
    except OSError:
        return False
    return done.returncode == 0


def _make(folder: Path, *, again: bool) -> None:
    say("environment: .venv does not work, making it again" if again else "environment: making .venv")
    # The base interpreter, so that a run started from inside .venv does not saw off its own branch.
    base = getattr(sys, "_base_executable", None) or sys.executable
    try:
        if folder.is_dir() and not folder.is_symlink():
            shutil.rmtree(folder)
        elif folder.is_symlink() or folder.exists():
            folder.unlink()
    except OSError as error:
        raise Trouble(f"could not clear away the broken .venv: {error}; nothing else was run") from error
    status, output = _run_with_heartbeat([base, "-m", "venv", str(folder)], folder.parent, "making .venv")
    if status:
        shutil.rmtree(folder, ignore_errors=True)
        raise Trouble(explain_venv(output))


def _install(root: Path, python: Path, extras: Sequence[str]) -> None:
    what = f".[{','.join(extras)}]" if extras else "."
    start = time.monotonic()
    say("environment: installing freezerbox and what it needs (a minute or two the first time)")
    command = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-input"]
    status, output = _run_with_heartbeat([*command, "--editable", what], root, "installing")
    if status:
        raise Trouble(explain_pip(output))
    say(f"environment: installed, {seconds_since(start)}")


def _run_with_heartbeat(command: Sequence[str], folder: Path, doing: str) -> tuple[int, str]:
    """Exit status and output; a line every few seconds shows that it still works."""
    environment = clean_environment()
    # pip's five tries take minutes when nobody answers.
    environment.setdefault("PIP_RETRIES", "2")
    start = time.monotonic()
    with tempfile.TemporaryFile() as log:
        with subprocess.Popen(
            command,
            cwd=folder,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
        ) as process:
            while True:
                try:
                    status = process.wait(timeout=HEARTBEAT_SECONDS)
                    break
                except subprocess.TimeoutExpired:
                    say(f"environment: still {doing}, {seconds_since(start)}")
                except BaseException:
                    process.terminate()
                    raise
        log.seek(0)
        return status, log.read().decode("utf-8", errors="replace")
