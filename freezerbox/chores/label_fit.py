"""What to say of labels that have no room for their words, whose file is taken, whose sheet is begun, that are moved
far, or that the book cannot note.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from freezerbox.chores.plain_file import refuse_taken
from freezerbox.chores.rows import Row
from freezerbox.core.code import show_code
from freezerbox.errors import BookTrouble, FreezerboxError, LabelDoesNotFit
from freezerbox.labels.ruler import WHITE_MM
from freezerbox.labels.sheet import file_names
from freezerbox.labels.stock import Stock

_CURES = {"seasoning": '--seasoning "fewer words"', "cut": '--cut "other fewer words"'}
_NAMES = {"cut": "name", "animal": "line of the animal", "hold": "hold", "banners": "line of what must be said"}


def unprinted(row: Row, why: LabelDoesNotFit) -> LabelDoesNotFit:
    """The refusal of one label, with its code, the words that are too long, and the cures."""
    code, name = show_code(row.code), _NAMES.get(why.field, why.field)
    own_words = why.field == "seasoning" or (why.field == "cut" and bool(row.package.other_words))
    cures = [f"  freezerbox fix {code} {_CURES[why.field]}"] if own_words else []
    if kind := why.facts.get("design"):
        cures.append(f"  freezerbox label again {code} --stock {why.facts['stock']} --design {kind}")
    cures += [f"  freezerbox label again {code} --stock {stock}" for stock in why.stocks[:1]]
    if why.stocks[1:]:
        cures.append(f"  It fits on {' and '.join(why.stocks[1:])} too.")
    words, paper = str(why.facts.get("value", "")), why.facts.get("title", why.facts.get("stock"))
    start = f"No label for {code} {row.cut_name}: its {name} {words!r} is too long for this label, {paper}"
    others = why.facts.get("beside")
    beside = f", beside {', '.join(others)}" if isinstance(others, tuple) and others else ""
    message = "\n".join([f"{start}{beside}.", *cures])
    return LabelDoesNotFit(message, field=why.field, stocks=why.stocks, code=row.code, value=why.facts.get("value"))


def refused_words(refused: Sequence[tuple[str, LabelDoesNotFit]]) -> tuple[str, ...]:
    """What to say of them all: those of one run, with the same words, are told once."""
    alike: dict[tuple[str, object], list[LabelDoesNotFit]] = {}
    for _, why in refused:
        alike.setdefault((why.field, why.facts.get("value")), []).append(why)
    told = []
    for whys in alike.values():
        others = ", ".join(show_code(str(why.facts["code"])) for why in whys[1:])
        told.append(whys[0].message + (f"\n  The same of {others}." if others else ""))
    return tuple(told)


def none_fits(refused: Sequence[tuple[str, LabelDoesNotFit]]) -> LabelDoesNotFit:
    """The refusal when nothing is printed, with what is to be said of every label."""
    code, first = refused[0]
    message = "\n".join([*refused_words(refused), "Nothing was printed."])
    codes = [one for one, _ in refused]
    return LabelDoesNotFit(message, field=first.field, stocks=first.stocks, code=code, codes=codes)


def refuse_to_write_over(to: Path, pages: int) -> None:
    """Raises: OutOfLine when a file is there already: its labels may not be printed yet."""
    for path in file_names(to, pages):
        refuse_taken(path, "labels")


@contextmanager
def noted(files: Sequence[Path]) -> Iterator[None]:
    """What is done inside notes the labels in ``files``; when that fails the files go, or are said to be there.

    They stay where the labels may be noted all the same.
    """
    try:
        yield
    except Exception as error:
        if isinstance(error, BookTrouble) and (error.unsure or error.recorded):
            raise
        left = []
        for file in files:
            try:
                file.unlink(missing_ok=True)
            except OSError:
                left.append(repr(str(file)))
        if left and isinstance(error, FreezerboxError):
            error.message += f"\nThe labels are in {', '.join(left)} all the same; they do not count as printed."
        raise


def begun_words(start: int, begun: int) -> str:
    """Which sheet the labels are drawn for, when one is begun and nobody said which; "" when none is.

    start: slot of the first label.  begun: the next free one of the begun sheet.
    """
    if begun == 1:
        return ""
    if start == begun:
        return f"For the sheet that is begun, from its label {begun} on; on a fresh one: --start-at 1"
    return f"For a fresh sheet. One is begun, and free from its label {begun} on: --start-at {begun}"


def shift_words(across: float, below: float) -> str:
    """Which way labels are moved, in mm: ``5 mm left and 0.5 mm down``; "" when they are not."""
    ways = ((across, "right" if across > 0 else "left"), (below, "down" if below > 0 else "up"))
    return " and ".join(f"{abs(round(mm, 2)):g} mm {way}" for mm, way in ways if round(mm, 2))


def moved_far(paper: Stock) -> bool:
    """Whether labels are moved by more than the white at their edge."""
    return max(abs(paper.shift_x_mm), abs(paper.shift_y_mm)) > WHITE_MM


def far_words(paper: Stock) -> str:
    """What to say of labels that are moved far; "" of others."""
    if not moved_far(paper):
        return ""
    return (
        f"Labels on {paper.name} are moved {shift_words(paper.shift_x_mm, paper.shift_y_mm)}, more than the "
        f"{WHITE_MM:g} mm that they keep white at the edge: words or symbols may be cut. To move them no more: "
        f"freezerbox label stock test {paper.name} --none"
    )
