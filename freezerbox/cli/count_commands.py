"""Commands that make the list true again: count, trust."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores import count as chore
from freezerbox.chores import loose
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, totals, totals_json
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.wording import coded_line, count, gone_words, packs_and_held
from freezerbox.cli.options import AsJson, Freezer, kitchen_of
from freezerbox.cli.output import answer, note, say, say_json, table
from freezerbox.cli.wiring import at_terminal
from freezerbox.core.code import show_code
from freezerbox.core.records import Place
from freezerbox.errors import AmbiguousWord, BookTrouble, FreezerboxError, InputError, UnknownRecord

Accept = Annotated[
    str, typer.Option("--accept", metavar="all|none|CODE,...", help="End the count: which differences are right.")
]


def count_place(
    ctx: typer.Context,
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="PLACE", help="The place; a freezer: its loose packs; a food: how many."),
    ] = None,
    freezer: Freezer = "",
    accept: Accept = "",
    anew: Annotated[bool, typer.Option("--again", help="Forget what an open count has seen.")] = False,
    photo: Annotated[
        list[Path] | None, typer.Option("--photo", metavar="FILE...", help="Photographs do the scanning.")
    ] = None,
    not_here: Annotated[
        bool, typer.Option("--not-here", help="With --accept after photographs: I looked; the unseen is not there.")
    ] = False,
    tonight: Annotated[
        bool, typer.Option("--tonight", help="With --photo: is every pack wrapped today in view, with its own label?")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Check one place against the list by scanning what lies there.

    Reads codes line by line. A lot is counted by its code and a number. Nothing moves until it is accepted.
    """
    with kitchen_of(ctx) as kitchen:
        if tonight:
            from freezerbox.cli.tonight_lines import say_tonight

            say_tonight(kitchen, photo or [], as_json=as_json)
            return
        if not what and not freezer:
            raise InputError('Say which place: freezerbox count "red bag"', value="")
        name = " ".join(what or [])
        try:
            place = loose.to_count(kitchen, name, freezer)
        except UnknownRecord as error:
            _how_many(kitchen, name, error, as_json=as_json)
            return
        if anew:
            chore.again(kitchen, place)
        if photo:
            _look(kitchen.afresh(), place, photo)
        if accept:
            _accept(kitchen.afresh(), place, accept, not_here=not_here, as_json=as_json)
            return
        done, lost = (True, None) if photo else _scan(kitchen, place, quiet=as_json)
        kitchen = kitchen.afresh()
        place = loose.again(kitchen, place)
        _say_counted(kitchen, place, done=done, lost=lost or [], photo=bool(photo), as_json=as_json)
        if lost is not None:
            raise typer.Exit(BookTrouble.exit_code)


def _say_counted(
    kitchen: Kitchen, place: Place, *, done: bool, lost: Sequence[str], photo: bool, as_json: bool
) -> None:
    """What a count found; ends it when it is ``done``, and asks at a terminal which differences are right.

    ``lost``: codes that were scanned and could not be recorded.  They are here, so the count stays open for them.
    """
    counted = chore.compare(kitchen, place)
    seen = [row for row in counted.missing if row.code in lost]
    done = done and not seen
    if done and not photo:
        counted = chore.finish(kitchen, place)
    counted = replace(counted, missing=tuple(row for row in counted.missing if row not in seen))
    if as_json:
        report = _counted_json(counted, ended=done and not photo, accepted=False)
        say_json(report | {"not_recorded": [row_json(row) for row in seen]})
        return
    if seen:
        say("Scanned here, but not recorded - scan again:")
        for row in seen:
            say(f"  {coded_line(kitchen, row)}")
    for line in _counted_lines(kitchen, counted, photo=photo, more=len(seen)):
        say(line)
    if done and counted.surprises and at_terminal():
        answer = typer.prompt("Accept all, none, or these codes (Enter leaves it open)", default="")
        if answer.strip():
            _accept(kitchen, place, answer, not_here=False, as_json=False)
            return
    _say_next(kitchen, counted, done=done, photo=photo)


def _look(kitchen: Kitchen, place: Place, files: Sequence[Path]) -> None:
    from freezerbox.chores.scan import look_at_photos
    from freezerbox.cli.looking import looking

    with looking(len(files)):
        photos = look_at_photos(kitchen, files)
    seen = [one.code for _, found in photos for one in found if one.code and one.on == "label"]
    if seen:
        chore.see(kitchen, place, list(dict.fromkeys(seen)), by_photo=True)


def _scan(kitchen: Kitchen, place: Place, *, quiet: bool) -> tuple[bool, list[str] | None]:
    """Read codes until ``done`` or the end.

    Returns whether the count was ended and not only left, and the codes that could not be recorded for trouble with
    the book; None when no line met any.
    """
    from freezerbox.chores import scanner
    from freezerbox.chores.scanned import in_the_way
    from freezerbox.chores.units import units_of
    from freezerbox.core.code import compact
    from freezerbox.reading.lines import Asked

    talking = at_terminal() and not quiet
    if talking:
        open_look = chore.look_of(kitchen, place)
        there = "what lies there in no place" if loose.is_loose(place) else "what lies there"
        say(f"Counting {loose.place_words(place)}: scan {there}. undo forgets the last, done ends.")
        if open_look.seen:
            say(f"Going on: {count(len(open_look.seen), 'package')} seen before.")
    last = ""
    lost: list[str] | None = None
    for raw in _lines("count: " if talking else ""):
        try:
            with kitchen.book.told():
                line = scanner.read(kitchen, raw)
                if line.asked is Asked.NOTHING:
                    continue
                if line.asked is Asked.DONE:
                    return True, lost
                if line.asked is Asked.UNDO:
                    forgotten = chore.unsee(kitchen.afresh(), place)
                    words = f"{show_code(forgotten)} not seen." if forgotten else "Nothing seen yet."
                else:
                    last, words = see_line(kitchen.afresh(), place, line.text, last)
                if not quiet:
                    answer(words)
        except BookTrouble as error:
            lost = [*(lost or []), *([] if error.recorded else [compact(units_of(" ".join(raw.split()))[0])])]
            note(in_the_way(error, raw).message)
        except FreezerboxError as error:
            note(error.message)
    return False, lost


def see_line(kitchen: Kitchen, place: Place, text: str, last: str) -> tuple[str, str]:
    """Take a line of a count: a code, a code and a number, or the number of the lot scanned before.

    Returns the code it was about, and words.
    """
    from freezerbox.chores.count_lots import meant_here
    from freezerbox.chores.count_words import A_LOT, saw_words, seen_line
    from freezerbox.chores.header import whole_number
    from freezerbox.chores.move import is_number
    from freezerbox.chores.rows import Rows
    from freezerbox.chores.take import read_code
    from freezerbox.chores.units import MOST_OF_A_LOT, number_behind, units_of

    said = number_behind(text)
    if last and is_number(said):
        counted = chore.see(kitchen, place, [last], number=int(said))
        return last, saw_words(kitchen.afresh(), counted, last)
    text, number = units_of(text)
    if number is not None:
        whole_number(str(number or 1), "packages", MOST_OF_A_LOT)  # None of a lot is a count, too.
        code = meant_here(kitchen, place, read_code(kitchen, text))
        counted = chore.see(kitchen, place, [code], number=number)
        return code, saw_words(kitchen.afresh(), counted, code)
    code = meant_here(kitchen, place, read_code(kitchen, text))
    if code in chore.look_of(kitchen, place).seen and (rows := Rows(kitchen).of_codes([code])):
        return code, f"SEEN BEFORE, counted once: {seen_line(kitchen, rows[0])}."
    counted = chore.see(kitchen, place, [code])
    words = saw_words(kitchen.afresh(), counted, code)
    return code, words + (" Type how many lie here." if words.startswith(A_LOT) else "")


def _lines(prompt: str) -> Iterator[str]:
    while True:
        if prompt:
            print(prompt, end="", flush=True)
        raw = sys.stdin.readline()
        if not raw:
            return
        yield raw


def _accept(kitchen: Kitchen, place: Place, text: str, *, not_here: bool, as_json: bool) -> None:
    from freezerbox.chores.count_words import new_labels

    words = text.strip().lower()
    only = None if words == "all" else [] if words == "none" else [w for w in text.replace(",", " ").split() if w]
    counted, rows = chore.accept(kitchen, place, only, not_here=not_here)
    if as_json:
        report = _counted_json(counted, ended=True, accepted=True)
        say_json(report | {"done": [row_json(row) for row in rows]})
        return
    say(f"{_title(place)}: {chore.summary(counted)}. Accepted: {count(len(rows), 'difference')}.")
    for row in rows:
        where = chore.missing_words(row) if row.package.missing_since else row.where
        say(f"  {coded_line(kitchen, row)}: {where or 'gone'}")
    if new := new_labels(counted, rows):
        say(new)
    if any(row.package.missing_since for row in rows):
        say("What is missing keeps its place in the list until it turns up: freezerbox lost")
    unsure = len({row.code for row in counted.missing} - {row.code for row in rows})
    if unsure and only != []:
        say(f"{count(unsure, 'pack')} not seen in the photographs stay as listed: a photograph does not see all.")
        say("If you looked and they are not there, accept with --not-here.")


def _counted_lines(kitchen: Kitchen, counted: chore.Counted, *, photo: bool, more: int) -> Iterator[str]:
    from freezerbox.chores.count_words import all_of_it, lot_words

    missing = "not seen" if photo else "missing"
    of_lots = {row.code for row, _ in counted.lots}
    total = len(counted.expected) + len(counted.missing) + more
    seen = count(len(counted.seen), "code")
    summary = chore.summary(counted).replace("missing", missing)
    yield f"{_title(counted.place)}: {seen} seen, {total} listed. {summary}."
    groups: Sequence[tuple[str, Sequence[tuple[Row, str]]]] = (
        (
            "Here, but listed elsewhere - move it?",
            [
                (row, f"listed in {row.where or 'no place'}{all_of_it(counted, row)}")
                for row in counted.elsewhere
                if row.code not in of_lots
            ],
        ),
        (
            "Here, but the book has it as gone - put it back?",
            [(row, gone_words(row, kitchen.today)) for row in counted.gone if row.code not in of_lots],
        ),
        (
            "Listed here, not seen in the photographs" if photo else "Listed here, not here - search elsewhere",
            [(row, "") for row in counted.missing],
        ),
        (
            "Another number than listed",
            [(row, lot_words(kitchen, counted, row, number)) for row, number in counted.lots],
        ),
        ("A label without a package", [(row, gone_words(row, kitchen.today)) for row in counted.spare]),
    )
    for title, rows in groups:
        if rows:
            yield f"{title}:"
            for row, words in rows:
                yield f"  {coded_line(kitchen, row)}" + (f" - {words}" if words else "")
    if counted.unknown:
        yield "Not in this book:"
        yield f"  {', '.join(show_code(code) for code in counted.unknown)}. Take them in with: freezerbox adopt"


def _title(place: Place) -> str:
    words = loose.place_words(place)
    return f"{words[0].upper()}{words[1:]}" if loose.is_loose(place) else words


def _say_next(kitchen: Kitchen, counted: chore.Counted, *, done: bool, photo: bool) -> None:
    from freezerbox.chores.scanned import place_name

    name = loose.place_words(counted.place, place_name(kitchen, counted.place))
    if photo:
        say(f'Only looked: a photograph does not see all. Scan the rest with: freezerbox count "{name}"')
    elif done:
        say(f"{_title(counted.place)} is checked today.")
    else:
        say(f'Left open, nothing moved. Go on with: freezerbox count "{name}"')
    if counted.surprises and (done or photo):
        say(f'To accept: freezerbox count "{name}" --accept all (or none, or codes)')
        if photo and counted.missing:
            say("What is not seen stays as listed; if you looked and it is not there, add --not-here.")


def _counted_json(counted: chore.Counted, *, ended: bool, accepted: bool) -> dict[str, object]:
    return {
        "place": counted.place.name,
        "freezer": counted.place.freezer,
        "loose": loose.is_loose(counted.place),
        "seen": list(counted.seen),
        "expected": [row_json(row) for row in counted.expected],
        "elsewhere": [row_json(row) for row in counted.elsewhere],
        "gone": [row_json(row) for row in counted.gone],
        "missing": [row_json(row) for row in counted.missing],
        "spare": [row_json(row) for row in counted.spare],
        "unknown": list(counted.unknown),
        "lots": [{"package": row_json(row), "counted": number} for row, number in counted.lots],
        "ended": ended,
        "accepted": accepted,
    }


def _how_many(kitchen: Kitchen, words: str, error: UnknownRecord, *, as_json: bool) -> None:
    """``count ground``: a food, not a place.  Raises: AmbiguousWord; ``error`` for what is neither."""
    from freezerbox.chores.find import find

    try:
        found = find(kitchen, words)
    except AmbiguousWord:
        raise
    except FreezerboxError:
        raise error from None
    if as_json:
        held_sums = totals_json(totals(row for row in found.rows if row.holds))
        say_json({"words": words, "totals": totals_json(found.totals), "held": held_sums})
        return
    say(f"{words}: {packs_and_held(kitchen, found.rows)}.")
    places: dict[str, list[Row]] = {}
    for row in found.rows:
        places.setdefault(row.where or "place not said", []).append(row)
    for where, rows in places.items():
        say(f"  {where}: {packs_and_held(kitchen, rows)}")


def trust(ctx: typer.Context, as_json: AsJson = False) -> None:
    """How far the list can be trusted; which place to check next."""
    from freezerbox.chores.places import checked_words
    from freezerbox.chores.scanned import place_name
    from freezerbox.chores.trust import Trust
    from freezerbox.chores.trust import trust as trust_chore

    with kitchen_of(ctx) as kitchen:
        found = trust_chore(kitchen)
        if as_json:
            say_json(
                {
                    "places": [
                        {
                            "place": one.view.place.name,
                            "freezer": one.view.place.freezer,
                            "loose": loose.is_loose(one.view.place),
                            "packages": one.view.totals.packages,
                            "last_checked": _iso(one.view.place),
                            "surprises": one.view.place.last_surprises,
                            "acts_since": one.acts_since,
                            "next": one.rank or None,
                        }
                        for one in found
                    ]
                }
            )
            return
        if not found:
            say('No places yet. Add one: freezerbox place add "red bag"')

        def name(one: Trust) -> str:
            return loose.place_words(one.view.place, place_name(kitchen, one.view.place))

        cells = [
            (
                f"{one.rank}" if one.rank else "-",
                name(one),
                f"{count(one.view.totals.packages, 'pack')}",
                f"{checked_words(kitchen, one.view.place)}, {count(one.acts_since, 'act')} since"
                + (
                    f", {count(one.view.place.last_surprises, 'surprise')} last time"
                    if one.view.place.last_surprises is not None
                    else ""
                ),
            )
            for one in found
        ]
        for line in table(cells, right=(0, 2)):
            say(line)
        for one in (one for one in found if one.rank == 1):
            say(f'Check next: freezerbox count "{name(one)}"')


def _iso(place: Place) -> str | None:
    return place.last_checked_on.isoformat() if place.last_checked_on else None


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command("count", rich_help_panel=panel, epilog='Example: freezerbox count "red bag"')(count_place)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox trust")(trust)
