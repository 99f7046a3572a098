"""The symbols that the freezer's labels carry: what a photograph may show, and keeping them unlike each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from operator import eq

from freezerbox.book import printouts
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label_words import content_of
from freezerbox.chores.rows import Rows
from freezerbox.core.records import State
from freezerbox.labels.content import LabelContent
from freezerbox.labels.symbols import qr_modules, qr_symbol
from freezerbox.reading.grid import alike, data_bits
from freezerbox.reading.known import Expected, Known

MOST_ALIKE = 0.5
"""Two live symbols correlate no more than this (reading lab, section 3)."""
_SHARED = 9
"""Texts that share fewer characters than this, place by place, were never more alike than 0.45 (45,000 pairs)."""
_MASKS = range(8)  # ISO/IEC 18004, 7.8.2


def known_symbols(kitchen: Kitchen) -> Known:
    """Every symbol on a label of a package in the freezer, or spare; what was not printed, as it would be drawn.

    A drawing that was only looked at, or one that a printer failed over, may have been printed by hand all the same.
    """
    return Known(lambda: _expected((*printouts.live_symbols(kitchen.book), *_as_drawn(kitchen))))


def _as_drawn(kitchen: Kitchen) -> list[tuple[str, str, int]]:
    wanted = set(printouts.unprinted(kitchen.book))
    rows = [row for row in Rows(kitchen).all(State.FROZEN, State.SPARE) if row.code in wanted] if wanted else []
    contents = keep_apart(kitchen, [content_of(kitchen, row) for row in rows])
    return [(one.code, one.symbol_text, qr_symbol(one.symbol_text, mask=one.mask).mask) for one in contents]


@lru_cache(maxsize=2)
def _expected(symbols: tuple[tuple[str, str, int], ...]) -> tuple[Expected, ...]:
    return tuple(Expected(code=code, text=text, modules=qr_modules(text, mask=mask)) for code, text, mask in symbols)


def keep_apart(kitchen: Kitchen, contents: Sequence[LabelContent]) -> list[LabelContent]:
    """The same labels; one whose symbol resembles a live one too much gets the data mask that resembles least.

    A symbol can be recognised through frost only when no other is like it.  Codes of one run with the same record
    are the nearest: one pair in five hundred correlates above 0.5, none above 0.6, before this.
    """
    live = [(code, text, mask) for code, text, mask in printouts.live_symbols(kitchen.book)]
    settled = []
    for content in contents:
        near = [
            data_bits(qr_modules(text, mask=mask))
            for code, text, mask in live
            if code != content.code and sum(map(eq, text, content.symbol_text)) >= _SHARED
        ]
        if near and _likeness(content, None, near) > MOST_ALIKE:
            content = replace(content, mask=min(_MASKS, key=lambda mask: _likeness(content, mask, near)))
        settled.append(content)
        live.append((content.code, content.symbol_text, qr_symbol(content.symbol_text, mask=content.mask).mask))
    return settled


def _likeness(content: LabelContent, mask: int | None, others: Sequence[int]) -> float:
    own = data_bits(qr_modules(content.symbol_text, mask=mask))
    return max(alike(own, other) for other in others)
