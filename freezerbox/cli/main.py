"""The program: the map of commands, and the one place where a refusal becomes words and an exit status."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Annotated, Any

import typer
from typer.core import TyperGroup
from typer.main import get_command

from freezerbox.cli.output import complain, complain_json, for_book, note
from freezerbox.cli.plain_values import HELP_NAMES, take_as_typed
from freezerbox.cli.wiring import Front, at_terminal
from freezerbox.errors import BookTrouble, FreezerboxError, InputError

FIRST = "Before the season"
WRAPPING = "The wrapping evening"
EVERYDAY = "Every day"
RIGHTING = "Putting things right"
KEEPING = "Keeping the book"
BEHIND = "The animal behind it"
STOPPED = 130
"""Exit status after Ctrl-C: 128 and the number of the interrupt signal, as shells count it."""
PANELS = (FIRST, WRAPPING, EVERYDAY, BEHIND, RIGHTING, KEEPING)

MODULES: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "setup_commands": (FIRST, ("start", "animal", "guide", "settings")),
    "place_commands": (FIRST, ("freezer", "place")),
    "sign_commands": (FIRST, ("sign",)),
    "pack_commands": (WRAPPING, ("pack",)),
    "weigh_commands": (WRAPPING, ("weigh",)),
    "label_commands": (WRAPPING, ("label",)),
    "freezer_commands": (EVERYDAY, ("find", "scan", "take", "put-back", "rotation", "eat-first", "show")),
    "move_commands": (EVERYDAY, ("move", "discard")),
    "balance_commands": (EVERYDAY, ("balance", "lid", "words")),
    "season_commands": (EVERYDAY, ("season",)),
    "split_commands": (EVERYDAY, ("split", "seal-lost", "cutsheet")),
    "grind_commands": (BEHIND, ("grind",)),
    "give_commands": (BEHIND, ("give",)),
    "share_commands": (BEHIND, ("share",)),
    "trace_commands": (BEHIND, ("trace",)),
    "recipe_commands": (BEHIND, ("recipe",)),
    "hold_commands": (BEHIND, ("hold", "release", "result", "test")),
    "adopt_commands": (RIGHTING, ("adopt",)),
    "count_commands": (RIGHTING, ("count", "trust")),
    "lost_commands": (RIGHTING, ("lost",)),
    "record_commands": (RIGHTING, ("undo", "fix", "swap", "history", "check")),
    "safe_commands": (KEEPING, ("backup", "restore", "export", "import")),
}
"""Where each command is, and when in the year one uses it: start-up is waited for with cold hands, so only the
module of the command asked for is brought in."""


class MapGroup(TyperGroup):
    """Help that reads as a map: commands grouped by when in the year one uses them."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the commands, a section a panel."""
        shown = [(name, self.commands[name]) for name in self.commands if not self.commands[name].hidden]
        limit = formatter.width - 6 - max(len(name) for name, _ in shown)
        for panel in PANELS:
            rows = [
                (name, command.get_short_help_str(limit))
                for name, command in shown
                if getattr(command, "rich_help_panel", None) == panel
            ]
            if rows:
                with formatter.section(panel):
                    formatter.write_dl(rows)


def front(
    ctx: typer.Context,
    book: Annotated[
        Path | None,
        typer.Option("--book", metavar="FILE", readable=False, help="The book, instead of the usual place."),
    ] = None,
    today: Annotated[str, typer.Option("--today", metavar="DAY", help="Take this as today.")] = "",
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who does it, for the history.")] = "",
    version: Annotated[bool, typer.Option("--version", help="Say the version and stop.")] = False,
) -> None:
    """Keep what the command line says before the command."""
    if version:
        from importlib.metadata import version as installed

        typer.echo(f"freezerbox {installed('freezerbox')}")
        raise typer.Exit
    ctx.obj = Front(book=book, today=today, by=by)
    if ctx.invoked_subcommand is None:
        if at_terminal():
            from freezerbox.cli.prompt import prompt

            prompt(ctx.obj)
        else:
            typer.echo(ctx.get_help())


def program(arguments: Sequence[str] = ()) -> Any:
    """The program, with the commands that ``arguments`` name; with all of them when they name none."""
    named = frozenset(
        module for module, (_, commands) in MODULES.items() if any(word in commands for word in arguments)
    )
    everything = not named and not (at_terminal() and says_no_command(arguments))
    return _program_of(frozenset(MODULES) if everything else named)


@cache
def _program_of(modules: frozenset[str]) -> Any:
    # Made once: at the open prompt each line is a run of its own, and the making takes longer than most answers.
    app = typer.Typer(
        name="freezerbox",
        cls=MapGroup,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": HELP_NAMES, "max_content_width": 80},
        help="Labels and an inventory for the home chest freezer: what is this lump, where is it, what to eat first.",
        epilog="Each command explains itself: freezerbox pack --help",
    )
    app.callback(invoke_without_command=True)(front)
    for module, (panel, _) in MODULES.items():
        if module in modules:
            import_module(f"freezerbox.cli.{module}").add_to(app, panel)
    command = get_command(app)
    take_as_typed(command)
    return command


def says_no_command(arguments: Sequence[str]) -> bool:
    """Whether only the book, the day or the name is given: at a terminal that opens the prompt."""
    rest = list(arguments)
    while rest and rest[0].split("=")[0] in ("--book", "--today", "--by"):
        rest = rest[1:] if "=" in rest[0] else rest[2:]
    return not rest


def named_book(arguments: Sequence[str]) -> str:
    """The book that is named before the command by ``--book``; "" when none is."""
    rest, book = list(arguments), ""
    while rest and rest[0].split("=")[0] in ("--book", "--today", "--by"):
        option, equals, value = rest[0].partition("=")
        value = value if equals else next(iter(rest[1:2]), "")
        book = value if option == "--book" else book
        rest = rest[1:] if equals else rest[2:]
    return book


def refuse_unreadable(arguments: Sequence[str]) -> None:
    """Raises: InputError for an argument whose bytes are no text: the book could not keep it."""
    for argument in arguments:
        try:
            argument.encode()
        except UnicodeEncodeError as error:
            raise InputError(f"{argument!r} is not readable text. Type it again, in UTF-8.") from error


def run(arguments: Sequence[str]) -> int:
    """Do what ``arguments`` say; returns the exit status.

    0 done; 1 the book says no; 2 wrong whatever the book holds; 3 the book or the machine could not.
    """
    as_json = "--json" in arguments
    try:
        refuse_unreadable(arguments)
        if "--photo" in " ".join(arguments):
            from freezerbox.cli.photos import spread

            arguments = spread(arguments)
        status = program(arguments)(list(arguments), prog_name="freezerbox", standalone_mode=False)
        sys.stdout.flush()
        if status == STOPPED:
            # Ctrl-C between two questions: typer has caught the interrupt itself and hands over its status.
            return _stopped()
        return status if isinstance(status, int) else 0
    except FreezerboxError as error:
        error.message = for_book(error.message, named_book(arguments))
        complain(error, as_json=as_json)
        return error.exit_code
    except typer.Exit as stop:
        return stop.exit_code
    except (typer.Abort, KeyboardInterrupt, EOFError):
        return _stopped()
    except BrokenPipeError:
        # The reader of a pipe (head, less) went away; give Python nothing to flush into it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        at = f" {str(error.filename)!r}" if error.filename else ""
        complain(
            BookTrouble(f"The machine could not:{at} {(error.strerror or str(error)).lower()}."), as_json=as_json
        )
        return BookTrouble.exit_code
    except typer.TyperException as error:
        message = error.format_message()
        if as_json:
            complain_json("usage", message)
        else:
            context = getattr(error, "ctx", None)
            if context is not None:
                print(context.get_usage(), file=sys.stderr)
            note(f"{message} See: {context.command_path if context else 'freezerbox'} --help")
        return error.exit_code


def _stopped() -> int:
    print("\nStopped. What was confirmed above is kept; nothing else was.", file=sys.stderr)
    return STOPPED


def main() -> None:
    """The installed program."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        # A scanner's wild byte, or a screen without the degree sign, must not end an evening's work.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    sys.exit(run(sys.argv[1:]))
