"""Every refusal the program can make, as one tree.

::

    FreezerboxError                     kind              exit
    |- InputError                       input              2   wrong whatever the book holds
    |  |- InvalidMass                   mass               2   not a weight
    |  |- InvalidDate                   date               2   not a date, or one that cannot be
    |  |- InvalidCode                   code               2   not a code: length, letters or check character
    |  |- UnknownWord                   word               2   no such cut, form, species, ...; carries near words
    |  |- AmbiguousWord                 ambiguous          2   one word for several things; carries the choices
    |  |- FaultyFile                    file               2   a file with faults; carries every one of them
    |  `- InvalidTemplate               template           2   a stock or design file is wrong; carries every fault
    |- Refused                          refused            1   the book says no
    |  |- UnknownCode                   unknown-code       1   no such package in this book
    |  |- UnknownRecord                 unknown-record     1   no such animal, place, freezer, person
    |  |- AlreadyGone                   already-gone       1   the package left the freezer earlier
    |  |- Held                          held               1   the package is on hold
    |  |- Twin                          twin               1   that animal code or name exists already
    |  |- OutOfLine                     out-of-line        1   a doubtful value, accepted only with --yes
    |  `- CannotUndo                    cannot-undo        1   later acts stand on it, or nothing to undo
    |- LabelDoesNotFit                  label              1   a field that must be on the label does not fit
    |- LabelUnreadable                  label-unreadable   3   a drawn symbol did not read back
    `- BookTrouble                      book               3   the book or the machine could not; nothing changed
       |- NoBook                        no-book            3   there is no book yet
       |- NewerBook                     newer-book         3   the book was written by a later program
       |- BookBusy                      book-busy          3   another program holds the book
       |- PrinterTrouble                printer            3   not printed: no such printer, off, empty, cancelled
       `- ScaleTrouble                  scale              3   no steady weight: no scale, nothing on it, a fault

A message says what is wrong, shows the value, and says what would be right.  Attributes carry the same facts,
so that a program need not read the sentence.
"""

from __future__ import annotations

from collections.abc import Sequence


class FreezerboxError(Exception):
    """Base of every refusal; ``kind`` names it in JSON, ``exit_code`` is the status it ends the program with."""

    kind = "error"
    exit_code = 1

    def __init__(self, message: str, **facts: object) -> None:
        super().__init__(message)
        self.message = message
        self.facts = facts


class InputError(FreezerboxError, ValueError):
    """What was typed or scanned is wrong whatever the book holds."""

    kind = "input"
    exit_code = 2


class InvalidMass(InputError):
    """Not a weight."""

    kind = "mass"


class InvalidDate(InputError):
    """Not a date, or a date that cannot be."""

    kind = "date"


class InvalidCode(InputError):
    """Not a package code."""

    kind = "code"


class UnknownWord(InputError):
    """A word the tables do not know; ``near`` holds close ones."""

    kind = "word"

    def __init__(self, message: str, *, word: str, near: Sequence[str] = (), **facts: object) -> None:
        super().__init__(message, word=word, near=list(near), **facts)
        self.word = word
        self.near = tuple(near)


class AmbiguousWord(InputError):
    """A word that stands for several things; ``choices`` holds what to type instead, with its plain meaning."""

    kind = "ambiguous"

    def __init__(self, message: str, *, word: str, choices: Sequence[tuple[str, str]], **facts: object) -> None:
        super().__init__(message, word=word, choices=[list(choice) for choice in choices], **facts)
        self.word = word
        self.choices = tuple(choices)


class FaultyFile(InputError):
    """A file with faults; ``faults`` holds a sentence for each."""

    kind = "file"

    def __init__(self, message: str, *, faults: Sequence[str] = (), **facts: object) -> None:
        # A fault may quote a cell of a hundred thousand characters; its two ends are enough to find it.
        faults = [fault if len(fault) <= 600 else f"{fault[:300]} ... {fault[-200:]}" for fault in faults]
        # What a fault lists under itself stands further in than the faults do.
        shown = ("  " + fault.replace("\n", "\n  ") for fault in faults)
        super().__init__("\n".join([message, *shown]), faults=faults, **facts)
        self.faults = tuple(faults)


class InvalidTemplate(FaultyFile):
    """A stock or design file is wrong."""

    kind = "template"


class Refused(FreezerboxError):
    """The book says no."""

    kind = "refused"


class UnknownCode(Refused):
    """No package of this code in this book."""

    kind = "unknown-code"


class UnknownRecord(Refused):
    """No such animal, place, freezer or person in this book."""

    kind = "unknown-record"


class AlreadyGone(Refused):
    """The package left the freezer earlier."""

    kind = "already-gone"


class Held(Refused):
    """The package is on hold."""

    kind = "held"


class Twin(Refused):
    """That animal code or name exists already."""

    kind = "twin"


class OutOfLine(Refused):
    """A doubtful value, accepted only when a person says so."""

    kind = "out-of-line"


class CannotUndo(Refused):
    """There is nothing to undo, or later acts stand on it."""

    kind = "cannot-undo"


class LabelDoesNotFit(FreezerboxError):
    """A field that must be on the label does not fit; ``field`` names it, ``stocks`` paper that has room for it."""

    kind = "label"

    def __init__(self, message: str, *, field: str, stocks: Sequence[str] = (), **facts: object) -> None:
        super().__init__(message, field=field, stocks=list(stocks), **facts)
        self.field = field
        self.stocks = tuple(stocks)


class LabelUnreadable(FreezerboxError):
    """A drawn symbol did not read back as what it should say."""

    kind = "label-unreadable"
    exit_code = 3


class BookTrouble(FreezerboxError):
    """The book or the machine could not; nothing changed, but for what was ``recorded`` before, or is ``unsure``."""

    kind = "book"
    exit_code = 3
    recorded = False
    unsure = False


class NoBook(BookTrouble):
    """There is no book at the place looked at."""

    kind = "no-book"


class NewerBook(BookTrouble):
    """The book was written by a later program than this one."""

    kind = "newer-book"


class BookBusy(BookTrouble):
    """Another program holds the book."""

    kind = "book-busy"


class PrinterTrouble(BookTrouble):
    """Labels were not printed; ``state`` says how far it came."""

    kind = "printer"

    def __init__(self, message: str, *, state: str, **facts: object) -> None:
        super().__init__(message, state=state, **facts)
        self.state = state


class ScaleTrouble(BookTrouble):
    """The scale gave no weight; type it instead."""

    kind = "scale"
