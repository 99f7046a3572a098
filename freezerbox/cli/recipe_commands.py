"""The household's own recipes: recipe."""

from __future__ import annotations

from typing import Annotated

import typer

from freezerbox.chores import recipes as recipe_chore
from freezerbox.chores.cues import making_cues
from freezerbox.cli.options import AsJson, Yes, kitchen_of
from freezerbox.cli.output import paragraph, say, say_json, table
from freezerbox.core.dates import long_date
from freezerbox.core.mass import net_grams, parse_mass
from freezerbox.errors import InputError

recipe_app = typer.Typer(
    help="Your own recipes, scaled by weight, and steps that are due.",
    epilog="Example: freezerbox recipe show Italian --for 13.9",
    rich_markup_mode=None,
    invoke_without_command=True,
)
Name = Annotated[str, typer.Argument(metavar="NAME", help="The recipe's name.")]


@recipe_app.callback()
def recipe_alone(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Your own recipes, scaled by weight, and steps that are due."""
    if ctx.invoked_subcommand is None:
        recipe_list(ctx, as_json=as_json)


@recipe_app.command("list", epilog="Example: freezerbox recipe list")
def recipe_list(ctx: typer.Context, as_json: AsJson = False) -> None:
    """The recipes you keep, and the weight each is for."""
    with kitchen_of(ctx) as kitchen:
        found = recipe_chore.recipes(kitchen)
        if as_json:
            say_json({"recipes": [{"name": one.name, "per_g": net_grams(one.per_mg)} for one in found]})
            return
        if not found:
            say('No recipes yet. Keep one of yours: freezerbox recipe set Italian --per 10 "80 g salt" "20 g fennel"')
        for one in found:
            say(f"{one.name}, for {kitchen.mass(one.per_mg)}")


@recipe_app.command("set", epilog='Example: freezerbox recipe set Italian --per 10 "80 g salt" "20 g fennel"')
def recipe_set(
    ctx: typer.Context,
    name: Name,
    lines: Annotated[list[str], typer.Argument(metavar="INGREDIENT...", help='Each with its amount: "80 g salt".')],
    per: Annotated[str, typer.Option("--per", metavar="WEIGHT", help="Meat and fat it is for.")] = "",
    step: Annotated[
        list[str] | None, typer.Option("--step", metavar="WHAT=DAYS", help="smoke=10 after making.")
    ] = None,
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Keep a tested recipe of yours."""
    with kitchen_of(ctx) as kitchen:
        one = recipe_chore.set_recipe(kitchen, name, per, lines, step or (), yes=yes)
        if as_json:
            say_json({"recipe": one.name, "per_g": net_grams(one.per_mg), "lines": list(one.lines)})
            return
        say(f"Kept: {one.name}, for {kitchen.mass(one.per_mg)}.")
        if one.steps:
            for caution in making_cues("", steps=True, jerky="jerky" in one.name.casefold()):
                say(paragraph(caution.words()))


@recipe_app.command("show", epilog="Example: freezerbox recipe show Italian --for 13.9")
def recipe_show(
    ctx: typer.Context,
    name: Name,
    weight: Annotated[str, typer.Option("--for", metavar="WEIGHT", help="Meat and fat there is.")] = "",
    as_json: AsJson = False,
) -> None:
    """A recipe, scaled to what there is."""
    with kitchen_of(ctx) as kitchen:
        one = recipe_chore.find_recipe(kitchen, name)
        mass_mg = parse_mass(weight, unit=kitchen.unit) if weight else one.per_mg
        if mass_mg is None:
            raise InputError("Say what there is: freezerbox recipe show NAME --for 13.9", value=weight)
        lines = one.scaled(mass_mg)
        if as_json:
            steps = [{"what": what, "days": days} for what, days in one.steps]
            say_json({"recipe": one.name, "for_g": net_grams(mass_mg), "lines": list(lines), "steps": steps})
            return
        say(f"{one.name}, for {kitchen.mass(mass_mg)}")
        for line in lines:
            say(f"  {line}")
        for what, days in one.steps:
            say(f"  {what}: day {days}")


@recipe_app.command("due", epilog="Example: freezerbox recipe due")
def recipe_due(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Steps of batches that wait: cure, smoke."""
    with kitchen_of(ctx) as kitchen:
        found = recipe_chore.waiting(kitchen)
        if as_json:
            steps = [{"batch": one.batch, "what": one.what, "due_on": one.due_on.isoformat()} for one in found]
            say_json({"steps": steps})
            return
        if not found:
            say("No step waits.")
        for line in table([(long_date(one.due_on), one.batch, one.what) for one in found]):
            say(line)


@recipe_app.command("done", epilog="Example: freezerbox recipe done G26-1 smoke")
def recipe_done(
    ctx: typer.Context,
    batch: Annotated[str, typer.Argument(metavar="BATCH", help="The batch's code.")],
    what: Annotated[str, typer.Argument(metavar="[STEP]", help="Which; the first that waits.")] = "",
    as_json: AsJson = False,
) -> None:
    """Mark a step of a batch as done today."""
    with kitchen_of(ctx) as kitchen:
        one = recipe_chore.step_done(kitchen, batch, what)
        if as_json:
            say_json({"batch": one.batch, "what": one.what, "done_on": kitchen.today.isoformat()})
            return
        say(f"{one.batch}: {one.what} done, {long_date(kitchen.today)}.")


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.add_typer(recipe_app, name="recipe", rich_help_panel=panel)
