"""A freezer full of labelled packages to photograph, and what is not in it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import lru_cache
from random import Random

from PIL import Image

from freezerbox.core.code import ALPHABET, make_code
from freezerbox.core.symbol import SymbolRecord, symbol_text, weights
from freezerbox.labels.content import LabelContent
from freezerbox.labels.draw import draw
from freezerbox.labels.symbols import QrSymbol, qr_symbol
from tests.weather.camera import Printed

STOCKS = ("letter-10up", "letter-30up", "roll-2x1in-203dpi")
OTHERS = (
    "a4-21up",
    "a4-24up",
    "letter-20up",
    "letter-plain-2up",
    "roll-2x1in-300dpi",
    "roll-4x2in-203dpi",
    "roll-4x2in-300dpi",
    "roll-4x6in-203dpi",
    "roll-4x6in-300dpi",
    "roll-62x29mm-300dpi",
)
ALIKE = {"a4-plain": "a4-21up", "a4-plain-2up": "letter-plain-2up", "letter-plain": "letter-10up"}
"""Stocks whose labels are, dot for dot, those of another."""
LIVE = 300
LETTER = "K"

_CUTS = (
    ("Backstrap", "Whitetail doe 26B"),
    ("Loin chops", "Pork, half hog 26H"),
    ("Ground", "Beef, quarter steer 26S"),
    ("Sirloin tip roast", "Whitetail buck 26A"),
    ("Stew meat", "Whitetail doe 26B"),
    ("Shoulder steaks", "Pork, half hog 26H"),
    ("Shank", "Lamb 26L"),
    ("Neck roast", "Whitetail buck 26A"),
)


def new_code(rng: Random, letter: str = LETTER) -> str:
    """A code that the program could issue."""
    while True:
        code = make_code(letter + "".join(rng.choice(ALPHABET) for _ in range(4)))
        if code is not None:
            return code


def text_of(rng: Random, code: str) -> str:
    """The symbol's text for some package of this freezer; many are alike but for code and weight."""
    record = SymbolRecord(
        cut=rng.randint(1, 40),
        form=rng.choice((0, 0, 1, 2)),
        species=rng.randint(1, 6),
        net_mg=rng.choice((None, *([weights()[rng.randint(300, 2500)]] * 6))),
        packed_on=date(2026, 11, 1) + timedelta(days=rng.randint(0, 30)),
        animal=rng.choice(("26A", "26B", "26H", "26S")),
        pieces=rng.choice((None, 1, 2, 4)),
    )
    return symbol_text(make_code(code[:5]) or code, record)  # type: ignore[arg-type]


def content(rng: Random, code: str, text: str) -> LabelContent:
    """The words around the symbol."""
    cut, animal = rng.choice(_CUTS)
    return LabelContent(
        cut=cut,
        form="",
        animal=animal,
        weight=f"{rng.uniform(0.5, 4):.2f} lb",
        weight_unit="lb",
        pieces=rng.choice(("", "4 chops", "2 steaks")),
        month="NOV 2026",
        best_by="best by NOV 2027",
        code=code,
        symbol_text=text,
        fat="",
        seasoning="",
        banners=(),
        hold=rng.choice(("", "", "", "TEST PENDING")),
        cue=rng.choice(("", "FAST", "SLOW")),
        run=f"{rng.randint(1, 14)} of 14",
        owner="",
        note="",
        wrap="vacuum",
        season="26/27",
    )


@lru_cache(maxsize=1)
def live_labels() -> tuple[tuple[str, str], ...]:
    """Code and symbol text of every package in the freezer."""
    rng = Random("the freezer")
    codes: dict[str, None] = {}
    while len(codes) < LIVE:
        codes[new_code(rng)] = None
    return tuple((code, text_of(rng, code)) for code in codes)


@lru_cache(maxsize=512)
def printed(stock: str, code: str, text: str, mask: int | None = None) -> Printed:
    """The label as it comes out of the printer."""
    drawn = draw([replace(content(Random(f"{stock} {code}"), code, text), mask=mask)], stock)
    boxes = [box for box in drawn.layouts[0].boxes if box.kind == "qr"]
    picture = drawn.pictures[0].convert("L")
    if picture.width > 1200:
        picture = picture.reduce(2)
    return Printed(
        picture=picture,
        width_mm=drawn.stock.width_mm,
        height_mm=drawn.stock.height_mm,
        module_mm=max(box.cap_mm for box in boxes),
    )


def some_live(rng: Random, stock: str) -> tuple[str, Printed]:
    """A package of the freezer: its code and its label.  Only the first forty are ever drawn."""
    code, text = live_labels()[rng.randrange(40)]
    return code, printed(stock, code, text)


def _symbol_alone(modules: tuple[tuple[bool, ...], ...], rng: Random) -> Printed:
    side = len(modules)
    wide, high = side + 8 + rng.randint(0, 30), side + 8
    small = Image.new("L", (wide, high), 255)
    for row, line in enumerate(modules):
        for column, dark in enumerate(line):
            if dark:
                small.putpixel((4 + column, 4 + row), 0)
    module_mm = 0.65
    return Printed(
        picture=small.resize((wide * 8, high * 8), Image.Resampling.NEAREST),
        width_mm=wide * module_mm,
        height_mm=high * module_mm,
        module_mm=module_mm,
    )


FOREIGN = (
    "stranger",
    "neighbour",
    "one-off",
    "one-off-label",
    "other-mask",
    "other-qr",
    "longer-qr",
    "false-modules",
    "words",
    "none",
)


def foreign(kind: str, rng: Random, stock: str) -> tuple[str | None, Printed | None]:
    """Something that is not in the book: the code it truly says, ``None`` when it says none, and the label."""
    live_code, live_text = live_labels()[rng.randrange(LIVE)]
    if kind == "stranger":
        code = f"{'QRST'[rng.randrange(4)]}"
        code = new_code(Random(f"stranger {rng.randrange(40)}"), code)
        return code, printed(stock, code, text_of(Random(code), code))
    if kind == "neighbour":
        # The same record exactly, another code of the same book: gone, or not entered here.
        while (code := new_code(rng)) in dict(live_labels()):
            pass
        text = code + live_labels()[rng.randrange(40)][1][6:]
        return _symbol_label(code, text, rng, qr_symbol(text))
    if kind in ("one-off", "one-off-label"):
        place = rng.randrange(1, 5)
        bodies = [live_code[:place] + letter + live_code[place + 1 : 5] for letter in ALPHABET]
        code = rng.choice([one for body in bodies if (one := make_code(body)) and one not in dict(live_labels())])
        text = code + live_text[6:]
        # In the live symbol's own mask it is as like it as can be.
        if kind == "one-off-label":
            return code, printed(stock, code, text, qr_symbol(live_text).mask)
        return _symbol_label(code, text, rng, qr_symbol(text, mask=qr_symbol(live_text).mask))
    if kind == "other-mask":
        # A live label's text in a mask that was never printed: decodes as itself, and that is right.
        mask = (qr_symbol(live_text).mask + rng.randint(1, 7)) % 8
        return _symbol_label(live_code, live_text, rng, qr_symbol(live_text, mask=mask))
    if kind == "other-qr":
        text = "".join(rng.choice("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-/") for _ in range(rng.randint(4, 16)))
        return None, _symbol_alone(qr_symbol(text).modules, rng)
    if kind == "longer-qr":
        from qrcode.main import QRCode

        longer = QRCode(version=rng.randint(2, 4), border=0)
        longer.add_data(f"http://farm.example/{rng.getrandbits(40):x}")
        longer.make(fit=True)
        return None, _symbol_alone(tuple(tuple(bool(cell) for cell in row) for row in longer.modules), rng)
    if kind == "false-modules":
        real = qr_symbol(live_text).modules
        function = [[_is_function(row, column) for column in range(21)] for row in range(21)]
        mixed = tuple(
            tuple(real[row][column] if function[row][column] else rng.random() < 0.5 for column in range(21))
            for row in range(21)
        )
        return None, _symbol_alone(mixed, rng)
    if kind == "words":
        label = printed(stock, live_code, live_text)
        kept = label.picture.copy()
        # The label's words without its symbols: cut off where the symbols are.
        wide = kept.width
        return None, replace(
            label,
            picture=kept.crop((wide // 4, 0, wide * 5 // 8, kept.height)),
            width_mm=label.width_mm * 3 / 8,
        )
    return None, None


def _symbol_label(code: str, text: str, rng: Random, symbol: QrSymbol) -> tuple[str, Printed]:
    return code, _symbol_alone(symbol.modules, rng)


def _is_function(row: int, column: int) -> bool:
    finder = (row < 9 and column < 9) or (row < 9 and column > 12) or (row > 12 and column < 9)
    return finder or row == 6 or column == 6
