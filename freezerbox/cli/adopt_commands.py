"""Taking in what is there already: adopt, and the stocktaking of a full freezer."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores.adopt import NOT_CARRIED, Adopted, Known
from freezerbox.chores.existing import Stocktaking
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.photos import CloseLook
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.wording import coded_line, count, packs_and_weight
from freezerbox.cli import header_options as header
from freezerbox.cli.looking import looking
from freezerbox.cli.options import AsJson, Freezer, kitchen_of
from freezerbox.cli.output import note, paragraph, say, say_json
from freezerbox.cli.wiring import at_terminal
from freezerbox.core.code import show_code
from freezerbox.errors import FreezerboxError, InputError

MOST_LISTED = 20


def adopt(
    ctx: typer.Context,
    codes: Annotated[
        list[str] | None, typer.Argument(metavar="[CODE...]", help="Codes, or what a scanner reads of the symbol.")
    ] = None,
    photo: Annotated[
        list[Path] | None,
        typer.Option("--photo", metavar="FILE...", help="Every label in view that is not in the book."),
    ] = None,
    existing: Annotated[bool, typer.Option("--existing", help="Enter a full freezer basket by basket.")] = False,
    cut: Annotated[str, typer.Option("--cut", metavar="CUT", help="What it is; mystery when nobody knows.")] = "",
    weight: Annotated[str, typer.Option("--weight", metavar="WEIGHT", help="Of each.")] = "",
    animal: header.Animal = "",
    form: header.Form = "",
    pieces: header.Pieces = "",
    wrap: header.Wrap = "",
    fat: header.Fat = "",
    seasoning: header.Seasoning = "",
    place: header.Place = "",
    freezer: Freezer = "",
    species: header.Species = "",
    owner: header.Owner = "",
    remark: header.Note = "",
    first_frozen: header.FirstFrozen = "",
    on: Annotated[str, typer.Option("--on", metavar="DAY", help="The day they went in, when not today.")] = "",
    as_json: AsJson = False,
) -> None:
    """Take in labels made elsewhere: spares, a gift, a lost book."""
    from freezerbox.chores import adopt as chore

    with kitchen_of(ctx) as kitchen:
        if existing:
            take_stock(kitchen, freezer, first_frozen)
            return
        if bool(photo) == bool(codes):
            raise InputError(
                "Give codes or --photo FILE, one of the two. Such as: freezerbox adopt K7P-3MT", value=""
            )
        words = Words(
            cut=cut, form=form, animals=header.animal_codes(animal), pieces=pieces, wrap=wrap, fat=fat,
            seasoning=seasoning, place=place, freezer=freezer, species=species, owner=owner, note=remark,
            first_frozen=first_frozen,
        )  # fmt: skip
        known = Known(words=words, weight=weight, on=on)
        if photo:
            looked = (kitchen, photo, known)
            with looking(len(photo)):
                done = chore.adopt_photos(*looked) if as_json else chore.adopt_photos(*looked, _tell)
        else:
            done = chore.adopt(kitchen, codes or [], known)
        if as_json:
            say_json(
                {
                    "done": [row_json(row) for row in done.rows],
                    "refused": [{"code": text, "why": why.message} for text, why in done.refused],
                    "from_symbol": list(done.from_symbol),
                    "not_known": list(NOT_CARRIED) if done.from_symbol else [],
                    "animals": list(done.animals),
                    "apart": [{"code": code, "animal": other} for code, other in done.apart],
                    "photos": [
                        {"file": str(look.file), "read": look.read, "unread": look.unread} for look in done.looks
                    ],
                    "bars_only": list(done.bars_only),
                }
            )
        else:
            _say(kitchen, done)
        if done.refused:
            raise typer.Exit(1)


def _tell(look: CloseLook) -> None:
    """At once, since each photograph takes its time."""
    more = f", {look.unread} more seen that could not be read" if look.unread else ""
    note(f"{look.file}: {count(look.read, 'label')} read{more}.")


def _say(kitchen: Kitchen, done: Adopted) -> None:
    from freezerbox.chores.adopt import bars_words, unread_words
    from freezerbox.chores.rows import totals

    say(f"Taken in: {packs_and_weight(kitchen, totals(done.rows))}.")
    for row in done.rows[:MOST_LISTED]:
        say(f"  {coded_line(kitchen, row)}" + (f": {row.where}" if row.where else ""))
    if len(done.rows) > MOST_LISTED:
        say(f"  ... and {len(done.rows) - MOST_LISTED} more")
    if done.animals:
        say(f"Animals entered from the labels: {', '.join(done.animals)}")
    for code, other in done.apart:
        say(f"{show_code(code)} names animal {other}, but ours of that code is another; it stands in the note.")
    if done.from_symbol:
        say(paragraph(f"Not on a label's symbol, so not known: {', '.join(NOT_CARRIED)}."))
        say(paragraph("HOLDS are among it: put on again what was on hold, such as freezerbox hold 26B --why ..."))
        example = f"{show_code(done.from_symbol[0])} 24"
        say(paragraph(f"What was a LOT OF several is one package now: in a count of its place, type {example}."))
    if done.bars_only:
        note(bars_words(done.bars_only))
    if unread := sum(look.unread for look in done.looks):
        note(unread_words(unread))
    for _, why in done.refused:
        note(why.message)


def take_stock(kitchen: Kitchen, freezer: str, frozen: str = "") -> None:
    """Ask basket by basket until the end; each line is kept as it is entered."""
    talking = at_terminal()
    stock = Stocktaking(kitchen=kitchen, freezer=freezer, frozen=frozen)
    if talking:
        say("A basket's name, then a line for what lies in it: cut, how many, weight of each, month frozen.")
        say("Such as: ground, 12, 1.25, nov 2024   mystery, 3   lot ground beef, 72, 2lb")
        say("An empty line: the next basket. Two: the end. undo strikes the last line that was kept.")
    while name := _asked("basket: " if talking else ""):
        if name.lower() == "undo":
            _strike(stock)
            continue
        try:
            basket, new = stock.basket(name)
            say(f"{basket}, a new one:" if new else f"{basket}:")
        except FreezerboxError as error:
            note(error.message)
            continue
        while line := _asked(f"{stock.place}: " if talking else ""):
            _stock_line(kitchen, stock, line)
    say(f"{count(stock.entered, 'package')} entered.")
    say("Labels for them: freezerbox label; signs for the baskets: freezerbox sign")


def _stock_line(kitchen: Kitchen, stock: Stocktaking, line: str) -> None:
    if line.lower() == "undo":
        _strike(stock)
        return
    try:
        packed = stock.line(line)
    except FreezerboxError as error:
        note(f"{error.message}\n  Not kept; type it again.")
        return
    codes = " ".join(show_code(row.code) for row in packed.rows)
    what = f"{packed.rows[0].cut_name}: {packed.words(kitchen)}"
    say(paragraph(f"{what}. Write on them, or print later: {codes}", "  "))


def _strike(stock: Stocktaking) -> None:
    """Take back the last line that was kept, and say which."""
    try:
        struck = stock.strike()
    except FreezerboxError as error:
        note(error.message)
        return
    if struck is None:
        say("  nothing entered here is left to take back")
        return
    say(f"  taken back: {struck.line} ({struck.words}, in {struck.place})")


def _asked(prompt: str) -> str:
    if prompt:
        print(prompt, end="", flush=True)
    return sys.stdin.readline().strip()


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox adopt K7P-3MT --cut shank --on sat")(adopt)
