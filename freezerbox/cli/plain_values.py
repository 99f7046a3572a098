"""Values of the command line taken as they are typed, so that an answer at the open freezer does not wait.

The command-line library makes a validator of another, large library for every option, which takes longer than most
commands themselves.  Ours are text, paths and flags; what they mean is read by the chores, with refusals of our own.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import typer

HELP_NAMES = ["--help", "-h"]
_READ: dict[Any, Callable[[Any], object]] = {str: str, Path: Path, bool: bool, list[str]: str, list[Path]: Path}


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
    for one in getattr(command, "commands", {}).values():
        take_as_typed(one)
