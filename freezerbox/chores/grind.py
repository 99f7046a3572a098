"""Grind day: one batch of inputs and outputs, worked out first and written in one act."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from freezerbox.book import origins
from freezerbox.book.writer import Writer
from freezerbox.chores import ahead, inputs, mixing
from freezerbox.chores.header import Header, Words, find_animal, parse_fat, understand
from freezerbox.chores.inputs import Input
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.late import go, way_out
from freezerbox.chores.pack import Run, Weighed, doubts, put_in
from freezerbox.chores.recipes import known_recipe
from freezerbox.chores.rows import Row, Rows, Totals, totals
from freezerbox.chores.take import find_row
from freezerbox.chores.wording import count
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.mass import parse_mass
from freezerbox.core.records import Reason, State
from freezerbox.errors import Held, InputError, InvalidDate, OutOfLine
from freezerbox.food import cuts, fat
from freezerbox.food.bought import bought

_MANY = re.compile(r"(\d{1,3}) ?[x×] ?(.+)", re.IGNORECASE)
# Each weighing is known to half a hundredth of a pound; so far outputs may exceed inputs by the scale alone.
ROUNDING_MG = 2_268
# What may be missing from what came out before it is asked about: some stays in the grinder and the stuffer, some is
# trimmed and tasted.  Our own measure, no published one; drying loses far more and is not asked about.
MOST_LOSS = Fraction(3, 20)
LEAST_LOSS_MG = 2 * 453_592
LOSES_WATER = frozenset({"jerky", "hard-sausage", "smoked-sausage", "bacon", "cooked-dish"})
MOST_OUTPUTS = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A batch as it was typed; "" or () for what was not said.

    animals, packages, shop: inputs (see ``inputs``); one of ``shop`` may lack its weight, to be worked out from
    ``fat`` (percent to reach) or ``ratio`` (lean to the other).  each: the size of a package to make.
    weights: what came out; ``38x1.25`` for 38 alike, ``K7P-3MT=1.25`` under a label printed ahead.
    quantity: packages a record stands for.  words: the header.
    """

    animals: Sequence[str] = ()
    packages: Sequence[str] = ()
    shop: Sequence[str] = ()
    fat: str = ""
    ratio: str = ""
    each: str = ""
    weights: Sequence[str] = ()
    quantity: int = 1
    recipe: str = ""
    words: Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A batch worked out, nothing written.

    inputs: all of them, with the amounts worked out.  added: the one that was; None when every weight was given.
    of_mix, of_lean: what share of the mix, and of all the rest, it is.  total_mg: all that goes in.
    target: percent of fat aimed at; None for none.  reached: what it comes to; None when a part's fat is not known.
    each_mg, up_to: size of a package, and how many the mix fills at most; None when no size was given.
    outputs: weights of what came out, each for one package; empty while it is only planned.
    lean: share of each animal in the meat that came of animals, whole percent.
    run: what will be written; None while it is only planned.
    onto: codes of the labels printed ahead that it goes under; () when labels are still to be printed.
    scaled, steps: of the household's own recipe of that name: ingredients for this weight, and days of what is to do.
    """

    inputs: tuple[Input, ...]
    added: Input | None
    of_mix: Fraction | None
    of_lean: Fraction | None
    total_mg: int
    target: int | None
    reached: Fraction | None
    each_mg: int | None
    up_to: int | None
    lean: tuple[tuple[str, int], ...]
    header: Header
    run: Run | None
    onto: tuple[str, ...]
    recipe: str
    scaled: tuple[str, ...]
    steps: tuple[tuple[date, str], ...]

    @property
    def out_mg(self) -> int | None:
        """Weight of what came out; None while planned, or when a package was not weighed."""
        if self.run is None or any(one.net_mg is None for one in self.run.weights):
            return None
        return sum(one.net_mg or 0 for one in self.run.weights) * self.run.quantity

    @property
    def loss_mg(self) -> int | None:
        """What went in and did not come out: left in the grinder, tasted, dried away."""
        out = self.out_mg
        return None if out is None else self.total_mg - out

    @property
    def unnamed(self) -> tuple[str, ...]:
        """Bought fat whose name does not tell of which animal it is; salt and water are of none."""
        fats = (one.name for one in self.inputs if one.kind == "bought" and one.fat_percent)
        return tuple(name for name in fats if not bought(name).species)

    @property
    def held(self) -> tuple[Input, ...]:
        """Inputs that are on hold."""
        return tuple(one for one in self.inputs if one.holds)


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A batch as written.  rows: what came out, in the order of the weights."""

    batch: str
    plan: Plan
    rows: tuple[Row, ...]
    totals: Totals


def plan(kitchen: Kitchen, asked: Asked) -> Plan:
    """Work a batch out; nothing is written.

    Raises: InputError for no inputs, one named twice, an amount that cannot be worked out, a target that cannot be
    reached; what the inputs, the header and the weights raise.
    """
    onto, weights = ahead.onto_labels(kitchen, asked.weights)
    asked = replace(asked, weights=weights)
    if onto:
        named = [find_row(kitchen, inputs.code_of(text)).code for text in asked.packages]
        ahead.refuse_circles(Rows(kitchen).lineage, onto, named)
    given = (
        *(inputs.from_animal(kitchen, text) for text in asked.animals),
        *(inputs.from_package(kitchen, text) for text in asked.packages),
        *(inputs.from_shop(kitchen, text) for text in asked.shop),
    )
    if not given:
        raise InputError(
            'Say what goes in: freezerbox grind --from 24A=22 --from 24B=16 --with "pork back fat" --fat 20', value=""
        )
    names = [(one.kind, one.name.lower()) for one in given]
    for one in given:
        if names.count((one.kind, one.name.lower())) > 1:
            raise InputError(f"{one.words} is named twice. Give its whole weight once.", value=one.name)
    target = parse_fat(asked.fat) if asked.fat else None
    whole, added = inputs.worked_out(given, target, asked.ratio)
    total_mg = sum(one.mass_mg or 0 for one in whole)
    rest_mg = total_mg - (added.mass_mg or 0) if added else 0
    parts = [(one.mass_mg or 0, one.fat_percent) for one in whole]
    reached = fat.percent_of([(mg, percent or 0) for mg, percent in parts])
    each_mg = parse_mass(asked.each, unit=kitchen.unit) if asked.each else None
    known = all(percent is not None for _, percent in parts)
    header = _header(kitchen, asked, whole, reached if known else None, target)
    ahead.spares(kitchen, onto, header.cut.key)
    recipe = known_recipe(kitchen, asked.recipe) if asked.recipe.strip() else None
    return Plan(
        inputs=whole,
        added=added,
        of_mix=Fraction(added.mass_mg or 0, total_mg) if added else None,
        of_lean=Fraction(added.mass_mg or 0, rest_mg) if added and rest_mg else None,
        total_mg=total_mg,
        target=target,
        reached=reached if known else None,
        each_mg=each_mg,
        up_to=fat.fills(total_mg, each_mg) if each_mg else None,
        lean=lean_shares(kitchen, whole),
        header=header,
        run=_run(kitchen, asked, header),
        onto=onto,
        recipe=recipe.name if recipe else " ".join(asked.recipe.split()),
        scaled=recipe.scaled(total_mg) if recipe else (),
        steps=recipe.dated(header.packed_on) if recipe else (),
    )


@one_writer
def make(
    kitchen: Kitchen, asked: Asked, *, with_held: bool = False, yes: bool = False, request_id: str | None = None
) -> Made:
    """Write a batch: its inputs leave the freezer, what came out is in it, and knows what it is made of.

    A batch is held while any of its inputs is.

    Raises: what ``plan`` raises; InputError without weights; Held when an input is on hold and ``with_held`` does not
    say to go on; OutOfLine when more came out than went in or far less, or a weight is doubtful, and not ``yes``;
    Refused for a day that a later step of an input speaks against.
    """
    planned = plan(kitchen, asked)
    if planned.run is None:
        raise InputError(
            "Give the weights of what came out, such as: freezerbox grind ... 1.25 1.24 1.26, or 38x1.25.", value=""
        )
    if planned.held and not with_held:
        raise Held(held_warning(kitchen, planned), held=[one.name for one in planned.held])
    if not yes:
        _question(kitchen, planned)
    made_on = planned.header.packed_on
    ways = [
        (one.row.code, way_out(kitchen, one.row, made_on, one.units)) for one in planned.inputs if one.row is not None
    ]
    code = next_code(kitchen, made_on.year)
    of = ", ".join(dict.fromkeys(_short(one) for one in planned.inputs))
    words = f"made batch {code}: {planned.run.words()} of {of}"
    with kitchen.book.act("grind", made_on, request_id=request_id, words=words) as act:
        act.add(
            "batch",
            code=code,
            recipe=planned.recipe,
            fat_percent=planned.header.fat_percent,
            made_on=made_on.isoformat(),
        )
        for used, way in ways:
            go(act, used, way, Reason.MADE_INTO)
        if planned.onto:
            ahead.fill(kitchen, act, planned.run, planned.onto, code)
            codes = list(planned.onto)
        else:
            codes = put_in(kitchen, act, planned.run, State.FROZEN, batch=code)
        _write_origins(act, planned, codes)
        for due_on, what in planned.steps:
            act.add("batch_step", batch=code, what=what, due_on=due_on.isoformat(), done_on=None)
        for one in planned.inputs:
            if one.cents:
                act.add("cost", subject_kind="batch", subject=code, what=one.name, cents=one.cents)
    rows = Rows(kitchen.afresh()).of_codes(codes)
    return Made(batch=code, plan=planned, rows=rows, totals=totals(rows))


def held_warning(kitchen: Kitchen, planned: Plan) -> str:
    """What to say, once, before held meat is mixed in."""
    return (
        f"{inputs.held_words(kitchen, planned.held)}.\n"
        "Nothing recorded. Mixed in, all of the batch is on hold as long as it is. Leave it out, or go on with "
        "--with-held."
    )


def next_code(kitchen: Kitchen, year: int) -> str:
    """``G26-1``: the year and a number never given before."""
    start = f"G{year % 100:02d}-"
    numbers = [
        int(code.removeprefix(start))
        for code in origins.batch_codes(kitchen.book)
        if code.startswith(start) and code.removeprefix(start).isdigit()
    ]
    return f"{start}{max(numbers, default=0) + 1}"


def lean_shares(kitchen: Kitchen, whole: Sequence[Input]) -> tuple[tuple[str, int], ...]:
    """Whole percents of each animal in what came of animals, in the order they went in."""
    lineage = Rows(kitchen).lineage
    found: dict[str, Fraction] = {}
    for one in whole:
        shares = {("animal", one.name): Fraction(1)} if one.kind == "animal" else {}
        if one.kind == "package":
            shares = dict(lineage.shares(one.name) or {})
        for (kind, name), share in shares.items():
            if kind == "animal":
                found[name] = found.get(name, Fraction(0)) + share * (one.mass_mg or 0)
    if not found:
        return ()
    by_name = dict(mixing.percents(found))
    return tuple((name, by_name[name]) for name in found)


def _header(
    kitchen: Kitchen, asked: Asked, whole: Sequence[Input], reached: Fraction | None, target: int | None
) -> Header:
    """The header of what came out: age and freezings from what it is made of."""
    by_species: dict[str, int] = {}
    for one in whole:
        if one.species and (one.kind != "bought" or all(each.kind == "bought" for each in whole)):
            by_species[one.species] = by_species.get(one.species, 0) + (one.mass_mg or 0)
    main = max(by_species, key=lambda key: by_species[key]) if by_species else ""
    words = replace(
        asked.words,
        cut=asked.words.cut or "ground",
        species=asked.words.species or (cuts.species(main).name if main else ""),
    )
    header = understand(kitchen, words)
    made_on = header.packed_on
    for one in whole:
        killed = find_animal(kitchen, one.name).killed_on if one.kind == "animal" else None
        if killed and made_on < killed:
            raise InvalidDate(
                f"Made on {long_date(made_on)}, before {one.name} was killed on {long_date(killed)}. "
                "One of the two days is wrong.",
                value=asked.words.packed,
            )
    packed = [one.row.package for one in whole if one.row]
    thawed = [package for package in packed if package.packed_on < made_on]
    times = [package.times_frozen + (package in thawed) for package in packed]
    percent = target if reached is None else round(reached)
    shop = [one.name for one in whole if one.kind == "bought"]
    return replace(
        header,
        fat_percent=percent,
        added=" and ".join(name for name in shop if bought(name).species),
        first_frozen_on=min([made_on, *(package.first_frozen_on for package in packed)]),
        times_frozen=max([header.times_frozen, *times]),
    )


def _run(kitchen: Kitchen, asked: Asked, header: Header) -> Run | None:
    weights: list[Weighed] = []
    for text in asked.weights:
        many = _MANY.fullmatch(text.strip())
        number, one = (int(many[1]), many[2]) if many else (1, text)
        if not 1 <= number <= MOST_OUTPUTS:
            raise InputError(f"{text!r} is {number} packages; from 1 to {MOST_OUTPUTS} can be made.", value=text)
        weights += [Weighed(typed=one, net_mg=parse_mass(one, unit=kitchen.unit))] * number
    if len(weights) > MOST_OUTPUTS:
        raise InputError(f"{len(weights)} packages in one batch; at most {MOST_OUTPUTS}.", value=len(weights))
    return Run(header=header, weights=tuple(weights), quantity=asked.quantity) if weights else None


def _question(kitchen: Kitchen, planned: Plan) -> None:
    """Raises: OutOfLine when more came out than went in, or far less, or a weight, in or out, looks like a slip."""
    assert planned.run is not None
    found = [*doubts(kitchen, planned.run), *inputs.far_less(kitchen, planned.inputs)]
    out = planned.out_mg
    weighings = len(planned.inputs) + len(planned.run.weights) * planned.run.quantity
    if out is not None and out > planned.total_mg + weighings * ROUNDING_MG:
        found.append(f"{kitchen.mass(out)} came out, but only {kitchen.mass(planned.total_mg)} went in")
    elif out is not None and _much_missing(planned, out):
        found.append(
            f"{kitchen.mass(planned.total_mg)} went in, but only {kitchen.mass(out)} came out: "
            f"{kitchen.mass(planned.total_mg - out)} is missing. A bag not weighed yet, or a pack that did not go in?"
        )
    if found:
        lines = "\n".join(f"  {line}" for line in found)
        raise OutOfLine(
            f"Nothing recorded: out of line.\n{lines}\nGive it again, or add --yes if the scale really says so.",
            doubts=found,
        )


def _much_missing(planned: Plan, out: int) -> bool:
    header = planned.header
    loss = planned.total_mg - out
    if cuts.keeps_as(header.cut, header.form) in LOSES_WATER:
        return False
    return loss > LEAST_LOSS_MG and loss > MOST_LOSS * planned.total_mg


def _write_origins(act: Writer, planned: Plan, codes: Sequence[str]) -> None:
    """A row for each input and output: the part of the input that went into it, so that the parts add up."""
    assert planned.run is not None
    known = [one.net_mg for one in planned.run.weights if one.net_mg]
    usual = sum(known) // len(known) if known else 1
    outputs = [one.net_mg or usual for one in planned.run.weights]
    for one in planned.inputs:
        for code, part in zip(codes, parted(one.mass_mg or 0, outputs), strict=True):
            act.add("lineage", child=code, kind=one.kind, name=one.name, mass_mg=part, fat_percent=one.fat_percent)


def parted(mass_mg: int, outputs: Sequence[int]) -> list[int]:
    """``mass_mg`` divided in proportion to ``outputs``, whole milligrams that add up, none of them zero."""
    total, before, parts = sum(outputs), 0, []
    done = 0
    for weight in outputs:
        done += weight
        upto = mass_mg * done // total
        parts.append(max(1, upto - before))
        before = upto
    return parts


def _short(one: Input) -> str:
    return show_code(one.name) if one.kind == "package" else one.name


def summary(made: Made) -> str:
    """``Batch G26-1: 38 packages``."""
    return f"Batch {made.batch}: {count(made.totals.packages, 'package')}"
