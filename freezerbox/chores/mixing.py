"""What is in a mixture, by kind of animal and by weight."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from freezerbox.core.lineage import Lineage, Origin, SharesKnown
from freezerbox.food import cuts
from freezerbox.food.bought import bought


def mix(lineage: Lineage, code: str, known: SharesKnown | None = None) -> tuple[tuple[str, int], ...]:
    """Species key and whole percent of each kind of animal in a package, the largest first.

    Empty when there is one kind only, or what went in was not all weighed or has no known animal.  Source of the rule
    that a mixture names each species with its percentage: UK SI 1995/3205, Schedule 7.
    """
    rows = lineage.sources.get(code, ())
    if len(rows) < 2 and not any(row.kind == "package" for row in rows):
        return ()
    shares = lineage.shares(code, known)
    if shares is None:
        return ()
    by_species = species_shares(lineage, shares)
    if by_species is None or len(by_species) < 2:
        return ()
    return percents(by_species)


def species_shares(lineage: Lineage, shares: Mapping[Origin, Fraction]) -> dict[str, Fraction] | None:
    """Shares by species key; None when a part is of no known animal.  What is bought and no meat is left out."""
    found: dict[str, Fraction] = {}
    for (kind, name), share in shares.items():
        if kind == "animal":
            animal = lineage.animals.get(name)
            species = animal.species if animal else ""
        elif kind == "bought":
            known = bought(name)
            species = known.species
            if not species and known.fat_percent is None and not known.by_ratio:
                continue  # no meat: water, wine, rice
        else:
            return None
        if not species:
            return None
        found[species] = found.get(species, Fraction(0)) + share
    return found


def percents(shares: Mapping[str, Fraction]) -> tuple[tuple[str, int], ...]:
    """Whole percents that sum to 100, the largest share first; by the largest remainders."""
    total = sum(shares.values())
    exact = {key: share * 100 / total for key, share in shares.items()}
    whole = {key: int(share) for key, share in exact.items()}
    left = 100 - sum(whole.values())
    for key in sorted(exact, key=lambda key: (whole[key] - exact[key], key))[:left]:
        whole[key] += 1
    return tuple(sorted(whole.items(), key=lambda pair: (-pair[1], pair[0])))


def bought_names(lineage: Lineage, code: str) -> tuple[str, ...]:
    """Names of what was bought and is in the package, through any number of mixings."""
    return tuple(dict.fromkeys(source.name for source in lineage.ancestors(code) if source.kind == "bought"))


def mix_words(found: tuple[tuple[str, int], ...]) -> str:
    """``Whitetail 80%, Pork 20%``."""
    return ", ".join(f"{cuts.species(species).label_name} {percent}%" for species, percent in found)
