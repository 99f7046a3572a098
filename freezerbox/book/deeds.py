"""What a book says of a package in the end: how it went and to whom, or where it is, and the day of the deed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from freezerbox.book.both import Parted, movement
from freezerbox.book.schema import OVERRULED
from freezerbox.book.sides import Key, Side
from freezerbox.book.transfer import Value
from freezerbox.book.values import number
from freezerbox.core.fold import in_order, said_once, silent_acts, standing, told
from freezerbox.core.records import Movement, State


@dataclass
class Deed:
    """What ``acts`` of a book did to a package, or where they only decided about it, what holds in that book.

    last: the step that says it.  day: when it came to be so, and not when an undo or a join said so again.
    first: stands for the book whichever of two is joined into which: when its first step was recorded, and its uid.
    """

    side: Side
    code: str
    acts: Collection[str]
    last: Movement = field(init=False)
    day: str = field(init=False)
    first: tuple[str, str] = field(init=False)
    lot: bool = field(init=False)
    steps: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        side = self.side
        moved = in_order(movement(row) for row in side.rows["movement"] if row["code"] == self.code)
        undoes = {number(act["id"]): number(act["undoes_act"]) for act in side.rows["act"] if act["undoes_act"]}
        silent, against = silent_acts(undoes), _overruled(side, self.code)
        own = [one for one in moved if side.uid_of[one.act_id] in self.acts]
        stand = standing(moved, silent, against)
        # What only decided between steps, or took them back, says nothing itself: then what stands is told.
        self.steps = tuple(sorted({side.uid_of[one.act_id] for one in stand}))
        self.last = (said_once(standing(own, silent, against)) or said_once(stand) or own)[-1]
        state = told(moved, silent, against)
        self.lot = any(abs(one.delta) > 1 for one in moved)
        since = state.since if state and stand and self.last.act_id == stand[-1].act_id and not self.lot else None
        self.day = (since or self.last.happened_on).isoformat()
        acts = {str(act["uid"]): str(act["recorded_at"]) for act in side.rows["act"]}
        self.first = min((acts[side.uid_of[one.act_id]], side.uid_of[one.act_id]) for one in own)

    @property
    def outcome(self) -> tuple[Value | Key | None, ...]:
        """Equal where two books come to the same: of a lot, by the same steps."""
        one = self.last
        if self.lot:
            return self.steps
        if one.state is State.GONE:
            return one.state, one.reason, one.person, self.day
        return one.state, *(self.side.key_of.get(at) for at in self._lies_in())

    def words(self, parted: Parted = ((), ()), packed: bool = False) -> str:
        """How many left it there, or where it was put, and the day.  ``packed``: say the day of packing too."""
        one, (shared, own) = self.last, parted
        how = one.reason.value if one.reason else ""
        if one.state is State.GONE or how:
            gone = -sum(step.delta for step in own) if sum(step.delta for step in shared) > 1 else 0
            gone = -one.delta if self.lot and gone <= 0 else gone
            said = f"{gone} {how}" if gone > 0 else how or one.state.value
        elif one.state is State.FROZEN:
            said = f"put in {self._where()}"
        else:
            said = one.state.value
        rows = self.side.rows["package"]
        days = [str(row["packed_on"]) for row in rows if packed and row["code"] == self.code]
        return "".join(f"packed on {day}, " for day in days) + f"{said} on {self.day}"

    def _lies_in(self) -> list[tuple[str, int]]:
        found = (("freezer", self.last.freezer_id), ("place", self.last.place_id))
        return [(table, at) for table, at in found if at is not None]

    def _where(self) -> str:
        """The names of a freezer and of a place in it."""
        return ", ".join(str(self.side.row_of[self.side.key_of[at]]["name"]) for at in self._lies_in())


def _overruled(side: Side, code: str) -> set[tuple[int, str]]:
    """Acts whose steps of a package count for nothing, as of ``journal.overruled``."""
    acts = {uid: at for at, uid in side.uid_of.items()}
    said = [row for row in side.rows["change"] if (row["subject_kind"], row["subject"]) == (OVERRULED, code)]
    latest = {row["field"]: row["new"] for row in sorted(said, key=lambda row: number(row["id"]))}
    joins = {number(row["act_id"]) for row in said if row["new"] and latest[row["field"]]}
    return {(at, code) for at in joins | {acts[str(uid)] for uid, new in latest.items() if new and uid in acts}}
