"""Looking at photographs is told of at a terminal, each by its name, and nowhere else."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from freezerbox.reading.closely import read_closely
from freezerbox.reading.pictures import read_picture
from freezerbox.reading.watch import watched
from tests.cli.process import House, Terminal


@pytest.fixture
def house(tmp_path: Path) -> House:
    """A started house, and two large photographs of nothing."""
    made = House(folder=tmp_path, more={"TERM": "xterm"})
    made.ok("start", "--units", "lb", "--freezer", "Garage chest")
    made.ok("pack", "loin chops", "1.1", "--species", "pork")
    made.ok("label", "--to", "a.pdf")
    for name in ("one.png", "two.png"):
        Image.effect_noise((4000, 3000), 60).save(tmp_path / name, compress_level=1)
    return made


def test_every_look_at_every_photograph_is_told(tmp_path: Path) -> None:
    files = [tmp_path / "a.png", tmp_path / "b.png"]
    told: list[tuple[Path, int]] = []
    for file in files:
        Image.new("L", (1600, 1200), 200).save(file)
    with watched(lambda file, step: told.append((file, step))):
        for file in files:
            read_picture(file)
        read_closely(files[0])
    read_picture(files[1])  # nobody listens any more
    for file in files:
        steps = [step for one, step in told if one == file]
        assert steps[:5] == [1, 2, 3, 4, 5]
    assert told[-1][0] == files[0]
    assert [one for one, step in told if step == 1] == [*files, files[0]]


def test_at_a_terminal_each_photograph_is_named_while_it_is_looked_at(house: House) -> None:
    photos = ("--photo", "one.png", "--photo", "two.png")
    terminal = Terminal(house, "scan", *photos)
    terminal.wait_for("Looking at two.png (2 of 2)")
    terminal.wait_for("two.png: no label reads")
    assert terminal.end()[0] == 0
    piped = house.ok("scan", *photos)
    assert "Looking" not in piped.out + piped.err
