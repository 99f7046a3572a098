"""The command of the wrapping evening: pack."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores import pack as pack_chore
from freezerbox.chores.header import Words, find_animal, other_of, whole_number
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, totals_json
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.units import MOST_OF_A_LOT
from freezerbox.cli import header_options as header
from freezerbox.cli.options import MINUS_IS_A_VALUE, AsJson, Freezer, Yes, ask, kitchen_of, refuse_options
from freezerbox.cli.output import note, paragraph, say, say_json, table
from freezerbox.cli.wiring import at_terminal
from freezerbox.core.code import show_code
from freezerbox.core.mass import OUNCE_WORDS, UNIT_WORDS
from freezerbox.errors import AmbiguousWord, InputError, InvalidMass, OutOfLine, UnknownWord

_MANY = re.compile(r"([1-9]\d{0,2})[xX×]([.\d].*)")


def pack(
    ctx: typer.Context,
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="CUT WEIGHT", help='The cut, then each weight: 1.25, "1 lb 4", 3x1.5.'),
    ] = None,
    animal: header.Animal = "",
    form: header.Form = "",
    pieces: header.Pieces = "",
    wrap: header.Wrap = "",
    fat: header.Fat = "",
    added: header.Added = "",
    seasoning: header.Seasoning = "",
    place: header.Place = "",
    freezer: Freezer = "",
    species: header.Species = "",
    owner: header.Owner = "",
    reserved_for: header.For = "",
    remark: header.Note = "",
    packed: header.Packed = "",
    first_frozen: header.FirstFrozen = "",
    frozen_twice: header.Twice = False,
    lot: Annotated[str, typer.Option("--lot", metavar="N", help="One record that stands for N alike.")] = "",
    each: Annotated[str, typer.Option("--each", metavar="WEIGHT", help="With --lot: the weight of one.")] = "",
    file: Annotated[
        Path | None, typer.Option("--table", metavar="FILE.csv", help="A whole evening, a line each.")
    ] = None,
    yes: Yes = False,
    as_json: AsJson = False,
) -> None:
    """Pack a run: one cut, then the weights as they come.

    Without weights, at a terminal, it asks for them one by one: only the number pad is needed.
    """
    with kitchen_of(ctx) as kitchen:
        if file is not None:
            if words:
                raise InputError("Give either a cut with weights or --table, not both.", value=" ".join(words))
            beside = {
                "--animal": animal, "--form": form, "--pieces": pieces, "--wrap": wrap, "--fat": fat, "--with": added,
                "--seasoning": seasoning, "--place": place, "--freezer": freezer, "--species": species,
                "--owner": owner, "--for": reserved_for, "--note": remark, "--packed": packed,
                "--first-frozen": first_frozen, "--frozen-twice": frozen_twice, "--lot": lot, "--each": each,
            }  # fmt: skip
            given = [option for option, value in beside.items() if value]
            if given:
                # Taken in silence, a table without its animal would lose the animal's hold.
                raise InputError(
                    f"With --table each line says its own; {', '.join(given)} would not be used. Put a column of "
                    "that name into the table. Nothing was recorded.",
                    value=given,
                )
            from freezerbox.chores.table import pack_table

            report(kitchen, pack_table(kitchen, file, yes=yes), as_json)
            return
        cut, other, weights = split_words(words or [])
        if each:
            if not lot or weights:
                raise InputError("--each goes with --lot and no other weights: --lot 72 --each 2lb", value=each)
            weights = [each]
        typed = Words(
            cut=cut, other=other, form=form, species=species, animals=header.animal_codes(animal), pieces=pieces,
            wrap=wrap, fat=fat, added=added, seasoning=seasoning, place=place, freezer=freezer, owner=owner,
            reserved_for=reserved_for, note=remark, packed=packed, first_frozen=first_frozen,
            twice_frozen=frozen_twice,
        )  # fmt: skip
        if not cut:
            raise InputError("Say the cut: freezerbox pack backstrap .9 .95 --animal 26B", value="")
        quantity = whole_number(lot, "packages in a lot", MOST_OF_A_LOT) if lot else 1
        talking = at_terminal() and not as_json
        if not weights and talking and not lot:
            from freezerbox.cli.number_pad import wrap_at_the_table

            wrap_at_the_table(kitchen, settle_words(kitchen, typed))
            return
        if not weights and lot:
            weights = ["x"]
        if talking:
            typed = settle_words(kitchen, typed)
        run = pack_chore.prepare(kitchen, typed, weights, quantity=quantity)
        if talking and not yes:
            mixed = pack_chore.mixed_up(run.header)
            if mixed and not ask(f"{mixed}. Is it really of all of them?"):
                raise OutOfLine("Nothing recorded. Name one animal with --animal.", doubts=[mixed])
            doubts = pack_chore.doubts(kitchen, run)
            for doubt in doubts:
                say(f"Out of line: {doubt}.")
            if doubts and not ask("Does the scale really say so?"):
                raise OutOfLine("Nothing recorded. Give the run again with the right weight.", doubts=list(doubts))
            yes = True
        report(kitchen, pack_chore.write(kitchen, run, yes=yes), as_json)


def split_words(words: list[str]) -> tuple[str, str, list[str]]:
    """Cut, free words (after ``other``) and weights, from what was typed without or with quotes.

    Raises: InputError for an option that does not exist; InvalidMass for a weight in several words.
    """
    refuse_options(words, "pack")
    if not words:
        return "", "", []
    cut, rest = [words[0]], list(words[1:])
    named, other = other_of(words[0])
    if other:
        return named, other, _weights(rest)
    if words[0].lower() == "other" and rest:
        called = [rest.pop(0)]
        while rest and _is_word(rest[0]) and rest[0].lower() not in UNIT_WORDS:
            called.append(rest.pop(0))
        return words[0], " ".join(called), _weights(rest)
    while rest and _is_word(rest[0]):
        cut.append(rest.pop(0))
    return " ".join(cut), "", _weights(rest)


def _weights(texts: Sequence[str]) -> list[str]:
    """The weights as typed, ``3x1.5`` as three.  Raises: InvalidMass for one that a shell took apart."""
    for whole, part in pairwise(texts):
        if whole.isdigit() and "/" in part:
            raise InvalidMass(
                f"{whole} {part} came as two words. Write it as one, {whole}-{part}, or in quotes: "
                f'"{whole} {part}". Nothing was recorded.',
                value=f"{whole} {part}",
            )
    unit = next((at for at, text in enumerate(texts) if text.lower().rstrip(".") in UNIT_WORDS), None)
    if unit is None:
        return [weight for text in texts for weight in _alike(text)]
    parts = [*texts[max(0, unit - 1) : unit + 1]]
    if texts[unit].lower().startswith(("lb", "pound", "#")) and texts[unit + 1 : unit + 2]:
        parts += texts[unit + 1 : unit + (3 if "".join(texts[unit + 2 : unit + 3]).lower() in OUNCE_WORDS else 2)]
    said = " ".join(parts)
    raise InvalidMass(
        f"{said!r} came as {len(parts)} words. Write it as one, {said.replace(' ', '')}, or in quotes: "
        f'"{said}". Nothing was recorded.',
        value=said,
    )


def _alike(text: str) -> list[str]:
    """``3x1.5`` as three packages of that weight, as grind takes it; anything else as it is."""
    many = _MANY.fullmatch(text)
    return [many[2]] * int(many[1]) if many else [text]


def _is_word(text: str) -> bool:
    """Whether it belongs to the cut's name: letters only, and not the ``x`` of a package not weighed."""
    return text.replace("-", "").replace("'", "").isalpha() and text.lower() != "x" and not text.startswith("-")


def settle_words(kitchen: Kitchen, typed: Words) -> Words:
    """Ask at the terminal what an ambiguous cut means, or whether a near word was meant."""
    from freezerbox.food import cuts

    if not typed.cut:
        return typed
    while True:
        try:
            animals = [find_animal(kitchen, code) for code in typed.animals]
            species = cuts.resolve_species(typed.species)[0] if typed.species else None
            species = cuts.species(animals[0].species) if animals else species
            cuts.resolve_cut(typed.cut, species, kitchen.own_words)
            return typed
        except AmbiguousWord as error:
            say(error.message.split("\n")[0])
            for number, (choice, meaning) in enumerate(error.choices, start=1):
                say(f"  {number}  {choice}: {meaning}")
            answer = typer.prompt("Which number", default="", show_default=False)
            numbers = [str(number) for number in range(1, len(error.choices) + 1)]
            if answer.strip() not in numbers:
                raise
            typed = replace(typed, cut=error.choices[numbers.index(answer.strip())][0])
        except UnknownWord as error:
            if not error.near or not ask(f"There is no cut {typed.cut!r}. Did you mean {error.near[0]}?", pad=True):
                raise
            typed = replace(typed, cut=error.near[0])


def report(kitchen: Kitchen, done: pack_chore.Packed, as_json: bool) -> None:
    """Say what was packed."""
    from freezerbox.chores.cues import cues_to_say, packing_cues

    if as_json:
        said = [{"key": one.key, "text": one.text, "source": one.cite} for one in packing_cues(done.rows)]
        say_json(
            {"packages": [row_json(row) for row in done.rows], "totals": totals_json(done.totals, pieces=True)}
            | {"cautions": said}
        )
        return
    say(done.words(kitchen))
    lines = [(show_code(row.code), kitchen.mass(row.package.net_mg), _named(row)) for row in done.rows]
    for line in table(lines, right=(1,), indent=2):
        say(line)
    held = [row for row in done.rows if row.holds]
    if held:
        from freezerbox.chores.wording import holds_words

        say(f"ON HOLD: {holds_words(held[0].holds, kitchen.today)}. The labels will say so.")
    _note_whose(kitchen, done)
    for one in cues_to_say(kitchen, done.rows):
        say(paragraph(one.words()))


def _note_whose(kitchen: Kitchen, done: pack_chore.Packed) -> None:
    """A note on packages that were packed without an animal, when it may well be one of the season's."""
    from freezerbox.chores.whose import may_be_of, whose_words
    from freezerbox.food import cuts

    unlike = {
        (row.package.cut, row.package.species, row.package.packed_on, row.package.first_frozen_on): row
        for row in reversed(done.rows)
        if not row.animals and not row.package.batch
    }
    for row in reversed(unlike.values()):
        package = row.package
        species = cuts.species(package.species) if package.species else None
        animals = may_be_of(kitchen, cuts.cut(package.cut), species, package.packed_on, package.first_frozen_on)
        if said := whose_words(animals, f"freezerbox fix {show_code(row.code)} --animal"):
            note(said)
            return


def _named(row: Row) -> str:
    quantity = row.package.state.quantity
    return f"{row.cut_name}, {quantity} of them" if quantity > 1 else row.cut_name


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(
        rich_help_panel=panel,
        context_settings=MINUS_IS_A_VALUE,
        epilog="Example: freezerbox pack backstrap .9 .95 .88 --animal 26B --form half --wrap vacuum",
    )(pack)
