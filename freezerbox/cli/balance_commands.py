"""Commands that say what is left: balance, and the list on the lid."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores.balance import Balance, Line
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import totals_json
from freezerbox.chores.wording import count, packs_and_weight
from freezerbox.cli.options import AsJson, kitchen_of
from freezerbox.cli.output import paragraph, say, say_json, table
from freezerbox.core.dates import month_year

DEFAULT_LID = Path("lid.pdf")


def balance(
    ctx: typer.Context,
    cut: Annotated[bool, typer.Option("--by-cut", help="A line for each cut.")] = False,
    everyone: Annotated[bool, typer.Option("--everyone", help="Other people's packages too.")] = False,
    as_json: AsJson = False,
) -> None:
    """What is left: packs, weight, meals, and how long it lasts."""
    from freezerbox.chores.balance import balance as chore

    with kitchen_of(ctx) as kitchen:
        report = chore(kitchen, everyone=everyone, by_cut=cut)
        if as_json:
            say_json(_as_json(kitchen, report))
            return
        for line in _lines(kitchen, report, by_cut=cut):
            say(line)


def _lines(kitchen: Kitchen, report: Balance, *, by_cut: bool) -> Iterator[str]:
    if not report.lines and not report.apart:
        yield "The freezers are empty by the list."
    cells = [_cells(kitchen, line, by_cut) for line in report.lines]
    yield from table(cells, indent=2)
    if report.lines:
        yield f"Together {packs_and_weight(kitchen, report.totals)}."
    for line in report.apart:
        name = line.rows[0].cut_name if by_cut else line.use.name
        yield f"Apart - {name}: {packs_and_weight(kitchen, line.totals)}."
    if report.others.packages:
        yield f"Other people's, not counted: {packs_and_weight(kitchen, report.others)}."
    yield ""
    for where, sums in report.places:
        yield f"  {where}: {packs_and_weight(kitchen, sums)}"
    for room in report.rooms:
        for filling, share in room.used:
            yield paragraph(
                f"{room.name}: {share * 100:.0f} % of {room.cu_ft:.1f} cu ft used, if it holds "
                f"{filling.lb_per_cu_ft} lb a cubic foot ({filling.about})."
            )
        if room.totals.unweighed and room.used:
            yield f"  {count(room.totals.unweighed, 'pack')} in it not weighed, not in these shares."
    yield paragraph(_basis(kitchen, report))


def _cells(kitchen: Kitchen, line: Line, by_cut: bool) -> tuple[str, str, str]:
    lasts = []
    if line.meals is not None:
        lasts.append(count(line.meals, "meal"))
    if line.weeks is not None and line.runs_out is not None:
        lasts.append(f"{line.weeks:.0f} weeks, out in {month_year(line.runs_out).title()}")
    elif line.packs_a_week is not None:
        lasts.append("none eaten lately")
    if line.held:
        lasts.append(f"{line.held} HELD")
    name = line.rows[0].cut_name if by_cut else line.use.name
    return (line.species or "species not said", packs_and_weight(kitchen, line.totals), "; ".join([name, *lasts]))


def _basis(kitchen: Kitchen, report: Balance) -> str:
    portion = kitchen.mass(report.portion_mg)
    meal = (
        f"A meal is {portion} raw for each of {report.people}."
        if report.people
        else f"For meals say who eats here: freezerbox settings people 4 (a portion is {portion})."
    )
    pace = (
        f"Pace: what was eaten in the last {report.days} days."
        if report.days
        else "No pace before thirty days of history."
    )
    return f"{meal} {pace}"


def _as_json(kitchen: Kitchen, report: Balance) -> dict[str, object]:
    def line_json(line: Line) -> dict[str, object]:
        return {
            "species": line.species or None,
            "use": line.use.key,
            "name": line.use.name,
            "cuts": sorted({row.package.cut for row in line.rows}),
            "totals": totals_json(line.totals),
            "held": line.held,
            "meals": line.meals,
            "packs_a_week": None if line.packs_a_week is None else round(float(line.packs_a_week), 3),
            "weeks_left": None if line.weeks is None else round(float(line.weeks), 2),
            "runs_out": line.runs_out.isoformat() if line.runs_out else None,
        }

    return {
        "as_of": kitchen.today.isoformat(),
        "lines": [line_json(line) for line in report.lines],
        "not_for_people": [line_json(line) for line in report.apart],
        "totals": totals_json(report.totals),
        "others": totals_json(report.others),
        "places": [{"where": where, "totals": totals_json(sums)} for where, sums in report.places],
        "freezers": [
            {
                "name": room.name,
                "totals": totals_json(room.totals),
                "cu_ft": None if room.cu_ft is None else round(float(room.cu_ft), 2),
                "used": {filling.key: round(float(share), 4) for filling, share in room.used},
            }
            for room in report.rooms
        ],
        "history_days": report.days,
        "people": report.people,
    }


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox balance --by-cut")(balance)
