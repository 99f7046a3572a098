"""What a package's symbol says: the record that goes in comes out, for everything the tables know."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from freezerbox.core.code import Code
from freezerbox.core.mass import (
    LARGEST_MG,
    MG_PER_G,
    MG_PER_KG,
    MG_PER_LB,
    MG_PER_OZ,
    MassUnit,
    parse_mass,
    show_mass,
)
from freezerbox.core.symbol import (
    ALPHANUMERIC,
    ANIMALS,
    CUTS,
    DAYS,
    EPOCH,
    FORMS,
    PIECES,
    RECORD_LENGTH,
    SPECIES,
    TEXT_LENGTH,
    VERSIONS,
    WEIGHTS,
    SymbolRecord,
    nearest_weight,
    read_symbol,
    symbol_text,
    weights,
)
from freezerbox.errors import InvalidCode
from freezerbox.food.kinds import all_cuts, all_forms, all_species
from tests.strategies import codes, label_days

CODE = Code("K7P3MT")
PLAIN = SymbolRecord(
    cut=1, form=2, species=1, net_mg=408_233, packed_on=date(2026, 11, 21), animal="26B", pieces=None
)

cut_numbers = sorted(cut.number for cut in all_cuts().values())
form_numbers = [0, *sorted(form.number for form in all_forms().values())]
species_numbers = [0, *sorted(one.number for one in all_species().values())]


@st.composite
def records(draw: st.DrawFn) -> SymbolRecord:
    """A record that a label can say whole."""
    packed_on = draw(st.none() | label_days)
    animal = draw(st.sampled_from(("", "*")))
    if packed_on and draw(st.booleans()):
        year = packed_on.year - draw(st.integers(0, 1))
        animal = f"{year % 100:02d}{draw(st.sampled_from('ABCDEFGHIJKLMNOPQRSTUVWXYZ'))}"
    return SymbolRecord(
        cut=draw(st.sampled_from(cut_numbers)),
        form=draw(st.sampled_from(form_numbers)),
        species=draw(st.sampled_from(species_numbers)),
        net_mg=draw(st.none() | st.sampled_from(weights())),
        packed_on=packed_on,
        animal=animal,
        pieces=draw(st.none() | st.integers(1, 10)),
    )


@given(codes, records())
@settings(max_examples=500)
def test_the_record_that_goes_in_comes_out(code: Code, record: SymbolRecord) -> None:
    text = symbol_text(code, record)
    assert len(text) == TEXT_LENGTH
    assert set(text) <= set(ALPHANUMERIC)
    assert read_symbol(text) == (code, record)


def test_every_cut_form_and_species_of_the_tables() -> None:
    for cut in cut_numbers:
        for form in form_numbers:
            record = replace(PLAIN, cut=cut, form=form)
            assert read_symbol(symbol_text(CODE, record)) == (CODE, record)
        for species in species_numbers:
            record = replace(PLAIN, cut=cut, species=species, form=0)
            assert read_symbol(symbol_text(CODE, record)) == (CODE, record)


def test_every_weight() -> None:
    for mg in weights():
        record = replace(PLAIN, net_mg=mg)
        assert read_symbol(symbol_text(CODE, record)) == (CODE, record)


def test_every_day_from_2018_to_the_end_of_2041() -> None:
    for number in range(DAYS - 1):
        record = replace(PLAIN, packed_on=EPOCH + timedelta(days=number), animal="")
        assert read_symbol(symbol_text(CODE, record)) == (CODE, record)
    assert date(2041, 12, 31) == EPOCH + timedelta(days=DAYS - 2)


@pytest.mark.parametrize("day", [date(2017, 12, 31), date(2042, 1, 1), date(1990, 1, 1), date(2080, 1, 1)])
def test_a_day_outside_is_not_known_rather_than_wrong(day: date) -> None:
    found = read_symbol(symbol_text(CODE, replace(PLAIN, packed_on=day)))[1]
    assert found is not None
    assert (found.packed_on, found.animal) == (None, "")


@pytest.mark.parametrize(
    ("animal", "read"),
    [
        ("26B", "26B"),
        ("26b", "26B"),
        ("25Z", "25Z"),
        ("*", "*"),
        ("", ""),
        ("24A", ""),
        ("27A", ""),
        ("26AB", ""),
        ("26B2", ""),
        ("26Ä", ""),
        ("26ß", ""),
        ("²6B", ""),
        ("٢٦B", ""),
    ],
)
def test_an_animal_is_said_whole_or_not_at_all(animal: str, read: str) -> None:
    found = read_symbol(symbol_text(CODE, replace(PLAIN, animal=animal)))[1]
    assert found is not None
    assert found.animal == read


def test_an_animal_of_the_year_before_the_first() -> None:
    record = replace(PLAIN, packed_on=date(2018, 1, 5), animal="17C")
    assert read_symbol(symbol_text(CODE, record)) == (CODE, record)


@pytest.mark.parametrize(("pieces", "read"), [(None, None), (0, None), (1, 1), (10, 10), (11, None), (72, None)])
def test_pieces_beyond_ten_are_not_known(pieces: int | None, read: int | None) -> None:
    found = read_symbol(symbol_text(CODE, replace(PLAIN, pieces=pieces)))[1]
    assert found is not None
    assert found.pieces == read


def test_the_radices_fit_ten_characters_and_are_fixed_for_ever() -> None:
    # Labels outlive programs: these may never change again, whatever the tables grow to.
    assert (VERSIONS, CUTS, FORMS, SPECIES, WEIGHTS, DAYS, ANIMALS, PIECES) == (2, 224, 40, 52, 7001, 8767, 54, 11)
    assert date(2018, 1, 1) == EPOCH
    radices = (VERSIONS, CUTS, FORMS, SPECIES, WEIGHTS, DAYS, ANIMALS, PIECES)
    assert math.prod(radices) <= len(ALPHANUMERIC) ** RECORD_LENGTH
    assert len(weights()) < WEIGHTS
    assert max(cut_numbers) < CUTS
    assert max(form_numbers) < FORMS
    assert max(species_numbers) < SPECIES


@pytest.mark.parametrize(
    ("record", "text"),
    [
        (PLAIN, "K7P3MT04X8XVQO*X"),
        (replace(PLAIN, net_mg=None, animal="*", pieces=10, form=0), "K7P3MT04N1 H%YWC"),
        (
            SymbolRecord(cut=0, form=0, species=0, net_mg=None, packed_on=None, animal="", pieces=None),
            "K7P3MT0000000000",
        ),
        (
            SymbolRecord(
                cut=223,
                form=39,
                species=51,
                net_mg=40_000_000,
                packed_on=date(2041, 12, 31),
                animal="40Z",
                pieces=10,
            ),
            "K7P3MTMK96SL0$W:",
        ),
    ],
)
def test_texts_that_are_out_on_labels_read_the_same_for_ever(record: SymbolRecord, text: str) -> None:
    assert symbol_text(CODE, record) == text
    assert read_symbol(text) == (CODE, record)


def test_a_record_that_does_not_fit_is_never_drawn() -> None:
    for too_big in (replace(PLAIN, cut=CUTS), replace(PLAIN, form=FORMS), replace(PLAIN, species=SPECIES)):
        with pytest.raises(ValueError, match="does not fit"):
            symbol_text(CODE, too_big)


@given(st.integers(1, LARGEST_MG))
@example(1)
@example(500)
@example(40_000_000)
@example(36_287_390)
def test_the_nearest_weight_is_within_half_a_step_of_what_scales_show(mg: int) -> None:
    found = nearest_weight(mg)
    assert found == min(weights(), key=lambda weight: (abs(weight - mg), weight))
    if mg <= MG_PER_G:
        assert found == MG_PER_G
    elif mg <= 3 * MG_PER_KG:
        assert abs(found - mg) <= MG_PER_G / 2
    elif mg <= 16 * MG_PER_LB:
        assert abs(found - mg) <= MG_PER_LB / 200 + 1
    elif mg <= 80 * MG_PER_LB:
        assert abs(found - mg) <= MG_PER_LB / 20 + 1
    elif mg <= 40 * MG_PER_KG:
        assert abs(found - mg) <= 25 * MG_PER_G
    else:
        assert found == 40 * MG_PER_KG


def test_what_scales_show_is_said_exactly() -> None:
    for text in [f"{hundredths / 100:.2f} lb" for hundredths in range(1, 1601)]:
        mg = parse_mass(text, unit=MassUnit.LB)
        assert mg is not None
        assert nearest_weight(mg) == mg
        assert show_mass(nearest_weight(mg), MassUnit.LB) == text
    for ounces in range(1, 161):
        assert nearest_weight(round(ounces * MG_PER_OZ)) == round(ounces * MG_PER_OZ)
    for grams in range(1, 3001):
        assert nearest_weight(grams * MG_PER_G) == grams * MG_PER_G
    for grams in range(3000, 8001, 5):
        assert nearest_weight(grams * MG_PER_G) == grams * MG_PER_G


def test_weights_ascend() -> None:
    assert all(lighter < heavier for lighter, heavier in pairwise(weights()))


def _with_number(number: int) -> str:
    text = ""
    for _ in range(RECORD_LENGTH):
        number, digit = divmod(number, len(ALPHANUMERIC))
        text = ALPHANUMERIC[digit] + text
    return CODE + text


SPACE = ALPHANUMERIC.index(" ")
ONE_VERSION = CUTS * FORMS * SPECIES * WEIGHTS * DAYS * ANIMALS * PIECES


@given(st.integers(ONE_VERSION, len(ALPHANUMERIC) ** RECORD_LENGTH - 1))
@example(ONE_VERSION)
@example(len(ALPHANUMERIC) ** RECORD_LENGTH - 1)
def test_a_later_version_gives_its_code_and_no_record(number: int) -> None:
    assert read_symbol(_with_number(number)) == (CODE, None)


@given(st.integers(0, ONE_VERSION - 1))
@example(0)
@example(ONE_VERSION - 1)
def test_any_record_of_this_version_reads_without_fault_and_writes_back(number: int) -> None:
    text = _with_number(number)
    code, record = read_symbol(text)
    assert code == CODE
    if record is not None and (record.packed_on or number // PIECES % ANIMALS < 2):
        assert symbol_text(code, record) == text


@given(st.integers(45, ONE_VERSION - 46))
@example(10**12 - 10**12 % 45**3 + SPACE * (45**2 + 45 + 1))  # three spaces at its end
def test_spaces_lost_at_the_end_change_nothing(number: int) -> None:
    whole = _with_number(number - number % 45 + SPACE)
    assert whole.endswith(" ")
    assert read_symbol(whole.rstrip(" ")) == read_symbol(whole)


@pytest.mark.parametrize("tail", ["a123456789", "0123456_89", "01234567890", "Ä123456789"])
def test_what_is_no_record_gives_the_code_alone(tail: str) -> None:
    assert read_symbol(CODE + tail) == (CODE, None)


def test_a_code_alone() -> None:
    assert read_symbol(CODE) == (CODE, None)


@pytest.mark.parametrize("text", ["", "K7P3M", "K7P3MX", "K7P3MX0123456789", "k7p3mt"])
def test_without_a_code_it_is_refused(text: str) -> None:
    with pytest.raises(InvalidCode, match="does not begin with a package code"):
        read_symbol(text)
