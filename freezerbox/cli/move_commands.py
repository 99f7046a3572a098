"""Commands that carry packages elsewhere or throw them out: move, discard."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from freezerbox.chores import move as chore
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.wording import coded_line, of_lot_words
from freezerbox.cli.options import AsJson, Codes, kitchen_of
from freezerbox.cli.output import note, say, say_json
from freezerbox.core.code import show_code
from freezerbox.core.records import Reason

if TYPE_CHECKING:
    from freezerbox.chores.split import Split

On = Annotated[str, typer.Option("--on", metavar="DAY", help="When it was not today: yesterday, sat.")]
MOST_LISTED = 20


def move(
    ctx: typer.Context,
    what: Annotated[
        list[str] | None, typer.Argument(metavar="[CODE|PLACE...]", help="Packages, or whole places.")
    ] = None,
    to: Annotated[str, typer.Option("--to", metavar="PLACE", help="A place, or a freezer.")] = "",
    freezer: Annotated[
        str,
        typer.Option(
            "--freezer", metavar="NAME", help="Alone: move all that is in it. With codes: the freezer to move to."
        ),
    ] = "",
    on: On = "",
    as_json: AsJson = False,
) -> None:
    """Move packages, a basket or a whole freezer elsewhere.

    Of a lot, its code and a number: so many go, under a code of their own.
    """
    from freezerbox.chores.split import some_of_a_lot, split_off

    with kitchen_of(ctx) as kitchen:
        some = some_of_a_lot(kitchen, what) if what and (to or freezer) else None
        if some and some[1]:
            _say_split(split_off(kitchen, *some, to=to, freezer=freezer, on=on), as_json=as_json)
            return
        if not what and freezer:
            moved = chore.move_freezer(kitchen, freezer, to=to, on=on)
        else:
            moved = chore.move(kitchen, [some[0]] if some else what or [], to=to, freezer=freezer, on=on)
        if as_json:
            say_json(
                {
                    "done": [row_json(row) for row in moved.rows],
                    "refused": [{"code": text, "why": why.message} for text, why in moved.refused],
                }
            )
        else:
            say(moved.message)
            if len(moved.rows) > 1:
                for row in moved.rows[:MOST_LISTED]:
                    say(f"  {coded_line(kitchen, row)}{of_lot_words(row, row.package.state.quantity)}")
                if len(moved.rows) > MOST_LISTED:
                    say(f"  ... and {len(moved.rows) - MOST_LISTED} more")
            for _, why in moved.refused:
                note(why.message)
        if moved.refused:
            raise typer.Exit(1)


def _say_split(done: Split, *, as_json: bool) -> None:
    """Some of a lot that went elsewhere, under a code of their own."""
    if as_json:
        say_json({"done": [row_json(row) for row in done.rows], "refused": [], "before": row_json(done.before)})
        return
    say(done.message)
    say(f"{show_code(done.rows[0].code)} needs a label of its own: freezerbox label")


def discard(ctx: typer.Context, codes: Codes, on: On = "", as_json: AsJson = False) -> None:
    """Mark packages as thrown out, or 2 of a lot: K7P-3MT 2."""
    from freezerbox.chores.several import codes_named
    from freezerbox.chores.take_many import take_all
    from freezerbox.cli.freezer_commands import say_each

    with kitchen_of(ctx) as kitchen:
        say_each(*take_all(kitchen, codes_named(kitchen, codes), Reason.DISCARDED, on=on), as_json=as_json)


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog='Example: freezerbox move K7P-3MT --to "red bag"')(move)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox discard K7P-3MT")(discard)
