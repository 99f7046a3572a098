"""What ``find`` says of what is near, what is held, and what it does not show."""

from __future__ import annotations

import shlex

from tests.cli.process import House, codes_in


def near_lines(text: str) -> list[str]:
    """The lines from the heading of what is nearby on, folded ones joined."""
    words = text[text.index("Nearby, not the same") :]
    return words.replace("\n    half", " half").splitlines()


def test_what_is_nearby_but_not_shown_can_be_asked_for(house: House) -> None:
    found = house.ok("find", "tenderloin")
    heading, *shown, last = near_lines(found.out)
    # 14 loin chops of the hog; 4 backstraps of the doe wait for a test.
    assert heading == "Nearby, not the same: 14 packs, 14.71 lb; besides, HELD: 4 packs, 3.60 lb"
    assert len(codes_in(found.out)) == 5
    assert all("HELD" not in line for line in shown), "what is held stands before what may be eaten"
    assert last.startswith("  ... and 13 more: ")
    codes = set(codes_in(found.out))
    for typed in last.split(": ", 1)[1].split("; "):
        program, *arguments = shlex.split(typed)
        assert program == "freezerbox"
        codes |= set(codes_in(house.ok(*arguments).out))
    assert len(codes) == 18


def test_the_other_words_stay_in_what_is_proposed(house: House) -> None:
    house.ok("pack", "loin chops", "1", "1.1", "--animal", "26H", "--note", "for guests")
    heading, *_, last = near_lines(house.ok("find", "tenderloin", "vacuum").out)
    assert heading.startswith("Nearby, not the same: 14 packs")
    assert "freezerbox find loin chops vacuum; freezerbox find backstrap half vacuum" in last


def test_nothing_more_is_said_when_all_is_shown(house: House) -> None:
    found = house.ok("find", "26B", "tenderloin").out
    assert near_lines(found)[0] == "Nearby, not the same: HELD: 4 packs, 3.60 lb"
    assert "more" not in found


def test_held_is_apart_in_what_is_elsewhere_and_reserved(house: House) -> None:
    house.ok("freezer", "add", "Cabin", "--away")
    held = codes_in(house.ok("find", "backstrap").out)[0]
    free = codes_in(house.ok("find", "loin chops").out)[0]
    house.ok("move", held, free, "--to", "Cabin")
    assert "Elsewhere, not here: 1 pack, 1.03 lb; besides, HELD: 1 pack, 0.9" in house.ok("find", "loin").out
    house.ok("fix", held, "--for", "Sunday")
    assert "Reserved, not counted: HELD: 1 pack, 0.90 lb, for Sunday." in house.ok("find", "backstrap").out
