"""``freezerbox scan --photo``: what photographs show, and taking it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from freezerbox.book import queries
from freezerbox.chores import wording
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Rows
from freezerbox.chores.scan import PhotoCode, Seen, check_show, look_at_photos
from freezerbox.chores.sign_words import unused_words
from freezerbox.cli import reports
from freezerbox.cli.looking import looking
from freezerbox.cli.options import ask
from freezerbox.cli.output import note, paragraph, say, say_json
from freezerbox.cli.wiring import at_terminal
from freezerbox.core.cards import CARDS
from freezerbox.core.code import show_code
from freezerbox.errors import InputError

if TYPE_CHECKING:
    from freezerbox.chores.session import Session


def scan_photos(
    kitchen: Kitchen,
    session: Session,
    files: Sequence[Path],
    *,
    take: bool,
    yes: bool,
    show: Path | None,
    as_json: bool,
) -> None:
    """Say what the photographs show, and with ``take`` take it; those that cannot be opened are said at the end.

    Raises: InputError when none can be opened, or several would be taken and nobody said yes; as check_show; Exit
    with 1 when one could not be opened.
    """
    if show:
        check_show(show, files, write_over=yes)
    # One photograph that cannot be opened does not keep the others from being read.
    bad: list[tuple[Path, InputError]] = []
    drawn: list[tuple[Path, Path]] = []
    with looking(len(files)):
        seen = look_at_photos(
            kitchen,
            files,
            show=show,
            no_picture=lambda file, why: bad.append((file, why)),
            drawn=lambda file, to: drawn.append((file, to)),
        )
    if not seen:
        raise bad[0][1]
    codes = list(dict.fromkeys(one.code for _, found in seen for one in found if one.code and one.on == "label"))
    # Said as each is before any is taken: afterwards it would seem to have been gone already.
    for line in () if as_json else _photo_lines(kitchen, seen):
        say(line)
    for file, to in () if as_json else drawn:
        say(f"{to}: what was read where in {file.name}")
    scans = []
    if take and codes:
        if len(codes) > 1 and not yes:
            shown = ", ".join(show_code(code) for code in codes)
            if not (at_terminal() and ask(f"{len(codes)} packages: {shown}. Mark all as {session.reason}?")):
                raise InputError(
                    f"The photograph shows {len(codes)} packages: {shown}. Nothing changed; --yes takes them all.",
                    codes=codes,
                )
        scans = [session.code(code) for code in codes]
    if as_json:
        report: dict[str, object] = {"photos": _photos_json(seen)}
        if take:
            report["scans"] = [reports.scan_json(one) for one in scans]
        report["refused"] = [{"file": str(file), "why": why.message} for file, why in bad]
        report["shown"] = [{"file": str(file), "drawn": str(to)} for file, to in drawn]
        say_json(report)
    else:
        for scanned in scans:
            for line in reports.scan_lines(scanned):
                say(line)
        gone = [show_code(one.row.code) for one in scans if one.row and one.row.package.state.state == "gone"]
        if len(gone) > 1:  # each is an act of its own, and undo takes back the last alone
            say(paragraph(f"Was that wrong? All back in: freezerbox put-back {' '.join(gone)}", hang="  "))
        if codes and not take:
            say("Only looked; nothing changed. With --take they are taken.")
    for _, why in bad:
        note(why.message)
    if bad:
        raise typer.Exit(1)


def _photo_lines(kitchen: Kitchen, seen: Seen) -> Iterator[str]:
    for file, found in seen:
        yield f"{file.name}: {_counted(found) or 'no label reads'}"
        for one in found:
            yield f"  {_words(kitchen, one)}"
    if not all(_counted(found) for _, found in seen):
        yield paragraph(
            "Where none reads: wipe the frost off, go nearer, give it light from the side, and hold still. Or type "
            "the code that stands on the label.",
            hang="  ",
        )


def _counted(found: Sequence[PhotoCode]) -> str:
    """How many labels, signs and cards; "" when there is none of ours."""
    numbers = {thing: sum(one.on == thing for one in found) for thing in ("label", "sign", "card")}
    return ", ".join(wording.count(number, thing) for thing, number in numbers.items() if number)


def _photos_json(seen: Sequence[tuple[Path, Sequence[PhotoCode]]]) -> list[dict[str, object]]:
    """Photographs of the JSON contract."""
    return [{"file": str(file), "codes": [_photo_code_json(one) for one in found]} for file, found in seen]


def _photo_code_json(one: PhotoCode) -> dict[str, object]:
    symbol = one.symbol
    return {
        "code": one.code,
        "symbol": symbol.symbology,
        "on": one.on,
        "labels": one.labels,
        "how": symbol.how,
        "text": symbol.text,
        "likeness": symbol.likeness,
        "corners": [[round(x), round(y)] for x, y in symbol.position],
    }


def _words(kitchen: Kitchen, one: PhotoCode) -> str:
    """What a photograph shows, in a line."""
    if one.on == "card":
        said = f"{CARDS[one.code].value.upper()} card" if one.code else f"card {one.symbol.text!r}"
        return f"{said}: for a scanner, not for photographs"
    if one.code is None:
        return f"{one.symbol.text!r}: not one of our labels"
    if one.on == "sign":
        return _sign_words(kitchen, one.code)
    package = queries.package(kitchen.book, one.code)
    if package is None:
        return f"{show_code(one.code)}: not in this book"
    row = Rows(kitchen).row(package)
    state = "" if package.state.state == "frozen" else f" - {wording.now_words(row, kitchen.today)}"
    held = f" - HELD: {wording.holds_words(row.holds, kitchen.today)}" if row.holds else ""
    matched = " - recognised through frost" if one.symbol.how == "matched" else ""
    twice = f" - on {one.labels} labels" if one.labels > 1 else ""
    return wording.coded_line(kitchen, row) + state + held + matched + twice


def _sign_words(kitchen: Kitchen, code: str) -> str:
    place = queries.place_of_sign(kitchen.book, code)
    if place is not None:
        return f"{show_code(code)}  sign of {place.name}, {place.freezer}"
    known = queries.code_kind(kitchen.book, code) == "place"
    return unused_words(kitchen, code) if known else f"{show_code(code)}: a sign that is not in this book"
