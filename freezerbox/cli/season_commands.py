"""The command that tells a season: what came in, how it left, what is left."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

import typer

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import totals_json
from freezerbox.chores.season import Line, Season
from freezerbox.chores.wording import packs_and_weight, way_words
from freezerbox.cli.options import AsJson, kitchen_of
from freezerbox.cli.output import paragraph, say, say_json, table
from freezerbox.core.dates import long_date

_COLUMNS = ("before", "in", "eaten", "given", "other", "left", "")


def season(
    ctx: typer.Context,
    which: Annotated[str, typer.Argument(metavar="[SEASON]", help="24/25; the one that is on, when not said.")] = "",
    everyone: Annotated[bool, typer.Option("--everyone", help="Other people's packages too.")] = False,
    as_json: AsJson = False,
) -> None:
    """A season by kind: what came in, was eaten or given, is left."""
    from freezerbox.chores.season import season_report

    with kitchen_of(ctx) as kitchen:
        report = season_report(kitchen, which, everyone=everyone)
        if as_json:
            say_json(_as_json(report))
            return
        for line in _lines(kitchen, report):
            say(line)


def _lines(kitchen: Kitchen, report: Season) -> Iterator[str]:
    yield f"Season {report.name}: {long_date(report.begins)} to {long_date(report.ends)}."
    if not report.lines:
        yield "Nothing was in the freezers by the list."
        return
    if report.until < report.ends:
        yield f"It is on: told up to {long_date(report.until)}."
    yield ""
    cells = [
        _COLUMNS,
        *(_cells(line, f"{line.species or 'species not said'}: {line.use.name}") for line in report.lines),
    ]
    if len(report.lines) > 1:
        cells.append(_cells(report.all, "together"))
    yield from table(cells, right=range(len(_COLUMNS) - 1), indent=2)
    yield ""
    together = (
        ("There before", report.all.before), ("Came in", report.all.came), ("Eaten", report.all.eaten),
        ("Given", report.all.given), ("Other ways", report.all.other), ("Left", report.all.left),
    )  # fmt: skip
    for name, sums in together:
        if sums.packages:
            yield f"{name}: {packs_and_weight(kitchen, sums)}"
    if report.ways:
        yield paragraph(
            f"Other ways: {', '.join(f'{number:,} {way_words(reason)}' for reason, number in report.ways)}."
        )


def _cells(line: Line, name: str) -> tuple[str, ...]:
    sums = (line.before, line.came, line.eaten, line.given, line.other, line.left)
    return (*(f"{one.packages:,}" if one.packages else "-" for one in sums), name)


def _as_json(report: Season) -> dict[str, object]:
    def sums(line: Line) -> dict[str, object]:
        return {
            "before": totals_json(line.before),
            "in": totals_json(line.came),
            "eaten": totals_json(line.eaten),
            "given": totals_json(line.given),
            "other": totals_json(line.other),
            "left": totals_json(line.left),
        }

    return {
        "season": report.name,
        "begins": report.begins.isoformat(),
        "ends": report.ends.isoformat(),
        "until": report.until.isoformat(),
        "lines": [
            {"species": line.species or None, "use": line.use.key, "name": line.use.name, **sums(line)}
            for line in report.lines
        ],
        "totals": sums(report.all),
        "other_ways": {reason.value: number for reason, number in report.ways},
    }


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox season 24/25")(season)
