"""Weighing at the scale: a code, then its weight."""

from __future__ import annotations

from freezerbox.chores.header import default_freezer
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.pack import doubt_of, read_weight, usual_pack
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import Done, find_row, refuse_gone
from freezerbox.chores.wording import package_line
from freezerbox.core.code import show_code
from freezerbox.core.records import State
from freezerbox.errors import OutOfLine, Refused
from freezerbox.food import cuts


@one_writer
def weigh(kitchen: Kitchen, text: str, weight: str, *, yes: bool = False, request_id: str | None = None) -> Done:
    """Give a package its weight; a spare label becomes a package in the freezer.

    Raises: InvalidCode; UnknownCode; AlreadyGone for a void or taken one; InvalidMass; Refused when it was weighed
    before; OutOfLine for a doubtful weight without ``yes``.
    """
    net_mg = read_weight(kitchen, weight)
    row = to_weigh(kitchen, text, weight)
    package = row.package
    if net_mg is not None and not yes:
        _refuse_doubtful(kitchen, row.code, net_mg)
    weighed = kitchen.mass(net_mg)
    words = f"{show_code(row.code)} weighed: {weighed}"
    with kitchen.book.act("weigh", kitchen.today, request_id=request_id, words=words) as act:
        if net_mg is not None:
            act.change("package", row.code, "net_mg", None, net_mg)
            act.change("package", row.code, "typed", package.typed, weight)
        if package.state.state is State.SPARE:
            act.move(
                row.code,
                state=State.FROZEN,
                freezer_id=package.state.freezer_id or default_freezer(kitchen),
                place_id=package.state.place_id,
            )
            day = kitchen.today.isoformat()
            if package.packed_on.isoformat() != day:
                # Printed ahead on another day: what counts is when the bag was filled.
                if package.first_frozen_on == package.packed_on:
                    act.change("package", row.code, "first_frozen_on", package.first_frozen_on.isoformat(), day)
                act.change("package", row.code, "packed_on", package.packed_on.isoformat(), day)
    after = Rows(kitchen.afresh()).of_codes([row.code])[0]
    return Done(row=after, message=f"{show_code(row.code)}  weighed: {package_line(kitchen, after)}.")


def to_weigh(kitchen: Kitchen, text: str, weight: str = "WEIGHT") -> Row:
    """The package that waits for its weight.  ``weight``: what to name when it has one already.

    Raises: InvalidCode; UnknownCode; AlreadyGone for a void or taken one; Refused when it was weighed before.
    """
    row = find_row(kitchen, text)
    refuse_gone(kitchen, row)
    if row.package.net_mg is not None:
        raise Refused(
            f"{show_code(row.code)} was weighed before: {kitchen.mass(row.package.net_mg)}. "
            f"To correct it: freezerbox fix {show_code(row.code)} --weight {weight}",
            code=row.code,
        )
    return row


def _refuse_doubtful(kitchen: Kitchen, code: str, net_mg: int) -> None:
    maker = Rows(kitchen)
    row = maker.of_codes([code])[0]
    species = cuts.species(row.package.species) if row.package.species else None
    usual = usual_pack(cuts.cut(row.package.cut), species)
    like = [
        other.package.net_mg
        for other in maker.all(State.FROZEN)
        if other.package.net_mg is not None
        and other.package.cut == row.package.cut
        and other.package.form == row.package.form
        and other.package.packed_on == kitchen.today
    ]
    doubt = doubt_of(kitchen, net_mg, like, row.cut_name, usual)
    if doubt:
        raise OutOfLine(
            f"Not recorded: {doubt}. Weigh it again, or add --yes if the scale really says so.", doubts=[doubt]
        )
