"""How far the list can be trusted, place by place, and which to check next."""

from __future__ import annotations

from dataclasses import dataclass

from freezerbox.book import journal, queries
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.loose import LOOSE_PREFIX, key_of, loose_in, rows_in
from freezerbox.chores.places import PlaceView, places
from freezerbox.chores.rows import totals


@dataclass(frozen=True, slots=True, kw_only=True)
class Trust:
    """A place and what happened since it was last checked.

    view: the place with what is in it.  acts_since: acts that put in or took out since, all of them when never
    checked.  rank: 1 for the one to check next; 0 when it is empty and nothing happened.
    """

    view: PlaceView
    acts_since: int
    rank: int


def trust(kitchen: Kitchen) -> tuple[Trust, ...]:
    """Every place, the one to check next first; what is loose in a freezer is one too, while anything is.

    Never checked comes first, then the most that happened since, then the most surprises last time, then the longest
    ago.
    """
    since = _acts_since(kitchen)
    views = sorted(
        [*places(kitchen), *_loose(kitchen)],
        key=lambda view: (
            view.place.last_checked_on is not None,
            -since.get(view.place.id, 0),
            -(view.place.last_surprises or 0),
            view.place.last_checked_on or kitchen.today,
            view.place.name,
        ),
    )
    ranked, rank = [], 0
    for view in views:
        acts = since.get(view.place.id, 0)
        worth = bool(view.totals.packages or acts)
        rank += worth
        ranked.append(Trust(view=view, acts_since=acts, rank=rank if worth else 0))
    return tuple(ranked)


def _loose(kitchen: Kitchen) -> list[PlaceView]:
    found = []
    for freezer in queries.freezers(kitchen.book):
        place = loose_in(kitchen, freezer)
        rows = rows_in(kitchen, place)
        if rows:
            found.append(PlaceView(place=place, parent="", rows=rows, totals=totals(rows)))
    return found


def _acts_since(kitchen: Kitchen) -> dict[int, int]:
    """Acts after the last check that touched a place: what went in, what went out, what was carried off."""
    book = kitchen.book
    checked: dict[int, int] = {}
    for change in journal.changes(book, subject_kind="place"):
        if change.field == "last_checked_on" and change.new is not None:
            checked[int(change.subject)] = change.act_id
    for change in journal.changes(book, subject_kind="setting"):
        if change.subject.startswith(LOOSE_PREFIX) and change.new is not None:
            checked[-int(change.subject.removeprefix(LOOSE_PREFIX))] = change.act_id
    key = key_of(kitchen)
    before: dict[str, int | None] = {}
    acts: dict[int, set[int]] = {}
    for movement in sorted(journal.movements(book), key=lambda movement: movement.id):
        for place_id in (key(movement.place_id, movement.freezer_id), before.get(movement.code)):
            if place_id is not None and movement.act_id > checked.get(place_id, 0):
                acts.setdefault(place_id, set()).add(movement.act_id)
        before[movement.code] = key(movement.place_id, movement.freezer_id)
    return {place_id: len(found) for place_id, found in acts.items()}
