"""The header options of a run, shared by pack and by labels printed ahead."""

from __future__ import annotations

from typing import Annotated

import typer

from freezerbox.cli.plain_values import SEVERAL

Animal = Annotated[str, typer.Option("--animal", metavar=SEVERAL, help="Animal it came from; several: 26A,26B.")]
Species = Annotated[str, typer.Option("--species", metavar="NAME", help="When there is no animal record.")]
Form = Annotated[str, typer.Option("--form", metavar="FORM", help="half, steaks, chops, cubes, ...")]
Pieces = Annotated[str, typer.Option("--pieces", metavar="N", help="Pieces in each package.")]
Wrap = Annotated[str, typer.Option("--wrap", metavar="WRAP", help="paper, vacuum, zip-bag, ...")]
Fat = Annotated[str, typer.Option("--fat", metavar="PERCENT", help="20, or none for plain.")]
Added = Annotated[str, typer.Option("--with", metavar="WORDS", help='Bought and mixed in: "pork fat".')]
Seasoning = Annotated[str, typer.Option("--seasoning", metavar="WORDS", help="Seasoned with.")]
Place = Annotated[str, typer.Option("--place", metavar="NAME", help="Basket, bag, layer or shelf.")]
Owner = Annotated[str, typer.Option("--owner", metavar="NAME", help="When it is not ours.")]
For = Annotated[str, typer.Option("--for", metavar="WORDS", help="Reserved for a meal or a day.")]
Note = Annotated[str, typer.Option("--note", metavar="WORDS", help="A line for the label.")]
Packed = Annotated[str, typer.Option("--packed", metavar="DAY", help="When not today: sat, 14 nov.")]
FirstFrozen = Annotated[str, typer.Option("--first-frozen", metavar="DAY", help='When earlier: "nov 2024".')]
Twice = Annotated[bool, typer.Option("--frozen-twice", help="Made from meat that was frozen before.")]


def animal_codes(text: str) -> list[str]:
    """``26A,26B`` as codes."""
    return [code.strip() for code in text.replace("+", ",").split(",") if code.strip()]
