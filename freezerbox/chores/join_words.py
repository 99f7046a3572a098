"""What two books say differently, in words of people."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from freezerbox.book.sides import Clash
from freezerbox.chores.kitchen import OWN_WORD_PREFIX, Kitchen
from freezerbox.chores.story import FIELD_WORDS
from freezerbox.chores.wording import way_words
from freezerbox.core.code import show_code
from freezerbox.core.dates import short_date
from freezerbox.core.records import Reason
from freezerbox.errors import FreezerboxError
from freezerbox.food import cuts

_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")
_WAY = re.compile(rf"(?<![a-z] )\b({'|'.join(Reason)})(?= on \d{{4}}-)")
_SPARE = re.compile(r"\bspare(?= on \d{4}-)")
_KEY = re.compile(r"\b[a-z]+(-[a-z]+)*\b")
_CODE = re.compile(r"^[0-9][0-9A-Z]{5}(?=, )")
_FIELDS = {
    **FIELD_WORDS, "volume_ml": "volume", "sex_age": "sex and age", "live_mg": "live weight",
    "dressed_mg": "dressed weight", "hanging_mg": "hanging weight", "mass_mg": "weight",
}  # fmt: skip

_TWO = {
    "freezer": "two freezers", "place": "two places", "person": "two people", "animal": "two animals",
    "batch": "two batches", "package": "two packages",
}  # fmt: skip


def clash_words(kitchen: Kitchen, clashes: Sequence[Clash]) -> str:
    """Every clash with what each book says and how to decide it."""
    lines = ["Nothing joined: the two books say different things. Decide each:"]
    for clash in clashes:
        name = shown(clash)
        lines.append(f"  {name}: here {said(kitchen, clash, clash.ours)}; there {said(kitchen, clash, clash.theirs)}")
        if clash.kind == "name":
            lines.append(f"    one and the same: --same '{name}'; two: --rename '{name}=NEW NAME' (the other book's)")
        else:
            lines.append(f"    --ours '{name}' or --theirs '{name}'")
    lines.append("For all the rest alike: --prefer ours or --prefer theirs")
    return "\n".join(lines)


def taken_words(kitchen: Kitchen, clash: Clash) -> str:
    """What was decided in the other book, and what this one said until now."""
    before = f"; here it was {said(kitchen, clash, clash.ours)}" if clash.ours or clash.kind == "fact" else ""
    return f"{shown(clash)}: {said(kitchen, clash, clash.theirs)}, as decided in the other book{before}."


def shown(clash: Clash) -> str:
    """What a clash is about, as people see and type it: ``K7P-3MT``, ``package K7P-3MT weight``."""
    if clash.kind in ("package", "twice"):
        return show_code(clash.name)
    if clash.kind == "origin":
        return f"package {show_code(clash.subject[0])} origin"
    if clash.kind != "fact":
        return clash.name
    kind, field = clash.subject[0], clash.subject[-1]
    if kind == "setting":
        key = clash.subject[1]
        own = key.startswith(OWN_WORD_PREFIX)
        return f"word {key.removeprefix(OWN_WORD_PREFIX)}" if own else f"setting {key}"
    # The program's name of it: kind, name and field; the name may have spaces.
    name = clash.name.removeprefix(f"{kind} ").removesuffix(f" {field}")
    if kind == "package":
        name = show_code(name)
    return f"{kind.replace('_', ' ')} {name} {_FIELDS.get(field, field.replace('_', ' '))}"


def two_words(table: str) -> str:
    """``two animals``."""
    return _TWO.get(table, "two things")


def said(kitchen: Kitchen, clash: Clash, value: str) -> str:
    """What a book says, in words; ``value``: as a clash has it."""
    if clash.kind in ("name", "answer") and clash.subject[clash.kind == "answer"] == "animal":
        value = _KEY.sub(lambda found: _species(found[0]), value)
    if clash.kind == "name" and clash.subject[0] == "place":
        value = _CODE.sub(lambda found: show_code(found[0]), value)
    if clash.kind == "fact":
        if clash.name.endswith("_mg"):
            return kitchen.mass(int(value)) if value.isdigit() else "not weighed"
        if clash.subject[0] == "package" and clash.subject[-1] == "cut":
            return _cut(value)
        return _days(kitchen, value) if _DAY.fullmatch(value) else value or "nothing"
    if clash.kind == "twice":
        cut, of, day = value.partition(" of ")
        value = _cut(cut) + of + day
    if clash.kind == "package":
        value = _WAY.sub(lambda found: way_words(Reason(found[1])), value)
        value = _SPARE.sub("label printed ahead", value)
    return value if clash.kind == "origin" else _days(kitchen, value) or "nothing"


def _cut(key: str) -> str:
    """What people call a cut; its key where this program does not know it."""
    try:
        return cuts.display_name(cuts.cut(key), None)
    except (FreezerboxError, LookupError):
        return key


def _species(key: str) -> str:
    """What people call a species; any other word as it is."""
    try:
        name = cuts.species(key).label_name
    except (FreezerboxError, LookupError):
        return key
    return name[:1].lower() + name[1:]


def _days(kitchen: Kitchen, text: str) -> str:
    """Days of the file written as people say them."""
    return _DAY.sub(lambda found: _day(found[0], kitchen.today), text)


def _day(text: str, today: date) -> str:
    try:
        return short_date(date.fromisoformat(text), today=today)
    except ValueError:
        return text
