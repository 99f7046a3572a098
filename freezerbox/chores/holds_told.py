"""The household's own holds on a package, as its history tells them: put on, released, taken back."""

from __future__ import annotations

from collections.abc import Iterator

from freezerbox.book import journal, origins
from freezerbox.chores.kitchen import Kitchen
from freezerbox.core.dates import short_date
from freezerbox.core.records import Change


def holds_told(kitchen: Kitchen, code: str) -> Iterator[tuple[int, str]]:
    """Each time a hold of its own was put on a package or let go: the number of the act, and in words."""
    for act_id, hold in origins.holds_ever(kitchen.book, code):
        act = journal.act(kitchen.book, act_id)
        late = act is not None and act.happened_on != hold.since
        put_on = f"put on hold: {hold.why}"
        yield act_id, put_on + (f", since {short_date(hold.since, today=kitchen.today)}" if late else "")
        changes = journal.changes(kitchen.book, subject_kind="own_hold", subject=str(hold.id))
        for change in changes:
            if change.field == "void":
                yield change.act_id, put_on
            elif change.field == "released_on":
                yield change.act_id, f"released from hold: {_why(change, changes)}"


def _why(release: Change, changes: tuple[Change, ...]) -> str:
    """The reason that was said with a release; of one taken back, the reason that no longer stands."""
    said = [one for one in changes if (one.act_id, one.field) == (release.act_id, "released_why")]
    return str(said[0].new or said[0].old) if said else "no reason said"
