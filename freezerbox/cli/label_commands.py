"""Commands that print labels."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores import label as label_chore
from freezerbox.chores.header import Words
from freezerbox.chores.wording import count
from freezerbox.cli import header_options as header
from freezerbox.cli.options import AsJson, Codes, Freezer, kitchen_of
from freezerbox.cli.output import say, say_json, table
from freezerbox.core.code import show_code

Stock = Annotated[str, typer.Option("--stock", metavar="NAME", help="letter-10up, letter-30up, roll-2x1in-203dpi.")]
To = Annotated[Path, typer.Option("--to", metavar="FILE", help="labels.pdf, or labels.png.")]
StartAt = Annotated[
    str,
    typer.Option("--start-at", metavar="N|next", help="First free label on the sheet; next goes on after the last."),
]
DEFAULT_FILE = Path("labels.pdf")

label_app = typer.Typer(
    help="Print labels: everything not yet printed.", rich_markup_mode=None, invoke_without_command=True
)


@label_app.callback(epilog="Example: freezerbox label --stock letter-10up --to labels.pdf")
def label(
    ctx: typer.Context,
    stock: Stock = "",
    to: To = DEFAULT_FILE,
    start_at: StartAt = "",
    look: Annotated[bool, typer.Option("--look", help="Only draw; nothing counts as printed.")] = False,
    as_json: AsJson = False,
) -> None:
    """Print labels: everything not yet printed."""
    if ctx.invoked_subcommand is not None:
        return
    with kitchen_of(ctx) as kitchen:
        printed = label_chore.print_new(kitchen, to, stock=stock, start_at=start_at, look=look)
        _report(printed, as_json)


@label_app.command("again", epilog="Example: freezerbox label again K7P-3MT --to label.pdf")
def label_again(
    ctx: typer.Context,
    codes: Codes,
    stock: Stock = "",
    to: To = DEFAULT_FILE,
    start_at: StartAt = "",
    look: Annotated[bool, typer.Option("--look", help="Only draw; nothing counts as printed.")] = False,
    as_json: AsJson = False,
) -> None:
    """Print the label of a package again, with its own code."""
    with kitchen_of(ctx) as kitchen:
        printed = label_chore.print_again(kitchen, codes, to, stock=stock, start_at=start_at, look=look)
        _report(printed, as_json)


@label_app.command("ahead", epilog="Example: freezerbox label ahead 20 ground --animal 26B --fat none")
def label_ahead(
    ctx: typer.Context,
    number: Annotated[str, typer.Argument(metavar="N", help="How many.")],
    cut: Annotated[list[str], typer.Argument(metavar="CUT", help="The cut.")],
    animal: header.Animal = "",
    form: header.Form = "",
    pieces: header.Pieces = "",
    wrap: header.Wrap = "",
    fat: header.Fat = "",
    added: header.Added = "",
    seasoning: header.Seasoning = "",
    place: header.Place = "",
    freezer: Freezer = "",
    species: header.Species = "",
    owner: header.Owner = "",
    remark: header.Note = "",
    frozen_twice: header.Twice = False,
    stock: Stock = "",
    to: To = DEFAULT_FILE,
    start_at: StartAt = "",
    as_json: AsJson = False,
) -> None:
    """Print labels before filling, to stick on dry flat bags; weigh them later."""
    with kitchen_of(ctx) as kitchen:
        other = " ".join(cut[1:]) if cut[0].lower() == "other" else ""
        words = Words(
            cut="other" if other else " ".join(cut), other=other, form=form, species=species,
            animals=header.animal_codes(animal), pieces=pieces, wrap=wrap, fat=fat, added=added, seasoning=seasoning,
            place=place, freezer=freezer, owner=owner, note=remark, twice_frozen=frozen_twice,
        )  # fmt: skip
        printed = label_chore.print_ahead(kitchen, number, words, to, stock=stock, start_at=start_at)
        _report(printed, as_json)
        if not as_json:
            say("Stick them on dry, flat bags. At the scale: freezerbox weigh. What is left over: "
                "freezerbox label void --unused")  # fmt: skip


@label_app.command("void", epilog="Example: freezerbox label void --unused")
def label_void(
    ctx: typer.Context,
    unused: Annotated[bool, typer.Option("--unused", help="Every label printed ahead and never weighed.")] = False,
    as_json: AsJson = False,
) -> None:
    """Void the spare labels that no bag was filled for."""
    if not unused:
        raise typer.BadParameter("say --unused: every label printed ahead and never weighed becomes void.")
    with kitchen_of(ctx) as kitchen:
        rows = label_chore.void_unused(kitchen)
        if as_json:
            say_json({"void": [row.code for row in rows]})
            return
        say(f"{count(len(rows), 'label')} void: {', '.join(show_code(row.code) for row in rows)}")


def _report(printed: label_chore.Printed, as_json: bool) -> None:
    if as_json:
        say_json(
            {
                "files": [str(file) for file in printed.files],
                "labels": [
                    {
                        "code": row.code,
                        "file": str(file),
                        "page": place.page,
                        "x_mm": round(place.x_mm, 3),
                        "y_mm": round(place.y_mm, 3),
                        "width_mm": round(place.width_mm, 3),
                        "height_mm": round(place.height_mm, 3),
                    }
                    for row, place, file in zip(printed.rows, printed.positions, printed.page_files, strict=True)
                ],
                "printed": printed.marked,
                "next_start": printed.next_start,
            }
        )
        return
    files = ", ".join(str(file) for file in printed.files)
    say(f"{count(len(printed.rows), 'label')} on {printed.stock}: {files}")
    say("Print at 100 %, not fitted to the page.")
    if not printed.marked:
        say("A look only: they still count as not printed.")
    elif printed.next_start > 1:
        say(f"The sheet is used up to label {printed.next_start - 1}; next time: --start-at next")
    lines = [(show_code(code), f"left off: {', '.join(fields)}") for code, fields in printed.dropped.items()]
    wanted = [line for line in lines if any(field in line[1] for field in ("note", "pieces", "owner"))]
    for line in table(wanted, indent=2):
        say(line)


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.add_typer(label_app, name="label", rich_help_panel=panel)
