"""Commands that keep the book: backup, restore, export, import."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores import safekeeping, wording
from freezerbox.cli.options import AsJson, Yes, ask, kitchen_of
from freezerbox.cli.output import note, say, say_json
from freezerbox.cli.wiring import Front, at_terminal
from freezerbox.core.code import show_code
from freezerbox.errors import InputError


def backup(
    ctx: typer.Context,
    to: Annotated[Path | None, typer.Option("--to", metavar="FOLDER", help="On a second disk; remembered.")] = None,
    other: Annotated[str, typer.Option("--for", metavar="NAME", help="A book for another place: cabin.")] = "",
    letter: Annotated[str, typer.Option("--letter", metavar="X", help="With --for: what its codes begin with.")] = "",
    as_json: AsJson = False,
) -> None:
    """Copy the book, here and to a second disk, and check it."""
    with kitchen_of(ctx) as kitchen:
        if other:
            file = to if to and to.suffix else (to or Path()) / f"{other}.book"
            copy = safekeeping.for_other_place(kitchen, other, letter, file)
            if as_json:
                say_json({"copies": [str(copy.path)], "for": other})
                return
            say(f"A book for {other}: {copy.path}. Its new codes begin with a letter of their own.")
            say(f"Bring it back with: freezerbox import --merge {shlex.quote(copy.path.name)}")
            return
        done = safekeeping.back_up(kitchen, to)
        if as_json:
            say_json(
                {
                    "copies": [str(copy.path) for copy in done.copies],
                    "trouble": done.trouble or None,
                    "elsewhere": done.elsewhere,
                }
            )
        else:
            for copy in done.copies:
                held = f"{wording.count(copy.packages, 'package record')}, {wording.count(copy.acts, 'act')}"
                say(f"Copied and checked: {copy.path} ({held})")
            if len(done.copies) == 1 and not done.trouble:
                say(f"{safekeeping.SAME_DISK} For a second disk: freezerbox backup --to FOLDER")
            elif len(done.copies) > 1 and not done.elsewhere:
                say(f"{safekeeping.SAME_DISK} It does not count as a copy elsewhere; name a folder on a stick.")
        if done.trouble:
            note(done.trouble)
            raise typer.Exit(3)


def restore(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", readable=False, help="A copy of a book.")],
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Bring a copy back as the book; the present one is kept."""
    front: Front = ctx.ensure_object(Front)
    book, clock = front.path(), front.clock()
    from freezerbox.book.copying import look_at
    from freezerbox.cli.wiring import chance

    found = look_at(file, book=book, waiting=note)
    if other := safekeeping.another_book(book, file, note):
        note(other)
    held = f"{wording.count(found.packages, 'package record')}, last written {found.latest[:10] or 'never'}"
    if book.exists() and not yes:
        if not (at_terminal() and not as_json):
            raise InputError(f"{file.name} holds {held}. Add --yes to make it the book {book}.", value=str(file))
        if not ask(f"{file.name} holds {held}. Make it the book {book}? The present one is kept beside it."):
            raise typer.Exit(1)
    copy, aside = safekeeping.restore(book, file, clock.now(), chance(found.acts), note)
    if as_json:
        say_json({"book": str(book), "from": str(file), "kept": str(aside) if aside else None})
        return
    held = f"{wording.count(copy.packages, 'package record')}, {wording.count(copy.acts, 'act')}"
    say(f"The book is {file.name} now: {held}.")
    if aside:
        say(f"The one before is kept: {aside}")


def export(
    ctx: typer.Context,
    to: Annotated[Path, typer.Option("--to", metavar="FOLDER", help="A new folder.")],
    as_json: AsJson = False,
) -> None:
    """Write everything into plain files, a readable list among them."""
    from freezerbox.chores.export import export as write_out

    with kitchen_of(ctx) as kitchen:
        done = write_out(kitchen, to)
        if as_json:
            say_json({"folder": str(done.folder), "files": list(done.files), "packages": done.packages})
            return
        say(f"{wording.count(done.packages, 'package')} in {done.folder}: {', '.join(done.files)}")
        say("list.txt is for reading and printing; book.jsonl brings the whole book back: freezerbox import FOLDER")


def import_(
    ctx: typer.Context,
    source: Annotated[
        Path | None,
        typer.Argument(metavar="[FILE]", readable=False, help="An export, a CSV evening, a handover.json."),
    ] = None,
    merge: Annotated[
        Path | None, typer.Option("--merge", metavar="BOOK", readable=False, help="Another book, into this one.")
    ] = None,
    same: Annotated[list[str] | None, typer.Option("--same", metavar="NAME", help="One thing in both books.")] = None,
    rename: Annotated[
        list[str] | None, typer.Option("--rename", metavar="NAME=NEW", help="The other's new name.")
    ] = None,
    ours: Annotated[
        list[str] | None, typer.Option("--ours", metavar="CODE", help="This book is right about it.")
    ] = None,
    theirs: Annotated[list[str] | None, typer.Option("--theirs", metavar="CODE", help="The other is right.")] = None,
    prefer: Annotated[str, typer.Option("--prefer", metavar="SIDE", help="ours or theirs, for all the rest.")] = "",
    who: Annotated[str, typer.Option("--for", metavar="NAME", help="Whose part of a handover file.")] = "",
    again: Annotated[bool, typer.Option("--again", help="The same table once more, other packages.")] = False,
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Bring back an export, take a CSV evening or a handover, join a book."""
    from freezerbox.chores.export import BOOK_LINES, TABLES

    if (source is None) == (merge is None):
        raise InputError("Give an export or a CSV file, or --merge with another book.", value="")
    if merge is not None:
        from freezerbox.chores.join import join

        with kitchen_of(ctx) as kitchen:
            done = join(
                kitchen, merge, same=same or (), rename=rename or (), ours=ours or (), theirs=theirs or (),
                prefer=prefer,
            )  # fmt: skip
            if as_json:
                say_json(
                    {
                        "acts": done.acts,
                        "packages": done.packages,
                        "settled": [one.name for one in done.settled],
                        "signs": [
                            {"place": one.place, "old": one.old, "new": one.new}
                            for one in (*done.resigned, *done.merged)
                        ],
                        "unlisted": list(done.unlisted),
                        "taken": list(done.taken),
                        "told": list(done.told),
                    }
                )
            elif not done.copy:
                say(f"Nothing new in {merge.name}: everything in it is here already.")
            else:
                new = f"{wording.count(done.acts, 'act')}, {wording.count(done.packages, 'new package')}"
                say(f"Joined {merge.name}: {new}. The book before: {done.copy}")
                for one in done.resigned:
                    say(
                        f"Both books had given the sign {show_code(one.old)} to a place. {one.place} has "
                        f"{show_code(one.new)} now; print its sign anew, and throw the old one away: "
                        f'freezerbox sign "{one.place}"'
                    )
                for one in done.merged:
                    say(
                        f"{one.place} was in both books, each with a sign of its own. Both may hang: "
                        f"{show_code(one.new)} and {show_code(one.old)} mean {one.place} from now on."
                    )
                for said in (*done.taken, *done.told, *done.unlisted):
                    say(said)
        return
    if source is not None and source.name in TABLES and (source.parent / BOOK_LINES).is_file():
        raise InputError(
            f"{source.name} is a table of an export, for reading. To bring the whole book back: freezerbox import "
            f"{shlex.quote(str(source.parent))}",
            value=str(source),
        )
    if source is not None and source.suffix.lower() == ".csv":
        from freezerbox.chores.table import pack_table
        from freezerbox.cli.pack_commands import report

        with kitchen_of(ctx) as kitchen:
            report(kitchen, pack_table(kitchen, source, yes=yes, again=again, copy_first=True), as_json)
        return
    if source is not None and source.suffix.lower() == ".json":
        from freezerbox.cli.share_commands import take_handover

        with kitchen_of(ctx) as kitchen:
            take_handover(kitchen, source, who, rename or (), as_json=as_json)
        return
    _import_export(ctx, source or Path(), as_json=as_json)


def _import_export(ctx: typer.Context, source: Path, *, as_json: bool) -> None:
    from freezerbox.chores.export import bring_back
    from freezerbox.cli.wiring import chance

    if source.suffix.lower() == ".book":
        shown = shlex.quote(str(source))
        raise InputError(
            f"{source.name} is a whole book, not an export of one. To join it into yours: freezerbox import --merge "
            f"{shown}. To have it in the place of yours: freezerbox restore {shown}",
            value=str(source),
        )
    front: Front = ctx.ensure_object(Front)
    path = front.path()
    if not source.exists():
        raise InputError(
            f"There is no file or folder {source}; nothing was imported. Is the name right, the stick plugged in?",
            value=str(source),
        )
    if path.exists():
        raise InputError(
            f"There is a book at {path} already, and an export is a whole book. Name a new file: "
            f"freezerbox --book NEW.book import {source}",
            value=str(source),
        )
    acts = bring_back(path, source, chance=chance(0), clock=front.clock())
    if as_json:
        say_json({"book": str(path), "acts": acts})
        return
    say(f"Book brought back: {path}, {wording.count(acts, 'act')}.")


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox backup --to stick/freezer")(backup)
    app.command(
        rich_help_panel=panel, epilog="Example: freezerbox restore stick/freezer/freezer-2026-12-02T210000.book"
    )(restore)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox export --to freezer-export")(export)
    app.command("import", rich_help_panel=panel, epilog="Example: freezerbox import --merge cabin.book")(import_)
