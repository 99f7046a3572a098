"""The command for what cannot be found, or is gone with its freezer: lost."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

import typer

from freezerbox.chores import count as chore
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, totals_json
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.wording import coded_line, count, packs_and_weight
from freezerbox.cli.options import AsJson, Yes, ask, kitchen_of
from freezerbox.cli.output import paragraph, say, say_json, table
from freezerbox.cli.wiring import at_terminal
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.records import Reason
from freezerbox.errors import InputError

On = Annotated[str, typer.Option("--on", metavar="DAY", help="When it was not today.")]


def lost(
    ctx: typer.Context,
    codes: Annotated[list[str] | None, typer.Argument(metavar="[CODE...]", help="Packages to mark lost.")] = None,
    place: Annotated[
        str, typer.Option("--place", metavar="NAME", help="All that a freezer or place held, with weights.")
    ] = "",
    on: On = "",
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """What counts did not find; mark it lost; list a lost freezer.

    Alone it shows the search list. --place only lists, priced by your own prices; with --yes it marks all lost.
    """
    with kitchen_of(ctx) as kitchen:
        if place and codes:
            raise InputError("Give either codes or --place, not both.", value=" ".join(codes))
        if place:
            _lost_place(kitchen, place, on, yes=yes, as_json=as_json)
            return
        if codes:
            from freezerbox.chores.several import codes_named
            from freezerbox.chores.take_many import take_all
            from freezerbox.cli.freezer_commands import say_each

            say_each(*take_all(kitchen, codes_named(kitchen, codes), Reason.LOST, on=on), as_json=as_json)
            return
        rows = chore.search_list(kitchen)
        if as_json:
            say_json({"rows": [row_json(row) for row in rows]})
            return
        if not rows:
            say("Nothing is missing.")
        for row in rows:
            say(paragraph(f"{coded_line(kitchen, row)}: {row.where}, {chore.missing_words(row)}", "", "  "))
        if rows:
            say("Found one: scan it in a count, or freezerbox move CODE --to PLACE. Given up: freezerbox lost CODE")


def _lost_place(kitchen: Kitchen, name: str, on: str, *, yes: bool, as_json: bool) -> None:
    from freezerbox.chores.lost import lose_place
    from freezerbox.chores.take import read_day

    if not yes and at_terminal() and not as_json:
        seen = lose_place(kitchen, name, on=on)
        yes = ask(f"Mark {packs_and_weight(kitchen, seen.totals)} of {seen.target.words} as lost?")
    loss = lose_place(kitchen, name, on=on, mark=yes)
    if as_json:
        say_json(
            {
                "place": loss.target.words,
                "on": read_day(kitchen, on).isoformat(),
                "rows": [row_json(row) for row in loss.rows],
                "worth": [None if value is None else float(value) for value in loss.worth],
                "totals": totals_json(loss.totals),
                "total_worth": float(loss.total),
                "marked": loss.marked,
            }
        )
        return
    say(f"What was in {loss.target.words} on {long_date(read_day(kitchen, on))}:")
    cells = [
        (
            show_code(row.code),
            str(max(1, row.package.state.quantity)),
            kitchen.mass(row.net_mg),
            _worth_words(row, value),
            row.cut_name
            + (f", {row.species_name}" if row.species_name else "")
            + (f", {row.package.owner}'s" if row.package.owner else ""),
        )
        for row, value in zip(loss.rows, loss.worth, strict=True)
    ]
    for line in table(cells, right=(1, 2, 3), indent=2):
        say(line)
    unpriced = sum(value is None and row.for_people for row, value in zip(loss.rows, loss.worth, strict=True))
    say(f"Together {packs_and_weight(kitchen, loss.totals)}, worth {loss.total:,.2f} by your prices"
        + (f" ({count(unpriced, 'line')} without a price or weight)." if unpriced else "."))  # fmt: skip
    if unpriced:
        say("Set prices with: freezerbox settings price:any 8.00, or price:backstrap 14.00")
    say("All marked lost." if loss.marked else "Only listed; --yes marks them lost.")


def _worth_words(row: Row, value: Decimal | None) -> str:
    if value is not None:
        return f"{value:,.2f}"
    return "no price" if row.for_people else "not for people"


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog='Example: freezerbox lost --place "Garage chest" --on "2 mar"')(lost)
