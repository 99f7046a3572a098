"""In which order a label is tried: which words, in which arrangements, until one has room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from freezerbox.labels.content import ANIMAL_WORDS, BANNER_WORDS, HOLD_WORDS, LabelContent, clean, in_fewer_words
from freezerbox.labels.stock import Arrangement, Design

ACROSS_A_ROOM_MM = 8.0
"""Chosen here, no source: capitals to be read from across the room; where a design has them, the cut keeps them
before all else."""
Ways = Sequence[tuple[LabelContent, tuple[str, ...]]]


def tries(content: LabelContent, design: Design) -> Iterator[tuple[Ways, Sequence[Arrangement], bool]]:
    """What to try in which order: ways to say it, in which arrangements, and whether lines are narrowed to fit.

    A banner's explanation is worth less than the arrangement; a symbol at each end more than letters of full width,
    and beside a hold more than all words of the animals.
    What else can be said in fewer words waits until no arrangement is left; where a design has the month beside the
    cut, those with it elsewhere wait for that, and so do those that have it below the symbol, behind the weight.
    Where the design has a cut that reads across a room, arrangements with a smaller one wait for all of that, and why
    a package is held is cut short last of all.
    """
    every = in_fewer_words(content)
    ways = [way for way in every if HOLD_WORDS not in way[1]]
    arrangements = [one for one in design.arrangements if content.link or not one.link]
    edge = at_edge(arrangements[0])
    across = _cut_mm(arrangements[0]) >= ACROSS_A_ROOM_MM

    def worth(one: Arrangement) -> tuple[bool, bool, bool]:
        return across and _cut_mm(one) < ACROSS_A_ROOM_MM, edge and not at_edge(one), _month_squeezed(one)

    groups = [[one for one in arrangements if worth(one) == rank] for rank in sorted({*map(worth, arrangements)})]
    for group in groups:
        yield from _in_group(group, ways, content, squares(arrangements[0]))
    for way in every[len(ways) :]:
        for tight in (False, True):
            yield [way], arrangements, tight


def _in_group(
    group: Sequence[Arrangement], ways: Ways, content: LabelContent, copies: int
) -> Iterator[tuple[Ways, Sequence[Arrangement], bool]]:
    first = [way for way in ways if set(way[1]) <= {BANNER_WORDS}]
    animals = [way for way in ways if clean(content.hold) and way[1][-1:] == (ANIMAL_WORDS,)]
    whole = [one for one in group if squares(one) >= copies]
    rest = [one for one in group if squares(one) < copies]
    later = [([way], some) for way in ways[len(first) :] for some in (whole, rest)]
    for stage, some in ((first, whole), (animals, whole), (first, rest), *later):
        if stage:
            yield stage, some, False
            yield stage, some, True


def at_edge(arrangement: Arrangement) -> bool:
    """Whether the month stands in the row of the cut, or in the next below it."""
    for stack in arrangement.stacks:
        for at, row in enumerate(stack.rows):
            if "cut" in row.fields:
                return any("month" in near.fields for near in stack.rows[at : at + 2])
    return False


def _cut_mm(arrangement: Arrangement) -> float:
    """The least height of the cut's capitals; 0 where one of a household has no place for it."""
    heights = (row.least_mm for stack in arrangement.stacks for row in stack.rows if "cut" in row.fields)
    return max(heights, default=0.0)


def squares(arrangement: Arrangement) -> int:
    """Symbols on the label, the one for phones among them."""
    return len(arrangement.qr) + bool(arrangement.link)


def _month_squeezed(arrangement: Arrangement) -> bool:
    """Whether the month has but half a line below the symbol, behind the weight."""
    return any(row.fields[:2] == ("weight", "month") for stack in arrangement.stacks for row in stack.rows)
