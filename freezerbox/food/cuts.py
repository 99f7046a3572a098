"""Cuts and their names: what a person's word stands for, what a cut is called, and what a usual pack weighs.

`resolve_cut` reads, `display_name` writes; what it writes reads back as the same cut and form.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from types import MappingProxyType

from freezerbox.errors import AmbiguousWord, UnknownWord
from freezerbox.food.kinds import (
    Cut,
    Form,
    Species,
    all_cuts,
    cell_list,
    cut,
    cut_by_number,
    cuts,
    form,
    form_by_number,
    forms,
    is_within,
    species,
    species_by_number,
)
from freezerbox.food.kinds import all_species_list as species_list
from freezerbox.food.nearwords import near_words
from freezerbox.food.species import resolve_species, sex_age_words
from freezerbox.food.tables import read_rows
from freezerbox.food.words import Question, Reader, Sense, alike, form_words, species_words, squash, tokens

__all__ = [
    "FOR_DOGS",
    "IN_ONE_PIECE",
    "Cut",
    "CutWords",
    "Form",
    "Match",
    "Species",
    "alike",
    "cut",
    "cut_by_number",
    "cuts",
    "display_name",
    "form",
    "form_by_number",
    "form_together",
    "forms",
    "heaviest_usual_pack_lb",
    "is_within",
    "keeps_as",
    "keeps_spine",
    "matching_cuts",
    "neighbours",
    "piece_word",
    "resolve_cut",
    "resolve_form",
    "resolve_species",
    "sex_age_words",
    "species",
    "species_by_number",
    "species_list",
    "usual_pack_lb",
]

IN_ONE_PIECE = frozenset({"half-carcass", "carcass-quarter", "whole-animal", "whole-fish", "haunch", "head", "hide"})
"""Cuts that are kept whole, as large as the animal was: their weight has no usual pack to be held against."""

_OF_ONE_ANIMAL = frozenset({"steak", "chop", "roast", "whole", "pieces", "fish", "ham-fresh", "ham-cured", "bacon"})
"""What keeps as one of these is meat of one piece, and so of one kind of animal."""

FOR_DOGS = frozenset({"dog-scraps", "dog-bones"})
"""Cuts that are given to the dog, of those that are not for people."""

_NO_WORDS: Mapping[str, str] = MappingProxyType({})

# How ground meat's fat is said; the words are read here and not in words.csv because they carry a number.
_LEAN_TO_FAT = re.compile(r"(?<![\d/])(\d{1,2})\s*/\s*(\d{1,2})(?![\d/])")
_PER_CENT_LEAN = re.compile(r"(?<![\d.])(\d{1,3})\s*(?:%|per ?cent|pct)\s*lean\b")
_PER_CENT_FAT = re.compile(r"(?<![\d.])(\d{1,2})\s*(?:%|per ?cent|pct)(?:\s*fat\b)?")
_NO_FAT = re.compile(r"\b(?:no[ -]fat|nf|no fat added|zero fat)\b")
_PLAIN = re.compile(r"\bplain\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class CutWords:
    """What a person's words for a package say.

    cut          the cut
    form         the form; None: not said
    fat_percent  fat per cent of ground meat, 0 for none or plain; None: not said
    species      the species named in the words ("pork chops"); None: none named
    called       the name in the words that says more than the cut ("chili"); empty: none
    """

    cut: Cut
    form: Form | None
    fat_percent: int | None
    species: Species | None = None
    called: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """One thing that a word looked for may mean.

    cut      the cut; None: any cut in that form
    form     the form; None: any
    species  the species named in the words; None: any
    called   the name that it must have, such as chili; empty: any
    """

    cut: Cut | None
    form: Form | None
    species: Species | None = None
    called: str = ""


def resolve_cut(text: str, species: Species | None, extra: Mapping[str, str] = _NO_WORDS) -> CutWords:
    """The cut, form and fat that ``text`` stands for, seen from an animal (None: not known).

    ``extra`` are the household's own words and what each stands for (a cut's key, or any words known here); they
    come before the tables.

    Raises: AmbiguousWord with what to type instead; UnknownWord with at most five near words; InputError when the
    text names another animal.
    """
    phrase, fat, plain = _take_fat(text)
    reader = Reader(species, extra)
    found = reader.read(text) if plain else None
    if found is None:
        found = reader.read(phrase)
    if found is None and (fat is not None or plain) and not tokens(phrase):
        found = Sense(cut=cut("ground"))
    if isinstance(found, Question):
        raise _ambiguous(text.strip(), found, reader)
    if found is None:
        raise _unknown(text, phrase, species, extra)
    if fat is None:
        fat = found.fat
    if fat is None and plain and found.cut.keeps_as == "ground" and _plain_is_no_fat(species or found.species):
        fat = 0
    return CutWords(cut=found.cut, form=found.form, fat_percent=fat, species=found.species, called=found.called)


def _take_fat(text: str) -> tuple[str, int | None, bool]:
    """The text without its words for fat, the fat per cent they give, and whether it says "plain"."""
    rest = " ".join(text.casefold().split())
    fat: int | None = None
    ratio = _LEAN_TO_FAT.search(rest)
    if ratio and int(ratio[1]) + int(ratio[2]) == 100:
        fat, rest = int(ratio[2]), _without(rest, ratio)
    elif (lean := _PER_CENT_LEAN.search(rest)) and int(lean[1]) <= 100:
        fat, rest = 100 - int(lean[1]), _without(rest, lean)
    elif per_cent := _PER_CENT_FAT.search(rest):
        fat, rest = int(per_cent[1]), _without(rest, per_cent)
    elif none := _NO_FAT.search(rest):
        fat, rest = 0, _without(rest, none)
    plain = _PLAIN.search(rest)
    return (_without(rest, plain) if plain else rest), fat, plain is not None


def _without(text: str, match: re.Match[str]) -> str:
    return f"{text[: match.start()]} {text[match.end() :]}".strip(" ,;+")


def _plain_is_no_fat(species: Species | None) -> bool:
    """Lean game ground "plain" has no fat added; a hog's or steer's is only unseasoned."""
    return species is None or species.klass not in ("beef", "pork", "lamb", "poultry")


def _ambiguous(shown: str, question: Question, reader: Reader) -> AmbiguousWord | UnknownWord:
    choices = list(_offers(question, reader))
    if len(choices) < 2:  # its senses are of other animals
        near = [words for words, _ in choices]
        of_it = f"a cut of {reader.species.name.lower()}" if reader.species else "a cut known"
        hint = f" Did you mean {near[0]}?" if near else ""
        return UnknownWord(f"{shown!r} is not {of_it} here.{hint}", word=shown, near=near)
    offered = "".join(f"\n  {words} - {meaning}" for words, meaning in choices)
    return AmbiguousWord(
        f"{shown!r} stands for more than one thing. Say which:{offered}", word=shown, choices=choices
    )


def _offers(question: Question, reader: Reader) -> Iterator[tuple[str, str]]:
    seen: set[str] = set()
    pairs = [*question.choices, *((_words_for(sense, reader), "") for sense in question.senses)]
    for words, meaning in pairs:
        found = reader.offered(words)
        if found and words not in seen:
            seen.add(words)
            yield words, meaning or found.cut.meaning


def _words_for(sense: Sense, reader: Reader) -> str:
    """Words that stand for ``sense`` and nothing else, seen from the reader's animal."""
    name = display_name(sense.cut, sense.form)
    name = name[0].lower() + name[1:]
    prefixes = [sense.species.name] if sense.species else []
    prefixes += [each.name for each in species_list() if sense.cut.klasses and sense.cut.comes_from(each)]
    for words in (name, sense.cut.key, *(f"{prefix.lower()} {name}" for prefix in prefixes)):
        found = reader.offered(words)
        if found and (found.cut, found.form) == (sense.cut, sense.form):
            return words
    return name


def _unknown(text: str, phrase: str, species: Species | None, extra: Mapping[str, str]) -> UnknownWord:
    shown = text.strip()
    folded = squash(tokens(phrase))
    if not folded:
        given = f"{shown!r} is no cut: it has no letters" if shown else "No cut was given"
        return UnknownWord(f"{given}. A cut looks like backstrap, or sirloin tip roast.", word=shown)
    if folded in form_words():
        name = form_words()[folded][0].name
        return UnknownWord(
            f"{shown!r} names a form, not a cut. Say the cut with it, such as backstrap {name}.", word=shown
        )
    if folded in species_words():
        return UnknownWord(
            f"{shown!r} names the animal, not the cut. Say the cut, such as {_of_it(shown, folded)}.", word=shown
        )
    near = near_words(phrase, species, extra)
    hint = f" Did you mean {', '.join(near)}?" if near else ""
    if not near or shown.casefold().startswith(f"{near[0].casefold()} "):
        hint += f' Any food goes in as other "{shown if near else "your own words"}".'
    return UnknownWord(f"{shown!r} is not a cut known here.{hint}", word=shown, near=near)


def _of_it(shown: str, folded: str) -> str:
    """A cut or two of the animal that was named, as examples."""
    klass = species_words()[folded].klass
    if klass in ("big-game", "beef", "pork", "lamb"):
        return {"lamb": "stew meat or ground", "pork": "bacon or ground", "big-game": "backstrap or ground"}.get(
            klass, "chuck roast or ground"
        )
    part = {"fish": " or fillet", "small-game": ""}.get(klass, " or breast")
    return f"whole {shown.lower()}{part}"


def resolve_form(text: str) -> Form:
    """The form that ``text`` names.

    Raises: UnknownWord with near words.
    """
    found = form_words().get(squash(tokens(text)))
    if found:
        return found[0]
    from rapidfuzz import process

    names = [each.name for each in forms()]
    near = [name for name, _, _ in process.extract(text.casefold(), names, limit=5, score_cutoff=60)]
    hint = f"Did you mean {', '.join(near)}?" if near else f"A form is one of: {', '.join(names)}."
    raise UnknownWord(f"{text.strip()!r} is not a form. {hint}", word=text.strip(), near=near)


def form_together(said: Form, before: Form | None) -> Form:
    """What a form said after the words of a cut makes of the form in those: "loin chops", bone-in, are bone-in chops.

    Only bone-in and boneless say no shape of their own; any other form takes the place of the one before.
    """
    if before is None or said.key not in ("bone-in", "boneless"):
        return said
    return next((each for each in forms() if each.key == f"{said.key}-{before.key}"), said)


def is_of_one_animal(cut: Cut, form: Form | None) -> bool:
    """Whether it is meat of one piece, as a chop is; ground meat, stew and dishes may be of several animals."""
    return keeps_as(cut, form) in _OF_ONE_ANIMAL


def keeps_spine(cut: Cut, form: Form | None) -> bool:
    """Whether a piece holds backbone, or may: by its cut, or as a loin whose form says that the bone is in it."""
    key = form.key if form else ""
    return "boneless" not in key and (
        cut.spine_bone or (cut.primal == "loin" and key.startswith(("bone-in", "rack")))
    )


def matching_cuts(
    text: str, species: Species | None = None, extra: Mapping[str, str] = _NO_WORDS
) -> tuple[Match, ...]:
    """Everything a word looked for may mean: an ambiguous word gives several, a form alone any cut in that form.

    Raises: UnknownWord with near words; InputError when the text names another animal.
    """
    phrase, _, plain = _take_fat(text)
    reader = Reader(species, extra)
    found = (reader.read(text) if plain else None) or reader.read(phrase)
    matches: list[Match] = []
    if isinstance(found, Sense):
        matches = [Match(cut=found.cut, form=found.form, species=found.species, called=found.called)]
    elif found:
        offered = (reader.offered(words) for words, _ in _offers(found, reader))
        matches = [
            Match(cut=each.cut, form=each.form, species=each.species, called=each.called) for each in offered if each
        ]
    elif phrase != " ".join(text.casefold().split()) and not tokens(phrase):
        matches = [Match(cut=cut("ground"), form=None)]
    matches += [Match(cut=None, form=each) for each in form_words().get(squash(tokens(phrase)), ())]
    if not matches:
        raise _unknown(text, phrase, species, extra)
    return tuple(dict.fromkeys(matches))


def neighbours(of: Cut) -> tuple[Cut, ...]:
    """The cuts to offer as "nearby" when ``of`` is not there, nearest first."""
    return tuple(cut(key) for key in of.near)


def display_name(cut: Cut, form: Form | None, other_words: str | None = None, *, plural: bool = False) -> str:
    """What people see: ``Backstrap half``, ``Loin chops``; the household's own words where it has some.

    With ``plural``, of several packs: ``Backstrap halves``, ``Tenderloins``.
    """
    if other_words and other_words.strip():
        words = other_words.strip()
        said = form is None or {form.name.casefold(), form.plural_name.casefold()} & set(words.casefold().split())
        return words if said or form is None else f"{words} {form.plural_name if plural else form.name}"
    if form is None:
        return cut.plural_name if plural else cut.name
    return f"{cut.name} {form.plural_name if plural else form.name}"


def piece_word(cut: Cut, form: Form | None, count: int) -> str:
    """What ``count`` pieces of it are called: ``chops``, ``breast``, ``pieces``."""
    one, several = "piece", "pieces"
    if form and form.piece != "piece":
        one, several = form.piece, form.pieces
    elif cut.piece:
        one, several = cut.piece, cut.pieces
    return one if count == 1 else several


def keeps_as(cut: Cut, form: Form | None) -> str:
    """The class of food that keeping times are looked up under: ``steak``, ``roast``, ``ground``, ``organ``...

    A form overrides the cut's own class only over the classes the table names: backstrap steaks keep as steak, sliced
    liver stays organ.
    """
    if form and form.keeps_as and cut.keeps_as in form.keeps_as_over:
        return form.keeps_as
    return cut.keeps_as


@lru_cache(maxsize=1)
def _packs() -> Mapping[str, tuple[tuple[tuple[str, ...], bool, Decimal, Decimal], ...]]:
    found: dict[str, tuple[tuple[tuple[str, ...], bool, Decimal, Decimal], ...]] = dict.fromkeys(all_cuts(), ())
    for row in read_rows("packs.csv"):
        pack = (cell_list(row["klasses"]), row["size"] == "big", Decimal(row["lo_lb"]), Decimal(row["hi_lb"]))
        found[row["cut"]] += (pack,)
    return found


def usual_pack_lb(cut: Cut, species: Species | None) -> tuple[Decimal, Decimal] | None:
    """The least and most that a usual pack of it weighs, in pounds; None when no figure is known for that animal.

    Source: packs.csv.  Elk, moose and bison have sizes of their own; where none is given, those of deer stand.
    """
    if species is None:
        return None
    for_it = [pack for pack in _packs()[cut.key] if species.klass in pack[0] or species.key in pack[0]]
    wanted = [pack for pack in for_it if pack[1] == species.big] or [pack for pack in for_it if not pack[1]]
    return (wanted[0][2], wanted[0][3]) if wanted else None


def heaviest_usual_pack_lb() -> Decimal:
    """The most that a usual pack of any cut weighs, in pounds: a whole ham.  Source: packs.csv."""
    return max(pack[3] for packs in _packs().values() for pack in packs)
