"""Records in plain words, the same at the terminal and on the phone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from freezerbox.book.origins import Batch
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import SEAL_LOST, Row, Totals, totals
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date, month_year, short_date
from freezerbox.core.lineage import is_result, says_detected
from freezerbox.core.records import Animal, Hold, Package, Reason, State
from freezerbox.food import cuts, uses

HELD_WORDS = "DO NOT EAT"
PULLED = "pulled and discarded"

_GONE = {
    Reason.EATEN: "eaten",
    Reason.GIVEN: "given away",
    Reason.DISCARDED: "discarded",
    Reason.MADE_INTO: "made into something else",
    Reason.CANNED: "canned",
    Reason.FED_TO_DOG: "fed to the dog",
    Reason.LOST: "marked lost",
    Reason.VOID: "void",
    Reason.MOVED_OUT: "moved out",
}


def way_words(reason: Reason) -> str:
    """How packages left, in words: ``discarded``, ``made into something else``."""
    return _GONE[reason]


def left_words(reason: Reason, person: str = "") -> str:
    """How one left, and to whom: ``eaten``, ``given to Sister``."""
    return reason.value.replace("-", " ") + (f" to {person}" if person else "")


def count(number: int, singular: str, plural: str | None = None) -> str:
    """``1 package``, ``14 packages``."""
    return f"{number:,} {singular if number == 1 else plural or singular + 's'}"


def packs_and_weight(kitchen: Kitchen, sums: Totals, noun: str = "pack") -> str:
    """``4 packs, 3.60 lb``; packages without a weight are said, never counted as 0."""
    words = count(sums.packages, noun)
    if sums.unweighed == sums.packages:
        return f"{words}, weight not known" if sums.packages else words
    words += f", {kitchen.mass(sums.net_mg)}"
    return f"{words} and {sums.unweighed} not weighed" if sums.unweighed else words


def packs_and_held(kitchen: Kitchen, rows: Sequence[Row]) -> str:
    """``6 packs, 6.00 lb; besides, HELD: 2 packs, 2.00 lb``: what is held is said apart from what may be eaten."""
    free, held = [row for row in rows if not row.holds], [row for row in rows if row.holds]
    parts = [packs_and_weight(kitchen, totals(free))] if free or not held else []
    if held:
        parts.append(f"{'besides, ' if free else ''}HELD: {packs_and_weight(kitchen, totals(held))}")
    return "; ".join(parts)


def on_hold_words(kitchen: Kitchen, held: Totals) -> str:
    """``, and 4 on hold (3.60 lb)``; "" for none."""
    if not held.packages:
        return ""
    weight = "" if held.unweighed == held.packages else f" ({kitchen.mass(held.net_mg)})"
    return f", and {held.packages:,} on hold{weight}"


def for_words(package: Package) -> str:
    """What it is set aside for: ``for Sunday``, ``to grind later``; "" for nothing."""
    kept_for = package.reserved_for
    return uses.making(kept_for, cuts.cut(package.cut)) or (f"for {kept_for}" if kept_for else "")


def is_reserved(package: Package) -> bool:
    """Whether it is set aside for a meal, a day or somebody; what waits to be ground or smoked is not."""
    return bool(package.reserved_for) and not uses.making(package.reserved_for, cuts.cut(package.cut))


def animal_words(animal: Animal) -> str:
    """``whitetail doe 26B``, ``half hog 26H``."""
    name = animal.what or _lower_first(cuts.species(animal.species).label_name)
    return " ".join(part for part in (name, animal.sex_age, animal.code) if part)


def _lower_first(name: str) -> str:
    return name[:1].lower() + name[1:]


def batch_words(batch: Batch) -> str:
    """``batch G26-1, Anna's summer sausage``; its code alone where it has no recipe."""
    recipe = f", {batch.recipe}" if batch.recipe else ""
    return f"batch {batch.code}{recipe}"


def animals_words(animals: Sequence[Animal]) -> str:
    """The animals in a package, with ``and`` between them."""
    return " and ".join(animal_words(animal) for animal in animals)


def origin_words(row: Row) -> str:
    """Animal or species of a package; "" when neither is known."""
    if not row.animals:
        return row.species_name
    return animals_words(row.animals)


def pieces_words(row: Row) -> str:
    """``4 chops``; "" when not counted."""
    pieces = row.package.pieces
    if not pieces:
        return ""
    return f"{pieces} {piece_noun(row.package, pieces)}"


def piece_noun(package: Package, pieces: int) -> str:
    """The word for one piece of a package's cut, or for several."""
    return cuts.piece_word(cuts.cut(package.cut), cuts.form(package.form) if package.form else None, pieces)


def seal_words(row: Row) -> str:
    """``seal let go``; "" when it did not."""
    return "seal let go" if row.package.wrap == SEAL_LOST else ""


def fat_words(percent: int | None) -> str:
    """``plain``, ``20% fat``; "" when not said."""
    if percent is None:
        return ""
    return "plain, no fat added" if percent == 0 else f"{percent}% fat"


def hold_words(hold: Hold, today: date) -> str:
    """``test pending since 21 Nov``, ``test result: detected on 5 Dec``."""
    # A wait goes on; a result came on a day.
    when = "on" if is_result(hold) else "since"
    return f"{hold.why} {when} {short_date(hold.since, today=today)}"


def holds_words(holds: Iterable[Hold], today: date) -> str:
    """All the holds of a package."""
    return "; ".join(dict.fromkeys(hold_words(hold, today) for hold in holds))


def gone_words(row: Row, today: date) -> str:
    """``eaten on 12 Jan``, ``pulled and discarded on 6 Dec``."""
    state = row.package.state
    how = _GONE[state.reason] if state.reason else "gone"
    if was_pulled(row, state.reason, state.since):
        how = PULLED
    return f"{how} on {short_date(state.since, today=today)}"


def was_pulled(row: Row, reason: Reason | None, on: date) -> bool:
    """Whether a package that left so on that day was pulled: discarded once a test of its meat said detected."""
    return reason is Reason.DISCARDED and any(says_detected(hold) and hold.since <= on for hold in row.holds)


def now_words(row: Row, today: date) -> str:
    """Where a package is now: its place, how it went, or that its label still waits for one."""
    state = row.package.state
    if state.state is State.SPARE:
        return "label printed ahead, nothing weighed yet"
    return gone_words(row, today) if state.state is State.GONE else row.where or "in the freezer"


def package_line(kitchen: Kitchen, row: Row) -> str:
    """``Backstrap half, whitetail doe 26B, 0.95 lb``: a package in a line, without its code."""
    parts = [row.cut_name, origin_words(row)]
    if row.package.net_mg is not None:
        parts.append(kitchen.mass(row.package.net_mg))
    return ", ".join(part for part in parts if part)


def coded_line(kitchen: Kitchen, row: Row) -> str:
    """``K7P-3MT  Backstrap half, whitetail doe 26B, 0.95 lb``."""
    return f"{show_code(row.code)}  {package_line(kitchen, row)}"


def of_lot_words(row: Row, number: int) -> str:
    """``, 2 of them``: how many of a lot something was done to, ``row`` as it was before; "" of a single package."""
    return f", {number} of them" if row.package.state.quantity > 1 else ""


def stay_words(row: Row, number: int) -> str:
    """``. 3 left``, or ``. None left``: what is there of a lot without ``number`` of it; "" of a single package."""
    quantity = row.package.state.quantity
    return f". {quantity - number or 'None'} left" if quantity > 1 else ""


def age_words(months: int) -> str:
    """``14 months``, ``this month``."""
    return "under a month" if months < 1 else count(months, "month")


def best_by_words(row: Row) -> str:
    """``best by Nov 2027``, or that there is no figure."""
    if row.best_by is None:
        return "no keeping figure"
    words = f"best by {long_date(row.best_by)}"
    if row.from_frozen:
        words += f", made of meat frozen {month_year(row.package.first_frozen_on).title()}"
    return words
