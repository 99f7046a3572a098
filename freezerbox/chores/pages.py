"""Papers of an animal's story: the pull sheet, the slip of a gift, the lists of a split."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from freezerbox.chores import wording
from freezerbox.chores.exits import Exit
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pull import PullSheet, after_words, in_short
from freezerbox.chores.rows import Row, totals
from freezerbox.chores.share import Proposal
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.pages.sheet import Block, Line, Rule, Text, Written, write_sheet

_COLUMNS = (24.0, 24.0, 62.0)
_HEAD = 4.5
_SECTION = 3.2


def print_pull_sheet(kitchen: Kitchen, sheet: PullSheet, to: Path, *, paper: str = "letter") -> Written:
    """Write the pull sheet as a page to carry to the freezer.

    Raises: InputError for the file's ending; BookTrouble when it cannot be written.
    """
    title = f"To pull: {sheet.subject.words}"
    blocks: list[Block] = [
        Text(words=title, size_mm=_HEAD),
        *([Text(words=sheet.why, size_mm=_SECTION, above_mm=1)] if sheet.why else []),
        Text(words=in_short(sheet), above_mm=1),
        Text(
            words=f"{wording.packs_and_weight(kitchen, totals(sheet.to_pull))} in the freezer, in the order they "
            f"lie. As the list stood on {long_date(kitchen.today)}. Tick each one when it is in your hands.",
        ),
    ]
    for where, rows in by_place(sheet.to_pull):
        number = sum(row.package.state.quantity for row in rows)
        head = f"{where}: {wording.count(number, 'package')}"
        blocks.append(Text(words=head, size_mm=_SECTION, above_mm=3, over=True))
        blocks.extend(row_line(kitchen, row, batch_only=True) for row in rows)
    blocks.extend(_left(kitchen, "Eaten already", sheet.eaten))
    blocks.extend(_left(kitchen, "With other people", sheet.given))
    blocks.extend(_left(kitchen, "Pulled and discarded", sheet.pulled))
    blocks.extend(_left(kitchen, "Left in another way", sheet.elsewhere))
    if sheet.same_evening:
        blocks.append(
            Text(
                words="Not of it, but cut or ground on the same evenings; for you and your agency to judge",
                size_mm=_SECTION,
                above_mm=4,
            )
        )
        blocks.extend(row_line(kitchen, row, ticks=0) for row in sheet.same_evening)
    blocks.extend(
        _left(kitchen, "Of the same evenings, not of it, and no longer in the freezer", sheet.same_evening_gone)
    )
    blocks.append(Rule())
    blocks.append(
        Text(
            words=after_words(sheet),
        )
    )
    if sheet.caution:
        blocks.append(Text(words=sheet.caution, above_mm=2))
    return write_sheet(blocks, to, title=title, paper=paper)


def by_place(rows: Sequence[Row]) -> Iterator[tuple[str, list[Row]]]:
    """Rows under the place where they lie, in their order."""
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.where or "place not said", []).append(row)
    yield from groups.items()


def row_line(kitchen: Kitchen, row: Row, *, ticks: int = 1, batch_only: bool = False) -> Line:
    """A package as a line of a page.  ``batch_only``: what comes of a batch names it and not all that went in."""
    quantity = row.package.state.quantity
    weight = kitchen.mass(row.net_mg) if row.net_mg is not None else "not weighed"
    name = row.cut_name + (f" x{quantity}" if quantity > 1 else "")
    batch = f"batch {row.package.batch}" if row.package.batch else ""
    origin = "" if batch and batch_only else wording.origin_words(row)
    made_of = ", ".join(part for part in (origin, batch) if part)
    return Line(cells=(show_code(row.code), weight, name, made_of), widths_mm=_COLUMNS, ticks=ticks)


def _left(kitchen: Kitchen, heading: str, left: Iterable[Exit]) -> Iterator[Block]:
    exits = tuple(left)
    if not exits:
        return
    number = sum(one.number for one in exits)
    yield Text(words=f"{heading}: {wording.count(number, 'package')}", size_mm=_SECTION, above_mm=4, over=True)
    for one in exits:
        name = one.row.cut_name + (f" x{one.number}" if one.number > 1 else "")
        how = wording.left_words(one.reason, one.person)
        yield Line(cells=(show_code(one.row.code), long_date(one.on), name, how), widths_mm=_COLUMNS)


def print_share(kitchen: Kitchen, proposal: Proposal, to: Path, *, paper: str = "letter") -> Written:
    """Write a list for each person of a split, with boxes to tick while the heaps are made.

    Raises: InputError for the file's ending; BookTrouble when it cannot be written.
    """
    blocks: list[Block] = []
    for heap in proposal.heaps:
        blocks.append(Text(words=f"For {heap.person}", size_mm=_HEAD, above_mm=8 if blocks else 1))
        blocks.append(Text(words=f"{wording.count(heap.packages, 'package')}, {kitchen.mass(heap.net_mg)}"))
        for name, number, mass in heap.by_cut:
            blocks.append(Line(cells=(name, f"{number}", kitchen.mass(mass)), widths_mm=(62.0, 12.0)))
        blocks.append(Rule())
        for row, number in heap.rows:
            weight = kitchen.mass(row.package.net_mg)
            name = row.cut_name + (f" x{number}" if number > 1 else "")
            held = (
                f"HELD: {wording.holds_words(row.holds, kitchen.today)}" if row.holds else wording.origin_words(row)
            )
            blocks.append(Line(cells=(show_code(row.code), weight, name, held), widths_mm=_COLUMNS, ticks=1))
    return write_sheet(blocks, to, title="Shared out", paper=paper)
