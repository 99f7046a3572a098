"""What one act may write: new rows, movements and changes.  Used only inside ``Book.act``."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from freezerbox.book.schema import CHANGEABLE
from freezerbox.book.values import is_walk, nothing_said
from freezerbox.core.code import Code, bodies, make_code
from freezerbox.core.records import Reason, State
from freezerbox.errors import BookTrouble

Value = str | int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Writer:
    """The pen of one act; ``act_id`` is the act's number."""

    connection: sqlite3.Connection
    new_uid: Callable[[], str]
    number: Callable[[int], int]
    act_id: int
    happened_on: date

    @classmethod
    def begin(
        cls,
        connection: sqlite3.Connection,
        new_uid: Callable[[], str],
        number: Callable[[int], int],
        *,
        kind: str,
        happened_on: date,
        recorded_at: str,
        by: str,
        station: str,
        request_id: str | None,
        undoes: int | None,
        words: str,
    ) -> Writer:
        """Write the act's own row."""
        cursor = connection.execute(
            'INSERT INTO act (uid, kind, happened_on, recorded_at, "by", station, request_id, undoes_act, words) '
            "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (new_uid(), kind, happened_on.isoformat(), recorded_at, by, station, request_id, undoes, words),
        )
        act_id = cursor.lastrowid or 0
        return cls(connection=connection, new_uid=new_uid, number=number, act_id=act_id, happened_on=happened_on)

    def _insert(self, table: str, **columns: Value) -> int:
        names = ", ".join(f'"{name}"' for name in columns)
        marks = ", ".join("?" for _ in columns)
        cursor = self.connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(columns.values()))
        return cursor.lastrowid or 0

    def new_code(self, kind: str, first: str, avoid: Callable[[str], bool] | None = None) -> Code:
        """A code never issued before in this book, beginning with ``first``.

        ``avoid`` says of a candidate whether to pass it over.  Raises: BookTrouble when none is left.
        """
        row = self.connection.execute("SELECT value FROM meta WHERE key = 'walk'").fetchone()
        if row is None or not is_walk(row[0]):
            raise nothing_said("walk")
        issued: int = self.connection.execute(
            "SELECT count(*) FROM code WHERE code >= ? AND code < ?", (first, chr(ord(first) + 1))
        ).fetchone()[0]
        for body in bodies(first, int(row[0]) + issued * 463_867):
            code = make_code(body)
            if code is None or (avoid is not None and avoid(code)):
                continue
            if self.connection.execute("SELECT 1 FROM code WHERE code = ?", (code,)).fetchone() is None:
                self._insert("code", code=code, kind=kind, act_id=self.act_id)
                return code
        raise BookTrouble(f"Every code beginning with {first} is taken. Choose another letter in settings.")

    def adopt_code(self, code: Code) -> None:
        """Enter a package code that another book issued; the caller has seen that this book does not know it."""
        self._insert("code", code=code, kind="package", act_id=self.act_id)

    def add(self, table: str, **columns: Value) -> int:
        """A new row of ``table``, with its uid and act; returns its row number."""
        if table not in ("lineage", "label"):
            columns["uid"] = self.new_uid()
        return self._insert(table, act_id=self.act_id, **columns)

    def move(
        self,
        code: str,
        *,
        state: State,
        reason: Reason | None = None,
        freezer_id: int | None,
        place_id: int | None,
        delta: int = 0,
        person: str = "",
        on: date | None = None,
        again: Sequence[date] = (),
    ) -> None:
        """One step of a package, on the act's day unless ``on`` names another; its state follows by itself.

        ``again``: later days on which the same state is said once more, and nothing comes or goes.
        """
        for day, change in ((on or self.happened_on, delta), *((later, 0) for later in again)):
            self._insert(
                "movement",
                act_id=self.act_id,
                code=code,
                happened_on=day.isoformat(),
                state=state.value,
                reason=reason.value if reason else None,
                freezer_id=freezer_id,
                place_id=place_id,
                delta=change,
                person=person,
            )

    def change(self, subject_kind: str, subject: str | int, field: str, old: Value, new: Value) -> None:
        """A fact corrected; the row follows by itself."""
        if subject_kind != "setting" and field not in CHANGEABLE[subject_kind][1]:
            raise ValueError(f"{subject_kind}.{field} cannot be changed")
        self._insert(
            "change",
            act_id=self.act_id,
            subject_kind=subject_kind,
            subject=str(subject),
            field=field,
            old=old,
            new=new,
        )
