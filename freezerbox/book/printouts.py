"""What the book knows of the labels that were printed."""

from __future__ import annotations

from itertools import groupby

from freezerbox.book.door import Book

RUN, AHEAD = "label", "label-ahead"
GOES_ON = "label-from"
"""The kind of act that prints the rest of a run after a jam."""
AGAIN = "label-again"
"""The kind that prints labels by their codes; in older books it is the same as a run's."""


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


def unprinted(book: Book) -> tuple[str, ...]:
    """Codes of the packages in the freezer, or spare, for which no label was printed."""
    rows = book.connection.execute(
        "SELECT s.code FROM package_state s WHERE s.state IN ('frozen', 'spare') "
        "AND NOT EXISTS (SELECT 1 FROM label l WHERE l.code = s.code AND l.void = 0)"
    )
    return tuple(row[0] for row in rows)


def printed_banners(book: Book) -> dict[str, str]:
    """Hold banner of the latest printed label, by package code; "" for a label without one."""
    rows = book.connection.execute("SELECT code, banner FROM label WHERE void = 0 ORDER BY id")
    return {row[0]: row[1] for row in rows}


def last_prints(book: Book, least: int) -> tuple[tuple[str, ...], str, str]:
    """Codes of the labels of the last run, in order, their stock, and when it was recorded; empty before the first.

    least: a run of fewer labels is passed over, unless there is no other.
    What was printed to go on with a run after a jam belongs to that run, whose numbers stay; labels that were all
    printed before, and are printed again, are no run.
    """
    labels = book.connection.execute(
        "SELECT l.act_id, a.kind, a.recorded_at, l.stock, l.code FROM label l JOIN act a ON a.id = l.act_id "
        "WHERE l.void = 0 ORDER BY l.act_id, l.id"
    )
    run: tuple[tuple[str, ...], str, str] = ((), "", "")
    latest, seen = run, set[str]()
    for (_, kind, when), rows in groupby(labels, key=lambda row: (row[0], row[1], row[2])):
        codes, stocks = zip(*((row[4], row[3]) for row in rows), strict=True)
        fresh = not seen.issuperset(codes)
        seen.update(codes)
        if not fresh or kind not in (RUN, AHEAD, GOES_ON):
            continue
        before, _, at = latest if kind == GOES_ON else ((), "", when)
        latest = (*(code for code in before if code not in codes), *codes), stocks[0], at or when
        if len(latest[0]) >= least or len(run[0]) < least:
            run = latest
    return run


def prints(book: Book, code: str) -> tuple[tuple[int, str], ...]:
    """Act and stock of every label printed for a code, in order."""
    rows = book.connection.execute("SELECT act_id, stock FROM label WHERE code = ? AND void = 0 ORDER BY id", (code,))
    return tuple((row[0], row[1]) for row in rows)


def of_another_book(book: Book, code: str) -> bool:
    """Whether the package's label was made elsewhere and taken in here."""
    row = book.connection.execute("SELECT 1 FROM label WHERE code = ? AND stock = 'another'", (code,)).fetchone()
    return row is not None
