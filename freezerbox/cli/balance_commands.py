"""Commands that say what is left, in your own words: balance, the list on the lid, words."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores.balance import Balance, Line
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import totals_json
from freezerbox.chores.wording import count, on_hold_words, packs_and_weight
from freezerbox.cli.options import AsJson, AsOf, Freezer, WriteOver, Yes, kitchen_of
from freezerbox.cli.output import no_letters, paragraph, say, say_json, table
from freezerbox.core.dates import long_date, month_year

DEFAULT_LID = Path("lid.pdf")


def balance(
    ctx: typer.Context,
    cut: Annotated[bool, typer.Option("--by-cut", help="A line for each cut.")] = False,
    everyone: Annotated[bool, typer.Option("--everyone", help="Other people's packages too.")] = False,
    as_of: AsOf = "",
    as_json: AsJson = False,
) -> None:
    """What is left: packs, weight, meals, how long it lasts; its worth by your prices."""
    from freezerbox.chores.balance import balance as chore

    with kitchen_of(ctx, as_of) as kitchen:
        report = chore(kitchen, everyone=everyone, by_cut=cut)
        if as_json:
            say_json(_as_json(kitchen, report))
            return
        if kitchen.as_of:
            stood = f"As it stood at the end of {long_date(kitchen.as_of)}, as known now"
            say(paragraph(f"{stood}; names, words and guide are today's."))
        for line in _lines(kitchen, report, by_cut=cut):
            say(line)


def _lines(kitchen: Kitchen, report: Balance, *, by_cut: bool) -> Iterator[str]:
    if not report.lines and not report.apart:
        yield "The freezers are empty by the list."
    cells = [_cells(kitchen, line, by_cut) for line in report.lines]
    yield from table(cells, indent=2)
    if report.lines:
        yield f"Together {packs_and_weight(kitchen, report.free)} to eat{on_hold_words(kitchen, report.on_hold)}."
    if report.worth:
        value, unpriced = report.worth
        held = ", what is on hold included" if report.on_hold.packages else ""
        without = f"; {count(unpriced, 'pack')} without a price or weight" if unpriced else ""
        yield paragraph(f"Worth {value:,.2f} by your prices{held}{without}.")
    for line in report.apart:
        name = line.rows[0].cut_name if by_cut else line.use.name
        held = f" and {line.held} on hold" if line.held else ""
        yield f"Apart - {name}: {packs_and_weight(kitchen, line.free)}{held}."
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
        lasts.append(f"and {line.held} ON HOLD" if line.free.packages else f"{line.held} ON HOLD")
    name = line.rows[0].cut_name if by_cut else line.use.name
    free = packs_and_weight(kitchen, line.free) if line.free.packages else "none to eat"
    return (line.species or "species not said", free, "; ".join([name, *lasts]))


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
            "free": totals_json(line.free),
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
        "free": totals_json(report.free),
        "on_hold": totals_json(report.on_hold),
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
        "worth": None if report.worth is None else {"money": float(report.worth[0]), "unpriced": report.worth[1]},
        "history_days": report.days,
        "people": report.people,
    }


def lid(
    ctx: typer.Context,
    freezer: Freezer = "",
    to: Annotated[Path, typer.Option("--to", metavar="FILE.pdf", help="The file to write.")] = DEFAULT_LID,
    paper: Annotated[str, typer.Option("--paper", metavar="letter|a4", help="What the printer holds.")] = "letter",
    yes: WriteOver = False,
    as_json: AsJson = False,
) -> None:
    """Print the list for the lid: a box to tick for each pack."""
    from freezerbox.chores.lid import print_lid
    from freezerbox.chores.plain_file import refuse_taken

    if not yes:
        refuse_taken(to, "list")
    with kitchen_of(ctx) as kitchen:
        printed = print_lid(kitchen, to, freezer=freezer, paper=paper)
        no_letters(printed.file, printed.unknown)
        if as_json:
            say_json(
                {
                    "file": str(printed.file),
                    "pages": printed.pages,
                    "freezer": printed.freezer,
                    "codes": list(printed.codes),
                    "list": printed.number,
                    "unknown_letters": printed.unknown,
                }
            )
            return
        number = f"{count(len(printed.codes), 'line')} of {printed.freezer} on {count(printed.pages, 'page')}"
        say(f"{printed.file}: list {printed.number}, {number}.")
        say(f"Enter the ticks once a week: freezerbox take --ticks --list {printed.number} 3 12-15 40x2 --on sun")


words_app = typer.Typer(
    help="Your own words for cuts: list, add, remove.",
    epilog="Example: freezerbox words list",
    rich_markup_mode=None,
    invoke_without_command=True,
)


@words_app.callback()
def words_alone(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Your own words for cuts: list, add, remove."""
    if ctx.invoked_subcommand is None:
        words_list(ctx, as_json=as_json)


@words_app.command("list", epilog="Example: freezerbox words list")
def words_list(ctx: typer.Context, as_json: AsJson = False) -> None:
    """The words you taught, and the cut each stands for."""
    with kitchen_of(ctx) as kitchen:
        if as_json:
            say_json({"words": _words_json(kitchen)})
            return
        if not kitchen.own_words:
            say('No words of your own yet. Teach one: freezerbox words add "deer burger" ground')
        for line in table(sorted(kitchen.own_words.items())):
            say(line)


@words_app.command("add", epilog='Example: freezerbox words add "deer burger" ground')
def words_add(
    ctx: typer.Context,
    word: Annotated[str, typer.Argument(metavar="WORD", help="Your word, in quotes when there are several.")],
    meaning: Annotated[list[str], typer.Argument(metavar="CUT", help="The cut it stands for.")],
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Teach a word of your own."""
    from freezerbox.chores.own_words import add_word

    with kitchen_of(ctx) as kitchen:
        cut_name = add_word(kitchen, word, " ".join(meaning), yes=yes)
        if as_json:
            say_json({"word": word.strip(), "cut_name": cut_name, "words": _words_json(kitchen.afresh())})
            return
        say(f"{word.strip()} stands for {cut_name} now.")


@words_app.command("remove", epilog='Example: freezerbox words remove "deer burger"')
def words_remove(
    ctx: typer.Context,
    word: Annotated[str, typer.Argument(metavar="WORD", help="Your word.")],
    as_json: AsJson = False,
) -> None:
    """Forget a word of your own."""
    from freezerbox.chores.own_words import remove_word

    with kitchen_of(ctx) as kitchen:
        remove_word(kitchen, word)
        if as_json:
            say_json({"word": word.strip(), "words": _words_json(kitchen.afresh())})
            return
        say(f"{word.strip()} is forgotten.")


def _words_json(kitchen: Kitchen) -> dict[str, str]:
    return dict(sorted(kitchen.own_words.items()))


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox balance --by-cut")(balance)
    app.command(rich_help_panel=panel, epilog='Example: freezerbox lid --freezer "Garage chest"')(lid)
    app.add_typer(words_app, name="words", rich_help_panel=panel)
