"""What the book knows of the labels that were printed."""

from __future__ import annotations

from freezerbox.book.door import Book

GOES_ON = "label-from"
"""The kind of act that prints the rest of a run after a jam."""


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


def last_prints(book: Book) -> tuple[tuple[str, ...], str]:
    """Codes of the labels of the last run, in order, and their stock; none and "" before the first.

    What was printed to go on with a run after a jam belongs to that run, whose numbers stay.
    """
    run: tuple[str, ...] = ()
    stock = ""
    acts = book.connection.execute(
        "SELECT l.act_id, a.kind FROM label l JOIN act a ON a.id = l.act_id WHERE l.void = 0 "
        "GROUP BY l.act_id ORDER BY l.act_id DESC"
    )
    for act, kind in acts:
        rows = book.connection.execute(
            "SELECT code, stock FROM label WHERE act_id = ? AND void = 0 ORDER BY id", (act,)
        ).fetchall()
        codes = tuple(row[0] for row in rows)
        stock = stock or rows[0][1]
        # Of what came out before the rest was printed again, an act may hold no more than that.
        run = codes if set(run) <= set(codes) else (*(code for code in codes if code not in run), *run)
        if kind != GOES_ON:
            break
    return run, stock


def prints(book: Book, code: str) -> tuple[tuple[int, str], ...]:
    """Act and stock of every label printed for a code, in order."""
    rows = book.connection.execute("SELECT act_id, stock FROM label WHERE code = ? AND void = 0 ORDER BY id", (code,))
    return tuple((row[0], row[1]) for row in rows)


def of_another_book(book: Book, code: str) -> bool:
    """Whether the package's label was made elsewhere and taken in here."""
    row = book.connection.execute("SELECT 1 FROM label WHERE code = ? AND stock = 'another'", (code,)).fetchone()
    return row is not None
