"""One photograph by its number: made, read, judged; and many of them on every core."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterable, Sequence
from functools import lru_cache
from random import Random
from typing import NamedTuple

from freezerbox.chores.scan import code_said
from freezerbox.labels.symbols import qr_symbol
from freezerbox.reading.known import Expected, Known
from freezerbox.reading.ladder import Symbol
from freezerbox.reading.pictures import read_picture
from tests.weather.camera import Printed, photograph
from tests.weather.household import FOREIGN, STOCKS, foreign, live_labels, some_live
from tests.weather.weathers import FAMILIES, HARSH, shot_of, weather_of


class Photo(NamedTuple):
    """What to photograph: a family of weather or a kind of foreign thing, a stock, and which one of them."""

    family: str
    stock: str
    number: int


class Judged(NamedTuple):
    """What came of a photograph.

    decoded: its code was decoded, by the ladder alone.  read: decoded or recognised.
    wrong: every code reported that was not in the picture.
    """

    photo: Photo
    decoded: bool
    read: bool
    wrong: tuple[str, ...]


@lru_cache(maxsize=1)
def known() -> Known:
    """The symbols of the whole freezer."""
    return Known(
        lambda: [Expected(code=code, text=text, modules=qr_symbol(text).modules) for code, text in live_labels()]
    )


def judge(photo: Photo) -> Judged:
    """Make the photograph, read it, and compare with what is in it."""
    rng = Random(f"{photo.family} {photo.stock} {photo.number}")
    label: Printed | None
    if photo.family in FOREIGN:
        family = rng.choice((*FAMILIES, *HARSH))
        code, label = foreign(photo.family, rng, photo.stock)
    else:
        family = photo.family
        code, label = some_live(rng, photo.stock)
    picture = photograph([label] if label else [], weather_of(family), shot_of(family, rng), rng)
    found = read_picture(picture, known())
    return Judged(
        photo,
        any(said(symbol) == code and symbol.how != "matched" for symbol in found if code),
        any(said(symbol) == code for symbol in found if code),
        wrong_codes(found, {code} if code else set()),
    )


def said(symbol: Symbol) -> str | None:
    """The code that the program would report."""
    return code_said(symbol)


def wrong_codes(found: Iterable[Symbol], truly: set[str]) -> tuple[str, ...]:
    """Codes reported that are not in the picture.

    A foreign QR may say something that passes for a code of another book; one of this book it must never be.
    """
    live = dict(live_labels())
    return tuple(
        f"{code} {symbol.how} {symbol.likeness}"
        for symbol in found
        if (code := said(symbol)) is not None and code not in truly
        if symbol.how == "matched" or code in live or truly
    )


def judge_all(photos: Sequence[Photo]) -> list[Judged]:
    """All of them, on every core."""
    with multiprocessing.get_context("spawn").Pool(os.cpu_count()) as pool:
        return pool.map(judge, photos, chunksize=6)


def labels_of_the_freezer(each: int, families: Sequence[str] = FAMILIES) -> list[Photo]:
    """``each`` photographs of every family on every stock."""
    return [Photo(family, stock, number) for family in families for stock in STOCKS for number in range(each)]


def foreign_things(count: int) -> list[Photo]:
    """``count`` photographs of what is not in the freezer, every kind in turn."""
    return [
        Photo(FOREIGN[number % len(FOREIGN)], STOCKS[number // len(FOREIGN) % len(STOCKS)], number)
        for number in range(count)
    ]


__all__ = ["HARSH", "Judged", "Photo", "foreign_things", "judge", "judge_all", "labels_of_the_freezer"]
