"""Options that several commands share, and opening the kitchen for one."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated

import typer

from freezerbox.chores.kitchen import Kitchen
from freezerbox.cli.wiring import Front

AsJson = Annotated[bool, typer.Option("--json", help="One JSON object instead of words.")]
Yes = Annotated[bool, typer.Option("--yes", "-y", help="Take doubtful values without asking.")]
Freezer = Annotated[str, typer.Option("--freezer", metavar="NAME", help="Which freezer, when there are several.")]
Codes = Annotated[list[str], typer.Argument(metavar="CODE...", help="Codes from the labels, such as K7P-3MT.")]
Code = Annotated[str, typer.Argument(metavar="CODE", help="The code from the label, such as K7P-3MT.")]


@contextmanager
def kitchen_of(ctx: typer.Context) -> Iterator[Kitchen]:
    """The kitchen that the command works in; its book is closed afterwards."""
    front: Front = ctx.find_object(Front) or Front(book=None, today="", by="")
    kitchen = front.kitchen()
    try:
        yield kitchen
    finally:
        kitchen.book.close()


def ask(question: str) -> bool:
    """A yes or a no from the person at the terminal."""
    return typer.confirm(question, default=False)
