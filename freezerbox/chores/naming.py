"""A name said by a part of it: ``garage`` for Garage chest, where only one thing can be meant."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from freezerbox.core.names import alike as alike
from freezerbox.core.names import same_name as same_name

Thing = TypeVar("Thing")

_LEAST_LETTERS = 2


def said_by(asked: str, things: Iterable[Thing], name: Callable[[Thing], str]) -> list[Thing]:
    """The things that ``asked`` names: by the whole name if any is, else by the beginnings of some of its words.

    >>> said_by("garage", ["Garage chest", "Kitchen"], str)
    ['Garage chest']
    >>> said_by("red", ["red", "red bag"], str)
    ['red']
    """
    words = alike(asked).split()
    every = list(things)
    whole = [one for one in every if same_name(name(one), asked)]
    if whole or not words or min(map(len, words)) < _LEAST_LETTERS:
        return whole
    return [one for one in every if _begins(words, alike(name(one)).split())]


def _begins(asked: list[str], words: list[str]) -> bool:
    return all(any(word.startswith(one) for word in words) for one in asked)
