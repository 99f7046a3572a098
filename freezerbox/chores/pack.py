"""Packing a run: one header, many weights, all or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from statistics import median

from freezerbox.book.writer import Value, Writer
from freezerbox.chores.header import Header, Words, understand
from freezerbox.chores.house import letter
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.rows import Row, Rows, Totals, totals
from freezerbox.chores.wording import animals_words, count, piece_noun
from freezerbox.core.mass import MG_PER_LB, parse_mass
from freezerbox.core.records import State
from freezerbox.errors import InputError, InvalidMass, OutOfLine, UnknownWord
from freezerbox.food import cuts

MOST_IN_A_RUN = 500
TIMES_THE_USUAL_PACK = 3
OUT_OF_LINE_RATIO = 4
OUT_OF_LINE_RATIO_OF_TWO = 8
"""With one other weight to go by, only a slip of the decimal point stands out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """One weight of a run.  typed: as typed.  net_mg: None when not weighed."""

    typed: str
    net_mg: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Usual:
    """What a weight is held against.

    most_lb: pounds that a usual pack weighs at most.  of_this_cut: False when no figure is known for the cut; then it
    is the heaviest usual pack of any.
    """

    most_lb: Decimal
    of_this_cut: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run ready to be written.  quantity: packages a record stands for, 1 but for a lot."""

    header: Header
    weights: tuple[Weighed, ...]
    quantity: int = 1

    def words(self) -> str:
        """``14 packages of Loin chops from half hog 26H``."""
        origin = animals_words(self.header.animals)
        number = count(len(self.weights) * self.quantity, "package")
        return f"{number} of {self.header.cut_name}" + (f" from {origin}" if origin else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """What was written.  rows: in the order of the weights."""

    rows: tuple[Row, ...]
    totals: Totals

    def words(self, kitchen: Kitchen) -> str:
        """``14 packages, 14.71 lb, 56 chops, from half hog 26H``."""
        parts = [count(self.totals.packages, "package")]
        if self.totals.unweighed < self.totals.packages:
            parts.append(kitchen.mass(self.totals.net_mg))
        if self.totals.unweighed:
            parts.append(f"{self.totals.unweighed} not weighed")
        if self.totals.pieces:
            # A table may hold several cuts; then no one word fits all their pieces.
            nouns = {piece_noun(row.package, self.totals.pieces) for row in self.rows if row.package.pieces}
            parts.append(f"{self.totals.pieces} {nouns.pop() if len(nouns) == 1 else 'pieces'}")
        if self.rows[0].animals:
            parts.append(f"from {animals_words(self.rows[0].animals)}")
        return ", ".join(parts)


def prepare(
    kitchen: Kitchen,
    words: Words,
    weights: Sequence[str],
    *,
    quantity: int = 1,
    likely: Sequence[cuts.Species] = (),
) -> Run:
    """The run that ``words`` and ``weights`` mean; nothing is written.  ``likely``: as in ``understand``.

    Raises: what ``understand`` and ``read_weight`` raise; InputError for no weights or too many.
    """
    if not weights:
        named = f'{words.cut} "{words.other}"' if words.other else words.cut
        _refuse_no_weight(kitchen, words)
        raise InputError(
            f"No weights given. Write them after the cut, such as: freezerbox pack {named} 1.10 .95, "
            "or x for a package that was not weighed.",
            value="",
        )
    if len(weights) > MOST_IN_A_RUN:
        raise InputError(f"{len(weights)} weights in one run; at most {MOST_IN_A_RUN}.", value=len(weights))
    return Run(
        header=understand(kitchen, words, likely),
        weights=tuple(Weighed(typed=text, net_mg=read_weight(kitchen, text)) for text in weights),
        quantity=quantity,
    )


def _refuse_no_weight(kitchen: Kitchen, words: Words) -> None:
    """Raises: InvalidMass when the words end in what is no part of the cut before it and no weight, as abc is none;
    what ``understand`` raises for a cut or header that is wrong anyway.
    """
    try:
        understand(kitchen, words)
    except UnknownWord:
        cut, _, last = words.cut.rpartition(" ")
        if not cut:
            raise
        understand(kitchen, replace(words, cut=cut))
        raise InvalidMass(
            f"{last!r} is not a weight, and no part of the cut {cut}. Write a weight after the cut, such as 1.25, or "
            "x for a package that was not weighed.",
            value=last,
        ) from None


def mixed_up(header: Header) -> str:
    """Why one piece of meat cannot come from all the animals named, or "".

    Ground meat, sausage, stew meat, dishes and the like may be of several kinds of animal; a chop is of one.
    """
    kinds = [cuts.species(animal.species) for animal in header.animals]
    if not cuts.is_of_one_animal(header.cut, header.form) or all(cuts.alike(kinds[0], one) for one in kinds):
        return ""
    names = " and ".join(f"{animal.code} ({kind.name})" for animal, kind in zip(header.animals, kinds, strict=True))
    return f"{header.cut_name} is cut from one kind of animal, and these are {names}"


def refuse_mixed(header: Header, done: str = "recorded") -> None:
    """Raises: OutOfLine when one piece would be of several kinds of animal.  ``done``: what was not done for that."""
    if mixed := mixed_up(header):
        raise OutOfLine(f"Nothing {done}: {mixed}. Name one, or add --yes if it really is of all.", doubts=[mixed])


def read_weight(kitchen: Kitchen, text: str) -> int | None:
    """Milligrams that a package weighs, or ``None`` for ``x``: not weighed.

    Raises: InvalidMass, also for less than the house's unit can show.
    """
    mg = parse_mass(text, unit=kitchen.unit)
    if mg is not None and kitchen.mass(mg) == kitchen.mass(0):
        raise InvalidMass(
            f"{text!r} is {kitchen.mass(0)} here: no weight at all. Write what the scale shows, or x when it was not "
            "weighed.",
            value=text,
        )
    return mg


def doubts(kitchen: Kitchen, run: Run, beside: Sequence[Weighed] = ()) -> tuple[str, ...]:
    """A sentence for each weight that is out of line; empty when all are plausible.

    ``beside``: weights entered with the run, of the same kind, that measure it too.
    """
    found = []
    weighed = [one.net_mg for one in (*run.weights, *beside) if one.net_mg is not None]
    usual = usual_pack(run.header.cut, run.header.species)
    for one in run.weights:
        if one.net_mg is None:
            continue
        others = list(weighed)
        if len(others) < 3:
            # Of three or more the middle one is an honest measure: taken out, 11.5 would make 1.1 look odd.
            others.remove(one.net_mg)
        doubt = doubt_of(kitchen, one.net_mg, others, run.header.cut_name, usual)
        if doubt:
            found.append(f"{one.typed!r}: {doubt}")
    return tuple(dict.fromkeys(found))


def usual_pack(cut: cuts.Cut, species: cuts.Species | None) -> Usual | None:
    """What a usual pack weighs at most; without a species, over all the animals it comes from.

    None for what is kept whole, a quarter or a fish: it is as large as the animal was.
    """
    if species is not None:
        usual = cuts.usual_pack_lb(cut, species)
        found = [usual] if usual else []
    else:
        found = [usual for each in cuts.species_list() if (usual := cuts.usual_pack_lb(cut, each))]
    if found:
        return Usual(most_lb=max(high for _, high in found), of_this_cut=True)
    return None if cut.key in cuts.IN_ONE_PIECE else Usual(most_lb=cuts.heaviest_usual_pack_lb(), of_this_cut=False)


def doubt_of(kitchen: Kitchen, mg: int, others: Sequence[int], name: str, usual: Usual | None) -> str:
    """Why one weight looks like a slip, or "": against the others of its run and the cut's usual pack."""
    if others:
        middle = median(others)
        ratio = OUT_OF_LINE_RATIO if len(others) > 1 else OUT_OF_LINE_RATIO_OF_TWO
        if mg > middle * ratio or mg * ratio < middle:
            return f"{kitchen.mass(mg)} among packages of about {kitchen.mass(int(middle))}"
    if usual:
        most = usual.most_lb * MG_PER_LB
        ceiling = most * TIMES_THE_USUAL_PACK if usual.of_this_cut else most
        if mg > round(ceiling):
            which = "a usual pack is up to" if usual.of_this_cut else "the heaviest usual pack of any cut is"
            return f"{kitchen.mass(mg)} of {name}, where {which} {kitchen.mass(round(most))}"
    return ""


@one_writer
def write(kitchen: Kitchen, run: Run, *, yes: bool = False, request_id: str | None = None) -> Packed:
    """Record the run: one act.

    Raises: OutOfLine when a weight or the mixture of animals is doubtful and ``yes`` does not say it is right;
    nothing is recorded then.
    """
    if not yes:
        refuse_mixed(run.header)
    questions = () if yes else doubts(kitchen, run)
    if questions:
        raise OutOfLine(
            "\n".join(
                [
                    "Nothing recorded: a weight looks out of line.",
                    *(f"  {question}" for question in questions),
                    "Give it again, or add --yes if the scale really says so.",
                ]
            ),
            doubts=list(questions),
        )
    book = kitchen.book
    with book.act("pack", run.header.packed_on, request_id=request_id, words=f"packed {run.words()}") as act:
        codes = put_in(kitchen, act, run, State.FROZEN)
    rows = Rows(kitchen.afresh()).of_codes(codes)
    return Packed(rows=rows, totals=totals(rows))


def put_in(kitchen: Kitchen, act: Writer, run: Run, state: State, *, batch: str = "") -> list[str]:
    """Write the packages of a run inside an act; returns their codes in order.

    ``batch``: code of the batch that made them; it writes their origins itself.
    """
    header, first = run.header, letter(kitchen)
    codes: list[str] = []
    for number in range(1, len(run.weights) + 1):
        code = act.new_code("package", first)
        act.add("package", code=code, **package_fields(run, number, batch))
        for animal in () if batch else header.animals:
            act.add("lineage", child=code, kind="animal", name=animal.code, mass_mg=None)
        if header.added and not batch:
            act.add("lineage", child=code, kind="bought", name=header.added, mass_mg=None)
        act.move(
            code,
            state=state,
            freezer_id=header.freezer_id if state is State.FROZEN or header.freezer_id else None,
            place_id=header.place.id if header.place else None,
            delta=run.quantity,
        )
        codes.append(code)
    return codes


def package_fields(run: Run, number: int, batch: str = "") -> dict[str, Value]:
    """What the book keeps of the package with that number of a run, from 1, by column."""
    header, size, one = run.header, len(run.weights), run.weights[number - 1]
    return {
        "cut": header.cut.key,
        "form": header.form.key if header.form else "",
        "species": header.species.key if header.species else "",
        "other_words": header.other_words,
        "net_mg": one.net_mg,
        "typed": one.typed,
        "pieces": header.pieces,
        "packed_on": header.packed_on.isoformat(),
        "first_frozen_on": header.first_frozen_on.isoformat(),
        "times_frozen": header.times_frozen,
        "wrap": header.wrap,
        "seasoning": header.seasoning,
        "fat_percent": header.fat_percent,
        "added": header.added,
        "owner": header.owner,
        "reserved_for": header.reserved_for,
        "note": header.note,
        "batch": batch,
        "run_number": number if size > 1 else None,
        "run_size": size if size > 1 else None,
    }
