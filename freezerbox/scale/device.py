"""Finding a scale and waiting for its steady weight (Linux: /dev/hidraw*; other systems have no such file)."""

from __future__ import annotations

import os
import re
import select
from collections.abc import Callable, Iterator
from pathlib import Path

from freezerbox.errors import ScaleTrouble
from freezerbox.scale.report import (
    CALIBRATE,
    FAULT,
    OVER,
    RE_ZERO,
    STEADY,
    UNDER_ZERO,
    ZERO,
    Report,
    parse,
    split,
)

AUTO = "auto"
SAME = 3
"""So many equal steady reports in a row are a weight: a hand still on the bag makes them differ."""
PATIENCE_SECONDS = 8.0
_LOOK_SECONDS = 0.2
_SILENT_LOOKS = 10
"""So many looks in a row that find nothing: it does not tremble, it says no more."""
_CLASS = Path("/sys/class/hidraw")
# Usage Page (weighing devices), in one byte or in two: HID 1.11, 6.2.2.7.
_WEIGHING = re.compile(rb"\x05\x8d|\x06\x8d\x00")
_WORDS = {
    FAULT: "The scale reports a fault. Switch it off and on.",
    ZERO: "There is nothing on the scale.",
    UNDER_ZERO: "The scale is below zero. Take everything off and set it to zero.",
    OVER: "That is too heavy for the scale.",
    CALIBRATE: "The scale wants to be calibrated.",
    RE_ZERO: "The scale wants to be set to zero.",
}


def find(devices: Path = _CLASS) -> tuple[Path, ...]:
    """Files of the scales at this machine's USB ports, by what they say of themselves; no list of makers."""
    found = []
    for device in sorted(devices.glob("hidraw*")):
        try:
            described = (device / "device" / "report_descriptor").read_bytes()
        except OSError:
            continue
        if _WEIGHING.search(described):
            found.append(Path("/dev") / device.name)
    return tuple(found)


def the_scale(setting: str, devices: Path = _CLASS) -> Path:
    """The scale that ``setting`` means: ``auto`` for the one that is there, else the file it names.

    Raises: ScaleTrouble when there is none, or several to choose from.
    """
    if setting != AUTO:
        return Path(setting)
    found = find(devices)
    if not found:
        raise ScaleTrouble("No scale is at a USB port, or it is off. Type the weight.")
    if len(found) > 1:
        names = ", ".join(str(path) for path in found)
        raise ScaleTrouble(f"There are several scales: {names}. Choose: freezerbox settings scale {found[0]}")
    return found[0]


def doubt(setting: str, devices: Path = _CLASS) -> str:
    """What to say when the scale that ``setting`` means is not there just now, or cannot be read; else ""."""
    try:
        path = the_scale(setting, devices)
    except ScaleTrouble as error:
        return error.message
    if not path.exists():
        return f"There is no {str(path)!r} just now. The scale may be off or unplugged; else look at the name."
    return "" if os.access(path, os.R_OK) and not path.is_dir() else f"{str(path)!r} cannot be read by this user."


def steady_weight(path: Path, clock: Callable[[], float], patience: float = PATIENCE_SECONDS) -> Report:
    """What the scale shows once it is steady: a weight, and no zero.  ``clock`` counts seconds.

    Raises: ScaleTrouble when the file cannot be read, the scale shows zero (its fact ``empty`` is true then),
    less or a fault, falls silent, or never comes to rest.
    """
    if not hasattr(os, "O_NONBLOCK"):
        raise ScaleTrouble("On this system a scale cannot be read. Type the weight.")
    last: Report | None = None
    same = silent = 0
    try:
        for report in _reports(path, clock, patience):
            if report is None:
                silent += 1
                continue
            silent = 0
            same = same + 1 if report == last else 1
            last = report
            if same < SAME:
                continue
            if report.status == STEADY and report.amount:
                if not report.unit:
                    raise ScaleTrouble(
                        "The scale is set to a unit that kitchens do not use. Set it to g, kg, oz or lb."
                    )
                return report
            if report.status == STEADY:
                raise ScaleTrouble(_WORDS[ZERO], empty=True)
            if report.status in _WORDS:
                raise ScaleTrouble(_WORDS[report.status], empty=report.status in (ZERO, UNDER_ZERO))
    except PermissionError as error:
        raise ScaleTrouble(
            f"This user may not read {str(path)!r}. Give the right once, with a udev rule for hidraw devices."
        ) from error
    except OSError as error:
        why = error.strerror or str(error)
        raise ScaleTrouble(f"The scale at {str(path)!r} cannot be read: {why.lower()}. Type the weight.") from error
    if last is None:
        raise ScaleTrouble("The scale says nothing; perhaps it went to sleep. Switch it on, or type the weight.")
    if silent >= _SILENT_LOOKS:
        raise ScaleTrouble(
            "Nothing more came from the scale: it is unplugged, or went to sleep. Switch it on and press Enter "
            "again, or type the weight."
        )
    raise ScaleTrouble("The scale does not come to rest. Let go of the bag and press Enter again.")


def _reports(path: Path, clock: Callable[[], float], patience: float) -> Iterator[Report | None]:
    """Reports as they come, until patience ends; None when a look finds nothing.

    Opened anew each time: what was said before Enter is not asked.
    """
    end = clock() + patience
    number = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
    try:
        while clock() < end:
            ready, _, _ = select.select([number], [], [], _LOOK_SECONDS)
            if not ready:
                yield None
                continue
            raw = os.read(number, 60)
            if not raw:  # a pipe that nobody writes to
                select.select([], [], [], _LOOK_SECONDS)
                yield None
                continue
            for one in split(raw):
                report = parse(one)
                if report is not None:
                    yield report
    finally:
        os.close(number)
