"""Where a package's meat came from, and where it went, through any number of mixings: animals, holds, shares."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from freezerbox.core.records import HOLDING_RESULTS, Animal, Hold, Source, TestResult
from freezerbox.errors import InputError

Origin = tuple[str, str]
"""Where meat begins: ``("animal", "26B")``, ``("bought", "pork back fat")``, or a package of unknown origin."""

_WHY = {
    TestResult.PENDING: "test pending",
    TestResult.DETECTED: "test result: detected",
    TestResult.INCONCLUSIVE: "test result: inconclusive",
}

Shares = Mapping[Origin, Fraction]
SharesKnown = dict[str, Shares | None]
"""Shares worked out already, by package; handed in again so that many packages of one lineage cost one walk."""


def is_result(hold: Hold) -> bool:
    """Whether the hold comes of a result, and not of waiting for one or of the household itself."""
    return hold.kind == "test" and not hold.why.startswith(_WHY[TestResult.PENDING])


def says_detected(hold: Hold) -> bool:
    """Whether a test of the animal says detected."""
    return hold.kind == "test" and hold.why.startswith(_WHY[TestResult.DETECTED])


@dataclass(frozen=True, slots=True, kw_only=True)
class Lineage:
    """The origins of every package of a book.

    sources: rows by the package that came of them.  animals: by code.  own: holds put on packages themselves.
    """

    sources: Mapping[str, tuple[Source, ...]]
    animals: Mapping[str, Animal]
    own: Mapping[str, tuple[Hold, ...]] = field(default_factory=dict)
    _children: Mapping[Origin, tuple[str, ...]] = field(init=False, repr=False, compare=False)
    _walked: dict[str, tuple[Source, ...]] = field(init=False, repr=False, compare=False, default_factory=dict)

    def __post_init__(self) -> None:
        children: dict[Origin, dict[str, None]] = {}
        for child, rows in self.sources.items():
            for row in rows:
                children.setdefault((row.kind, row.name), {})[child] = None
        object.__setattr__(self, "_children", {origin: tuple(codes) for origin, codes in children.items()})

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
        if code in self._walked:
            return self._walked[code]
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
        self._walked[code] = tuple(found)
        return self._walked[code]

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

    def children(self, kind: str, name: str) -> tuple[str, ...]:
        """Codes of packages that something went into directly, in the order made."""
        return self._children.get((kind, name), ())

    def descendants(self, kind: str, name: str) -> tuple[str, ...]:
        """Codes of every package that anything of it went into, through any number of mixings, nearest first."""
        found: dict[str, None] = {}
        waiting = list(self.children(kind, name))
        while waiting:
            code = waiting.pop(0)
            if code in found:
                continue
            found[code] = None
            waiting.extend(self.children("package", code))
        return tuple(found)

    def shares(self, code: str, known: SharesKnown | None = None) -> Shares | None:
        """What share of the package by weight came of each origin; they sum to 1.

        A package without a recorded origin is its own.  ``None`` when several things went into one bag on the way and
        one of them was not weighed.
        """
        return self._shares(code, {} if known is None else known, frozenset())

    def _shares(self, code: str, known: SharesKnown, path: frozenset[str]) -> Shares | None:
        if code in known:
            return known[code]
        above = path | {code}
        rows = [row for row in self.sources.get(code, ()) if row.kind != "package" or row.name not in above]
        found: dict[Origin, Fraction] | None = {} if rows else {("package", code): Fraction(1)}
        parts = _parts(rows)
        if parts is None:
            found = None
        for row, part in zip(rows, parts or (), strict=False):
            whole = {(row.kind, row.name): Fraction(1)}
            of_it = self._shares(row.name, known, above) if row.kind == "package" else whole
            if of_it is None or found is None:
                found = None
                break
            for origin, share in of_it.items():
                found[origin] = found.get(origin, Fraction(0)) + part * share
        known[code] = found
        return found

    def share_of(
        self, code: str, kind: str, name: str, known: dict[str, Fraction | None] | None = None
    ) -> Fraction | None:
        """What share of the package by weight is of one thing, directly or through mixings, from 0 to 1.

        ``known``: what was worked out before for the same thing.  ``None`` as in ``shares``.
        """
        known = {} if known is None else known
        if code in known:
            return known[code]
        known[code] = Fraction(0)  # a circle, which no book has, ends here
        rows = self.sources.get(code, ())
        parts = _parts(list(rows))
        found: Fraction | None = None if parts is None else Fraction(0)
        for row, part in zip(rows, parts or (), strict=False):
            if (row.kind, row.name) == (kind, name):
                inner: Fraction | None = Fraction(1)
            else:
                inner = self.share_of(row.name, kind, name, known) if row.kind == "package" else Fraction(0)
            found = None if found is None or inner is None else found + part * inner
        known[code] = found
        return found

    def refuse_circle(self, child: str, sources: Iterable[str]) -> None:
        """Raises: InputError when ``child`` would be made of itself, directly or through others."""
        for source in sources:
            if source == child:
                raise InputError(f"{child} cannot be made of itself. Leave it out of one side.", value=child)
            if any(row.kind == "package" and row.name == child for row in self.ancestors(source)):
                raise InputError(
                    f"{source} was itself made of {child}, so {child} cannot be made of it. One of the two is wrong.",
                    value=child,
                )


def animal_holds(animal: Animal) -> tuple[Hold, ...]:
    """The holds on all of an animal's meat: those of its test results, then those the household put on it itself.

    A result the owner has released the meat from holds no longer.
    """
    tested = (
        Hold(
            kind="test",
            of=animal.code,
            since=test.result_on or test.sent_on,
            why=_WHY[test.result] + (f" ({test.what_for})" if test.what_for else ""),
        )
        for test in animal.tests
        if test.result in HOLDING_RESULTS and test.released_on is None
    )
    return (*tested, *animal.own_holds)


def _parts(rows: list[Source]) -> list[Fraction] | None:
    """Each row's part of the whole; None when several went in and one has no weight."""
    if not rows:
        return []
    if len(rows) == 1:
        return [Fraction(1)]
    masses = [row.mass_mg for row in rows]
    if any(mass is None for mass in masses):
        return None
    total = sum(mass or 0 for mass in masses)
    return [Fraction(mass or 0, total) for mass in masses]
