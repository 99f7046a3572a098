"""A bare scanner and a taped-up sheet: command cards, signs, and what happens when somebody walks away."""

from __future__ import annotations

import json
import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

import pytest

from freezerbox.book import door
from freezerbox.chores.kitchen import Kitchen
from freezerbox.chores.session import Session
from freezerbox.core.cards import CARDS, TEST_TEXT, Card, read_test, through_layout
from freezerbox.core.code import Code, is_valid, make_code
from freezerbox.core.symbol import SymbolRecord, symbol_text, weights
from tests.cli.process import House
from tests.places.look import codes_in

TAKE, BACK, MOVE, COUNT, WEIGH = "0TAK30", "0BACKR", "0MV3TY", "0CNT8B", "0WG8TB"
UNDO, GIVE, DISCARD, SHOW, DONE = "0VND09", "0G4VE5", "0D15C0", "0SHW9B", "0D8NEG"
RED, GREEN = "red bag", "green basket"


def scans(house: House, *lines: str) -> list[dict[str, Any]]:
    out = house.ok("scan", "--json", stdin="".join(f"{line}\n" for line in lines)).out
    return [json.loads(line) for line in out.splitlines()]


def outcomes(house: House, *lines: str) -> list[str]:
    return [one["outcome"] for one in scans(house, *lines)]


def sign(house: House, name: str) -> str:
    return str(next(one["code"] for one in house.ok("place", "--json").json["places"] if one["name"] == name))


def where(house: House, code: str) -> tuple[str, str | None]:
    row = house.ok("show", code, "--json").json
    return row["state"], row["place"]


def test_cards_are_codes_and_mean_for_ever_what_they_mean() -> None:
    assert dict(CARDS) == {
        TAKE: Card.TAKE, BACK: Card.PUT_BACK, MOVE: Card.MOVE, COUNT: Card.COUNT, WEIGH: Card.WEIGH,
        UNDO: Card.UNDO, GIVE: Card.GIVE, DISCARD: Card.DISCARD, SHOW: Card.SHOW, DONE: Card.DONE,
    }  # fmt: skip
    for code in CARDS:
        assert is_valid(code)
        assert make_code(code[:5]) == code
        assert code.startswith("0")


def test_a_whole_move_by_scanner(house: House) -> None:
    first, second, third, fourth = codes_in(house, RED)
    lines = (MOVE, first, sign(house, GREEN), first, second, second, UNDO, DONE, third)
    came = scans(house, *lines)
    assert [one["outcome"] for one in came] == [
        "card", "refused", "place", "moved", "moved", "duplicate", "undone", "card", "taken",
    ]  # fmt: skip
    assert where(house, first) == ("frozen", GREEN)
    assert where(house, second) == ("frozen", RED)
    assert where(house, third)[0] == "gone"
    assert where(house, fourth) == ("frozen", RED)
    assert [one["mode"] for one in came[2:6]] == ["move to green basket"] * 4
    house.ok("undo")
    said = house.ok("scan", stdin=f"{MOVE}\n{sign(house, GREEN)}\n{second}\n").out.splitlines()
    assert said[-1].startswith("MOVE TO GREEN BASKET | ")


def test_a_whole_count_by_scanner_and_its_acceptance(house: House) -> None:
    red, green = codes_in(house, RED), codes_in(house, GREEN)
    came = scans(house, COUNT, sign(house, RED), red[0], red[0], green[0], DONE)
    assert [one["outcome"] for one in came] == ["card", "place", "counted", "duplicate", "counted", "card"]
    assert "1 as expected, 1 not expected here (listed in green basket), 3 missing" in came[-1]["message"]
    assert where(house, green[0]) == ("frozen", GREEN)
    # Another card than MOVE leaves the list as it was; the count stays open for the terminal.
    assert scans(house, COUNT, sign(house, RED), DONE, TAKE, red[1])[-1]["outcome"] == "taken"
    assert where(house, green[0]) == ("frozen", GREEN)
    came = scans(house, COUNT, sign(house, RED), red[2], DONE, MOVE, red[3])
    assert "1 package made right, 1 to search for" in came[4]["message"]
    assert where(house, green[0]) == ("frozen", RED)
    assert came[-1]["outcome"] == "taken"
    assert [row["code"] for row in house.ok("lost", "--json").json["rows"]] == []


def test_each_scan_of_a_count_is_one_line_that_begins_with_what_it_came_to(house: House) -> None:
    """Eighty columns, gloves on: the verdict stands before the pack, and a line is never two."""
    red, green = codes_in(house, RED), codes_in(house, GREEN)
    house.ok("take", red[3])
    lot = house.ok("pack", "ground beef", "2", "--lot", "72", "--place", RED, "--json").json["packages"][0]["code"]
    lines = (COUNT, sign(house, RED), *red, red[0], green[0], lot, "64", "K7P3MT", MOVE, sign(house, GREEN), green[0],
             red[1])  # fmt: skip
    said = house.ok("scan", stdin="".join(f"{line}\n" for line in lines)).out.splitlines()
    head = "COUNT RED BAG | "
    for start in (
        f"{head}75 packages by the list. Scan what lies there",
        f"{head}RIGHT, 1 seen: ", f"{head}RIGHT, 2 seen: ", f"{head}RIGHT, 3 seen: ",
        f"{head}LISTED AS GONE, 4 seen: ",
        f"{head}SEEN BEFORE, counted once: ", f"{head}LISTED IN GREEN BASKET, 5 seen: ",
        f"{head}A LOT, 72 LISTED, 6 seen: ",
        f"{head}64 COUNTED, 72 LISTED, 6 seen: ", f"{head}NOT IN THIS BOOK, 7 seen: K7P-3MT.",
        "MOVE TO GREEN BASKET | THERE ALREADY: ", "MOVE TO GREEN BASKET | MOVED from red bag: ",
    ):  # fmt: skip
        (line,) = [line for line in said if line.startswith(start)]
        assert len(line) <= 80, line


def test_a_place_of_two_freezers_is_said_with_its_freezer(house: House) -> None:
    house.ok("place", "add", RED, "--freezer", "Kitchen")
    kitchen_sign = next(
        one["code"]
        for one in house.ok("place", "--json").json["places"]
        if (one["name"], one["freezer"]) == (RED, "Kitchen")
    )
    assert scans(house, COUNT, kitchen_sign)[-1]["mode"] == "count red bag, Kitchen"
    assert scans(house, COUNT, sign(house, GREEN))[-1]["mode"] == "count green basket"


def test_some_of_a_lot_are_given_taken_and_thrown_out_in_one_line(house: House) -> None:
    lot = house.ok("pack", "ground beef", "2", "--lot", "72", "--json").json["packages"][0]["code"]
    came = scans(
        house, GIVE, "TO Sister", f"{lot}x3", TAKE, f"{lot[:3]}-{lot[3:]} X 2", DISCARD, f"{lot}*4", f"{lot}x0"
    )
    assert [one["outcome"] for one in came] == [
        "card",
        "card",
        "given",
        "card",
        "taken",
        "card",
        "discarded",
        "refused",
    ]
    assert "3 given to Sister. 69 left." in came[2]["message"]
    assert scans(house, GIVE, "to")[-1]["outcome"] == "damaged", "nobody is called TO"
    assert "has 63 left, not 0" in came[-1]["message"]
    assert house.ok("show", lot, "--json").json["quantity"] == 63
    assert scans(house, GIVE, "TO Sister", f"{lot}x64")[-1]["outcome"] == "refused"
    assert house.ok("show", lot, "--json").json["quantity"] == 63
    report = house.ok("give", f"{lot}x3", "--to", "Sister", "--json").json
    assert report["done"][0]["quantity"] == 60


@pytest.mark.parametrize("ending", [r"\*\d{1,4}", r"X\d{1,4}"])
def test_a_record_that_ends_in_a_number_is_one_package(house: House, ending: str) -> None:
    """Of 45 characters that a symbol's record may end in, some read as "times 3" behind a code."""
    first, second, third, _ = codes_in(house, RED)

    def symbol(code: str) -> str:
        texts = (
            symbol_text(
                Code(code),
                SymbolRecord(
                    cut=1, form=1, species=1, net_mg=net_mg, packed_on=date(2026, 11, 21), animal="26A", pieces=None
                ),
            )
            for net_mg in weights()
        )
        return next(text for text in texts if re.search(rf"{ending}$", text))

    assert outcomes(house, symbol(first), f"]Q1{symbol(second)}") == ["taken", "taken"]
    assert house.ok("give", symbol(third), "--to", "Sister", "--json").json["done"][0]["code"] == third


def test_a_count_left_half_way_goes_on(house: House) -> None:
    red = codes_in(house, RED)
    scans(house, COUNT, sign(house, RED), *red[:3])
    came = scans(house, COUNT, sign(house, RED), UNDO, *red[2:], DONE)
    assert "3 seen before" in came[1]["message"]
    assert came[2]["code"] == red[2]
    assert "4 as expected." in came[-1]["message"]
    assert house.ok("trust", "--json").json["places"][-1]["last_checked"] == "2026-12-02"


def test_lots_are_counted_by_a_typed_number(house: House) -> None:
    lot = house.ok("pack", "ground beef", "2", "--lot", "72", "--place", RED, "--json").json["packages"][0]["code"]
    came = scans(house, COUNT, sign(house, RED), *codes_in(house, RED), "64", DONE, MOVE)
    assert came[-3]["outcome"] == "counted"
    assert house.ok("show", lot, "--json").json["quantity"] == 64
    assert outcomes(house, lot) == ["taken"]
    assert house.ok("show", lot, "--json").json["quantity"] == 63


def test_other_cards_do_what_they_say(house: House) -> None:
    first, second, third, _ = codes_in(house, RED)
    assert outcomes(house, SHOW, first, DISCARD, first, BACK, first, GIVE, second, TAKE, third) == [
        "card", "shown", "card", "discarded", "card", "put-back", "card", "given", "card", "taken",
    ]  # fmt: skip
    assert where(house, first) == ("frozen", RED)
    assert house.ok("show", second, "--json").json["reason"] == "given"
    assert house.ok("show", third, "--json").json["reason"] == "eaten"


def test_weighing_by_scanner(house: House) -> None:
    codes = [
        one["code"]
        for one in house.ok("label", "ahead", "2", "ground", "--animal", "26A", "--to", "a.pdf", "--json").json[
            "labels"
        ]
    ]
    came = scans(house, WEIGH, codes[0], "1.02", codes[1], "x1", "40", "40", TAKE, codes[0])
    assert [one["outcome"] for one in came] == [
        "card", "card", "weighed", "card", "refused", "refused", "weighed", "card", "taken",
    ]  # fmt: skip
    assert house.ok("show", codes[0], "--json").json["net_g"] == pytest.approx(1.02 * 453.59237, abs=0.001)


def test_held_packs_stay_loud_in_every_mode(house: House) -> None:
    house.ok("animal", "add", "26C", "whitetail", "buck", "--test", "pending")
    code = house.ok("pack", "shank", "1", "--animal", "26C", "--place", RED, "--json").json["packages"][0]["code"]
    assert outcomes(house, code, GIVE, code) == ["held", "card", "held"]
    assert "HELD" in scans(house, SHOW, code)[-1]["message"]
    assert "HELD" in scans(house, MOVE, sign(house, GREEN), code)[-1]["message"]
    assert "HELD" in scans(house, COUNT, sign(house, GREEN), code)[-1]["message"]
    assert outcomes(house, DISCARD, code)[-1] == "discarded"


class Hands:
    """A clock that moves when told."""

    def __init__(self) -> None:
        self.at = datetime(2026, 12, 2, 21, 0)

    def now(self) -> datetime:
        return self.at

    def stamp(self) -> datetime:
        return self.at.replace(tzinfo=UTC)


@pytest.fixture
def bench(house: House) -> tuple[Session, Hands]:
    chance, clock = Random(7), Hands()
    book = door.open_book(
        house.book,
        chance=door.Chance(uid=lambda: f"{chance.getrandbits(80):020x}", number=chance.randrange),
        now=clock.stamp,
        station="bench",
    )
    return Session(Kitchen(book, clock, date(2026, 12, 2))), clock


def said(session: Session, line: str) -> tuple[str, str]:
    scanned = session.handle(line)
    assert scanned is not None
    return scanned.outcome, scanned.message


@pytest.mark.parametrize("card", [MOVE, COUNT])
def test_two_quiet_minutes_pause_a_move_and_a_count(house: House, bench: tuple[Session, Hands], card: str) -> None:
    session, clock = bench
    red, green = codes_in(house, RED), sign(house, GREEN)
    done = "moved" if card == MOVE else "counted"
    said(session, card)
    said(session, green)
    assert said(session, red[0])[0] == done
    clock.at += timedelta(seconds=119)
    assert said(session, red[1])[0] == done
    clock.at += timedelta(minutes=2)
    outcome, message = said(session, red[2])
    assert outcome == "paused"
    assert "nothing changed" in message
    assert "TAKE card" in message
    assert where(house, red[2]) == ("frozen", RED)
    assert said(session, red[2])[0] == "paused"
    # The same card goes on with the same place; the take card takes.
    assert "green basket" in said(session, card)[1]
    assert said(session, red[2])[0] == done
    clock.at += timedelta(minutes=5)
    said(session, TAKE)
    assert said(session, red[3])[0] == "taken"
    clock.at += timedelta(hours=9)
    assert said(session, codes_in(house, GREEN)[0])[0] == "taken"


def test_a_count_waits_for_its_answer_and_takes_nothing_meanwhile(house: House, bench: tuple[Session, Hands]) -> None:
    session, clock = bench
    red, green = codes_in(house, RED), codes_in(house, GREEN)
    for line in (COUNT, sign(house, RED), red[0], green[0], DONE):
        said(session, line)
    for line in (red[1], sign(house, GREEN)):
        outcome, message = said(session, line)
        assert outcome == "refused"
        assert "Nothing changed. MOVE makes the list say so" in message
    assert where(house, red[1]) == ("frozen", RED)
    # Undo takes back the end of the count, which goes on.
    assert said(session, UNDO)[0] == "undone"
    assert session.mode == "count red bag"
    assert said(session, red[1])[0] == "counted"
    said(session, DONE)
    assert session.mode == "counted red bag"
    # Whoever comes two minutes later and scans MOVE wants to move something, and does not answer the count.
    clock.at += timedelta(minutes=2)
    outcome, message = said(session, red[2])
    assert outcome == "paused"
    assert "stays open" in message
    clock.at += timedelta(minutes=2)
    assert said(session, MOVE)[1] == "MOVE: scan the place's sign, then the packs."
    assert where(house, green[0]) == ("frozen", GREEN)
    for line in (COUNT, sign(house, RED), DONE):
        said(session, line)
    assert "Now TAKE: each scan takes a package out" in said(session, MOVE)[1]
    assert where(house, green[0]) == ("frozen", RED)


def test_what_is_given_by_cards_goes_to_a_person(house: House) -> None:
    red = codes_in(house, RED)
    came = scans(house, GIVE, red[0], "Mum", red[1], "to sister", red[2], "Sisterr", "QQQQQQ", UNDO, DONE, red[3])
    assert [one["outcome"] for one in came] == [
        "card", "given", "card", "given", "card", "given", "refused", "damaged", "undone", "card", "taken",
    ]  # fmt: skip
    assert [one["mode"] for one in came[1:6]] == [
        "give", "give to Mum", "give to Mum", "give to sister", "give to sister",
    ]  # fmt: skip
    assert "TO QQQQQQ" in came[7]["message"]
    assert where(house, red[2]) == ("frozen", RED)
    history = house.ok("show", red[1]).told
    assert "Mum" in history
    report = house.ok("sign", "--people", "--to", "people.pdf", "--json").json
    assert report["codes"] == ["TO MUM"]  # the gift to sister was taken back, and sister with it
    assert pictures(house, "people.pdf") == [set(report["codes"])]
    came = scans(house, "TO MUM", red[2])
    assert [one["outcome"] for one in came] == ["card", "given"]
    assert came[1]["mode"] == "give to Mum"


def test_a_name_of_six_letters_is_a_name_and_keeps_its_case(house: House) -> None:
    red = codes_in(house, RED)
    came = scans(house, GIVE, "Sister", red[0])
    assert [one["outcome"] for one in came] == ["card", "card", "given"]
    assert came[2]["mode"] == "give to Sister"
    assert "Sister" in house.ok("show", red[0]).told


def test_no_pack_goes_to_anybody_while_a_name_is_unsure(house: House) -> None:
    red = codes_in(house, RED)
    came = scans(house, GIVE, "Mum", GIVE, "QQQQQQ", red[0], "QQQQQQ", red[0], GIVE, "QQQQQZ", red[1], GIVE, red[1])
    outcomes = [one["outcome"] for one in came]
    assert outcomes[3:7] == ["damaged", "refused", "card", "given"]
    assert "QQQQQQ" in came[4]["message"]
    assert came[6]["mode"] == "give to QQQQQQ"
    assert outcomes[9] == "refused"
    assert where(house, red[1]) != ("frozen", RED), "GIVE once more gives all the same"


def test_every_line_in_a_cards_mode_says_the_mode(house: House) -> None:
    red = codes_in(house, RED)
    lines = (COUNT, sign(house, RED), red[0], DONE, DONE, WEIGH, red[1], SHOW, red[1], GIVE, red[1])
    modes = ("COUNT", "COUNT RED BAG", "COUNT RED BAG", "COUNTED RED BAG", "DONE", "WEIGH", "WEIGH", "SHOW", "SHOW",
             "GIVE", "GIVE")  # fmt: skip
    said = house.ok("scan", stdin="".join(f"{line}\n" for line in lines)).out.splitlines()
    said = [line for line in said if not line.startswith(" ")]
    assert len(said) == len(modes)
    for line, mode in zip(said, modes, strict=True):
        assert line.startswith((f"{mode} | ", f"{mode}: ", f"{mode}. ")), line


def test_a_session_that_was_begun_to_discard_is_not_paused(house: House, bench: tuple[Session, Hands]) -> None:
    from freezerbox.core.records import Reason

    session, clock = bench
    session = Session(session.kitchen, Reason.DISCARDED)
    red = codes_in(house, RED)
    assert said(session, red[0])[0] == "discarded"
    clock.at += timedelta(minutes=30)
    assert said(session, red[1])[0] == "discarded"
    said(session, SHOW)
    said(session, DONE)
    assert said(session, red[2])[0] == "discarded"


def test_a_scanner_with_another_keyboard_is_found_and_read(house: House) -> None:
    assert read_test(TEST_TEXT.lower() + "\r\n") == {}
    assert read_test("K7P3MT") is None
    german = str.maketrans("YZ:/-", "ZY>-/")
    found = read_test(TEST_TEXT.translate(german))
    assert found is not None
    assert through_layout("K7Y3MZ".translate(german), found) == "K7Y3MZ"
    codes = [code for code in codes_in(house, RED) + codes_in(house, GREEN) if "Z" in code or "Y" in code]
    typed = codes[0].translate(german)
    assert typed != codes[0]
    assert outcomes(house, typed) == ["damaged"]
    came = scans(house, TEST_TEXT.translate(german), typed)
    assert [one["outcome"] for one in came] == ["card", "taken"]
    assert came[1]["code"] == codes[0]
    # A code typed by hand is still read as it is, and a scanner set right is told so.
    assert outcomes(house, codes[1]) == ["taken"]
    assert "set right" in scans(house, TEST_TEXT)[0]["message"]


def test_cards_and_another_keyboard_are_read_wherever_labels_are(house: House) -> None:
    """At weigh UNDO and DONE do as in a scan, and another card leaves the label that waits; all through its keys."""
    german = str.maketrans("YZ:/-", "ZY>-/")
    report = house.ok("label", "ahead", "24", "ground", "--animal", "26A", "--to", "a.pdf", "--json").json
    found = [one["code"] for one in report["labels"]]
    odd = next(code for code in found if code.translate(german) != code)
    plain = next(code for code in found if code != odd)
    scans(house, TEST_TEXT.translate(german))
    lines = (odd.translate(german), MOVE.translate(german), sign(house, RED), "1.1", plain, "1.2", UNDO, DONE, plain)
    weighed = house.ok("weigh", stdin="".join(f"{line}\n" for line in lines))
    assert weighed.said.count("is a sign's or a card's code") == 2
    assert "No weight came" not in weighed.said
    assert "Taken back" in weighed.told
    left = [code for code in found if house.ok("show", code, "--json").json["state"] == "spare"]
    assert left == [code for code in found if code != odd]
    # The same keyboard at a count.
    of_red = codes_in(house, RED)
    seen = next(code for code in of_red + codes_in(house, GREEN) if code.translate(german) != code)
    counted = house.ok("count", RED, "--json", stdin=f"{seen.translate(german)}\n{plain}\n{UNDO}\n{DONE}\n").json
    assert (counted["seen"], counted["ended"]) == ([seen], True)


def pictures(house: House, name: str) -> list[set[str]]:
    """What a second decoder reads on each page of a PDF, at 200 dots an inch."""
    import pypdfium2
    import zxingcpp

    document = pypdfium2.PdfDocument(house.folder / name)
    found = []
    for page in document:
        picture = page.render(scale=200 / 72).to_pil()
        found.append({symbol.text for symbol in zxingcpp.read_barcodes(picture)})
    document.close()
    return found


def words(path: Path) -> str:
    import pypdfium2

    document = pypdfium2.PdfDocument(path)
    text = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return text


def test_the_cards_print_and_read(house: House) -> None:
    assert "11 cards on 1 page" in house.ok("sign", "--cards", "--to", "cards.pdf").out
    assert pictures(house, "cards.pdf") == [{*CARDS, TEST_TEXT}]
    text = words(house.folder / "cards.pdf")
    assert all(card.value.upper() in text for card in Card)


def test_signs_print_and_read(house: House) -> None:
    lot = house.ok("pack", "ground beef", "2", "--lot", "72", "--place", RED, "--json").json["packages"][0]["code"]
    report = house.ok("sign", "--to", "signs.pdf", "--json").json
    assert report["codes"] == [one["code"] for one in house.ok("place", "--json").json["places"]]
    assert set().union(*pictures(house, "signs.pdf")) == set(report["codes"])
    text = words(house.folder / "signs.pdf")
    assert "red bag" in text
    assert "Backstrap half, whitetail deer" in text
    house.ok("sign", lot, "--to", "lot.pdf", "--paper", "a4")
    (seen,) = pictures(house, "lot.pdf")
    assert {one[:6] for one in seen} == {lot}
    assert "72 of 2.00 lb" in words(house.folder / "lot.pdf")
    assert house.refused("sign", codes_in(house, RED)[0]).status == 1
    assert house.refused("sign", RED, "--to", "signs.txt").status == 2
    assert house.refused("sign", RED, "--paper", "legal").status == 2
    assert not (house.folder / "signs.txt").exists()


def test_spare_codes_are_not_written_over(house: House) -> None:
    """They may not be printed yet, and the book holds them as spare."""
    house.ok("sign", "--spares", "2", "--to", "strip.pdf")
    written = (house.folder / "strip.pdf").read_bytes()
    for arguments in (("--spares", "3"), ("--cards",), (), (RED,)):
        error = house.refused_json("sign", *arguments, "--to", "strip.pdf", status=1, kind="out-of-line")
        assert "its codes may not be printed yet" in error["message"]
    assert (house.folder / "strip.pdf").read_bytes() == written
    house.ok("sign", "--cards", "--to", "strip.pdf", "--yes")
    assert (house.folder / "strip.pdf").read_bytes() != written
    files = [house.ok("sign", "--spares", "1", "--json").json["file"] for _ in range(2)]
    assert files == ["signs.pdf", "signs-2.pdf"]


def test_a_sign_drops_no_kind_in_silence(house: House) -> None:
    """Nine kinds: eight stand on the sign, however small, and the ninth is said to be there."""
    cuts = ("ground", "liver", "heart", "neck", "trim", "stew meat", "dog scraps")
    for cut in cuts:
        house.ok("pack", cut, "1", "1", "--species", "deer", "--place", RED)
    house.ok("pack", "flank", "1", "--species", "deer", "--place", RED)
    house.ok("sign", RED, "--to", "sign.pdf")
    said = " ".join(words(house.folder / "sign.pdf").split())
    assert "NOT FOR PEOPLE: Dog scraps, whitetail" in said or "NOT FOR PEOPLE: Dog scraps, deer" in said
    assert "Heart" in said
    assert "Stew meat" in said
    assert "and 1 other kind" in said
    assert pictures(house, "sign.pdf") == [{sign(house, RED)}]
