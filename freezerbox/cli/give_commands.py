"""Giving away: give."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores import give as give_chore
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.several import codes_named
from freezerbox.cli.options import AsJson, Codes, Yes, ask, kitchen_of
from freezerbox.cli.output import no_letters, note, paragraph, say, say_json
from freezerbox.cli.pull_lines import refuse_file
from freezerbox.cli.wiring import at_terminal
from freezerbox.errors import InputError, InvalidCode


def give(
    ctx: typer.Context,
    codes: Codes,
    to: Annotated[str, typer.Option("--to", metavar="NAME", help="Who gets them. Needed.")] = "",
    on: Annotated[str, typer.Option("--on", metavar="DAY", help="When it was not today.")] = "",
    slip: Annotated[Path | None, typer.Option("--slip", metavar="FILE.pdf", help="Print the slip too.")] = None,
    giver: Annotated[str, typer.Option("--from", metavar="NAME", help="Giver, for the slip; remembered.")] = "",
    address: Annotated[str, typer.Option("--address", metavar="WORDS", help="Giver's address; remembered.")] = "",
    phone: Annotated[str, typer.Option("--phone", metavar="NUMBER", help="Giver's phone; remembered.")] = "",
    licence: Annotated[str, typer.Option("--licence", metavar="WORDS", help="Number and state; remembered.")] = "",
    at: Annotated[str, typer.Option("--at", metavar="WORDS", help="Place of the gift.")] = "",
    not_for_sale: Annotated[bool, typer.Option("--not-for-sale", help="NOT FOR SALE, 3/8 in high.")] = False,
    mark: Annotated[list[str] | None, typer.Option("--mark", metavar="WORDS", help="Other words as high.")] = None,
    paper: Annotated[str, typer.Option("--paper", metavar="NAME", help="letter or a4.")] = "letter",
    handover: Annotated[
        Path | None, typer.Option("--handover", metavar="FILE.json", help="A file for their own book.")
    ] = None,
    held_too: Annotated[bool, typer.Option("--held-too", help="Give it although it is on hold.")] = False,
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Give packages to somebody, or 2 of a lot: K7P-3MT 2; with a slip if wanted."""
    if not to:
        raise InputError("Say who gets them: freezerbox give K7P-3MT --to NAME", value="")
    refuse_file(slip, ".pdf", paper, what="slip", yes=yes)
    refuse_file(handover, ".json", what="packages", yes=yes)
    with kitchen_of(ctx) as kitchen:
        codes = codes_named(kitchen, codes)
        if at_terminal() and not as_json and not held_too:
            held = give_chore.held_among(kitchen, codes)
            for row in held:
                say(give_chore.held_warning(kitchen, row))
            held_too = bool(held) and ask("Give what is on hold all the same")
        given = give_chore.give(
            kitchen,
            codes,
            to,
            on=on,
            giver=give_chore.Giver(name=giver, address=address, phone=phone, licence=licence),
            held_too=held_too,
            yes=yes,
        )
        unknown = ""
        if slip is not None and given.gifts:
            from freezerbox.chores.slip import NOT_FOR_SALE, print_slip

            marks = [*([NOT_FOR_SALE] if not_for_sale else []), *(mark or [])]
            unknown = print_slip(kitchen, given, slip, place=at, marks=marks, paper=paper).unknown
            no_letters(slip, unknown)
        if handover is not None and given.gifts:
            from freezerbox.chores.handover import handover as tell
            from freezerbox.chores.handover import write_handover

            gone = [(row, gift.number) for row, gift in zip(given.rows, given.gifts, strict=True)]
            write_handover(handover, tell(kitchen.afresh(), given.person, gone, given.on, giver=given.giver.name))
        if as_json:
            say_json(
                {
                    "done": [row_json(row) for row in given.rows],
                    "refused": [{"code": code, "why": why.message} for code, why in given.refused],
                    "to": given.person,
                    "slip": str(slip) if slip and given.gifts else None,
                    "unknown_letters": unknown,
                    "handover": str(handover) if handover and given.gifts else None,
                }
            )
        else:
            say(given.message)
            for gift in given.gifts:
                say(paragraph(give_chore.gift_line(kitchen, gift), "  ", "      "))
            if said := give_chore.held_guidance(given.gifts):
                say(paragraph(said))
            if slip is not None and given.gifts:
                from freezerbox.chores.slip import TO_CHECK

                say(f"Slip: {slip}")
                say(paragraph(TO_CHECK))
            if handover is not None and given.gifts:
                say(paragraph(f"Their own book takes them in with: freezerbox import {handover.name}"))
            for _, why in given.refused:
                note(why.message)
        if given.refused:
            raise typer.Exit(
                2 if not given.gifts and all(isinstance(x, InvalidCode) for _, x in given.refused) else 1
            )


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox give K7P-3MT --to Sister --slip slip.pdf")(give)
