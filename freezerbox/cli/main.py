"""The program: the map of commands, and the one place where a refusal becomes words and an exit status."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from freezerbox.cli import freezer_commands, label_commands, pack_commands, record_commands, setup_commands
from freezerbox.cli.output import complain, complain_json
from freezerbox.cli.wiring import Front, at_terminal
from freezerbox.errors import FreezerboxError

FIRST = "Before the season"
WRAPPING = "The wrapping evening"
EVERYDAY = "Every day"
RIGHTING = "Putting things right"
PANELS = (FIRST, WRAPPING, EVERYDAY, RIGHTING)


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


app = typer.Typer(
    name="freezerbox",
    cls=MapGroup,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 80},
    help="Labels and an inventory for the home chest freezer: what is this lump, where is it, what to eat first.",
    epilog="Each command explains itself: freezerbox pack --help",
)


@app.callback(invoke_without_command=True)
def front(
    ctx: typer.Context,
    book: Annotated[
        Path | None, typer.Option("--book", metavar="FILE", help="The book, instead of the usual place.")
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


setup_commands.add_to(app, FIRST)
pack_commands.add_to(app, WRAPPING)
label_commands.add_to(app, WRAPPING)
freezer_commands.add_to(app, EVERYDAY)
record_commands.add_to(app, RIGHTING)


def run(arguments: Sequence[str]) -> int:
    """Do what ``arguments`` say; returns the exit status (design: 0 done, 1 the book says no, 2 wrong, 3 could not)."""
    as_json = "--json" in arguments
    try:
        status = app(list(arguments), prog_name="freezerbox", standalone_mode=False)
        sys.stdout.flush()
        return status if isinstance(status, int) else 0
    except FreezerboxError as error:
        complain(error, as_json=as_json)
        return error.exit_code
    except typer.Exit as stop:
        return stop.exit_code
    except (typer.Abort, KeyboardInterrupt, EOFError):
        print("\nStopped. What was confirmed above is kept; nothing else was.", file=sys.stderr)
        return 130
    except BrokenPipeError:
        # The reader of a pipe (head, less) went away; give Python nothing to flush into it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except typer.TyperException as error:
        message = error.format_message()
        if as_json:
            complain_json("usage", message)
        else:
            context = getattr(error, "ctx", None)
            if context is not None:
                print(context.get_usage(), file=sys.stderr)
            print(f"{message} See: {context.command_path if context else 'freezerbox'} --help", file=sys.stderr)
        return error.exit_code


def main() -> None:
    """The installed program."""
    sys.exit(run(sys.argv[1:]))
