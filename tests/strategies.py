"""Values of the household at random, for property tests."""

from __future__ import annotations

from datetime import date
from random import Random

from hypothesis import strategies as st

from freezerbox.core.code import BODY_LENGTH, LETTERS, Code, bodies, make_code
from freezerbox.core.mass import LARGEST_MG
from freezerbox.core.records import Movement, Reason, State

WHOLE_ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Typed here once more: digits and letters without I, L, O and U."""

days = st.dates(min_value=date(1990, 1, 1), max_value=date(2090, 12, 31))
label_days = st.dates(min_value=date(2018, 1, 1), max_value=date(2041, 12, 31))
"""Days that a label's symbol can say."""

masses = st.integers(min_value=1, max_value=LARGEST_MG)
"""Milligrams of one package."""

codes = (
    st.text(alphabet=WHOLE_ALPHABET, min_size=BODY_LENGTH, max_size=BODY_LENGTH)
    .map(make_code)
    .filter(lambda code: code is not None)
    .map(lambda code: Code(str(code)))
)


def sample_codes(count: int, seed: int = 1) -> list[Code]:
    """``count`` codes as a book would issue them, of every letter and of signs."""
    source, found = Random(seed), list[Code]()
    walks = [bodies(first, source.randrange(1 << 20)) for first in (*LETTERS, *"0123456789")]
    while len(found) < count:
        code = make_code(next(walks[len(found) % len(walks)]))
        if code is not None:
            found.append(code)
    return found


@st.composite
def movements(draw: st.DrawFn, code: str = "K7P3MT", most: int = 8) -> list[Movement]:
    """Movements of one package, in any order of days, numbered as recorded."""
    made = []
    for number in range(1, draw(st.integers(1, most)) + 1):
        state = draw(st.sampled_from(State))
        made.append(
            Movement(
                id=number,
                act_id=number,
                code=code,
                happened_on=draw(st.dates(min_value=date(2026, 11, 1), max_value=date(2026, 11, 5))),
                state=state,
                reason=draw(st.sampled_from(Reason)) if state is State.GONE else None,
                freezer_id=draw(st.sampled_from((None, 1, 2))),
                place_id=draw(st.sampled_from((None, 1, 2))),
                delta=draw(st.integers(-1, 3)),
            )
        )
    return made
