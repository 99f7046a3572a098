"""Grind day: grind."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

import typer

from freezerbox.chores import grind as grind_chore
from freezerbox.chores import wording
from freezerbox.chores.cues import making_cues
from freezerbox.chores.grind import ROUNDING_MG
from freezerbox.chores.guidance import batching
from freezerbox.chores.header import Words, whole_number
from freezerbox.chores.inputs import Input, far_less
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.mixing import mix_words
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.rows import totals_json
from freezerbox.chores.units import MOST_OF_A_LOT
from freezerbox.cli import header_options as header
from freezerbox.cli.options import AsJson, Freezer, Yes, ask, kitchen_of
from freezerbox.cli.output import note, paragraph, say, say_json, table
from freezerbox.cli.wiring import at_terminal
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.mass import net_grams
from freezerbox.errors import Held
from freezerbox.food.cuts import keeps_as

Into = Annotated[str, typer.Option("--into", metavar="CUT", help="What it makes; ground when not said.")]
From = Annotated[list[str] | None, typer.Option("--from", metavar="ANIMAL=WEIGHT", help="Meat of an animal: 24A=22.")]
Use = Annotated[
    list[str] | None, typer.Option("--use", metavar="CODE", help="A package that goes in; CODE*4 of a lot; CODE=4.6.")
]
With = Annotated[
    list[str] | None,
    typer.Option("--with", metavar="WHAT", help='Bought: "pork back fat", "pork shoulder=4/30%/12.50".'),
]
Target = Annotated[str, typer.Option("--fat", metavar="PERCENT", help="Fat to reach; works out what to add.")]
Ratio = Annotated[str, typer.Option("--ratio", metavar="LEAN/OTHER", help="For bacon: 80/20.")]
Size = Annotated[str, typer.Option("--size", metavar="WEIGHT", help="Size of a tube or bag: how many it fills.")]
Lot = Annotated[str, typer.Option("--lot", metavar="N", help="One record that stands for N alike.")]
Recipe = Annotated[str, typer.Option("--recipe", metavar="NAME", help="The recipe's name.")]
HeldToo = Annotated[bool, typer.Option("--with-held", help="Mix in what is on hold: the whole batch is held.")]


def grind(
    ctx: typer.Context,
    weights: Annotated[
        list[str] | None, typer.Argument(metavar="WEIGHT...", help="What came out: 1.25 1.24, 38x1.25, CODE=1.25.")
    ] = None,
    animals: From = None,
    packages: Use = None,
    shop: With = None,
    fat: Target = "",
    ratio: Ratio = "",
    size: Size = "",
    into: Into = "ground",
    recipe: Recipe = "",
    lot: Lot = "",
    form: header.Form = "",
    pieces: header.Pieces = "",
    wrap: header.Wrap = "",
    seasoning: header.Seasoning = "",
    place: header.Place = "",
    freezer: Freezer = "",
    species: header.Species = "",
    owner: header.Owner = "",
    reserved_for: header.For = "",
    remark: header.Note = "",
    packed: header.Packed = "",
    with_held: HeldToo = False,
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Make a batch of several animals, packages and bought fat.

    Without weights it only works out what to add and how many it fills; nothing is recorded.
    """
    with kitchen_of(ctx) as kitchen:
        asked = grind_chore.Asked(
            animals=animals or (),
            packages=packages or (),
            shop=shop or (),
            fat=fat,
            ratio=ratio,
            each=size,
            weights=weights or (),
            quantity=whole_number(lot, "packages in a lot", MOST_OF_A_LOT) if lot else 1,
            recipe=recipe,
            words=Words(
                cut=into, form=form, species=species, pieces=pieces, wrap=wrap, seasoning=seasoning, place=place,
                freezer=freezer, owner=owner, reserved_for=reserved_for, note=remark, packed=packed,
            ),
        )  # fmt: skip
        if not weights:
            _say_plan(kitchen, grind_chore.plan(kitchen, asked), as_json)
            return
        if at_terminal() and not as_json and not with_held:
            planned = grind_chore.plan(kitchen, asked)
            if planned.held:
                say(grind_chore.held_warning(kitchen, planned).split("\n")[0])
                if not ask("Mix it in all the same, and hold the whole batch"):
                    raise Held("Nothing recorded.", held=[one.name for one in planned.held])
                with_held = True
        made = grind_chore.make(kitchen, asked, with_held=with_held, yes=yes)
        kitchen = kitchen.afresh()
        if as_json:
            say_json(
                _plan_json(made.plan)
                | {"recorded": True, "batch": made.batch, "packages": [row_json(row) for row in made.rows]}
                | {"totals": totals_json(made.totals)}
            )
            return
        for line in _made_lines(kitchen, made):
            say(line)


def _say_plan(kitchen: Kitchen, planned: grind_chore.Plan, as_json: bool) -> None:
    if as_json:
        say_json(_plan_json(planned) | {"recorded": False, "batch": None, "packages": [], "totals": None})
        return
    for line in _plan_lines(kitchen, planned):
        say(line)
    for line in far_less(kitchen, planned.inputs):
        note(line + ".")
    if planned.held:
        note(grind_chore.held_warning(kitchen, planned).replace("Nothing recorded. ", ""))
    say("Nothing recorded yet. When it is made: the same words, with the weights.")


def _plan_lines(kitchen: Kitchen, planned: grind_chore.Plan) -> Iterator[str]:
    yield "What goes in:"
    yield from table([_input_cells(kitchen, one) for one in planned.inputs], right=(0,), indent=2)
    added = planned.added
    if added is not None:
        of_mix = f"{float(planned.of_mix or 0) * 100:.0f}% of the mix"
        of_lean = f", {float(planned.of_lean) * 100:.0f}% of the lean" if planned.of_lean else ""
        tissue = "; fat tissue counted as pure" if added.fat_percent == 100 else ""
        yield paragraph(f"Add {_round_mass(kitchen, added.mass_mg)} of {added.words}: {of_mix}{of_lean}{tissue}.")
    if planned.lean and len(planned.lean) > 1:
        yield "Lean: " + ", ".join(f"{name} {percent}%" for name, percent in planned.lean) + "."
    yield from _recipe_lines(kitchen, planned)
    yield paragraph(f"Makes {_round_mass(kitchen, planned.total_mg)}{_reached_words(planned)}.")
    if planned.up_to is not None:
        yield f"Up to {planned.up_to} of {kitchen.mass(planned.each_mg)}; some stays in the grinder."
    for name in planned.unnamed:
        yield paragraph(
            f"{name}: of which animal is not said, so the label cannot say it either. Name it, such as "
            f'--with "pork {name}".'
        )


def _reached_words(planned: grind_chore.Plan) -> str:
    """``, 17% fat, not the 20% aimed at``: what it comes to, which differs when the weights do."""
    if planned.reached is None:
        return ""
    percent = f"{float(planned.reached):.0f}"
    missed = planned.target is not None and percent != f"{planned.target}"
    return f", {percent}% fat" + (f", not the {planned.target}% aimed at" if missed else "")


def _recipe_lines(kitchen: Kitchen, planned: grind_chore.Plan) -> Iterator[str]:
    if planned.scaled:
        yield f"{planned.recipe}, for {kitchen.mass(planned.total_mg)}:"
        yield from (f"  {line}" for line in planned.scaled)
    for due_on, what in planned.steps:
        yield f"  {long_date(due_on)}: {what}"
    cut = planned.header.cut
    keeps = keeps_as(cut, planned.header.form)
    for caution in making_cues(keeps, steps=bool(planned.steps), jerky=cut.key == "jerky-meat"):
        yield paragraph(caution.words(), "  ")


def _input_cells(kitchen: Kitchen, one: Input) -> tuple[str, ...]:
    fat = "" if one.fat_percent is None else f", {one.fat_percent}% fat"
    held = " - ON HOLD" if one.holds else ""
    return kitchen.mass(one.mass_mg), f"{one.words}{fat}{held}"


def _round_mass(kitchen: Kitchen, mg: int | None) -> str:
    """From ten pounds on to a tenth, as people weigh fat: ``19.5 lb``; less than that as the scale says it."""
    from freezerbox.core.mass import MassUnit, in_pounds

    if mg is not None and kitchen.unit is MassUnit.LB and in_pounds(mg) >= 10:
        return f"{in_pounds(mg):.1f} lb"
    return kitchen.mass(mg)


def _made_lines(kitchen: Kitchen, made: grind_chore.Made) -> Iterator[str]:
    row = made.rows[0]
    package = row.package
    fat = wording.fat_words(package.fat_percent)
    yield f"Batch {made.batch}: {wording.packs_and_weight(kitchen, made.totals, 'package')} of {row.cut_name}" + (
        f", {fat}." if fat else "."
    )
    planned = made.plan
    if planned.lean:
        yield "Lean: " + ", ".join(f"{name} {percent}%" for name, percent in planned.lean) + "."
    if row.mix:
        yield f"In the mix: {mix_words(row.mix)}."
    if planned.loss_mg is not None:
        loss = planned.loss_mg if abs(planned.loss_mg) > ROUNDING_MG else 0
        ground = keeps_as(planned.header.cut, planned.header.form) in ("ground", "raw-sausage")
        lost = "left in the grinder, tasted or lost" if ground else "dried away, trimmed, tasted or lost"
        words = "more came out than went in" if loss < 0 else lost
        yield paragraph(
            f"In {kitchen.mass(planned.total_mg)}, out {kitchen.mass(planned.out_mg)}: "
            f"{kitchen.mass(abs(loss)) if loss else 'nothing'} {words}."
        )
    yield from _recipe_lines(kitchen, planned)
    if package.times_frozen > 1:
        yield paragraph(
            f"FROZEN TWICE: age counted from {long_date(package.first_frozen_on)}, the oldest that went in; "
            f"{wording.best_by_words(row)}."
        )
    if row.holds:
        yield f"ON HOLD, all of it: {wording.holds_words(row.holds, kitchen.today)}."
        # Advice on mixing animals is for a batch that mixes some.
        if len(row.animals) > 1 and (said := batching(row.animals)):
            yield paragraph(said, "  ")
    if planned.onto:
        yield paragraph(
            "The labels printed ahead do not say what is only known now (weight, mix, fat, a hold). "
            f"Clean ones: freezerbox label again {' '.join(show_code(code) for code in planned.onto[:4])}"
            + (" ..." if len(planned.onto) > 4 else "")
        )
    else:
        yield "Labels: freezerbox label"


def _plan_json(planned: grind_chore.Plan) -> dict[str, object]:
    added = planned.added
    return {
        "inputs": [
            {
                "kind": one.kind,
                "name": one.name,
                "net_g": net_grams(one.mass_mg),
                "fat_percent": one.fat_percent,
                "units": one.units,
                "held": bool(one.holds),
            }
            for one in planned.inputs
        ],
        "add": {"name": added.name, "net_g": net_grams(added.mass_mg)} if added else None,
        "lean": [{"animal": name, "percent": percent} for name, percent in planned.lean],
        "fat_percent": None if planned.reached is None else round(float(planned.reached), 1),
        "in_g": net_grams(planned.total_mg),
        "out_g": net_grams(planned.out_mg),
        "loss_g": net_grams(planned.loss_mg),
        "size_g": net_grams(planned.each_mg),
        "up_to": planned.up_to,
        "held": [one.name for one in planned.held],
        "recipe": planned.recipe or None,
        "scaled": list(planned.scaled),
        "steps": [{"on": due_on.isoformat(), "what": what} for due_on, what in planned.steps],
    }


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(
        rich_help_panel=panel,
        epilog='Example: freezerbox grind --from 24A=22 --from 24B=16 --with "pork back fat" --fat 20 --size 1.25',
    )(grind)
