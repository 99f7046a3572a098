"""Where it came from and where it went: trace."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores import trace as trace_chore
from freezerbox.chores import wording
from freezerbox.chores.exits import Exit
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pull import pull_sheet
from freezerbox.chores.trace import Holder, Node
from freezerbox.chores.yields import BatchCost, batch_cost
from freezerbox.cli.animal_commands import unit_mg, unit_word
from freezerbox.cli.options import AsJson, WriteOver, kitchen_of
from freezerbox.cli.output import no_letters, paragraph, say, say_json, table
from freezerbox.cli.pull_lines import exit_json, refuse_file, sheet_json, sheet_lines
from freezerbox.core.code import show_code
from freezerbox.core.dates import short_date
from freezerbox.core.mass import net_grams
from freezerbox.errors import InputError


def trace(
    ctx: typer.Context,
    code: Annotated[str, typer.Argument(metavar="[CODE]", help="An animal, a batch or a package.")] = "",
    who: Annotated[bool, typer.Option("--who", help="Only who was given any of it.")] = False,
    person: Annotated[str, typer.Option("--person", metavar="NAME", help="What one person was given.")] = "",
    pull: Annotated[bool, typer.Option("--pull", help="The pull sheet: fetch what is in the freezer.")] = False,
    to: Annotated[Path | None, typer.Option("--to", metavar="FILE.pdf", help="With --pull: as a page.")] = None,
    notices: Annotated[
        Path | None, typer.Option("--notices", metavar="FOLDER", help="With --who: a notice for each of them.")
    ] = None,
    yes: WriteOver = False,
    as_json: AsJson = False,
) -> None:
    """Where a package came from, and who has any of an animal."""
    if bool(code) == bool(person):
        raise InputError("Name an animal, a batch or a package; or --person NAME alone.", value=code or person)
    if (pull or to is not None) and (who or notices is not None):
        raise InputError(
            "--pull and --who are two questions: what to fetch, and who has some. Ask them one after the other.",
            value="--pull --who",
        )
    with kitchen_of(ctx) as kitchen:
        if person:
            _say_holders(kitchen, [trace_chore.with_person(kitchen, person)], as_json, of=person)
        elif who or notices is not None:
            found_by = trace_chore.who_has(kitchen, code)
            files: list[str] = []
            if notices is not None:
                from freezerbox.chores.notices import write_notices

                files = [str(file) for file in write_notices(kitchen, code, notices, yes=yes)]
            _say_holders(kitchen, found_by, as_json, of=code.strip().upper(), files=files)
        elif pull or to is not None:
            refuse_file(to, ".pdf", what="pull sheet", yes=yes)
            _say_pull(kitchen, code, to, as_json)
        else:
            found = trace_chore.trace(kitchen, code)
            if as_json:
                say_json(
                    {"of": found.top, "up": _node_json(found.up), "down": _node_json(found.down)}
                    | (_cost_json(batch_cost(kitchen, found.top)) if found.down.kind == "batch" else {})
                )
                return
            for line in _trace_lines(kitchen, found):
                say(line)


def _say_pull(kitchen: Kitchen, code: str, to: Path | None, as_json: bool) -> None:
    sheet = pull_sheet(kitchen, code)
    unknown = ""
    if to is not None:
        from freezerbox.chores.pages import print_pull_sheet

        unknown = print_pull_sheet(kitchen, sheet, to).unknown
        no_letters(to, unknown)
    if as_json:
        say_json(sheet_json(sheet) | {"file": str(to) if to else None, "unknown_letters": unknown})
        return
    for line in sheet_lines(kitchen, sheet):
        say(line)
    if to is not None:
        say(f"Page: {to}")


def _trace_lines(kitchen: Kitchen, found: trace_chore.Trace) -> Iterator[str]:
    yield f"{found.down.words}" + (f": {found.down.where}" if found.down.where else "")
    if found.up.branches:
        yield "Made of:"
        yield from _tree(kitchen, found.up.branches, 1, "went in")
    if found.down.branches:
        yield "Went into:"
        yield from _tree(kitchen, found.down.branches, 1, f"of {found.down.name}")
    if found.down.kind == "batch":
        yield from _cost_lines(kitchen, batch_cost(kitchen, found.top))
    if not found.up.branches and not found.down.branches:
        yield "Nothing is recorded before or after it."


def _cost_lines(kitchen: Kitchen, cost: BatchCost) -> Iterator[str]:
    """What was spent on a batch, and what a pound of it came to."""
    if cost.costs:
        yield paragraph(
            f"Cost {cost.cents / 100:.2f}: "
            + ", ".join(f"{one.what} {one.cents / 100:.2f}" for one in cost.costs)
            + _per(kitchen, cost.cents_per(unit_mg(kitchen), with_meat=False)),
            hang="  ",
        )
    if cost.meat_cents:
        yield paragraph(
            f"With its meat, at what the animals cost: {(cost.cents + cost.meat_cents) / 100:.2f}"
            + _per(kitchen, cost.cents_per(unit_mg(kitchen), with_meat=True)),
            hang="  ",
        )


def _per(kitchen: Kitchen, cents: int | None) -> str:
    return "." if cents is None else f"; {cents / 100:.2f} a {unit_word(kitchen)} that came out."


def _tree(kitchen: Kitchen, nodes: Sequence[Node], depth: int, part: str) -> Iterator[str]:
    """The tree, an indent a step; packages that differ only in code and weight share a line."""
    for group in _alike(nodes):
        first, number = group[0], len(group)
        indent = "  " * depth
        if number > 1 and first.row is not None:
            weights = [node.net_mg for node in group]
            parts = [node.part_mg for node in group]
            net = None if None in weights else sum(weight or 0 for weight in weights)
            whole = None if None in parts else sum(one or 0 for one in parts)
            words = f"{number} of {first.row.cut_name}, {kitchen.mass(net)}{_part(kitchen, whole, net, part)}"
        else:
            words = first.words + _part(kitchen, first.part_mg, first.net_mg, part)
            if first.kind == "batch":
                words += f": {kitchen.mass(first.net_mg)}"
        words += f": {first.where}" if first.where else ""
        words += " (shown above)" if first.again else ""
        yield paragraph(words, indent, indent + "    ")
        yield from _tree(kitchen, first.branches, depth + 1, part)


def _alike(nodes: Sequence[Node]) -> list[list[Node]]:
    groups: dict[object, list[Node]] = {}
    for node in nodes:
        same = node.row is not None and not node.branches and not node.again
        key: object = (node.row.cut_name, node.where) if same and node.row else node.name
        groups.setdefault(key, []).append(node)
    return list(groups.values())


def _part(kitchen: Kitchen, part_mg: int | None, net_mg: int | None, words: str) -> str:
    if part_mg is None or part_mg == net_mg:
        return ""
    return f", {kitchen.mass(part_mg)} {words}"


def _node_json(node: Node) -> dict[str, object]:
    return {
        "kind": node.kind,
        "name": node.name,
        "words": node.words,
        "net_g": net_grams(node.net_mg),
        "part_g": net_grams(node.part_mg),
        "state": node.row.package.state.state.value if node.row else None,
        "where": node.where or None,
        "held": bool(node.row and node.row.holds),
        "again": node.again,
        "branches": [_node_json(one) for one in node.branches],
    }


def _cost_json(cost: BatchCost) -> dict[str, object]:
    per, whole = cost.cents_per(1_000_000, with_meat=False), cost.cents_per(1_000_000, with_meat=True)
    return {
        "costs": [{"what": one.what, "money": one.cents / 100} for one in cost.costs],
        "cost": cost.cents / 100,
        "meat_cost": None if cost.meat_cents is None else cost.meat_cents / 100,
        "cost_per_kg": None if per is None else per / 100,
        "cost_with_meat_per_kg": None if whole is None else whole / 100,
    }


def _say_holders(
    kitchen: Kitchen, found: Sequence[Holder], as_json: bool, *, of: str, files: Sequence[str] = ()
) -> None:
    if as_json:
        say_json({"of": of, "who": [_holder_json(holder) for holder in found], "files": list(files)})
        return
    if not found:
        say(f"Nobody was given any of {of}.")
    for holder in found:
        number = sum(one.number for one in holder.exits)
        say(f"{holder.person or 'not said to whom'}: {wording.count(number, 'package')}, {_weight(kitchen, holder)}")
        for line in table([_exit_cells(kitchen, one) for one in holder.exits], right=(2,), indent=2):
            say(line)
    for file in files:
        say(f"Written: {file}")


def _exit_cells(kitchen: Kitchen, one: Exit) -> tuple[str, ...]:
    held = " - ON HOLD" if one.row.holds else ""
    number = f" x{one.number}" if one.number > 1 else ""
    return (
        short_date(one.on, today=kitchen.today),
        show_code(one.row.code),
        kitchen.mass(one.net_mg) if one.net_mg is not None else "-",
        f"{one.row.cut_name}{number}, {wording.origin_words(one.row)}{held}",
    )


def _weight(kitchen: Kitchen, holder: Holder) -> str:
    weights = [one.net_mg for one in holder.exits]
    return "not all weighed" if None in weights else kitchen.mass(sum(weight or 0 for weight in weights))


def _holder_json(holder: Holder) -> dict[str, object]:
    return {
        "person": holder.person or None,
        "packages": sum(one.number for one in holder.exits),
        "net_g": net_grams(sum(one.net_mg or 0 for one in holder.exits)),
        "given": [exit_json(one) for one in holder.exits],
    }


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(rich_help_panel=panel, epilog="Example: freezerbox trace 26B --who")(trace)
