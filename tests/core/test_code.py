"""Codes: what the check character catches, how forgiving typing is, and what is proposed after a slip."""

from __future__ import annotations

from itertools import combinations, islice, pairwise
from random import Random

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from freezerbox.core.code import (
    ALPHABET,
    BODIES_A_LETTER,
    BODY_LENGTH,
    LENGTH,
    LETTERS,
    Code,
    bodies,
    compact,
    is_valid,
    make_code,
    nearest,
    parse_code,
    show_code,
)
from freezerbox.core.symbol import ALPHANUMERIC, RECORD_LENGTH
from freezerbox.errors import InvalidCode
from tests.strategies import WHOLE_ALPHABET, codes, sample_codes

KNOWN = Code("K7P3MT")


def test_the_alphabet() -> None:
    assert ALPHABET == WHOLE_ALPHABET
    assert "".join(LETTERS) == "ABCDEFGHJKMNPQRSTVWXYZ"
    assert len(LETTERS) == 22
    assert BODIES_A_LETTER == 32**4


@given(codes)
def test_every_single_substitution_is_refused(code: Code) -> None:
    for place, right in enumerate(code):
        for wrong in WHOLE_ALPHABET:
            if wrong != right:
                slipped = code[:place] + wrong + code[place + 1 :]
                assert not is_valid(slipped)
                with pytest.raises(InvalidCode, match="does not check"):
                    parse_code(slipped)


@given(codes)
def test_every_swap_of_two_characters_is_refused(code: Code) -> None:
    for first, second in combinations(range(LENGTH), 2):
        if code[first] != code[second]:
            swapped = list(code)
            swapped[first], swapped[second] = swapped[second], swapped[first]
            with pytest.raises(InvalidCode, match="does not check"):
                parse_code("".join(swapped))


@given(codes, st.randoms(use_true_random=False))
def test_a_code_however_it_is_typed(code: Code, source: Random) -> None:
    typed = ""
    for character in code:
        like = {"0": "0Oo", "1": "1IiLl"}.get(character, character + character.lower())
        typed += source.choice(like) + source.choice(["", "", "", " ", "-", "  ", ".", "_", "–"])
    assert parse_code(f" {typed} ") == code


@pytest.mark.parametrize(
    "text",
    [
        "K7P3MT", "k7p3mt", "K7P-3MT", "k7p 3mt", "K 7 P 3 M T", " K7P-3MT\r\n", "]C0K7P3MT", "]Q1K7P3MT",
        "]q1k7p3mt", "HTTP://FREEZER.HOME/K7P3MT", "http://freezer.home/k7p3mt", "https://freezer.home:8443/p/K7P3MT/",
        "]Q1HTTP://FREEZER.HOME/K7P3MT",
        "K7P3MT0123456789", "]Q1K7P3MT0123456789", "K7P3MTAB:CD/EFGH",
        "K7P3MT://///////", "K7P3MT012 4 ", "K7P3MT$%*+-./: A", "K7P3MTABCD",
    ],
)  # fmt: skip
def test_every_form_that_a_reader_hands_over(text: str) -> None:
    assert parse_code(text) == KNOWN


def test_lookalikes_are_read_before_the_check() -> None:
    assert compact("0O1ILl") == "001111"
    assert compact("oil-oil") == "011011"


package_codes = codes.filter(lambda code: code[0].isalpha())


def test_the_figures_of_a_grocery_are_no_code() -> None:
    assert compact("5012345678900") == "5012345678900"


@given(
    package_codes, st.text(alphabet=ALPHANUMERIC, min_size=RECORD_LENGTH, max_size=RECORD_LENGTH), st.integers(0, 6)
)
@example(KNOWN, "AB:CD/EFGH", 0)
@example(KNOWN, "A/B:CD/EF:", 0)
@example(KNOWN, "0000      ", 6)
def test_the_code_of_a_packages_symbol_whatever_its_record_says(code: Code, record: str, most_lost: int) -> None:
    assert parse_code(code + record) == code
    lost = len(record) - max(len(record.rstrip(" ")), len(record) - most_lost)
    assert parse_code((code + record)[: LENGTH + RECORD_LENGTH - lost]) == code


@given(codes, codes)
def test_two_codes_run_together_are_refused_so_that_neither_is_lost(first: Code, second: Code) -> None:
    with pytest.raises(InvalidCode, match="12 characters, a code has six"):
        parse_code(first + second)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "has 0 characters"),
        ("K7P3M", "has 5 characters"),
        ("K7P3MTT", "has 7 characters"),
        ("K7P3MU", "U is never part of one"),
        ("K?P!MT", r"!, \? is never part of one"),
        ("K7P3MÄ", "Ä is never part of one"),
        ("K7P3MZ", "does not check"),
        ("backstrap", "has 9 characters"),
        ("HTTP://FREEZER.HOME/", "a code has six"),
        ("https://farm.example/what/ever", "does not check|is not a package code"),
        ("4006381333931", "has 13 characters"),
        ("x" * 300, "has 300 characters"),
    ],
)
def test_what_is_no_code_is_refused_in_words(text: str, words: str) -> None:
    with pytest.raises(InvalidCode, match=words) as refused:
        parse_code(text)
    assert refused.value.facts == {"value": text, "near": None}
    assert (refused.value.kind, refused.value.exit_code) == ("code", 2)
    assert len(refused.value.message) < 160


@given(st.text())
@example("]")
@example("]Q1")
@example("/:/")
@example("://")
@example("ŉß" * 3)
def test_any_text_is_a_code_or_a_refusal(text: str) -> None:
    try:
        assert is_valid(parse_code(text))
    except InvalidCode:
        assert not is_valid(compact(text))


LIVE = ("K7P3MT", "K9R20A")


@pytest.mark.parametrize(
    "typed",
    [
        "K7P3MX",  # one character
        "X7P3MT",
        "7KP3MT",  # neighbours swapped
        "K7P3TM",
        "T7P3MK",  # two that are no neighbours
        "K7P3M",  # one left out
        "7P3MT",
        "K7P33MT",  # one too many
        "k7p-3mx",
    ],
)
def test_one_slip_from_one_live_code_is_proposed(typed: str) -> None:
    with pytest.raises(InvalidCode, match=r"Did you mean K7P-3MT\?") as refused:
        parse_code(typed, LIVE)
    assert refused.value.facts["near"] == "K7P3MT"


@given(codes.filter(lambda code: "Y" in code or "Z" in code))
def test_a_keyboard_with_y_and_z_the_other_way_round(code: Code) -> None:
    typed = code.translate(str.maketrans("YZ", "ZY"))
    if is_valid(typed):  # a code of its own: it is what it says
        assert parse_code(typed, [code]) == typed
    else:
        with pytest.raises(InvalidCode, match="Did you mean"):
            parse_code(typed.lower(), [code])
        assert nearest(typed, [code]) == code


@given(codes, codes, st.data())
def test_a_proposal_is_the_only_live_code_one_slip_away(code: Code, other: Code, data: st.DataObject) -> None:
    place = data.draw(st.integers(0, LENGTH - 1))
    wrong = data.draw(st.sampled_from([character for character in WHOLE_ALPHABET if character != code[place]]))
    typed = code[:place] + wrong + code[place + 1 :]
    assert nearest(typed, [code]) == code
    assert nearest(typed, []) is None
    away = sum(left != right for left, right in zip(typed, other, strict=True))
    if away > 2:
        swapped_yz = typed.translate(str.maketrans("YZ", "ZY"))
        assert nearest(typed, [other]) == (other if swapped_yz == other else None)


def test_two_live_codes_one_slip_away_are_not_guessed_between() -> None:
    first, second = next(
        (one, two)
        for one, two in combinations(sample_codes(2_000), 2)
        if sum(left != right for left, right in zip(one, two, strict=True)) == 2
    )
    differing = [place for place in range(LENGTH) if first[place] != second[place]]
    between = first[: differing[0]] + second[differing[0]] + first[differing[0] + 1 :]
    assert nearest(between, [first]) == first
    assert nearest(between, [second]) == second
    assert nearest(between, [first, second]) is None
    with pytest.raises(InvalidCode) as refused:
        parse_code(between, [first, second])
    assert "Did you mean" not in refused.value.message


def test_a_right_code_is_itself_even_when_it_is_not_live() -> None:
    assert parse_code("K7P3MT", ["K7P3MX"]) == "K7P3MT"


def test_codes_that_are_never_issued() -> None:
    assert make_code("00001") is None  # its check character is *
    for word in ("DEAD0", "0DEAD", "RAPE5", "5RAPE", "KKKKK", "TASS0"):
        assert make_code(word) is None


def test_one_body_in_eight_is_never_issued() -> None:
    # Five of the 37 check characters lie outside the alphabet: I, L, O, U and *; 5/37 = 13.5 % (label_tech.md, 2).
    first = list(islice(bodies("K", 0), 20_000))
    never = sum(make_code(body) is None for body in first)
    assert abs(never / len(first) - 5 / 37) < 0.01


@given(st.sampled_from(LETTERS), st.integers())
def test_a_walk_gives_bodies_of_its_letter_that_are_not_alike(first: str, start: int) -> None:
    walked = list(islice(bodies(first, start), 200))
    assert all(len(body) == BODY_LENGTH and body[0] == first for body in walked)
    assert len(set(walked)) == len(walked)
    for body, following in pairwise(walked):
        assert sum(left != right for left, right in zip(body, following, strict=True)) >= 2


def test_a_whole_walk_meets_every_body_once() -> None:
    walked = set(bodies("K", 12_345))
    assert len(walked) == BODIES_A_LETTER


@given(codes)
def test_shown_in_two_threes_and_read_back(code: Code) -> None:
    shown = show_code(code)
    assert (len(shown), shown[3]) == (7, "-")
    assert parse_code(shown) == code


@pytest.mark.parametrize(("typed", "words"), [("k", "it has 1 character,"), ("k7", "it has 2 characters,")])
def test_what_is_too_short_says_how_short(typed: str, words: str) -> None:
    with pytest.raises(InvalidCode, match=words):
        parse_code(typed)
