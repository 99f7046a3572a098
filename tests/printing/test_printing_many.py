"""Three hundred labels in one go: one page in memory at a time, and a person who sees that it goes on."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pypdfium2
import pytest

from tests.cli.process import House, Terminal

MOST_MB = 260
"""Interpreter, libraries and fonts take about 70 MB, a page of 600 dpi 33, its label and its copies in grey the rest;
thirty pages held at once would take 1,000 more."""

_MANY = """
import re, sys, tomllib
from pathlib import Path
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import draw
from freezerbox.labels.sheet import write
base = tomllib.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))["base"]
drawn = draw([LabelContent(**{**base, "banners": ()})] * 300, "letter-10up")
write(drawn.pages, Path(sys.argv[2]), drawn.stock)
# Not the maximum that getrusage knows: a process inherits that from the one that started it.
print(int(re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())[1]) // 1024)
"""


@pytest.mark.sweep
@pytest.mark.skipif(sys.platform != "linux", reason="memory is counted in another unit elsewhere")
@pytest.mark.parametrize("ending", ["pdf", "png"])
def test_one_page_in_memory_at_a_time(tmp_path: Path, ending: str) -> None:
    contents = Path(__file__).parent.parent / "labels" / "contents.toml"
    done = subprocess.run(
        [sys.executable, "-c", _MANY, str(contents), str(tmp_path / f"many.{ending}")],
        capture_output=True,
        text=True,
        check=True,
    )
    assert int(done.stdout) < MOST_MB
    if ending == "pdf":
        document = pypdfium2.PdfDocument(tmp_path / "many.pdf")
        try:
            assert len(document) == 30
        finally:
            document.close()
    else:
        assert len(list(tmp_path.glob("many*.png"))) == 30


@pytest.mark.sweep
def test_a_bar_shows_at_a_terminal_and_nowhere_else(tmp_path: Path) -> None:
    house = House(folder=tmp_path, more={"TERM": "xterm"})
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    house.ok("pack", "loin chops", *["1.1"] * 60, "--species", "pork")
    quiet = house.ok("label", "--look", "--to", "x.pdf")
    assert quiet.err == ""
    terminal = Terminal(house, "label", "--look", "--stock", "letter-30up", "--to", "y.pdf")
    terminal.wait_for("Drawing labels")
    terminal.wait_for("60 labels on letter-30up")
    assert terminal.end()[0] == 0
    few = House(folder=tmp_path, more={"TERM": "xterm"})
    few.ok("label", "--to", "all.pdf")
    few.ok("pack", "loin chops", "1.1", "--species", "pork")
    terminal = Terminal(few, "label", "--look", "--to", "z.pdf")
    said = terminal.wait_for("1 label on")
    assert "Drawing" not in said
    assert terminal.end()[0] == 0
