"""The symbols that a picture is held against, and how like a sampled grid is to each."""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import compress
from operator import mul

from freezerbox.reading.grid import SIDE, Weights, data_bits, data_modules, pick_data, place, weigh

Modules = Sequence[Sequence[bool]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """A symbol that may be in the picture.

    code: the package.  text: what the symbol says.  modules: its 21 x 21 modules, ``True`` is dark.
    """

    code: str
    text: str
    modules: Modules


class Known:
    """The symbols expected, ready to be compared with: for any number of pictures.

    They are asked for when a picture first needs them, since one whose labels all decode never does.
    """

    def __init__(self, source: Callable[[], Sequence[Expected]]) -> None:
        self._source = source
        self._data: dict[int, Weights] = {}
        self._whole: dict[int, Weights] = {}

    @cached_property
    def expected(self) -> tuple[Expected, ...]:
        """Every symbol expected."""
        return tuple(self._source())

    @cached_property
    def _bits(self) -> list[int]:
        return [data_bits(one.modules) for one in self.expected]

    def data(self, number: int) -> Weights:
        """Weights of the data modules of one symbol."""
        if number not in self._data:
            modules = self.expected[number].modules
            places = data_modules()
            self._data[number] = weigh(
                [place(row, column) for row, column in places], [modules[row][column] for row, column in places]
            )
        return self._data[number]

    def whole(self, number: int) -> Weights:
        """Weights of the whole symbol with its quiet ring."""
        if number not in self._whole:
            modules = self.expected[number].modules
            span = range(-1, SIDE + 1)
            dark = {
                place(row, column): 0 <= row < SIDE and 0 <= column < SIDE and bool(modules[row][column])
                for row in span
                for column in span
            }
            self._whole[number] = weigh(list(dark), list(dark.values()))
        return self._whole[number]

    def nearest(self, grid: bytes, most: int = 8) -> list[tuple[float, int]]:
        """Correlation and number of the symbols most like a sampled grid, best first."""
        values = pick_data()(grid)
        mean = sum(values) / len(values)
        seen = int(bytes(49 if value > mean else 48 for value in values), 2)
        differing = heapq.nsmallest(most, [((bits ^ seen).bit_count(), at) for at, bits in enumerate(self._bits)])
        spread = math.sqrt(max(1.0, sum(map(mul, values, values)) - len(values) * mean * mean))
        found = [(sum(map(mul, self.data(at).weights, values)) / spread, at) for _, at in differing]
        return sorted(found, reverse=True)

    def nearest_by(self, grid: bytes, shares: Sequence[float]) -> list[tuple[float, int]]:
        """The same of every symbol, best first, with each data module counted by its share, 0 to 1."""
        return sorted(
            ((self.like(number, grid, shares), number) for number in range(len(self.expected))), reverse=True
        )

    def like(self, number: int, grid: bytes, shares: Sequence[float]) -> float:
        """Correlation of a sampled grid with one symbol, each data module counted by its share."""
        values, total = pick_data()(grid), sum(shares) or 1e-9
        mean = sum(map(mul, values, shares)) / total
        away = [share * (value - mean) for value, share in zip(values, shares, strict=True)]
        spread = sum(map(mul, away, values)) - mean * sum(away)
        dark = [weight > 0 for weight in self.data(number).weights]
        share = sum(compress(shares, dark)) / total
        likeness: float = sum(compress(away, dark)) / math.sqrt(max(spread * total * share * (1 - share), 1e-9))
        return likeness
