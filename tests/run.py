"""Check everything on a fresh clone: ``python3 tests/run.py [--everything] [pytest arguments]``.

Needs Python 3.11 and, the first time, a package index in reach.  Makes ``.venv``, installs freezerbox with
its test extra, then runs ruff, mypy, import-linter and pytest; each runs even when one before it failed.
``--everything`` adds the long sweeps and counts a skipped test as a failure.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ElementTree
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def main(arguments: Sequence[str]) -> int:
    """Exit status: 0 when every step passed, else 1."""
    if arguments and arguments[0] in ("-h", "--help"):
        print(__doc__)
        return 0
    sys.path.insert(0, str(ROOT))
    from demo import workshop

    try:
        python = workshop.prepare(ROOT, extras=["test"])
    except workshop.Trouble as trouble:
        print(trouble, file=sys.stderr)
        return 1
    environment = workshop.clean_environment()
    steps = {
        "ruff": [str(python), "-m", "ruff", "check", "--output-format=concise", "."],
        "mypy": [str(python), "-m", "mypy"],
        "import-linter": [str(python.parent / "lint-imports"), "--no-logo"],
    }
    failed = []
    for name, command in steps.items():
        start = time.monotonic()
        workshop.say(f"{name}: running")
        done = subprocess.run(
            command,
            cwd=ROOT,
            env=environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode:
            failed.append(name)
            workshop.say((done.stdout + done.stderr).rstrip())
        workshop.say(f"{name}: {'FAILED' if done.returncode else 'ok'}, {workshop.seconds_since(start)}")

    everything = "--everything" in arguments
    workshop.say("pytest: running" + (" with the long sweeps" if everything else ", without the long sweeps"))
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.xml"
        command = [str(python), "-m", "pytest", "-q", f"--junitxml={report}"]
        # One more than there are cores: some wait for a disk or a printer.  tests/conftest.py says in what order.
        command += ["-n", "3", "--no-loadscope-reorder"]
        command += [] if everything else ["-m", "not sweep"]
        command += [argument for argument in arguments if argument != "--everything"]
        if subprocess.call(command, cwd=ROOT, env=environment, stdin=subprocess.DEVNULL):
            failed.append("pytest")
        skips = skipped(report) if everything else []
    if skips:
        failed.append("skipped tests")
        print("\n".join(["skipped, and that counts as a failure here:", *skips]))
    if failed:
        print(f"failed: {', '.join(failed)}")
    return 1 if failed else 0


def skipped(report: Path) -> list[str]:
    """A line for each skipped test in pytest's report; an expected failure is not a skip."""
    if not report.exists():
        return []
    return [
        f"  {case.get('classname')}.{case.get('name')}: {skip.get('message')}"
        for case in ElementTree.parse(report).iter("testcase")
        for skip in case.iter("skipped")
        if skip.get("type") == "pytest.skip"
    ]


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit("stopped")
