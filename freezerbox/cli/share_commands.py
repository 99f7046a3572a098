"""Sharing out between households: share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Annotated

import typer

from freezerbox.chores import share as share_chore
from freezerbox.chores import wording
from freezerbox.chores.guidance import guidance
from freezerbox.chores.header import find_animal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.rows import totals, totals_json
from freezerbox.chores.share import Heap, Proposal
from freezerbox.cli.options import AsJson, WriteOver, kitchen_of
from freezerbox.cli.output import no_letters, paragraph, say, say_json, table
from freezerbox.cli.pull_lines import refuse_file
from freezerbox.core.code import show_code
from freezerbox.core.mass import net_grams
from freezerbox.errors import InputError


def share(
    ctx: typer.Context,
    codes: Annotated[list[str] | None, typer.Argument(metavar="CODE...", help="Packages; or --animal.")] = None,
    between: Annotated[str, typer.Option("--between", metavar="NAMES", help='You first: "Ann, Ben".')] = "",
    animal: Annotated[str, typer.Option("--animal", metavar="CODE", help="All that is left of an animal.")] = "",
    parts: Annotated[str, typer.Option("--parts", metavar="1:1", help="Parts, in the order named.")] = "",
    wish: Annotated[
        list[str] | None,
        typer.Option("--wish", metavar="WORDS", help='"all shank to Ben", "1 more backstrap to Ann".'),
    ] = None,
    accept: Annotated[
        bool, typer.Option("--accept", help="Record it: the others' packages leave our stock.")
    ] = False,
    to: Annotated[Path | None, typer.Option("--to", metavar="FILE.pdf", help="A list each, as pages.")] = None,
    handover: Annotated[
        Path | None,
        typer.Option("--handover", metavar="FILE.json", help="With --accept: a file for the others' book."),
    ] = None,
    held_too: Annotated[bool, typer.Option("--held-too", help="Share out what is on hold too.")] = False,
    yes: WriteOver = False,
    as_json: AsJson = False,
) -> None:
    """Propose a fair split, by weight and by cut."""
    if handover is not None and not accept:
        raise InputError("--handover is for packages that have left: add --accept.", value=str(handover))
    refuse_file(to, ".pdf", what="lists", yes=yes)
    refuse_file(handover, ".json", what="packages", yes=yes)
    with kitchen_of(ctx) as kitchen:
        proposal = share_chore.propose(
            kitchen, between, codes=codes or (), animal=animal, parts=parts, wishes=wish or (), held_too=held_too
        )
        files: list[str] = []
        unknown = ""
        if to is not None:
            from freezerbox.chores.pages import print_share

            unknown = print_share(kitchen, proposal, to).unknown
            files.append(str(to))
            no_letters(to, unknown)
        if accept:
            left = share_chore.accept(kitchen, proposal)
            kitchen = kitchen.afresh()
            if handover is not None:
                files.append(_write_handover(kitchen, proposal, handover))
        if as_json:
            report = _proposal_json(proposal) | {"accepted": accept, "files": files, "unknown_letters": unknown}
            say_json(report | {"done": [row_json(row) for row in left] if accept else []})
            return
        for line in _proposal_lines(kitchen, proposal):
            say(line)
        say("Recorded: the others' packages have left our stock." if accept else "Nothing recorded; --accept does.")
        for file in files:
            say(f"Written: {file}")
        if accept and handover is not None:
            whose = "" if len(proposal.heaps) == 2 else " --for NAME"
            say(paragraph(f"Their own book takes it in with: freezerbox import {handover.name}{whose}"))


def _write_handover(kitchen: Kitchen, proposal: Proposal, file: Path) -> str:
    from freezerbox.chores.handover import handover, write_handover
    from freezerbox.chores.rows import Rows

    rows = Rows(kitchen)
    found = [
        handover(
            kitchen,
            heap.person,
            [(rows.of_codes([row.code])[0], number) for row, number in heap.rows],
            kitchen.today,
            giver=proposal.ours,
        )
        for heap in proposal.heaps
        if heap.person != proposal.ours
    ]
    write_handover(file, {"handovers": found})
    return str(file)


def _proposal_lines(kitchen: Kitchen, proposal: Proposal) -> Iterator[str]:
    names = dict.fromkeys(name for heap in proposal.heaps for name, _, _ in heap.by_cut)
    head = ("", *(heap.person for heap in proposal.heaps))
    rows = [head]
    for name in names:
        rows.append((name, *(_cut_cell(kitchen, heap, name) for heap in proposal.heaps)))
    rows.append(
        ("Together", *(f"{heap.packages}: {kitchen.mass(heap.net_mg)}" for heap in proposal.heaps)),
    )
    yield from table(rows, indent=0)
    yield (
        f"Of {kitchen.mass(proposal.total_mg)}; {kitchen.mass(proposal.difference_mg)} apart, "
        f"the largest pack being {kitchen.mass(proposal.largest_mg)}."
    )
    for heap in proposal.heaps:
        yield f"{heap.person}:"
        cells = [
            (
                show_code(row.code),
                kitchen.mass(row.package.net_mg),
                row.cut_name + (f" x{number}" if number > 1 else "") + (" - ON HOLD" if row.holds else ""),
            )
            for row, number in heap.rows
        ]
        yield from table(cells, right=(1,), indent=2)
    if proposal.guessed:
        yield paragraph(
            f"{wording.count(len(proposal.guessed), 'pack')} not weighed, counted at the mean of the cut."
        )
    if proposal.held:
        yield paragraph(
            f"Left out, on hold: {', '.join(show_code(row.code) for row in proposal.held[:12])}"
            + (f" and {len(proposal.held) - 12} more." if len(proposal.held) > 12 else ".")
        )


def _cut_cell(kitchen: Kitchen, heap: Heap, name: str) -> str:
    found = next(((number, mass) for cut, number, mass in heap.by_cut if cut == name), None)
    return f"{found[0]}: {kitchen.mass(found[1])}" if found else "-"


def _proposal_json(proposal: Proposal) -> dict[str, object]:
    return {
        "ours": proposal.ours,
        "heaps": [
            {
                "person": heap.person,
                "packages": heap.packages,
                "net_g": net_grams(heap.net_mg),
                "by_cut": [
                    {"cut": name, "packages": number, "net_g": net_grams(mass)} for name, number, mass in heap.by_cut
                ],
                "rows": [row_json(row) | {"number": number} for row, number in heap.rows],
            }
            for heap in proposal.heaps
        ],
        "total_g": net_grams(proposal.total_mg),
        "difference_g": net_grams(proposal.difference_mg),
        "largest_g": net_grams(proposal.largest_mg),
        "held": [row_json(row) for row in proposal.held],
    }


def take_handover(kitchen: Kitchen, file: Path, who: str, rename: Sequence[str], *, as_json: bool) -> None:
    """Take in a handover file and say what came of it."""
    from freezerbox.chores.handover import take_in

    taken = take_in(kitchen, file, who=who, rename=rename)
    kitchen = kitchen.afresh()
    if as_json:
        say_json(
            {
                "from": taken.giver or None,
                "packages": [row_json(row) for row in taken.rows],
                "totals": totals_json(totals(taken.rows)),
                "known": taken.known,
                "animals": dict(taken.animals),
                "news": list(taken.news),
                "not_in_this_book": list(taken.strangers),
            }
        )
        return
    giver = taken.giver or "another household"
    if taken.rows:
        say(f"Taken in from {giver}: {wording.packs_and_weight(kitchen, totals(taken.rows), 'package')}.")
    for row in taken.rows:
        held = f" - ON HOLD: {wording.holds_words(row.holds, kitchen.today)}" if row.holds else ""
        say(paragraph(f"{wording.coded_line(kitchen, row)}{held}", "  ", "      "))
    if not taken.rows and not taken.news:
        known = "what it has of it" if taken.strangers else "all of it"
        say(f"Nothing new in {file.name}: this book knows {known} already.")
        _say_strangers(taken.strangers)
        return
    if taken.known:
        say(f"{wording.count(taken.known, 'package')} of it in this book already.")
    for theirs, ours in taken.animals.items():
        if theirs != ours:
            say(f"Their {theirs} is {ours} here.")
    for line in taken.news:
        say(line)
    _say_strangers(taken.strangers)
    if said := guidance([find_animal(kitchen, code) for code in taken.animals.values()]):
        say(paragraph(said))
    if taken.rows:
        say("Their labels stay as they are. Say where they lie: freezerbox move CODE --to PLACE")


def _say_strangers(codes: Sequence[str]) -> None:
    """What a notice names beside what is here: it may be in this freezer all the same."""
    if codes:
        say(
            paragraph(
                f"{len(codes)} more {'is' if len(codes) == 1 else 'are'} named that this book does not know: "
                f"{', '.join(show_code(code) for code in codes)}. Look for their labels too."
            )
        )


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.command(
        rich_help_panel=panel,
        epilog='Example: freezerbox share --animal 26E --between "Ann, Ben" --wish "all shank to Ben"',
    )(share)
