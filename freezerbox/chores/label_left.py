"""What found no room on labels, in plain words: said always, in the order in which it gave way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from freezerbox.core.code import show_code
from freezerbox.labels.content import ANIMAL_WORDS, BANNER_WORDS, HOLD_LINE, HOLD_WORDS, SYNONYM
from freezerbox.labels.layout import LINK, MONTH_AT_EDGE, SECOND_QR, STRIP

_WORDS = {
    "code_128": "Code 128",
    "best_by": "best by",
    "memory": "memory line",
    "cue": "FAST/SLOW",
    "run": "turn in the run",
    "owner": "owner",
    MONTH_AT_EDGE: "the month at the edge",
    STRIP: "the season's strip",
    SECOND_QR: "second QR",
    LINK: "symbol for phones",
    BANNER_WORDS: "some words of a banner",
    ANIMAL_WORDS: "some words of the animal",
    SYNONYM: "the name in brackets",
    HOLD_LINE: "line beside the hold's box",
    HOLD_WORDS: "some words of the hold",
}
_MOST_CODES = 3


def left_off_lines(codes: Sequence[str], dropped: Mapping[str, Sequence[str]]) -> tuple[tuple[str, str], ...]:
    """Which labels, and what was left off them: ``("all 14", "left off: Code 128")``; nothing when all is on.

    codes: the labels printed.  dropped: per code what found no room, as in ``Layout.dropped``.
    """
    alike: dict[tuple[str, ...], list[str]] = {}
    for code in codes:
        if fields := tuple(dropped.get(code, ())):
            alike.setdefault(fields, []).append(code)
    return tuple(
        (_which(those, len(codes)), "left off: " + ", ".join(_WORDS.get(field, field) for field in fields))
        for fields, those in alike.items()
    )


def _which(those: Sequence[str], of: int) -> str:
    if len(those) == of > 1:
        return f"all {of}"
    shown = ", ".join(show_code(code) for code in those[:_MOST_CODES])
    more = len(those) - _MOST_CODES
    return f"{shown} and {more} more" if more > 0 else shown
