"""Taking all that one command names, as one act that one undo takes back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.take import (
    SAID,
    Done,
    Leaving,
    act_kind,
    done_of,
    find_package,
    let_go,
    read_day,
    what_leaves,
)
from freezerbox.chores.units import number_of
from freezerbox.chores.wording import count
from freezerbox.core.code import show_code
from freezerbox.core.records import Reason
from freezerbox.errors import FreezerboxError, Refused

MOST_NAMED = 4
"""So many codes are named in the words of an act; of more only the number is said."""

RefusedOnes = tuple[tuple[str, FreezerboxError], ...]


@one_writer
def take_all(
    kitchen: Kitchen,
    texts: Sequence[str],
    reason: Reason = Reason.EATEN,
    *,
    already_eaten: bool = False,
    on: str = "",
    request_id: str | None = None,
) -> tuple[tuple[Done, ...], RefusedOnes]:
    """Mark every package that ``texts`` name as gone, all as one act; ``K7P-3MT*3`` are three of a lot.

    A code that stands several times means so many of its lot.  Those that can are taken, the others told with the
    reason; a single one that cannot is raised.

    Returns what was done, a lot once, and what was refused and why.  Raises: InvalidDate; for a single code what
    ``take`` raises, and InputError for a number that cannot be.
    """
    day = read_day(kitchen, on)
    refused: list[tuple[str, FreezerboxError]] = []
    wanted: dict[str, int] = {}
    said_as: dict[str, str] = {}
    single = len(set(texts)) == 1
    for text in texts:
        try:
            named, number = number_of(text)
            package = find_package(kitchen, named)
            if package.code in wanted and wanted[package.code] + number > max(1, package.state.quantity):
                left = package.state.quantity
                there = f"there are only {left} of it" if left > 1 else "there is one package"
                raise Refused(f"{show_code(package.code)} is named again; {there}.", code=package.code)
            wanted[package.code] = wanted.get(package.code, 0) + number
            said_as.setdefault(package.code, text)
        except FreezerboxError as error:
            if error.exit_code == 3 or len(texts) == 1:
                raise
            refused.append((text, error))
    leaving: list[Leaving] = []
    for code, units in wanted.items():
        try:
            leaving.append(what_leaves(kitchen, code, reason, already_eaten=already_eaten, on=on, number=units))
        except FreezerboxError as error:
            if error.exit_code == 3 or single:
                raise
            refused.append((code, error))
    if leaving:
        with kitchen.book.act(act_kind(reason), day, request_id=request_id, words=_words(leaving)) as act:
            for one in leaving:
                let_go(act, one, "")
    refused.sort(key=lambda one: texts.index(said_as.get(one[0], one[0])))
    return tuple(done_of(kitchen, one) for one in leaving), tuple(refused)


def _words(leaving: Sequence[Leaving]) -> str:
    """The act in words: the whole line of a single package, else how many and which."""
    if len(leaving) == 1:
        return f"{show_code(leaving[0].row.code)} {leaving[0].words}"
    total = sum(one.number for one in leaving)
    return f"{SAID[leaving[0].reason]}: {count(total, 'package')}{_named(one.row.code for one in leaving)}"


def _named(codes: Iterable[str]) -> str:
    shown = [show_code(code) for code in codes]
    return f", {', '.join(shown)}" if len(shown) <= MOST_NAMED else ""
