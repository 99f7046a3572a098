"""Commands about label paper: what there is, paper of one's own, and how far the printer is off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.book.parts import free_name
from freezerbox.chores import stocks
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label_fit import moved_far, shift_words
from freezerbox.chores.plain_file import refuse_taken
from freezerbox.cli.options import AsJson, WriteOver, kitchen_of
from freezerbox.cli.output import note, say, say_json, table
from freezerbox.cli.wiring import at_terminal
from freezerbox.errors import FreezerboxError, InputError, NoBook
from freezerbox.labels.auto import refuse_small
from freezerbox.labels.ruler import WHITE_MM, ruler_mm

Name = Annotated[str, typer.Argument(metavar="[NAME]", help="The stock; the house's own when it is left out.")]

stock_app = typer.Typer(
    help="Label paper: list it, add your own, measure the printer.",
    epilog="Example: freezerbox label stock test a4-21up --right 0.8 --down=-0.5",
    rich_markup_mode=None,
    invoke_without_command=True,
)


@stock_app.callback()
def stock_alone(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Label paper: list it, add your own, measure the printer."""
    if ctx.invoked_subcommand is None:
        stock_list(ctx, as_json=as_json)


@stock_app.command("list", epilog="Example: freezerbox label stock list")
def stock_list(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Every label paper that freezerbox can print on."""
    bare = False
    try:
        with kitchen_of(ctx) as kitchen:
            found = stocks.list_stocks(kitchen)
    except NoBook as error:
        if "copy" in error.facts:
            raise  # The household's own paper and its shifts come back with the book.
        found, bare = stocks.shipped_stocks(), True
    if as_json:
        say_json({"stocks": [asdict(one) for one in found]})
        return
    rows = []
    for one in found:
        marks = [word for word, true in (("usual", one.usual), ("your own", one.own)) if true]
        if moved := shift_words(one.shift_x_mm, one.shift_y_mm):
            marks.append(f"moved {moved}")
        if len(one.designs) > 1:
            marks.append(f"designs {', '.join(one.designs)}")
        words = "; ".join([one.title, *marks]) if not one.faults else f"FAULTY: {'; '.join(one.faults)}"
        rows.append((one.name, words))
    for line in table(rows):
        say(line)
    if bare:
        note("There is no freezer book yet: this is the paper that comes with freezerbox.")


@stock_app.command(
    "new", epilog="Example: freezerbox label stock new a4-14up 99.1mm 38.1mm --page a4 --columns 2 --rows 7"
)
def stock_new(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="[NAME]", help="What --stock will take.")] = "",
    width: Annotated[str, typer.Argument(metavar="[WIDTH]", help="Of one label: 99.1 mm, 2.625 in.")] = "",
    height: Annotated[str, typer.Argument(metavar="[HEIGHT]", help="Of one label.")] = "",
    page: Annotated[str, typer.Option("--page", metavar="SIZE", help="letter, a4, 210x297mm; none: a roll.")] = "",
    columns: Annotated[str, typer.Option("--columns", metavar="N", help="Labels across.")] = "",
    rows: Annotated[str, typer.Option("--rows", metavar="N", help="Labels down.")] = "",
    left: Annotated[str, typer.Option("--left", metavar="MM", help="Edge to first label; none: centred.")] = "",
    top: Annotated[str, typer.Option("--top", metavar="MM", help="Edge to first label; none: centred.")] = "",
    pitch_x: Annotated[str, typer.Option("--pitch-x", metavar="MM", help="Label to next; none: they touch.")] = "",
    pitch_y: Annotated[str, typer.Option("--pitch-y", metavar="MM", help="Label to next; none: they touch.")] = "",
    dpi: Annotated[
        str, typer.Option("--dpi", metavar="N", help="Of the printer; 300 on a roll, 600 on sheets.")
    ] = "",
    as_json: AsJson = False,
) -> None:
    """Add label paper by its sizes."""
    new = stocks.NewStock(
        name=name, width=width, height=height, dpi=dpi, page=page, columns=columns, rows=rows, left=left, top=top,
        pitch_x=pitch_x, pitch_y=pitch_y,
    )  # fmt: skip
    if not (name and width and height) and (not at_terminal() or as_json):
        raise typer.BadParameter("give a name, a width and a height: a4-14up 99.1mm 38.1mm")
    with kitchen_of(ctx) as kitchen:
        if not (name and width and height):
            new = _asked(kitchen, new)
        made, files = stocks.new_stock(kitchen, new)
        bars = stocks.bars_fit(kitchen, made)
        if as_json:
            say_json({"stock": asdict(made), "files": [str(file) for file in files], "code_128": bars})
            return
        say(f"{made.name}: {made.title}, design {made.design}")
        for file in files:
            say(f"  {file}")
        if not bars:
            say("No room for the Code 128 on an ordinary label of this size; the QR is on every one.")
        say(f"Try it: freezerbox label stock test {made.name}")


def _asked(kitchen: Kitchen, new: stocks.NewStock) -> stocks.NewStock:
    """The rest of it, asked, until it is label paper; what is wrong between the answers is told, and all but the name
    asked again.
    """
    while True:
        asked = _asked_once(kitchen, new)
        try:
            made, _ = stocks.plan_stock(kitchen, asked)
        except FreezerboxError as error:
            say(error.message)
            new = stocks.NewStock(name=asked.name, width="", height="")
            continue
        say(f"{made.width_mm:g} mm wide, {made.height_mm:g} mm high")
        return asked


def _asked_once(kitchen: Kitchen, new: stocks.NewStock) -> stocks.NewStock:
    """The rest of it, asked; an answer that is none is asked again, and those before it stay."""

    def ask(question: str, given: str, check: Callable[[str], object], default: str = "") -> str:
        while True:
            said = given or str(typer.prompt(question, default=default, show_default=bool(default))).strip()
            given = ""
            try:
                if said or default:
                    check(said)
                return said
            except FreezerboxError as error:
                say(error.message)

    def length(what: str) -> Callable[[str], object]:
        return lambda text: stocks.parse_length(text, what)

    def must(check: Callable[[str], object], question: str, given: str) -> str:
        while not (said := ask(question, given, check)):
            say("It cannot do without that.")
        return said

    name = must(lambda text: stocks.free_stock_name(kitchen, text), "Name for it, such as a4-14up", new.name)
    width, height = new.width, new.height
    while True:
        width = must(length("the label's width"), "Width of one label (99.1 mm, 2 5/8 in)", width)
        height = must(length("the label's height"), "Height of one label", height)
        try:
            refuse_small(stocks.parse_length(width, "the width"), stocks.parse_length(height, "the height"))
            break
        except FreezerboxError as error:
            say(error.message)
            width = height = ""
    page = ask("Page: letter, a4, 210x297mm; Enter for a roll", new.page, stocks.parse_page)
    if not page:
        dpi = ask("Dots per inch", new.dpi, stocks.parse_dpi, "300")
        return stocks.NewStock(name=name, width=width, height=height, dpi=dpi)

    def across(text: str) -> int:
        return stocks.parse_whole(text, "columns", stocks.MOST_COLUMNS)

    def down(text: str) -> int:
        return stocks.parse_whole(text, "rows", stocks.MOST_ROWS)

    pitch = "From one label's {} edge to the next one's (Enter: they touch)"
    margin = "From the page's {} edge to the first label (Enter: centred)"
    return stocks.NewStock(
        name=name, width=width, height=height, page=page, dpi=new.dpi or str(stocks.SHEET_DPI),
        columns=ask("Labels across", new.columns, across, "1"), rows=ask("Labels down", new.rows, down, "1"),
        pitch_x=ask(pitch.format("left"), new.pitch_x, length("the pitch across")),
        pitch_y=ask(pitch.format("top"), new.pitch_y, length("the pitch down")),
        left=ask(margin.format("left"), new.left, length("the left margin")),
        top=ask(margin.format("top"), new.top, length("the top margin")),
    )  # fmt: skip


@stock_app.command("test", epilog="Example: freezerbox label stock test a4-21up --right 0.8 --down=-0.5")
def stock_test(
    ctx: typer.Context,
    name: Name = "",
    right: Annotated[
        str, typer.Option("--right", metavar="MM", help="The print lies so far to the right; left is negative.")
    ] = "",
    down: Annotated[str, typer.Option("--down", metavar="MM", help="So far down; up is negative.")] = "",
    none: Annotated[bool, typer.Option("--none", help="Labels are moved no more.")] = False,
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FILE", help="ruler.pdf, or ruler.png.", show_default=False)
    ] = None,
    yes: WriteOver = False,
    as_json: AsJson = False,
) -> None:
    """Print a ruler page, or take what was measured on it."""
    with kitchen_of(ctx) as kitchen:
        if none and (right or down):
            raise InputError(
                "Give --none, or how far the print lies off; one after the other.", value=f"{right}, {down}"
            )
        if (right or down or none) and to:
            raise InputError(
                "Give the shift, or --to for a page to measure it on; one after the other.", value=str(to)
            )
        if right or down or none:
            before = stocks.shift_of(kitchen, name)
            paper = stocks.no_shift(kitchen, name) if none else stocks.correct(kitchen, name, right, down)
            if as_json:
                say_json({"stock": paper.name, "shift_x_mm": paper.shift_x_mm, "shift_y_mm": paper.shift_y_mm})
                return
            moved = shift_words(paper.shift_x_mm, paper.shift_y_mm)
            added = f"; it was {before}{'' if none else ', and what is measured adds up'}" if before else ""
            say(f"Labels on {paper.name} are {f'moved {moved}' if moved else 'not moved'} now{added}.")
            if moved_far(paper):
                note(
                    f"That is more than the {WHITE_MM:g} mm that labels keep white at the edge: look whether the "
                    "words and symbols are still whole. If you can, set it at the printer instead."
                )
            return
        if to and not yes:
            refuse_taken(to, "labels")
        paper, file = stocks.print_ruler(kitchen, name, to or free_name(Path("ruler.pdf")))
        if as_json:
            say_json({"stock": paper.name, "files": [str(file)]})
            return
        if paper.kind == "roll":
            say(f"{file}: print it at 100 % on one of the labels.")
            long = ruler_mm(paper)
            say(f"From 0 to {long} it must measure {long} mm, and the frame be the label's edge.")
            say("Then say how far the frame lies to the right and down, such as:")
        else:
            say(f"{file}: print it at 100 % on plain paper, and hold it against the label paper and a lamp.")
            say("The rulers must measure 100 mm. Then say how far the frames lie to the right and down, such as:")
        say(f"  freezerbox label stock test {paper.name} --right 0.8 --down=-0.5")
