"""What a label says, in words, and how each field is set: plain, as a solid block, with a line to write on."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

HATCHED = "NOT FOR PEOPLE"

FIELDS: Mapping[str, str] = {
    "cut": "the cut as the household says it; the largest letters",
    "form": "half, steaks, cubes; beside or below the cut",
    "fat": "PLAIN or the fat added",
    "seasoning": "what the meat is seasoned with",
    "animal": "species, kind and animal code",
    "weight": "weight with its unit, or a line to write it on",
    "pieces": "how many pieces are inside",
    "month": "month and year of freezing",
    "season": "hunting season, as a solid block",
    "best_by": "best-by month, a matter of quality",
    "hold": "hold banner with a box to tick once cleared",
    "banners": "what must be said when it is true, each as a solid block",
    "fence": "the hatched border of what is not for people",
    "cue": "FAST, SLOW or GRIND",
    "run": "place in the run, 3 of 14",
    "owner": "whose it is",
    "note": "anything the household wants to remember",
    "memory": "the note, or a line to write what is to be remembered",
    "wrap": "how it is wrapped",
    "code": "the code in letters, K7P-3MT",
    "code_128": "the code as bars, for laser scanners",
}
MUST = frozenset(("cut", "form", "fat", "seasoning", "animal", "weight", "month", "hold", "banners", "fence", "code"))
# What gives way first when room is short.
DROP_ORDER = ("code_128", "wrap", "best_by", "note", "memory", "season", "owner", "cue", "run", "pieces")
# Where no strip shows the season, its words are worth more than the place in the run.
DROP_ORDER_NO_TAB = ("code_128", "wrap", "best_by", "note", "memory", "owner", "cue", "run", "season", "pieces")
# What is said in fewer words before a label is refused, in this order.  "synonym" is the part of the cut's name in
# brackets, "hold line" the line to write beside a hold's box; "hold words" come last: what is not to be eaten says so
# in full as long as anything else can be said shorter.
BANNER_WORDS, ANIMAL_WORDS, SYNONYM, HOLD_LINE, HOLD_WORDS = SHORTER = (
    "banner words", "animal words", "synonym", "hold line", "hold words",
)  # fmt: skip

Style = Literal["plain", "block", "tick", "blank"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelContent:
    """The words of one label.  An empty string means: nothing to say, the room goes to the others.

    cut: the cut's name, ``Loin chops``; never empty.
    form: ``half``, ``steaks``; smaller, after the cut.
    animal: ``Whitetail doe 26B``, ``Pork, half hog 26H``, or the species alone.
    weight: ``0.95 lb``, ``1 lb 4 oz``; empty means not weighed, and a line to write on is drawn.
    weight_unit: the unit printed behind that line.
    pieces: ``4 chops``.
    month: month and year of freezing, ``NOV 2026``.
    best_by: ``best by NOV 2027``; quality only.
    code: the six characters without hyphen, ``K7P3MT``; shown ``K7P-3MT``.
    symbol_text: what the QR says: 16 characters of the QR alphanumeric set, or the bare six.
    fat: ``PLAIN``, ``20% FAT``.
    seasoning: ``Italian``.
    banners: what must be said when true: ``FROZEN TWICE``, ``CONTAINS PORK``, ``NOT FOR PEOPLE``, ...
    hold: ``DO NOT EAT: TEST PENDING``; drawn with a tick box, since a reprint does not stick on frost.
    cue: ``FAST``, ``SLOW``, ``GRIND``.
    run: ``3 of 14``, which keeps packages in weighing order.
    owner, note, wrap: as the household typed them.
    season: ``26/27``.
    mask: the data mask of the QR, 0..7; None for the one that the encoder chooses.
    short: words of ``banners``, ``hold`` or ``animal`` and fewer that may stand for them when there is no room:
        ``COOK THROUGH - freezing is not enough``, ``COOK THROUGH``.
    hold_line: whether a line to write on follows the box of a hold.
    link: what the symbol for phones says, ``HTTP://FREEZER.LOCAL/K7P3MT``; empty for none.
    """

    cut: str
    form: str
    animal: str
    weight: str
    weight_unit: str
    pieces: str
    month: str
    best_by: str
    code: str
    symbol_text: str
    fat: str
    seasoning: str
    banners: tuple[str, ...]
    hold: str
    cue: str
    run: str
    owner: str
    note: str
    wrap: str
    season: str
    mask: int | None = None
    short: tuple[tuple[str, str], ...] = ()
    hold_line: bool = True
    link: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Token:
    """The smallest thing a line is broken between.

    field: the field it belongs to.
    text: a word, or a whole banner; empty for a tick box or a blank.
    style: ``plain`` letters, white letters on a ``block``, a ``tick`` box, a ``blank`` to write on.
    """

    field: str
    text: str
    style: Style = "plain"


def shown_code(code: str) -> str:
    """``K7P3MT`` as people read it: ``K7P-3MT``."""
    return f"{code[:3]}-{code[3:]}"


def clean(text: str) -> str:
    """One line of printable characters, composed, single spaces."""
    composed = unicodedata.normalize("NFC", " ".join(text.split()))
    return "".join(letter if letter.isprintable() else "?" for letter in composed)


def without_synonym(cut: str) -> str:
    """The cut's name without what stands in brackets: ``Shoulder tender (petite tender)`` is ``Shoulder tender``."""
    return " ".join(re.sub(r"\([^()]*\)", " ", cut).split()) or cut


def in_fewer_words(content: LabelContent) -> tuple[tuple[LabelContent, tuple[str, ...]], ...]:
    """The content as it is, then in ever fewer words, each with what was shortened by then."""
    short = dict(content.short)
    steps: dict[str, dict[str, Any]] = {
        BANNER_WORDS: {"banners": tuple(short.get(banner, banner) for banner in content.banners)},
        ANIMAL_WORDS: {"animal": short.get(content.animal, content.animal)},
        SYNONYM: {"cut": without_synonym(content.cut)},
        HOLD_LINE: {"hold_line": content.hold_line and not clean(content.hold)},
        HOLD_WORDS: {"hold": short.get(content.hold, content.hold)},
    }
    found: list[tuple[LabelContent, tuple[str, ...]]] = [(content, ())]
    for step in SHORTER:
        before, gone = found[-1]
        after = replace(before, **steps[step])
        if after != before:
            found.append((after, (*gone, step)))
    return tuple(found)


def field_tokens(content: LabelContent, field: str) -> tuple[Token, ...]:
    """What a field puts on the label, in order; nothing when the content leaves it empty."""
    if field == "weight" and not clean(content.weight):
        return (Token(field=field, text="", style="blank"), *_words(field, content.weight_unit))
    if field == "memory":
        return _words(field, content.note) or (Token(field=field, text="", style="blank"),)
    if field == "code":
        return (Token(field=field, text=shown_code(clean(content.code))),)
    if field == "code_128":
        return (Token(field=field, text=clean(content.code)),)
    if field == "hold":
        if not clean(content.hold):
            return ()
        return (
            Token(field=field, text=clean(content.hold), style="block"),
            Token(field=field, text="", style="tick"),
            *_words(field, "cleared"),
            *((Token(field=field, text="", style="blank"),) if content.hold_line else ()),
        )
    if field == "banners":
        return tuple(Token(field=field, text=banner, style="block") for banner in _banners(content))
    if field == "fence":
        return (Token(field=field, text=""),) if HATCHED in _banners(content) else ()
    if field in ("fat", "season"):
        text = clean(getattr(content, field))
        return (Token(field=field, text=text, style="block"),) if text else ()
    return _words(field, getattr(content, field))


def _words(field: str, text: str) -> tuple[Token, ...]:
    return tuple(Token(field=field, text=word) for word in clean(text).split())


def _banners(content: LabelContent) -> tuple[str, ...]:
    hold = clean(content.hold)
    banners = [clean(banner) for banner in content.banners]
    banners.sort(key=lambda banner: banner != HATCHED)  # what is not for people says so first
    return tuple(dict.fromkeys(banner for banner in banners if banner and banner != hold))
