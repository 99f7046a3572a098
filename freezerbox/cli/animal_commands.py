"""The rest of ``animal``: what is learnt later, costs, another test; and its story in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated

import typer

from freezerbox.chores import animal_facts, wording
from freezerbox.chores import yields as yield_chore
from freezerbox.chores.animals import AnimalStory, Part
from freezerbox.chores.cues import cue
from freezerbox.chores.guidance import guidance
from freezerbox.chores.inputs import LEAN_KLASSES
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.reminders import unanswered
from freezerbox.chores.result import SAID
from freezerbox.chores.rows import Totals, totals, totals_json
from freezerbox.chores.rows import as_json as row_json
from freezerbox.cli.options import AsJson, Yes, kitchen_of
from freezerbox.cli.output import paragraph, say, say_json, table
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.lineage import animal_holds
from freezerbox.core.mass import MG_PER_KG, MG_PER_LB, MassUnit, net_grams
from freezerbox.core.records import Animal, AnimalTest, Hold, State
from freezerbox.food import cuts

Code = Annotated[str, typer.Argument(metavar="CODE", help="The animal's code.")]


def animal_set(
    ctx: typer.Context,
    code: Code,
    live: Annotated[str | None, typer.Option("--live", metavar="WEIGHT", help="On the hoof.")] = None,
    dressed: Annotated[str | None, typer.Option("--dressed", metavar="WEIGHT", help="Field-dressed.")] = None,
    hanging: Annotated[str | None, typer.Option("--hanging", metavar="WEIGHT", help="Hung; say --hide.")] = None,
    hide: Annotated[
        str | None, typer.Option("--hide", metavar="on|off", help="When the hanging one was taken.")
    ] = None,
    killed: Annotated[str | None, typer.Option("--killed", metavar="DAY", help="Day it was killed.")] = None,
    processed: Annotated[str | None, typer.Option("--processed", metavar="DAY", help="Day it was cut up.")] = None,
    taken_by: Annotated[str | None, typer.Option("--taken-by", metavar="NAME", help="Who killed it.")] = None,
    taken_at: Annotated[str | None, typer.Option("--at", metavar="WORDS", help="Where.")] = None,
    ammunition: Annotated[
        str | None, typer.Option("--ammunition", metavar="KIND", help="lead, not-lead or arrow.")
    ] = None,
    wound: Annotated[
        str | None, typer.Option("--wound", metavar="WORDS", help="Shot damage; meat kept from near it.")
    ] = None,
    taste: Annotated[
        str | None, typer.Option("--taste", metavar="WORDS", help="At the table, for next year.")
    ] = None,
    tag: Annotated[str | None, typer.Option("--tag", metavar="NUMBER", help="Tag or permit number.")] = None,
    remark: Annotated[str | None, typer.Option("--note", metavar="WORDS", help="Anything to remember.")] = None,
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Record what was learnt of an animal: weights, days, who, where, wound, taste."""
    with kitchen_of(ctx) as kitchen:
        facts = animal_facts.Facts(
            live=live, dressed=dressed, hanging=hanging, hide=hide, killed=killed, processed=processed,
            taken_by=taken_by, taken_at=taken_at, ammunition=ammunition, wound=wound, taste=taste, tag=tag,
            note=remark,
        )  # fmt: skip
        animal = animal_facts.set_facts(kitchen, code, facts, yes=yes)
        if as_json:
            say_json({"animal": animal.code, **facts_json(kitchen.afresh(), animal)})
            return
        say(f"Recorded: {wording.animal_words(animal)}")
        for line in facts_lines(kitchen.afresh(), animal):
            say(line)
        if hanging and not animal.hide:
            say(f"Was the hide on or off? freezerbox animal set {animal.code} --hide off")


def animal_cost(
    ctx: typer.Context,
    code: Code,
    what: Annotated[str, typer.Argument(metavar="WHAT", help="tag, fuel, bags, processing, ...")],
    money: Annotated[str, typer.Argument(metavar="MONEY", help="12.50")],
    as_json: AsJson = False,
) -> None:
    """Record what an animal or a batch cost; show and trace say what a pound came to."""
    with kitchen_of(ctx) as kitchen:
        cents = animal_facts.add_cost(kitchen, code, what, money)
        if as_json:
            say_json({"animal": code.strip().upper(), "cost": cents / 100})
            return
        say(f"Recorded. {code.strip().upper()} cost {cents / 100:.2f} so far.")


def animal_test(
    ctx: typer.Context,
    code: Code,
    sample: Annotated[str, typer.Option("--sample", metavar="NUMBER", help="The sample's number.")] = "",
    what_for: Annotated[str, typer.Option("--for", metavar="WHAT", help="What is tested for.")] = "",
    sent: Annotated[str, typer.Option("--sent", metavar="DAY", help="Day the sample went in.")] = "",
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """A sample went in: all the animal's meat is held until the result."""
    with kitchen_of(ctx) as kitchen:
        animal = animal_facts.add_test(kitchen, code, sample=sample, what_for=what_for, sent=sent, yes=yes)
        holds = animal_holds(animal)
        if as_json:
            say_json({"animal": animal.code, "holds": [hold.why for hold in holds]})
            return
        say(f"ON HOLD: {wording.animal_words(animal)}: {wording.holds_words(holds, kitchen.today)}.")
        say(paragraph(guidance([animal]), "  "))


def held_mark(kitchen: Kitchen, animal: Animal) -> str:
    """`` - HELD: test pending since 21 Nov``; "" when nothing holds its meat."""
    holds = animal_holds(animal)
    return f" - HELD: {wording.holds_words(holds, kitchen.today)}" if holds else ""


def story_lines(kitchen: Kitchen, found: AnimalStory) -> Iterator[str]:
    """What holds the animal, what is known of it, what it gave, and where each package is or who has it."""
    animal = found.animal
    holds = animal_holds(animal)
    if holds:
        held = totals(row for row in found.rows if row.package.state.state is State.FROZEN)
        yield paragraph(
            f"HELD, {wording.HELD_WORDS}: {wording.holds_words(holds, kitchen.today)}. "
            f"{wording.count(held.packages, 'package')} in the freezer.",
            hang="  ",
        )
    for test in animal.tests:
        yield paragraph(_test_line(test), hang="  ")
    for reminder in unanswered(kitchen, [animal]):
        yield paragraph(reminder.words, hang="  ")
    if animal.note:
        yield paragraph(animal.note)
    yield from facts_lines(kitchen, animal)
    if not found.parts:
        yield "Nothing of it is packed yet."
        return
    yield paragraph(
        f"Gave {wording.packs_and_weight(kitchen, found.totals)}{_own(kitchen, found.totals, found.own_mg)}; "
        f"in the freezer: {wording.packs_and_weight(kitchen, found.left)}"
        f"{_own(kitchen, found.left, found.left_own_mg)}."
    )
    for holder in found.holders:
        number = sum(one.number for one in holder.exits)
        yield f"With {holder.person or 'somebody not named'}: {wording.count(number, 'package')}."
    cells = [
        (
            show_code(part.row.code),
            part.row.cut_name + (f" x{part.here or part.number}" if (part.here or part.number) > 1 else ""),
            _weight(kitchen, part),
            _where(kitchen, part, holds),
        )
        for part in found.parts
    ]
    yield from table(cells, right=(2,))


def _test_line(test: AnimalTest) -> str:
    sample = f", sample {test.sample}" if test.sample else ""
    since = f"since {long_date(test.sent_on)}" if test.result_on is None else f"on {long_date(test.result_on)}"
    released = f", released: {test.released_why}" if test.released_on else ""
    said = SAID[test.result]
    return f"Test{f' for {test.what_for}' if test.what_for else ''}{sample}: {said} {since}{released}"


def _own(kitchen: Kitchen, sums: Totals, own_mg: int | None) -> str:
    if own_mg is None or own_mg == sums.net_mg:
        return ""
    return f", {kitchen.mass(own_mg)} of it its own"


def _weight(kitchen: Kitchen, part: Part) -> str:
    """``1.00 lb``; ``0.80 of 1.00 lb`` where only so much of it is the animal's."""
    net, own = part.row.package.net_mg, part.own_mg(1)
    if net is None or own is None or own == net:
        return kitchen.mass(net)
    return f"{kitchen.mass(own).split(' ')[0]} of {kitchen.mass(net)}"


def _where(kitchen: Kitchen, part: Part, of_it: Sequence[Hold]) -> str:
    """Where it is, and whether it is held; what holds all of the animal's meat stands above."""
    row, held = part.row, ""
    if row.holds and row.package.state.state is not State.GONE:
        others = [hold for hold in row.holds if hold not in of_it]
        held = f" - HELD{f', {wording.holds_words(others, kitchen.today)}' if others else ''}"
    return part.where + held


def story_json(found: AnimalStory) -> dict[str, object]:
    """What ``animal show`` says of the packages, for programs."""
    return {
        "rows": [row_json(row) for row in found.rows],
        "parts": [
            {
                "code": part.row.code,
                "number": part.number,
                "here": part.here,
                "own_g": net_grams(part.own_mg(1)),
                "where": part.where,
            }
            for part in found.parts
        ],
        "totals": totals_json(found.totals) | {"own_g": net_grams(found.own_mg)},
        "left": totals_json(found.left) | {"own_g": net_grams(found.left_own_mg)},
        "with": [
            {"person": holder.person or None, "packages": sum(one.number for one in holder.exits)}
            for holder in found.holders
        ],
    }


def facts_lines(kitchen: Kitchen, animal: Animal) -> Iterator[str]:
    """Days, people, wound, yield and cost of an animal, a line each; nothing for what is not known."""
    found = yield_chore.story(kitchen, animal)
    shown = {stage for step in found.steps for stage in (step.from_stage, step.to_stage)}
    stages = (("live", animal.live_mg), ("dressed", animal.dressed_mg), ("hanging", animal.hanging_mg))
    alone = ", ".join(f"{name} {kitchen.mass(mg)}" for name, mg in stages if mg is not None and name not in shown)
    facts = (
        ("weights", alone),
        ("hung", wording.count(found.hang_days, "day") if found.hang_days is not None else ""),
        ("killed by", animal.taken_by),
        ("at", animal.taken_at),
        ("ammunition", animal.ammunition),
        ("wound", animal.wound_note),
        ("taste", animal.taste),
    )
    yield from table([(name, value) for name, value in facts if value], indent=2)
    if animal.wound_note and animal.ammunition == "lead":
        yield paragraph(cue("lead").words(), "  ")
    if animal.live_mg is not None and yield_chore.is_share(animal):
        yield paragraph(
            f"No yield of the live weight: of {animal.what} it may be the whole animal's, and what hung the share's.",
            "  ",
        )
    if found.steps:
        yield "Yield"
        for step in found.steps:
            yield from _step_lines(kitchen, animal, step)
        if found.unweighed:
            yield paragraph(
                f"{wording.count(found.unweighed, 'package')} not counted: weight or part not known.", "  "
            )
    if found.costs:
        yield f"Cost {found.cents / 100:.2f}: " + ", ".join(
            f"{one.what} {one.cents / 100:.2f}" for one in found.costs
        )
        per = found.cents_per(unit_mg(kitchen))
        if per is not None:
            yield f"  {per / 100:.2f} a {unit_word(kitchen)} of packaged meat"


def _step_lines(kitchen: Kitchen, animal: Animal, step: yield_chore.Step) -> Iterator[str]:
    hide = f" (hide {animal.hide})" if step.from_stage == "hanging" and animal.hide else ""
    yield (
        f"  {step.from_stage} {kitchen.mass(step.from_mg)}{hide} -> {step.to_stage} {kitchen.mass(step.to_mg)}: "
        f"{_percent(step.share)}"
    )
    for one in step.against:
        low, high = one.published.expected_mg(step.from_mg)
        shares = _range(low / step.from_mg, high / step.from_mg)
        style = f" {one.published.style}" if one.published.style else ""
        yield paragraph(f"{shares}{style} [{one.cite}]", "    ", "      ")
    if step.against and all(one.below for one in step.against):
        shot = "shot damage, " if cuts.species(animal.species).klass in LEAN_KLASSES else ""
        yield paragraph(f"Less than these; {shot}trim and drying are not in them.", "    ")
    if step.own_mean is not None:
        mean, number = step.own_mean
        yield f"    your own {wording.count(number, 'other')}: {_percent(mean)}"


def _percent(share: object) -> str:
    return f"{float(share) * 100:.0f}%"  # type: ignore[arg-type]


def _range(low: float, high: float) -> str:
    one, other = f"{low * 100:.0f}", f"{high * 100:.0f}"
    return f"about {one}%" if one == other else f"{one}-{other}%"


def unit_mg(kitchen: Kitchen) -> int:
    """The house's pound or kilogram, in milligrams."""
    return MG_PER_KG if kitchen.unit is MassUnit.KG else round(MG_PER_LB)


def unit_word(kitchen: Kitchen) -> str:
    """What the house's unit is called."""
    return "kilogram" if kitchen.unit is MassUnit.KG else "pound"


def facts_json(kitchen: Kitchen, animal: Animal) -> dict[str, object]:
    """What ``animal show`` adds for programs: facts, yield, cost."""
    found = yield_chore.story(kitchen, animal)
    per = found.cents_per(1_000_000)
    return {
        "taken_by": animal.taken_by or None,
        "taken_at": animal.taken_at or None,
        "hang_days": found.hang_days,
        "live_g": net_grams(animal.live_mg),
        "dressed_g": net_grams(animal.dressed_mg),
        "hanging_g": net_grams(animal.hanging_mg),
        "hide": animal.hide or None,
        "packaged_g": net_grams(found.packaged_mg),
        "style": found.style or None,
        "ammunition": animal.ammunition or None,
        "wound": animal.wound_note or None,
        "taste": animal.taste or None,
        "yield": [
            {
                "from": step.from_stage,
                "to": step.to_stage,
                "share": round(float(step.share), 4),
                "own_mean": round(float(step.own_mean[0]), 4) if step.own_mean else None,
                "published": [
                    {
                        "low_g": net_grams(one.published.expected_mg(step.from_mg)[0]),
                        "high_g": net_grams(one.published.expected_mg(step.from_mg)[1]),
                        "style": one.published.style or None,
                        "below": one.below,
                        "above": one.above,
                        "source": one.cite,
                    }
                    for one in step.against
                ],
            }
            for step in found.steps
        ],
        "costs": [{"what": one.what, "money": one.cents / 100} for one in found.costs],
        "cost": found.cents / 100,
        "cost_per_kg": None if per is None else per / 100,
        "holds": [
            {"kind": hold.kind, "of": hold.of, "since": hold.since.isoformat(), "why": hold.why}
            for hold in animal_holds(animal)
        ],
    }


def add_animal_commands(app: typer.Typer) -> None:
    """Hang these under ``animal``."""
    app.command("set", epilog="Example: freezerbox animal set 26B --dressed 93 --hanging 79 --hide off")(animal_set)
    app.command("cost", epilog="Example: freezerbox animal cost 26B processing 85")(animal_cost)
    app.command("test", epilog="Example: freezerbox animal test 26B --sample 4471 --for CWD")(animal_test)
