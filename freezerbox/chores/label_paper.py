"""Whether a printer has the paper that labels are drawn for: asked before anything is drawn, sent or noted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from freezerbox.errors import InvalidTemplate, OutOfLine
from freezerbox.labels.library import stock, stock_names
from freezerbox.labels.media import Sizes, size_words
from freezerbox.labels.printer import Printer, printer
from freezerbox.labels.stock import Stock

_MOST_SIZES, _MOST_STOCKS = 3, 3


def ready(queue: str, paper: Stock, *, own: Path | None = None, usual: str = "", over: bool = False) -> None:
    """See that there is such a printer and that it has the stock's paper, as far as it says.

    own: the household's templates.  usual: the stock that is named first where it fits.
    over: a person has said that the printer takes the paper all the same.

    Raises: PrinterTrouble when there is no printer of that name; OutOfLine when it lists other paper.
    """
    doubt = paper_doubt(queue, paper, own=own, usual=usual)
    if doubt and not over:
        raise OutOfLine(
            f"Nothing was sent: {doubt.message}\nIf it takes that paper all the same, add --yes.", **doubt.facts
        )


def paper_doubt(queue: str, paper: Stock, *, own: Path | None = None, usual: str = "") -> OutOfLine | None:
    """What to say of a printer that lists paper and not this stock's; None when it has it or lists none at all.

    Both sizes are said, and stocks for which the printer has the paper.

    Raises: PrinterTrouble when there is no printer of that name.
    """
    one = printer(queue)
    if not one.sizes.known or one.sizes.take(paper.page_width_mm, paper.page_height_mm):
        return None
    wanted = size_words(paper.page_width_mm, paper.page_height_mm)
    stocks = sorted(_stocks_for(one, own), key=lambda found: found.name != usual)
    has = [found.name for found in stocks[:_MOST_STOCKS]]
    each = "a label" if paper.kind == "roll" else "a sheet"
    lines = [
        f"{each} of {paper.name} is {wanted}, and printer {queue!r} lists no such paper.",
        f"It lists {_listed(one.sizes, paper, stocks)}.",
    ]
    if has:
        lines.append(f"Labels for it: {' or '.join(f'--stock {name}' for name in has)}.")
    return OutOfLine(
        "\n".join(lines),
        doubts=[f"printer {queue} lists no paper of {wanted}"],
        printer=queue,
        stock=paper.name,
        width_mm=paper.page_width_mm,
        height_mm=paper.page_height_mm,
        sizes=[*one.media, *one.media_ranges],
        stocks=has,
    )


def _listed(sizes: Sizes, paper: Stock, first: Sequence[Stock]) -> str:
    """The sizes in words, those of stocks it has before the likest, and the ranges."""
    near = sizes.nearest(paper.page_width_mm, paper.page_height_mm)
    ours = [(one.page_width_mm, one.page_height_mm) for one in first]
    words = list(dict.fromkeys(size_words(*size) for size in (*filter(lambda size: sizes.lists(*size), ours), *near)))
    more = len(words) - _MOST_SIZES
    # One more takes no more room than saying so.
    if more > 1:
        words = [*words[:_MOST_SIZES], f"{more} other sizes"]
    words += [f"any size from {size_words(*least)} to {size_words(*most)}" for least, most in sizes.ranges]
    return " and ".join(", ".join(words).rsplit(", ", 1))


def _stocks_for(one: Printer, own: Path | None) -> Iterator[Stock]:
    """Stocks whose paper it lists, those by their own size before those within a range; rolls at its dots alone."""
    within = []
    for name in stock_names(own):
        try:
            paper = stock(name, own)
        except InvalidTemplate:
            continue
        size = (paper.page_width_mm, paper.page_height_mm)
        if paper.kind == "roll" and one.resolutions and paper.dpi not in one.resolutions:
            continue
        if one.sizes.lists(*size):
            yield paper
        elif paper.kind == "roll" and one.sizes.take(*size):
            within.append(paper)
    yield from within
