"""Why a label does not fit: which words are too long, and which label paper would take them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from freezerbox.errors import InvalidTemplate, LabelDoesNotFit
from freezerbox.labels.content import LabelContent, clean
from freezerbox.labels.layout import lay_out
from freezerbox.labels.library import design_for, stock, stock_names
from freezerbox.labels.stock import Design, Stock

MOST_NAMED = 3
_SHORTENED: tuple[tuple[str, Callable[[LabelContent], LabelContent]], ...] = (
    ("seasoning", lambda content: replace(content, seasoning="")),
    ("cut", lambda content: replace(content, cut=clean(content.cut)[:3])),
    ("animal", lambda content: replace(content, animal="")),
    ("hold", lambda content: replace(content, hold=content.hold[:3])),
    ("banners", lambda content: replace(content, banners=())),
)
"""What a label would be without its long words, the words easiest to change first."""
_MIXED = frozenset("+%")
"""Signs that a line of the animal has in a mixture alone."""


def too_long(content: LabelContent, paper: Stock, design: Design, own: Path | None = None) -> LabelDoesNotFit:
    """The refusal of a label that was found not to fit: the words to blame, and what has room for them.

    That is other paper, and the kind of the paper's ordinary design where that takes what another does not.
    """
    # Codes and turns in a run are of one length, so that forty labels of one run are looked at once.
    alike = replace(content, code="K7P3MT", symbol_text="K7P3MT", run="1 of 1" if content.run else "", mask=None)
    field, shown, others = _cause(alike, paper, design, own)
    ordinary = design_for(paper, own)
    takes = ordinary.name != design.name and _fits(alike, paper, ordinary)
    return LabelDoesNotFit(
        f"{field} {shown!r} does not fit on a label of {paper.title} beside what else must be on it.",
        field=field,
        stock=paper.name,
        title=paper.title,
        value=shown,
        stocks=others,
        design=paper.design.partition("-")[0] if takes else None,
        beside=tuple(
            clean(words)
            for name, words in (
                ("hold", alike.hold),
                *(("banners", one) for one in alike.banners),
                ("fat", alike.fat),
            )
            if name != field and clean(words)
        ),
    )


@lru_cache(maxsize=256)
def _cause(content: LabelContent, paper: Stock, design: Design, own: Path | None) -> tuple[str, str, tuple[str, ...]]:
    shortened = _SHORTENED
    if _MIXED & set(content.animal):  # the line is as long as its animals are many, and the cut's name is no longer
        shortened = tuple(sorted(_SHORTENED, key=lambda one: one[0] == "cut"))
    field = next((name for name, shorter in shortened if _fits(shorter(content), paper, design)), "")
    if not field:
        try:
            lay_out(content, paper, design)
        except LabelDoesNotFit as error:
            field = error.field
    value = getattr(content, field, "")
    shown = clean(value if isinstance(value, str) else ", ".join(value)) or field
    return field, shown, tuple(_with_room(content, paper, own))[:MOST_NAMED]


def _with_room(content: LabelContent, paper: Stock, own: Path | None) -> list[str]:
    """Stocks that take the label as it is, the smallest first; of rolls, those for the same printer's dots."""
    found = []
    for name in stock_names(own):
        try:
            other = stock(name, own)
            if other.kind == paper.kind == "roll" and other.dpi != paper.dpi:
                continue
            if name != paper.name and _fits(content, other, design_for(other, own)):
                found.append(other)
        except InvalidTemplate:
            continue
    return [one.name for one in sorted(found, key=lambda one: (one.kind != paper.kind, one.width_mm * one.height_mm))]


def _fits(content: LabelContent, paper: Stock, design: Design) -> bool:
    try:
        lay_out(content, paper, design)
    except LabelDoesNotFit:
        return False
    return True
