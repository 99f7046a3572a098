"""On which day a package came, where the day it was packed was corrected afterwards.

The journal is never changed: the step of the packing stands on the day it was written for.  Whoever asks for the past
asks for the day as corrected, and an undo of the correction gives back the day before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from freezerbox.book.door import Book
from freezerbox.core.records import Movement, State

# Where it came on the day it was packed, as far as the book knew then, it came on the day that is known now: but
# never before an earlier step of it (a label printed ahead), nor after a later one that stands.  A step stands when
# it is of no undo, and of no act of which the undo stands: of the undos one upon the other, the last makes it odd.
_ARRIVED = """WITH RECURSIVE undone (id, tip, odd) AS (
  SELECT u.undoes_act, u.id, 1 FROM act u JOIN act r ON r.id = u.undoes_act WHERE r.undoes_act IS NULL
  UNION ALL SELECT b.id, u.id, 1 - b.odd FROM undone b JOIN act u ON u.undoes_act = b.tip
), arrived (id, day) AS (
  SELECT m.id, max(
    min(p.packed_on, coalesce((SELECT min(n.happened_on) FROM movement n WHERE n.code = m.code AND n.id > m.id
      AND (SELECT s.undoes_act FROM act s WHERE s.id = n.act_id) IS NULL
      AND coalesce((SELECT d.odd FROM undone d WHERE d.id = n.act_id ORDER BY d.tip DESC LIMIT 1), 0) = 0),
      p.packed_on)),
    coalesce((SELECT max(b.happened_on) FROM movement b WHERE b.code = m.code AND b.id < m.id), ''))
  FROM (SELECT DISTINCT subject FROM change WHERE subject_kind = 'package' AND field = 'packed_on'{of}) k
  JOIN package p ON p.code = k.subject
  JOIN movement m ON m.id = (SELECT min(f.id) FROM movement f WHERE f.code = p.code AND f.state = 'frozen')
  WHERE m.happened_on <> p.packed_on
  AND m.happened_on = (SELECT c.old FROM change c WHERE c.subject_kind = 'package' AND c.subject = p.code
    AND c.field = 'packed_on' AND c.act_id > m.act_id ORDER BY c.id LIMIT 1)
)"""
_ALL, _ONE = _ARRIVED.format(of=""), _ARRIVED.format(of=" AND subject = :code")

FACTS = """p.code, p.cut, p.form, p.species, p.other_words, p.net_mg, p.typed, p.pieces, p.packed_on,
p.first_frozen_on, p.times_frozen, p.wrap, p.seasoning, p.fat_percent, p.added, p.owner, p.reserved_for, p.note,
p.batch, p.run_number, p.run_size, p.missing_since"""
"""The columns of a package, in the order they are read in; those of its state follow: state, reason, freezer, place,
quantity, since."""

# The state at the end of a day is the fold of what had happened by then, as known now.
_THEN = """{arrived}
SELECT {facts}, m.state, m.reason, m.freezer_id, m.place_id,
  (SELECT sum(d.delta) FROM movement d LEFT JOIN arrived x ON x.id = d.id
    WHERE d.code = p.code AND coalesce(x.day, d.happened_on) <= :day) AS quantity,
  coalesce(a.day, m.happened_on) AS since
FROM package p JOIN movement m ON m.id = (SELECT l.id FROM movement l LEFT JOIN arrived y ON y.id = l.id
  WHERE l.code = p.code AND coalesce(y.day, l.happened_on) <= :day
  ORDER BY coalesce(y.day, l.happened_on) DESC, l.id DESC LIMIT 1)
LEFT JOIN arrived a ON a.id = m.id"""
PACKAGES_THEN = _THEN.format(arrived=_ALL, facts=FACTS)
PACKAGE_THEN = f"{_THEN.format(arrived=_ONE, facts=FACTS)} WHERE p.code = :code"
HAS_COME = "NOT (m.state = 'frozen' AND quantity < 1)"
"""Of both: steps that were taken back may stand before the day on which a package came after all."""


def days(book: Book, code: str | None = None) -> dict[int, str]:
    """The day on which each package came whose pack date was corrected, by the number of the step that says so."""
    arrived = _ALL if code is None else _ONE
    rows = book.connection.execute(f"{arrived} SELECT id, day FROM arrived", {"code": code})
    return {row[0]: row[1] for row in rows}


def first_against(moved: Sequence[Movement], packed_on: date) -> Movement | None:
    """The first step after the packing that happened before ``packed_on``, and so speaks against that day."""
    first = min((one.id for one in moved if one.state is State.FROZEN), default=0)
    return next((one for one in moved if one.id > first and one.happened_on < packed_on), None)
