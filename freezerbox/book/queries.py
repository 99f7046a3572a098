"""What the book knows, as records."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from datetime import date

from freezerbox.book import values
from freezerbox.book.arrivals import HAS_COME, PACKAGE_THEN, PACKAGES_THEN
from freezerbox.book.door import Book
from freezerbox.book.gone import with_days_told
from freezerbox.core.lineage import Lineage
from freezerbox.core.records import (
    Animal,
    AnimalTest,
    Freezer,
    Hold,
    Package,
    PackageState,
    Place,
    Reason,
    Source,
    State,
    TestResult,
)

ML_PER_L = 1000

_PACKAGES = """SELECT p.*, s.state, s.reason, s.freezer_id, s.place_id, s.quantity, s.since
FROM package p JOIN package_state s ON s.code = p.code"""


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
    if as_of is None:
        select, column, moved = _PACKAGES, "s.state", "s.since"
    else:
        select, column, moved = PACKAGES_THEN, "m.state", "coalesce(a.day, m.happened_on)"
        values["day"] = as_of.isoformat()
    wheres = [f"{column} IN ({marks})"] if states else []
    if as_of is not None:
        wheres.append(HAS_COME)
    if cut is not None:
        wheres.append("p.cut = :cut")
        values["cut"] = cut
    if species is not None:
        wheres.append("p.species = :species")
        values["species"] = species
    if since is not None:
        wheres.append(f"{moved} >= :since")
        values["since"] = since.isoformat()
    where = f" WHERE {' AND '.join(wheres)}" if wheres else ""
    rows = book.connection.execute(f"{select}{where} ORDER BY p.act_id, p.rowid", values)
    found = with_days_told(book, [_package(row) for row in rows], as_of)
    # The book's day of the latest step is never before the day that is told.
    return found if since is None else tuple(package for package in found if package.state.since >= since)


def package(book: Book, code: str, *, as_of: date | None = None) -> Package | None:
    """The package of ``code``, or ``None``; ``as_of`` as in ``packages``."""
    if as_of is None:
        row = book.connection.execute(f"{_PACKAGES} WHERE p.code = :code", {"code": code}).fetchone()
    else:
        values = {"code": code, "day": as_of.isoformat()}
        row = book.connection.execute(f"{PACKAGE_THEN} AND {HAS_COME}", values).fetchone()
    return with_days_told(book, [_package(row)], as_of)[0] if row else None


def stored_states(book: Book) -> dict[str, PackageState]:
    """The state of every package as the book keeps it, by code: the bare fold of its movements."""
    return {row["code"]: package_state(row) for row in book.connection.execute("SELECT * FROM package_state")}


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


def animals(book: Book, *, as_of: date | None = None, of: Collection[str] | None = None) -> tuple[Animal, ...]:
    """Every animal, in the order entered; ``as_of``: with the household's own holds of that day.

    ``of``: only those of these codes.
    """
    if of is not None and not of:
        return ()
    wanted_codes = () if of is None else tuple(of)
    only = "" if of is None else f" AND code IN ({', '.join('?' * len(wanted_codes))})"
    rows = book.connection.execute(f"SELECT * FROM animal WHERE void = 0{only} ORDER BY id", wanted_codes).fetchall()
    tests: dict[int, list[AnimalTest]] = {}
    wanted = {row["id"] for row in rows}
    for row in book.connection.execute("SELECT * FROM animal_test WHERE void = 0 ORDER BY id"):
        if row["animal_id"] not in wanted:
            continue
        test = AnimalTest(
            id=row["id"],
            what_for=row["what_for"],
            sample=row["sample"],
            sent_on=values.day(row["sent_on"]),
            result=values.word(TestResult, row["result"]),
            result_on=values.day_or_none(row["result_on"]),
            released_on=values.day_or_none(row["released_on"]),
            released_why=row["released_why"],
        )
        tests.setdefault(row["animal_id"], []).append(test)
    holds: dict[int, list[Hold]] = {}
    for row in book.connection.execute(
        "SELECT h.*, a.code FROM animal_hold h JOIN animal a ON a.id = h.animal_id WHERE h.void = 0 "
        "AND (h.released_on IS NULL OR (:day <> '' AND h.released_on > :day)) "
        "AND (:day = '' OR h.since <= :day) ORDER BY h.id",
        {"day": as_of.isoformat() if as_of else ""},
    ):
        hold = Hold(kind="own", of=row["code"], since=values.day(row["since"]), why=row["why"])
        holds.setdefault(row["animal_id"], []).append(hold)
    return tuple(
        Animal(
            id=row["id"],
            code=row["code"],
            species=row["species"],
            sex_age=row["sex_age"],
            what=row["what"],
            killed_on=values.day_or_none(row["killed_on"]),
            processed_on=values.day_or_none(row["processed_on"]),
            tag=row["tag"],
            note=row["note"],
            tests=tuple(tests.get(row["id"], ())),
            own_holds=tuple(holds.get(row["id"], ())),
            taken_by=row["taken_by"],
            taken_at=row["taken_at"],
            live_mg=row["live_mg"],
            dressed_mg=row["dressed_mg"],
            hanging_mg=row["hanging_mg"],
            hide=row["hide"],
            ammunition=row["ammunition"],
            wound_note=row["wound_note"],
            taste=row["taste"],
        )
        for row in rows
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
    row = book.connection.execute(
        f"SELECT id FROM {table} WHERE name = :name COLLATE NOCASE AND retired = 1 AND void = 0{inside}",
        {"name": name, "freezer": freezer_id},
    ).fetchone()
    return int(row[0]) if row else None


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
    """The place whose sign has this code."""
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


def printed_labels(book: Book) -> dict[str, str]:
    """Text of the latest printed label, by package code."""
    rows = book.connection.execute("SELECT code, text FROM label WHERE void = 0 ORDER BY id")
    return {row[0]: row[1] for row in rows}


def live_symbols(book: Book) -> tuple[tuple[str, str, int], ...]:
    """Code, text and mask of every symbol printed for a package that is in the freezer or spare; reprints too."""
    rows = book.connection.execute(
        "SELECT DISTINCT l.code, l.text, l.mask FROM label l JOIN package_state s ON s.code = l.code "
        "WHERE l.void = 0 AND l.mask IS NOT NULL AND s.state IN ('frozen', 'spare') ORDER BY l.id"
    )
    return tuple((row[0], row[1], row[2]) for row in rows)


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


def _package(row: sqlite3.Row) -> Package:
    return Package(
        code=row["code"],
        cut=row["cut"],
        form=row["form"],
        species=row["species"],
        other_words=row["other_words"],
        net_mg=row["net_mg"],
        typed=row["typed"],
        pieces=row["pieces"],
        packed_on=values.day(row["packed_on"]),
        first_frozen_on=values.day(row["first_frozen_on"]),
        times_frozen=row["times_frozen"],
        wrap=row["wrap"],
        seasoning=row["seasoning"],
        fat_percent=row["fat_percent"],
        added=row["added"],
        owner=row["owner"],
        reserved_for=row["reserved_for"],
        note=row["note"],
        batch=row["batch"],
        run_number=row["run_number"],
        run_size=row["run_size"],
        state=package_state(row),
        missing_since=values.day_or_none(row["missing_since"]),
    )


def package_state(row: sqlite3.Row) -> PackageState:
    """The stored state of a package, from a row that has its columns."""
    return PackageState(
        state=values.word(State, row["state"]),
        reason=values.word(Reason, row["reason"]) if row["state"] == "gone" else None,
        freezer_id=row["freezer_id"],
        place_id=row["place_id"],
        quantity=row["quantity"],
        since=values.day(row["since"]),
    )


def printed_banners(book: Book) -> dict[str, str]:
    """Hold banner of the latest printed label, by package code; "" for a label without one."""
    rows = book.connection.execute("SELECT code, banner FROM label WHERE void = 0 ORDER BY id")
    return {row[0]: row[1] for row in rows}


def last_prints(book: Book) -> tuple[tuple[str, ...], str]:
    """Codes of the labels last printed in one act, in order, and their stock; none and "" before the first."""
    rows = book.connection.execute(
        "SELECT code, stock FROM label WHERE void = 0 AND act_id = "
        "(SELECT max(act_id) FROM label WHERE void = 0) ORDER BY id"
    ).fetchall()
    return tuple(row[0] for row in rows), rows[0][1] if rows else ""


def prints(book: Book, code: str) -> tuple[tuple[int, str], ...]:
    """Act and stock of every label printed for a code, in order."""
    rows = book.connection.execute("SELECT act_id, stock FROM label WHERE code = ? AND void = 0 ORDER BY id", (code,))
    return tuple((row[0], row[1]) for row in rows)


def of_another_book(book: Book, code: str) -> bool:
    """Whether the package's label was made elsewhere and taken in here."""
    row = book.connection.execute("SELECT 1 FROM label WHERE code = ? AND stock = 'another'", (code,)).fetchone()
    return row is not None


def lineage_rows(book: Book, child: str) -> tuple[tuple[int, str], ...]:
    """Row number and kind of every origin of a package."""
    rows = book.connection.execute("SELECT id, kind FROM lineage WHERE child = ? AND void = 0 ORDER BY id", (child,))
    return tuple((row[0], row[1]) for row in rows)


def packed_quantity(book: Book, code: str) -> int:
    """How many packages a record stood for when it was packed: more than 1 for a lot."""
    row = book.connection.execute("SELECT delta FROM movement WHERE code = ? ORDER BY id LIMIT 1", (code,)).fetchone()
    return int(row[0]) if row else 0
