"""Options that several commands share, and opening the kitchen for one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Annotated

import typer

from freezerbox.book.door import told_plainly
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.safekeeping import daily
from freezerbox.chores.take import read_day
from freezerbox.cli.output import folded, note
from freezerbox.cli.wiring import Front
from freezerbox.errors import BookTrouble, InputError

AsJson = Annotated[bool, typer.Option("--json", help="One JSON object instead of words.")]
Yes = Annotated[bool, typer.Option("--yes", "-y", help="Take doubtful values without asking.")]
WriteOver = Annotated[bool, typer.Option("--yes", "-y", help="Write over a file that is there already.")]
Freezer = Annotated[str, typer.Option("--freezer", metavar="NAME", help="Which freezer, when there are several.")]
Codes = Annotated[list[str], typer.Argument(metavar="CODE", help="Codes from the labels, such as K7P-3MT.")]
Code = Annotated[str, typer.Argument(metavar="CODE", help="The code from the label, such as K7P-3MT.")]


AsOf = Annotated[
    str, typer.Option("--as-of", metavar="DAY", help="As it stood that evening, as known now: 2 mar, 2026-03-02.")
]

MINUS_IS_A_VALUE = {"ignore_unknown_options": True}
"""For a command that takes figures: ``-1.2`` reaches our own refusal, which says what a weight or a month is.  What
else begins with a minus must be refused with ``refuse_options``."""


def refuse_options(words: Sequence[str], command: str) -> None:
    """Raises: InputError for an option that does not exist; ``-1.2`` is none, and reaches its own refusal."""
    for word in words:
        if word.startswith("--") or (word.startswith("-") and word[1:2].isalpha()):
            raise InputError(f"There is no option {word}. See: freezerbox {command} --help", value=word)


def _daily_copy(kitchen: Kitchen) -> None:
    """The day's copy, before the first thing done on a day; trouble with it stops nothing, but is said."""
    try:
        daily(kitchen)
    except BookTrouble as error:
        note(f"No copy of the book was made today: {error.message}")


@contextmanager
def kitchen_of(ctx: typer.Context, as_of: str = "") -> Iterator[Kitchen]:
    """The kitchen that the command works in, as it is or as it stood on a day; its book is closed afterwards."""
    front: Front = ctx.find_object(Front) or Front(book=None, today="", by="")
    # A page of the file may turn out damaged, or the file held by another program, only when it is read.
    with told_plainly(front.path()):
        kitchen = front.kitchen()
        try:
            _daily_copy(kitchen)
            with kitchen.book.told():
                yield kitchen.at(read_day(kitchen, as_of)) if as_of else kitchen
        finally:
            kitchen.book.close()


def ask(question: str, *, pad: bool = False) -> bool:
    """A yes or a no from the person at the terminal; what is neither is asked again.

    ``pad``: the question is asked where only the number pad is at hand, and says its keys.
    """
    if not pad:
        return typer.confirm(folded(question), default=False)
    while True:
        said = str(typer.prompt(folded(f"{question} (1 yes, 0 no)"), default="", show_default=False)).strip().lower()
        if said in ("1", "+", "y", "yes"):
            return True
        if said in ("", "0", "-", "n", "no"):
            return False
        typer.echo(f"{said!r} is neither. 1 or + is yes; 0, - or Enter is no.")
