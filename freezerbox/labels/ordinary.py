"""An ordinary label, and whether paper has room for the bars on it."""

from __future__ import annotations

from functools import lru_cache

from freezerbox.errors import LabelDoesNotFit
from freezerbox.labels.content import LabelContent
from freezerbox.labels.layout import lay_out
from freezerbox.labels.stock import Design, Stock

ORDINARY = LabelContent(
    cut="Loin chops", form="", animal="Pork, half hog 26H", weight="0.95 lb", weight_unit="lb", pieces="4 chops",
    month="NOV 2026", best_by="best by MAR 2027", code="K7P3MT", symbol_text="K7P3MT$05-X9Q2A/", fat="", seasoning="",
    banners=(), hold="", cue="FAST", run="3 of 14", owner="", note="", wrap="vacuum", season="26/27",
)  # fmt: skip
"""A pack of a run: nothing of it is long, and nothing of it is left out."""


@lru_cache(maxsize=64)
def has_bars(paper: Stock, design: Design) -> bool:
    """Whether the Code 128 is drawn on an ordinary label; not where only one with fewer words has room for it."""
    try:
        return "Code 128" in dict(lay_out(ORDINARY, paper, design).symbols)
    except LabelDoesNotFit:  # a household's own design may be for shorter names
        return False
