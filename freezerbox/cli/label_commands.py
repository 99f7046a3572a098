"""Commands that print labels."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores import label as label_chore
from freezerbox.chores import label_again as again_chore
from freezerbox.chores import printing
from freezerbox.chores.ahead import void_unused
from freezerbox.chores.header import Words
from freezerbox.chores.label_fit import begun_words, refused_words
from freezerbox.chores.wording import count
from freezerbox.cli import header_options as header
from freezerbox.cli.opening import Open, open_written
from freezerbox.cli.options import AsJson, Codes, Freezer, kitchen_of
from freezerbox.cli.output import no_letters, note, paragraph, say, say_json
from freezerbox.cli.pressing import how_to_print, job_list
from freezerbox.cli.stock_commands import stock_app
from freezerbox.core.code import show_code
from freezerbox.labels.media import size_words
from freezerbox.labels.printer import available, printers

Stock = Annotated[str, typer.Option("--stock", metavar="NAME", help="From: freezerbox label stock list")]
To = Annotated[
    Path | None,
    typer.Option("--to", metavar="FILE", help="labels.pdf or labels.png, and no printer.", show_default=False),
]
Printer = Annotated[
    str, typer.Option("--printer", metavar="QUEUE", help="From: freezerbox label printers; none for a file alone.")
]
Design = Annotated[str, typer.Option("--design", metavar="KIND", help="standard, edge or large.")]
Look = Annotated[bool, typer.Option("--look", help="Only draw; nothing counts as printed.")]
Over = Annotated[
    bool, typer.Option("--yes", "-y", help="Over a file that is there; on paper the printer does not list.")
]
Ruler = Annotated[bool, typer.Option("--ruler", help="With a ruler beside them: does the print keep its size?")]
StartAt = Annotated[
    str,
    typer.Option("--start-at", metavar="N|next", help="First free label on the sheet; next goes on after the last."),
]

_MOST_FILES = 3

label_app = typer.Typer(
    help="Print labels: everything not yet printed.", rich_markup_mode=None, invoke_without_command=True
)


@label_app.callback(epilog="Example: freezerbox label --stock letter-10up --to labels.pdf")
def label(
    ctx: typer.Context,
    stock: Stock = "",
    to: To = None,
    printer: Printer = "",
    start_at: StartAt = "",
    design: Design = "",
    from_label: Annotated[
        str, typer.Option("--from", metavar="N", help="After a jam: the last run again, from its N-th label on.")
    ] = "",
    look: Look = False,
    ruler: Ruler = False,
    open_it: Open = False,
    yes: Over = False,
    as_json: AsJson = False,
) -> None:
    """Print labels: everything not yet printed."""
    if ctx.invoked_subcommand is not None:
        return
    with (
        kitchen_of(ctx) as kitchen,
        how_to_print(
            kitchen,
            to=to,
            printer=printer,
            stock=stock,
            start_at=start_at,
            look=look,
            over=yes,
            ruler=ruler,
            design=design,
            as_json=as_json,
        ) as how,
    ):
        printed = (
            again_chore.print_from(kitchen, from_label, how) if from_label else label_chore.print_new(kitchen, how)
        )
        _report(printed, as_json, open_it=open_it)


@label_app.command("again", epilog="Example: freezerbox label again K7P-3MT --to label.pdf")
def label_again(
    ctx: typer.Context,
    codes: Codes,
    stock: Stock = "",
    to: To = None,
    printer: Printer = "",
    start_at: StartAt = "",
    design: Design = "",
    from_label: Annotated[
        str, typer.Option("--from", metavar="N", help="After a jam: the same again, from the N-th of them on.")
    ] = "",
    look: Look = False,
    ruler: Ruler = False,
    open_it: Open = False,
    yes: Over = False,
    as_json: AsJson = False,
) -> None:
    """Print the label of a package again, with its own code.

    It goes on the sheet that is begun, at its next free label.
    An animal's code, or a batch's, prints those of all its packages in the freezer.
    """
    with (
        kitchen_of(ctx) as kitchen,
        how_to_print(
            kitchen,
            to=to,
            printer=printer,
            stock=stock,
            start_at=start_at,
            look=look,
            over=yes,
            ruler=ruler,
            design=design,
            as_json=as_json,
        ) as how,
    ):
        _report(again_chore.print_again(kitchen, codes, how, from_label or "1"), as_json, open_it=open_it)


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
    to: To = None,
    printer: Printer = "",
    start_at: StartAt = "",
    design: Design = "",
    ruler: Ruler = False,
    open_it: Open = False,
    yes: Over = False,
    as_json: AsJson = False,
) -> None:
    """Print labels before filling, to stick on dry flat bags; weigh them later."""
    with (
        kitchen_of(ctx) as kitchen,
        how_to_print(
            kitchen,
            to=to,
            printer=printer,
            stock=stock,
            start_at=start_at,
            over=yes,
            ruler=ruler,
            design=design,
            as_json=as_json,
        ) as how,
    ):
        other = " ".join(cut[1:]) if cut[0].lower() == "other" else ""
        words = Words(
            cut="other" if other else " ".join(cut), other=other, form=form, species=species,
            animals=header.animal_codes(animal), pieces=pieces, wrap=wrap, fat=fat, added=added, seasoning=seasoning,
            place=place, freezer=freezer, owner=owner, note=remark, twice_frozen=frozen_twice,
        )  # fmt: skip
        printed = label_chore.print_ahead(kitchen, number, words, how)
        _report(printed, as_json, open_it=open_it)
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
        rows = void_unused(kitchen)
        if as_json:
            say_json({"void": [row.code for row in rows]})
            return
        say(f"{count(len(rows), 'label')} void: {', '.join(show_code(row.code) for row in rows)}")


@label_app.command("printers", epilog="Example: freezerbox label printers")
def label_printers(as_json: AsJson = False) -> None:
    """The printers of this machine, how they are, and what they can do."""
    found = printers() if available() else ()
    if as_json:
        say_json({"printers": [asdict(one) for one in found]})
        return
    if not found:
        say("There is no printer here that freezerbox can hand labels to. Write a file and print that at 100 %:")
        say("  freezerbox label --to labels.pdf")
    for one in found:
        usual = ", the usual one" if one.default else ""
        say(f"{one.name}{usual}: {one.trouble or ('ready' if one.ready else 'takes no jobs')}")
        for line in (
            one.about,
            f"{', '.join(str(dpi) for dpi in one.resolutions)} dpi" if one.resolutions else "",
            f"sizes: {', '.join(one.media)}" if one.media else "",
            *(f"any size from {size_words(*least)} to {size_words(*most)}" for least, most in one.sizes.ranges),
        ):
            if line:
                say(paragraph(line, "  "))
    if found:
        say(f"To print on one always: freezerbox settings printer {found[0].name}")


@label_app.command("cancel", epilog="Example: freezerbox label cancel")
def label_cancel(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Take back the labels that wait at a printer."""
    with kitchen_of(ctx) as kitchen:
        settled, back = printing.cancel_waiting(kitchen, job_list())
        if as_json:
            say_json(
                {
                    "cancelled": [{"job": owed.job.name, "codes": [m.code for m in owed.marks]} for owed in back],
                    "printed": [
                        {"job": owed.job.name, "codes": [m.code for m in owed.marks]} for owed in settled.printed
                    ],
                    "waiting": [one.owed.job.name for one in settled.waiting],
                }
            )
            return
        for owed in back:
            say(f"Taken back: {count(len(owed.marks), 'label')} at {owed.job.queue}; they count as not printed.")
        for owed in settled.printed:
            say(f"Out already: {count(len(owed.marks), 'label')} at {owed.job.queue}; they count as printed.")
        for one in settled.waiting:
            say(f"Still there: {one.owed.job.name}. See the printer.")


def _report(printed: label_chore.Printed, as_json: bool, *, open_it: bool) -> None:
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
                        "left_off": list(printed.dropped.get(row.code, ())),
                        "unknown_letters": printed.unknown.get(row.code, ""),
                    }
                    for row, place, file in zip(printed.rows, printed.positions, printed.page_files, strict=True)
                ],
                "printed": printed.marked,
                "run": _run_json(printed.run) if printed.run else None,
                "sheets": printed.sheets,
                "start": printed.start,
                "next_start": printed.next_start,
                "job": printed.job or None,
                "caution": printed.caution or None,
                "shift": printed.shift or None,
                "refused": [{"code": code, "why": why.message, "field": why.field} for code, why in printed.refused],
            }
        )
    else:
        _say(printed)
        if printed.shift:
            note(printed.shift)
    for code, letters in printed.unknown.items():
        no_letters(show_code(code), letters)
    for words in refused_words(printed.refused):
        note(words)
    if open_it and not printed.job:
        open_written(printed.files[0])
    if printed.refused:
        raise typer.Exit(1)


def _run_json(run: printing.LastRun) -> dict[str, object]:
    return {"labels": len(run.labels), "when": run.when, "first": run.codes[0], "last": run.codes[-1]}


def _say(printed: label_chore.Printed) -> None:
    labels = f"{count(len(printed.rows), 'label')} on {printed.stock}"
    if printed.sheets > 1:
        labels += f", {printed.sheets} sheets"
    if printed.job:
        say(f"{labels}, printed: {printed.job}")
        run = printed.before + len(printed.rows)
        # A number that is among these labels; a run of one has none to go on from.
        some = max(printed.before + 1, min(run, printing.EXAMPLE))
        command = "the same" if printed.again else "freezerbox label"
        from_some = f"{command} --from {some}, or " if run > 1 else ""
        say(f"Jammed or torn: {from_some}freezerbox label again CODE")
    else:
        files = [str(file) for file in printed.files]
        many = len(files) > _MOST_FILES
        say(f"{labels}: {f'{files[0]} to {files[-1]}, {len(files)} files' if many else ', '.join(files)}")
        say("Print at 100 %, not fitted to the page.")
    if printed.run:
        say(paragraph(f"From label {printed.before + 1} on of {printed.run.words}."))
    if words := begun_words(printed.start, printed.begun):
        say(words)
    if not printed.marked:
        say("A look only: nothing counts as printed by it. To print them: the same without --look.")
    elif printed.next_start > 1:
        say(f"The sheet is used up to label {printed.next_start - 1}; next time: --start-at next")
    from freezerbox.chores.label_left import left_off_lines

    for which, left_off in left_off_lines([row.code for row in printed.rows], printed.dropped):
        say(paragraph(f"{which}: {left_off}", "  ", "    "))


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    label_app.add_typer(stock_app, name="stock")
    app.add_typer(label_app, name="label", rich_help_panel=panel)
