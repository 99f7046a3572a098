"""A close look, where nothing tells what is in view: frost read without knowing the labels, and what is left counted.

The truth of every photograph is known by construction; no answer is taken from the program.
"""

from __future__ import annotations

from random import Random

import pytest
from PIL import Image

from freezerbox.chores.scan import code_said
from freezerbox.labels.symbols import qr_modules
from freezerbox.reading.closely import Looked, read_closely
from freezerbox.reading.known import Expected, Known
from freezerbox.reading.ladder import climb_ladder
from tests.weather.camera import Printed, photograph, scene
from tests.weather.household import STOCKS, foreign, live_labels, some_live
from tests.weather.weathers import Shot, Weather, caked, shot_of, weather_of

SIZE = (1800, 1350)


def basket(seed: str, stock: str, many: int, weather: str | Weather) -> tuple[Image.Image, set[str]]:
    """A photograph of so many labels, each of another package, in that weather; and their codes."""
    rng = Random(seed)
    laid: dict[str, Printed] = {}
    while len(laid) < many:
        code, label = some_live(rng, stock)
        laid[code] = label
    worn = weather_of(weather) if isinstance(weather, str) else weather
    shot = shot_of(weather, rng) if isinstance(weather, str) else Shot()
    return photograph(list(laid.values()), worn, shot, rng, SIZE, columns=2), set(laid)


def read(looked: Looked) -> set[str | None]:
    return {code_said(symbol) for symbol in looked.symbols}


@pytest.mark.parametrize(
    ("weather", "least"),
    [
        ("clear", 12),
        ("translucent-frost", 11),
        pytest.param("crystals", 9, marks=pytest.mark.sweep),
        pytest.param("together", 11, marks=pytest.mark.sweep),
    ],
)
def test_frost_is_read_without_knowing_the_labels(weather: str, least: int) -> None:
    """No fewer than the ladder decodes, none invented; read and unread together are no more than is there."""
    by_ladder = by_looking = 0
    for stock in STOCKS:
        picture, codes = basket(f"closely {weather} {stock}", stock, 4, weather)
        looked = read_closely(picture)
        assert read(looked) <= codes
        assert len(looked.unread) <= len(codes) - len(read(looked))
        by_ladder += len({code_said(symbol) for symbol in climb_ladder(picture)[0]} & codes)
        by_looking += len(read(looked))
        assert all(symbol.how != "matched" for symbol in looked.symbols)
    assert by_looking >= by_ladder
    assert by_looking >= least, "of twelve"


def iced(number: int, cover: float) -> Weather:
    """Labels of which one, in the order they are laid, is under ice that is not seen through."""
    order = iter(range(99))

    def worn(label: Image.Image, rng: Random, scale: float) -> Image.Image:
        return caked(label, rng, scale, cover) if next(order) == number else label

    return worn


def test_what_is_seen_and_not_read_is_counted() -> None:
    """Four labels, one of them with half of it under ice that is not seen through: three read and one to go to."""
    told = 0
    for number in range(3):
        picture, codes = basket(f"iced {number}", "letter-10up", 4, iced(2, 0.5))
        looked = read_closely(picture)
        assert len(read(looked) & codes) == 3
        assert len(looked.unread) <= 1
        told += len(looked.unread)
    assert told >= 2, "of three"


@pytest.mark.sweep
def test_what_the_book_knows_is_not_called_unread() -> None:
    """A label that does not decode, but is recognised among those of the book, is none to photograph again."""
    known = Known(lambda: [Expected(code=code, text=text, modules=qr_modules(text)) for code, text in live_labels()])
    spared = 0
    for number in range(6):
        picture, codes = basket(f"known {number}", "letter-10up", 4, iced(1, 0.33))
        alone, beside = read_closely(picture), read_closely(picture, known)
        assert read(alone) == read(beside) <= codes
        assert set(beside.unread) <= set(alone.unread)
        spared += len(alone.unread) - len(beside.unread)
    assert spared >= 1


def test_a_freezer_without_labels_shows_none() -> None:
    for number in range(4):
        looked = read_closely(scene(Random(f"nothing {number}"), SIZE))
        assert looked.symbols == ()
        assert looked.unread == ()


@pytest.mark.parametrize("kind", ["false-modules", "longer-qr", "other-qr"])
def test_a_square_that_is_no_label_gives_no_code(kind: str) -> None:
    """Modules made by chance are never mended into a package; a symbol of another kind says its own."""
    for number in range(4):
        rng = Random(f"closely {kind} {number}")
        code, label = foreign(kind, rng, "letter-10up")
        picture = photograph([label] if label else [], weather_of("clear"), shot_of("clear", rng), rng, (1280, 960))
        assert {said for said in read(read_closely(picture)) if said} <= ({code} if code else set())


def test_small_and_empty_pictures() -> None:
    for size in ((1, 1), (7, 2000), (60, 60), (2000, 7)):
        assert read_closely(Image.new("L", size, 128)) == Looked(symbols=(), unread=())
