"""Dividing a record: a lot into singles or into two lots, and a pack of which some pieces were used."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from freezerbox.book import queries
from freezerbox.book.writer import Writer
from freezerbox.chores.header import whole_number
from freezerbox.chores.house import letter
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.late import after_all_else
from freezerbox.chores.move import find_target
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.several import with_all
from freezerbox.chores.take import ALLOWED_ON_HOLD, find_row, held_words, read_day, refuse_gone
from freezerbox.chores.units import units_of
from freezerbox.chores.wording import coded_line, count, of_lot_words, package_line, pieces_words, stay_words
from freezerbox.core.code import compact, show_code
from freezerbox.core.records import Package, Reason, State
from freezerbox.errors import Held, InputError, Refused

MOST_SINGLES = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """What a record became.  before: the one divided, as it is now.  rows: the new ones.  message: a line."""

    before: Row
    rows: tuple[Row, ...]
    message: str


@one_writer
def split_each(kitchen: Kitchen, text: str, *, request_id: str | None = None) -> Split:
    """Make single packages of a whole lot: each with its own code, the lot's days, weight and place.

    Raises: InvalidCode; UnknownCode; AlreadyGone; Refused for a single package or more than ``MOST_SINGLES``.
    """
    row = _lot(kitchen, text)
    number = row.package.state.quantity
    if number > MOST_SINGLES:
        raise Refused(f"{show_code(row.code)} stands for {number}; at most {MOST_SINGLES} become singles at once.")
    words = f"split lot {show_code(row.code)} into {number} singles"
    with kitchen.book.act("split", kitchen.today, request_id=request_id, words=words) as act:
        codes = [
            _part(kitchen, act, row, net_mg=row.package.net_mg, pieces=row.package.pieces) for _ in range(number)
        ]
        _less(act, row, number)
    message = (
        f"{coded_line(kitchen, row)}: {count(number, 'single package')} now. Print their labels: freezerbox label"
    )
    return _answer(kitchen, row, codes, message)


@one_writer
def split_off(
    kitchen: Kitchen,
    text: str,
    number: str,
    *,
    to: str = "",
    freezer: str = "",
    on: str = "",
    request_id: str | None = None,
) -> Split:
    """Part a lot in two: ``number`` of it under a new code, in another place when one is given.

    Raises: as ``split_each``; InputError for a number that is none or not less than the lot's; UnknownRecord.
    """
    row = _lot(kitchen, text)
    quantity = row.package.state.quantity
    wanted = whole_number(number, "packages", quantity - 1)
    target = find_target(kitchen, to, freezer) if to or freezer else None
    day = read_day(kitchen, on)
    after_all_else(kitchen, row, day, "split")
    where = f" to {target.words}" if target else ""
    done = f"moved{where}" if target else "split"
    words = f"split {wanted} off lot {show_code(row.code)}{where}"
    with kitchen.book.act("split", day, request_id=request_id, words=words) as act:
        state = row.package.state
        freezer_id = target.freezer.id if target else state.freezer_id
        place_id = (target.place.id if target.place else None) if target else state.place_id
        code = part_off(kitchen, act, row, wanted, freezer_id, place_id)
    message = f"{show_code(row.code)}  {done}: {package_line(kitchen, row)}{of_lot_words(row, wanted)}"
    return _answer(kitchen, row, [code], f"{message}, now {show_code(code)}{stay_words(row, wanted)}.")


def some_of_a_lot(kitchen: Kitchen, texts: Sequence[str]) -> tuple[str, str] | None:
    """The lot's code and the number that ``K7P-3MT 3``, ``K7P-3MT*3`` or ``K7P-3MT x3`` means.

    None for anything else.  The number is "" for all that the code stands for, since then nothing is parted.

    Raises: Refused for more than there is; InputError for a number that cannot be; as ``find_row``, AlreadyGone.
    """
    named = {place.name for place in queries.places(kitchen.book)}
    texts = texts if named.intersection([*texts[1:], " ".join(texts[1:])]) else with_all(kitchen, texts)
    code, number = units_of(texts[0]) if len(texts) == 1 else (texts[0], None)
    if number is None or queries.place_of_sign(kitchen.book, compact(code)) is not None:
        return None
    row = find_row(kitchen, code)
    refuse_gone(kitchen, row)
    quantity = row.package.state.quantity
    if not 1 <= number <= quantity:
        raise Refused(f"{show_code(row.code)} has {quantity} left, not {number}.", code=row.code)
    return code, str(number) if number < quantity else ""


def part_off(
    kitchen: Kitchen,
    act: Writer,
    row: Row,
    number: int,
    freezer_id: int | None,
    place_id: int | None,
    *,
    again: int = 0,
) -> str:
    """Write that ``number`` of a lot lie elsewhere under a code of their own; returns that code.

    ``again``: by how many the act has made the lot larger before.
    """
    code = _new_record(kitchen, act, row, net_mg=row.package.net_mg, pieces=row.package.pieces)
    act.move(code, state=State.FROZEN, freezer_id=freezer_id, place_id=place_id, delta=number)
    _less(act, row, number, again=again)
    return code


@one_writer
def split_take(
    kitchen: Kitchen,
    text: str,
    number: str,
    reason: Reason = Reason.EATEN,
    *,
    already_eaten: bool = False,
    weight_mg: int | None = None,
    on: str = "",
    request_id: str | None = None,
) -> Split:
    """Use some pieces of a pack: what is left gets a new label, the same days, and its share of the weight.

    The old record becomes the part that was used, so that what was packed is still what was used and what is left.
    ``weight_mg``: what is left, when it was weighed.

    Raises: InvalidCode; UnknownCode; AlreadyGone; Held; Refused when the pieces were never counted, or for a lot;
    InputError for a number that is none or not less than the pieces there are.
    """
    row = find_row(kitchen, text)
    refuse_gone(kitchen, row)
    package = row.package
    if package.state.state is State.SPARE or package.state.quantity != 1:
        raise Refused(
            f"{show_code(row.code)} is {'a lot' if package.state.quantity > 1 else 'a label printed ahead'}; only a "
            "single pack is used in part.",
            code=row.code,
        )
    if row.holds and reason not in ALLOWED_ON_HOLD and not already_eaten:
        raise Held(held_words(kitchen, row), code=row.code, holds=[hold.why for hold in row.holds])
    if package.pieces is None:
        raise Refused(
            f"{show_code(row.code)} says nothing of how many pieces are in it. Say so first: "
            f"freezerbox fix {show_code(row.code)} --pieces 4",
            code=row.code,
        )
    if package.pieces < 2:
        raise Refused(f"{show_code(row.code)} holds one piece; take it whole.", code=row.code)
    used = whole_number(number, "pieces", package.pieces - 1)
    left = package.pieces - used
    day = read_day(kitchen, on)
    again = after_all_else(kitchen, row, day, "used")
    left_mg = weight_mg if weight_mg is not None else _share(package, left)
    if package.net_mg is not None and left_mg is not None and left_mg >= package.net_mg:
        raise InputError(
            f"{kitchen.mass(left_mg)} left of {kitchen.mass(package.net_mg)}: that is all of it.", value=""
        )
    used_mg = None if package.net_mg is None or left_mg is None else package.net_mg - left_mg
    words = f"used {used} of {pieces_words(row)} of {coded_line(kitchen, row)}"
    with kitchen.book.act("split", day, request_id=request_id, words=words) as act:
        code = _part(kitchen, act, row, net_mg=left_mg, pieces=left)
        act.change("package", row.code, "pieces", package.pieces, used)
        if used_mg != package.net_mg:
            act.change("package", row.code, "net_mg", package.net_mg, used_mg)
        state = package.state
        act.move(
            row.code,
            state=State.GONE,
            reason=reason,
            freezer_id=state.freezer_id,
            place_id=state.place_id,
            delta=-1,
            again=again,
        )
    return _answer(
        kitchen, row, [code], f"{show_code(row.code)}  {used} of {package.pieces} used; what is left is "
        f"{show_code(code)}, {left} of {package.pieces}"
        + (f", {kitchen.mass(left_mg)}" if left_mg else "")
        + f". Label it: freezerbox label again {show_code(code)}",
    )  # fmt: skip


def _lot(kitchen: Kitchen, text: str) -> Row:
    row = find_row(kitchen, text)
    refuse_gone(kitchen, row)
    if row.package.state.state is not State.FROZEN or row.package.state.quantity < 2:
        raise Refused(
            f"{show_code(row.code)} is a single package, not a lot. To use part of it: "
            f"freezerbox split {show_code(row.code)} --take 2",
            code=row.code,
        )
    return row


def _share(package: Package, pieces: int) -> int | None:
    if package.net_mg is None or not package.pieces:
        return None
    return round(package.net_mg * pieces / package.pieces)


def _part(kitchen: Kitchen, act: Writer, row: Row, *, net_mg: int | None, pieces: int | None) -> str:
    code = _new_record(kitchen, act, row, net_mg=net_mg, pieces=pieces)
    state = row.package.state
    act.move(code, state=State.FROZEN, freezer_id=state.freezer_id, place_id=state.place_id, delta=1)
    return code


def _new_record(kitchen: Kitchen, act: Writer, row: Row, *, net_mg: int | None, pieces: int | None) -> str:
    """A record like ``row``'s under a new code; its lineage is the old one, so holds and animals follow."""
    package = row.package
    code = act.new_code("package", letter(kitchen))
    act.add(
        "package",
        code=code,
        cut=package.cut,
        form=package.form,
        species=package.species,
        other_words=package.other_words,
        net_mg=net_mg,
        typed="",
        pieces=pieces,
        packed_on=package.packed_on.isoformat(),
        first_frozen_on=package.first_frozen_on.isoformat(),
        times_frozen=package.times_frozen,
        wrap=package.wrap,
        seasoning=package.seasoning,
        fat_percent=package.fat_percent,
        added=package.added,
        owner=package.owner,
        reserved_for=package.reserved_for,
        note=package.note,
        batch=package.batch,
    )
    act.add("lineage", child=code, kind="package", name=package.code, mass_mg=net_mg)
    return code


def _less(act: Writer, row: Row, number: int, *, again: int = 0) -> None:
    """Take ``number`` off a lot: they go on under other codes."""
    state = row.package.state
    left = state.quantity + again - number
    act.move(
        row.code,
        state=State.FROZEN if left else State.GONE,
        reason=Reason.MADE_INTO,
        freezer_id=state.freezer_id,
        place_id=state.place_id,
        delta=-number,
    )


def _answer(kitchen: Kitchen, row: Row, codes: Sequence[str], message: str) -> Split:
    rows = Rows(kitchen.afresh())
    return Split(before=rows.of_codes([row.code])[0], rows=rows.of_codes(codes), message=message)
