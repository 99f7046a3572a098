"""Check characters against python-stdnum's own MOD 37-2 of ISO/IEC 7064, an independent program.

python-stdnum documents ``iso7064.mod_37_2`` with the standard's alphabet, 0-9, A-Z and ``*``; its published example
is the ISBT 128 donation number ``G123489654321``, whose check character is ``Y``.
"""

from __future__ import annotations

from itertools import islice
from random import Random

import pytest
from stdnum.iso7064 import mod_37_2

from freezerbox.core.code import LETTERS, bodies, check_character, is_valid, make_code
from tests.strategies import WHOLE_ALPHABET, sample_codes


@pytest.mark.parametrize(
    ("body", "check"),
    [
        ("K7P3M", "T"),
        ("ABCDE", "W"),
        ("H4T9W", "N"),
        ("7K2MX", "R"),
        ("00001", "*"),
        ("G123489654321", "Y"),  # ISBT 128, the example in python-stdnum's documentation
    ],
)
def test_vectors(body: str, check: str) -> None:
    assert mod_37_2.calc_check_digit(body) == check
    assert check_character(body) == check


def test_five_thousand_codes_as_a_book_issues_them() -> None:
    issued = sample_codes(5_000)
    assert len(set(issued)) == 5_000
    assert {code[0] for code in issued} >= set(LETTERS)
    for code in issued:
        assert mod_37_2.is_valid(code), code


def test_every_body_of_a_walk_has_the_check_character_that_stdnum_gives_it() -> None:
    for body in islice(bodies("K", 7), 5_000):
        assert check_character(body) == mod_37_2.calc_check_digit(body)


def test_what_we_refuse_of_damaged_codes_stdnum_refuses_too() -> None:
    source = Random(37)
    for code in sample_codes(1_000):
        damaged = list(code)
        for place in source.sample(range(6), source.randint(1, 3)):
            damaged[place] = source.choice(WHOLE_ALPHABET)
        text = "".join(damaged)
        assert is_valid(text) == mod_37_2.is_valid(text)


def test_a_body_is_passed_over_for_its_check_character_and_hardly_ever_for_a_word() -> None:
    walked = list(islice(bodies("K", 7), 5_000))
    outside = {body for body in walked if mod_37_2.calc_check_digit(body) in "ILOU*"}
    passed = {body for body in walked if make_code(body) is None}
    assert outside <= passed
    assert len(passed - outside) < 10
