"""Commands used before the season: start, settings, animal, guide."""

from __future__ import annotations

import shlex
from contextlib import suppress
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.book import queries
from freezerbox.book.parts import latest_copy
from freezerbox.chores import animals as animal_chores
from freezerbox.chores import guide as guide_chores
from freezerbox.chores import house, rotation, wording
from freezerbox.chores.guidance import guidance
from freezerbox.chores.reminders import unanswered
from freezerbox.chores.rows import keeping_source
from freezerbox.cli.animal_commands import add_animal_commands, facts_json, held_mark, story_json, story_lines
from freezerbox.cli.options import MINUS_IS_A_VALUE, AsJson, Yes, kitchen_of, refuse_options
from freezerbox.cli.output import note, paragraph, say, say_json, table
from freezerbox.cli.scale_key import SETTING as SCALE
from freezerbox.cli.scale_key import scale_doubt
from freezerbox.cli.wiring import Front, at_terminal
from freezerbox.core.dates import long_date
from freezerbox.core.records import Animal
from freezerbox.errors import BookTrouble
from freezerbox.food import cautions, cuts, keeping

Volume = Annotated[str, typer.Option("--volume", metavar="SIZE", help="Inside volume: 15 cu ft, or 420 l.")]


def _refuse_where_copies_lie(path: Path) -> None:
    """Raises: BookTrouble when the book is gone and its copies are there: an empty one would hide them."""
    copy = None
    with suppress(OSError):  # A folder that may not be entered is told of where the book would be made.
        copy = None if path.exists() else latest_copy(path)
    if copy is not None:
        raise BookTrouble(
            f"There was a book at {path}: copies of it lie beside it. Bring back the latest: freezerbox restore "
            f"{shlex.quote(str(copy))} To begin with an empty one all the same, add --yes.",
            path=str(path),
            copy=str(copy),
        )


def start(
    ctx: typer.Context,
    units: Annotated[str, typer.Option("--units", metavar="UNIT", help="lb, lb-oz or kg.")] = "",
    freezer: Annotated[str, typer.Option("--freezer", metavar="NAME", help="The first freezer's name.")] = "",
    volume: Volume = "",
    guide: Annotated[str, typer.Option("--guide", metavar="NAME", help="Keeping-time guide to go by.")] = "",
    existing: Annotated[
        bool, typer.Option("--existing", help="The freezer is full already: enter it basket by basket.")
    ] = False,
    first_frozen: Annotated[
        str, typer.Option("--first-frozen", metavar="MONTH", help='With --existing, where not said: "nov 2024".')
    ] = "",
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Start a new book for this household."""
    front: Front = ctx.ensure_object(Front)
    if not yes:
        _refuse_where_copies_lie(front.path())
    if at_terminal() and not as_json:
        units = units or typer.prompt("Weights in lb (1.25 lb), lb-oz (1 lb 4 oz) or kg", default="lb")
        freezer = freezer or typer.prompt("What do you call the freezer", default="Chest freezer")
        if not guide:
            _offer_guides()
            guide = typer.prompt("Which guide", default=keeping.DEFAULT_GUIDE)
    units, guide = units or "lb", guide or keeping.DEFAULT_GUIDE
    # Checked before the file is made: a slip here leaves no empty book behind.
    house.parse_unit(units)
    chosen = keeping.guide(guide)
    if volume:
        house.parse_volume(volume)
    if freezer:
        house.clean_name(freezer)
    kitchen = front.new_kitchen()
    try:
        house.start(kitchen, units=units, guide=guide, freezer=freezer, volume=volume)
        letter = house.letter(kitchen)
    finally:
        kitchen.book.close()
    path = str(front.path())
    if as_json:
        say_json({"book": path, "units": units, "guide": guide, "letter": letter, "freezer": freezer or None})
        return
    say(f"Book started: {path}")
    say(paragraph(f"Package codes begin with {letter}. Weights in {units}. Keeping times: {chosen.name}."))
    if existing:
        from freezerbox.cli.adopt_commands import take_stock

        with kitchen_of(ctx) as kitchen:
            take_stock(kitchen, freezer, first_frozen)
        return
    say('Next: freezerbox animal add 26B whitetail doe --killed "14 nov"')
    say("A scanner: print the cards, and scan the one named TEST first: freezerbox sign --cards")


def _offer_guides() -> None:
    say("Keeping times come from a guide. Its months are about quality, at a steady 0 °F (-18 °C):")
    for guide in keeping.guides():
        say(paragraph(f"{guide.key}: {guide.name}, {guide.edition}. {guide.about}", "  "))


def settings(
    ctx: typer.Context,
    key: Annotated[str, typer.Argument(metavar="[KEY]", help="Which setting.")] = "",
    value: Annotated[str, typer.Argument(metavar="[VALUE]", help="Its new value.")] = "",
    as_json: AsJson = False,
) -> None:
    """Show the settings, or one, or change one."""
    with kitchen_of(ctx) as kitchen:
        if value:
            house.set_setting(kitchen, key, value)
            kitchen = kitchen.afresh()
            if key.strip().lower() == SCALE and not as_json and (words := scale_doubt(kitchen)):
                note(words)
        found = [house.setting_named(kitchen, key)] if key and not value else house.all_settings(kitchen)
        if as_json:
            say_json({"settings": {one.key: one.value or None for one in found}})
            return
        if key and not value:
            (one,) = found
            say(paragraph(f"{one.key}: {one.value or 'not set'} ({one.about})"))
            say(paragraph(f"To change it: freezerbox settings {one.key} {one.example}", hang="  "))
            say(paragraph(f"What it may be: {one.choices}.", hang="  "))
            return
        for line in table([(one.key, one.value, f"{one.about} ({one.choices})") for one in found]):
            say(line)


animal_app = typer.Typer(
    help="Add an animal, show its story, or list them.",
    epilog='Example: freezerbox animal add 26B whitetail doe --killed "14 nov"',
    rich_markup_mode=None,
    invoke_without_command=True,
)


@animal_app.callback()
def animal_alone(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Add an animal, show its story, or list them."""
    if ctx.invoked_subcommand is None:
        animal_list(ctx, as_json=as_json)


@animal_app.command("list", epilog="Example: freezerbox animal list")
def animal_list(ctx: typer.Context, as_json: AsJson = False) -> None:
    """The animals in this book."""
    with kitchen_of(ctx) as kitchen:
        found = queries.animals(kitchen.book)
        if as_json:
            say_json({"animals": [_animal_json(one) for one in found]})
            return
        if not found:
            say('No animals yet. Add one: freezerbox animal add 26B whitetail doe --killed "14 nov"')
        for one in found:
            say(paragraph(_animal_line(one) + held_mark(kitchen, one), hang="  "))
        for reminder in unanswered(kitchen, found):
            say(paragraph(reminder.words, hang="  "))


@animal_app.command(
    "add", epilog='Example: freezerbox animal add 26B whitetail doe --killed "14 nov" --test pending --sample 4471'
)
def animal_add(
    ctx: typer.Context,
    code: Annotated[str, typer.Argument(metavar="CODE", help="Year and a letter: 26B.")],
    species: Annotated[list[str], typer.Argument(metavar="SPECIES", help="whitetail doe, elk bull, pig, steer.")],
    what: Annotated[str, typer.Option("--what", metavar="WORDS", help="A share: half hog, quarter beef.")] = "",
    killed: Annotated[str, typer.Option("--killed", metavar="DAY", help="14 nov, sat, 2026-11-14.")] = "",
    processed: Annotated[str, typer.Option("--processed", metavar="DAY", help="Day it was cut up.")] = "",
    test: Annotated[str, typer.Option("--test", metavar="RESULT", help="pending holds all its meat.")] = "",
    test_for: Annotated[str, typer.Option("--test-for", metavar="WHAT", help="What is tested for.")] = "",
    sample: Annotated[str, typer.Option("--sample", metavar="NUMBER", help="The sample's number.")] = "",
    sent: Annotated[str, typer.Option("--sent", metavar="DAY", help="Day the sample went in.")] = "",
    tag: Annotated[str, typer.Option("--tag", metavar="NUMBER", help="Tag or permit number.")] = "",
    note: Annotated[str, typer.Option("--note", metavar="WORDS", help="Anything to remember.")] = "",
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Add an animal, or a share of one."""
    with kitchen_of(ctx) as kitchen:
        new = animal_chores.NewAnimal(
            code=code, species=" ".join(species), what=what, killed=killed, processed=processed, test=test,
            test_for=test_for, sample=sample, sent=sent, tag=tag, note=note,
        )  # fmt: skip
        animal = animal_chores.add_animal(kitchen, new, yes=yes)
        if as_json:
            say_json({"animal": _animal_json(animal)})
            return
        say(f"Animal added: {_animal_line(animal)}")
        holds = animal_chores.holds_of(animal)
        if holds:
            held = wording.holds_words(holds, kitchen.today)
            say(paragraph(f"ON HOLD: {held}. Its meat is out of meals until the result."))
            say(paragraph(guidance([animal]), "  "))


@animal_app.command("show", epilog="Example: freezerbox animal show 26B")
def animal_show(
    ctx: typer.Context,
    code: Annotated[str, typer.Argument(metavar="CODE", help="The animal's code.")],
    as_json: AsJson = False,
) -> None:
    """What an animal gave, and where each package is now."""
    with kitchen_of(ctx) as kitchen:
        story = animal_chores.animal_story(kitchen, code)
        if as_json:
            say_json(
                {
                    "animal": _animal_json(story.animal) | facts_json(kitchen, story.animal),
                    **story_json(story),
                }
            )
            return
        say(paragraph(_animal_line(story.animal), hang="  "))
        for line in story_lines(kitchen, story):
            say(line)


def _animal_line(animal: Animal) -> str:
    parts = [f"{animal.code}  {cuts.species(animal.species).name} {animal.sex_age}".rstrip()]
    if animal.what:
        parts.append(animal.what)
    if animal.killed_on:
        parts.append(f"killed {long_date(animal.killed_on)}")
    if animal.processed_on:
        parts.append(f"processed {long_date(animal.processed_on)}")
    if animal.tag:
        parts.append(f"tag {animal.tag}")
    return ", ".join(parts)


def _animal_json(animal: Animal) -> dict[str, object]:
    return {
        "code": animal.code,
        "species": animal.species,
        "sex_age": animal.sex_age or None,
        "what": animal.what or None,
        "killed_on": animal.killed_on.isoformat() if animal.killed_on else None,
        "processed_on": animal.processed_on.isoformat() if animal.processed_on else None,
        "tag": animal.tag or None,
        "note": animal.note or None,
        "tests": [
            {
                "what_for": test.what_for or None,
                "sample": test.sample or None,
                "sent_on": test.sent_on.isoformat(),
                "result": test.result.value,
                "result_on": test.result_on.isoformat() if test.result_on else None,
            }
            for test in animal.tests
        ],
    }


guide_app = typer.Typer(
    help="Keeping times: list, show, use, set your own.",
    epilog="Example: freezerbox guide use refrigeration-1972",
    rich_markup_mode=None,
    invoke_without_command=True,
)


@guide_app.callback()
def guide(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Keeping times: list, show, use, set your own."""
    if ctx.invoked_subcommand is None:
        guide_list(ctx, as_json=as_json)


@guide_app.command("list", epilog="Example: freezerbox guide list")
def guide_list(ctx: typer.Context, as_json: AsJson = False) -> None:
    """The guides there are; the one in use is marked."""
    with kitchen_of(ctx) as kitchen:
        if as_json:
            guides = [{"key": one.key, "name": one.name, "edition": one.edition} for one in keeping.guides()]
            say_json({"guides": guides, "in_use": kitchen.guide.key})
            return
        for one in keeping.guides():
            mark = "in use" if one.key == kitchen.guide.key else ""
            say(f"{one.key}  {mark}".rstrip())
            say(paragraph(f"{one.name}, {one.edition}. {one.about}", "  "))


@guide_app.command("show", epilog="Example: freezerbox guide show refrigeration-1972")
def guide_show(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="[NAME]", help="Another guide than the one in use.")] = "",
    as_json: AsJson = False,
) -> None:
    """Every figure of a guide, with its source and how that was seen."""
    with kitchen_of(ctx) as kitchen:
        shown = guide_chores.guide_named(kitchen, name)
        in_use = shown.key == kitchen.guide.key
        rows = rotation.guide_rows(shown)
        if as_json:
            said = [_guide_row_json(row, cite) for row, cite in rows]
            say_json({"guide": shown.key, "in_use": in_use, "rows": said})
            return
        say(f"{shown.name}, {shown.edition}" + ("" if in_use else " (not in use)"))
        numbers: dict[str, int] = {}
        lines = []
        for row, cite in rows:
            number = numbers.setdefault(cite, len(numbers) + 1)
            lines.append((row.keeping.months(), f"[{number}]", f"{row.keeping.food} ({_covers(row)})"))
        for line in table(lines):
            say(line)
        say()
        for cite, number in numbers.items():
            say(paragraph(f"[{number}] {cite}"))
        say(paragraph(cautions.caution("quality").text))


def _covers(row: keeping.GuideRow) -> str:
    if row.called:
        return "whatever is called so"
    groups = "any" if row.guide_groups == (keeping.ANY_GROUP,) else ", ".join(row.guide_groups)
    return f"{groups}: {', '.join(row.keeps_as)}"


def _guide_row_json(row: keeping.GuideRow, cite: str) -> dict[str, object]:
    return {
        "guide_groups": list(row.guide_groups),
        "keeps_as": list(row.keeps_as),
        "called": row.called or None,
        "food": row.keeping.food,
        "months_min": row.keeping.months_min,
        "months_max": row.keeping.months_max,
        "wrap": row.keeping.wrap or None,
        "note": row.keeping.note or None,
        "own": row.keeping.own,
        "source_id": row.keeping.source_id,
        "locator": row.keeping.locator,
        "source": cite,
    }


@guide_app.command("use", epilog="Example: freezerbox guide use refrigeration-1972")
def guide_use(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME", help="From: freezerbox guide list")],
    as_json: AsJson = False,
) -> None:
    """Take another guide."""
    with kitchen_of(ctx) as kitchen:
        guide = guide_chores.use_guide(kitchen, name)
        if as_json:
            say_json({"guide": guide.key, "name": guide.name, "edition": guide.edition})
            return
        say(f"Guide in use: {guide.name}, {guide.edition}.")


@guide_app.command(
    "set",
    context_settings=MINUS_IS_A_VALUE,
    epilog='Example: freezerbox guide set "ground venison" 4 6',
)
def guide_set(
    ctx: typer.Context,
    food: Annotated[str, typer.Argument(metavar="FOOD", help="A cut, with an animal if it matters.")],
    months_min: Annotated[str, typer.Argument(metavar="MIN", help="Months.")],
    months_max: Annotated[str, typer.Argument(metavar="MAX", help="Months.")],
    as_json: AsJson = False,
) -> None:
    """Set your own keeping months for a food; shown as your own."""
    refuse_options([food, months_min, months_max], "guide set")
    with kitchen_of(ctx) as kitchen:
        row = guide_chores.set_own(kitchen, food, months_min, months_max)
        if as_json:
            say_json({"row": _guide_row_json(row, keeping_source(row.keeping))})
            return
        say(f"Here {food} keeps {row.keeping.months()} now, by this household's own figure.")
        if row.called:
            number = guide_chores.packs_called(kitchen.afresh(), row.called)
            there = f"{wording.count(number, 'package')} in the freezer" if number else "nothing in the freezer yet"
            say(f"It goes for what is called {row.called}: {there}.")


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(
        rich_help_panel=panel,
        epilog='Example: freezerbox start --units lb --freezer "Garage chest" --volume "15 cu ft"',
    )(start)
    add_animal_commands(animal_app)
    app.add_typer(animal_app, name="animal", rich_help_panel=panel)
    app.add_typer(guide_app, name="guide", rich_help_panel=panel)
    app.command(rich_help_panel=panel, epilog="Example: freezerbox settings units lb-oz")(settings)
