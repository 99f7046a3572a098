"""Everyday commands: find, scan, take, put-back, rotation, show."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.book.door import told_after
from freezerbox.chores import take as take_chore
from freezerbox.chores.header import whole_number
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.rows import totals_json
from freezerbox.chores.several import codes_named, refuse_strangers, with_all
from freezerbox.chores.units import names_package, number_of
from freezerbox.cli import reports
from freezerbox.cli.options import AsJson, AsOf, Code, Codes, Freezer, ask, kitchen_of
from freezerbox.cli.output import answer, note, say, say_json, say_json_line
from freezerbox.cli.wiring import at_terminal
from freezerbox.core.code import looks_like_code
from freezerbox.core.dates import long_date
from freezerbox.core.records import Reason
from freezerbox.errors import BookTrouble, FreezerboxError, InputError, InvalidCode, OutOfLine, UnknownWord

As = Annotated[
    str, typer.Option("--as", metavar="REASON", help="eaten, given, discarded, made-into, canned, fed-to-dog.")
]
AlreadyEaten = Annotated[
    bool, typer.Option("--already-eaten", help="Record it although it is on hold: it has been eaten.")
]
On = Annotated[str, typer.Option("--on", metavar="DAY", help="When it was not today: yesterday, sat.")]


def find(
    ctx: typer.Context,
    words: Annotated[list[str], typer.Argument(metavar="WORDS", help="Cut, species, animal, place, month, note.")],
    gone: Annotated[bool, typer.Option("--gone", help="Those that left, instead.")] = False,
    everyone: Annotated[bool, typer.Option("--everyone", help="Other people's packages too.")] = False,
    reserved: Annotated[bool, typer.Option("--reserved", help="Only what is set aside for something.")] = False,
    as_of: AsOf = "",
    as_json: AsJson = False,
) -> None:
    """Do we have any, and where: by your own words."""
    from freezerbox.chores import find as find_chore
    from freezerbox.chores.parted import parted_json

    with kitchen_of(ctx, as_of) as kitchen:
        found = find_chore.find(kitchen, " ".join(words), gone=gone, everyone=everyone, reserved=reserved)
        if as_json:
            say_json(
                {
                    "rows": [row_json(row) for row in found.rows],
                    "nearby": [row_json(row) for row in found.nearby],
                    "totals": totals_json(found.totals),
                    "reserved": [row_json(row) for row in found.reserved],
                    "away": [row_json(row) for row in found.away],
                    "not_for_people": [row_json(row) for row in found.not_for_people],
                    "parted": [parted_json(one, row_json(one.row)) for one in found.parted],
                    "finished_lots": [
                        parted_json(found.finished[row.code], row_json(row))
                        for row in found.rows
                        if row.code in found.finished
                    ],
                }
            )
            return
        _say_as_of(kitchen)
        for line in reports.found_lines(kitchen, found, gone=gone):
            say(line)


def rotation(
    ctx: typer.Context,
    within: Annotated[str, typer.Option("--within", metavar="MONTHS", help="Best by within that many months.")] = "",
    species: Annotated[str, typer.Option("--species", metavar="NAME", help="Only this species.")] = "",
    cut: Annotated[str, typer.Option("--cut", metavar="NAME", help="Only this cut.")] = "",
    place: Annotated[str, typer.Option("--place", metavar="NAME", help="Only this place.")] = "",
    freezer: Freezer = "",
    limit: Annotated[str, typer.Option("--limit", metavar="N", help="Rows shown; 12 when not said.")] = "12",
    everything: Annotated[bool, typer.Option("--all", help="Every row.")] = False,
    everyone: Annotated[bool, typer.Option("--everyone", help="Other people's packages too.")] = False,
    as_of: AsOf = "",
    as_json: AsJson = False,
) -> None:
    """What to eat first, by published keeping times."""
    from freezerbox.chores import rotation as rotation_chore

    with kitchen_of(ctx, as_of) as kitchen:
        report = rotation_chore.rotation(
            kitchen,
            within=whole_number(within, "months", 120) if within else None,
            species=species,
            cut=cut,
            place=place,
            freezer=freezer,
            everyone=everyone,
            limit=None if everything else whole_number(limit, "rows", 10_000),
        )
        if as_json:
            say_json(
                {
                    "as_of": report.as_of.isoformat(),
                    "guide": report.guide.key,
                    "source": list(report.sources),
                    "rows": [row_json(row) for row in report.rows],
                    "more": report.more,
                    "held": [row_json(row) for row in report.held],
                    "reminders": [
                        {"kind": one.kind, "of": one.of, "since": one.since.isoformat(), "words": one.words}
                        for one in report.reminders
                    ],
                    "no_figure": [row_json(row) for row in report.no_figure],
                    "totals": {band.value: totals_json(sums) for band, sums in report.totals.items()},
                    "out": [{"package": row_json(row), "cook_by": by.isoformat()} for row, by in report.out],
                }
            )
            return
        _say_as_of(kitchen)
        for line in reports.rotation_lines(kitchen, report):
            say(line)


def scan(
    ctx: typer.Context,
    reason: As = "eaten",
    already_eaten: AlreadyEaten = False,
    photo: Annotated[
        list[Path] | None, typer.Option("--photo", metavar="FILE...", help="Look at photographs.")
    ] = None,
    take: Annotated[bool, typer.Option("--take", help="With --photo: take what it shows.")] = False,
    yes: Annotated[
        bool, typer.Option("--yes", "-y", help="With --take: several at once; with --show: over what is there.")
    ] = False,
    show: Annotated[
        Path | None, typer.Option("--show", metavar="FILE", help="With --photo: draw what was read where.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Scan packages out: each is marked used, with a line back."""
    with kitchen_of(ctx) as kitchen:
        from freezerbox.chores.session import Session

        session = Session(kitchen, parse_reason(reason), already_eaten)
        if photo:
            from freezerbox.cli.scan_photos import scan_photos

            scan_photos(kitchen, session, photo, take=take, yes=yes, show=show, as_json=as_json)
            return
        if show:
            raise InputError("--show draws what a photograph shows: give --photo FILE too.", value=str(show))
        if at_terminal() and not as_json:
            say(f"Scan labels; each is marked {session.reason}. Type undo to take back the last, done to end.")
        for raw in _lines(prompted=at_terminal() and not as_json):
            if session.ends(raw):
                break
            result = session.handle(raw)
            if result is None:
                continue
            if as_json:
                say_json_line(reports.scan_json(result))
            else:
                for line in reports.scan_lines(result):
                    answer(line)
        if session.troubled:
            raise typer.Exit(BookTrouble.exit_code)


def _lines(*, prompted: bool) -> Iterator[str]:
    """Lines as they come; bytes that are no text become marks, so that a wild scanner cannot stop the session."""
    if hasattr(sys.stdin, "reconfigure"):
        sys.stdin.reconfigure(errors="replace")
    while True:
        if prompted:
            print("scan: ", end="", flush=True)
        raw = sys.stdin.readline()
        if not raw:
            return
        yield raw


def take(
    ctx: typer.Context,
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="CODE|WORDS [N]", help="Codes from labels; a lot's and how many; or words: ground 2."),
    ] = None,
    reason: As = "eaten",
    already_eaten: AlreadyEaten = False,
    on: On = "",
    origin: Annotated[str, typer.Option("--from", metavar="PLACE", help="With words: only from there.")] = "",
    ticks: Annotated[
        bool, typer.Option("--ticks", help="Enter the ticks of the list on the lid: 3 12-15 40x2.")
    ] = False,
    list_number: Annotated[
        str, typer.Option("--list", metavar="N", help="With --ticks: which list, by the number in its head.")
    ] = "",
    freezer: Freezer = "",
    yes: Annotated[bool, typer.Option("--yes", "-y", help="With words: whatever animal it was of.")] = False,
    as_json: AsJson = False,
) -> None:
    """Mark packages taken out: by code, words, or the lid's ticks."""
    with kitchen_of(ctx) as kitchen:
        kind = parse_reason(reason)
        if ticks or list_number:
            # A week's ticks are one thing a person did: one undo takes them back.
            from freezerbox.chores.lid import read_ticks, take_ticked

            typed = what or _typed_ticks(quiet=as_json)
            ticked_codes, of = read_ticks(kitchen, typed, freezer=freezer, number=list_number)
            ticked = take_ticked(kitchen, ticked_codes, kind, already_eaten=already_eaten, on=on)
            if of and ticked[0] and not as_json:
                say(f"By {of.words}:")
            say_each(*ticked, as_json=as_json)
            return
        from freezerbox.chores.take_many import take_all

        codes = _what_to_take(kitchen, what or [], origin, yes=yes, quiet=as_json)
        # All that one command names is one thing a person did.
        taken = take_all(kitchen, codes, kind, already_eaten=already_eaten, on=on)
        say_each(*taken, as_json=as_json)


def _typed_ticks(*, quiet: bool) -> list[str]:
    if at_terminal() and not quiet:
        say("Numbers of the list that are ticked, such as 3 12-15 40x2; codes; an empty line ends.")
    return list(iter(lambda: sys.stdin.readline().strip(), ""))


def _what_to_take(kitchen: Kitchen, what: list[str], origin: str, *, yes: bool, quiet: bool) -> list[str]:
    """The codes that codes or words mean; asks at a terminal when the list alone cannot tell."""
    if not what:
        raise InputError("Say what to take: a code, such as K7P-3MT, or words and how many: ground 2.", value="")
    what = with_all(kitchen, take_chore.put_together(kitchen, what))
    if not origin and (any(names_package(text) for text in what) or not any(map(str.isalpha, "".join(what)))):
        refuse_strangers(what)
        return what
    from freezerbox.chores.pick import pick, proposal

    number = what[-1] if len(what) > 1 and what[-1].isdigit() else ""
    try:
        picked = pick(kitchen, " ".join(what[:-1] if number else what), number, origin=origin)
    except UnknownWord:
        if not looks_like_code("".join(what)):
            raise
        # A code typed with a space and with a slip: what a code is, and the one near it, helps more than words do.
        return [" ".join(what)]
    if picked.doubts and not yes:
        words = "\n".join([*picked.doubts, "The first to expire would be:", proposal(kitchen, picked)])
        if not (at_terminal() and not quiet and ask(f"{words}\nTake these?")):
            raise OutOfLine(
                f"Nothing taken. {words}\nAdd --yes to take these, name the animal too, or give the code.",
                doubts=list(picked.doubts),
                codes=[row.code for row in picked.rows],
            )
    return [row.code for row in picked.rows]


def put_back(
    ctx: typer.Context,
    codes: Codes,
    thawed: Annotated[bool, typer.Option("--thawed", help="It was thawed in the refrigerator.")] = False,
    still_frozen: Annotated[bool, typer.Option("--still-frozen", help="It never thawed.")] = False,
    on: On = "",
    as_json: AsJson = False,
) -> None:
    """Put packages back where they were, or 2 of a lot: K7P-3MT 2."""
    from freezerbox.chores.returning import doubt_of_thaw, refuse_unsaid

    if thawed and still_frozen:
        raise InputError("Give either --thawed or --still-frozen, not both.", value="--thawed")
    with kitchen_of(ctx) as kitchen:
        what = codes_named(kitchen, codes, there=False)

        def put_back_one(text: str) -> take_chore.Done:
            (code, number), said = number_of(text), thawed
            if not (thawed or still_frozen):
                if not at_terminal() or as_json:
                    refuse_unsaid(kitchen, code, on, number)
                elif doubt := doubt_of_thaw(kitchen, code, on, number):
                    said = ask(f"{doubt} Did it thaw, in the refrigerator?")
            return take_chore.put_back(kitchen.afresh(), code, thawed=said, on=on, number=number)

        each_code(kitchen, what, put_back_one, as_json=as_json)


def each_code(
    kitchen: Kitchen, codes: Sequence[str], chore: Callable[[str], take_chore.Done], *, as_json: bool
) -> None:
    """Those that can are done; any refused ends with 1, a single one with its own status.

    When the book or the machine could not, those done before are told, and all that are left are refused for it:
    each would be waited for in vain.  That ends with 3.
    """
    done: list[take_chore.Done] = []
    refused: list[tuple[str, FreezerboxError]] = []
    for number, code in enumerate(codes):
        try:
            with kitchen.book.told():
                done.append(chore(code))
        except BookTrouble as error:
            if len(codes) == 1 or not (done or refused):
                raise
            left = codes[number + 1 :] if error.recorded else codes[number:]
            if done:
                told_after(error)
            error.message = f"NOT DONE: {', '.join(left)}. {error.message}" if left else error.message
            refused += [(one, error) for one in left or [code]]
            break
        except FreezerboxError as error:
            if len(codes) == 1:
                raise
            refused.append((code, error))
    say_each(done, refused, as_json=as_json)


def say_each(
    done: Sequence[take_chore.Done], refused: Sequence[tuple[str, FreezerboxError]], *, as_json: bool
) -> None:
    """Say what was done, a line each, and what was refused.

    Raises: Exit with 1 when anything was refused, with 2 when nothing was done and no text was a code, with 3 when
    the book or the machine could not go on.
    """
    if as_json:
        say_json(
            {
                "done": [row_json(one.row) for one in done for _ in range(one.number)],
                "refused": [{"code": code, "why": why.message} for code, why in refused],
            }
        )
    else:
        for one in done:
            say(one.message)
            if one.hint:
                say(f"  {one.hint}")
        for one_why in dict.fromkeys(why for _, why in refused):
            note(one_why.message)
    if any(isinstance(why, BookTrouble) for _, why in refused):
        raise typer.Exit(BookTrouble.exit_code)
    if refused:
        raise typer.Exit(2 if not done and all(isinstance(why, InvalidCode) for _, why in refused) else 1)


def show(ctx: typer.Context, code: Code, as_of: AsOf = "", as_json: AsJson = False) -> None:
    """Everything about one package."""
    from freezerbox.chores.story import story

    with kitchen_of(ctx, as_of) as kitchen:
        found = story(kitchen, code)
        if as_json:
            say_json({**row_json(found.row), "history": reports.steps_json(found)})
            return
        _say_as_of(kitchen)
        for line in reports.package_lines(kitchen, found):
            say(line)


def _say_as_of(kitchen: Kitchen) -> None:
    if kitchen.as_of:
        say(
            f"As it stood at the end of {long_date(kitchen.as_of)}, as known now; names, words and guide are today's."
        )


def parse_reason(text: str) -> Reason:
    """A reason a person may give.  Raises: UnknownWord."""
    words = "-".join(text.strip().lower().replace("-", " ").split())
    try:
        reason = Reason({"dog": "fed-to-dog", "gave": "given"}.get(words, words))
    except ValueError:
        reason = Reason.VOID
    if reason not in take_chore.BY_HAND:
        known = [one.value for one in take_chore.BY_HAND]
        raise UnknownWord(f"{text!r} is not a way out. The ways are: {', '.join(known)}.", word=text, near=known)
    return reason


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox find backstrap")(find)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox scan --as discarded")(scan)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox take K7P-3MT --on sat")(take)
    app.command("put-back", rich_help_panel=panel, epilog="Example: freezerbox put-back K7P-3MT")(put_back)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox rotation --within 2")(rotation)
    app.command("eat-first", hidden=True)(rotation)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox show K7P-3MT")(show)
