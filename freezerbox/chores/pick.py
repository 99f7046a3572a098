"""Taking by words: ``take ground 2 --from "red bag"``; for the wrapper that is in the bin already."""

from __future__ import annotations

from dataclasses import dataclass

from freezerbox.chores.find import find
from freezerbox.chores.header import find_place, whole_number
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.move import find_target, with_children
from freezerbox.chores.rows import Row
from freezerbox.chores.wording import animals_words, coded_line, count, holds_words
from freezerbox.core.code import show_code
from freezerbox.errors import AmbiguousWord, Refused

MOST_AT_ONCE = 50
_MOST_NAMED = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """What words would take.  rows: the first to expire, a lot as often as it gives.  doubts: why to ask first."""

    rows: tuple[Row, ...]
    doubts: tuple[str, ...]


def pick(kitchen: Kitchen, words: str, number: str = "", *, origin: str = "") -> Pick:
    """The packages that ``words`` and a number mean, the first to expire first; nothing is taken.

    ``origin``: only from that place or freezer.  Held, reserved and other people's packages are not among them, nor
    what is not for people, unless the words say so; nor what a count did not find, which goes by its code only.

    Raises: UnknownWord; AmbiguousWord when the words mean several cuts that are there; UnknownRecord for the place;
    Refused when there are not so many.
    """
    wanted = whole_number(number, "packages", MOST_AT_ONCE) if number else 1
    named = f"{words} {origin}" if origin and find_target(kitchen, origin).place is None else words
    found = find(kitchen, named)
    rows = [row for row in (*found.rows, *(found.away if origin else ())) if _from(kitchen, row, origin)]
    if found.meanings and len({row.package.cut for row in rows}) > 1:
        raise AmbiguousWord(
            f"{words!r} is more than one cut here: {', '.join(found.meanings)}. Say which, or scan the label.",
            word=words,
            choices=[(name.lower(), name) for name in found.meanings],
        )
    held = [row for row in rows if row.holds]
    free = [row for row in rows if not row.holds]
    astray = [row for row in free if row.package.missing_since is not None]
    free = [row for row in free if row.package.missing_since is None]
    for_people = [row for row in free if row.for_people]
    free = for_people or free
    units = [row for row in free for _ in range(max(1, row.package.state.quantity))]
    if len(units) < wanted:
        where = f" in {origin}" if origin else ""
        but = f"; {count(len(held), 'pack')} HELD: {holds_words(held[0].holds, kitchen.today)}" if held else ""
        but += f"; {not_found_words(astray)}" if astray else ""
        raise Refused(f"By the list there {_are(len(units))} of {words}{where}, not {wanted}{but}.")
    return Pick(rows=tuple(units[:wanted]), doubts=_doubts(kitchen, free, held))


def not_found_words(rows: list[Row]) -> str:
    """``a count did not find 2 packs: K7P-3MT, K8P-2AB. With one in your hand: freezerbox take K7P-3MT``."""
    codes = ", ".join(show_code(row.code) for row in rows[:_MOST_NAMED])
    more = ", ..." if len(rows) > _MOST_NAMED else ""
    first = show_code(rows[0].code)
    return (
        f"a count did not find {count(len(rows), 'pack')}: {codes}{more}. With one in hand: freezerbox take {first}"
    )


def _are(number: int) -> str:
    return "is 1" if number == 1 else f"are {number}"


def _doubts(kitchen: Kitchen, free: list[Row], held: list[Row]) -> tuple[str, ...]:
    """Why the list alone cannot tell which pack it was."""
    doubts = []
    animals = {tuple(animal.code for animal in row.animals): animals_words(row.animals) for row in free}
    if len(animals) > 1:
        names = ", ".join(name or "no animal said" for name in animals.values())
        doubts.append(f"They are of different animals: {names}.")
    if held:
        doubts.append(
            f"{count(len(held), 'like pack is', 'like packs are')} HELD: {holds_words(held[0].holds, kitchen.today)}."
        )
    kinds = {(row.package.seasoning, row.package.fat_percent, row.package.added) for row in free}
    if len(kinds) > 1:
        doubts.append("They differ in fat or seasoning.")
    return tuple(doubts)


def proposal(kitchen: Kitchen, picked: Pick) -> str:
    """The packages in a line each, with where they are."""
    return "\n".join(f"  {coded_line(kitchen, row)} ({row.where or 'place not said'})" for row in picked.rows)


def _from(kitchen: Kitchen, row: Row, origin: str) -> bool:
    if not origin:
        return True
    target = find_target(kitchen, origin)
    if target.place is None:
        return row.package.state.freezer_id == target.freezer.id
    places = {place.id for place in with_children(kitchen, find_place(kitchen, target.place.code))}
    return row.package.state.place_id in places
