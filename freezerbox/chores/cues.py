"""How to cook it and what to mind, from the sourced tables; said on the label, or once in a report."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from freezerbox.chores.rows import Row
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
    """What to say once when a run is packed: deer-family cuts that keep bone of the spine."""
    for row in rows:
        if not row.for_people:
            continue
        species = [cuts.species(key) for key in (row.package.species, *_animal_species(row)) if key]
        form = row.package.form
        bone = cuts.cut(row.package.cut).spine_bone and "boneless" not in form
        if bone and any(one.guide_group == _DEER for one in species):
            return (cue("spine-bone"),)
    return ()


def _animal_species(row: Row) -> list[str]:
    return [animal.species for animal in row.animals]
