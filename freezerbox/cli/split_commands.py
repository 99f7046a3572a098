"""Commands on lots and shares: split, seal-lost, cutsheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.wording import coded_line
from freezerbox.cli.options import AsJson, Code, Freezer, kitchen_of
from freezerbox.cli.output import say, say_json
from freezerbox.core.mass import parse_mass
from freezerbox.errors import InputError

MOST_LISTED = 12


def split(
    ctx: typer.Context,
    code: Code,
    each: Annotated[bool, typer.Option("--each", help="A lot: every one gets a code of its own.")] = False,
    off: Annotated[str, typer.Option("--off", metavar="N", help="A lot: that many go under a new code.")] = "",
    to: Annotated[str, typer.Option("--to", metavar="PLACE", help="With --off: where they go.")] = "",
    freezer: Freezer = "",
    take: Annotated[str, typer.Option("--take", metavar="N", help="A pack: that many pieces are used.")] = "",
    left: Annotated[str, typer.Option("--left", metavar="WEIGHT", help="With --take: what is left, weighed.")] = "",
    reason: Annotated[
        str, typer.Option("--as", metavar="REASON", help="With --take: eaten when not said.")
    ] = "eaten",
    on: Annotated[str, typer.Option("--on", metavar="DAY", help="With --take: when it was not today.")] = "",
    as_json: AsJson = False,
) -> None:
    """Divide a lot, or use some pieces of a pack."""
    from freezerbox.chores import split as chore

    if each + bool(off) + bool(take) != 1:
        raise InputError("Say one of: --each or --off N for a lot, --take N for pieces of a pack.", value=code)
    with kitchen_of(ctx) as kitchen:
        if each:
            done = chore.split_each(kitchen, code)
        elif off:
            done = chore.split_off(kitchen, code, off, to=to, freezer=freezer)
        else:
            from freezerbox.cli.freezer_commands import parse_reason

            weight_mg = parse_mass(left, unit=kitchen.unit) if left else None
            done = chore.split_take(kitchen, code, take, parse_reason(reason), weight_mg=weight_mg, on=on)
        if as_json:
            say_json(
                {
                    "done": [row_json(row) for row in done.rows],
                    "refused": [],
                    "before": row_json(done.before),
                }
            )
            return
        say(done.message)
        for row in done.rows[:MOST_LISTED]:
            say(f"  {coded_line(kitchen, row)}")
        if len(done.rows) > MOST_LISTED:
            say(f"  ... and {len(done.rows) - MOST_LISTED} more")


def seal_lost(
    ctx: typer.Context,
    code: Code,
    number: Annotated[str, typer.Argument(metavar="[N]", help="Of a lot: how many.")] = "",
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Of a lot: all of it.")] = False,
    as_json: AsJson = False,
) -> None:
    """Note that a pack's seal let go and air got in."""
    from freezerbox.chores.wraps import seal_lost as chore

    with kitchen_of(ctx) as kitchen:
        fixed = chore(kitchen, code, number, yes=yes)
        if as_json:
            say_json({"done": [row_json(row) for row in fixed.rows], "refused": []})
            return
        say(fixed.message)


def cutsheet(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE.csv", help="What was ordered: columns cut and count.")],
    animal: Annotated[str, typer.Option("--animal", metavar="CODE", help="The share that came.")],
    as_json: AsJson = False,
) -> None:
    """Compare what came from the butcher with what was ordered."""
    from freezerbox.chores.cutsheet import compare

    with kitchen_of(ctx) as kitchen:
        found = compare(kitchen, file, animal)
        if as_json:
            say_json(
                {
                    "animal": found.animal.code,
                    "lines": [
                        {"name": one.name, "ordered": one.ordered, "received": one.received} for one in found.lines
                    ],
                    "missing": found.missing,
                }
            )
            return
        for line in found.lines:
            say(f"  {line.words}")
        say(f"{found.missing} packs missing." if found.missing else "All that was ordered came.")


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox split K7P-3MT --take 2")(split)
    app.command("seal-lost", rich_help_panel=panel, epilog="Example: freezerbox seal-lost K7P-3MT")(seal_lost)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox cutsheet order.csv --animal 26S")(cutsheet)
