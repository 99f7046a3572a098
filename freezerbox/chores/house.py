"""Setting the house up: starting a book, names, settings."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from freezerbox.book import journal, queries
from freezerbox.book.values import unreadable_setting
from freezerbox.chores.header import whole_number
from freezerbox.chores.kitchen import Kitchen, one_writer
from freezerbox.chores.phone import NONE, PHONE_KEY, parse_phone_name
from freezerbox.core.code import LETTERS
from freezerbox.core.mass import MassUnit, parse_mass
from freezerbox.errors import BookTrouble, InputError, UnknownWord
from freezerbox.food import keeping

# 1 ft = 0.3048 m exactly (NIST Handbook 44, appendix C), so 1 cu ft = 28.316846592 l.
_ML_PER_CU_FT = Decimal("28316.846592")
_VOLUME = re.compile(r"(\d+(?:[.,]\d+)?) ?(cu\.? ?ft\.?|cubic feet|cubic foot|ft3|l|liters?|litres?)")
MOST_VOLUME_L = 3000
LONGEST_NAME = 40
MOST_PEOPLE = 60
DEFAULT_PORTION = "0.5 lb"
"""Half a pound, boneless and raw, a person: common practice, no source (needs notes, part d, serving sizes)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """A setting: its key, value now ("" when not set), what may be set, what it does, and a value as an example."""

    key: str
    value: str
    choices: str
    about: str
    example: str


@one_writer
def start(kitchen: Kitchen, *, units: str, guide: str, freezer: str, volume: str) -> None:
    """Fill a fresh book: unit, guide and the first freezer, as one act.

    Raises: UnknownWord, InputError; BookTrouble when it is started already (two of them at once).
    """
    if journal.acts(kitchen.book, limit=1):
        path = kitchen.book.path
        raise BookTrouble(f"{path} is there already. Give --book a name that is not taken.", path=str(path))
    unit = parse_unit(units)
    guide = keeping.guide(guide).key
    volume_ml = parse_volume(volume) if volume else None
    with kitchen.book.act("start", kitchen.today, words="started the book") as act:
        act.change("setting", "units", "value", None, unit.value)
        act.change("setting", "guide", "value", None, guide)
        if freezer:
            act.add("freezer", name=clean_name(freezer), volume_ml=volume_ml)


def parse_unit(text: str) -> MassUnit:
    """The house's unit.  Raises: UnknownWord, naming those there are."""
    words = text.strip().lower().replace(" ", "-").replace("/", "-").replace(":", "-")
    try:
        return MassUnit(words)
    except ValueError:
        known = [unit.value for unit in MassUnit]
        raise UnknownWord(
            f"{text!r} is not a unit for the house. The units are: lb (1.25 lb), lb-oz (1 lb 4 oz), kg (0.567 kg).",
            word=text,
            near=known,
        ) from None


def parse_volume(text: str) -> int:
    """A freezer's volume in millilitres, from ``15 cu ft`` or ``420 l``.  Raises: InputError."""
    match = _VOLUME.fullmatch(" ".join(text.strip().lower().split()))
    if match is None:
        raise InputError(f"{text!r} is not a volume. Write it as 15 cu ft or 420 l.", value=text)
    number = Decimal(match[1].replace(",", "."))
    litres = match[2].startswith("l")
    millilitres = int(number * (1000 if litres else _ML_PER_CU_FT))
    if not 0 < millilitres <= MOST_VOLUME_L * 1000:
        raise InputError(f"{text!r} is no size of a freezer. Give 1 to {MOST_VOLUME_L} l.", value=text)
    return millilitres


def volume_words(litres: float, unit: MassUnit) -> str:
    """A freezer's size as the house measures: ``15 cu ft`` where it weighs in pounds, else ``425 l``."""
    if unit not in (MassUnit.LB, MassUnit.LB_OZ):
        return f"{litres:.0f} l"
    cu_ft = Decimal(str(litres)) * 1000 / _ML_PER_CU_FT
    return f"{cu_ft:.1f}".removesuffix(".0") + " cu ft"


def clean_name(text: str) -> str:
    """A name without stray spaces.  Raises: InputError when empty or too long for a sign."""
    name = " ".join(text.split())
    if not name or not name.isprintable():
        raise InputError(f"{text!r} is not a name. Give a word or two, such as red bag.", value=text)
    if len(name) > LONGEST_NAME:
        raise InputError(f"{name!r} is {len(name)} characters; a name has at most {LONGEST_NAME}.", value=text)
    return name


def all_settings(kitchen: Kitchen) -> tuple[Setting, ...]:
    """Every setting with its value now."""
    stored: Mapping[str, str] = kitchen.settings
    return (
        Setting(
            key="units",
            value=kitchen.unit.value,
            choices="lb, lb-oz, kg",
            about="weights are shown and typed in it",
            example="lb-oz",
        ),
        Setting(
            key="guide",
            value=kitchen.guide.key,
            choices=", ".join(guide.key for guide in keeping.guides()),
            about="keeping times come from it",
            example=keeping.guides()[-1].key,
        ),
        Setting(
            key="letter",
            value=letter(kitchen),
            choices="a letter",
            about="every new package code of this book begins with it",
            example="K",
        ),
        Setting(
            key="stock",
            value=stored.get("stock", "letter-10up"),
            choices="one of freezerbox label stock list",
            about="labels are printed on it",
            example="letter-30up",
        ),
        Setting(
            key="printer",
            value=stored.get("printer", "none"),
            choices="none, or one of freezerbox label printers",
            about="labels go to it",
            example="NAME",
        ),
        Setting(
            key=PHONE_KEY,
            value=stored.get(PHONE_KEY, NONE),
            choices="none, or this machine's name in the house",
            about="large labels carry a symbol with this address, for phones",
            example="freezer.local",
        ),
        Setting(
            key="scale",
            value=stored.get("scale", "none"),
            choices="none, auto, or a file such as /dev/hidraw0",
            about="at the table, Enter takes the weight that lies on it",
            example="auto",
        ),
        Setting(
            key="people",
            value=stored.get("people", ""),
            choices="a number",
            about="who eat here; meals are counted for that many",
            example="4",
        ),
        Setting(
            key="portion",
            value=stored.get("portion", DEFAULT_PORTION),
            choices="a weight",
            about="raw boneless meat a person at a meal",
            example='"6 oz"',
        ),
        *(_price(key, price) for key, price in sorted(stored.items()) if key.startswith("price:")),
    )


def _price(key: str, value: str) -> Setting:
    about = "what it is worth to you"
    return Setting(key=key, value=value, choices="money for a lb or kg", about=about, example="6.50")


def letter(kitchen: Kitchen) -> str:
    """The letter new codes begin with.  Raises: BookTrouble when the book says one that is none."""
    said = kitchen.settings.get("letter") or queries.meta(kitchen.book, "letter")
    if said not in LETTERS:
        raise unreadable_setting("letter", said, f"freezerbox settings letter {LETTERS[0]}")
    return said


def setting_named(kitchen: Kitchen, key: str) -> Setting:
    """One setting with its value now; a price that is not set yet has the value "".

    Raises: UnknownWord for a key that is none, naming those there are; what ``prices`` raises for a price of nothing.
    """
    key = key.strip()
    found = next((one for one in all_settings(kitchen) if one.key == key.lower()), None)
    if found is None and key.lower().startswith("price:"):
        from freezerbox.chores.prices import price_key

        key = "price:" + price_key(kitchen, key[len("price:") :])
        found = next((one for one in all_settings(kitchen) if one.key == key), None)
        found = found or _price(key, "")
    if found is None:
        raise no_setting(kitchen, key)
    return found


def no_setting(kitchen: Kitchen, key: str) -> UnknownWord:
    """The refusal for a key that is no setting, with those there are."""
    known = [setting.key for setting in all_settings(kitchen)]
    known += [] if any(one.startswith("price:") for one in known) else ["price:any"]
    return UnknownWord(f"There is no setting {key!r}. The settings are: {', '.join(known)}.", word=key, near=known)


@one_writer
def set_setting(kitchen: Kitchen, key: str, value: str) -> None:
    """Change a setting.  Raises: UnknownWord for a key or value that is not one."""
    key = key.strip().lower()
    if key == "units":
        value = parse_unit(value).value
    elif key == "guide":
        value = keeping.guide(value).key
    elif key == "letter":
        value = value.strip().upper()
        if value not in LETTERS:
            raise InputError(f"{value!r} is not one letter of {''.join(LETTERS)}.", value=value)
    elif key == "stock":
        from freezerbox.chores.label import paper_of

        value = paper_of(kitchen, value).name
    elif key == "printer":
        value = value.strip()
        if value != "none":
            from freezerbox.labels.printer import printer

            printer(value)
    elif key == PHONE_KEY:
        value = parse_phone_name(value)
    elif key == "scale":
        value = value.strip()
        if value not in ("none", "auto") and not value.startswith("/"):
            raise InputError(f"{value!r} is no scale. Say auto, none, or its file: /dev/hidraw0", value=value)
    elif key == "people":
        value = str(whole_number(value, "people", MOST_PEOPLE))
    elif key == "portion":
        parse_mass(value, unit=kitchen.unit)
    elif key.startswith("price:"):
        from freezerbox.chores.prices import set_price

        set_price(kitchen, key.removeprefix("price:"), value)
        return
    else:
        raise no_setting(kitchen, key)
    with kitchen.book.act("settings", kitchen.today, words=f"set {key} to {value}") as act:
        act.change("setting", key, "value", kitchen.settings.get(key), value)
