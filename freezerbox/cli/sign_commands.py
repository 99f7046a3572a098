"""Commands that print what is not a package's label: signs, command cards, spare codes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from freezerbox.book.parts import free_name
from freezerbox.chores.plain_file import refuse_taken
from freezerbox.chores.wording import count
from freezerbox.cli.opening import Open, open_written
from freezerbox.cli.options import AsJson, WriteOver, kitchen_of
from freezerbox.cli.output import no_letters, say, say_json
from freezerbox.core.code import show_code
from freezerbox.errors import InputError

if TYPE_CHECKING:
    from freezerbox.chores.signs import Signs

DEFAULT_FILE = Path("signs.pdf")
Paper = Annotated[str, typer.Option("--paper", metavar="letter|a4", help="What the printer holds.")]


def sign(
    ctx: typer.Context,
    what: Annotated[
        list[str] | None, typer.Argument(metavar="[PLACE|LOT...]", help="Places, or codes of lots; all places alone.")
    ] = None,
    cards: Annotated[bool, typer.Option("--cards", help="The command cards for a bare scanner.")] = False,
    people: Annotated[bool, typer.Option("--people", help="A card for each person you give to.")] = False,
    spares: Annotated[str, typer.Option("--spares", metavar="N", help="Spare codes to label by hand.")] = "",
    to: Annotated[
        Path | None,
        typer.Option(
            "--to", metavar="FILE.pdf", help="The file to write; else signs.pdf or the next.", show_default=False
        ),
    ] = None,
    paper: Paper = "letter",
    open_it: Open = False,
    yes: WriteOver = False,
    as_json: AsJson = False,
) -> None:
    """Print signs for places, command or person cards, or spare codes."""
    from freezerbox.chores import signs as chore

    if cards + people + bool(spares) + bool(what) > 1:
        raise InputError("Give one of: places or lots, --cards, --people, --spares.", value="")
    if to is None:
        to = free_name(DEFAULT_FILE)
    elif not yes:
        refuse_taken(to, "codes")
    left_out: tuple[str, ...] = ()
    if cards:
        printed = chore.print_cards(to, paper=paper)
    else:
        with kitchen_of(ctx) as kitchen:
            if people:
                printed, left_out = chore.print_people(kitchen, to, paper=paper)
            elif spares:
                printed = chore.print_spares(kitchen, spares, to, paper=paper)
            else:
                printed = chore.print_signs(kitchen, what or [], to, paper=paper)
    if as_json:
        report = {"file": str(printed.file), "pages": printed.pages, "codes": list(printed.codes)}
        say_json(report | {"unknown_letters": printed.unknown})
    else:
        _say(printed, left_out, cards=cards, people=people, spares=bool(spares))
    for code, letters in printed.unknown.items():
        no_letters(show_code(code), letters)
    if open_it:
        open_written(printed.file)


def _say(printed: Signs, left_out: tuple[str, ...], *, cards: bool, people: bool, spares: bool) -> None:
    # The test card is no command, and has no code.
    what = count(len(printed.codes) + 1, "card") if cards else count(len(printed.codes), "code")
    say(f"{printed.file}: {what} on {count(printed.pages, 'page')}. Cut along the lines.")
    if cards:
        say("Tape them to the wall by the freezer. Scan TEST first with a new scanner: freezerbox scan")
    if people:
        say("While giving, scan the person's card, then what they get: freezerbox scan")
    for name in left_out:
        say(f"No card for {name}: the name has too many letters or ones a small symbol cannot hold. Type it.")
    if spares:
        say("Later, when you know what is in them: freezerbox adopt CODE... --cut shank --on sat")


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog='Example: freezerbox sign "red bag" --to sign.pdf')(sign)
