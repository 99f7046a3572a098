"""From the journal to the state: what the movements of a package add up to."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from datetime import date

from freezerbox.core.records import Movement, PackageState, Reason, State


def in_order(movements: Iterable[Movement]) -> list[Movement]:
    """Movements by the day they happened, then in the order they were recorded."""
    return sorted(movements, key=lambda movement: (movement.happened_on, movement.id))


def fold(movements: Iterable[Movement]) -> PackageState | None:
    """The state after all ``movements`` of one package; ``None`` when there are none.

    The latest movement says where it is; the quantity is the sum of all deltas.
    """
    ordered = in_order(movements)
    if not ordered:
        return None
    last = ordered[-1]
    return PackageState(
        state=last.state,
        reason=last.reason if last.state is State.GONE else None,
        freezer_id=last.freezer_id,
        place_id=last.place_id,
        quantity=sum(movement.delta for movement in ordered),
        since=last.happened_on,
    )


def fold_all(movements: Iterable[Movement]) -> dict[str, PackageState]:
    """The state of every package that moved, by code."""
    by_code: dict[str, list[Movement]] = {}
    for movement in movements:
        by_code.setdefault(movement.code, []).append(movement)
    states = {code: fold(own) for code, own in by_code.items()}
    return {code: state for code, state in states.items() if state is not None}


def silent_acts(undoes: Mapping[int, int]) -> frozenset[int]:
    """Numbers of the acts that count for nothing: each undo, and each act that an undo took back which stands.

    ``undoes``: the act that each undo takes back.  An act had again, by the undo of its undo, counts.
    """
    back: set[int] = set()
    for number in sorted(undoes, reverse=True):  # an undo comes after what it undoes
        if number not in back:
            back.add(undoes[number])
    return frozenset(back | undoes.keys())


def standing(
    movements: Iterable[Movement], silent: Collection[int], overruled: Collection[tuple[int, str]] = ()
) -> list[Movement]:
    """Those of ``movements`` that stand, in the order given.

    ``silent``: acts that count for nothing.  ``overruled``: acts, each with the package that it does not count for.
    """
    return [one for one in movements if one.act_id not in silent and (one.act_id, one.code) not in overruled]


def said_once(movements: Iterable[Movement]) -> list[Movement]:
    """Steps in the order given, without those that only say again, on a later day, what their act did on its own."""
    steps = list(movements)
    own: dict[int, date] = {}
    for one in steps:
        own[one.act_id] = min(one.happened_on, own.get(one.act_id, one.happened_on))
    return [one for one in steps if one.delta or one.happened_on == own[one.act_id]]


def told(
    movements: Iterable[Movement], silent: Collection[int], overruled: Collection[tuple[int, str]] = ()
) -> PackageState | None:
    """The state after all ``movements`` of one package, as the household tells it; ``None`` when there are none.

    An undo says again on its own day what stood before, and a late entry says it on each later day.  What counts is
    the day on which it came to be so: gone since it was taken, however often the undo of a return said so again.
    ``silent``, ``overruled``: as of ``standing``.
    """
    ordered = in_order(movements)
    state = fold(ordered)
    stand = standing(ordered, silent, overruled)
    if state is None or not stand:
        return state
    since = None
    for movement in reversed(stand):
        if movement.act_id != stand[-1].act_id or _where(movement) != _where(stand[-1]):
            break
        since = movement.happened_on
    agrees = _where(stand[-1]) == (state.state, state.reason, state.freezer_id, state.place_id)
    return replace(state, since=since) if since and agrees else state


def _where(movement: Movement) -> tuple[State, Reason | None, int | None, int | None]:
    reason = movement.reason if movement.state is State.GONE else None
    return movement.state, reason, movement.freezer_id, movement.place_id
