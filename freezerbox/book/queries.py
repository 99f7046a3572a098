"""What the book knows, as records."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from freezerbox.book import arrivals, sign_codes, values
from freezerbox.book.door import Book
from freezerbox.book.gone import with_days_told
from freezerbox.core.fold import fold
from freezerbox.core.lineage import Lineage
from freezerbox.core.names import same_name
from freezerbox.core.records import (
    Animal,
    AnimalTest,
    Freezer,
    Hold,
    Movement,
    Package,
    PackageState,
    Place,
    Reason,
    Source,
    State,
    TestResult,
)

ML_PER_L = 1000

_FACTS = """p.code, p.cut, p.form, p.species, p.other_words, p.net_mg, p.typed, p.pieces, p.packed_on,
p.first_frozen_on, p.times_frozen, p.wrap, p.seasoning, p.fat_percent, p.added, p.owner, p.reserved_for, p.note,
p.batch, p.run_number, p.run_size, p.missing_since"""
"""The columns of a package, in the order they are read in; those of its state follow."""
_PACKAGES = f"""SELECT {_FACTS}, s.state, s.reason, s.freezer_id, s.place_id, s.quantity, s.since
FROM package p JOIN package_state s ON s.code = p.code"""
# The state at the end of a day is the fold of what had happened by then.
_PACKAGES_THEN = f"""SELECT {_FACTS}, m.state, m.reason, m.freezer_id, m.place_id,
  (SELECT sum(d.delta) FROM movement d WHERE d.code = p.code AND d.happened_on <= :day) AS quantity,
  m.happened_on AS since
FROM package p LEFT JOIN movement m ON m.id = (SELECT l.id FROM movement l
  WHERE l.code = p.code AND l.happened_on <= :day ORDER BY l.happened_on DESC, l.id DESC LIMIT 1)"""
_COLUMNS_OF_STATE = 6


def packages(
    book: Book,
    *states: State,
    as_of: date | None = None,
    cut: str | None = None,
    species: str | None = None,
    since: date | None = None,
) -> tuple[Package, ...]:
    """Every package in one of ``states`` (all when none is named), in the order they were entered.

    ``as_of``: as it stood at the end of that day; packages that came later are left out.
    ``cut``, ``species``: only those of one cut, of one species.  ``since``: only those whose latest step is of that
    day or later.
    """
    values = {f"state{number}": state.value for number, state in enumerate(states)}
    marks = ", ".join(f":{name}" for name in values)
    which, moved = ("s.state", "s.since") if as_of is None else ("m.state", "m.happened_on")
    then = [f"{which} IN ({marks})"] if states else []
    if since is not None:
        then.append(f"{moved} >= :since")
        values["since"] = since.isoformat()
    wheres = list(then)
    if as_of is not None:
        # Those whose past is told anew are asked for whatever the journal has of them.
        wheres = [
            f"({' AND '.join(['m.id IS NOT NULL', *then])} OR p.code IN (SELECT value FROM json_each(:retold)))"
        ]
        retold = arrivals.retold(book)
        values |= {"day": as_of.isoformat(), "retold": json.dumps(list(retold))}
    if cut is not None:
        wheres.append("p.cut = :cut")
        values["cut"] = cut
    if species is not None:
        wheres.append("p.species = :species")
        values["species"] = species
    where = f" WHERE {' AND '.join(wheres)}" if wheres else ""
    select = _PACKAGES if as_of is None else _PACKAGES_THEN
    rows = book.connection.execute(f"{select}{where} ORDER BY p.act_id, p.rowid", values)
    every = map(_package, rows) if as_of is None else _then(rows, as_of, retold)
    found = with_days_told(book, [one for one in every if not states or one.state.state in states], as_of)
    # The book's day of the latest step is never before the day that is told.
    return found if since is None else tuple(package for package in found if package.state.since >= since)


def _then(rows: Iterable[sqlite3.Row], day: date, retold: Mapping[str, Sequence[Movement]]) -> Iterator[Package]:
    """Those packages that had come by the end of ``day``, each as it was then.  ``retold``: as of ``arrivals``."""
    for row in rows:
        if row[0] in retold:
            state = fold(one for one in retold[row[0]] if one.happened_on <= day)
        else:
            state = _state(*tuple(row)[-_COLUMNS_OF_STATE:]) if row["state"] is not None else None
        # Steps that were taken back may stand before the day on which a package came after all.
        if state is not None and not (state.state is State.FROZEN and state.quantity < 1):
            yield _package(row, state)


def package(book: Book, code: str, *, as_of: date | None = None) -> Package | None:
    """The package of ``code``, or ``None``; ``as_of`` as in ``packages``."""
    if as_of is None:
        found = [
            _package(row) for row in book.connection.execute(f"{_PACKAGES} WHERE p.code = :code", {"code": code})
        ]
    else:
        values = {"code": code, "day": as_of.isoformat()}
        rows = book.connection.execute(f"{_PACKAGES_THEN} WHERE p.code = :code", values)
        found = list(_then(rows, as_of, arrivals.retold(book, code)))
    return with_days_told(book, found, as_of)[0] if found else None


def stored_states(book: Book) -> dict[str, PackageState]:
    """The state of every package as the book keeps it, by code: the bare fold of its movements."""
    rows = book.connection.execute(
        "SELECT code, state, reason, freezer_id, place_id, quantity, since FROM package_state"
    )
    return {code: _state(*columns) for code, *columns in rows}


def packages_by_code(book: Book, codes: Sequence[str], *, as_of: date | None = None) -> tuple[Package, ...]:
    """The packages of ``codes``, in that order; codes without a package are left out."""
    found = (package(book, code, as_of=as_of) for code in codes)
    return tuple(one for one in found if one is not None)


def live_codes(book: Book) -> Iterator[str]:
    """Codes of packages that are in the freezer or spare; the book is asked when the first one is wanted."""
    yield from (
        row[0] for row in book.connection.execute("SELECT code FROM package_state WHERE state IN ('frozen', 'spare')")
    )


def code_kind(book: Book, code: str) -> str | None:
    """What a code stands for: ``package``, ``place``, ``card``; ``None`` when it was never issued here."""
    row = book.connection.execute("SELECT kind FROM code WHERE code = ?", (code,)).fetchone()
    return str(row[0]) if row else None


def lineage(book: Book, *, as_of: date | None = None, of: Sequence[str] | None = None) -> Lineage:
    """The origins of every package; ``as_of``: with the holds of that day, as known now.

    ``of``: only what these packages came of, which spares ten years of others.
    """
    sources = _sources(book, of)
    own: dict[str, tuple[Hold, ...]] = {}
    for row in book.connection.execute(
        "SELECT code, why, since FROM own_hold WHERE void = 0 "
        "AND (released_on IS NULL OR (:day <> '' AND released_on > :day)) "
        "AND (:day = '' OR since <= :day) ORDER BY id",
        {"day": as_of.isoformat() if as_of else ""},
    ):
        hold = Hold(kind="own", of=row[0], since=values.day(row[2]), why=row[1])
        own[row[0]] = (*own.get(row[0], ()), hold)
    only_of = None if of is None else {source.name for source in sources if source.kind == "animal"}
    return Lineage.of(sources, (_as_of(animal, as_of) for animal in animals(book, as_of=as_of, of=only_of)), own)


_SOURCES = "SELECT child, kind, name, mass_mg, fat_percent FROM lineage WHERE void = 0"
_WALKED_UP = f"""WITH RECURSIVE up (code) AS (SELECT value FROM json_each(:of) UNION SELECT l.name FROM lineage l
JOIN up ON l.child = up.code WHERE l.kind = 'package' AND l.void = 0)
{_SOURCES} AND child IN (SELECT code FROM up) ORDER BY id"""


def _sources(book: Book, of: Sequence[str] | None) -> list[Source]:
    """Every row of where packages came from, or those on the way up from ``of``."""
    if of is None:
        rows = book.connection.execute(f"{_SOURCES} ORDER BY id").fetchall()
    else:
        # One package, as at every scan, mostly came of animals alone: then there is no way up to walk.
        rows = book.connection.execute(f"{_SOURCES} AND child = ? ORDER BY id", of).fetchall() if len(of) == 1 else []
        if len(of) > 1 or any(row[1] == "package" for row in rows):
            rows = book.connection.execute(_WALKED_UP, {"of": json.dumps(list(of))}).fetchall()
    return [Source(child=row[0], kind=row[1], name=row[2], mass_mg=row[3], fat_percent=row[4]) for row in rows]


def _as_of(animal: Animal, day: date | None) -> Animal:
    """The animal with its tests as they stood at the end of ``day``."""
    if day is None:
        return animal
    tests = tuple(
        test
        if test.result_on is None or test.result_on <= day
        else replace(test, result=TestResult.PENDING, result_on=None)
        for test in animal.tests
        if test.sent_on <= day
    )
    tests = tuple(
        replace(test, released_on=None) if test.released_on and test.released_on > day else test for test in tests
    )
    return replace(animal, tests=tests)


_ANIMALS = """SELECT id, code, species, sex_age, what, killed_on, processed_on, tag, note, taken_by, taken_at,
live_mg, dressed_mg, hanging_mg, hide, ammunition, wound_note, taste FROM animal WHERE void = 0"""
_TESTS = """SELECT animal_id, id, what_for, sample, sent_on, result, result_on, released_on, released_why
FROM animal_test WHERE void = 0"""
_HOLDS = """SELECT animal_id, why, since FROM animal_hold WHERE void = 0
AND (released_on IS NULL OR (? <> '' AND released_on > ?)) AND (? = '' OR since <= ?)"""


def animals(book: Book, *, as_of: date | None = None, of: Collection[str] | None = None) -> tuple[Animal, ...]:
    """Every animal, in the order entered; ``as_of``: with the household's own holds of that day.

    ``of``: only those of these codes.
    """
    if of is not None and not of:
        return ()
    codes = () if of is None else tuple(of)
    only = "" if of is None else f" AND code IN ({', '.join('?' * len(codes))})"
    rows = book.connection.execute(f"{_ANIMALS}{only} ORDER BY id", codes).fetchall()
    code_of = {row[0]: row[1] for row in rows}
    tests: dict[int, list[AnimalTest]] = {}
    for animal_id, test_id, what_for, sample, sent_on, result, result_on, released_on, why in book.connection.execute(
        f"{_TESTS} ORDER BY id"
    ):
        if animal_id not in code_of:
            continue
        test = AnimalTest(
            id=test_id,
            what_for=what_for,
            sample=sample,
            sent_on=values.day(sent_on),
            result=values.word(TestResult, result),
            result_on=values.day_or_none(result_on),
            released_on=values.day_or_none(released_on),
            released_why=why,
        )
        tests.setdefault(animal_id, []).append(test)
    holds: dict[int, list[Hold]] = {}
    day = as_of.isoformat() if as_of else ""
    for animal_id, why, since in book.connection.execute(f"{_HOLDS} ORDER BY id", (day,) * 4):
        if animal_id in code_of:
            hold = Hold(kind="own", of=code_of[animal_id], since=values.day(since), why=why)
            holds.setdefault(animal_id, []).append(hold)
    return tuple(_animal(row, tests.get(row[0], ()), holds.get(row[0], ())) for row in rows)


def _animal(row: sqlite3.Row, tests: Sequence[AnimalTest], own_holds: Sequence[Hold]) -> Animal:
    (
        animal_id, code, species, sex_age, what, killed_on, processed_on, tag, note, taken_by, taken_at,
        live_mg, dressed_mg, hanging_mg, hide, ammunition, wound_note, taste,
    ) = row  # fmt: skip
    return Animal(
        id=animal_id,
        code=code,
        species=species,
        sex_age=sex_age,
        what=what,
        killed_on=values.day_or_none(killed_on),
        processed_on=values.day_or_none(processed_on),
        tag=tag,
        note=note,
        tests=tuple(tests),
        own_holds=tuple(own_holds),
        taken_by=taken_by,
        taken_at=taken_at,
        live_mg=live_mg,
        dressed_mg=dressed_mg,
        hanging_mg=hanging_mg,
        hide=hide,
        ammunition=ammunition,
        wound_note=wound_note,
        taste=taste,
    )


def freezers(book: Book) -> tuple[Freezer, ...]:
    """Freezers in use, in the order entered."""
    rows = book.connection.execute("SELECT * FROM freezer WHERE void = 0 AND retired = 0 ORDER BY id")
    return tuple(
        Freezer(
            id=row["id"],
            name=row["name"],
            volume_l=None if row["volume_ml"] is None else row["volume_ml"] / ML_PER_L,
            away=bool(row["away"]),
        )
        for row in rows
    )


def retired(book: Book, table: str, name: str, freezer_id: int | None = None) -> int | None:
    """Row number of a freezer or place of that name that is no longer used; ``None`` when there is none."""
    inside = "" if freezer_id is None else " AND freezer_id = :freezer"
    rows = book.connection.execute(
        f"SELECT id, name FROM {table} WHERE retired = 1 AND void = 0{inside} ORDER BY id", {"freezer": freezer_id}
    )
    return next((int(row[0]) for row in rows if same_name(row[1], name)), None)


def freezer_names(book: Book) -> dict[int, str]:
    """Names of all freezers that ever were, by row number."""
    return {row[0]: row[1] for row in book.connection.execute("SELECT id, name FROM freezer")}


def places(book: Book) -> tuple[Place, ...]:
    """Places in use, in the order entered."""
    rows = book.connection.execute(
        "SELECT p.*, f.name AS freezer FROM place p JOIN freezer f ON f.id = p.freezer_id "
        "WHERE p.void = 0 AND p.retired = 0 ORDER BY p.id"
    )
    return tuple(_place(row) for row in rows)


def place_names(book: Book) -> dict[int, str]:
    """Names of all places that ever were, by row number."""
    return {row[0]: row[1] for row in book.connection.execute("SELECT id, name FROM place")}


def place_of_sign(book: Book, code: str) -> Place | None:
    """The place whose sign has this code, or which is one with that place since two books were joined."""
    code = sign_codes.meant(book.connection, code)
    return next((place for place in places(book) if place.code == code), None)


def settings(book: Book) -> dict[str, str]:
    """The household's settings as stored."""
    return {
        row[0]: row[1] for row in book.connection.execute("SELECT key, value FROM setting WHERE value IS NOT NULL")
    }


def meta(book: Book, key: str) -> str:
    """A fact of the book itself: ``uid``, ``letter`` or ``walk``.  Raises: BookTrouble when it is not there."""
    row = book.connection.execute("SELECT value FROM meta WHERE key = ?", (key,)).fetchone()
    if row is None:
        raise values.nothing_said(key)
    return str(row[0])


def _place(row: sqlite3.Row) -> Place:
    return Place(
        id=row["id"],
        name=row["name"],
        kind=row["kind"],
        freezer_id=row["freezer_id"],
        freezer=row["freezer"],
        code=row["code"],
        parent_id=row["parent_id"],
        last_checked_on=values.day_or_none(row["last_checked_on"]),
        last_surprises=row["last_surprises"],
    )


def _package(row: sqlite3.Row, then: PackageState | None = None) -> Package:
    # In the order of _FACTS: a row asks for each column by walking through the names of all before it.
    (
        code, cut, form, species, other_words, net_mg, typed, pieces, packed_on, first_frozen_on, times_frozen, wrap,
        seasoning, fat_percent, added, owner, reserved_for, note, batch, run_number, run_size, missing_since,
        state, reason, freezer_id, place_id, quantity, since,
    ) = row  # fmt: skip
    return Package(
        code=code,
        cut=cut,
        form=form,
        species=species,
        other_words=other_words,
        net_mg=net_mg,
        typed=typed,
        pieces=pieces,
        packed_on=values.day(packed_on),
        first_frozen_on=values.day(first_frozen_on),
        times_frozen=times_frozen,
        wrap=wrap,
        seasoning=seasoning,
        fat_percent=fat_percent,
        added=added,
        owner=owner,
        reserved_for=reserved_for,
        note=note,
        batch=batch,
        run_number=run_number,
        run_size=run_size,
        state=then or _state(state, reason, freezer_id, place_id, quantity, since),
        missing_since=values.day_or_none(missing_since),
    )


def _state(
    state: str, reason: str, freezer_id: int | None, place_id: int | None, quantity: int, since: str
) -> PackageState:
    return PackageState(
        state=values.word(State, state),
        reason=values.word(Reason, reason) if state == State.GONE else None,
        freezer_id=freezer_id,
        place_id=place_id,
        quantity=quantity,
        since=values.day(since),
    )


def lineage_rows(book: Book, child: str) -> tuple[tuple[int, str], ...]:
    """Row number and kind of every origin of a package."""
    rows = book.connection.execute("SELECT id, kind FROM lineage WHERE child = ? AND void = 0 ORDER BY id", (child,))
    return tuple((row[0], row[1]) for row in rows)
