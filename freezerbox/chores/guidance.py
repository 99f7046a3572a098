"""What authorities say of a test that holds an animal's meat: of that disease and that animal, or nothing."""

from __future__ import annotations

from collections.abc import Iterable

from freezerbox.chores.cues import cue
from freezerbox.core.records import HOLDING_RESULTS, Animal, AnimalTest, TestResult
from freezerbox.food.tests import Disease, disease_of

FOLLOW = "Follow your wildlife agency's and public-health authority's instructions."


def holding_tests(animals: Iterable[Animal]) -> tuple[tuple[Animal, AnimalTest], ...]:
    """Tests that hold meat of the animals: awaited, detected or inconclusive, and not released."""
    return tuple(
        (animal, test)
        for animal in animals
        for test in animal.tests
        if test.result in HOLDING_RESULTS and test.released_on is None
    )


def guidance(animals: Iterable[Animal]) -> str:
    """What to follow and who says so; "" when no test holds the animals' meat.

    Of what was detected when anything was, else of what is awaited.  Each authority is cited only where it speaks of
    that disease in that animal.
    """
    tests = holding_tests(animals)
    detected = [(animal, test) for animal, test in tests if test.result is TestResult.DETECTED]
    if not tests:
        return ""
    lines: dict[str, None] = {}
    for animal, test in detected or tests:
        disease = disease_of(test.what_for, animal.species)
        key = "" if disease is None else disease.detected if detected else disease.awaited
        if disease is not None and key:
            lines[_line(disease, key, unsaid=bool(detected) and not test.what_for)] = None
    return " ".join([*lines, FOLLOW])


def _line(disease: Disease, key: str, *, unsaid: bool) -> str:
    said = cue(key)
    text = said.text.removesuffix(FOLLOW).strip()
    asked = f"If the test was for {disease.name}: " if unsaid else ""
    return f"{asked}{text} [{said.cite}]"


def batching(animals: Iterable[Animal]) -> str:
    """What is said of mixing animals one of which waits for its test; "" where nobody quoted says anything of it."""
    for animal, test in holding_tests(animals):
        disease = disease_of(test.what_for, animal.species)
        if disease is not None and disease.awaited:
            return cue("not-batched").words()
    return ""
