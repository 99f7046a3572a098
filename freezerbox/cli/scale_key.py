"""Enter at the table: the steady weight of the scale, when the house has one."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from freezerbox.chores.kitchen import Kitchen
from freezerbox.cli.output import say
from freezerbox.core.mass import parse_mass
from freezerbox.errors import ScaleTrouble

if TYPE_CHECKING:
    from freezerbox.scale.report import Report
    from freezerbox.scale.watch import Watch

_SAME_PERCENT = 2
SETTING, NO_SCALE = "scale", "none"
KEYS = """Enter takes the scale's weight   a weight keeps it   + same   - strike
* new cut   / another animal   done ends"""


def has_scale(kitchen: Kitchen) -> bool:
    """Whether Enter alone asks the scale."""
    return (kitchen.settings.get(SETTING) or NO_SCALE) != NO_SCALE


def scale_doubt(kitchen: Kitchen) -> str:
    """What to say when the scale of the settings is not there just now; "" when it is, or there is to be none."""
    from freezerbox.scale.device import doubt

    return doubt(kitchen.settings[SETTING]) if has_scale(kitchen) else ""


class ScaleKey:
    """The key that takes the scale's weight, and remembers the bag it took: one bag is not kept twice.

    ``twin``: what to do about a second bag of the same weight: "+ keeps a twin".
    """

    def __init__(self, kitchen: Kitchen, twin: str) -> None:
        self._setting = kitchen.settings.get(SETTING) or NO_SCALE
        self._twin = twin
        self._kitchen = kitchen
        self._path: Path | None = None
        self._shown: Report | None = None
        self._kept: Report | None = None
        self._watch: Watch | None = None

    def weigh(self) -> str:
        """What lies on the scale, as somebody would type it; "" when there is none to take, and why is said.

        Keys pressed while it is weighing are dropped: a second Enter would keep the bag twice.
        """
        from freezerbox.scale.device import steady_weight, the_scale

        lifted = self._watch.end() if self._watch else True
        say("  weighing...")
        try:
            self._path = the_scale(self._setting)
            shown = steady_weight(self._path, time.monotonic)
        except ScaleTrouble as error:
            say(f"  {error.message}")
            if lifted or error.facts.get("empty"):
                self.forget()
            else:
                self._look_on()
            return ""
        finally:
            _drop_keys()
        if self._kept and not lifted and shown.is_about(self._kept, percent=_SAME_PERCENT):
            weight = self._kitchen.mass(parse_mass(shown.text, unit=self._kitchen.unit))
            say(f"  The same weight still lies there: {weight}. {self._twin}.")
            self._look_on()
            return ""
        self.forget()
        self._shown = shown
        return shown.text

    def kept(self) -> None:
        """A weight was recorded: if the scale showed it, that bag is known from now on."""
        if self._shown:
            self._kept, self._shown = self._shown, None
            self._look_on()

    def forget(self) -> None:
        """The bag may be weighed again: it was struck, or lies there no more."""
        if self._watch:
            self._watch.end()
        self._kept = self._shown = self._watch = None

    def _look_on(self) -> None:
        if self._path and self._kept:
            from freezerbox.scale.watch import Watch

            self._watch = Watch(self._path, self._kept)


def _drop_keys() -> None:
    """What was typed at the terminal and not read yet is forgotten; a pipe keeps its lines."""
    if sys.stdin.isatty():
        import termios

        termios.tcflush(sys.stdin, termios.TCIFLUSH)
