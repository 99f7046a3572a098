"""How to cook it and what to mind, from the sourced tables; said on the label, or once in a report."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from freezerbox.book import queries
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row, Rows
from freezerbox.core.records import State
from freezerbox.food import cautions, cuts, sources

_COOK = {
    "fast": "fast: dry heat, hot and short",
    "slow": "slow: moist heat, long",
    "grind": "grind it first",
    "either": "fast or slow",
    "dry": "for drying",
}
_BIRDS = ("poultry", "game-bird")
_GAME = ("big-game", "small-game")
_CURED = ("smoked-sausage", "hard-sausage", "bacon", "ham-cured", "fish-smoked")
_DEER = "deer-family"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    """A line of caution with who says it.  key: of the cautions table."""

    key: str
    text: str
    cite: str

    def words(self) -> str:
        """The line with its source."""
        return f"{self.text} [{self.cite}]"


def cue(key: str) -> Cue:
    """The caution of that key, with its citation."""
    found = cautions.caution(key)
    return Cue(key=key, text=found.text, cite=sources.source(found.source_id).cite())


def making_cues(keeps: str, *, steps: bool, jerky: bool = False) -> tuple[Cue, ...]:
    """What to mind when something is cured, smoked or dried.

    ``keeps``: the class of food it becomes.  ``steps``: its recipe has days to cure or smoke.  ``jerky``: its name
    says so where its class does not.
    """
    jerky = jerky or keeps == "jerky"
    keys = [*(["jerky-heat"] if jerky else []), *(["cure-smoke"] if keeps in _CURED or (steps and not jerky) else [])]
    return tuple(cue(key) for key in keys)


def cook_words(row: Row) -> str:
    """``fast: dry heat, hot and short``; "" where the table has no cue for the cut, or it is not for people."""
    return _COOK.get(cuts.cut(row.package.cut).cue, "") if row.for_people and not row.holds else ""


def cues(row: Row) -> tuple[Cue, ...]:
    """What to mind when it is cooked or thawed; nothing for what is held or not for people."""
    if not row.for_people or row.holds:
        return ()
    species = [cuts.species(key) for key in dict.fromkeys([row.package.species, *_animal_species(row)]) if key]
    form = cuts.form(row.package.form) if row.package.form else None
    kind = cuts.keeps_as(cuts.cut(row.package.cut), form)
    keys = [one.caution for one in species if one.caution]
    if any(one.klass in _BIRDS for one in species):
        keys.append("bird-temperature")
    if kind in ("ground", "raw-sausage") and any(one.klass in _GAME for one in species):
        keys.append("game-temperature")
    if kind == "jerky" or row.package.cut == "jerky-meat":
        keys.append("jerky-heat")
    if row.package.wrap == "vacuum":
        keys.append("thaw-vacuum")
    if kind == "ground" and any(animal.ammunition == "lead" for animal in row.animals):
        keys.append("lead")
    return tuple(cue(key) for key in dict.fromkeys(keys))


def packing_cues(rows: Iterable[Row]) -> tuple[Cue, ...]:
    """What to mind when a run is packed: deer-family cuts that keep bone of the spine."""
    return (_spine_cue(),) if any(_deer_spine(row) for row in rows) else ()


def cues_to_say(kitchen: Kitchen, rows: Sequence[Row]) -> tuple[Cue, ...]:
    """The same, once for an animal and an evening: nothing when a run before this one has said it."""
    with_spine = [row for row in rows if _deer_spine(row)]
    if not with_spine:
        return ()
    run, days = {row.code for row in rows}, {row.package.packed_on for row in rows}
    before = [
        one.code
        for one in queries.packages(kitchen.book, as_of=kitchen.as_of)
        if one.packed_on in days and one.code not in run and one.state.state is not State.SPARE
    ]
    told = {(row.package.packed_on, *_whose(row)) for row in Rows(kitchen).of_codes(before) if _deer_spine(row)}
    new = [row for row in with_spine if (row.package.packed_on, *_whose(row)) not in told]
    return (_spine_cue(),) if new else ()


def _spine_cue() -> Cue:
    return cue("spine-bone")


def _deer_spine(row: Row) -> bool:
    species = [cuts.species(key) for key in (row.package.species, *_animal_species(row)) if key]
    form = cuts.form(row.package.form) if row.package.form else None
    bone = row.for_people and cuts.keeps_spine(cuts.cut(row.package.cut), form)
    return bone and any(one.guide_group == _DEER for one in species)


def _whose(row: Row) -> list[str]:
    return sorted(animal.code for animal in row.animals) or [row.package.species]


def _animal_species(row: Row) -> list[str]:
    return [animal.species for animal in row.animals]
