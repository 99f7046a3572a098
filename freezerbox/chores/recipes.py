"""The household's own recipes, scaled by the weight of a batch, and the dated steps of cure and smoke.

No recipe and no time comes with the program: both are the user's, from a tested recipe.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from freezerbox.book import origins
from freezerbox.chores.kitchen import Kitchen, no_such, one_writer
from freezerbox.chores.naming import same_name
from freezerbox.core.mass import parse_mass
from freezerbox.errors import InputError, Refused, Twin

PREFIX = "recipe:"
MOST_DAYS = 365
_NUMBER = re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)?(?![\w.,]*%)")
_STEP = re.compile(r"(.+?)\s*=\s*(\d{1,3})\s*(?:d|day|days)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """A recipe.

    per_mg: milligrams of meat and fat the amounts are for.  lines: ingredients, ``80 g salt``.
    steps: what is done, and how many days after making.
    """

    name: str
    per_mg: int
    lines: tuple[str, ...]
    steps: tuple[tuple[str, int], ...]

    def scaled(self, mass_mg: int) -> tuple[str, ...]:
        """The ingredients for that much meat and fat; a percentage stays, and what has no number."""
        factor = Decimal(mass_mg) / self.per_mg
        return tuple(scale_line(line, factor) for line in self.lines)

    def dated(self, made_on: date) -> tuple[tuple[date, str], ...]:
        """The steps with their days."""
        return tuple((made_on + timedelta(days=days), what) for what, days in self.steps)


@one_writer
def set_recipe(
    kitchen: Kitchen, name: str, per: str, lines: Sequence[str], steps: Sequence[str] = (), *, yes: bool = False
) -> Recipe:
    """Keep a recipe under its name.

    Raises: InputError for no name, no ingredients, or a step without days; InvalidMass for ``per``; Twin when there
    is one of that name and ``yes`` does not say to replace it.
    """
    words = " ".join(name.split())
    if not words or not lines:
        raise InputError(
            'A recipe has a name and ingredients: freezerbox recipe set Italian --per 10 "80 g salt" "20 g fennel"',
            value=name,
        )
    per_mg = parse_mass(per, unit=kitchen.unit) if per else None
    if per_mg is None:
        raise InputError(f"Say how much meat {words} is for, such as --per 10.", value=per)
    recipe = Recipe(
        name=words,
        per_mg=per_mg,
        lines=tuple(" ".join(line.split()) for line in lines),
        steps=tuple(_step(step) for step in steps),
    )
    if not yes and any(same_name(one.name, words) for one in recipes(kitchen)):
        raise Twin(f"There is a recipe {words!r} already. Add --yes to put this one in its place.", name=words)
    value = json.dumps(
        {"name": words, "per_mg": per_mg, "lines": recipe.lines, "steps": recipe.steps}, ensure_ascii=False
    )
    before = next((one.name for one in recipes(kitchen) if same_name(one.name, words)), words)
    key = PREFIX + before.lower()
    with kitchen.book.act("recipe", kitchen.today, words=f"recipe {words}") as act:
        act.change("setting", key, "value", kitchen.settings.get(key), value)
    return recipe


def recipes(kitchen: Kitchen) -> tuple[Recipe, ...]:
    """Every recipe kept, by name."""
    found = [_read(value) for key, value in kitchen.settings.items() if key.startswith(PREFIX)]
    return tuple(sorted(found, key=lambda recipe: recipe.name.lower()))


def find_recipe(kitchen: Kitchen, name: str) -> Recipe:
    """The recipe of that name.  Raises: UnknownRecord, naming those there are."""
    known = recipes(kitchen)
    for recipe in known:
        if same_name(recipe.name, name):
            return recipe
    raise no_such("recipe", name, [recipe.name for recipe in known], "Keep one with: freezerbox recipe set")


def known_recipe(kitchen: Kitchen, name: str) -> Recipe | None:
    """The recipe of that name; None when none is kept, for a batch may be named after one on paper."""
    return next((recipe for recipe in recipes(kitchen) if same_name(recipe.name, name)), None)


def waiting(kitchen: Kitchen) -> tuple[origins.BatchStep, ...]:
    """Steps of batches not done yet, the soonest first."""
    return tuple(step for step in origins.batch_steps(kitchen.book) if step.done_on is None)


@one_writer
def step_done(kitchen: Kitchen, batch: str, what: str) -> origins.BatchStep:
    """Mark the first waiting step of a batch of that name as done today.  Raises: Refused when none waits."""
    for step in waiting(kitchen):
        if same_name(step.batch, batch) and (not what or same_name(step.what, what)):
            with kitchen.book.act("recipe", kitchen.today, words=f"{step.batch}: {step.what} done") as act:
                act.change("batch_step", step.id, "done_on", None, kitchen.today.isoformat())
            return step
    raise Refused(f"No step {what or 'at all'} of {batch} waits. See: freezerbox recipe due", batch=batch)


def scale_line(line: str, factor: Decimal) -> str:
    """An ingredient with its first number scaled, to three figures.

    >>> scale_line("80 g salt", Decimal("1.39")), scale_line("2.5% salt", Decimal(3)), scale_line("wine", Decimal(3))
    ('111 g salt', '2.5% salt', 'wine')
    """
    match = _NUMBER.search(line)
    if match is None:
        return line
    exact = Decimal(match[0].replace(",", ".")) * factor
    shown = f"{float(exact):.3g}" if exact < 1000 else f"{exact:.0f}"
    return line[: match.start()] + shown + line[match.end() :]


def _step(text: str) -> tuple[str, int]:
    match = _STEP.fullmatch(" ".join(text.split()))
    if match is None or int(match[2]) > MOST_DAYS:
        raise InputError(
            f"{text!r} is not a step with its days. Write it as smoke=10, in days after making.", value=text
        )
    return match[1], int(match[2])


def _read(value: str) -> Recipe:
    kept = json.loads(value)
    return Recipe(
        name=kept["name"],
        per_mg=kept["per_mg"],
        lines=tuple(kept["lines"]),
        steps=tuple((what, days) for what, days in kept["steps"]),
    )
