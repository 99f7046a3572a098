"""A scale's reports, and a pipe standing in for its file: the steady weight, and every reason for none."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from freezerbox.core.mass import MassUnit, parse_mass
from freezerbox.errors import ScaleTrouble
from freezerbox.scale.device import find, steady_weight, the_scale
from freezerbox.scale.report import parse, split
from freezerbox.scale.watch import Watch
from tests.cli.process import PATIENCE_SECONDS, House, Terminal

STEADY_20_G = bytes.fromhex("030402001400")
STEADY_645_OZ = bytes.fromhex("03040BFF3419")
ZERO = bytes.fromhex("030202000000")
MOVING_20_G = bytes.fromhex("030302001400")


def test_published_reports() -> None:
    """Source: three write-ups of captured reports, seen for the label notes (section 9): 20 g, and 40 lb 5.2 oz."""
    twenty, ounces = parse(STEADY_20_G), parse(STEADY_645_OZ)
    assert twenty is not None
    assert ounces is not None
    assert (twenty.status, twenty.text) == (4, "20 g")
    assert (ounces.status, ounces.text) == (4, "645.2 oz")
    # 40 lb 5.2 oz, in milligrams, by the exact ounce.
    assert parse_mass(ounces.text, unit=MassUnit.LB) == round(Decimal("645.2") * Decimal("28349.523125"))
    assert parse_mass("40 lb 5.2 oz", unit=MassUnit.LB) == parse_mass(ounces.text, unit=MassUnit.LB)


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        ("0402001400", "20 g"),  # without the report's number
        ("030403FD7C01", "0.380 kg"),
        ("03040CFE7D00", "1.25 lb"),
        ("030401023200", "5 g"),  # 50 x 10^2 mg
        ("030402010A00", "100 g"),
    ],
)
def test_units_and_powers(raw: str, text: str) -> None:
    report = parse(bytes.fromhex(raw))
    assert report is not None
    assert report.text == text
    assert parse_mass(report.text, unit=MassUnit.LB)


@given(st.binary(max_size=40))
def test_any_bytes_are_a_report_or_none(raw: bytes) -> None:
    for one in split(raw):
        report = parse(one)
        assert report is None or report.amount >= 0
    assert b"".join(split(raw)) == raw


def test_several_reports_at_once_are_taken_apart() -> None:
    assert list(split(STEADY_20_G * 3)) == [STEADY_20_G] * 3
    assert list(split(STEADY_20_G[1:] * 2)) == [STEADY_20_G[1:]] * 2
    assert list(split(b"\x03\x04")) == [b"\x03\x04"]


@contextmanager
def scale(tmp_path: Path, *reports: bytes, again: bool = True, lies: list[bytes] | None = None) -> Iterator[Path]:
    """A pipe into which a scale says its reports, and over and over its last one or what ``lies`` there."""
    path = tmp_path / "hidraw0"
    os.mkfifo(path)
    stop = threading.Event()

    def talk() -> None:
        pipe = os.open(path, os.O_RDWR | os.O_NONBLOCK)
        try:
            said = list(reports)
            while not stop.is_set():
                if said:
                    os.write(pipe, said.pop(0))
                elif again and (lies or reports):
                    with suppress(BlockingIOError):
                        os.write(pipe, lies[-1] if lies else reports[-1])
                stop.wait(0.02)
        finally:
            os.close(pipe)

    thread = threading.Thread(target=talk)
    thread.start()
    try:
        yield path
    finally:
        stop.set()
        thread.join()


def test_steady_weight(tmp_path: Path) -> None:
    with scale(tmp_path, MOVING_20_G, MOVING_20_G, STEADY_20_G, MOVING_20_G, STEADY_645_OZ) as path:
        assert steady_weight(path, time.monotonic).text == "645.2 oz"


@pytest.mark.parametrize(
    ("report", "words"),
    [
        (ZERO, "nothing on the scale"),
        (bytes.fromhex("030402000000"), "nothing on the scale"),
        (bytes.fromhex("030502001400"), "below zero"),
        (bytes.fromhex("030602001400"), "too heavy"),
        (bytes.fromhex("030102001400"), "fault"),
        (bytes.fromhex("030702001400"), "calibrated"),
        (bytes.fromhex("030802001400"), "set to zero"),
        (bytes.fromhex("030404001400"), "unit that kitchens"),
    ],
)
def test_every_reason_for_no_weight(tmp_path: Path, report: bytes, words: str) -> None:
    with scale(tmp_path, report) as path, pytest.raises(ScaleTrouble, match=words) as caught:
        steady_weight(path, time.monotonic)
    assert caught.value.exit_code == 3


def ticking() -> Iterator[float]:
    """Seconds that pass one a look, so that patience ends without waiting."""
    return iter(float(second) for second in range(1000))


def test_patience_ends(tmp_path: Path) -> None:
    seconds = ticking()
    with scale(tmp_path, MOVING_20_G) as path, pytest.raises(ScaleTrouble, match="come to rest"):
        steady_weight(path, lambda: next(seconds), patience=20)
    (tmp_path / "hidraw0").unlink()
    with scale(tmp_path, again=False) as path, pytest.raises(ScaleTrouble, match="says nothing"):
        steady_weight(path, lambda: next(seconds), patience=3)


@pytest.mark.parametrize("report", [MOVING_20_G, STEADY_20_G])
def test_a_scale_that_falls_silent_is_no_hand_on_the_bag(tmp_path: Path, report: bytes) -> None:
    """Unplugged or asleep in the midst of it."""
    seconds = ticking()
    with (
        scale(tmp_path, report, report, again=False) as path,
        pytest.raises(ScaleTrouble, match="Nothing more came from the scale"),
    ):
        steady_weight(path, lambda: next(seconds), patience=16)


def test_no_file_and_none_to_read(tmp_path: Path) -> None:
    with pytest.raises(ScaleTrouble, match="cannot be read"):
        steady_weight(tmp_path / "none", time.monotonic)


def test_a_flicker_is_no_other_bag() -> None:
    bag, *others = (
        parse(bytes.fromhex(report))
        for report in (
            "030402006400",  # 100 g
            "030402006600",  # 102 g
            "030302006700",  # 103 g
            "030402000000",  # 0 g
            "030202006400",  # zero, whatever the figure
            "030502000100",  # 1 g under zero
            "03040b006400",  # 100 oz
        )
    )
    assert bag is not None
    assert [one is not None and one.is_about(bag, percent=2) for one in others] == [True] + [False] * 5


@pytest.mark.parametrize("left", ["030202000000", "030502000100", "030402001e00"])
def test_a_watch_sees_the_bag_leave(tmp_path: Path, left: str) -> None:
    bag = parse(STEADY_20_G)
    assert bag is not None
    lies = [STEADY_20_G]
    with scale(tmp_path, lies=lies) as path:
        watch = Watch(path, bag)
        assert not watch.end()
        watch = Watch(path, bag)
        lies[0] = bytes.fromhex(left)
        end = time.monotonic() + PATIENCE_SECONDS
        while not watch.left and time.monotonic() < end:
            time.sleep(0.01)
        assert watch.end()
    assert not Watch(tmp_path / "unplugged", bag).end()


def described(folder: Path, name: str, descriptor: bytes) -> None:
    (folder / name / "device").mkdir(parents=True)
    (folder / name / "device" / "report_descriptor").write_bytes(descriptor)


def test_scales_are_known_by_their_description(tmp_path: Path) -> None:
    """HID 1.11, 6.2.2.7: a Usage Page item of one byte is 05, of two 06; the weighing page is 8Dh."""
    with pytest.raises(ScaleTrouble, match="No scale"):
        the_scale("auto", tmp_path)
    described(tmp_path, "hidraw0", bytes.fromhex("05010906a101"))  # a keyboard
    described(tmp_path, "hidraw1", bytes.fromhex("058d0920a101"))
    assert find(tmp_path) == (Path("/dev/hidraw1"),)
    assert the_scale("auto", tmp_path) == Path("/dev/hidraw1")
    described(tmp_path, "hidraw2", bytes.fromhex("068d000920a101"))
    with pytest.raises(ScaleTrouble, match="several scales"):
        the_scale("auto", tmp_path)
    assert the_scale("/dev/hidraw2", tmp_path) == Path("/dev/hidraw2")
    (tmp_path / "hidraw3").mkdir()
    assert len(find(tmp_path)) == 2


def test_at_the_table_enter_takes_the_weight(tmp_path: Path) -> None:
    """A setting names the scale; Enter keeps what lies on it, and a bag that is not there is said."""
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    with scale(tmp_path, MOVING_20_G, bytes.fromhex("03040CFE7D00")) as path:
        house.ok("settings", "scale", str(path))
        terminal = Terminal(house, "pack", "loin chops", "--species", "pork")
        terminal.wait_for("done ends")
        terminal.answer("1: ", "")
        terminal.wait_for("1.25 lb")
        terminal.answer("2: ", "1.3")
        terminal.answer("3: ", "done")
        terminal.answer("How many did you wrap?", "")
        assert terminal.end()[0] == 0
    rows = house.ok("find", "loin chops", "--json").json["rows"]
    assert sorted(row["net_g"] for row in rows) == [566.99, 589.67]
    path.unlink()
    terminal = Terminal(house, "pack", "loin chops", "--species", "pork")
    terminal.answer("3: ", "")
    terminal.wait_for("cannot be read")
    terminal.answer("3: ", "done")
    terminal.answer("How many did you wrap?", "")
    assert terminal.end()[0] == 0


def test_at_the_table_one_bag_is_kept_once(tmp_path: Path) -> None:
    """Enter pressed twice, or pressed again later with the bag still there; a twin and the next bag are kept."""
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    bag = bytes.fromhex("03040CFE7D00")
    lies = [MOVING_20_G]
    with scale(tmp_path, lies=lies) as path:
        house.ok("settings", "scale", str(path))
        terminal = Terminal(house, "pack", "loin chops", "--species", "pork")
        terminal.answer("1: ", "")
        terminal.wait_for("weighing...")
        terminal.type("")  # while it is weighing: dropped
        terminal.type("9")
        lies[0] = bag
        assert "The same" not in terminal.answer("2: ", "")
        terminal.wait_for("The same weight still lies there: 1.25 lb")
        terminal.wait_for("+ keeps a twin")
        terminal.answer("2: ", "+")
        terminal.answer("3: ", "")
        terminal.wait_for("The same weight still lies there")
        lies[0] = ZERO
        terminal.answer("3: ", "")
        terminal.wait_for("nothing on the scale")
        lies[0] = bag
        terminal.answer("3: ", "")
        terminal.wait_for("3.75 lb so far")
        # Struck, it may be weighed again.
        terminal.answer("4: ", "-")
        terminal.answer("3: ", "")
        terminal.wait_for("3.75 lb so far")
        terminal.answer("4: ", "done")
        terminal.answer("How many did you wrap?", "")
        assert terminal.end()[0] == 0
    rows = house.ok("find", "loin chops", "--json").json["rows"]
    assert [row["net_g"] for row in rows] == [566.99] * 3


def test_one_bag_does_not_give_two_labels_their_weight(tmp_path: Path) -> None:
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    ahead = house.ok("label", "ahead", "2", "ground", "--species", "whitetail", "--json").json["labels"]
    first, second = (one["code"] for one in ahead)
    bag = bytes.fromhex("03040CFE7D00")
    lies = [bag]
    with scale(tmp_path, lies=lies) as path:
        house.ok("settings", "scale", str(path))
        terminal = Terminal(house, "weigh")
        terminal.answer("scan: ", first)
        terminal.answer("weight of", "")
        terminal.answer("scan: ", second)
        terminal.answer("weight of", "")
        terminal.wait_for("The same weight still lies there: 1.25 lb")
        terminal.answer("weight of", "1.25")
        # Taken back, that bag may be weighed again.
        terminal.answer("scan: ", "undo")
        terminal.answer("scan: ", second)
        terminal.answer("weight of", "")
        terminal.answer("scan: ", "")
        assert terminal.end()[0] == 0
    assert [house.ok("show", code, "--json").json["net_g"] for code in (first, second)] == [566.99, 566.99]


def test_labels_printed_ahead_are_weighed_by_the_scale(tmp_path: Path) -> None:
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    (code,) = [
        one["code"]
        for one in house.ok("label", "ahead", "1", "ground", "--species", "whitetail", "--json").json["labels"]
    ]
    with scale(tmp_path, STEADY_645_OZ.replace(b"\x34\x19", b"\xa0\x00")) as path:
        house.ok("settings", "scale", str(path))
        terminal = Terminal(house, "weigh")
        terminal.answer("scan: ", code)
        terminal.answer("weight of", "")
        terminal.answer("scan: ", "")
        assert terminal.end()[0] == 0
    assert house.ok("show", code, "--json").json["net_g"] == 453.592


def test_the_setting(tmp_path: Path) -> None:
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    for value in ("auto", "none", "/dev/hidraw0"):
        assert house.ok("settings", "scale", value, "--json").json["settings"]["scale"] == value
    house.refused_json("settings", "scale", "kitchen", status=2, kind="input")
    assert "There is no '/nonexist' just now" in house.ok("settings", "scale", "/nonexist").said
    assert house.ok("settings", "scale").said == ""
    assert "cannot be read by this user" in house.ok("settings", "scale", str(tmp_path)).said
    for there in ("/dev/null", "none"):
        assert house.ok("settings", "scale", there).said == ""


def test_a_scale_far_beyond_a_kitchens_says_nothing_of_bare_numbers(tmp_path: Path) -> None:
    house = House(folder=tmp_path)
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    with scale(tmp_path, bytes.fromhex("0304030260ea")) as path:
        house.ok("settings", "scale", str(path))
        terminal = Terminal(house, "pack", "loin chops", "--species", "pork")
        terminal.answer("1: ", "")
        assert "bare number" not in terminal.wait_for("Is the unit right?")
        terminal.answer("1: ", "done")
        terminal.end()
