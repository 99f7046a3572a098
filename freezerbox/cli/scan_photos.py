"""``freezerbox scan --photo``: what photographs show, and taking it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from freezerbox.chores import wording
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.scan import Seen, check_show, look_at_photos
from freezerbox.cli import reports
from freezerbox.cli.looking import looking
from freezerbox.cli.options import ask
from freezerbox.cli.output import note, paragraph, say, say_json
from freezerbox.cli.wiring import at_terminal
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
    codes = list(dict.fromkeys(one.code for _, found in seen for one in found if one.code))
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
        report: dict[str, object] = {"photos": reports.photos_json(seen)}
        if take:
            report["scans"] = [reports.scan_json(one) for one in scans]
        report["refused"] = [{"file": str(file), "why": why.message} for file, why in bad]
        report["shown"] = [{"file": str(file), "drawn": str(to)} for file, to in drawn]
        say_json(report)
    else:
        for scanned in scans:
            for line in reports.scan_lines(scanned):
                say(line)
        if codes and not take:
            say("Only looked; nothing changed. With --take they are taken.")
    for _, why in bad:
        note(why.message)
    if bad:
        raise typer.Exit(1)


def _photo_lines(kitchen: Kitchen, seen: Seen) -> Iterator[str]:
    for file, found in seen:
        yield f"{file.name}: {wording.count(len(found), 'label')}" if found else f"{file.name}: no label reads"
        for one in found:
            yield f"  {reports.photo_words(kitchen, one)}"
    if not all(found for _, found in seen):
        yield paragraph(
            "Where none reads: wipe the frost off, go nearer, give it light from the side, and hold still. Or type "
            "the code that stands on the label.",
            hang="  ",
        )
