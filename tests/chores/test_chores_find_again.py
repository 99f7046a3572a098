"""What went in is found again: by its cut's name, by its animal, by the wider word, by where it lies."""

from __future__ import annotations

import pytest

from freezerbox.chores import animals, pack, places
from freezerbox.chores.find import find
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.rows import Row
from freezerbox.errors import AmbiguousWord, InputError, UnknownWord
from freezerbox.food import cuts
from tests.conftest import Stocked


def packed(kitchen: Kitchen, words: Words, weight: str = "x") -> Row:
    return pack.write(kitchen, pack.prepare(kitchen, words, [weight]), yes=True).rows[0]


def found(kitchen: Kitchen, words: str) -> set[str]:
    return {row.code for row in find(kitchen.afresh(), words).rows}


def test_every_cut_of_every_kind_of_animal_is_found_by_its_name(kitchen: Kitchen) -> None:
    one_a_class = {each.klass: each for each in cuts.species_list()}
    rows: list[Row] = []
    for cut in cuts.cuts():
        if cut.key == "other" or cut.retired_to:
            continue
        for species in one_a_class.values():
            if not cut.comes_from(species):
                continue
            try:
                rows.append(packed(kitchen, Words(cut=cut.name, species=species.name)))
            except (AmbiguousWord, InputError, UnknownWord):
                # A name that asks, of that animal: its key says the one cut.
                rows.append(packed(kitchen, Words(cut=cut.key, species=species.name)))
    assert len(rows) > 150
    seen: dict[str, set[str]] = {}
    lost = []
    for row in rows:
        words = cuts.cut(row.package.cut).name
        if words not in seen:
            seen[words] = found(kitchen, words)
        if row.code not in seen[words]:
            lost.append((words, row.species_name))
    assert not lost, lost


@pytest.mark.parametrize(
    ("words", "animal", "other"),
    [
        ("shank", "whitetail", "salmon"), ("shanks", "elk", "salmon"), ("neck", "moose", "salmon"),
        ("shank", "bear", "salmon"), ("ribs", "elk", "salmon"), ("shoulder", "beef", "salmon"),
    ],
)  # fmt: skip
def test_a_word_of_several_animals_finds_each(kitchen: Kitchen, words: str, animal: str, other: str) -> None:
    cut = {"shoulder": "shoulder clod"}.get(words, words)
    row = packed(kitchen, Words(cut=cut, species=animal))
    packed(kitchen, Words(cut="fillet", species=other))
    assert found(kitchen, words) == {row.code}


def test_the_animal_narrows(kitchen: Kitchen) -> None:
    deer, beef = (packed(kitchen, Words(cut="shank", species=each)) for each in ("whitetail", "beef"))
    assert found(kitchen, "shank") == {deer.code, beef.code}
    assert found(kitchen, "beef shank") == {beef.code}
    assert found(kitchen, "deer shank") == {deer.code}
    assert found(kitchen, "venison") == {deer.code}
    assert found(kitchen, "whitetail") == {deer.code}
    assert found(kitchen, "elk") == set()


def test_a_place_of_many_words(kitchen: Kitchen) -> None:
    places.add_place(kitchen, "the long blue basket under the left lid")
    row = packed(kitchen, Words(cut="heart", species="elk", place="the long blue basket under the left lid"))
    packed(kitchen, Words(cut="heart", species="elk"))
    assert found(kitchen, "the long blue basket under the left lid") == {row.code}
    assert found(kitchen, "elk heart in the long blue basket under the left lid") == {row.code}


def test_words_of_the_record(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    backstraps, chops = ({row.code for row in rows} for rows in (stocked.backstraps, stocked.chops))
    ground = {row.code for row in stocked.ground}
    for words, codes in (
        ("backstrap", backstraps),
        ("backstraps", backstraps),
        ("26b", backstraps),
        ("26B backstrap", backstraps),
        ("held", backstraps),
        ("doe", backstraps),
        ("whitetail doe", backstraps),
        ("deer", backstraps | ground),
        ("red bag", backstraps | ground),
        ("chops", chops),
        ("half hog", chops),
        ("pork", chops),
        ("ground, plain", ground),
        ("ground no fat", ground),
        ("mar 2026", ground),
        ("nov 2025", {stocked.roast.code}),
        (f"{stocked.roast.code}", {stocked.roast.code}),
        ("elk backstrap", set()),
    ):
        assert found(kitchen, words) == codes, words


def test_a_note_an_owner_a_seasoning(kitchen: Kitchen) -> None:
    anna = packed(kitchen, Words(cut="ground", species="elk", owner="Anna"))
    noted = packed(kitchen, Words(cut="ground", species="elk", note="the tough one", seasoning="sage"))
    assert found(kitchen, "ground") == {noted.code}
    assert {row.code for row in find(kitchen, "ground", everyone=True).rows} == {anna.code, noted.code}
    assert {row.code for row in find(kitchen, "anna", everyone=True).rows} == {anna.code}
    assert found(kitchen, "tough") == found(kitchen, "sage") == {noted.code}


def test_what_was_packed_under_words_of_ones_own_is_found_by_each(kitchen: Kitchen) -> None:
    chili = packed(kitchen, Words(cut="other", other="Grandma's red chili"))
    chilis = packed(kitchen, Words(cut="other", other="chilis, dried"))
    dish = packed(kitchen, Words(cut="cooked dish"))
    # A chili is a cooked dish to the trade, and no cooked dish is a chili for that; nothing half so called is one.
    assert found(kitchen, "chili") == {chili.code}
    assert dish.code in {row.code for row in find(kitchen, "chili").nearby}
    assert found(kitchen, "red chili") == found(kitchen, "grandma's") == {chili.code}
    assert chilis.code not in found(kitchen, "chili")


def test_nearby_is_apart(stocked: Stocked) -> None:
    kitchen = stocked.kitchen
    near = find(kitchen, "tenderloin")
    assert near.rows == ()
    assert {row.code for row in near.nearby} >= {row.code for row in stocked.backstraps}
    assert near.totals.packages == 0


def test_an_animal_added_later_is_a_word_at_once(kitchen: Kitchen) -> None:
    with pytest.raises(UnknownWord):
        find(kitchen, "26Q")
    animals.add_animal(kitchen, animals.NewAnimal(code="26Q", species="elk"))
    assert find(kitchen.afresh(), "26q").rows == ()


@pytest.mark.parametrize("words", ["backstrap and tenderloin", "all the backstrap and any of the tenderloin"])
def test_the_small_words_between_are_no_part_of_a_note_or_a_place(kitchen: Kitchen, words: str) -> None:
    for name in ("Forward shelf", "Theo's corner", "Andiron box"):
        places.add_place(kitchen.afresh(), name)
    loin = packed(kitchen.afresh(), Words(cut="backstrap", species="whitetail"))
    other = packed(kitchen.afresh(), Words(cut="tenderloin", species="whitetail", place="Theo's corner"))
    packed(
        kitchen.afresh(), Words(cut="backstrap", species="whitetail", note="small, for the candles", owner="Forde")
    )
    noted = packed(kitchen.afresh(), Words(cut="tenderloin", species="whitetail", note="small, for the candles"))
    wanted = {loin.code, other.code, noted.code}
    assert found(kitchen, words) == wanted
    # A place is still said by the beginning of its name.
    assert found(kitchen, "tenderloin in theo's") == {other.code}
    assert found(kitchen, "all") == wanted
