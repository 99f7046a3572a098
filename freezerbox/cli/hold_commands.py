"""Holds and test results: hold, release, result."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores import holding, wording
from freezerbox.chores import result as result_chore
from freezerbox.chores import trace as trace_chore
from freezerbox.chores.guidance import guidance
from freezerbox.chores.header import find_animal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pull import PullSheet, pull_sheet
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.rows import totals, totals_json
from freezerbox.cli.options import AsJson, Yes, ask, kitchen_of
from freezerbox.cli.output import no_letters, paragraph, say, say_json
from freezerbox.cli.pull_lines import refuse_file, sheet_json, sheet_lines
from freezerbox.cli.wiring import at_terminal
from freezerbox.core.code import show_code
from freezerbox.core.records import State, TestResult
from freezerbox.errors import OutOfLine, Refused

Subject = Annotated[
    str, typer.Argument(metavar="CODE", help="A package's code, an animal's or a batch's: K7P-3MT, 26B, G26-1.")
]
Why = Annotated[str, typer.Option("--why", metavar="WORDS", help="The reason, in a few words. Needed.")]
On = Annotated[str, typer.Option("--on", metavar="DAY", help="When it was not today.")]
Names = Annotated[Path | None, typer.Option("--to", metavar="FILE.pdf", help="The pull sheet as a page too.")]


def hold(ctx: typer.Context, code: Subject, why: Why = "", on: On = "", as_json: AsJson = False) -> None:
    """Keep a package, a batch or an animal's meat from being eaten."""
    with kitchen_of(ctx) as kitchen:
        _say_held(kitchen, holding.hold(kitchen, code, why, since=on), as_json)


def release(
    ctx: typer.Context, code: Subject, why: Why = "", on: On = "", yes: Yes = False, as_json: AsJson = False
) -> None:
    """Let go of a hold; the reason is kept."""
    with kitchen_of(ctx) as kitchen:
        _say_held(kitchen, holding.release(kitchen, code, why, on=on, yes=yes), as_json)


def _say_held(kitchen: Kitchen, held: holding.Held, as_json: bool) -> None:
    if as_json:
        say_json(_held_json(held))
        return
    for line in _held_lines(held):
        say(line)


def _held_lines(held: holding.Held) -> Iterator[str]:
    yield paragraph(held.message)
    if held.reprint:
        codes = held.together or " ".join(show_code(code) for code in held.reprint)
        yield paragraph(
            "Their labels still say DO NOT EAT. Tick the box on the banner, or print clean ones: "
            f"freezerbox label again {codes}"
        )


def _held_json(held: holding.Held) -> dict[str, object]:
    frozen = [row for row in held.rows if row.package.state.state is State.FROZEN]
    return {
        "packages": [row_json(row) for row in held.rows],
        "in_freezer": totals_json(totals(frozen)),
        "still_held": [row.code for row in held.still_held],
        "reprint": list(held.reprint),
        "together": held.together or None,
    }


def result(
    ctx: typer.Context,
    animal: Annotated[str, typer.Argument(metavar="ANIMAL", help="The animal's code.")],
    said: Annotated[
        str,
        typer.Argument(metavar="RESULT", help="not-detected, detected, inconclusive, not-tested, sample-lost."),
    ],
    on: Annotated[str, typer.Option("--on", metavar="DAY", help="Day of the result.")] = "",
    sample: Annotated[str, typer.Option("--sample", metavar="NUMBER", help="Checked against the animal's.")] = "",
    what_for: Annotated[str, typer.Option("--for", metavar="WHAT", help="What was tested for.")] = "",
    to: Names = None,
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Record a test result; every package of the animal follows."""
    refuse_file(to, ".pdf", what="pull sheet", yes=True)
    with kitchen_of(ctx) as kitchen:
        coming = result_chore.understand(kitchen, animal, said, on=on, sample=sample, what_for=what_for, yes=yes)
        if coming.result is TestResult.DETECTED:
            refuse_file(to, ".pdf", what="pull sheet", yes=yes)
        if not yes:
            _confirm(coming, quiet=as_json)
        held = result_chore.record(kitchen, coming, what_for=what_for)
        kitchen = kitchen.afresh()
        sheet = pull_sheet(kitchen, animal) if coming.result is TestResult.DETECTED else None
        unknown = ""
        if sheet is not None and to is not None:
            from freezerbox.chores.pages import print_pull_sheet

            unknown = print_pull_sheet(kitchen, sheet, to).unknown
            no_letters(to, unknown)
        if as_json:
            found = _held_json(held) | {"animal": coming.animal.code, "result": coming.result.value}
            found |= {"sample": coming.sample or None, "on": coming.on.isoformat()}
            say_json(found | ({"pull": sheet_json(sheet), "unknown_letters": unknown} if sheet else {}))
            return
        if yes:
            # Written before it is said: a pipe that closes early must not lose the result.
            say(paragraph(coming.words()))
        _say_result(kitchen, coming, held, sheet)
        if sheet is not None:
            say()
            if to is not None:
                say(f"Page: {to}")
            say(f"The sheet again, as a page: freezerbox trace {coming.animal.code} --pull --to pull.pdf")
        if trace_chore.who_has(kitchen, coming.animal.code):
            say(f"Notices for those who have some: freezerbox trace {coming.animal.code} --who --notices FOLDER")


def _confirm(coming: result_chore.Coming, *, quiet: bool) -> None:
    """Ask at a terminal; refuse where nobody can be asked, saying what would be recorded.

    Raises: Refused; OutOfLine where nobody can be asked.
    """
    if quiet or not at_terminal():
        raise OutOfLine(
            f"Nothing recorded yet, and nobody here can be asked. It would be: {coming.words()} "
            "If that is the right animal and sample, say so with --yes.",
            animal=coming.animal.code,
            packages=coming.in_freezer,
        )
    say(paragraph(coming.words()))
    if not ask("Is that the right animal and number"):
        raise Refused("Nothing was recorded.")


def _say_result(kitchen: Kitchen, coming: result_chore.Coming, held: holding.Held, sheet: PullSheet | None) -> None:
    for line in _held_lines(held):
        say(line)
    if sheet is not None:
        say()
        for line in sheet_lines(kitchen, sheet):
            say(line)
    elif coming.result is not TestResult.NOT_DETECTED and any(row.holds for row in held.rows):
        if said := guidance([find_animal(kitchen, coming.animal.code)]):
            say(paragraph(said))
        say(wording.count(coming.in_freezer, "package") + " on hold.")


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog='Example: freezerbox hold K7P-3MT --why "smells odd"')(hold)
    app.command(rich_help_panel=panel, epilog='Example: freezerbox release 26B --why "agency says clear"')(release)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox result 26B not-detected --on 12dec")(result)
    app.command("test", hidden=True, epilog="Example: freezerbox test 26B not-detected --on 12dec")(result)
