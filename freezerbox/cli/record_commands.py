"""Commands that put things right: undo, fix, swap, history, check."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Annotated

import typer

from freezerbox.book import journal
from freezerbox.book.queries import place_of_sign
from freezerbox.chores import fix as fix_chore
from freezerbox.chores import undo as undo_chore
from freezerbox.chores import wording
from freezerbox.chores.check import check as check_chore
from freezerbox.chores.check import repair as repair_chore
from freezerbox.chores.chronicle import of_day, of_thing
from freezerbox.chores.header import whole_number
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.story import story
from freezerbox.chores.take import read_day
from freezerbox.cli import reports
from freezerbox.cli.options import AsJson, Code, Yes, ask, kitchen_of
from freezerbox.cli.output import for_book, say, say_json, table
from freezerbox.cli.wiring import Front, at_terminal
from freezerbox.core.code import compact, is_valid, show_code
from freezerbox.core.dates import household_day, short_date
from freezerbox.core.records import Act
from freezerbox.errors import CannotUndo, InputError

MOST_LISTED = 20
LISTED = 15
"""So many acts are listed when not all are asked for."""
MOST_ACTS = 10_000_000


def undo(
    ctx: typer.Context,
    number: Annotated[str, typer.Argument(metavar="[NUMBER]", help="Act number; with --list, how many.")] = "",
    listing: Annotated[bool, typer.Option("--list", help="Show the latest acts instead.")] = False,
    everything: Annotated[bool, typer.Option("--all", help="With --list: every act there is.")] = False,
    as_json: AsJson = False,
) -> None:
    """Take back the last thing done here, all of it."""
    if everything and not listing:
        raise InputError("--all goes with --list. Undo takes back one act at a time: freezerbox undo --list --all")
    if everything and number:
        raise InputError(f"--all lists every act, {number} so many. Give one of the two.", value=number)
    with kitchen_of(ctx) as kitchen:
        if listing:
            many = whole_number(number, "acts", MOST_ACTS) if number else LISTED
            acts = journal.acts(kitchen.book, limit=None if everything else many)
            if as_json:
                say_json({"acts": [_act_json(act) for act in acts]})
                return
            for line in table([_listed(kitchen, act) for act in acts], right=(0,)):
                say(line)
            if acts and acts[-1].id > 1:
                say(f"{wording.count(acts[-1].id - 1, 'older act')}: freezerbox undo --list --all")
            return
        act = undo_chore.target(kitchen, whole_number(number, "an act", MOST_ACTS) if number else None)
        if not number and undo_chore.is_old(kitchen, act):
            last = f"The last thing done here is act {act.id}, recorded on {act.recorded_at[:10]}: {act.words}."
            if as_json or not at_terminal():
                raise CannotUndo(f"{last} If that is meant: freezerbox undo {act.id}", act=act.id)
            if not ask(f"{last} Take it back?"):
                raise typer.Exit(1)
        undone = undo_chore.undo(kitchen, act)
        if as_json:
            say_json({"done": [row_json(row) for row in undone.rows], "refused": [], "act": act.id})
            return
        say(f"{undone.words} ({short_date(act.happened_on, today=kitchen.today)}).")
        for row in undone.rows[:MOST_LISTED]:
            say(f"  {wording.coded_line(kitchen, row)}: {wording.now_words(row, kitchen.today)}")
        if len(undone.rows) > MOST_LISTED:
            say(f"  ... and {len(undone.rows) - MOST_LISTED} more")
        for line in undone.held:
            say(f"  {line}")
        say(f"To {'take it back' if undone.again else 'have it again'}: freezerbox undo {undone.number}")


def _listed(kitchen: Kitchen, act: Act) -> tuple[str, ...]:
    """Number, day and time, what and by whom; when it was recorded, where that was on another day."""
    day, (moment, later) = short_date(act.happened_on, today=kitchen.today), _recorded(kitchen, act)
    said = [words for words in (f"by {act.by}" if act.by else "", later) if words]
    return str(act.id), f"{day} {moment}".rstrip(), _act_words(act) + (f" ({', '.join(said)})" if said else "")


def _recorded(kitchen: Kitchen, act: Act) -> tuple[str, str]:
    """``21:05``, and ""; "" and ``recorded 3 Dec 21:05`` where that is not the day it happened; neither when the book
    does not say."""
    try:
        # By the difference of now: an act of the other half of the year may read an hour off.
        ahead = kitchen.clock.now() - kitchen.clock.stamp().replace(tzinfo=None)
        at = datetime.fromisoformat(act.recorded_at).astimezone(UTC).replace(tzinfo=None)
        local = at + timedelta(seconds=round(ahead.total_seconds()))
    except (ValueError, TypeError, OverflowError):
        return "", ""
    moment = f"{local:%H:%M}"
    day = household_day(local)
    if day == act.happened_on:
        return moment, ""
    return "", f"recorded {short_date(day, today=kitchen.today)} {moment}"


def _act_json(act: Act) -> dict[str, object]:
    return {
        "act": act.id,
        "kind": act.kind,
        "on": act.happened_on.isoformat(),
        "words": act.words,
        "by": act.by or None,
        "undone_by": act.undone_by,
        "recorded_at": act.recorded_at,
    }


def _act_words(act: Act) -> str:
    return act.words + (f" (taken back by act {act.undone_by})" if act.undone_by else "")


def history(
    ctx: typer.Context,
    what: Annotated[
        str, typer.Argument(metavar="[WHAT]", help="A code, an animal such as 26B, a place, a freezer.")
    ] = "",
    on: Annotated[str, typer.Option("--on", metavar="DAY", help="Only that day.")] = "",
    as_json: AsJson = False,
) -> None:
    """What happened to a package, an animal, a place, on a day."""
    with kitchen_of(ctx) as kitchen:
        if what and is_valid(compact(what)) and place_of_sign(kitchen.book, compact(what)) is None:
            found = story(kitchen, what)
            if on:
                day = read_day(kitchen, on)
                found = replace(found, steps=tuple(step for step in found.steps if step.on == day))
            if as_json:
                say_json({"code": found.row.code, "history": reports.steps_json(found)})
                return
            say(wording.coded_line(kitchen, found.row))
            for line in reports.history_lines(kitchen, found):
                say(line)
            if not found.steps:
                say("  nothing")
            return
        if not what and not on:
            raise InputError(
                "Say what: a code, an animal, a place, a freezer, or --on a day. All acts: "
                "freezerbox undo --list --all"
            )
        chapter = of_thing(kitchen, what, on) if what else of_day(kitchen, on)
        if as_json:
            say_json({"title": chapter.title, "acts": [_act_json(act) for act in chapter.acts]})
            return
        say(chapter.title)
        for line in table(_act_cells(kitchen, chapter.acts), indent=2):
            say(line)
        if not chapter.acts:
            say("  nothing")


def _act_cells(kitchen: Kitchen, acts: Sequence[Act]) -> list[tuple[str, ...]]:
    return [
        (
            short_date(act.happened_on, today=kitchen.today),
            f"act {act.id}",
            _act_words(act) + (f" (by {act.by})" if act.by else ""),
        )
        for act in acts
    ]


def fix(
    ctx: typer.Context,
    code: Code,
    weight: Annotated[str | None, typer.Option("--weight", metavar="WEIGHT", help="x for not weighed.")] = None,
    pieces: Annotated[str | None, typer.Option("--pieces", metavar="N", help="Pieces inside.")] = None,
    cut: Annotated[str | None, typer.Option("--cut", metavar="CUT", help='The cut; or "other chili".')] = None,
    form: Annotated[str | None, typer.Option("--form", metavar="FORM", help="half, steaks, ...")] = None,
    animal: Annotated[str | None, typer.Option("--animal", metavar="CODE", help="Animal it came from.")] = None,
    wrap: Annotated[str | None, typer.Option("--wrap", metavar="WRAP", help="How it is wrapped.")] = None,
    rewrap: Annotated[str, typer.Option("--rewrap", metavar="WRAP", help="It was wrapped anew, now like this.")] = "",
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
        if rewrap:
            from freezerbox.chores.wraps import rewrap as rewrap_chore

            _say_fixed(kitchen, rewrap_chore(kitchen, code, rewrap), as_json=as_json)
            return
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
    """Two labels on each other's packs: exchange their records."""
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
        if len(fixed.reprint) > 1:
            say(
                "Both printed labels say the other pack's words. New ones, each over the old one of its code: "
                f"freezerbox label again {codes}"
            )
        else:
            say(f"Its printed label says the old words. A new one: freezerbox label again {codes}")


def check(
    ctx: typer.Context,
    repair: Annotated[
        bool, typer.Option("--repair", help="Rebuild what follows from the journal; copies first.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Look the book over; nothing is changed without --repair.

    A value that was altered inside the file without breaking it may go unseen: the file keeps no checksums.
    """
    with kitchen_of(ctx) as kitchen:
        mended = repair_chore(kitchen) if repair else None
        found = mended.after if mended else check_chore(kitchen)
        front = ctx.find_object(Front)
        named = str(front.book) if front and front.book else ""
        found = replace(found, faults=tuple(for_book(fault, named) for fault in found.faults))
        if as_json:
            report: dict[str, object] = {
                "faults": list(found.faults),
                "packages": found.packages,
                "movements": found.movements,
                "days_since_copy_elsewhere": found.away_days,
            }
            if mended:
                report["rebuilt"] = list(mended.rebuilt)
            say_json(report)
        else:
            for line in mended.rebuilt if mended else ():
                say(f"Mended: {line}.")
            if mended and mended.rebuilt and mended.copy:
                say(f"The book as it was: {mended.copy}")
            for fault in found.faults:
                say(fault)
            looked = ""
            if found.packages is not None and found.movements is not None:
                records = wording.count(found.packages, "package record")
                looked = f"{records}, {wording.count(found.movements, 'movement')}: "
            say(f"{looked}{wording.count(len(found.faults), 'fault') if found.faults else 'all is well'}.")
            say(_away_words(found.away_days))
        if found.faults:
            raise typer.Exit(1)


def _away_words(days: int | None) -> str:
    if days is None:
        return "No copy lies on another disk yet: freezerbox backup --to FOLDER on a stick or second disk."
    when = "today" if days == 0 else f"{wording.count(days, 'day')} ago"
    return f"Last copy on another disk: {when}."


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox undo")(undo)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox fix K7P-3MT --weight 1.3")(fix)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox swap K7P-3MT K9R-20A")(swap)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox history K7P-3MT")(history)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox check")(check)
