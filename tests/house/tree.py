"""What the house is made of: its files as git sees them, and the words they hold."""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "freezerbox"


def files() -> tuple[Path, ...]:
    """Every file that is tracked or would be (new and not ignored), relative to the root, in order."""
    # A clone may belong to another user than the one who runs the tests; git then asks to be told that it may look.
    command = ["git", "-c", f"safe.directory={ROOT}", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    names = sorted({name for name in done.stdout.split("\0") if name})
    return tuple(Path(name) for name in names if (ROOT / name).is_file())


def texts() -> Iterator[tuple[Path, str]]:
    """Path and text of every such file that is text; fonts and pictures are passed over."""
    for path in files():
        content = (ROOT / path).read_bytes()
        if b"\0" not in content:
            yield path, content.decode("utf-8")


def modules() -> tuple[Path, ...]:
    """Every module of the package, relative to the root."""
    return tuple(sorted(path.relative_to(ROOT) for path in PACKAGE.rglob("*.py")))


def parsed(path: Path) -> ast.Module:
    """The syntax tree of a file given relative to the root."""
    return ast.parse((ROOT / path).read_text(encoding="utf-8"), filename=str(path))
