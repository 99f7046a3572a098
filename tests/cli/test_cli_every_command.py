"""What holds for every command: JSON from each, lists where the map says list, settings that tell themselves."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from freezerbox.cli.main import MODULES, program
from tests.cli.process import House


def every_command(group: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Every command a person can type, groups that do something by themselves among them."""
    for name, command in group.commands.items():
        here = (*path, name)
        if hasattr(command, "commands"):
            yield from every_command(command, here)
        if not hasattr(command, "commands") or command.invoke_without_command:
            yield here, command


COMMANDS = dict(every_command(program()))


def test_the_walk_meets_every_command_of_the_map() -> None:
    named = {name for _, names in MODULES.values() for name in names}
    assert {path[0] for path in COMMANDS} == named
    assert ("label", "stock", "new") in COMMANDS
    assert ("place",) in COMMANDS


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_every_command_speaks_json(path: tuple[str, ...]) -> None:
    options = {option for one in COMMANDS[path].params for option in one.opts}
    assert "--json" in options


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_help_is_written_for_cooks(bare: House, path: tuple[str, ...]) -> None:
    told = bare.ok(*path, "--help").out
    assert "[[" not in told
    assert "<" not in told, "a programmer's type"
    assert max(len(line) for line in told.splitlines()) <= 80


LISTS = ("freezer", "place", "animal", "words", "guide", "recipe")


@pytest.mark.parametrize("what", LISTS)
def test_where_the_map_says_list_list_is_a_command(house: House, what: str) -> None:
    house.ok("words", "add", "deer burger", "ground")
    alone = house.ok(what)
    assert alone.out.strip()
    assert house.ok(what, "list") == alone
    assert house.ok(what, "list", "--json").json == house.ok(what, "--json").json


@pytest.mark.parametrize("what", ["place", "animal", "words", "freezer"])
def test_an_empty_list_says_how_to_add(bare: House, what: str) -> None:
    bare.ok("start", "--units", "lb")
    assert f"freezerbox {what} add" in bare.ok(what, "list").out


def test_freezers_and_places_answer_in_json(house: House) -> None:
    added = house.ok("freezer", "add", "Kitchen", "--volume", "100 l", "--json").json["freezer"]
    assert (added["name"], added["volume_l"], added["away"]) == ("Kitchen", 100, False)
    assert house.ok("freezer", "set", "Kitchen", "--away", "--json").json["freezer"]["away"] is True
    renamed = house.ok("freezer", "rename", "Kitchen", "Pantry", "--json").json["freezer"]
    assert renamed in house.ok("freezer", "list", "--json").json["freezers"]
    retired = house.ok("freezer", "retire", "Pantry", "--json").json["freezer"]
    assert set(retired) == set(renamed)
    assert (retired["name"], retired["totals"]["packages"]) == ("Pantry", 0)

    place = house.ok("place", "add", "top basket", "--json").json["place"]
    assert (place["name"], place["kind"], place["freezer"]) == ("top basket", "basket", "Garage chest")
    again = house.ok("place", "rename", "top basket", "left basket", "--json").json["place"]
    assert again in house.ok("place", "list", "--json").json["places"]
    assert again["code"] == place["code"]
    gone = house.ok("place", "retire", "left basket", "--json").json["place"]
    assert set(gone) == set(place)
    assert gone["name"] == "left basket"
    bag = house.ok("place", "rename", "red bag", "blue bag", "--json").json["place"]
    assert bag["totals"]["packages"] == 4


def test_words_answer_in_json(house: House) -> None:
    added = house.ok("words", "add", "deer burger", "ground", "--json").json
    assert added == {"word": "deer burger", "cut_name": "Ground", "words": {"deer burger": "ground"}}
    assert house.ok("words", "remove", "deer burger", "--json").json == {"word": "deer burger", "words": {}}


def test_guides_answer_in_json_and_another_can_be_looked_at(house: House) -> None:
    other = house.ok("guide", "show", "refrigeration-1972", "--json").json
    assert (other["guide"], other["in_use"]) == ("refrigeration-1972", False)
    used = house.ok("guide", "show", "--json").json
    assert (used["guide"], used["in_use"]) == ("split-2018", True)
    assert house.ok("guide", "show", "split-2018", "--json").json == used
    assert [row["months_max"] for row in other["rows"]] != [row["months_max"] for row in used["rows"]]
    assert house.ok("guide", "show", "refrigeration-1972").out.splitlines()[0].endswith("(not in use)")
    assert "not in use" not in house.ok("guide", "show").out

    assert house.ok("guide", "use", "Refrigeration-1972", "--json").json["guide"] == "refrigeration-1972"
    assert house.ok("settings", "guide", "--json").json == {"settings": {"guide": "refrigeration-1972"}}
    row = house.ok("guide", "set", "ground venison", "4", "6", "--json").json["row"]
    assert (row["months_min"], row["months_max"], row["own"]) == (4, 6, True)
    assert row in house.ok("guide", "show", "split-2018", "--json").json["rows"]


def test_a_setting_alone_says_itself_and_how_to_change_it(house: House) -> None:
    before = house.dump()
    every = house.ok("settings", "--json").json["settings"]
    assert every["people"] is None
    for key, value in every.items():
        told = house.ok("settings", key).out
        assert told.startswith(f"{key}: {value or 'not set'} (")
        assert f"freezerbox settings {key} " in " ".join(told.split())
        assert house.ok("settings", key, "--json").json == {"settings": {key: value}}
    assert house.ok("settings", "price:any").out.startswith("price:any: not set")
    assert house.dump() == before


@pytest.mark.parametrize(
    "arguments",
    [
        ("units", "lb-oz"),
        ("guide", "refrigeration-1972"),
        ("letter", "K"),
        ("stock", "letter-30up"),
        ("phone-name", "freezer.local"),
        ("scale", "auto"),
        ("people", "4"),
        ("portion", "6 oz"),
        ("price:backstrap", "6.50"),
    ],
    ids=" ".join,
)
def test_the_example_a_setting_gives_can_be_typed(house: House, arguments: tuple[str, str]) -> None:
    key, value = arguments
    shown = f'"{value}"' if " " in value else value
    assert f"freezerbox settings {key} {shown}" in " ".join(house.ok("settings", key).out.split())
    assert house.ok("settings", key, value, "--json").json["settings"][key] == value
    assert house.ok("settings", key.upper() if ":" not in key else key, "--json").json["settings"][key] == value


def test_an_unknown_setting_is_refused_alone_too(house: House) -> None:
    assert house.refused_json("settings", "colour", status=2, kind="word")["near"][0] == "units"
