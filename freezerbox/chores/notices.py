"""Telling the people who have some: a page of plain words and a file for their own book, for each of them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from freezerbox.book.parts import plain
from freezerbox.chores.guidance import guidance
from freezerbox.chores.handover import as_text, handover
from freezerbox.chores.holding import Subject, find_subject
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.plain_file import refuse_taken
from freezerbox.chores.trace import Holder, who_has
from freezerbox.chores.wording import animal_words, count, holds_words, package_line
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.core.records import Animal, TestResult
from freezerbox.errors import BookTrouble
from freezerbox.food.tests import disease_of

_TOLD = {
    TestResult.DETECTED: "detected",
    TestResult.NOT_DETECTED: "not detected",
    TestResult.INCONCLUSIVE: "inconclusive, which is no answer yet",
}
_NOT_IN_A_NAME = re.compile(r"[^\w]+")


def write_notices(kitchen: Kitchen, code: str, folder: Path, *, yes: bool = False) -> tuple[Path, ...]:
    """Write a notice (``.txt``) and a file for the own book (``.json``) for everybody who has any of it.

    Returns the files, none when nobody has any.  Raises: UnknownRecord; InvalidCode; UnknownCode; OutOfLine when one
    of them is there already and not ``yes``, before any is written; BookTrouble when the folder cannot be written.
    """
    found = who_has(kitchen, code)
    subject = find_subject(kitchen, code)
    written: dict[Path, str] = {}
    for number, holder in enumerate(found, start=1):
        name = _NOT_IN_A_NAME.sub("-", holder.person.lower()).strip("-") or f"person-{number}"
        if folder / f"{name}.txt" in written:
            name = f"{name}-{number}"
        packages = [(one.row, one.number) for one in holder.exits]
        told = handover(kitchen, holder.person, packages, kitchen.today, notice=True)
        written[folder / f"{name}.txt"] = "\n".join(notice_lines(kitchen, subject, holder)) + "\n"
        written[folder / f"{name}.json"] = as_text(told)
    for file in () if yes else written:
        refuse_taken(file, "notice", done="sent")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for file, text in written.items():
            file.write_text(text, encoding="utf-8")
    except OSError as error:
        raise BookTrouble(f"{folder} cannot be written: {plain(error)}.") from error
    return tuple(written)


def notice_lines(kitchen: Kitchen, subject: Subject, holder: Holder) -> Sequence[str]:
    """What to tell one person: what he has, what is known of it now, and whose instructions to follow."""
    number = sum(one.number for one in holder.exits)
    held = [one for one in holder.exits if one.row.holds]
    lines = [f"To {holder.person or 'whom it was given'}", long_date(kitchen.today), ""]
    lines.append(f"We gave you {count(number, 'package')} with meat of {subject.words} in {_it(number)}:")
    for one in holder.exits:
        times = f" x{one.number}" if one.number > 1 else ""
        lines.append(
            f"  {show_code(one.row.code)}  {package_line(kitchen, one.row)}{times}, given {long_date(one.on)}"
        )
    lines.append("")
    lines.extend(_answers(subject.animals))
    if not held:
        lines.append("Nothing holds them now: no test is pending, and no hold of ours stands.")
        return lines
    why = "; ".join(dict.fromkeys(holds_words(one.row.holds, kitchen.today) for one in held))
    lines.append(f"We have {_it(len(held))} on hold: {why}.")
    if len(held) < len(holder.exits):
        lines.append(f"That is: {', '.join(show_code(one.row.code) for one in held)}.")
    lines.append("")
    lines.append("Please leave what there still is uneaten, and tell us what was eaten and when.")
    lines.append("If some has been eaten, you did nothing wrong. We tell you so that you know what we know.")
    if said := guidance(subject.animals):
        lines.extend(["", said])
    return lines


def _answers(animals: Sequence[Animal]) -> Iterator[str]:
    """What the tests of the animals said, a plain sentence each; nothing of those that wait."""
    for animal in animals:
        for test in animal.tests:
            if test.result_on is None or test.result not in _TOLD:
                continue
            disease = disease_of(test.what_for, animal.species) if test.what_for else None
            name = disease.name if disease else test.what_for
            what_for = f" for {name}" if name else ""
            yield (
                f"The test of {animal_words(animal)}{what_for} came back on {long_date(test.result_on)}: "
                f"{_TOLD[test.result]}."
            )
            if test.result is TestResult.DETECTED:
                yield "We are sorry that we must write this."


def _it(number: int) -> str:
    return "it" if number == 1 else "them"
