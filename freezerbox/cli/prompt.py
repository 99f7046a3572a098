"""``freezerbox`` alone at a terminal: a code takes, words find, ``undo`` undoes.

Only what a typed line needs is brought in, since the first one is typed at the open freezer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from freezerbox.book.door import told_plainly
from freezerbox.chores import scanner
from freezerbox.chores.kitchen import Kitchen
from freezerbox.cli.output import paragraph, say, table
from freezerbox.cli.wiring import Front
from freezerbox.core.cards import read_test
from freezerbox.core.code import looks_like_code
from freezerbox.errors import FreezerboxError
from freezerbox.reading.lines import Asked, read_line

if TYPE_CHECKING:
    from freezerbox.chores.session import Session

PROMPT = "freezerbox: "
_ROTATION = ("rotation", "eat first", "eat-first")
_HELP = ("help", "?", "h", "--help")
_PROGRAM = "freezerbox"
_TYPED = (
    ("K7P-3MT", "a code: that package is taken out; K7P-3MT*2 two of a lot"),
    ("backstrap", "words: do we have any, and where; also 26B, red bag, ground nov 2025"),
    ("rotation", "what to eat first"),
    ("undo", "takes back the last thing done here"),
    ("freezerbox ...", "any command, as it stands in a message: freezerbox put-back K7P-3MT"),
    ("help or ?", "this list"),
    ("done", "ends; so does Ctrl-D"),
)


@dataclass
class _Prompt:
    """What the prompt works with.  session: None until the first code is typed."""

    front: Front
    kitchen: Kitchen
    session: Session | None = None

    def ends(self, raw: str) -> bool:
        """Whether a line ends it: the word, or the card DONE while no other card's mode is on."""
        if read_line(raw).asked is Asked.DONE:
            return True
        done = scanner.read(self.kitchen.afresh(), raw).asked is Asked.DONE
        return done and (self.session is None or self.session.ends(Asked.DONE))

    def lines(self, raw: str) -> Iterator[str]:
        """The answer to a line.  Raises: FreezerboxError."""
        line = scanner.read(self.kitchen.afresh(), raw)
        words = line.text.lower().split()
        if line.asked is Asked.NOTHING:
            return
        if " ".join(words) in _HELP:
            yield from help_lines()
        elif words[:1] == [_PROGRAM]:
            self._command(line.text)
        elif line.asked in (Asked.UNDO, Asked.DONE) or read_test(raw) is not None or looks_like_code(line.text):
            yield from self._scan(raw)
        elif code := _some_of_a_lot(line.text):
            yield from self._scan(code)
        elif " ".join(words) in _ROTATION:
            from freezerbox.chores.rotation import rotation
            from freezerbox.cli.reports import rotation_lines

            kitchen = self.kitchen.afresh()
            yield from rotation_lines(kitchen, rotation(kitchen))
        else:
            from freezerbox.chores.find import find
            from freezerbox.cli.reports import found_lines

            kitchen = self.kitchen.afresh()
            yield from found_lines(kitchen, find(kitchen, line.text), gone=False)

    def _scan(self, raw: str) -> Iterator[str]:
        from freezerbox.chores.session import Session
        from freezerbox.cli.reports import scan_lines

        self.session = self.session or Session(self.kitchen)
        result = self.session.handle(raw)
        yield from scan_lines(result) if result else ()

    def _command(self, text: str) -> None:
        """A command as messages propose it, on the same book, day and name; it speaks for itself."""
        import shlex

        from freezerbox.cli.main import run

        try:
            arguments = shlex.split(text)[1:]
        except ValueError:
            say('A quotation mark is missing: write it as "red bag".')
            return
        if arguments:
            run([*self.front.arguments(), *arguments])
        else:
            say("You are there already; help says what can be typed.")


def _some_of_a_lot(text: str) -> str:
    """``K7P-3MT*2`` for that or for ``K7P-3MT 2``; "" for anything else."""
    if not any(character.isdigit() for character in text):
        return ""
    from freezerbox.chores.units import names_package, with_numbers

    if names_package(text):
        return text
    code, *more = with_numbers(text.rsplit(maxsplit=1))
    return code if not more and names_package(code) else ""


def prompt(front: Front) -> None:
    """Answer lines until the end."""
    kitchen = front.kitchen()
    try:
        answers = _Prompt(front=front, kitchen=kitchen)
        say(paragraph("A code takes a package out; words find; rotation; undo; help says more; done ends."))
        while True:
            try:
                raw = input(PROMPT)
            except (EOFError, KeyboardInterrupt):
                say()
                return
            try:
                with told_plainly(kitchen.book.path):
                    if answers.ends(raw):
                        return
                    for line in answers.lines(raw):
                        say(line)
            except FreezerboxError as error:
                say(error.message)
    finally:
        kitchen.book.close()


def help_lines() -> Iterator[str]:
    """What can be typed at the prompt."""
    yield "What can be typed here:"
    yield from table(_TYPED, indent=2)
    yield "All commands: freezerbox --help"
