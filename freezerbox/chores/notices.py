"""Telling the people who have some: a page of plain words and a file for their own book, for each of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from freezerbox.book.parts import plain
from freezerbox.chores.guidance import guidance
from freezerbox.chores.handover import as_text, handover
from freezerbox.chores.holding import Subject, find_subject
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.trace import Holder, who_has
from freezerbox.chores.wording import count, holds_words, package_line
from freezerbox.core.code import show_code
from freezerbox.core.dates import long_date
from freezerbox.errors import BookTrouble

_NOT_IN_A_NAME = re.compile(r"[^\w]+")


def write_notices(kitchen: Kitchen, code: str, folder: Path) -> tuple[Path, ...]:
    """Write a notice (``.txt``) and a file for the own book (``.json``) for everybody who has any of it.

    Returns the files, none when nobody has any.  Raises: UnknownRecord; InvalidCode; UnknownCode; BookTrouble when
    the folder cannot be written.
    """
    found = who_has(kitchen, code)
    subject = find_subject(kitchen, code)
    files: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for number, holder in enumerate(found, start=1):
            name = _NOT_IN_A_NAME.sub("-", holder.person.lower()).strip("-") or f"person-{number}"
            packages = [(one.row, one.number) for one in holder.exits]
            told = handover(kitchen, holder.person, packages, kitchen.today, notice=True)
            for file, text in (
                (folder / f"{name}.txt", "\n".join(notice_lines(kitchen, subject, holder)) + "\n"),
                (folder / f"{name}.json", as_text(told)),
            ):
                file.write_text(text, encoding="utf-8")
                files.append(file)
    except OSError as error:
        raise BookTrouble(f"{folder} cannot be written: {plain(error)}.") from error
    return tuple(files)


def notice_lines(kitchen: Kitchen, subject: Subject, holder: Holder) -> Sequence[str]:
    """What to tell one person: what he has, what is known of it now, and whose instructions to follow."""
    number = sum(one.number for one in holder.exits)
    held = [one for one in holder.exits if one.row.holds]
    lines = [f"To {holder.person or 'whom it was given'}", long_date(kitchen.today), ""]
    lines.append(f"You have had {count(number, 'package')} from us with meat of {subject.words} in {_it(number)}:")
    for one in holder.exits:
        times = f" x{one.number}" if one.number > 1 else ""
        lines.append(
            f"  {show_code(one.row.code)}  {package_line(kitchen, one.row)}{times}, given {long_date(one.on)}"
        )
    lines.append("")
    if not held:
        lines.append("Nothing holds them now: no test is pending, and no hold of ours stands.")
        return lines
    why = "; ".join(dict.fromkeys(holds_words(one.row.holds, kitchen.today) for one in held))
    lines.append(f"We have {_it(len(held))} on hold: {why}.")
    if len(held) < len(holder.exits):
        lines.append(f"That is: {', '.join(show_code(one.row.code) for one in held)}.")
    lines.append("Please leave what there still is uneaten, and tell us what was eaten and when.")
    if said := guidance(subject.animals):
        lines.append(said)
    return lines


def _it(number: int) -> str:
    return "it" if number == 1 else "them"
