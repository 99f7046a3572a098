"""Which labels a pack bore, where labels were swapped: what was said of it before stands under the other one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from freezerbox.book import arrivals
from freezerbox.book.door import Book
from freezerbox.core.fold import silent_acts
from freezerbox.core.records import Change

STAYS = "missing_since"
"""The one fact of a package that was said of the label where it was scanned, and stays with it."""
_SWAPS = """SELECT c.* FROM change c JOIN act a ON a.id = c.act_id WHERE a.kind = 'swap'
ORDER BY c.act_id DESC, c.id"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """A label that a pack bore: from the act ``since``, which put it on, to just before the act ``until``.

    until: None for the label it bears.
    """

    label: str
    since: int
    until: int | None

    def at(self, act_id: int) -> bool:
        """Whether it bore it when that act was recorded."""
        return self.since <= act_id and (self.until is None or act_id < self.until)


def pair_of(changes: Iterable[Change]) -> tuple[str, ...]:
    """The codes of the packages that the changes of a swap are about."""
    found: dict[str, None] = {}
    for one in changes:
        named = (one.subject,) if one.subject_kind == "package" else (str(one.old), str(one.new))
        found.update(dict.fromkeys(named if one.subject_kind == "package" or one.field == "child" else ()))
    return tuple(found)


def swaps(book: Book) -> tuple[tuple[int, tuple[str, ...]], ...]:
    """The swaps of labels that stand, the latest first: number of the act, and the two codes."""
    undoes = book.connection.execute("SELECT id, undoes_act FROM act WHERE undoes_act > 0")
    silent = silent_acts({row[0]: row[1] for row in undoes})
    of: dict[int, list[Change]] = {}
    for row in book.connection.execute(_SWAPS):
        of.setdefault(row["act_id"], []).append(Change(**dict(row)))
    return tuple((act_id, pair_of(changes)) for act_id, changes in of.items() if act_id not in silent)


def borne(book: Book, code: str) -> tuple[Bore, ...]:
    """The labels that the pack bore which bears ``code`` now, that one first."""
    return tuple(_borne(code, swaps(book)))


def swapped_onto(book: Book, code: str, act_id: int) -> int | None:
    """The swap that put ``code`` on its pack, when ``act_id`` packed another pack under it; or None."""
    labels = borne(book, code)
    row = book.connection.execute("SELECT act_id FROM package WHERE code = ?", (code,)).fetchone()
    if labels[-1].label == code or row is None or row[0] != act_id:
        return None
    return labels[0].since


def _borne(code: str, swapped: Iterable[tuple[int, tuple[str, ...]]]) -> Iterator[Bore]:
    label, until = code, None
    for act_id, pair in swapped:
        if label in pair and len(pair) == 2:
            yield Bore(label=label, since=act_id, until=until)
            label, until = next(one for one in pair if one != label), act_id
    yield Bore(label=label, since=0, until=until)


def acts_about(book: Book, *, codes: Iterable[str], records: Iterable[tuple[str, int]]) -> set[int]:
    """Numbers of the acts that moved or corrected these packs, by the labels they bear now, or these records."""
    records = list(records)
    wanted, swapped = list(codes), swaps(book)
    moved: dict[str, set[int]] = {code: set() for code in wanted}
    retold = arrivals.retold(book)
    for act_id, code in book.connection.execute("SELECT act_id, code FROM movement"):
        if code in moved and code not in retold:
            moved[code].add(act_id)
    packed = dict(book.connection.execute("SELECT code, act_id FROM package").fetchall())
    found: set[int] = set()
    bore: dict[str, list[Bore]] = {}
    for code, acts in moved.items():
        acts |= {one.act_id for one in retold.get(code, ())}
        labels = tuple(_borne(code, swapped))
        if labels[-1].label != code:
            # Where it lay is known of the label; what was packed is another pack.
            acts = acts - {packed.get(code)} | {packed.get(labels[-1].label, 0)}
        found |= acts
        for one in labels:
            bore.setdefault(one.label, []).append(one)
    subjects = {(table, str(row_id)) for table, row_id in records}
    for table, row_id in records:
        found.update(row[0] for row in book.connection.execute(f"SELECT act_id FROM {table} WHERE id = ?", (row_id,)))
    tests = book.connection.execute("SELECT id, act_id, animal_id FROM animal_test")
    for test_id, act_id, animal_id in tests:
        if ("animal", animal_id) in records:
            found.add(act_id)
            subjects.add(("animal_test", str(test_id)))
    for act_id, kind, subject in book.connection.execute("SELECT act_id, subject_kind, subject FROM change"):
        ours = kind == "package" and any(one.at(act_id) for one in bore.get(subject, ()))
        if ours or (kind, subject) in subjects:
            found.add(act_id)
    return found
