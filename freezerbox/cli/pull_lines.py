"""The pull sheet in plain lines and as JSON, for a reader who has just had bad news."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from freezerbox.chores import wording
from freezerbox.chores.exits import Exit
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.plain_file import refuse_taken
from freezerbox.chores.pull import PullSheet, after_words, in_short
from freezerbox.chores.rows import Row, totals
from freezerbox.chores.rows import as_json as row_json
from freezerbox.cli.output import paragraph, table
from freezerbox.core.code import show_code
from freezerbox.core.dates import short_date
from freezerbox.core.mass import net_grams
from freezerbox.errors import InputError
from freezerbox.pages.sheet import PAPERS

_MOST_NEAR = 12


def refuse_file(file: Path | None, ending: str, paper: str = "", *, what: str, yes: bool) -> None:
    """Look at the name of a file before anything is recorded that it is to tell of.

    Raises: InputError for another ending, a folder that is not there, or a paper that is none; OutOfLine when it is
    there already with its ``what``, and not ``yes``.
    """
    if file is None:
        return
    if paper and paper not in PAPERS:
        raise InputError(
            f"Nothing recorded: {paper!r} is not a paper. The papers are: {', '.join(PAPERS)}.", value=paper
        )
    if file.suffix.lower() != ending:
        raise InputError(f"Nothing recorded: {file.name!r} must end in {ending}.", value=str(file))
    if not file.parent.is_dir():
        raise InputError(
            f"Nothing recorded: there is no folder {str(file.parent)!r} to write {file.name!r} into.", value=str(file)
        )
    if not yes:
        refuse_taken(file, what, done="sent" if ending == ".json" else "printed")


def sheet_lines(kitchen: Kitchen, sheet: PullSheet) -> Iterator[str]:
    """What to fetch, what was eaten and when, who was given what, and what was made the same evening."""
    number = sheet.packages_to_pull
    if sheet.why:
        yield paragraph(f"{sheet.subject.words}: {sheet.why}", "", "  ")
    yield paragraph(in_short(sheet))
    yield f"TO PULL, {sheet.subject.words}: {wording.packs_and_weight(kitchen, totals(sheet.to_pull))}"
    if number:
        yield from place_lines(kitchen, sheet.to_pull)
        yield paragraph(after_words(sheet))
    if sheet.eaten:
        yield ""
        yield f"Eaten already: {wording.count(_sum(sheet.eaten), 'package')}"
        yield from _exit_lines(kitchen, sheet.eaten)
    if sheet.given:
        yield ""
        yield f"With other people: {wording.count(_sum(sheet.given), 'package')}"
        yield from _exit_lines(kitchen, sheet.given)
    if sheet.pulled:
        yield ""
        yield f"Pulled and discarded: {wording.count(_sum(sheet.pulled), 'package')}"
        yield from _exit_lines(kitchen, sheet.pulled)
    if sheet.elsewhere:
        yield ""
        yield f"Left in another way: {wording.count(_sum(sheet.elsewhere), 'package')}"
        yield from _exit_lines(kitchen, sheet.elsewhere)
    if sheet.same_evening:
        yield ""
        yield paragraph(
            "Not of it, but cut or ground on the same evenings "
            f"({wording.packs_and_weight(kitchen, totals(sheet.same_evening))}); for you and your agency to judge:"
        )
        for row in sheet.same_evening[:_MOST_NEAR]:
            yield f"  {wording.coded_line(kitchen, row)}{f' ({row.where})' if row.where else ''}"
        if len(sheet.same_evening) > _MOST_NEAR:
            yield f"  ... and {len(sheet.same_evening) - _MOST_NEAR} more; all are in --json and on the page"
    if sheet.same_evening_gone:
        yield ""
        gone = wording.count(_sum(sheet.same_evening_gone), "package")
        yield paragraph(f"Of the same evenings, not of it, and no longer in the freezer: {gone}")
        yield from _exit_lines(kitchen, sheet.same_evening_gone[:_MOST_NEAR])
        if len(sheet.same_evening_gone) > _MOST_NEAR:
            yield f"  ... and {len(sheet.same_evening_gone) - _MOST_NEAR} more; all are in --json and on the page"
    if sheet.caution:
        yield ""
        yield paragraph(sheet.caution)


def place_lines(kitchen: Kitchen, rows: Sequence[Row]) -> Iterator[str]:
    """Packages under the place where they lie, in the order given."""
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.where or "place not said", []).append(row)
    for where, here in groups.items():
        yield f"  {where}: {wording.count(sum(row.package.state.quantity for row in here), 'package')}"
        yield from table([_cells(kitchen, row) for row in here], right=(2,), indent=4)


def _cells(kitchen: Kitchen, row: Row) -> tuple[str, ...]:
    quantity = row.package.state.quantity
    return (
        "[ ]",
        show_code(row.code),
        kitchen.mass(row.net_mg) if row.net_mg is not None else "-",
        row.cut_name
        + (f" x{quantity}" if quantity > 1 else "")
        + (f", batch {row.package.batch}" if row.package.batch else ""),
    )


def _exit_lines(kitchen: Kitchen, left: Sequence[Exit]) -> Iterator[str]:
    cells = [
        (
            short_date(one.on, today=kitchen.today),
            show_code(one.row.code),
            one.row.cut_name + (f" x{one.number}" if one.number > 1 else ""),
            wording.left_words(one.reason, one.person),
        )
        for one in left
    ]
    yield from table(cells, indent=2)


def _sum(left: Sequence[Exit]) -> int:
    return sum(one.number for one in left)


def sheet_json(sheet: PullSheet) -> dict[str, object]:
    """The pull sheet as JSON; ``packages`` counts lots by what is left of them."""
    return {
        "of": sheet.subject.code,
        "why": sheet.why or None,
        "to_pull": [row_json(row) for row in sheet.to_pull],
        "packages": sheet.packages_to_pull,
        "eaten": [exit_json(one) for one in sheet.eaten],
        "given": [exit_json(one) for one in sheet.given],
        "pulled": [exit_json(one) for one in sheet.pulled],
        "elsewhere": [exit_json(one) for one in sheet.elsewhere],
        "same_evening": [row_json(row) for row in sheet.same_evening],
        "same_evening_gone": [exit_json(one) for one in sheet.same_evening_gone],
        "guidance": sheet.caution or None,
    }


def exit_json(left: Exit) -> dict[str, object]:
    """One way out as JSON."""
    return {
        "code": left.row.code,
        "cut_name": left.row.cut_name,
        "animals": [animal.code for animal in left.row.animals],
        "batch": left.row.package.batch or None,
        "number": left.number,
        "net_g": net_grams(left.net_mg),
        "on": left.on.isoformat(),
        "reason": left.reason.value,
        "person": left.person or None,
    }
