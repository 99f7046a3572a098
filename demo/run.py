"""Play a season in an invented household: ``python3 demo/run.py``.

Makes ``.venv`` and installs freezerbox when that has not been done, then runs ``demo/season.py`` in it.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SEASON = ROOT / "demo" / "season.py"


def main(arguments: Sequence[str]) -> int:
    """Exit status of the season, or 1 when it could not be played."""
    sys.path.insert(0, str(ROOT))
    from demo import workshop

    try:
        python = workshop.prepare(ROOT)
    except workshop.Trouble as trouble:
        print(trouble, file=sys.stderr)
        return 1
    if not SEASON.exists():
        print("demo/season.py is not there, so there is no season to play", file=sys.stderr)
        return 1
    return subprocess.run(
        [python, SEASON, *arguments], cwd=ROOT, env=workshop.clean_environment(), check=False
    ).returncode


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit("stopped")
