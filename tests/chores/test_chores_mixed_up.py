"""One piece of meat is of one kind of animal; what is ground, stewed or cooked may be of several."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from freezerbox.chores import animals
from freezerbox.chores.header import Words
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.pack import mixed_up, prepare, write
from freezerbox.chores.table import pack_table
from freezerbox.chores.whose import may_be_of
from freezerbox.errors import FaultyFile, FreezerboxError, InvalidMass, OutOfLine, UnknownWord
from freezerbox.food import cuts


@pytest.fixture
def yard(kitchen: Kitchen) -> Kitchen:
    for code, species in (("26B", "whitetail"), ("26C", "deer"), ("26H", "pig")):
        animals.add_animal(kitchen, animals.NewAnimal(code=code, species=species))
    return kitchen.afresh()


@pytest.mark.parametrize(
    ("cut", "codes", "asks"),
    [
        ("loin chops", ("26H", "26B"), True),
        ("tenderloin", ("26H", "26B"), True),
        ("tenderloin steaks", ("26H", "26B"), True),
        ("backstrap", ("26B", "26C"), False),
        ("ground", ("26H", "26B"), False),
        ("breakfast sausage", ("26H", "26B"), False),
        ("stew meat", ("26H", "26B"), False),
        ("chili", ("26H", "26B"), False),
        ("stock bones", ("26H", "26B"), False),
        ("loin chops", ("26H",), False),
    ],
)
def test_a_chop_of_two_kinds_of_animal_is_asked_about(
    yard: Kitchen, cut: str, codes: tuple[str, ...], asks: bool
) -> None:
    run = prepare(yard, Words(cut=cut, animals=codes), ["1"])
    assert bool(mixed_up(run.header)) is asks
    if asks:
        with pytest.raises(OutOfLine, match=r"26H \(.*\) and 26B \(Whitetail deer\).*--yes"):
            write(yard, run)
    assert len(write(yard, run, yes=asks).rows) == 1


def test_meat_without_its_animal_may_be_of_one_for_as_long_as_cutting_up_takes(yard: Kitchen) -> None:
    animals.add_animal(yard, animals.NewAnimal(code="26D", species="elk", killed="2026-11-01"))
    elk = cuts.resolve_species("elk")[0]
    shank = cuts.resolve_cut("shank", elk).cut

    def asked(day: date) -> list[str]:
        return [one.code for one in may_be_of(yard.afresh(), shank, elk, day, day)]

    assert asked(date(2026, 10, 31)) == []
    assert asked(date(2026, 11, 1)) == asked(date(2026, 11, 15)) == ["26D"]
    assert asked(date(2026, 11, 16)) == []


def test_a_table_names_row_and_column(yard: Kitchen, tmp_path: Path) -> None:
    table = tmp_path / "evening.csv"
    table.write_text("cut,weight,animal\nground,1,26H+26B\nloin chops,1,26H+26B\n", encoding="utf-8")
    with pytest.raises(FaultyFile) as refused:
        pack_table(yard, table)
    assert [str(fault)[:13] for fault in refused.value.faults] == ["row 3, animal"]
    assert "(--yes takes meat of several animals)" in refused.value.message
    assert len(pack_table(yard, table, yes=True).rows) == 2


def test_a_blank_weight_is_a_fault_and_x_is_not(yard: Kitchen, tmp_path: Path) -> None:
    table = tmp_path / "evening.csv"
    table.write_text("cut,weight,animal\nground,,26B\nground,x,26B\n", encoding="utf-8")
    with pytest.raises(FaultyFile) as refused:
        pack_table(yard, table)
    assert list(refused.value.faults) == ["row 2, weight: missing. Write x when it was not weighed."]


def test_what_no_yes_can_take_is_not_offered_it(yard: Kitchen, tmp_path: Path) -> None:
    table = tmp_path / "evening.csv"
    table.write_text("cut,weight,animal\nground,heavy,26B\n", encoding="utf-8")
    with pytest.raises(FaultyFile, match="row 2, weight: 'heavy'") as refused:
        pack_table(yard, table)
    assert "--yes" not in refused.value.message
    table.write_text("cut,weight,animal\nground,heavy,26B\nground,400,26B\n", encoding="utf-8")
    with pytest.raises(FaultyFile, match="--yes takes doubtful weights"):
        pack_table(yard, table)


def test_a_file_that_is_no_text_is_told_once(yard: Kitchen, tmp_path: Path) -> None:
    table = tmp_path / "evening.csv"
    table.write_bytes(b"cut,weight\nground,1\ngr\xffund,1\n")
    with pytest.raises(FaultyFile) as refused:
        pack_table(yard, table)
    assert str(refused.value).count("UTF-8 text") == 2  # what is wrong, and in which row
    assert str(refused.value).count("row 3") == 1


@pytest.mark.parametrize(
    ("cut", "kind", "words"),
    [
        ("backstrap abc", InvalidMass, "'abc' is not a weight"),
        ("backstarp", UnknownWord, "backstrap"),
        ("qqqq abc", UnknownWord, "is not a cut"),
        ("sirloin", FreezerboxError, "stands for more than one thing"),
        ("backstrap", FreezerboxError, "No weights given"),
    ],
)
def test_without_a_weight_what_is_wrong_first_is_said(
    yard: Kitchen, cut: str, kind: type[FreezerboxError], words: str
) -> None:
    with pytest.raises(kind, match=words):
        prepare(yard, Words(cut=cut), [])
