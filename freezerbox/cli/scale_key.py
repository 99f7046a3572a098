"""Enter at the table: the steady weight of the scale, when the house has one."""

from __future__ import annotations

import time

from freezerbox.chores.kitchen import Kitchen
from freezerbox.cli.output import say
from freezerbox.errors import ScaleTrouble

SETTING, NO_SCALE = "scale", "none"
KEYS = "Enter takes the scale's weight   a weight keeps it   + same   - strike   * new cut   done ends"


def has_scale(kitchen: Kitchen) -> bool:
    """Whether Enter alone asks the scale."""
    return (kitchen.settings.get(SETTING) or NO_SCALE) != NO_SCALE


def from_scale(kitchen: Kitchen) -> str:
    """What lies on the scale, as somebody would type it; "" when there is no steady weight, and why is said."""
    from freezerbox.scale.device import steady_weight, the_scale

    try:
        return steady_weight(the_scale(kitchen.settings[SETTING]), time.monotonic)
    except ScaleTrouble as error:
        say(f"  {error.message}")
        return ""
