"""A handover file in another household's book: codes, animals, holds; later news; files that are none."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from freezerbox.book.door import create_book
from freezerbox.chores import animals, check, give, grind, holding, house, pack, result, undo
from freezerbox.chores.handover import handover, take_in
from freezerbox.chores.header import Words, find_animal
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.label import not_yet_printed
from freezerbox.chores.notices import write_notices
from freezerbox.chores.rows import Row, Rows
from freezerbox.chores.take import take
from freezerbox.core.code import show_code
from freezerbox.core.records import State, TestResult
from freezerbox.errors import FaultyFile, FreezerboxError, Held, InputError, Refused
from tests.cli.process import House, copy_of
from tests.conftest import Stocked, StoppedClock, seeded_chance


@pytest.fixture
def ben(tmp_path: Path, clock: StoppedClock) -> Iterator[Kitchen]:
    """Another household's new book."""
    book = create_book(tmp_path / "ben.book", chance=seeded_chance("ben"), now=clock.stamp, station="ben")
    kitchen = Kitchen(book, clock)
    house.start(kitchen, units="lb", guide="split-2018", freezer="Ben's chest", volume="")
    yield kitchen.afresh()
    book.close()


@pytest.fixture
def shared(stocked: Stocked) -> tuple[Row, ...]:
    """What Ben gets: two backstraps on hold, a mixture of doe and hog, six of a lot."""
    kitchen = stocked.kitchen
    asked = grind.Asked(
        packages=[stocked.backstraps[0].code], animals=["26H=3.6"], shop=["pork back fat=.5"], weights=["2.5", "2.5"],
        words=Words(cut="fresh sausage", seasoning="sage"),
    )  # fmt: skip
    made = grind.make(kitchen, asked, with_held=True, yes=True).rows[:1]
    run = pack.prepare(kitchen.afresh(), Words(cut="ground", animals=("26H",)), ["1"], quantity=10)
    lot = pack.write(kitchen.afresh(), run).rows
    return (*stocked.backstraps[1:3], *made, *lot)


def file_of(stocked: Stocked, packages: tuple[Row, ...], folder: Path, **more: Any) -> Path:
    told = handover(
        stocked.kitchen.afresh(), "Ben", [(row, 6 if row.package.state.quantity > 1 else 1) for row in packages],
        stocked.kitchen.today, giver="Ann", **more,
    )  # fmt: skip
    file = folder / "ben.json"
    file.write_text(json.dumps(told), encoding="utf-8")
    return file


def test_what_it_is_called_comes_with_it(stocked: Stocked, ben: Kitchen, tmp_path: Path) -> None:
    names = {"chili": "chili", "venison chilli portions": "venison chilli portions", "cooked dish": "Cooked dish",
             "merguez": "merguez", "backstrap half": "Backstrap half"}  # fmt: skip
    kitchen = stocked.kitchen
    rows = tuple(pack.write(kitchen, pack.prepare(kitchen, Words(cut=cut), ["1"])).rows[0] for cut in names)
    taken = take_in(ben, file_of(stocked, rows, tmp_path))
    assert [row.cut_name for row in taken.rows] == list(names.values())
    assert [row.package.other_words for row in taken.rows] == [row.package.other_words for row in rows]


def test_packages_come_with_codes_animals_weights_and_holds(
    stocked: Stocked, ben: Kitchen, shared: tuple[Row, ...], tmp_path: Path
) -> None:
    taken = take_in(ben, file_of(stocked, shared, tmp_path))
    assert (taken.giver, taken.known, taken.animals) == ("Ann", 0, {"26B": "26B", "26H": "26H"})
    assert [row.code for row in taken.rows] == [row.code for row in shared]
    same = ("cut", "form", "species", "net_mg", "pieces", "packed_on", "first_frozen_on", "times_frozen", "wrap",
            "seasoning", "fat_percent", "added")  # fmt: skip
    for mine, theirs in zip(taken.rows, shared, strict=True):
        assert [getattr(mine.package, name) for name in same] == [getattr(theirs.package, name) for name in same]
        assert mine.mix == theirs.mix
        assert [animal.code for animal in mine.animals] == [animal.code for animal in theirs.animals]
        assert [(hold.why, hold.since) for hold in mine.holds] == [(hold.why, hold.since) for hold in theirs.holds]
        assert mine.freezer == "Ben's chest"
    assert [row.package.state.quantity for row in taken.rows] == [1, 1, 1, 6]
    doe = find_animal(ben.afresh(), "26B")
    assert (doe.sex_age, doe.tests[0].sample, doe.tests[0].result) == ("doe", "4471", TestResult.PENDING)
    with pytest.raises(Held):
        take(ben.afresh(), shared[0].code)
    assert not not_yet_printed(ben.afresh())
    assert check.check(ben.afresh()).faults == ()


def test_twice_is_the_same_as_once_and_undo_takes_it_back_whole(
    stocked: Stocked, ben: Kitchen, shared: tuple[Row, ...], tmp_path: Path
) -> None:
    file = file_of(stocked, shared, tmp_path)
    take_in(ben, file)
    acts = ben.book.connection.execute("SELECT count(*) FROM act").fetchone()[0]
    again = take_in(ben.afresh(), file)
    assert (again.rows, again.known, again.news) == ((), 4, ())
    assert ben.book.connection.execute("SELECT count(*) FROM act").fetchone()[0] == acts
    undo.undo(ben.afresh(), undo.target(ben.afresh()))
    assert Rows(ben.afresh()).all(State.FROZEN) == ()
    with pytest.raises(FreezerboxError, match="no animal"):
        find_animal(ben.afresh(), "26B")


def test_the_result_that_comes_later_holds_or_frees_it_there_too(
    stocked: Stocked, ben: Kitchen, shared: tuple[Row, ...], tmp_path: Path, clock: StoppedClock
) -> None:
    take_in(ben, file_of(stocked, shared, tmp_path))
    for row in shared[:3]:
        give.give(stocked.kitchen.afresh(), [row.code], "Ben", held_too=True, yes=True)
    clock.move_to("2026-12-09T20:00")
    for said, whys in (("detected", ["test result: detected"]), ("not-detected", [])):
        now = stocked.kitchen.afresh()
        result.record(now, result.understand(now, "26B", said, yes=True))
        files = write_notices(stocked.kitchen.afresh(), "26B", tmp_path / said)
        (news,) = take_in(ben.afresh(), next(file for file in files if file.suffix == ".json")).news
        assert news.startswith("26B: test (sample 4471) ")
        for row in Rows(ben.afresh()).of_codes([row.code for row in shared[:3]]):
            assert [hold.why for hold in row.holds] == whys
        clock.move_to("2026-12-12T20:00")
    # What was heard before does not come back with an older file.
    assert take_in(ben.afresh(), tmp_path / "detected" / "ben.json").news == ()
    assert find_animal(ben.afresh(), "26B").tests[0].result is TestResult.NOT_DETECTED


def test_a_notice_names_what_was_given_and_never_entered_here(
    stocked: Stocked, ben: Kitchen, shared: tuple[Row, ...], tmp_path: Path
) -> None:
    take_in(ben, file_of(stocked, shared[:2], tmp_path))
    now = stocked.kitchen.afresh()
    result.record(now, result.understand(now, "26B", "detected", yes=True))
    told = take_in(ben.afresh(), file_of(stocked, shared, tmp_path, notice=True))
    assert told.known == 2
    assert set(told.strangers) == {row.code for row in shared[2:]}
    again = take_in(ben.afresh(), file_of(stocked, shared, tmp_path, notice=True))
    assert (again.news, set(again.strangers)) == ((), set(told.strangers))


def test_a_notice_adds_no_package(stocked: Stocked, ben: Kitchen, shared: tuple[Row, ...], tmp_path: Path) -> None:
    with pytest.raises(Refused, match="packages that this book does not have"):
        take_in(ben, file_of(stocked, shared, tmp_path, notice=True))
    assert Rows(ben.afresh()).all() == ()


def test_an_animal_of_that_code_here_is_asked_about(
    stocked: Stocked, ben: Kitchen, shared: tuple[Row, ...], tmp_path: Path
) -> None:
    animals.add_animal(ben, animals.NewAnimal(code="26B", species="elk cow"))
    file = file_of(stocked, shared, tmp_path)
    with pytest.raises(Refused, match=r"their 26B \(whitetail doe\) is another animal than 26B here \(elk cow 26B\)"):
        take_in(ben.afresh(), file)
    with pytest.raises(Refused, match="26H here"):
        take_in(ben.afresh(), file, rename=["26B=26H"])
    with pytest.raises(InputError, match="not an animal code"):
        take_in(ben.afresh(), file, rename=["26B=doe"])
    assert take_in(ben.afresh(), file, rename=["26b=26x"]).animals == {"26B": "26X", "26H": "26H"}
    assert [animal.code for animal in Rows(ben.afresh()).of_codes([shared[0].code])[0].animals] == ["26X"]
    # It is known by that name from then on, whatever news comes.
    now = stocked.kitchen.afresh()
    result.record(now, result.understand(now, "26B", "detected"))
    assert take_in(ben.afresh(), file_of(stocked, shared, tmp_path, notice=True)).animals["26B"] == "26X"
    assert find_animal(ben.afresh(), "26B").tests == ()


def test_own_holds_of_package_and_animal_come_along(
    stocked: Stocked, ben: Kitchen, shared: tuple[Row, ...], tmp_path: Path
) -> None:
    holding.hold(stocked.kitchen.afresh(), "26H", "seller called")
    lot = shared[3].code
    holding.hold(stocked.kitchen.afresh(), lot, "bag torn")
    packages = Rows(stocked.kitchen.afresh()).of_codes([row.code for row in shared])
    take_in(ben, file_of(stocked, packages, tmp_path))
    assert {hold.why for hold in Rows(ben.afresh()).of_codes([lot])[0].holds} == {"seller called", "bag torn"}


def test_a_code_that_is_another_package_here_is_refused(
    stocked: Stocked, ben: Kitchen, shared: tuple[Row, ...], tmp_path: Path
) -> None:
    file = file_of(stocked, shared, tmp_path)
    take_in(ben, file)
    told = json.loads(file.read_text())
    told["packages"][0] |= {"cut": "shank"}
    file.write_text(json.dumps(told))
    with pytest.raises(Refused, match="is another package here, Backstrap half"):
        take_in(ben.afresh(), file)


def test_a_file_for_several_asks_whose_part(stocked: Stocked, ben: Kitchen, tmp_path: Path) -> None:
    now = stocked.kitchen
    parts = [
        handover(now, name, [(row, 1)], now.today) for name, row in zip(("Ben", "Cy"), stocked.chops[:2], strict=True)
    ]
    file = tmp_path / "all.json"
    file.write_text(json.dumps({"handovers": parts}))
    with pytest.raises(InputError, match=r"is for: Ben, Cy\. Say whose part it is: --for NAME"):
        take_in(ben, file)
    with pytest.raises(InputError, match="is for: Ben, Cy"):
        take_in(ben, file, who="Dan")
    assert [row.code for row in take_in(ben, file, who="cy").rows] == [stocked.chops[1].code]


def _set(*path: str | int, to: object) -> Callable[[dict[str, Any]], object]:
    def change(told: dict[str, Any]) -> object:
        at: Any = told
        for step in path[:-1]:
            at = at[step]
        at[path[-1]] = to
        return told

    return change


FAULTS: list[tuple[Callable[[dict[str, Any]], object], str]] = [
    (lambda told: [told], "the file is not an object"),
    (_set("handover", to=2), "handover of the file is not a number from 1 to 1"),
    (_set("handover", to=None), "no handover file that this program knows"),
    (_set("packages", to=None), "the file has no list of packages"),
    (_set("packages", to=[7]), "package 1 is not an object"),
    (_set("packages", 0, "code", to="W3T8AF"), "'W3T8AF' is not a package's code"),
    (_set("packages", 0, "code", to=None), "package 1 has no code"),
    (_set("packages", 0, "cut", to="unicorn"), "later program, or damaged: 'unicorn'"),
    (_set("packages", 0, "form", to="cubed"), "later program, or damaged: 'cubed'"),
    (_set("packages", 0, "species", to="dragon"), "later program, or damaged: 'dragon'"),
    (_set("packages", 0, "unit_g", to=-3), "unit_g of package"),
    (_set("packages", 0, "unit_g", to="heavy"), "unit_g of package"),
    (_set("packages", 0, "unit_g", to=True), "unit_g of package"),
    (_set("packages", 0, "number", to=1.5), "is not a whole number"),
    (_set("packages", 0, "packed_on", to="21 nov"), "'21 nov', is not a day such as 2026-11-21"),
    (_set("packages", 0, "packed_on", to=None), "has no packed on"),
    (_set("packages", 0, "note", to="x" * 300), "note of package"),
    (_set("packages", 0, "note", to="a\nb"), "note of package"),
    (_set("packages", 0, "animals", to=[None]), "names an animal that is no code"),
    (_set("packages", 0, "animals", to=["26Q"]), "an animal 26Q that the file says nothing of"),
    (_set("packages", 0, "made_of", to=[{"kind": "wish", "name": "x"}]), "is made of a 'wish'"),
    (_set("packages", 0, "holds", to={}), "has no list of holds"),
    (_set("animals", 0, "species", to="dragon"), "later program, or damaged: 'dragon'"),
    (_set("animals", 0, "uid", to=None), "has no uid"),
    (_set("animals", 0, "tests", 0, "result", to="fine"), "has the result 'fine'"),
]


@pytest.mark.parametrize(("change", "words"), FAULTS)
def test_a_faulty_file_is_refused_and_nothing_written(
    stocked: Stocked, ben: Kitchen, shared: tuple[Row, ...], tmp_path: Path,
    change: Callable[[dict[str, Any]], object], words: str,
) -> None:  # fmt: skip
    file = file_of(stocked, shared, tmp_path)
    file.write_text(json.dumps(change(json.loads(file.read_text()))))
    before = ben.book.connection.total_changes
    with pytest.raises(FaultyFile, match="Nothing taken in") as refused:
        take_in(ben, file)
    assert words in refused.value.message
    assert ben.book.connection.total_changes == before


@pytest.mark.parametrize("text", ["", "{", "[" * 100_000, '{"handover": 1' + "0" * 5000 + "}", "null", "NaN"])
def test_what_is_no_json_is_refused(ben: Kitchen, tmp_path: Path, text: str) -> None:
    file = tmp_path / "x.json"
    file.write_text(text)
    with pytest.raises(FaultyFile, match="Nothing taken in"):
        take_in(ben, file)


def test_shared_out_written_and_taken_in_as_people_type_it(played_evening: House, tmp_path: Path) -> None:
    (tmp_path / "ann").mkdir()
    ann = copy_of(played_evening, tmp_path / "ann")
    said = ann.ok("share", "--animal", "26B", "--between", "Ann, Ben", "--held-too", "--accept",
                  "--handover", "ben.json").out  # fmt: skip
    assert "freezerbox import ben.json" in said
    (tmp_path / "his").mkdir()
    his = House(folder=tmp_path / "his", seed="2")
    his.ok("start", "--units", "lb", "--freezer", "Chest")
    file = str(ann.folder / "ben.json")
    out = his.ok("import", file).out
    assert out.startswith("Taken in from Ann: 2 packages, ")
    assert "ON HOLD: test pending since 21 Nov" in " ".join(out.split())
    assert (
        his.ok("import", file, "--for", "Ben").out == "Nothing new in ben.json: this book knows all of it already.\n"
    )
    assert his.ok("import", file, "--json").json["known"] == 2
    assert "all is well" in his.ok("check").out


def test_a_gift_goes_into_the_others_book(played_evening: House, tmp_path: Path) -> None:
    (tmp_path / "ann").mkdir()
    ann = copy_of(played_evening, tmp_path / "ann")
    codes = [row["code"] for row in ann.ok("find", "chops", "--json").json["rows"]][:3]
    said = ann.ok("give", *codes, "--to", "Sister", "--handover", "sister.json", "--from", "Hollow Road").out
    assert "Their own book takes them in with: freezerbox import sister.json" in said
    (tmp_path / "hers").mkdir()
    hers = House(folder=tmp_path / "hers", seed="2")
    hers.ok("start", "--units", "kg", "--freezer", "Chest")
    taken = hers.ok("import", str(ann.folder / "sister.json"), "--json").json
    assert (taken["from"], [row["code"] for row in taken["packages"]]) == ("Hollow Road", codes)
    assert hers.ok("take", codes[0]).out
    refused = ann.refused("share", "--animal", "26H", "--between", "Ann, Ben", "--handover", "x.json")
    assert refused.status == 2
    assert "add --accept" in refused.err


def later_file(stocked: Stocked, packages: tuple[Row, ...], folder: Path, name: str) -> Path:
    """A notice as it would be written now."""
    (folder / name).mkdir()
    now = Rows(stocked.kitchen.afresh()).of_codes([row.code for row in packages])
    told = handover(
        stocked.kitchen.afresh(), "Ben", [(row, 1) for row in now], stocked.kitchen.afresh().today, giver="Ann",
        notice=True,
    )  # fmt: skip
    file = folder / name / "ben.json"
    file.write_text(json.dumps(told), encoding="utf-8")
    return file


def whys(kitchen: Kitchen, row: Row) -> list[str]:
    return [hold.why for hold in Rows(kitchen.afresh()).of_codes([row.code])[0].holds]


def test_a_later_notice_tells_of_own_holds_put_on_and_let_go(
    stocked: Stocked, ben: Kitchen, tmp_path: Path, clock: StoppedClock
) -> None:
    chops = stocked.chops[:2]
    first, second = chops
    holding.hold(stocked.kitchen.afresh(), first.code, "seal was open")
    held = Rows(stocked.kitchen.afresh()).of_codes([row.code for row in chops])
    original = file_of(stocked, held, tmp_path)
    take_in(ben, original)
    assert (whys(ben, first), whys(ben, second)) == (["seal was open"], [])

    clock.move_to("2026-12-05T20:00")
    holding.release(stocked.kitchen.afresh(), first.code, "looked again, tight")
    holding.hold(stocked.kitchen.afresh(), second.code, "smells odd")
    holding.hold(stocked.kitchen.afresh(), "26H", "its farmer called")
    news = take_in(ben.afresh(), later_file(stocked, chops, tmp_path, "dec5")).news
    assert news == (
        "26H: on hold, its farmer called",
        f"{show_code(first.code)}: hold let go by its household on 5 Dec 2026 (seal was open)",
        f"{show_code(second.code)}: on hold, smells odd",
    )
    assert (whys(ben, first), whys(ben, second)) == (["its farmer called"], ["its farmer called", "smells odd"])

    clock.move_to("2026-12-06T20:00")
    holding.release(stocked.kitchen.afresh(), "26H", "another pig")
    undo.undo(stocked.kitchen.afresh(), undo.target(stocked.kitchen.afresh()))
    holding.release(stocked.kitchen.afresh(), "26H", "another pig after all")
    holding.release(stocked.kitchen.afresh(), second.code, "smells right")
    dec6 = later_file(stocked, chops, tmp_path, "dec6")
    assert len(take_in(ben.afresh(), dec6).news) == 2
    assert (whys(ben, first), whys(ben, second)) == ([], [])
    # Older files bring nothing back, and the same file again says nothing new.
    for file in (original, tmp_path / "dec5" / "ben.json", dec6):
        assert take_in(ben.afresh(), file).news == ()
    assert (whys(ben, first), whys(ben, second)) == ([], [])
    assert check.check(ben.afresh()).faults == ()


def test_a_hold_taken_back_or_put_on_again_there_follows_here(
    stocked: Stocked, ben: Kitchen, tmp_path: Path, clock: StoppedClock
) -> None:
    chop = stocked.chops[0]
    holding.hold(stocked.kitchen.afresh(), chop.code, "wrong pack")
    take_in(ben, file_of(stocked, Rows(stocked.kitchen.afresh()).of_codes([chop.code]), tmp_path))
    undo.undo(stocked.kitchen.afresh(), undo.target(stocked.kitchen.afresh()))
    clock.move_to("2026-12-05T20:00")
    take_in(ben.afresh(), later_file(stocked, (chop,), tmp_path, "taken-back"))
    assert whys(ben, chop) == []

    clock.move_to("2026-12-07T20:00")
    holding.hold(stocked.kitchen.afresh(), chop.code, "wrong pack", since="2 dec")
    take_in(ben.afresh(), later_file(stocked, (chop,), tmp_path, "again"))
    assert whys(ben, chop) == ["wrong pack"]
    # What Ben lets go himself stays let go.
    holding.release(ben.afresh(), chop.code, "my own look at it")
    assert take_in(ben.afresh(), later_file(stocked, (chop,), tmp_path, "still")).news == ()
    assert whys(ben, chop) == []
