"""Signs for places and lots, command cards, and spare codes to stick or write: PDF pages to cut up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from freezerbox.book import origins, queries
from freezerbox.chores.header import Words, find_place, understand, whole_number
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.label_fit import noted
from freezerbox.chores.label_words import symbol_of
from freezerbox.chores.move import inside_of
from freezerbox.chores.pack import Run, Weighed, put_in
from freezerbox.chores.rows import Row
from freezerbox.chores.scanned import PERSON_HEAD
from freezerbox.chores.take import find_row
from freezerbox.chores.wording import best_by_words, count, origin_words
from freezerbox.core.cards import CARDS, TEST_TEXT, Card
from freezerbox.core.code import compact, looks_like_code, show_code
from freezerbox.core.dates import month_year
from freezerbox.core.records import Place, State
from freezerbox.core.symbol import ALPHANUMERIC, TEXT_LENGTH
from freezerbox.errors import InputError, LabelUnreadable, Refused
from freezerbox.food import cuts
from freezerbox.labels.proof import picture_of, picture_of_bars
from freezerbox.labels.symbols import code128_bars, qr_symbol
from freezerbox.pages.tiles import Tile, unknown_letters, write_tiles
from freezerbox.reading.pictures import read_picture

MOST_SPARES = 200
MOST_KINDS = 8
SPARE_STOCK = "page"

_CARD_WORDS = {
    Card.TAKE: "each scan: out of the freezer",
    Card.PUT_BACK: "each scan: back where it was",
    Card.MOVE: "then a place's sign, then packs",
    Card.COUNT: "then a place's sign, then what lies there",
    Card.WEIGH: "each scan: then type its weight",
    Card.UNDO: "takes back the last one",
    Card.GIVE: "then the person's card or name, then packs",
    Card.DISCARD: "each scan: thrown out",
    Card.SHOW: "each scan: only says what it is",
    Card.DONE: "ends a count or a move; then taking out again",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """What was written.  file, pages: the PDF.  codes: of the tiles, in order.

    unknown: by code, the letters that the font has not; a ``?`` stands for each.
    """

    file: Path
    pages: int
    codes: tuple[str, ...]
    unknown: dict[str, str] = field(default_factory=dict)


def print_signs(kitchen: Kitchen, names: Sequence[str], to: Path, *, paper: str = "letter") -> Signs:
    """Signs for places (by name) and lots (by code), three a page; for every place when none is named.

    Raises: UnknownRecord, InvalidCode, UnknownCode for what is named; Refused for a single package, or no places.
    """
    if not names:
        names = [place.code for place in queries.places(kitchen.book)]
        if not names:
            raise Refused('There are no places yet. Add one: freezerbox place add "red bag"')
    tiles, codes = [], []
    for name in names:
        is_code = looks_like_code(name)
        place = queries.place_of_sign(kitchen.book, compact(name)) if is_code else find_place(kitchen, name)
        if place is not None:
            tiles.append(_place_tile(kitchen, place))
            codes.append(place.code)
            continue
        row = find_row(kitchen, name)
        if row.package.state.quantity < 2:
            raise Refused(
                f"{show_code(row.code)} is a single package; its label is its sign. To print that again: "
                f"freezerbox label again {show_code(row.code)}",
                code=row.code,
            )
        tiles.append(_lot_tile(kitchen, row))
        codes.append(row.code)
    read_back(tiles)
    pages, file = write_tiles(tiles, to, title="freezerbox signs", columns=1, rows=3, paper=paper)
    unknown = {code: letters for code, tile in zip(codes, tiles, strict=True) if (letters := unknown_letters(tile))}
    return Signs(file=file, pages=pages, codes=tuple(codes), unknown=unknown)


def print_cards(to: Path, *, paper: str = "letter") -> Signs:
    """The command cards and the scanner's test card, one page.  The cards are the same for every book."""
    tiles = [_tile(card.value.upper(), (_CARD_WORDS[card],), code, code) for code, card in CARDS.items()]
    test = qr_symbol(TEST_TEXT).modules
    tiles.append(
        Tile(
            title="TEST",
            lines=("scan it first: it finds a scanner set to another keyboard",),
            modules=test,
            says=(TEST_TEXT,),
        )
    )
    read_back(tiles)
    pages, file = write_tiles(tiles, to, title="freezerbox command cards", columns=2, rows=6, paper=paper)
    return Signs(file=file, pages=pages, codes=tuple(CARDS))


def print_people(kitchen: Kitchen, to: Path, *, paper: str = "letter") -> tuple[Signs, tuple[str, ...]]:
    """A card for each person the book knows, to scan before what is given to them; and the names that fit on none.

    Raises: Refused when there is nobody.
    """
    everybody = origins.persons(kitchen.book)
    texts = {name: f"{PERSON_HEAD}{name.upper()}" for name in everybody}
    fitting = [
        name for name in everybody if len(texts[name]) <= TEXT_LENGTH and set(texts[name]) <= set(ALPHANUMERIC)
    ]
    if not fitting:
        why = "whose name fits on a card" if everybody else "in this book yet"
        raise Refused(f"There is nobody {why}. Give somebody a pack first: freezerbox give K7P-3MT --to Sister")
    tiles = [
        Tile(
            title=name,
            lines=("scan it, then each pack that is given",),
            modules=qr_symbol(texts[name]).modules,
            says=(texts[name],),
        )
        for name in fitting
    ]
    read_back(tiles)
    pages, file = write_tiles(tiles, to, title="freezerbox person cards", columns=2, rows=6, paper=paper)
    others = tuple(name for name in everybody if name not in fitting)
    return Signs(file=file, pages=pages, codes=tuple(texts[name] for name in fitting)), others


def print_spares(kitchen: Kitchen, number: str, to: Path, *, paper: str = "letter") -> Signs:
    """Spare codes on a page, each with a line to write on: for packs labelled by hand, far from here.

    They stand in the book as spare until ``adopt`` says what they became.  Raises: InputError.
    """
    files: list[Path] = []
    with noted(files):
        return _spares(kitchen, number, to, paper, files)


@one_writer
def _spares(kitchen: Kitchen, number: str, to: Path, paper: str, files: list[Path]) -> Signs:
    wanted = whole_number(number, "codes", MOST_SPARES)
    run = Run(
        header=understand(kitchen, Words(cut="mystery")),
        weights=tuple(Weighed(typed="", net_mg=None) for _ in range(wanted)),
    )
    with kitchen.book.act("label-ahead", kitchen.today, words=f"{wanted} spare codes printed") as act:
        codes = put_in(kitchen, act, run, State.SPARE)
        for code in codes:
            mask = qr_symbol(code).mask
            today = kitchen.today.isoformat()
            act.add("label", code=code, stock=SPARE_STOCK, text=code, mask=mask, banner="", printed_on=today)
        tiles = [
            Tile(
                title=show_code(code),  # in big letters; under the symbol it would take room from it
                modules=qr_symbol(code).modules,
                says=(code,),
                blank=True,
            )
            for code in codes
        ]
        read_back(tiles)
        pages, file = write_tiles(tiles, to, title="freezerbox spare codes", columns=3, rows=10, paper=paper)
        files.append(file)
    return Signs(file=file, pages=pages, codes=tuple(codes))


def kinds_inside(kitchen: Kitchen, place: Place) -> tuple[str, ...]:
    """What should be in a place, by kind: the most frequent first."""
    found: dict[str, int] = {}
    for row in inside_of(kitchen, place):
        species = cuts.species(row.package.species).name if row.package.species else ""
        name = f"{row.cut_name}, {species.lower()}" if species else row.cut_name
        name = name if row.for_people else f"NOT FOR PEOPLE: {name}"
        found[name] = found.get(name, 0) + row.package.state.quantity
    return tuple(sorted(found, key=lambda name: (-found[name], name)))


def _place_tile(kitchen: Kitchen, place: Place) -> Tile:
    kinds = kinds_inside(kitchen, place)
    lines = [place.freezer, *kinds[:MOST_KINDS]]
    if len(kinds) > MOST_KINDS:
        lines.append(f"and {count(len(kinds) - MOST_KINDS, 'other kind')}")
    return _tile(place.name, tuple(lines), place.code, place.code)


def _lot_tile(kitchen: Kitchen, row: Row) -> Tile:
    package = row.package
    if package.state.state is not State.FROZEN:
        raise InputError(f"{show_code(row.code)} is not in the freezer.", value=row.code)
    lines = (
        origin_words(row),
        f"{package.state.quantity} of {kitchen.mass(package.net_mg)}",
        f"{month_year(package.first_frozen_on)}, {best_by_words(row)}",
        "one scan takes one out",
    )
    return _tile(row.cut_name, tuple(line for line in lines if line), row.code, symbol_of(row))


def _tile(title: str, lines: tuple[str, ...], code: str, symbol: str) -> Tile:
    return Tile(
        title=title,
        lines=lines,
        code=show_code(code),
        modules=qr_symbol(symbol).modules,
        bars=code128_bars(code),
        says=(symbol, code),
    )


def read_back(tiles: Sequence[Tile]) -> None:
    """Read every symbol back in memory.  Raises: LabelUnreadable; nothing is written then."""
    for tile in tiles:
        pictures = [picture_of(tile.modules), *([picture_of_bars(tile.bars)] if tile.bars else [])]
        found = [[symbol.text for symbol in read_picture(picture)] for picture in pictures]
        if found != [[text] for text in tile.says]:
            said = ", ".join(text for texts in found for text in texts) or "nothing"
            raise LabelUnreadable(
                f"The sign {tile.title!r} does not read back as it should; it reads {said}. Nothing was printed.",
                code=tile.says[0],
            )
