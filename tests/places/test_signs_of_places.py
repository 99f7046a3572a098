"""The code on a sign, typed where a place or a package is meant: it names its place, also when that was given up."""

from __future__ import annotations

from tests.cli.process import House, codes_in


def sign(house: House, name: str) -> str:
    places = house.ok("place", "list", "--json").json["places"]
    code: str = next(one["code"] for one in places if one["name"] == name)
    return f"{code[:3]}-{code[3:]}"


def test_the_sign_of_a_place_given_up_says_so_wherever_it_is_typed(house: House) -> None:
    olive = sign(house, "top layer")
    house.ok("place", "retire", "top layer")
    code = codes_in(house.ok("find", "backstrap").out)[0]
    for words in (("move", code, "--to", olive), ("history", olive), ("place", "show", olive), ("take", olive)):
        said = house.refused(*words).said
        assert f"{olive} is the sign of top layer in Garage chest, which was given up" in said, words
        assert 'freezerbox place add "top layer" --freezer "Garage chest"' in said, words
    assert "top layer in Garage chest, which was given up" in house.ok("scan", stdin=f"{olive}\n").told
    house.ok("place", "add", "top layer", "--freezer", "Garage chest")
    house.ok("move", code, "--to", olive)


def test_of_a_freezer_that_was_given_up_too(house: House) -> None:
    house.ok("place", "add", "door", "--freezer", "Kitchen")
    door = sign(house, "door")
    house.ok("freezer", "retire", "Kitchen")
    said = house.refused("place", "show", door).said
    assert 'freezerbox freezer add "Kitchen", and then freezerbox place add "door" --freezer "Kitchen"' in said
    house.ok("freezer", "add", "Kitchen")
    house.ok("place", "add", "door", "--freezer", "Kitchen")
    house.ok("place", "show", door)


def test_history_of_a_sign_is_that_of_its_place(house: House) -> None:
    said = house.ok("history", sign(house, "red bag")).out
    assert said == house.ok("history", "red bag").out
    assert "added place red bag" in said


def test_a_name_that_reads_as_a_code_of_the_book_is_refused(house: House) -> None:
    red, pack = sign(house, "red bag"), codes_in(house.ok("find", "backstrap").out)[0]
    for words in (
        ("place", "add", red, "--freezer", "Garage chest"),
        ("place", "add", pack.lower(), "--freezer", "Garage chest"),
        ("place", "rename", "green basket", red),
    ):
        refused = house.refused(*words)
        assert refused.status == 2
        assert "is no name" in refused.said


def test_an_unknown_code_is_not_offered_as_a_name_for_a_place(house: House) -> None:
    said = house.refused("place", "show", "4PG-VQK").said
    assert "place add" not in said
    assert "There is: red bag, green basket, top layer" in said


def test_renaming_by_the_sign_names_the_place(house: House) -> None:
    said = house.ok("place", "rename", sign(house, "red bag"), "blue bag").told
    assert "Place renamed: red bag is blue bag now" in said


def test_a_scanned_move_of_a_lot_says_how_many(house: House) -> None:
    packed = house.ok("pack", "ground", "--lot", "10", "--each", "1", "--species", "rabbit", "--json").json
    code = packed["packages"][0]["code"]
    said = house.ok("scan", "--json", stdin=f"MOVE\n{sign(house, 'red bag')}\n{code}\n").out
    assert "10 of them" in said
