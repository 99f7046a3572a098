"""Commands that put things right: undo, fix, swap, history, check."""

from __future__ import annotations

from typing import Annotated

import typer

from freezerbox.book import journal
from freezerbox.chores import fix as fix_chore
from freezerbox.chores import undo as undo_chore
from freezerbox.chores import wording
from freezerbox.chores.check import check as check_chore
from freezerbox.chores.header import whole_number
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.story import story
from freezerbox.cli import reports
from freezerbox.cli.options import AsJson, Code, Yes, kitchen_of
from freezerbox.cli.output import say, say_json, table
from freezerbox.core.code import show_code
from freezerbox.core.dates import short_date
from freezerbox.core.records import Act

MOST_LISTED = 20
MOST_ACTS = 10_000_000


def undo(
    ctx: typer.Context,
    number: Annotated[str, typer.Argument(metavar="[NUMBER]", help="Act number, from --list.")] = "",
    listing: Annotated[bool, typer.Option("--list", help="Show the latest acts instead.")] = False,
    as_json: AsJson = False,
) -> None:
    """Take back the last thing done here, all of it."""
    with kitchen_of(ctx) as kitchen:
        if listing:
            acts = journal.acts(kitchen.book, limit=MOST_LISTED)
            if as_json:
                say_json({"acts": [_act_json(act) for act in acts]})
                return
            cells = [(str(act.id), short_date(act.happened_on, today=kitchen.today), _act_words(act)) for act in acts]
            for line in table(cells, right=(0,)):
                say(line)
            return
        act = undo_chore.target(kitchen, whole_number(number, "an act", MOST_ACTS) if number else None)
        undone = undo_chore.undo(kitchen, act)
        if as_json:
            say_json({"done": [row_json(row) for row in undone.rows], "refused": [], "act": act.id})
            return
        say(f"Taken back: {act.words} ({short_date(act.happened_on, today=kitchen.today)}).")
        for row in undone.rows[:MOST_LISTED]:
            say(f"  {wording.coded_line(kitchen, row)}: {wording.now_words(row, kitchen.today)}")
        if len(undone.rows) > MOST_LISTED:
            say(f"  ... and {len(undone.rows) - MOST_LISTED} more")
        say(f"To have it again: freezerbox undo {undone.number}")


def _act_json(act: Act) -> dict[str, object]:
    return {
        "act": act.id,
        "kind": act.kind,
        "on": act.happened_on.isoformat(),
        "words": act.words,
        "by": act.by or None,
        "undone_by": act.undone_by,
    }


def _act_words(act: Act) -> str:
    return act.words + (f" (taken back by act {act.undone_by})" if act.undone_by else "")


def history(ctx: typer.Context, code: Code, as_json: AsJson = False) -> None:
    """What happened to a package, and when."""
    with kitchen_of(ctx) as kitchen:
        found = story(kitchen, code)
        if as_json:
            say_json({"code": found.row.code, "history": reports.steps_json(found)})
            return
        say(wording.coded_line(kitchen, found.row))
        for line in reports.history_lines(kitchen, found):
            say(line)


def fix(
    ctx: typer.Context,
    code: Code,
    weight: Annotated[str | None, typer.Option("--weight", metavar="WEIGHT", help="x for not weighed.")] = None,
    pieces: Annotated[str | None, typer.Option("--pieces", metavar="N", help="Pieces inside.")] = None,
    cut: Annotated[str | None, typer.Option("--cut", metavar="CUT", help="The cut.")] = None,
    form: Annotated[str | None, typer.Option("--form", metavar="FORM", help="half, steaks, ...")] = None,
    animal: Annotated[str | None, typer.Option("--animal", metavar="CODE", help="Animal it came from.")] = None,
    wrap: Annotated[str | None, typer.Option("--wrap", metavar="WRAP", help="How it is wrapped.")] = None,
    fat: Annotated[str | None, typer.Option("--fat", metavar="PERCENT", help="20, or none.")] = None,
    seasoning: Annotated[str | None, typer.Option("--seasoning", metavar="WORDS", help="Seasoned with.")] = None,
    remark: Annotated[str | None, typer.Option("--note", metavar="WORDS", help="A line for the label.")] = None,
    owner: Annotated[str | None, typer.Option("--owner", metavar="NAME", help="Whose it is.")] = None,
    reserved_for: Annotated[str | None, typer.Option("--for", metavar="WORDS", help="Reserved for.")] = None,
    packed: Annotated[str | None, typer.Option("--packed", metavar="DAY", help="Day it was packed.")] = None,
    first_frozen: Annotated[
        str | None, typer.Option("--first-frozen", metavar="DAY", help="Day it was frozen.")
    ] = None,
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Correct what the book says of a package."""
    with kitchen_of(ctx) as kitchen:
        to = fix_chore.Corrections(
            weight=weight, pieces=pieces, cut=cut, form=form, animal=animal, wrap=wrap, fat=fat, seasoning=seasoning,
            note=remark, owner=owner, reserved_for=reserved_for, packed=packed, first_frozen=first_frozen,
        )  # fmt: skip
        _say_fixed(kitchen, fix_chore.fix(kitchen, code, to, yes=yes), as_json=as_json)


def swap(
    ctx: typer.Context,
    one: Annotated[str, typer.Argument(metavar="CODE", help="One label.")],
    other: Annotated[str, typer.Argument(metavar="CODE", help="The other.")],
    as_json: AsJson = False,
) -> None:
    """Two labels went onto each other's packs: exchange their records."""
    with kitchen_of(ctx) as kitchen:
        _say_fixed(kitchen, fix_chore.swap(kitchen, one, other), as_json=as_json)


def _say_fixed(kitchen: Kitchen, fixed: fix_chore.Fixed, *, as_json: bool) -> None:
    if as_json:
        say_json({"done": [row_json(row) for row in fixed.rows], "refused": [], "reprint": list(fixed.reprint)})
        return
    say(fixed.message)
    for row in fixed.rows:
        say(f"  {wording.coded_line(kitchen, row)}")
    if fixed.reprint:
        codes = " ".join(show_code(code) for code in fixed.reprint)
        say(f"Its printed label says the old words. A new one: freezerbox label again {codes}")


def check(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Look the book over; nothing is changed."""
    with kitchen_of(ctx) as kitchen:
        found = check_chore(kitchen)
        if as_json:
            say_json({"faults": list(found.faults), "packages": found.packages, "movements": found.movements})
        else:
            for fault in found.faults:
                say(fault)
            looked = f"{wording.count(found.packages, 'package')}, {wording.count(found.movements, 'movement')}"
            say(f"{looked}: {wording.count(len(found.faults), 'fault') if found.faults else 'all is well'}.")
        if found.faults:
            raise typer.Exit(1)


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox undo")(undo)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox fix K7P-3MT --weight 1.3")(fix)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox swap K7P-3MT K9R-20A")(swap)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox history K7P-3MT")(history)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox check")(check)
