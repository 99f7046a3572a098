"""Commands for freezers and the places inside them."""

from __future__ import annotations

from typing import Annotated

import typer

from freezerbox.chores import places as chore
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.rows import totals_json
from freezerbox.chores.wording import coded_line, count, holds_words, packs_and_weight
from freezerbox.cli.options import AsJson, Freezer, kitchen_of
from freezerbox.cli.output import say, say_json, table
from freezerbox.core.code import show_code
from freezerbox.core.records import Freezer as FreezerRecord

Volume = Annotated[str, typer.Option("--volume", metavar="SIZE", help="Inside volume: 15 cu ft, or 420 l.")]
Name = Annotated[str, typer.Argument(metavar="NAME", help="Your own word for it.")]
NewName = Annotated[str, typer.Argument(metavar="NEW", help="The new name.")]

freezer_app = typer.Typer(
    help="Freezers: list, add, set, rename, retire.", rich_markup_mode=None, invoke_without_command=True
)
place_app = typer.Typer(
    help="Baskets, bags, layers: list, add, show, rename, retire.", rich_markup_mode=None, invoke_without_command=True
)


@freezer_app.callback()
def freezer_list(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Freezers: list, add, set, rename, retire."""
    if ctx.invoked_subcommand is not None:
        return
    with kitchen_of(ctx) as kitchen:
        found = chore.freezers(kitchen)
        if as_json:
            say_json({"freezers": [_freezer_json(one) for one in found]})
            return
        for line in table([_freezer_cells(kitchen, one) for one in found]):
            say(line)


@freezer_app.command("add", epilog='Example: freezerbox freezer add "Kitchen" --volume "4 cu ft"')
def freezer_add(
    ctx: typer.Context,
    name: Name,
    volume: Volume = "",
    away: Annotated[bool, typer.Option("--away", help="It stands elsewhere: cabin, camp, parents.")] = False,
) -> None:
    """Add a freezer."""
    with kitchen_of(ctx) as kitchen:
        say(f"Freezer added: {_freezer_words(chore.add_freezer(kitchen, name, volume, away=away))}")


@freezer_app.command("set", epilog='Example: freezerbox freezer set "Kitchen" --volume "4 cu ft"')
def freezer_set(
    ctx: typer.Context,
    name: Name,
    volume: Volume = "",
    away: Annotated[bool | None, typer.Option("--away/--here", help="Where it stands.")] = None,
) -> None:
    """Correct a freezer's size or where it stands."""
    with kitchen_of(ctx) as kitchen:
        say(f"Freezer corrected: {_freezer_words(chore.set_freezer(kitchen, name, volume=volume, away=away))}")


@freezer_app.command("rename", epilog='Example: freezerbox freezer rename "Kitchen" "Pantry"')
def freezer_rename(ctx: typer.Context, name: Name, new: NewName) -> None:
    """Give a freezer another name."""
    with kitchen_of(ctx) as kitchen:
        say(f"Freezer renamed: {name} is {chore.rename_freezer(kitchen, name, new).name} now")


@freezer_app.command("retire", epilog='Example: freezerbox freezer retire "Kitchen"')
def freezer_retire(ctx: typer.Context, name: Name) -> None:
    """Stop using an empty freezer; its history stays."""
    with kitchen_of(ctx) as kitchen:
        say(f"Freezer retired: {chore.retire_freezer(kitchen, name).name}")


@place_app.callback()
def place_list(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Baskets, bags, layers: list, add, show, rename, retire."""
    if ctx.invoked_subcommand is not None:
        return
    with kitchen_of(ctx) as kitchen:
        found = chore.places(kitchen)
        if as_json:
            say_json({"places": [_place_json(one) for one in found]})
            return
        cells = [
            (
                one.place.freezer,
                f"{one.parent}: {one.place.name}" if one.parent else one.place.name,
                show_code(one.place.code),
                f"{packs_and_weight(kitchen, one.totals)}, {chore.checked_words(kitchen, one.place)}",
            )
            for one in found
        ]
        for line in table(cells):
            say(line)


@place_app.command("add", epilog='Example: freezerbox place add "red bag"')
def place_add(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME", help="Your own word: red bag, left basket.")],
    freezer: Freezer = "",
    inside: Annotated[str, typer.Option("--in", metavar="PLACE", help="The place it is inside of.")] = "",
    kind: Annotated[str, typer.Option("--kind", metavar="KIND", help="basket, bag, layer, shelf, ...")] = "",
) -> None:
    """Add a place inside a freezer."""
    with kitchen_of(ctx) as kitchen:
        place = chore.add_place(kitchen, name, freezer, inside=inside, kind=kind)
        say(f"Place added: {place.name} in {place.freezer}")


@place_app.command("show", epilog='Example: freezerbox place show "red bag"')
def place_show(ctx: typer.Context, name: Name, freezer: Freezer = "", as_json: AsJson = False) -> None:
    """What the list has in a place."""
    from freezerbox.chores.header import find_place

    with kitchen_of(ctx) as kitchen:
        wanted = find_place(kitchen, name, freezer)
        view = next(one for one in chore.places(kitchen) if one.place.id == wanted.id)
        if as_json:
            say_json(_place_json(view) | {"rows": [row_json(row) for row in view.rows]})
            return
        say(f"{wanted.name}, {wanted.freezer}, sign {show_code(wanted.code)}: "
            f"{packs_and_weight(kitchen, view.totals)}, {chore.checked_words(kitchen, wanted)}")  # fmt: skip
        for row in view.rows:
            quantity = row.package.state.quantity
            lot = f" x{quantity}" if quantity > 1 else ""
            held = f" - HELD, {holds_words(row.holds, kitchen.today)}" if row.holds else ""
            say(f"  {coded_line(kitchen, row)}{lot}{held}")


@place_app.command("rename", epilog='Example: freezerbox place rename "red bag" "blue bag"')
def place_rename(ctx: typer.Context, name: Name, new: NewName, freezer: Freezer = "") -> None:
    """Give a place another name; its sign's code stays."""
    with kitchen_of(ctx) as kitchen:
        place = chore.rename_place(kitchen, name, new, freezer)
        say(f'Place renamed: {name} is {place.name} now. A new sign: freezerbox sign "{place.name}"')


@place_app.command("retire", epilog='Example: freezerbox place retire "red bag"')
def place_retire(ctx: typer.Context, name: Name, freezer: Freezer = "") -> None:
    """Stop using an empty place; its history stays."""
    with kitchen_of(ctx) as kitchen:
        say(f"Place retired: {chore.retire_place(kitchen, name, freezer).name}")


def _freezer_words(freezer: FreezerRecord) -> str:
    volume = f"  {freezer.volume_l:.0f} l" if freezer.volume_l else ""
    return f"{freezer.name}{volume}" + ("  elsewhere" if freezer.away else "")


def _freezer_cells(kitchen: Kitchen, view: chore.FreezerView) -> tuple[str, str]:
    unplaced = f", {count(view.unplaced, 'pack')} without a place" if view.unplaced else ""
    return _freezer_words(view.freezer), packs_and_weight(kitchen, view.totals) + unplaced


def _freezer_json(view: chore.FreezerView) -> dict[str, object]:
    freezer = view.freezer
    return {
        "name": freezer.name,
        "volume_l": freezer.volume_l,
        "away": freezer.away,
        "totals": totals_json(view.totals),
        "unplaced": view.unplaced,
    }


def _place_json(view: chore.PlaceView) -> dict[str, object]:
    place = view.place
    return {
        "name": place.name,
        "kind": place.kind or None,
        "freezer": place.freezer,
        "inside": view.parent or None,
        "code": place.code,
        "last_checked": place.last_checked_on.isoformat() if place.last_checked_on else None,
        "surprises": place.last_surprises,
        "totals": totals_json(view.totals),
    }


def add_to(app: typer.Typer, panel: str) -> None:
    """Hang these commands into the program."""
    app.add_typer(freezer_app, name="freezer", rich_help_panel=panel)
    app.add_typer(place_app, name="place", rich_help_panel=panel)
