"""Whether the bag that was weighed has left the scale since: looked at while the next one is wrapped."""

from __future__ import annotations

import os
import select
import threading
from pathlib import Path

from freezerbox.scale.report import MOVING, STEADY, UNDER_ZERO, ZERO, Report, parse, split

_LOOK_SECONDS = 0.2
_FLICKER_PERCENT = 10  # a hand that brushes the bag is not yet another bag
_TELLING = (ZERO, MOVING, STEADY, UNDER_ZERO)  # the others say nothing of what lies there


class Watch:
    """Looks on from the moment it is made until :meth:`end`, or until the bag has left.

    The scale's file is read as it comes, since what is not fetched the system throws away.
    """

    def __init__(self, path: Path, weighed: Report) -> None:
        self._path, self._weighed = path, weighed
        self.left = False
        """Whether the scale was empty, or bore something else, at any time since."""
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._look, daemon=True)
        self._thread.start()

    def end(self) -> bool:
        """Stop looking; returns whether the bag has left."""
        self._stop.set()
        self._thread.join()
        return self.left

    def _look(self) -> None:
        try:
            number = os.open(self._path, os.O_RDONLY | os.O_NONBLOCK)
        except OSError:
            return  # unplugged; the next weighing says so
        try:
            while not self._stop.is_set():
                ready, _, _ = select.select([number], [], [], _LOOK_SECONDS)
                raw = os.read(number, 60) if ready else b""
                if ready and not raw:
                    self._stop.wait(_LOOK_SECONDS)
                for one in split(raw):
                    report = parse(one)
                    if (
                        report
                        and report.status in _TELLING
                        and not report.is_about(self._weighed, percent=_FLICKER_PERCENT)
                    ):
                        self.left = True
                        return
        except OSError:
            return
        finally:
            os.close(number)
