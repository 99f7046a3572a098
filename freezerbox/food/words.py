"""Reading the words people use: folding them, and finding what they stand for.

Case, hyphens, spaces, accents and a plural at the end make no difference: "Back-straps" is "backstrap".  Words
whose plural means another thing ("ribs" is not "rib") are marked ``keep_plural`` in words.csv and keep their ending.

A phrase is looked for whole, then as a cut and a form ("sirloin tip roast", "boneless loin chops"), then with
a species taken out of it ("pork chops").  Nothing here guesses: a phrase of several senses is a `Question`.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from freezerbox.errors import InputError
from freezerbox.food.called import COLLECTIVE, called_words, plain
from freezerbox.food.kinds import Cut, Form, Species, all_cuts, all_forms, all_species, cell_list, in_use
from freezerbox.food.tables import read_rows

_FILLERS = frozenset(("of", "the", "a", "an", "and"))
_ES_ENDINGS = ("ches", "shes", "sses", "xes", "zes")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sense:
    """What a phrase stands for.

    cut      the cut
    form     the form it names; None: no form said
    fat      fat per cent it names, 0 for none; None: not said
    species  the species it names; None: not said
    called   the name that says more than the cut: chili, of a cooked dish; empty: the word is one for the cut
    """

    cut: Cut
    form: Form | None = None
    fat: int | None = None
    species: Species | None = None
    called: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A phrase that stands for several things.

    choices  (what to type instead, plain meaning; an empty meaning is the cut's own)
    senses   more of them that the table gives no words for
    """

    choices: tuple[tuple[str, str], ...] = ()
    senses: tuple[Sense, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entry:
    klasses: tuple[str, ...]
    found: Sense | Question
    canonical: bool = False


_Read = Callable[[Sequence[str]], "Sense | Question | None"]


def tokens(text: str) -> list[str]:
    """The words of ``text``, folded: no case, accents, hyphens, fillers or plural endings.

    >>> tokens("Eyes of the Round"), tokens("back-straps"), tokens("Spare ribs")
    (['eye', 'round'], ['back', 'strap'], ['spare', 'ribs'])
    """
    words = re.sub(r"[^a-z0-9]+", " ", plain(text)).split()
    return [fold(word) for word in words if word not in _FILLERS]


def fold(word: str) -> str:
    """``word`` without its plural ending."""
    if word in _kept_plurals() or len(word) < 4 or word.endswith("ss"):
        return word
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith("lves"):
        return word[:-3] + "f"
    if word.endswith(_ES_ENDINGS):
        return word[:-2]
    return word.removesuffix("s")


@lru_cache(maxsize=1)
def _kept_plurals() -> frozenset[str]:
    return frozenset(row["word"] for row in read_rows("words.csv") if row["keep_plural"])


def squash(words: Iterable[str]) -> str:
    """Folded words as one, so that "back strap" and "backstrap" meet."""
    return "".join(words)


@lru_cache(maxsize=1)
def lexicon() -> Mapping[str, tuple[_Entry, ...]]:
    """Every phrase the tables know, squashed, with what it stands for and for which animals."""
    found: defaultdict[str, list[_Entry]] = defaultdict(list)
    for each in all_cuts().values():
        sense = Sense(cut=in_use(each, all_cuts()))
        names = {squash(tokens(name)) for name in (each.name, each.plural_name)}
        for name in names:
            found[name].append(_Entry(klasses=each.klasses, found=sense, canonical=True))
        if squash(tokens(each.key)) not in names:
            found[squash(tokens(each.key))].append(_Entry(klasses=(), found=sense, canonical=True))
    for row in read_rows("words.csv"):
        found[squash(tokens(row["word"]))].append(
            _Entry(klasses=cell_list(row["klasses"]), found=_question(row) if row["ask"] else _sense(row))
        )
    return {phrase: tuple(entries) for phrase, entries in found.items()}


def _sense(row: dict[str, str]) -> Sense:
    return Sense(
        cut=in_use(all_cuts()[row["cut"]], all_cuts()),
        form=all_forms()[row["form"]] if row["form"] else None,
        fat=int(row["fat"]) if row["fat"] else None,
        called=called_words().get(plain(row["word"]), ""),
    )


def _question(row: dict[str, str]) -> Question:
    pairs = (choice.partition("=") for choice in row["choices"].split("|"))
    return Question(choices=tuple((text.strip(), meaning.strip()) for text, _, meaning in pairs))


@lru_cache(maxsize=1)
def form_words() -> Mapping[str, tuple[Form, ...]]:
    """Every word for a form, squashed, with the forms it may mean."""
    found: defaultdict[str, list[Form]] = defaultdict(list)
    for each in all_forms().values():
        for word in dict.fromkeys(squash(tokens(w)) for w in (each.key, each.name, each.plural_name, *each.aliases)):
            found[word].append(each)
    return {word: tuple(those) for word, those in found.items()}


@lru_cache(maxsize=1)
def species_words() -> Mapping[str, Species]:
    """Every word for a species, squashed."""
    return {
        squash(tokens(word)): each
        for each in all_species().values()
        for word in (each.key, each.name, each.label_name, *each.aliases)
        if word
    }


def spans(words: Sequence[str]) -> Iterator[tuple[list[str], list[str]]]:
    """Each run of words within ``words`` with the rest of them: longest run first, then leftmost."""
    for length in range(len(words) - 1, 0, -1):
        for start in range(len(words) - length + 1):
            yield list(words[start : start + length]), [*words[:start], *words[start + length :]]


class Reader:
    """Finds the sense of phrases, seen from one species (None: not known) and one household's own words."""

    def __init__(self, species: Species | None, extra: Mapping[str, str]) -> None:
        self.species = species
        self._own = {squash(tokens(word)): target for word, target in extra.items()}
        self._extra = extra
        self._open: set[str] = set()

    def read(self, text: str) -> Sense | Question | None:
        """What ``text`` stands for; None when the tables do not know it.

        Raises: InputError when it names another animal than the one it is seen from.
        """
        return self.parse(tokens(text))

    def offered(self, text: str) -> Sense | None:
        """The one sense of a choice that a question offers; None when it does not stand for this animal."""
        if text in self._open:  # a question must not be answered by itself
            return None
        self._open.add(text)
        try:
            found = self.read(text)
        except InputError:
            return None
        finally:
            self._open.discard(text)
        return found if isinstance(found, Sense) else None

    def parse(self, words: Sequence[str]) -> Sense | Question | None:
        """The same for words already folded."""
        if not words:
            return None
        found = self._whole(words)
        if found is None or (isinstance(found, Question) and self._only_in_general(words)):
            found = self._with_form(words, self._whole) or found or self._with_species(words)
        if found is None and self.species:
            found = self._of_others(words) or self._with_form(words, self._of_others)
        if isinstance(found, Sense) and found.species is None:
            return replace(found, species=_species_within(words, found.cut))
        return found

    def _whole(self, words: Sequence[str]) -> Sense | Question | None:
        """What the phrase stands for with this animal, or with any."""
        phrase = squash(words)
        if phrase in self._own:
            return self._own_sense(phrase)
        entries = lexicon().get(phrase, ())
        if self.species and self.species.klass != "other":
            for word in (self.species.key, self.species.klass):
                if for_it := [entry for entry in entries if word in entry.klasses]:
                    return _settle(for_it)
            for_any = [entry for entry in entries if not entry.klasses]
            return _settle(for_any) if for_any else None
        asked = [entry for entry in entries if not entry.klasses and isinstance(entry.found, Question)]
        names = [entry for entry in entries if entry.canonical]
        for level in (asked, names, entries):
            if level:
                return _settle(level)
        return None

    def _own_sense(self, phrase: str) -> Sense | Question | None:
        """What a word of the household's own stands for; of a food of many kinds, such as a dish, it is the name."""
        found = Reader(self.species, {}).read(self._own[phrase])
        if isinstance(found, Sense) and not found.called and found.cut.keeps_as in COLLECTIVE:
            return replace(found, called=next(word for word in self._extra if squash(tokens(word)) == phrase))
        return found

    def _only_in_general(self, words: Sequence[str]) -> bool:
        """Whether the table says nothing of the phrase for this very animal, so that its parts may say more."""
        if self.species is None or self.species.klass == "other":
            return False
        own = {self.species.key, self.species.klass}
        return not any(own.intersection(entry.klasses) for entry in lexicon().get(squash(words), ()))

    def _of_others(self, words: Sequence[str]) -> Sense | Question | None:
        """What the phrase stands for with other animals, unless it names one of them: "picanha" on a deer."""
        named = (species_words().get(squash(run)) for run, _ in spans(words))
        if self.species and any(each and not alike(self.species, each) for each in named):
            return None
        entries = lexicon().get(squash(words), ())
        return _settle([entry for entry in entries if entry.canonical] or entries) if entries else None

    def _with_form(self, words: Sequence[str], read: _Read) -> Sense | Question | None:
        """A cut and a form, in any order; the cut is what ``read`` makes of the rest."""
        for inner, outer in spans(words):
            forms = form_words().get(squash(outer))
            found = read(inner) if forms else None
            if not forms or found is None:
                continue
            if isinstance(found, Question):
                return self._question_with_form(found, forms[0])
            form = next((each for each in forms if each.key in found.cut.forms), forms[0])
            if found.form in (None, form):
                return replace(found, form=form)
        return None

    def _question_with_form(self, asked: Question, form: Form) -> Question:
        choices = []
        for text, meaning in asked.choices:
            found = self.offered(text)
            if found is None:
                continue
            built_in = form_words().get(tokens(found.cut.name)[-1], ())
            if found.form is None and not built_in:
                choices.append((f"{text} {form.name}", meaning))
            elif form in (found.form, *built_in):
                choices.append((text, meaning))
        senses = tuple(replace(sense, form=form) for sense in asked.senses if sense.form in (None, form))
        return Question(choices=tuple(choices), senses=senses) if len(choices) + len(senses) > 1 else asked

    def _with_species(self, words: Sequence[str]) -> Sense | Question | None:
        for inner, outer in spans(words):
            named = species_words().get(squash(inner))
            if named is None:
                continue
            fits = self.species is None or alike(self.species, named)
            seen_from = self.species if self.species and self.species.klass != "other" and fits else named
            found = Reader(seen_from, self._extra).parse(outer)
            if found and not fits and self.species:
                raise InputError(
                    f"The cut says {named.name.lower()!r}, but the animal here is {self.species.name.lower()!r}. "
                    "Give the cut alone, or another animal or species.",
                    value=" ".join(words),
                )
            if isinstance(found, Sense):
                return replace(found, species=found.species or named)
            if found:
                prefix = "" if self.species else f"{named.name.lower()} "
                choices = tuple((prefix + text, meaning) for text, meaning in found.choices)
                senses = tuple(replace(sense, species=named) for sense in found.senses)
                return Question(choices=choices, senses=senses)
        return None


def _species_within(words: Sequence[str], cut: Cut) -> Species | None:
    """The species named inside a phrase that the table knows whole, if the cut comes from it: "pork steak"."""
    for run, _ in spans(words):
        named = species_words().get(squash(run))
        if named and cut.comes_from(named):
            return named
    return None


def alike(first: Species, second: Species) -> bool:
    """Whether two species words may be said of one animal: the same, one the wider word, or any food."""
    same = first.key == second.key or "other" in (first.klass, second.klass)
    return same or first.kind_of == second.key or second.kind_of == first.key


def _settle(entries: Sequence[_Entry]) -> Sense | Question:
    senses = tuple(dict.fromkeys(entry.found for entry in entries if isinstance(entry.found, Sense)))
    questions = [entry.found for entry in entries if isinstance(entry.found, Question)]
    if len(senses) == 1 and not questions:
        return senses[0]
    choices = dict.fromkeys(choice for question in questions for choice in question.choices)
    return Question(choices=tuple(choices), senses=senses)
