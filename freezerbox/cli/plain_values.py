"""Values of the command line taken as they are typed, so that an answer at the open freezer does not wait.

The command-line library makes a validator of another, large library for every option, which takes longer than most
commands themselves.  Ours are text, paths and flags; what they mean is read by the chores, with refusals of our own.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import typer

from freezerbox.errors import InputError

HELP_NAMES = ["--help", "-h"]
_READ: dict[Any, Callable[[Any], object]] = {str: str, Path: Path, bool: bool, list[str]: str, list[Path]: Path}

SEVERAL = "CODE,..."
"""How help writes the value of an option that may name several, ``26A,26B``: said twice is the same."""


class _AsTyped:
    """Takes the place of a validator (typer 0.29, ``RuntimeParam.coerce``); ``read`` makes one value of what was
    typed."""

    def __init__(self, read: Callable[[Any], object]) -> None:
        self.read = read

    def coerce(self, value: Any, param: Any, ctx: Any) -> object:
        """The value, or a list of them for an option that may stand several times."""
        several = param.multiple or param.nargs == -1
        if value is None:
            return () if several else None
        return [self.read(one) for one in value] if several else self.read(value)


def _name_plainly(argument: Any) -> None:
    """``[CODE]`` in help, neither ``[[CODE]]`` nor ``CODE <str>``: the library adds brackets and types itself."""
    name = argument.metavar or ""
    if name.startswith("[") and name.endswith("]"):
        argument.metavar = name[1:-1].removesuffix("...")
    argument.display_type_rich = lambda ctx: ""


def _say_once(option: Any) -> None:
    """Have an option that takes one value refuse a second, where the library would drop the first without a word."""
    library_adds = option.add_to_parser

    def add_to_parser(parser: Any, ctx: Any) -> None:
        library_adds(parser, ctx)
        for name in option.opts:
            read = parser._long_opt.get(name) or parser._short_opt.get(name)
            if read is not None and read.obj is option:
                read.process = partial(_keep, option, read.dest)

    option.add_to_parser = add_to_parser


def _keep(option: Any, dest: str, value: str, state: Any) -> None:
    """Keep what an option was given.  Raises: InputError when it has a value already that cannot stand beside it."""
    before, name = state.opts.get(dest), option.opts[-1]
    if before is not None and option.metavar == SEVERAL:
        value = f"{before},{value}"
    elif before is not None:
        raise InputError(f"{name} is given twice: {before}, {value}. Say it once.", value=value)
    state.opts[dest] = value


def take_as_typed(command: Any) -> None:
    """Have every option and argument of a command, and of those under it, take its value as it was typed."""
    # The help option is made when it is first asked for, with the names that the context says.
    context = typer.Context(command, help_option_names=HELP_NAMES)
    for param in (*command.params, command.get_help_option(context)):
        read = _READ.get(getattr(getattr(param, "type_descriptor", None), "annotation", None))
        # Where the library has grown another shape, its own validators do, only slower; a test tells.
        if read is not None and getattr(param, "_runtime_param", False) is None:
            param._runtime_param = _AsTyped(read)
        if param.param_type_name == "argument":
            _name_plainly(param)
        elif not (param.multiple or param.is_flag or param.count) and param.nargs == 1:
            _say_once(param)
    for one in getattr(command, "commands", {}).values():
        take_as_typed(one)
