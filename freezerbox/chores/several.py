"""What is typed behind a command that takes several codes: codes, and how many of a lot; a stranger stops it all."""

from __future__ import annotations

from collections.abc import Sequence

from freezerbox.book import queries
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.take import put_together
from freezerbox.chores.units import names_package, units_of, with_numbers
from freezerbox.core.code import compact, looks_like_code, show_code
from freezerbox.errors import InputError


def codes_named(kitchen: Kitchen, texts: Sequence[str], *, there: bool = True) -> list[str]:
    """The codes that were typed, with how many of a lot as one word with its code.

    ``there``: it is about what is in the freezer, so that ``all`` can be counted.

    Raises: InputError as ``with_numbers`` and ``refuse_strangers``, before anything is done.
    """
    words = put_together(kitchen, texts)
    words = with_all(kitchen, words) if there else with_numbers(words)
    refuse_strangers(words)
    return words


def with_all(kitchen: Kitchen, texts: Sequence[str]) -> list[str]:
    """As ``with_numbers``; ``all`` behind a package's code is as many as it stands for."""
    words: list[str] = []
    for text in texts:
        package = None
        if text.strip().lower() == "all" and words and looks_like_code(words[-1]):
            package = queries.package(kitchen.book, compact(words[-1]))
        words.append(f"*{max(1, package.state.quantity)}" if package else text)
    return with_numbers(words)


def refuse_strangers(texts: Sequence[str]) -> None:
    """Raises: InputError for what is no code among several words: it may have been meant to say how many."""
    strange = next((text for text in texts if not names_package(text)), None)
    if len(texts) < 2 or strange is None:
        return
    before = [text for text in texts[: texts.index(strange)] if names_package(text)]
    code = show_code(compact(units_of(before[-1])[0])) if before else "K7P-3MT"
    raise InputError(
        f"{strange!r} is neither a package code nor how many of a lot. Nothing was done. So many of a lot stand "
        f"behind its code, such as: {code} 2",
        value=strange,
    )
