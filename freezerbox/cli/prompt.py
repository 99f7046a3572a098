"""``freezerbox`` alone at a terminal: a code takes, words find, ``undo`` undoes."""

from __future__ import annotations

from freezerbox.book.door import told_plainly
from freezerbox.chores.find import find
from freezerbox.chores.move import looks_like_code
from freezerbox.chores.rotation import rotation
from freezerbox.chores.session import Session
from freezerbox.cli import reports
from freezerbox.cli.output import say
from freezerbox.cli.wiring import Front
from freezerbox.errors import FreezerboxError
from freezerbox.reading.lines import Asked, read_line


def prompt(front: Front) -> None:
    """Answer lines until the end."""
    kitchen = front.kitchen()
    try:
        session = Session(kitchen)
        say("A code takes a package out; words find; rotation says what to eat first; undo; done ends.")
        while True:
            try:
                raw = input("freezerbox: ")
            except (EOFError, KeyboardInterrupt):
                say()
                return
            line = read_line(raw)
            if line.asked is Asked.DONE:
                return
            if line.asked is Asked.NOTHING:
                continue
            try:
                with told_plainly(kitchen.book.path):
                    _answer(session, raw, line.text, undo=line.asked is Asked.UNDO)
            except FreezerboxError as error:
                say(error.message)
    finally:
        kitchen.book.close()


def _answer(session: Session, raw: str, text: str, *, undo: bool) -> None:
    if undo or looks_like_code(text):
        result = session.handle(raw)
        for line in reports.scan_lines(result) if result else ():
            say(line)
        return
    kitchen = session.kitchen.afresh()
    if text.lower() in ("rotation", "eat first", "eat-first"):
        for line in reports.rotation_lines(kitchen, rotation(kitchen)):
            say(line)
        return
    found = find(kitchen, text)
    for line in reports.found_lines(kitchen, found, gone=False):
        say(line)
