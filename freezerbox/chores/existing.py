"""Starting with a full freezer: basket by basket, a line for what lies in it; ``ground, 12, 1.25, nov 2024``."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from freezerbox.book import journal, queries
from freezerbox.chores.header import Words, find_place, species_here, whole_number
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pack import MOST_IN_A_RUN, Packed, prepare, write
from freezerbox.chores.places import add_place
from freezerbox.chores.undo import target, undo
from freezerbox.chores.units import MOST_OF_A_LOT
from freezerbox.errors import InputError, UnknownRecord

_NUMBER_FIRST = re.compile(r"(?P<many>[0-9]{1,4}) *x? +(?P<cut>[^0-9].*)")
_NUMBER_LAST = re.compile(r"(?P<cut>.*[^0-9 ]) +x?(?P<many>[0-9]{1,4})")


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A line that was kept.

    line: as it was typed.  place: the basket.  words: what it came to.  act: its number.  packages: how many.
    before: what the line before it said of the month.
    """

    line: str
    place: str
    words: str
    act: int
    packages: int
    before: str


@dataclass
class Stocktaking:
    """Entering what is there: the basket at hand, what the line before said of the day, and the lines kept."""

    kitchen: Kitchen
    freezer: str = ""
    place: str = ""
    frozen: str = ""
    kept: list[Kept] = field(default_factory=list)

    @property
    def entered(self) -> int:
        """How many packages the lines kept came to."""
        return sum(one.packages for one in self.kept)

    def basket(self, name: str) -> tuple[str, bool]:
        """Go on with a basket, added when it is new; returns its name, and whether it is.

        Raises: what ``add_place`` raises.
        """
        try:
            self.place = find_place(self.kitchen, name, self.freezer, whole=True).name
        except UnknownRecord:
            self.place = add_place(self.kitchen.afresh(), name, self.freezer).name
            return self.place, True
        return self.place, False

    def line(self, text: str) -> Packed:
        """Record a line: cut, how many, weight of each, month it was frozen; all but the cut may be left out.

        ``12 ground`` and ``ground 12`` say how many too.  ``lot`` before the cut makes one record of them.  A month
        not said is the one of the line before.

        Raises: InputError, UnknownWord, AmbiguousWord, InvalidMass, InvalidDate; OutOfLine for a doubtful weight.
        """
        cells = [cell.strip() for cell in text.split(",")]
        # Said in one breath: "12 ground", "ground 12".
        match = _NUMBER_FIRST.fullmatch(cells[0])
        if match is None and len(cells) == 1:
            match = _NUMBER_LAST.fullmatch(cells[0])
        if match is not None:
            cells[:1] = [match["cut"], match["many"]]
        if len(cells) > 4:
            raise InputError(
                f"{text!r} has {len(cells)} parts. Write: cut, how many, weight of each, month - such as "
                "ground, 12, 1.25, nov 2024",
                value=text,
            )
        cut, number, weight, frozen = (*cells, "", "", "")[:4]
        lot = cut.lower().startswith("lot ")
        many = whole_number(number, "packages", MOST_OF_A_LOT if lot else MOST_IN_A_RUN) if number else 1
        kitchen = self.kitchen.afresh()
        frozen = frozen or self.frozen
        words = Words(
            cut=cut[4:].strip() if lot else cut,
            place=self.place,
            freezer=self.freezer,
            first_frozen=frozen,
        )
        weights = [weight or "x"] * (1 if lot else many)
        run = prepare(kitchen, words, weights, quantity=many if lot else 1, likely=species_here(kitchen))
        packed = write(kitchen, run)
        self.kept.append(
            Kept(
                line=text.strip(),
                place=self.place,
                words=packed.words(kitchen),
                act=journal.movements(kitchen.book, code=packed.rows[0].code)[0].act_id,
                packages=packed.totals.packages,
                before=self.frozen,
            )
        )
        self.frozen = frozen
        return packed

    def strike(self) -> Kept | None:
        """Take back the last line that was kept; it, or None when none is left.

        A line that was refused never was one.  Raises: CannotUndo when what it entered was used since.
        """
        if not self.kept:
            return None
        last = self.kept[-1]
        undo(self.kitchen.afresh(), target(self.kitchen.afresh(), last.act))
        self.frozen = last.before
        return self.kept.pop()

    def places(self) -> tuple[str, ...]:
        """Names of the baskets there are."""
        return tuple(place.name for place in queries.places(self.kitchen.book))
