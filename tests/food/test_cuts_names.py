"""Names written and read back, finding, species words, usual packs, keeping classes."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest

from freezerbox.errors import AmbiguousWord, UnknownWord
from freezerbox.food.cuts import (
    Cut,
    cut,
    cuts,
    display_name,
    form,
    forms,
    keeps_as,
    matching_cuts,
    neighbours,
    piece_word,
    resolve_cut,
    resolve_form,
    resolve_species,
    species,
    species_list,
    usual_pack_lb,
)


@pytest.mark.parametrize("each", cuts(), ids=lambda each: each.key)
def test_what_is_displayed_reads_back_as_the_same_cut_and_form(each: Cut) -> None:
    for animal in species_list():
        if not each.comes_from(animal):
            continue
        for shape in (None, *(form(key) for key in each.forms)):
            for plural in (False, True):
                name = display_name(each, shape, plural=plural)
                found = resolve_cut(name, animal)
                assert (found.cut, found.form) == (each, shape), f"{name} of {animal.key}"


@pytest.mark.parametrize("each", cuts(), ids=lambda each: each.key)
def test_a_name_without_a_species_is_the_same_cut_or_a_question(each: Cut) -> None:
    for shape in (None, *(form(key) for key in each.forms)):
        try:
            found = resolve_cut(display_name(each, shape), None)
        except AmbiguousWord:
            continue
        assert (found.cut, found.form) == (each, shape)


def test_case_hyphens_spaces_and_plurals_make_no_difference() -> None:
    chance = random.Random(17)
    for each in cuts():
        animal = next(beast for beast in species_list() if each.comes_from(beast))
        for name in (each.key, each.name, each.plural_name):
            typed = "".join(chance.choice((letter.upper(), letter.lower())) for letter in name)
            typed = typed.replace(" ", chance.choice((" ", "-", "  ", "_"))) + chance.choice(("", " ", "."))
            assert resolve_cut(typed, animal).cut == each, typed


def test_names() -> None:
    assert display_name(cut("loin"), form("chops")) == "Loin chops"
    assert display_name(cut("sirloin-tip"), form("roast")) == "Sirloin tip roast"
    assert display_name(cut("backstrap"), form("half")) == "Backstrap half"
    assert display_name(cut("backstrap"), form("half"), plural=True) == "Backstrap halves"
    assert display_name(cut("tenderloin"), None, plural=True) == "Tenderloins"
    assert display_name(cut("ground"), None) == "Ground"
    assert display_name(cut("other"), None, " chili, mild ") == "chili, mild"
    assert display_name(cut("other"), None, "  ") == "Other"


def test_pieces_are_called_by_the_form_then_by_the_cut() -> None:
    assert piece_word(cut("loin"), form("chops"), 4) == "chops"
    assert piece_word(cut("loin"), form("chops"), 1) == "chop"
    assert piece_word(cut("breast"), None, 3) == "breasts"
    assert piece_word(cut("breast"), form("half"), 4) == "halves"
    assert piece_word(cut("breast"), form("boneless"), 1) == "breast"
    assert piece_word(cut("flank"), None, 2) == "pieces"


@pytest.mark.parametrize(
    ("cut_key", "form_key", "expected"),
    [
        ("backstrap", None, "roast"),
        ("backstrap", "whole", "roast"),
        ("backstrap", "half", "roast"),
        ("backstrap", "steaks", "steak"),
        ("backstrap", "medallions", "steak"),
        ("backstrap", "chops", "chop"),
        ("loin", "chops", "chop"),
        ("loin", "boneless-chops", "chop"),
        ("top-round", "cubes", "stew"),
        ("sirloin-tip", "kebab", "stew"),
        ("neck", "ground", "ground"),
        ("ground", None, "ground"),
        ("ground", "patties", "ground"),
        ("breakfast-sausage", "patties", "raw-sausage"),
        ("liver", "slices", "organ"),
        ("whole-bird", None, "whole"),
        ("whole-bird", "half", "pieces"),
        ("breast", "half", "pieces"),
        ("fish-fillet", "portions", "fish"),
        ("cured-ham", "steaks", "ham-cured"),
        ("trim", "ground", "ground"),
        ("dog-scraps", None, "trim"),
    ],
)
def test_keeping_class_of_a_cut_and_form(cut_key: str, form_key: str | None, expected: str) -> None:
    assert keeps_as(cut(cut_key), form(form_key) if form_key else None) == expected


def _found(text: str, animal: str = "") -> set[tuple[str, str]]:
    found = matching_cuts(text, species(animal) if animal else None)
    return {(match.cut.key if match.cut else "", match.form.key if match.form else "") for match in found}


@pytest.mark.parametrize("word", ["backstrap", "back straps", "BS", "outside loin"])
def test_finding_backstrap_by_any_word_does_not_mix_in_tenderloin(word: str) -> None:
    """Scenario 6 of the needs."""
    assert _found(word) == {("backstrap", "")}
    assert cut("tenderloin") in neighbours(cut("backstrap"))


def test_loins_of_a_deer_are_backstrap_alone() -> None:
    assert _found("loins", "whitetail") == {("backstrap", "")}
    assert ("tenderloin", "") not in _found("loins")


def test_finding_an_ambiguous_word_gives_every_cut_it_may_mean() -> None:
    assert _found("fillet", "whitetail") == {("tenderloin", ""), ("backstrap", ""), ("", "fillets")}
    assert {("sirloin-tip", ""), ("top-sirloin", ""), ("strip-loin", "")} <= _found("sirloin")


def test_finding_a_form_gives_any_cut_in_it() -> None:
    assert ("", "steaks") in _found("steaks")
    assert ("", "patties") in _found("patties")
    assert _found("kebab", "whitetail") == {("kebab-meat", ""), ("", "kebab")}


def test_finding_a_species_and_cut_tells_the_species() -> None:
    (match,) = matching_cuts("pork tenderloin")
    assert match.species == species("pork")
    assert match.cut == cut("tenderloin")


def test_finding_what_is_not_known_proposes() -> None:
    with pytest.raises(UnknownWord) as unknown:
        matching_cuts("backstarp")
    assert unknown.value.near[0] == "backstrap"


@pytest.mark.parametrize(
    ("text", "key", "sex_age"),
    [
        ("whitetail doe", "whitetail", "doe"),
        ("White-tailed deer", "whitetail", ""),
        ("mule deer buck", "mule-deer", "buck"),
        ("deer", "deer", ""),
        ("venison", "deer", ""),
        ("deer, doe", "deer", "doe"),
        ("button buck whitetail", "whitetail", "button buck"),
        ("fawn", "deer", "fawn"),
        ("cow elk", "elk", "cow"),
        ("bull moose", "moose", "bull"),
        ("pig", "pork", ""),
        ("half hog", "pork", ""),
        ("hog barrow", "pork", "barrow"),
        ("barrow", "pork", "barrow"),
        ("half a hog", "pork", ""),
        ("side of beef", "beef", ""),
        ("quarter beef", "beef", ""),
        ("steer", "beef", "steer"),
        ("half steer", "beef", "steer"),
        ("cow", "beef", "cow"),
        ("heifer", "beef", "heifer"),
        ("wild boar", "wild-pig", ""),
        ("wild pig sow", "wild-pig", "sow"),
        ("bear boar", "bear", "boar"),
        ("mutton", "lamb", ""),
        ("lamb ewe", "lamb", "ewe"),
        ("wild turkey hen", "wild-turkey", "hen"),
        ("mallard drake", "wild-duck", "drake"),
        ("pheasants", "pheasant", ""),
        ("geese", "goose", ""),
        ("red deer stag", "red-deer", "stag"),
        ("stag", "red-deer", "stag"),
        ("coho", "salmon", ""),
        ("tuna", "other-fish", ""),
        ("other", "other", ""),
    ],
)
def test_species_and_its_sex_and_age(text: str, key: str, sex_age: str) -> None:
    assert resolve_species(text) == (species(key), sex_age)


@pytest.mark.parametrize("text", ["bull", "boar", "doe", "buck", "ram", "hen", "drake", "calf"])
def test_a_sex_word_that_animals_share_asks_and_its_choices_resolve(text: str) -> None:
    with pytest.raises(AmbiguousWord) as asked:
        resolve_species(text)
    found = {resolve_species(choice) for choice, _ in asked.value.choices}
    assert len(found) == len(asked.value.choices) >= 2
    assert {said for _, said in found} == {text}


def test_every_species_reads_by_key_name_and_alias() -> None:
    for each in species_list():
        for word in (each.key, each.name, *each.aliases):
            assert resolve_species(word) == (each, ""), word


@pytest.mark.parametrize(("text", "near"), [("whitetial", "Whitetail deer"), ("elkk", "Elk"), ("chiken", "Chicken")])
def test_a_misspelt_species_proposes(text: str, near: str) -> None:
    with pytest.raises(UnknownWord) as unknown:
        resolve_species(text)
    assert near in unknown.value.near


@pytest.mark.parametrize("text", ["", "young", "half", "zzzzzz"])
def test_what_names_no_species_is_refused(text: str) -> None:
    with pytest.raises(UnknownWord):
        resolve_species(text)


def test_forms_read_by_any_of_their_words() -> None:
    for each in forms():
        for word in (each.key, each.name, each.plural_name):
            assert resolve_form(word) == each
    assert resolve_form("spatchcocked") == form("butterflied")
    assert resolve_form("Osso buco") == form("cross-cut")
    with pytest.raises(UnknownWord) as unknown:
        resolve_form("staeks")
    assert "steaks" in unknown.value.near


@pytest.mark.parametrize(
    ("cut_key", "animal", "lo", "hi"),
    [
        ("backstrap", "whitetail", "0.6", "1.5"),
        ("backstrap", "elk", "1", "2"),
        ("tenderloin", "deer", "0.3", "0.8"),
        ("sirloin-tip", "moose", "2", "5"),
        ("rib-rack", "elk", "1", "3"),  # one size for all in the notes
        ("ground", "whitetail", "1", "2"),
        ("chuck-roast", "beef", "2", "4"),
        ("boston-butt", "pork", "3", "11"),
        ("loin", "pork", "1", "2.6"),
    ],
)
def test_usual_pack_as_the_notes_give_it(cut_key: str, animal: str, lo: str, hi: str) -> None:
    """Source: household vocabulary notes, part d."""
    assert usual_pack_lb(cut(cut_key), species(animal)) == (Decimal(lo), Decimal(hi))


@pytest.mark.parametrize(
    ("cut_key", "animal"),
    [("tenderloin", "beef"), ("sirloin-cap", "whitetail"), ("other", "other"), ("breast", "duck")],
)
def test_no_pack_is_made_up_where_no_figure_is_known(cut_key: str, animal: str) -> None:
    assert usual_pack_lb(cut(cut_key), species(animal)) is None
    assert usual_pack_lb(cut(cut_key), None) is None
