"""Finding packages by the household's own words."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from freezerbox.book import queries
from freezerbox.chores.balance import use_of
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.naming import alike, said_by, same_name
from freezerbox.chores.parted import Parted, as_left, finished, parted
from freezerbox.chores.rows import Row, Rows, Totals, in_rotation_order, totals
from freezerbox.chores.wording import is_reserved
from freezerbox.core.code import compact, is_valid
from freezerbox.core.dates import parse_date, parse_season
from freezerbox.core.records import State
from freezerbox.errors import FreezerboxError, InputError, UnknownWord
from freezerbox.food import cuts, uses
from freezerbox.food.called import is_called

Test = Callable[[Row], bool]

_LEAST_OF_A_NAME = 3
LONGEST_PHRASE = 4
_FAT_WORDS = re.compile(r"%|\bfat\b|\bplain\b|\bnf\b|\d/\d")
_FILLERS = frozenset(
    {"the", "a", "of", "from", "in", "and", "any", "all", "for", "with", "some", "anything", "everything"}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What matches.  rows: in the order to take them.  nearby: neighbouring cuts, not mixed in, what is held last.

    besides: the words that name no cut, such as ``26B``; "" when all do.
    meanings: what an ambiguous word was taken to mean, a cut name each; empty when there was one meaning.
    reserved: matching, but set aside for something.  away: matching, but in a freezer that stands elsewhere.
    theirs: matching, but other people's, and not asked for.  not_for_people: matching, but for a dog or a trap, and
    not asked for by its name.  parted: matching lots that are there and of which some left, when that is asked.
    finished: the lots among all those that left, by code; left: how many of each they are, as the totals count them.
    """

    words: str
    rows: tuple[Row, ...]
    nearby: tuple[Row, ...]
    meanings: tuple[str, ...]
    totals: Totals
    besides: str = ""
    reserved: tuple[Row, ...] = ()
    away: tuple[Row, ...] = ()
    theirs: tuple[Row, ...] = ()
    not_for_people: tuple[Row, ...] = ()
    parted: tuple[Parted, ...] = ()
    finished: Mapping[str, Parted] = field(default_factory=dict)
    left: Mapping[str, int] = field(default_factory=dict)

    def counted(self) -> Found:
        """The same, with each finished lot as all that left of it."""

        def whole(rows: tuple[Row, ...]) -> tuple[Row, ...]:
            return tuple(as_left(row, self.left) for row in rows)

        return replace(self, rows=whole(self.rows), nearby=whole(self.nearby), theirs=whole(self.theirs))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wanted:
    """One part of the words, understood: a test on rows; the cuts when it names cuts; whether it names a place.

    for_animals: it asks for what is not for people.  phrase: the words themselves.  called: the cuts of which it asks
    for one name only, as chili does of dishes.
    """

    test: Test
    phrase: str = ""
    called: tuple[cuts.Cut, ...] = ()
    cuts: tuple[cuts.Cut, ...] = ()
    is_place: bool = False
    for_animals: bool = False


def find(
    kitchen: Kitchen, words: str, *, gone: bool = False, everyone: bool = False, reserved: bool = False
) -> Found:
    """Packages that match every part of ``words``: cut, species, animal, place, month, note, owner.

    What is reserved, and what is in a freezer elsewhere, is apart and not in the totals; what waits to be ground or
    smoked is reserved for nobody.  A freezer or place named in the words is here.  ``gone``: those that left,
    instead.  ``everyone``: other people's too, as when the words name the owner.  ``reserved``: only what is set
    aside, whatever for.

    Raises: UnknownWord when a part means nothing here, with near words; InputError for no words.
    """
    wanted = _understand(kitchen, words)
    maker = Rows(kitchen)
    pool = [row for row in maker.all(State.GONE if gone else State.FROZEN) if row.package.state.reason != "void"]
    owners = {alike(part.phrase) for part in wanted} & {alike(row.package.owner) for row in pool}
    theirs = [row for row in pool if not everyone and row.package.owner and alike(row.package.owner) not in owners]
    not_asked = {row.code for row in theirs}
    pool = [row for row in pool if row.code not in not_asked]
    wanted = _either(wanted, pool)
    elsewhere = _away_freezers(kitchen) if not gone and not any(part.is_place for part in wanted) else frozenset()
    apart = [row for row in pool if all(part.test(row) for part in wanted) and not gone and not reserved]
    set_aside = {row.code for row in pool if row.package.reserved_for and (reserved or is_reserved(row.package))}
    pool = [row for row in pool if gone or (row.code in set_aside) == reserved]
    pool = [row for row in pool if reserved or row.package.state.freezer_id not in elsewhere]
    matching = [row for row in pool if all(part.test(row) for part in wanted)]
    named = [one for part in wanted for one in part.cuts]
    asked = {compact(part.phrase) for part in wanted}
    by_name = gone or reserved or any(one.not_for_people for one in named)
    by_name = by_name or any(part.for_animals for part in wanted)
    apart_kind = [row for row in matching if not (by_name or row.for_people or row.code in asked)]
    other_kind = {row.code for row in apart_kind}
    matching = [row for row in matching if row.code not in other_kind]
    nearby: list[Row] = []
    if named:
        neighbours = {other.key for one in named for other in cuts.neighbours(one)} - {one.key for one in named}
        neighbours |= {one.key for part in wanted for one in part.called}
        had = {row.code for row in matching}
        others = [part for part in wanted if not part.cuts]
        near = [row for row in pool if row.package.cut in neighbours and row.code not in had]
        nearby = [row for row in near if all(part.test(row) for part in others)]
    # What may be eaten comes first; then what a count did not find, and what is held, which never stand before it.
    rows = _free_first(matching)
    present = dict.fromkeys(row.package.cut for row in rows)
    others_own = in_rotation_order(row for row in theirs if all(part.test(row) for part in wanted))
    lots, left = finished(kitchen, [*rows, *nearby, *others_own]) if gone else ({}, {})
    ambiguous = any(len(part.cuts) > 1 for part in wanted) and len(present) > 1
    return Found(
        words=words,
        rows=rows,
        nearby=_free_first(nearby),
        besides=" ".join(part.phrase for part in wanted if not part.cuts),
        meanings=tuple(cuts.cut(key).name for key in present) if ambiguous else (),
        totals=totals(as_left(row, left) for row in rows),
        finished=lots,
        left=left,
        not_for_people=in_rotation_order(apart_kind),
        parted=_parted(kitchen, maker, wanted, everyone=everyone) if gone else (),
        theirs=others_own,
        reserved=in_rotation_order(row for row in apart if row.code in set_aside),
        away=in_rotation_order(
            row for row in apart if row.package.state.freezer_id in elsewhere and row.code not in set_aside
        ),
    )


def _parted(kitchen: Kitchen, maker: Rows, wanted: Sequence[_Wanted], *, everyone: bool) -> tuple[Parted, ...]:
    named = {alike(part.phrase) for part in wanted}
    found = [row for row in maker.all(State.FROZEN) if all(part.test(row) for part in wanted)]
    return parted(kitchen, [row for row in found if everyone or alike(row.package.owner) in {"", *named}])


def _either(wanted: list[_Wanted], pool: Sequence[Row]) -> list[_Wanted]:
    """``backstrap tenderloin``: nothing is both, so either is meant; the cuts are shown under headings."""
    named = [part for part in wanted if part.cuts]
    if len(named) < 2 or any(all(part.test(row) for part in wanted) for row in pool):
        return wanted
    either = _Wanted(
        test=lambda row: any(part.test(row) for part in named),
        phrase=" ".join(part.phrase for part in named),
        called=tuple(one for part in named for one in part.called),
        cuts=tuple(dict.fromkeys(one for part in named for one in part.cuts)),
    )
    return [either, *(part for part in wanted if not part.cuts)]


def _free_first(rows: Iterable[Row]) -> tuple[Row, ...]:
    return tuple(
        sorted(in_rotation_order(rows), key=lambda row: (bool(row.holds), row.package.missing_since is not None))
    )


def _away_freezers(kitchen: Kitchen) -> frozenset[int]:
    return frozenset(freezer.id for freezer in queries.freezers(kitchen.book) if freezer.away)


def _understand(kitchen: Kitchen, words: str) -> list[_Wanted]:
    tokens = words.replace(",", " ").split()
    if not tokens:
        raise InputError("Say what to find, such as: freezerbox find backstrap", value=words)
    wanted: list[_Wanted] = []
    names = [place.name for place in queries.places(kitchen.book)]
    names += [freezer.name for freezer in queries.freezers(kitchen.book)]
    longest = max([LONGEST_PHRASE, *(len(name.split()) for name in names)])
    while tokens:
        for length in range(min(longest, len(tokens)), 0, -1):
            part = _read(kitchen, " ".join(tokens[:length]))
            if part is not None:
                wanted.append(replace(part, phrase=" ".join(tokens[:length])))
                tokens = tokens[length:]
                break
        else:
            if tokens[0].lower() in _FILLERS:
                tokens = tokens[1:]
                continue
            raise _unknown(kitchen, tokens[0], " ".join(tokens))
    return wanted or [_Wanted(test=lambda row: True)]


def _read(kitchen: Kitchen, phrase: str) -> _Wanted | None:
    """What a phrase means, or ``None``: code, animal, place, cut, species, month, words in the record."""
    lower = phrase.lower()
    code = compact(phrase)
    if is_valid(code) and queries.package(kitchen.book, code):
        return _Wanted(test=lambda row: row.code == code)
    if is_valid(code) and (place := queries.place_of_sign(kitchen.book, code)):
        return _Wanted(test=lambda row: row.package.state.place_id == place.id, is_place=True)
    if any(animal.code.lower() == lower for animal in queries.animals(kitchen.book)):
        return _Wanted(test=lambda row: any(animal.code.lower() == lower for animal in row.animals))
    if any(same_name(place.name, phrase) for place in queries.places(kitchen.book)):
        return _Wanted(test=lambda row: same_name(row.place, phrase), is_place=True)
    if any(same_name(freezer.name, phrase) for freezer in queries.freezers(kitchen.book)):
        return _Wanted(test=lambda row: same_name(row.freezer, phrase), is_place=True)
    if any(same_name(animal.what, phrase) for animal in queries.animals(kitchen.book)):
        # The household's own words for a share come before the trade's: a half hog is not a half carcass here.
        return _Wanted(test=lambda row: any(same_name(animal.what, phrase) for animal in row.animals))
    for reader in (_held, _serving, _fat, _cut, _species, _month, _season, _free, _part_of_a_place):
        part = reader(kitchen, lower)
        if part is not None:
            return part
    return None


def _held(_kitchen: Kitchen, phrase: str) -> _Wanted | None:
    return _Wanted(test=lambda row: bool(row.holds)) if phrase in ("held", "on hold") else None


def _serving(_kitchen: Kitchen, phrase: str) -> _Wanted | None:
    """``anything for stew``: what serves, whatever its cut."""
    wanted = phrase.removeprefix("anything ").removeprefix("something ")
    found = uses.serving(wanted.removeprefix("for ")) if wanted.startswith("for ") else ()
    if not found:
        return None
    keys = {use.key for use in found}
    return _Wanted(test=lambda row: use_of(row).key in keys, for_animals=uses.NOT_FOR_PEOPLE in keys)


def _fat(_kitchen: Kitchen, phrase: str) -> _Wanted | None:
    if phrase in ("no fat", "plain", "nf"):
        return _Wanted(test=lambda row: row.package.fat_percent == 0)
    number = phrase.removesuffix(" fat").removesuffix("%")
    if phrase.endswith(("%", "% fat")) and number.isascii() and number.isdigit() and len(number) <= 3:
        return _Wanted(test=lambda row: row.package.fat_percent == int(number))
    return None


def _cut(kitchen: Kitchen, phrase: str) -> _Wanted | None:
    if " " in phrase and _FAT_WORDS.search(phrase):
        return None  # the fat is a part of its own: "ground no fat"
    try:
        meanings = cuts.matching_cuts(phrase, None, kitchen.own_words)
    except FreezerboxError:
        return None
    seen_from: dict[str, Sequence[cuts.Match]] = {}

    def of_its_animal(row: Row) -> Sequence[cuts.Match]:
        """What the phrase means seen from the package's animal: the shank of a bear is a shank, whoever asks."""
        key = row.package.species
        if key not in seen_from:
            try:
                seen_from[key] = cuts.matching_cuts(phrase, cuts.species(key) if key else None, kitchen.own_words)
            except FreezerboxError:
                seen_from[key] = ()
        return seen_from[key]

    def test(row: Row) -> bool:
        return (
            phrase == cuts.cut(row.package.cut).name.lower()
            # What the household calls it comes first: chili packed as such, though the trade has a word for dishes.
            or f" {phrase} " in f" {row.package.other_words.lower()} "
            or any(is_cut(row, one) for one in of_its_animal(row))
            or any(is_cut(row, one) and (not one.species or _comes_from(row, one.species)) for one in meanings)
        )

    return _Wanted(
        test=test,
        cuts=tuple(dict.fromkeys(one.cut for one in meanings if one.cut)),
        called=tuple(dict.fromkeys(one.cut for one in meanings if one.cut and one.called)),
    )


def _species(_kitchen: Kitchen, phrase: str) -> _Wanted | None:
    try:
        species, sex_age = cuts.resolve_species(phrase)
    except FreezerboxError:
        return None

    def test(row: Row) -> bool:
        same = _comes_from(row, species)
        return same and (not sex_age or any(sex_age in animal.sex_age.split() for animal in row.animals))

    return _Wanted(test=test)


def is_cut(row: Row, one: cuts.Match) -> bool:
    """Whether a package is of that cut and form; what has a name of its own goes by the name, whatever the cut."""
    named = is_called(row.package.other_words, one.called) if one.called else True
    same = bool(one.called) or one.cut is None or one.cut.key == row.package.cut
    return named and same and (one.form is None or one.form.key == row.package.form)


def _comes_from(row: Row, species: cuts.Species) -> bool:
    """Whether a package is of that animal, or of one that the word takes in."""
    keys = {row.package.species, *(animal.species for animal in row.animals)} - {""}
    return any(cuts.is_within(cuts.species(key), species) for key in keys)


def _month(kitchen: Kitchen, phrase: str) -> _Wanted | None:
    """A month such as ``nov 2025``; a bare ``mar`` or ``may`` counts too, a day does not."""
    if any(character.isdigit() for character in phrase.split(" ")[0]):
        return None
    try:
        first = parse_date(phrase, today=kitchen.today)
    except FreezerboxError:
        return None
    if first.day != 1:
        return None
    return _Wanted(test=lambda row: row.package.first_frozen_on.replace(day=1) == first)


def _season(_kitchen: Kitchen, phrase: str) -> _Wanted | None:
    """A season such as ``24/25``, by the day of freezing; a year alone is none."""
    if "/" not in phrase:
        return None
    try:
        first, last = parse_season(phrase)
    except FreezerboxError:
        return None
    return _Wanted(test=lambda row: first <= row.package.first_frozen_on <= last)


def _part_of_a_place(kitchen: Kitchen, phrase: str) -> _Wanted | None:
    """``red`` for the red bag, ``garage`` for the Garage chest, ``bag`` for all bags: when all else says no."""
    if len(phrase) < _LEAST_OF_A_NAME or _says_nothing(phrase):
        return None
    places = {one.id for one in said_by(phrase, queries.places(kitchen.book), lambda one: one.name)}
    freezers = {one.id for one in said_by(phrase, queries.freezers(kitchen.book), lambda one: one.name)}
    if not places and not freezers:
        return None

    def test(row: Row) -> bool:
        state = row.package.state
        return state.place_id in places or state.freezer_id in freezers

    return _Wanted(test=test, is_place=True)


def _says_nothing(phrase: str) -> bool:
    """Whether it is all small words: an ``all`` is no part of "small", and a ``for`` none of the Forward shelf."""
    return set(phrase.split()) <= _FILLERS


def _free(kitchen: Kitchen, phrase: str) -> _Wanted | None:
    if _says_nothing(phrase):
        return None

    def text(row: Row) -> str:
        package = row.package
        words: Sequence[str] = (
            row.cut_name, package.other_words, package.note, package.seasoning, package.owner, package.reserved_for,
            package.added, package.wrap.replace("-", " "),
            *(f"{animal.what} {animal.note} {animal.sex_age} {animal.tag}" for animal in row.animals),
        )  # fmt: skip
        return " ".join(words).lower()

    if any(phrase in text(row) for row in Rows(kitchen).all(State.FROZEN, State.GONE)):
        return _Wanted(test=lambda row: phrase in text(row))
    return None


def _unknown(kitchen: Kitchen, word: str, rest: str) -> UnknownWord:
    near: tuple[str, ...] = ()
    for text in (rest, word):
        try:
            cuts.resolve_cut(text, None, kitchen.own_words)
        except UnknownWord as error:
            near = near or error.near
        except FreezerboxError:
            continue
    proposal = f" Did you mean {' or '.join(near[:3])}?" if near else ""
    return UnknownWord(
        f"Nothing here goes by {word!r}: no cut, species, animal, place, or note.{proposal}", word=word, near=near
    )
