"""Commands for freezers and the places inside them."""

from __future__ import annotations

from typing import Annotated

import typer

from freezerbox.chores import places as chore
from freezerbox.chores.house import volume_words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import as_json as row_json
from freezerbox.chores.rows import totals, totals_json
from freezerbox.chores.wording import coded_line, count, holds_words, packs_and_weight
from freezerbox.cli.options import AsJson, Freezer, kitchen_of
from freezerbox.cli.output import say, say_json, table
from freezerbox.core.code import show_code
from freezerbox.core.records import Freezer as FreezerRecord
from freezerbox.core.records import Place

Volume = Annotated[str, typer.Option("--volume", metavar="SIZE", help="Inside volume: 15 cu ft, or 420 l.")]
Name = Annotated[str, typer.Argument(metavar="NAME", help="Your own word for it.")]
NewName = Annotated[str, typer.Argument(metavar="NEW", help="The new name.")]

freezer_app = typer.Typer(
    help="Freezers: list, add, set, rename, retire.",
    epilog='Example: freezerbox freezer add "Garage chest"',
    rich_markup_mode=None,
    invoke_without_command=True,
)
place_app = typer.Typer(
    help="Baskets, bags, layers: list, add, show, rename, retire.",
    epilog='Example: freezerbox place add "red bag"',
    rich_markup_mode=None,
    invoke_without_command=True,
)


@freezer_app.callback()
def freezer_alone(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Freezers: list, add, set, rename, retire."""
    if ctx.invoked_subcommand is None:
        freezer_list(ctx, as_json=as_json)


@freezer_app.command("list", epilog="Example: freezerbox freezer list")
def freezer_list(ctx: typer.Context, as_json: AsJson = False) -> None:
    """The freezers, and how much is in each."""
    with kitchen_of(ctx) as kitchen:
        found = chore.freezers(kitchen)
        if as_json:
            say_json({"freezers": [_freezer_json(one) for one in found]})
            return
        if not found:
            say('No freezer yet. Add one: freezerbox freezer add "Garage chest" --volume "15 cu ft"')
        for line in table([_freezer_cells(kitchen, one) for one in found]):
            say(line)


@freezer_app.command("add", epilog='Example: freezerbox freezer add "Kitchen" --volume "4 cu ft"')
def freezer_add(
    ctx: typer.Context,
    name: Name,
    volume: Volume = "",
    away: Annotated[bool, typer.Option("--away", help="It stands elsewhere: cabin, camp, parents.")] = False,
    as_json: AsJson = False,
) -> None:
    """Add a freezer."""
    with kitchen_of(ctx) as kitchen:
        freezer = chore.add_freezer(kitchen, name, volume, away=away)
        _say_freezer(kitchen, freezer, f"Freezer added: {_freezer_words(kitchen, freezer)}", as_json=as_json)


@freezer_app.command("set", epilog='Example: freezerbox freezer set "Kitchen" --volume "4 cu ft"')
def freezer_set(
    ctx: typer.Context,
    name: Name,
    volume: Volume = "",
    away: Annotated[bool | None, typer.Option("--away/--here", help="Where it stands.")] = None,
    as_json: AsJson = False,
) -> None:
    """Correct a freezer's size or where it stands."""
    with kitchen_of(ctx) as kitchen:
        freezer = chore.set_freezer(kitchen, name, volume=volume, away=away)
        _say_freezer(kitchen, freezer, f"Freezer corrected: {_freezer_words(kitchen, freezer)}", as_json=as_json)


@freezer_app.command("rename", epilog='Example: freezerbox freezer rename "Kitchen" "Pantry"')
def freezer_rename(ctx: typer.Context, name: Name, new: NewName, as_json: AsJson = False) -> None:
    """Give a freezer another name."""
    with kitchen_of(ctx) as kitchen:
        freezer = chore.rename_freezer(kitchen, name, new)
        _say_freezer(kitchen, freezer, f"Freezer renamed: {name} is {freezer.name} now", as_json=as_json)


@freezer_app.command("retire", epilog='Example: freezerbox freezer retire "Kitchen"')
def freezer_retire(ctx: typer.Context, name: Name, as_json: AsJson = False) -> None:
    """Stop using an empty freezer; its history stays."""
    with kitchen_of(ctx) as kitchen:
        freezer = chore.retire_freezer(kitchen, name)
        _say_freezer(kitchen, freezer, f"Freezer retired: {freezer.name}", as_json=as_json)


def _say_freezer(kitchen: Kitchen, freezer: FreezerRecord, words: str, *, as_json: bool) -> None:
    """What became of a freezer: in words, or as ``freezer list`` has it; one that is retired is empty."""
    if not as_json:
        say(words)
        return
    views = (one for one in chore.freezers(kitchen.afresh()) if one.freezer.id == freezer.id)
    retired = chore.FreezerView(freezer=freezer, totals=totals(()), unplaced=0)
    say_json({"freezer": _freezer_json(next(views, retired))})


@place_app.callback()
def place_alone(ctx: typer.Context, as_json: AsJson = False) -> None:
    """Baskets, bags, layers: list, add, show, rename, retire."""
    if ctx.invoked_subcommand is None:
        place_list(ctx, as_json=as_json)


@place_app.command("list", epilog="Example: freezerbox place list")
def place_list(ctx: typer.Context, as_json: AsJson = False) -> None:
    """The places, what is in each, and when each was checked."""
    with kitchen_of(ctx) as kitchen:
        found = chore.places(kitchen)
        if as_json:
            say_json({"places": [_place_json(one) for one in found]})
            return
        if not found:
            say('No places yet. Add one: freezerbox place add "red bag"')
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
    as_json: AsJson = False,
) -> None:
    """Add a place inside a freezer."""
    with kitchen_of(ctx) as kitchen:
        place = chore.add_place(kitchen, name, freezer, inside=inside, kind=kind)
        _say_place(kitchen, place, f"Place added: {place.name} in {place.freezer}", as_json=as_json)


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
def place_rename(
    ctx: typer.Context, name: Name, new: NewName, freezer: Freezer = "", as_json: AsJson = False
) -> None:
    """Give a place another name; its sign's code stays."""
    from freezerbox.chores.header import find_place
    from freezerbox.chores.sign_words import other_signs

    with kitchen_of(ctx) as kitchen:
        before = find_place(kitchen, name, freezer)
        place = chore.rename_place(kitchen, name, new, freezer)
        words = (
            f"Place renamed: {before.name} is {place.name} now. A new sign: freezerbox sign {show_code(place.code)}"
        )
        if others := other_signs(kitchen, place):
            verb = "means" if len(others) == 1 else "mean"
            words += f"\n{' and '.join(map(show_code, others))} {verb} it too, and may say {before.name} still."
        _say_place(kitchen, place, words, as_json=as_json)


@place_app.command("retire", epilog='Example: freezerbox place retire "red bag"')
def place_retire(ctx: typer.Context, name: Name, freezer: Freezer = "", as_json: AsJson = False) -> None:
    """Stop using an empty place; its history stays."""
    with kitchen_of(ctx) as kitchen:
        place = chore.retire_place(kitchen, name, freezer)
        _say_place(kitchen, place, f"Place retired: {place.name}", as_json=as_json)


def _say_place(kitchen: Kitchen, place: Place, words: str, *, as_json: bool) -> None:
    """What became of a place: in words, or as ``place list`` has it; one that is retired is empty."""
    if not as_json:
        say(words)
        return
    views = (one for one in chore.places(kitchen.afresh()) if one.place.id == place.id)
    retired = chore.PlaceView(place=place, parent="", rows=(), totals=totals(()))
    say_json({"place": _place_json(next(views, retired))})


def _freezer_words(kitchen: Kitchen, freezer: FreezerRecord) -> str:
    volume = f"  {volume_words(freezer.volume_l, kitchen.unit)}" if freezer.volume_l else ""
    return f"{freezer.name}{volume}" + ("  elsewhere" if freezer.away else "")


def _freezer_cells(kitchen: Kitchen, view: chore.FreezerView) -> tuple[str, str]:
    unplaced = f", {count(view.unplaced, 'pack')} without a place" if view.unplaced else ""
    return _freezer_words(kitchen, view.freezer), packs_and_weight(kitchen, view.totals) + unplaced


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
