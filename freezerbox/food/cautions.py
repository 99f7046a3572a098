"""Lines of caution, each said as its source says it: what to cook through, what to hold, what the months mean."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from freezerbox.errors import UnknownRecord
from freezerbox.food.sources import read_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution.

    ``key``: what species and reports call it.  ``text``: a sentence or two for a screen or a report, naming who says
    it.  ``label_text``: a few plain words for a label, in ASCII; empty for a line that is not for labels.
    ``source_id`` and ``locator``: the publication and where in it to look.
    """

    key: str
    text: str
    label_text: str
    source_id: str
    locator: str


def caution(key: str) -> Caution:
    """The caution of this key.

    >>> caution("cook-through").label_text
    'COOK THROUGH - freezing is not enough'

    Raises: UnknownRecord when there is none, naming those there are.
    """
    try:
        return _by_key()[key]
    except KeyError:
        known = ", ".join(_by_key())
        raise UnknownRecord(
            f"No caution {key!r}. The cautions are: {known}.", value=key, known=list(_by_key())
        ) from None


def cautions() -> tuple[Caution, ...]:
    """Every caution, in the order of the table."""
    return tuple(_by_key().values())


@cache
def _by_key() -> Mapping[str, Caution]:
    return {key: Caution(key=key, **entry) for key, entry in read_toml("cautions.toml").items()}
