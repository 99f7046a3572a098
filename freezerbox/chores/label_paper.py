"""Whether a printer has the paper and the dots that labels are drawn for: asked before anything is drawn or sent."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from freezerbox.errors import InvalidTemplate, OutOfLine
from freezerbox.labels.library import stock, stock_names
from freezerbox.labels.media import Sizes, size_words
from freezerbox.labels.printer import Printer, printer
from freezerbox.labels.stock import Stock

_MOST_SIZES, _MOST_STOCKS = 3, 3


def ready(queue: str, paper: Stock, *, own: Path | None = None, usual: str = "", over: bool = False) -> str:
    """See that there is such a printer and that it has the stock's paper, as far as it says.

    Returns what to say of its dots before it prints; "" when they are the stock's, or it does not say.

    own: the household's templates.  usual: the stock that is named first where it fits.
    over: a person has said that the printer takes the paper all the same.

    Raises: PrinterTrouble when there is no printer of that name; OutOfLine when it lists other paper.
    """
    doubt, caution = doubts(queue, paper, own=own, usual=usual)
    if doubt and not over:
        raise OutOfLine(
            f"Nothing was sent: {doubt.message}\nIf it takes that paper all the same, add --yes.", **doubt.facts
        )
    return caution


def doubts(queue: str, paper: Stock, *, own: Path | None = None, usual: str = "") -> tuple[OutOfLine | None, str]:
    """What to say of a printer that lists paper and not this stock's, and a caution when its dots are others.

    None when it has the paper or lists none at all, "" when it has the dots or does not say.

    Raises: PrinterTrouble when there is no printer of that name.
    """
    one = printer(queue)
    return _paper_doubt(one, paper, own, usual), dots_caution(one, paper, own)


def dots_caution(one: Printer, paper: Stock, own: Path | None = None) -> str:
    """What to say when a roll's labels are drawn for other dots than a printer has, naming a stock that has its own.

    A whole multiple of them is as good, each dot becoming several; "" then, and when the printer does not say.
    """
    if paper.kind != "roll" or not one.resolutions or _has_dots(one, paper):
        return ""
    has = " and ".join(map(str, one.resolutions))
    size = (paper.width_mm, paper.height_mm)
    rolls = [other for other in _all(own) if other.kind == "roll" and (other.width_mm, other.height_mm) == size]
    like = [other.name for other in rolls if _has_dots(one, other)]
    cure = f" Drawn for its own dots: --stock {like[0]}" if like else ""
    return (
        f"Caution: {paper.name} is drawn for {paper.dpi} dots an inch, and printer {one.name!r} has {has}: its "
        f"symbols may come out blurred, and not read.{cure}"
    )


def _has_dots(one: Printer, paper: Stock) -> bool:
    return paper.kind != "roll" or any(dots % paper.dpi == 0 for dots in one.resolutions)


def _paper_doubt(one: Printer, paper: Stock, own: Path | None, usual: str) -> OutOfLine | None:
    """Both sizes are said, and stocks for which the printer has the paper."""
    queue = one.name
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
    for paper in _all(own):
        size = (paper.page_width_mm, paper.page_height_mm)
        if one.resolutions and not _has_dots(one, paper):
            continue
        if one.sizes.lists(*size):
            yield paper
        elif paper.kind == "roll" and one.sizes.take(*size):
            within.append(paper)
    yield from within


def _all(own: Path | None) -> Iterator[Stock]:
    for name in stock_names(own):
        with suppress(InvalidTemplate):
            yield stock(name, own)
