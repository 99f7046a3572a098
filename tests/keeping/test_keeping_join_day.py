"""The act by which two books were joined is of the day on which that was done."""

from __future__ import annotations

import shutil

from tests.keeping.houses import chops
from tests.keeping.pairs import Pair, file, told


def test_a_join_is_told_on_the_day_it_was_made(pair: Pair) -> None:
    """In the list of acts and the history of a day; joined in the other book on another day, the first day counts."""
    code = chops(pair.house)[0]
    pair.house.ok("fix", code, "--note", "ours")
    pair.cabin.ok("fix", code, "--note", "theirs")
    shutil.copy(file(pair.house), pair.house.folder / "house before.book")
    house, cabin = pair.house.at("2026-12-09T21:00"), pair.cabin.at("2026-12-08T21:00")
    house.ok("import", "--merge", "cabin.book", "--prefer", "ours")
    (act,) = [one for one in house.ok("undo", "--list", "--json").json["acts"] if one["kind"] == "join"]
    assert (act["on"], act["recorded_at"][:10]) == ("2026-12-09", "2026-12-09")
    assert "joined two books" in house.ok("history", "--on", "2026-12-09").told
    cabin.ok("import", "--merge", "house before.book", "--prefer", "theirs")
    cabin.ok("fix", code, "--note", "later")
    house.ok("import", "--merge", "cabin.book")
    (act,) = [one for one in house.ok("undo", "--list", "--json").json["acts"] if one["kind"] == "join"]
    assert act["on"] == "2026-12-08"
    assert house.ok("show", code, "--json").json["note"] == "later"
    cabin.ok("import", "--merge", "house.book")
    assert told(house) == told(cabin)
