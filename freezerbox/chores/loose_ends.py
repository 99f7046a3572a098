"""In words: what stands in the book on a record that counts no longer, and what would mend it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from freezerbox.book import footing, queries
from freezerbox.book.footing import Loose
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.wording import count
from freezerbox.core.code import show_code
from freezerbox.errors import Refused

MOST_CODES = 4
"""So many codes in a sentence."""
RESTORE = "To mend it, bring back the latest copy: freezerbox restore COPY."
_CODED = ("meat", "packages", "spare")
_FIRST = ("freezer", "place", "animal")
"""What is to be had again first: a place is nowhere without its freezer."""


def came_loose(kitchen: Kitchen, was: Collection[Loose]) -> tuple[Loose, ...]:
    """What stands on nothing now, and did not before."""
    before = {one.key for one in was}
    return tuple(one for one in footing.loose(kitchen.book) if one.key not in before)


def loose_name(one: Loose) -> str:
    """A package by its code, all else by its name."""
    return show_code(one.of) if one.what in _CODED else one.of


def no_ground_words(kitchen: Kitchen, new: Sequence[Loose]) -> str:
    """A line for each record that is missing, and which act to take back first."""
    missing = {(one.table, one.row_id, one.why): one for one in new}
    lines, first = [], None
    for one in sorted(missing.values(), key=lambda one: _FIRST.index(one.table)):
        act_id = footing.taken_by(kitchen.book, one)
        first = first or act_id
        lines.append(f"  {one.table} {one.name}: {_became(kitchen, one, act_id)}")
    if first is not None:
        lines.append(f"Take that back first: freezerbox undo {first}")
    return "\n".join(lines)


def _became(kitchen: Kitchen, one: Loose, act_id: int | None) -> str:
    by = f" by act {act_id}" if act_id is not None else ""
    if one.why == "freezer_id":
        place = next((place for place in queries.places(kitchen.book) if place.id == one.row_id), None)
        return f"moved to {place.freezer}{by}" if place else f"moved{by}"
    if one.row_id is None:
        return "not in this book"
    return f"taken back{by}" if one.why == "void" else f"retired{by}"


def still_there(
    kitchen: Kitchen, code: str, freezer_id: int | None, place_id: int | None
) -> tuple[int | None, int | None]:
    """Freezer and place for a package that comes back to them: wherever that place is by now, or no place, if none.

    Raises: Refused when the freezer is in use no more.
    """
    place = next((one for one in queries.places(kitchen.book) if one.id == place_id), None)
    if place is not None:
        return place.freezer_id, place.id
    if freezer_id is not None and all(one.id != freezer_id for one in queries.freezers(kitchen.book)):
        name = queries.freezer_names(kitchen.book).get(freezer_id, "")
        raise Refused(
            f"{show_code(code)} was in {name}, which is in use no more. Nothing was changed. Have it again first "
            f'(freezerbox freezer add "{name}"), and move the package from there.',
            code=code,
        )
    return freezer_id, None


def loose_faults(kitchen: Kitchen) -> Iterator[str]:
    """A sentence for everything that no list shows where it is, or whose hold would not show; each with its mend."""
    yield from _faults(kitchen, ("meat", "packages", "place"))


def unlisted(kitchen: Kitchen) -> tuple[str, ...]:
    """Those of ``loose_faults`` that are about places: where a package lies is not shown, all else of it is."""
    return tuple(_faults(kitchen, ("packages", "place")))


def _faults(kitchen: Kitchen, kinds: Collection[str]) -> Iterator[str]:
    found: dict[tuple[str, str, int | None, str], list[Loose]] = {}
    for one in footing.loose(kitchen.book):
        if one.what in kinds:
            found.setdefault((one.what, one.table, one.row_id, one.why), []).append(one)
    for (what, table, _, why), same in found.items():
        act_id = footing.taken_by(kitchen.book, same[0])
        if what == "meat" and act_id is None:
            continue  # of that animal there is no record at all: told with what is lost
        names = [loose_name(one) for one in same]
        named = ", ".join(names[:MOST_CODES]) + (f" and {len(names) - MOST_CODES} more" if names[MOST_CODES:] else "")
        became = f"the {table} {same[0].name}, {_became(kitchen, same[0], act_id)}"
        again = f"freezerbox undo {act_id}" if act_id is not None else ""
        if what == "meat":
            was = "was" if len(names) == 1 else "were"
            yield f"{named} {was} made of {became}: a hold on it would not show. {_have(again)}"
        elif what == "place":
            yield f"{named} is in {became}, and no list shows it. {_have(again)}"
        elif why == "freezer_id":
            there = count(len(names), "package")
            yield (
                f"{named}: {there} said to be in {same[0].name}, but in another freezer than {became}. Say where it "
                f"is: freezerbox move {names[0]} --to ..."
            )
        else:
            lie = "lies" if len(names) == 1 else "lie"
            move = f"freezerbox move {names[0]} --to ..."
            yield f"{named} {lie} in {became}: no list of what is there shows it. {_have(again, move)}"


def _have(again: str, move: str = "") -> str:
    """``To have it again: ... Or say where it is: ...``, of what there is."""
    if not again:
        return f"Say where it is: {move}" if move else RESTORE
    return f"To have it again: {again}." + (f" Or say where it is: {move}" if move else "")
