"""From the journal to the state: what the movements of a package add up to."""

from __future__ import annotations

from collections.abc import Iterable

from freezerbox.core.records import Movement, PackageState, State


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
