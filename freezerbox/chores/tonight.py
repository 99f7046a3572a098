"""The proof of an evening: photographs of the wrapping table against the packages of today."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.photos import sightings
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.symbols import known_symbols
from freezerbox.chores.wording import count
from freezerbox.core.records import State
from freezerbox.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What the photographs show.

    wrapped: packages of today, lots left out.  seen: codes of these in view.  twice: codes on more than one pack.
    others: codes in view that are not of today.
    """

    wrapped: tuple[Row, ...]
    seen: tuple[str, ...]
    twice: tuple[str, ...]
    others: tuple[str, ...]

    @property
    def not_seen(self) -> tuple[Row, ...]:
        """Packages of today that are in no photograph."""
        return tuple(row for row in self.wrapped if row.code not in self.seen)

    def summary(self) -> str:
        """``40 wrapped, 40 seen, 1 code on two packs``."""
        words = f"{len(self.wrapped)} wrapped, {len(self.seen)} seen"
        return words + (f", {count(len(self.twice), 'code')} on two packs" if self.twice else "")


def proof(kitchen: Kitchen, files: Sequence[Path]) -> Proof:
    """Compare; nothing is changed.  Raises: InputError for no files, or one that is no picture."""
    if not files:
        raise InputError("Give the photographs: freezerbox count --tonight --photo table.jpg", value="")
    wrapped = [
        row
        for row in Rows(kitchen).all(State.FROZEN)
        if row.package.packed_on == kitchen.today and row.package.state.quantity == 1
    ]
    seen = sightings(files, known_symbols(kitchen))
    codes = {row.code for row in wrapped}
    return Proof(
        wrapped=tuple(wrapped),
        seen=tuple(one.code for one in seen if one.code in codes),
        twice=tuple(one.code for one in seen if one.packs > 1),
        others=tuple(one.code for one in seen if one.code not in codes),
    )
