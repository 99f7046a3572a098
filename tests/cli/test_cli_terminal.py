"""At a terminal: the number pad, questions, the scale, the bare prompt; a person who waits and types."""

from __future__ import annotations

import sys

import pytest

from freezerbox.core.cards import CARDS, TEST_TEXT, Card
from freezerbox.core.code import compact
from tests.cli.process import START, House, Terminal, codes_in

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are of Unix")

PAD = "A weight keeps it"


def total(house: House, words: str) -> tuple[int, float]:
    totals = house.ok("find", words, "--json").json["totals"]
    return totals["packages"], round(totals["net_g"] / 453.59237, 2)


def test_the_number_pad(house: House) -> None:
    table = Terminal(house, "pack", "shank", "--animal", "26B", "--wrap", "vacuum")
    table.wait_for(PAD)
    table.answer("Shank, whitetail doe 26B  1: ", "1.1")
    assert "1.10 lb   1 pack, 1.10 lb so far" in table.answer("26B  2: ", "+")
    assert "2 packs, 2.20 lb so far" in table.answer("26B  3: ", "1.05")
    table.answer("26B  4: ", "0")
    assert "'0' is no weight at all" in table.answer("26B  4: ", "-1.2")
    assert "'-1.2' is below zero" in table.answer("26B  4: ", "x")
    assert "not weighed   4 packs, 3.25 lb and 1 not weighed so far" in table.answer("26B  5: ", "11.5")
    asked = "Right? (+ yes, - no, or the weight again): "
    assert "11.50 lb among packages of about 1.10 lb." in table.answer(asked, "-")
    assert "Not kept" in table.answer("26B  5: ", "11.5")
    # Another weight is an answer too, looked at like the first.
    table.answer(asked, "12.5")
    assert "12.50 lb among packages of about 1.10 lb." in table.answer(asked, "nonsense")
    assert "'nonsense' is not a weight" in table.answer("26B  5: ", "11.5")
    table.answer(asked, "+")
    assert "11.50 lb   5 packs, 14.75 lb and 1 not weighed so far" in table.answer("26B  6: ", "-")
    assert "struck" in table.answer("26B  5: ", "-")
    assert "struck" in table.answer("26B  4: ", "-")
    assert "2 packs, 2.20 lb so far" in table.answer("26B  3: ", "+")
    # The last that stands is repeated, not the one struck.
    assert "1.10 lb   3 packs, 3.30 lb so far" in table.answer("26B  4: ", "")
    assert "Shank, whitetail doe 26B: 3 packs, 3.30 lb." in table.answer("How many did you wrap?", "4")
    assert "1 package has no record yet. Go on:" in table.answer("26B  4: ", ".95")
    table.answer("26B  5: ", "")
    table.answer("How many did you wrap?", "4")
    status, rest = table.end()
    assert status == 0
    assert "4 wrapped, 4 in the book." in rest
    assert total(house, "shank") == (4, 4.25)


CARD = {card: code for code, card in CARDS.items()}


def test_cards_at_the_number_pad(house: House) -> None:
    """A scanner lies on the table: DONE ends, UNDO strikes the last; the others say that they do nothing there."""
    label = codes_in(house.ok("find", "loin chops").out)[0]
    table = Terminal(house, "pack", "shank", "--animal", "26B")
    table.answer("26B  1: ", "1.1")
    table.answer("26B  2: ", "1.2")
    table.answer("26B  3: ", CARD[Card.UNDO])
    assert "struck" in table.answer("26B  2: ", CARD[Card.GIVE])
    assert "The card GIVE does nothing here. Wanted is a weight; DONE ends" in table.answer("26B  2: ", label)
    assert f"{label} is the code of a label. Wanted is a weight" in table.answer("26B  2: ", "11.5")
    table.answer("the weight again): ", CARD[Card.DONE])
    assert "The card DONE does nothing here. Wanted is +, - or a weight" in table.answer(
        "the weight again): ", CARD[Card.UNDO]
    )
    assert "Not kept" in table.answer("26B  2: ", "*")
    table.answer("Cut: ", CARD[Card.SHOW])
    assert "The card SHOW does nothing here. Wanted is a cut" in table.answer("Cut: ", CARD[Card.UNDO])
    assert "Going on with Shank" in table.answer("26B  2: ", "*")
    table.answer("Cut: ", "tongue")
    table.answer("Pieces in each", CARD[Card.DONE])
    assert "does nothing here. Wanted is a number of pieces" in table.answer("Pieces in each", "")
    table.answer("26B  1: ", "*")
    table.answer("Cut: ", CARD[Card.DONE])
    table.answer("How many did you wrap", CARD[Card.DONE])
    assert table.end()[0] == 0
    assert total(house, "shank") == (1, 1.1)


def test_another_keyboard_is_read_as_meant_at_the_table_and_at_the_prompt(house: House) -> None:
    german = str.maketrans("YZ:/-", "ZY>-/")
    table = Terminal(house, "pack", "shank", "--animal", "26B")
    table.answer("26B  1: ", TEST_TEXT.translate(german))
    assert "types another keyboard's characters" in table.answer("26B  1: ", "1.1")
    codes = [compact(code) for code in codes_in(house.ok("find", "loin chops").out)]
    code = next(code for code in codes if code.translate(german) != code)
    table.answer("26B  2: ", code.translate(german))
    assert f"{code[:3]}-{code[3:]} is the code of a label" in table.answer("26B  2: ", "")
    table.answer("How many did you wrap?", "1")
    assert table.end()[0] == 0
    # At the open prompt too, where DONE ends what another card began, and then the prompt.
    prompt = Terminal(house)
    prompt.answer("freezerbox: ", CARD[Card.SHOW])
    prompt.answer("freezerbox: ", code.translate(german))
    assert "Loin chops" in prompt.answer("freezerbox: ", CARD[Card.DONE])
    prompt.answer("freezerbox: ", CARD[Card.DONE])
    assert prompt.end()[0] == 0
    prompt = Terminal(house)
    prompt.answer("freezerbox: ", TEST_TEXT)
    assert "set right" in prompt.answer("freezerbox: ", CARD[Card.DONE])
    assert prompt.end()[0] == 0


def test_the_animal_is_chosen_by_a_number(house: House) -> None:
    """Those that are being cut up, the latest first: a letter is far from the number pad."""
    house.ok("animal", "add", "26C", "whitetail", "buck", "--killed", "18 nov")
    house.ok("animal", "add", "25A", "whitetail", "buck", "--killed", "2025-11-03")
    table = Terminal(house, "pack", "heart")
    asked = "Which number (Enter for none): "
    offered = table.answer(asked, "9")
    numbers = {line.split()[0]: line for line in offered.splitlines() if line.startswith("  ") and line.split()}
    lines = list(numbers.values())
    assert "25A" not in offered, "last year's deer"
    order = [next(code for code in ("26B", "26C", "26H") if code in line) for line in lines]
    assert order == ["26B", "26H", "26C"], "the latest first: 26B was cut up today, 26H yesterday"
    assert "ON HOLD: test pending" in lines[order.index("26B")]
    assert "killed 18 Nov 2026" in lines[order.index("26C")]
    assert f"'9' is none of them: 1 to {len(order)}, or Enter." in table.answer(asked, str(1 + order.index("26C")))
    table.answer("Heart, whitetail buck 26C  1: ", ".9")
    table.answer("26C  2: ", "/")
    table.answer("Which number (Enter leaves it as it is): ", "26b")
    assert "Heart, whitetail buck 26C: 1 pack, 0.90 lb." in table.answer("Heart, whitetail doe 26B  1: ", ".8")
    table.answer("26B  2: ", "")
    table.answer("How many did you wrap, of all cuts?", "2")
    assert table.end()[0] == 0
    rows = house.ok("find", "heart", "--json").json["rows"]
    assert sorted((row["animals"], bool(row["holds"])) for row in rows) == [(["26B"], True), (["26C"], False)]


def test_whoever_leaves_the_animal_open_is_not_asked_at_every_cut(house: House) -> None:
    table = Terminal(house, "pack", "heart")
    table.answer("Which number (Enter for none): ", "")
    table.answer("Heart  1: ", ".9")
    table.answer("Heart  2: ", "*")
    table.answer("Cut: ", "tongue")
    table.answer("Pieces in each", "")
    assert "Of which animal" not in table.answer("Tongue  1: ", "")
    table.answer("How many did you wrap, of all cuts?", "")
    assert table.end()[0] == 0


def test_a_new_header_keeps_the_animal(house: House) -> None:
    table = Terminal(house, "pack", "shank", "--animal", "26B")
    table.answer("26B  1: ", "1.2")
    table.answer("26B  2: ", "*")
    assert "Shank, whitetail doe 26B: 1 pack, 1.20 lb." in table.answer("Cut: ", "loin")
    # Of a deer, "loin" may be the inner or the outer one.
    assert "backstrap" in table.wait_for("Which number")
    table.type("1")
    table.answer("Pieces in each", "")
    table.wait_for(PAD)
    table.answer("Backstrap, whitetail doe 26B  1: ", ".9")
    table.answer("26B  2: ", "*")
    table.answer("Cut: ", "other bone broth")
    table.answer("Pieces in each", "")
    table.wait_for(PAD)
    # What lies on the table is of all the cuts of the sitting.
    table.answer("bone broth, whitetail doe 26B  1: ", "")
    table.answer("How many did you wrap, of all cuts?", "3")
    assert "The book has 2: 1 package has no record yet." in table.answer("bone broth, whitetail doe 26B  1: ", "2")
    table.answer("26B  2: ", "")
    table.answer("How many did you wrap, of all cuts?", "3")
    status, rest = table.end()
    assert status == 0
    assert "3 wrapped, 3 in the book." in rest
    assert total(house, "shank") == (1, 1.2)
    assert total(house, "backstrap")[0] == 5


def test_a_chop_of_two_animals_is_asked_about_at_the_table(house: House) -> None:
    before = total(house, "chops")[0]
    table = Terminal(house, "pack", "loin chops", "--animal", "26H,26B")
    asked = table.wait_for("Is it really of all of them?")
    assert "Loin chops is cut from one kind of animal" in " ".join(asked.split())
    table.type("n")
    assert table.end()[0] == 1
    run = Terminal(house, "pack", "loin chops", "1.1", "--animal", "26H,26B")
    run.wait_for("Is it really of all of them?")
    run.type("y")
    assert run.end()[0] == 0
    assert total(house, "chops")[0] == before + 1


def test_a_misspelled_cut_is_proposed_and_kept_as_meant(house: House) -> None:
    table = Terminal(house, "pack", "tounge", "1.1", "--animal", "26B")
    table.wait_for("Did you mean tongue?")
    table.type("y")
    assert table.end()[0] == 0
    assert total(house, "tongue") == (1, 1.1)


def test_pieces_at_the_table_are_whole_and_asked_again(house: House) -> None:
    table = Terminal(house, "pack", "shank", "--animal", "26B")
    table.answer("26B  1: ", "*")
    table.answer("Cut: ", "tongue")
    table.answer("Pieces in each", "1.1")
    assert "'1.1' is not a number of pieces. Give a whole number" in table.answer("Pieces in each", "2")
    table.wait_for(PAD)
    table.answer("Tongue, whitetail doe 26B  1: ", "*")
    # The cut is looked at before pieces are asked for, and a near word needs no letter to be taken.
    table.answer("Cut: ", "shnak")
    table.answer("Did you mean shank? (1 yes, 0 no)", "1")
    table.answer("Pieces in each", "")
    table.answer("Shank, whitetail doe 26B  1: ", "")
    assert table.end()[0] == 0


def test_a_run_is_left_and_continued(house: House) -> None:
    first = Terminal(house, "pack", "shank", "--animal", "26B")
    first.answer("26B  1: ", "1.1")
    first.answer("26B  2: ", "1.2")
    first.wait_for("26B  3: ")
    first.press(b"\x04")
    assert first.end()[0] == 0
    assert total(house, "shank") == (2, 2.3)
    second = Terminal(house, "pack", "shank", "--animal", "26B")
    second.wait_for("Going on: 2 packs, 2.30 lb")
    second.answer("26B  3: ", "+")
    second.wait_for("26B  4: ")
    second.interrupt()
    status, rest = second.end()
    assert status == 130
    assert "What was confirmed above is kept" in rest
    assert total(house, "shank") == (3, 3.5)


def test_striking_leaves_a_run_of_many_alone(house: House) -> None:
    house.ok("pack", "shank", "1.1", "1.2", "--animal", "26B")
    table = Terminal(house, "pack", "shank", "--animal", "26B")
    table.answer("26B  3: ", "-")
    assert "packed in a run of 2; all of it goes with: freezerbox undo 7" in table.answer("26B  3: ", "")
    # What is no number is asked again, and never taken for Enter.
    table.answer("How many did you wrap?", "²")
    for nonsense, next_one in (("²", "two"), ("two", "1.5"), ("1.5", "-"), ("-", "99999"), ("99999", "2")):
        said = table.answer("How many did you wrap?", next_one)
        assert f"{nonsense!r} is not a number of packages" in said
    assert "2 wrapped, 2 in the book." in table.end()[1]
    assert total(house, "shank") == (2, 2.3)


def test_a_lot_at_a_terminal_is_one_record(house: House) -> None:
    terminal = Terminal(house, "pack", "bratwurst", "--lot", "72", "--species", "pork")
    status, out = terminal.end()
    assert status == 0
    assert "72 packages, 72 not weighed" in out
    assert house.ok("find", "bratwurst", "--json").json["totals"]["packages"] == 72


def test_an_ambiguous_cut_is_asked(house: House) -> None:
    terminal = Terminal(house, "pack", "sirloin", "2.1", "--species", "beef")
    asked = terminal.wait_for("Which number")
    assert "'sirloin' stands for more than one thing" in asked
    wanted = next(line.split()[0] for line in asked.splitlines() if "sirloin tip" in line)
    terminal.type(wanted)
    status, out = terminal.end()
    assert status == 0
    assert "Sirloin tip" in out
    assert total(house, "sirloin tip") == (1, 2.1)


@pytest.mark.parametrize("answer", ["", "99", "0", "²", "9" * 5000])
def test_no_answer_to_an_ambiguous_cut_packs_nothing(house: House, answer: str) -> None:
    before = house.dump()
    terminal = Terminal(house, "pack", "sirloin", "2.1", "--species", "beef")
    terminal.answer("Which number", answer[:2000])
    assert terminal.end()[0] == 2
    assert house.dump() == before


def test_a_near_word_is_proposed(house: House) -> None:
    terminal = Terminal(house, "pack", "bakstrap", "1", "--animal", "26B")
    terminal.answer("Did you mean backstrap? (1 yes, 0 no): ", "1")
    assert terminal.end()[0] == 0
    assert total(house, "backstrap")[0] == 5


def test_a_doubtful_weight_is_asked(house: House) -> None:
    for answer, status, packages in (("n", 1, 14), ("y", 0, 17)):
        terminal = Terminal(house, "pack", "loin chops", "1.1", "1.05", "11.5", "--animal", "26H")
        assert "11.50 lb among packages of about 1.10 lb" in terminal.answer("Does the scale really say so?", answer)
        assert terminal.end()[0] == status
        assert total(house, "loin chops")[0] == packages


def test_start_asks_units_freezer_and_guide(bare: House) -> None:
    terminal = Terminal(bare, "start")
    terminal.answer("Weights in lb", "kg")
    terminal.answer("What do you call the freezer", "Cellar chest")
    offered = terminal.answer("Which guide", "merged-current")
    assert "quality" in offered
    assert "split-2018" in offered
    status, out = terminal.end()
    assert status == 0
    assert f"Book started: {bare.book}" in " ".join(out.split())
    settings = bare.ok("settings", "--json").json["settings"]
    assert (settings["units"], settings["guide"]) == ("kg", "merged-current")
    assert [one["name"] for one in bare.ok("freezer", "--json").json["freezers"]] == ["Cellar chest"]


def test_a_slip_at_the_start_leaves_no_book(bare: House) -> None:
    terminal = Terminal(bare, "start", "--freezer", "Chest", "--guide", "split-2018")
    terminal.answer("Weights in lb", "stone")
    assert terminal.end()[0] == 2
    assert not bare.book.exists()
    stopped = Terminal(bare, "start")
    stopped.wait_for("Weights in lb")
    stopped.interrupt()
    assert stopped.end()[0] == 130
    assert not bare.book.exists()


def test_weighing_at_the_scale(house: House) -> None:
    labels = house.ok("label", "ahead", "4", "ground", "--animal", "26B", "--to", "a.pdf", "--json").json["labels"]
    codes = [label["code"] for label in labels]
    shown = [f"{code[:3]}-{code[3:]}" for code in codes]
    scale = Terminal(house, "weigh")
    scale.answer("scan: ", codes[0])
    scale.answer(f"weight of {shown[0]}: ", "1.02")
    assert f"{shown[0]}  weighed: Ground, whitetail doe 26B, 1.02 lb." in scale.answer("scan: ", f"{codes[1]} 1.00")
    scale.answer("scan: ", "K7P-3MT")
    assert "not in this book" in scale.answer("scan: ", codes[2])
    scale.answer(f"weight of {shown[2]}: ", "nonsense")
    assert "'nonsense' is not a weight" in scale.answer(f"weight of {shown[2]}: ", "11.5")
    # No letter is needed, and what is neither yes nor no is asked again.
    scale.answer("Right? (1 yes, 0 no): ", "3")
    assert "'3' is neither" in scale.answer("Right? (1 yes, 0 no): ", "0")
    # The next label scanned instead of a weight: the first simply has none yet.
    scale.answer(f"weight of {shown[2]}: ", codes[3])
    scale.answer(f"weight of {shown[3]}: ", ".98")
    assert "0.98 lb." in scale.answer("scan: ", "undo")
    assert f"Taken back: {shown[3]} weighed: 0.98 lb." in scale.answer("scan: ", f"{codes[3][:3]} {codes[3][3:]}")
    scale.answer(f"weight of {shown[3]}: ", ".99")
    # One that has its weight asks for none.
    scale.answer("scan: ", codes[3])
    assert f"{shown[3]} was weighed before: 0.99 lb." in scale.wait_for("scan: ")
    scale.type(codes[3])
    scale.answer("scan: ", "")
    assert scale.end()[0] == 0
    assert total(house, "ground") == (3, 3.01)


def test_the_bare_prompt(house: House) -> None:
    code = codes_in(house.ok("find", "loin chops").out)[0]
    prompt = Terminal(house)
    prompt.answer("freezerbox: ", code)
    assert f"{code}  taken: Loin chops" in prompt.answer("freezerbox: ", "backstrap")
    assert "4 packs, 3.60 lb, HELD" in prompt.answer("freezerbox: ", "undo")
    assert f"Taken back: {code} taken" in prompt.answer("freezerbox: ", "rotation")
    assert "What to eat first" in prompt.answer("freezerbox: ", "bakstrap")
    assert "Did you mean backstrap?" in " ".join(prompt.answer("freezerbox: ", "").split())
    prompt.answer("freezerbox: ", "K7P-3MT")
    assert "not in this book" in prompt.answer("freezerbox: ", "undo")
    prompt.wait_for("freezerbox: ")
    prompt.type("done")
    assert prompt.end()[0] == 0
    assert house.ok("show", code, "--json").json["state"] == "frozen"


def test_the_bare_prompt_without_a_book_and_at_its_end(bare: House) -> None:
    without = Terminal(bare)
    status, out = without.end()
    assert status == 3
    assert "freezerbox start" in " ".join(out.split())
    bare.ok(*START)
    prompt = Terminal(bare)
    prompt.wait_for("freezerbox: ")
    prompt.press(b"\x04")
    assert prompt.end()[0] == 0


def test_scanning_at_a_terminal(house: House) -> None:
    held = codes_in(house.ok("find", "backstrap").out)[0]
    free = codes_in(house.ok("find", "loin chops").out)[0]
    session = Terminal(house, "scan")
    session.answer("scan: ", held)
    assert "DO NOT EAT" in session.answer("scan: ", free)
    assert f"{free}  taken" in session.answer("scan: ", "done")
    assert session.end()[0] == 0


def test_several_on_a_photograph_are_asked(house: House) -> None:
    house.ok("label", "again", *codes_in(house.ok("find", "loin chops").out)[:2], "--to", "two.png")
    for answer, status, left in (("n", 2, 14), ("y", 0, 12)):
        terminal = Terminal(house, "scan", "--photo", "two.png", "--take")
        terminal.answer("Mark all as eaten? [y/N]: ", answer)
        assert terminal.end()[0] == status
        assert total(house, "loin chops")[0] == left
