"""At the wrapping table: what the photographs saw of the packages of today."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.wording import coded_line
from freezerbox.cli.looking import looking
from freezerbox.cli.output import say, say_json
from freezerbox.core.code import show_code


def say_tonight(kitchen: Kitchen, files: Sequence[Path], *, as_json: bool) -> None:
    """At the wrapping table: photographs against the packages of today."""
    from freezerbox.chores.tonight import proof

    with looking(len(files)):
        found = proof(kitchen, files)
    if as_json:
        say_json(
            {
                "wrapped": [row.code for row in found.wrapped],
                "seen": list(found.seen),
                "not_seen": [row_json(row) for row in found.not_seen],
                "on_two_packs": list(found.twice),
                "others": list(found.others),
            }
        )
        return
    say(f"{found.summary()}.")
    for row in found.not_seen:
        say(f"  not seen: {coded_line(kitchen, row)}")
    for code in found.twice:
        say(f"  on two packs: {show_code(code)}")
    for code in found.others:
        say(f"  not of today: {show_code(code)}")
