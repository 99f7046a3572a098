"""Where a package's meat came from, through any number of mixings: animals, holds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from freezerbox.core.records import HOLDING_RESULTS, Animal, Hold, Source, TestResult

_WHY = {
    TestResult.PENDING: "test pending",
    TestResult.DETECTED: "test result: detected",
    TestResult.INCONCLUSIVE: "test result: inconclusive",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Lineage:
    """The origins of every package of a book.

    sources: rows by the package that came of them.  animals: by code.  own: holds put on packages themselves.
    """

    sources: Mapping[str, tuple[Source, ...]]
    animals: Mapping[str, Animal]
    own: Mapping[str, tuple[Hold, ...]] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        sources: Iterable[Source],
        animals: Iterable[Animal],
        own: Mapping[str, tuple[Hold, ...]] | None = None,
    ) -> Lineage:
        """The lineage made of rows as the book holds them."""
        by_child: dict[str, list[Source]] = {}
        for source in sources:
            by_child.setdefault(source.child, []).append(source)
        return cls(
            sources={child: tuple(rows) for child, rows in by_child.items()},
            animals={animal.code: animal for animal in animals},
            own=own or {},
        )

    def ancestors(self, code: str) -> tuple[Source, ...]:
        """Every row on the way up from ``code``, nearest first, each once."""
        found: list[Source] = []
        walked, waiting = set(), [code]
        while waiting:
            child = waiting.pop(0)
            if child in walked:
                continue
            walked.add(child)
            for source in self.sources.get(child, ()):
                found.append(source)
                if source.kind == "package":
                    waiting.append(source.name)
        return tuple(found)

    def animal_codes(self, code: str) -> tuple[str, ...]:
        """Animals in the package, directly or through mixings, in the order they went in."""
        return tuple(dict.fromkeys(source.name for source in self.ancestors(code) if source.kind == "animal"))

    def holds(self, code: str) -> tuple[Hold, ...]:
        """Every hold on the package: its own, its sources' and its animals'; the oldest first."""
        rows = self.ancestors(code)
        packages = dict.fromkeys([code, *(source.name for source in rows if source.kind == "package")])
        holds = [hold for package in packages for hold in self.own.get(package, ())]
        for animal_code in self.animal_codes(code):
            if animal := self.animals.get(animal_code):
                holds.extend(animal_holds(animal))
        return tuple(sorted(holds, key=lambda hold: (hold.since, hold.of, hold.why)))


def animal_holds(animal: Animal) -> tuple[Hold, ...]:
    """The holds that an animal's test results put on all its meat."""
    return tuple(
        Hold(
            kind="test",
            of=animal.code,
            since=test.result_on or test.sent_on,
            why=_WHY[test.result] + (f" ({test.what_for})" if test.what_for else ""),
        )
        for test in animal.tests
        if test.result in HOLDING_RESULTS
    )
