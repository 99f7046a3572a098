"""What a table entry says in words."""

from __future__ import annotations

from pathlib import Path

from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.table import pack_table


def packed_words(kitchen: Kitchen, file: Path, lines: str) -> str:
    file.write_text(f"cut,weight,species,pieces,count\n{lines}", encoding="utf-8")
    return pack_table(kitchen, file).words(kitchen)


def test_pieces_of_several_cuts_are_not_called_by_the_first_ones_name(kitchen: Kitchen, tmp_path: Path) -> None:
    mixed = packed_words(kitchen, tmp_path / "a.csv", "tenderloin,.5,deer,2,2\nshank,1.5,deer,1,4\n")
    assert mixed == "6 packages, 7.00 lb, 8 pieces"


def test_packages_without_pieces_give_no_name_to_the_pieces_of_others(kitchen: Kitchen, tmp_path: Path) -> None:
    chops = packed_words(kitchen, tmp_path / "b.csv", "bacon,1,pork,,1\nloin chops,1.1,pork,4,3\n")
    assert chops == "4 packages, 4.30 lb, 12 chops"
