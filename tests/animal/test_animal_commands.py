"""The commands of an animal's story as processes: words, JSON, exit status, a book unchanged by what is refused."""

from __future__ import annotations

import json
import os
import pty
import subprocess

import pypdfium2
import pytest

from tests.cli.process import House, program


def codes(house: House, words: str) -> list[str]:
    return [row["code"] for row in house.ok("find", words, "--json").json["rows"]]


def test_detected_prints_the_pull_sheet_and_a_page(house: House) -> None:
    done = house.run("result", "26B", "detected", "--sample", "4471", "--to", "pull.pdf", "--yes")
    assert done.status == 0
    lines = done.out.splitlines()
    assert lines[0].startswith("whitetail doe 26B, sample 4471: DETECTED on 2 Dec 2026.")
    assert "TO PULL, whitetail doe 26B: 4 packs, 3.60 lb" in lines
    assert "  Garage chest, red bag: 4 packages" in lines
    assert "Follow your wildlife agency's" in " ".join(done.out.split())
    assert max(len(line) for line in lines) <= 80
    assert (house.folder / "pull.pdf").read_bytes().startswith(b"%PDF-")
    again = house.ok("trace", "26B", "--pull", "--json").json
    assert (again["packages"], len(again["to_pull"]), again["eaten"]) == (4, 4, [])


def test_a_result_is_in_the_book_before_it_is_said(house: House) -> None:
    reading, writing = os.pipe()
    os.close(reading)  # whoever listened is gone: the first line said ends the program
    with os.fdopen(writing, "wb") as nobody:
        done = subprocess.run(
            [str(program()), "result", "26B", "detected", "--yes"], cwd=house.folder,
            env=house.environment() | {"PYTHONUNBUFFERED": "1"},
            stdin=subprocess.DEVNULL, stdout=nobody, stderr=subprocess.PIPE, check=False,
        )  # fmt: skip
    assert b"Traceback" not in done.stderr
    assert house.ok("animal", "show", "26B", "--json").json["animal"]["holds"][0]["why"] == "test result: detected"


def test_a_result_typed_where_nobody_can_be_asked_names_the_option(house: House) -> None:
    before = house.dump()
    controller, terminal = pty.openpty()
    with os.fdopen(controller), os.fdopen(terminal) as typing:
        done = subprocess.run(
            [str(program()), "result", "26B", "detected"], cwd=house.folder, env=house.environment(),
            stdin=typing, capture_output=True, check=False,
        )  # fmt: skip
    said = " ".join(done.stderr.decode().split())
    assert done.returncode == 1
    assert "Nothing recorded yet" in said
    assert "--yes" in said
    assert "sample 4471" in said
    assert house.dump() == before


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_a_script_confirms_a_result_with_yes_or_is_refused(house: House, more: tuple[str, ...]) -> None:
    before = house.dump()
    found = house.refused_json("result", "26B", "not-detected", status=1, kind="out-of-line")
    assert (found["animal"], found["packages"]) == ("26B", 4)
    assert "whitetail doe 26B, sample 4471: not detected on 2 Dec 2026. 4 packages" in found["message"]
    assert house.dump() == before
    assert house.run("result", "26B", "not-detected", "--yes", *more).status == 0


def test_taking_back_detected_is_said_though_it_was_asked_for(house: House) -> None:
    house.ok("result", "26B", "detected", "--yes")
    house.refused_json("result", "26B", "not-detected", status=1, kind="out-of-line")
    said = " ".join(house.ok("result", "26B", "not-detected", "--yes").out.split())
    assert "The book said DETECTED on 2 Dec 2026; this takes it back." in said


def test_result_in_json(house: House) -> None:
    found = house.ok("result", "26B", "not-detected", "--on", "1 dec", "--json", "--yes").json
    assert (found["animal"], found["sample"], found["result"], found["on"]) == (
        "26B", "4471", "not-detected", "2026-12-01",
    )  # fmt: skip
    assert len(found["packages"]) == 4
    assert all(row["holds"] == [] for row in found["packages"])
    assert found["still_held"] == []
    # The old word for it does the same.
    assert house.refused_json("test", "26B", "not-detected", status=1, kind="refused")


@pytest.mark.parametrize(
    ("arguments", "status", "kind"),
    [
        ("result 26X detected", 1, "unknown-record"),
        ("result 26B detected --sample 9", 1, "refused"),
        ("result 26B maybe", 2, "word"),
        ("result 26B detected --on tomorow", 2, "date"),
        ("hold 26B", 2, "input"),
        ("release 26H --why x", 1, "refused"),
        ("trace 26X", 1, "unknown-record"),
        ("trace", 2, "input"),
        ("trace --person Nobody", 1, "unknown-record"),
        ("grind 5 --from 26B=5", 1, "held"),
        ("grind 5 --from 26H=5 --with suet --fat 20", 2, "input"),
        ("grind 9 --from 26H=5", 1, "out-of-line"),
        ("grind --from 26B=5 --with suet --fat 100", 2, "input"),
        ("grind --from 26Z=5", 1, "unknown-record"),
        ("share --animal 26H --between Ann", 2, "input"),
        ("share --animal 26B --between Ann,Ben", 1, "refused"),
        ("animal set 26B --live heavy", 2, "mass"),
        ("animal set 26B --dressed 50 --hanging 60", 1, "out-of-line"),
        ("animal cost 26B fuel free", 2, "input"),
        ("animal test 26B --sample 4471", 1, "refused"),
    ],
)
def test_refusals(house: House, arguments: str, status: int, kind: str) -> None:
    house.refused_json(*arguments.split(), status=status, kind=kind)


def test_hold_and_release_of_a_package(house: House) -> None:
    code = codes(house, "chops")[0]
    assert "On hold: " in house.ok("hold", code, "--why", "smells odd").out
    assert house.refused("take", code).status == 1
    shown = house.ok("show", code, "--json").json
    assert shown["holds"] == [{"kind": "own", "of": code, "since": "2026-12-02", "why": "smells odd"}]
    house.ok("release", code, "--why", "fine after all")
    assert house.ok("take", code).out


def test_plan_says_a_missed_aim_and_a_fat_of_no_animal(house: House) -> None:
    short = house.ok("grind", "--from", "26B=4", "--with", "pork back fat=.5", "--fat", "20").out
    assert "Makes 4.50 lb, 11% fat, not the 20% aimed at." in short
    assert "of which animal" not in short
    even = house.ok("grind", "--from", "26B=4", "--with", "50/50 trim", "--with", "salt=.1/0%", "--fat", "20").out
    assert "aimed at" not in even
    assert "50/50 trim: of which animal is not said, so the label cannot say it either." in " ".join(even.split())
    assert "salt: of which" not in even
    named = house.ok("grind", "--from", "26B=4", "--with", "50/50 pork trim", "--fat", "20").out
    assert "of which animal" not in named


def test_clean_labels_of_all_its_packages_are_one_command(house: House) -> None:
    house.ok("label", "--to", "first.pdf")
    said = house.ok("result", "26B", "not-detected", "--yes").out
    assert "Their labels still say DO NOT EAT." in said
    assert "freezerbox label again 26B" in " ".join(said.split())
    again = house.ok("label", "again", "26b", "--to", "clean.pdf", "--json").json
    assert {label["code"] for label in again["labels"]} == set(codes(house, "backstrap"))
    house.refused_json("label", "again", "26Z", status=1, kind="unknown-record")


def test_grind_plans_then_records(house: House) -> None:
    asked = ("grind", "--from", "26B=8", "--with", "pork back fat", "--fat", "20", "--size", "1")
    before = house.dump()
    plan = house.ok(*asked, "--json").json
    assert house.dump() == before, "a plan changes nothing"
    assert (plan["recorded"], plan["up_to"], plan["held"], plan["fat_percent"]) == (False, 10, ["26B"], 20.0)
    assert plan["add"]["net_g"] == pytest.approx(907.18474, abs=0.001)
    done = house.run(*asked, "10x1", "--with-held", "--place", "red bag")
    assert done.status == 0
    assert "Batch G26-1: 10 packages, 10.00 lb of Ground, 20% fat." in done.out
    assert "In the mix: Whitetail 80%, Pork 20%." in done.out
    assert "ON HOLD, all of it: test pending since 21 Nov." in done.out
    rows = house.ok("find", "ground", "--json").json["rows"]
    made = [row for row in rows if row["batch"] == "G26-1"]
    assert len(made) == 10
    assert made[0]["mix"] == [{"species": "whitetail", "percent": 80}, {"species": "pork", "percent": 20}]
    assert made[0]["animals"] == ["26B"]
    assert "not batched with others" not in " ".join(done.out.split()), "nothing of one animal is mixed"
    house.ok("undo")
    assert not [row for row in house.ok("find", "ground", "--json").json["rows"] if row["batch"]]
    mixed = house.ok("grind", "--from", "26B=4", "--from", "26H=4", "8x1", "--with-held")
    assert "not batched with others" in " ".join(mixed.out.split())
    jerky = house.ok("grind", "--from", "26H=4", "--into", "jerky", "3x.3").out
    assert "dried away" in jerky
    assert "grinder" not in jerky


def test_give_with_a_slip_then_who_has_any(house: House) -> None:
    chops = codes(house, "chops")[:4]
    given = house.ok("give", *chops, "--to", "Sister", "--slip", "slip.pdf", "--not-for-sale", "--json").json
    assert [row["code"] for row in given["done"]] == chops
    assert given["refused"] == []
    assert (house.folder / "slip.pdf").read_bytes().startswith(b"%PDF-")
    later = house.at("2027-02-10T10:00")
    found = later.ok("trace", "26H", "--who", "--json").json["who"]
    assert [(one["person"], one["packages"]) for one in found] == [("Sister", 4)]
    assert {one["on"] for one in found[0]["given"]} == {"2026-12-02"}
    assert "Sister: 4 packages" in later.ok("trace", "--person", "sister").out
    assert later.ok("trace", "26B", "--who").out == "Nobody was given any of 26B.\n"


def test_a_slip_is_not_written_over(house: House) -> None:
    first, second, third = codes(house, "chops")[:3]
    house.ok("give", first, "--to", "Sister", "--slip", "slip.pdf")
    written = (house.folder / "slip.pdf").read_bytes()
    refused = house.refused("give", second, "--to", "Brother", "--slip", "slip.pdf")
    assert "its slip may not be printed yet" in refused.said
    assert (house.folder / "slip.pdf").read_bytes() == written
    house.ok("give", third, "--to", "Sister", "--slip", "slip.pdf", "--yes")
    assert (house.folder / "slip.pdf").read_bytes() != written


@pytest.mark.parametrize(
    ("words", "file"),
    [
        ("give CODE --to Brother --handover x.json", "x.json"),
        ("share --animal 26H --between Ann,Ben --to x.pdf", "x.pdf"),
        ("share --animal 26H --between Ann,Ben --accept --handover x.json", "x.json"),
        ("trace 26B --pull --to x.pdf", "x.pdf"),
        ("trace 26H --who --notices .", "sister.json"),
        ("lid --to x.pdf", "x.pdf"),
    ],
)
def test_no_file_is_written_over_unless_asked(house: House, words: str, file: str) -> None:
    first, code = codes(house, "chops")[:2]
    house.ok("give", first, "--to", "Sister")
    there = house.folder / file
    there.write_bytes(b"not sent yet")
    typed = words.replace("CODE", code).split()
    refused = house.refused(*typed)
    assert refused.status == 1
    assert f"{file}' is there already" in refused.said
    assert there.read_bytes() == b"not sent yet"
    house.ok(*typed, "--yes")
    assert there.read_bytes() != b"not sent yet"


def test_a_result_asks_before_it_writes_over_a_sheet_and_says_that_it_wrote_one(house: House) -> None:
    sheet = house.folder / "pull.pdf"
    sheet.write_bytes(b"of another animal")
    assert "is there already" in house.refused("result", "26B", "detected", "--to", "pull.pdf").said
    assert "Page: pull.pdf" in house.ok("result", "26B", "detected", "--to", "pull.pdf", "--yes").out
    assert sheet.read_bytes().startswith(b"%PDF-")


def test_the_second_page_of_a_sheet_says_which_basket_it_goes_on_with(house: House) -> None:
    house.ok("pack", "backstrap", "60x.5", "--animal", "26B", "--place", "red bag", "--yes")
    house.ok("trace", "26B", "--pull", "--to", "pull.pdf")
    document = pypdfium2.PdfDocument(house.folder / "pull.pdf")
    pages = [document[number].get_textpage().get_text_range() for number in range(len(document))]
    document.close()
    assert len(pages) > 1
    assert "red bag: 64 packages" in pages[0]
    assert pages[1].splitlines()[0].endswith("red bag: 64 packages, continued")


def test_what_to_fetch_and_who_has_some_are_two_questions(house: House) -> None:
    assert "two questions" in house.refused("trace", "26B", "--pull", "--who").said


def test_a_reason_is_a_few_words(house: House) -> None:
    code = codes(house, "chops")[0]
    house.ok("hold", code, "--why", "x" * 120)
    refused = house.refused("hold", code, "--why", "smells " * 60)
    assert "419 letters; 120 is the most" in refused.said
    assert refused.status == 2


def test_three_alike_are_packed_as_grind_takes_them(house: House) -> None:
    packed = house.ok("pack", "ground pork", "3x1.5", "2X1.25lb", "1", "--json").json["packages"]
    assert [round(row["net_g"] / 453.592, 2) for row in packed] == [1.5, 1.5, 1.5, 1.25, 1.25, 1.0]
    assert "not a weight" in house.refused("pack", "ground pork", "0x1.5").said


def test_fat_alone_behind_what_was_bought_is_its_fat(house: House) -> None:
    said = house.ok("grind", "--from", "26B=8", "--with", "pork shoulder/60%", "--fat", "20").told
    assert "Add 4.00 lb of pork shoulder:" in said


def test_people_whose_names_write_alike_each_get_a_notice(house: House) -> None:
    for code, person in zip(codes(house, "chops"), ("Jo B", "Jo-B"), strict=False):
        house.ok("give", code, "--to", person)
    written = house.ok("trace", "26H", "--who", "--notices", "out", "--json").json["files"]
    assert len(set(written)) == 4
    told = [json.loads((house.folder / file).read_text())["to"] for file in written if file.endswith(".json")]
    assert sorted(told) == ["Jo B", "Jo-B"]


def test_give_of_held_and_free_gives_what_can_be(house: House) -> None:
    held, free = codes(house, "backstrap")[0], codes(house, "chops")[0]
    assert house.refused("give", held, "--to", "Sister").err.startswith("HELD - NOT GIVEN")
    done = house.call("give", held, free, "--to", "Sister", "--json")
    assert done.status == 1
    assert [row["code"] for row in done.json["done"]] == [free]
    assert done.json["refused"][0]["code"] == held
    said = house.ok("give", held, "--to", "Sister", "--held-too").out
    assert said.startswith("1 package given to Sister, ON HOLD.")


def test_share_out_and_hand_over(house: House) -> None:
    before = house.dump()
    asked = ("share", "--animal", "26H", "--between", "Ann, Ben")
    plan = house.ok(*asked, "--json").json
    assert house.dump() == before, "a proposal changes nothing"
    assert [heap["packages"] for heap in plan["heaps"]] == [7, 7]
    assert plan["difference_g"] <= plan["largest_g"]
    done = house.ok(*asked, "--accept", "--handover", "ben.json", "--to", "lists.pdf")
    assert "Recorded: the others' packages have left our stock." in done.out
    told = json.loads((house.folder / "ben.json").read_text())
    assert [(one["to"], len(one["packages"])) for one in told["handovers"]] == [("Ben", 7)]
    assert (house.folder / "lists.pdf").read_bytes().startswith(b"%PDF-")
    assert len(codes(house, "chops")) == 7


def test_animal_story_in_words_and_json(house: House) -> None:
    house.ok("animal", "set", "26B", "--dressed", "93", "--hanging", "79", "--hide", "off", "--ammunition", "arrow")
    house.ok("animal", "cost", "26B", "tag", "30")
    words = house.ok("animal", "show", "26B").out
    assert "hanging 79.00 lb (hide off) -> packaged 3.60 lb: 5%" in words
    assert "Cost 30.00: tag 30.00" in words
    assert max(len(line) for line in words.splitlines()) <= 80
    found = house.ok("animal", "show", "26B", "--json").json["animal"]
    assert (found["hang_days"], found["ammunition"], found["cost"], found["hide"]) == (7, "arrow", 30.0, "off")
    assert [(step["from"], step["to"]) for step in found["yield"]] == [
        ("dressed", "hanging"), ("hanging", "packaged"), ("dressed", "packaged"),
    ]  # fmt: skip


def test_held_scan_is_loud_and_offers_another(house: House) -> None:
    house.ok("pack", "backstrap", "1", "--species", "whitetail")
    free, held = codes(house, "backstrap")[0], codes(house, "backstrap")[1]
    assert house.ok("show", free, "--json").json["holds"] == []  # what may be eaten comes first
    done = house.ok("scan", stdin=held + "\n")
    assert len(codes(house, "backstrap")) == 5
    assert "DO NOT EAT" in done.out
    assert "Not on hold:" in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 80


def test_help_names_the_group_and_examples(house: House) -> None:
    assert "The animal behind it" in house.ok("--help").out
    for command in ("grind", "give", "share", "trace", "hold", "release", "result"):
        assert f"Example: freezerbox {command}" in house.ok(command, "--help").out


@pytest.mark.parametrize(
    "words",
    [
        "result 26B detected --to no/pull.pdf",
        "result 26B detected --to pull.txt",
        "give CODE --to Sister --yes --slip no/slip.pdf",
        "give CODE --to Sister --yes --slip slip.doc",
        "give CODE --to Sister --yes --slip slip.pdf --paper a5",
        "give CODE --to Sister --yes --handover no/x.json",
        "share --animal 26H --between Ann,Ben --accept --to no/lists.pdf",
        "share --animal 26H --between Ann,Ben --accept --handover ben.pdf",
    ],
)
def test_a_file_that_cannot_be_written_is_refused_before_anything_is_recorded(house: House, words: str) -> None:
    before = house.dump()
    code = codes(house, "chops")[0]
    refused = house.refused(*words.replace("CODE", code).split())
    assert refused.status == 2
    assert "Nothing recorded" in refused.err
    assert house.dump() == before
