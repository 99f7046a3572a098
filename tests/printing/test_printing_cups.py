"""Labels through a real print service to real (IPP) printers: what arrives, what counts, every kind of trouble."""

from __future__ import annotations

import subprocess
import threading
from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from PIL import Image

from freezerbox.core.code import compact
from freezerbox.labels import printer
from freezerbox.reading.pictures import read_picture
from tests.cli.process import House, Result, Terminal
from tests.keeping.test_keeping_room import limited
from tests.printing.press import PrintShop, pwg_pages, resolution

pytestmark = pytest.mark.sweep
ROLL = ("--stock", "roll-2x1in-203dpi")


def all_codes(house: House) -> list[str]:
    return [row["code"] for row in house.ok("animal", "show", "26H", "--json").json["rows"]]


def unprinted(house: House) -> list[str]:
    """What ``label`` would print into a file now; "" of it is noted."""
    result = house.call("label", "--look", "--to", "look.png", "--yes", "--json")
    return [label["code"] for label in result.json["labels"]] if result.status == 0 else []


def codes_in_picture(picture: Image.Image) -> set[str]:
    return {compact(symbol.text) for symbol in read_picture(picture)}


def rendered(path: Path, folder: Path, dpi: int) -> dict[str, list[Image.Image]]:
    """The pages by two renderers."""
    subprocess.run(
        ["gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=pnggray", f"-r{dpi}",
         f"-sOutputFile={folder}/gs-%d.png", str(path)],
        check=True,
    )  # fmt: skip
    document = pypdfium2.PdfDocument(path)
    try:
        pages = [page.render(scale=dpi / 72, grayscale=True).to_pil() for page in document]
    finally:
        document.close()
    return {
        "ghostscript": [Image.open(folder / f"gs-{number + 1}.png") for number in range(len(pages))],
        "pdfium": pages,
    }


def meanwhile(house: House, *arguments: str) -> tuple[threading.Thread, list[Result]]:
    """The program at work beside the test."""
    results: list[Result] = []
    thread = threading.Thread(target=lambda: results.append(house.run(*arguments)))
    thread.start()
    return thread, results


def when(shop: PrintShop, happens: Callable[[], object]) -> None:
    shop.wait(happens, "the job")


def test_a_sheet_arrives_and_every_label_reads(house: House, shop: PrintShop, tmp_path: Path) -> None:
    made = house.ok("label", "--printer", "sheets", "--stock", "letter-10up", "--start-at", "9", "--json").json
    assert made["printed"] is True
    assert made["job"].startswith("sheets-")
    (arrived,) = shop.devices["sheets"].arrived()
    assert arrived.suffix == ".pdf"
    for name, pages in rendered(arrived, tmp_path, 300).items():
        assert {(page.width, round(page.height, -1)) for page in pages} == {(2550, 3300)}, name
        found = [codes_in_picture(page) for page in pages]
        assert set().union(*found) == set(all_codes(house)), name
        for label in made["labels"]:
            dot = 300 / 25.4
            left, top = label["x_mm"] * dot, label["y_mm"] * dot
            cut = pages[label["page"] - 1].crop(
                (
                    round(left),
                    round(top),
                    round(left + label["width_mm"] * dot),
                    round(top + label["height_mm"] * dot),
                )
            )
            assert codes_in_picture(cut) == {label["code"]}, name
    assert unprinted(house) == []


def test_a_roll_arrives_dot_for_dot(house: House, shop: PrintShop) -> None:
    house.ok("label", "--look", *ROLL, "--to", "roll.png")
    said = house.ok("label", "--printer", "labels", *ROLL)
    assert "5 labels on roll-2x1in-203dpi, printed: labels-" in said.told
    (arrived,) = shop.devices["labels"].arrived()
    assert resolution(arrived) == (203, 203)
    pages = pwg_pages(arrived)
    assert [page.size for page in pages] == [(406, 203)] * 5
    for page, code, number in zip(pages, all_codes(house), range(1, 6), strict=True):
        assert codes_in_picture(page) == {code}
        with Image.open(house.folder / ("roll.png" if number == 1 else f"roll-{number}.png")) as drawn:
            assert page.tobytes() == drawn.convert("L").tobytes(), "the print service changed a dot"
    assert unprinted(house) == []


def test_the_house_has_a_printer(house: House, shop: PrintShop) -> None:
    house.ok("settings", "printer", "labels")
    house.ok("settings", "stock", "roll-2x1in-203dpi")
    again = house.ok("label", "again", all_codes(house)[2], "--json").json
    assert again["printed"]
    assert [codes_in_picture(page) for page in pwg_pages(shop.devices["labels"].arrived()[0])] == [
        {all_codes(house)[2]}
    ]
    ahead = house.ok("label", "ahead", "3", "ground", "--species", "whitetail", "--fat", "none", "--json").json
    assert ahead["job"]
    assert len(pwg_pages(shop.devices["labels"].arrived()[1])) == 3
    # A file that is asked for is a file, and so is a look.
    assert house.ok("label", "--to", "on-paper.pdf", "--json").json["job"] is None
    house.ok("settings", "printer", "none")
    assert house.ok("label", "again", all_codes(house)[2], "--json").json["job"] is None
    assert len(shop.devices["labels"].arrived()) == 2


def test_printer_off_waits_and_counts_nothing(house: House, shop: PrintShop) -> None:
    device = shop.devices["labels"]
    shop.off(device)
    error = house.refused_json("label", "--printer", "labels", *ROLL, status=3, kind="printer")
    assert (error["state"], error["why"]) == ("waiting", "printer off, or not connected")
    assert error["labels"] == 5
    # Asked for again, they are not sent twice: they wait already.
    error = house.refused_json("label", "--printer", "labels", *ROLL, status=3, kind="printer")
    assert error["state"] == "waiting"
    assert len(shop.tool("lpstat", "-o", "labels").splitlines()) == 1
    # Switched on, they come out, and the book hears of it at the next command about labels.
    shop.ensure(device)
    when(shop, lambda: not shop.busy(device))
    assert unprinted(house) == []
    assert len(pwg_pages(device.arrived()[0])) == 5


def test_printer_off_and_taken_back(house: House, shop: PrintShop) -> None:
    device = shop.devices["labels"]
    shop.off(device)
    said = house.call("label", "--printer", "labels", *ROLL)
    assert said.status == 3
    assert "Waiting: printer off" in said.said
    assert "freezerbox label cancel" in said.said
    assert str(house.call("label", "--look", "--to", "x.png", "--yes").status) == "3"
    back = house.ok("label", "cancel", "--json").json
    assert back["cancelled"][0]["codes"] == all_codes(house)
    assert shop.tool("lpstat", "-o", "labels") == ""
    assert house.call("label", "cancel").status == 1
    assert unprinted(house) == all_codes(house)


@pytest.mark.parametrize(
    ("trouble", "words"),
    [("media-empty", "no labels or paper in it"), ("media-jam", "jammed"), ("cover-open", "its cover is open")],
)
def test_trouble_is_said_and_mended(house: House, shop: PrintShop, trouble: str, words: str) -> None:
    device = shop.devices["labels"]
    device.trouble(trouble, on=True)
    error = house.refused_json("label", "--printer", "labels", *ROLL, status=3, kind="printer")
    assert words in error["why"]
    assert error["state"] == "waiting"
    assert words in house.ok("label", "printers").out
    device.trouble(trouble, on=False)
    when(shop, lambda: not shop.busy(device))
    done = house.call("label", "--look", "--to", "x.png", "--yes")
    assert done.status == 1
    assert "has its label already" in done.said


def test_cancelled_at_the_queue_and_gone_on_with(house: House, shop: PrintShop) -> None:
    device = shop.devices["labels"]
    device.trouble("slow", on=True)
    thread, results = meanwhile(house, "label", "--printer", "labels", *ROLL, "--json")
    when(shop, lambda: device.arrived())
    shop.tool("cancel", "-a", "labels")
    thread.join()
    assert results[0].status == 3
    assert results[0].error["state"] == "cancelled"
    assert (
        "All anew: freezerbox label --from 1. Only the last: freezerbox label --from 5" in results[0].error["message"]
    )
    assert unprinted(house) == all_codes(house)
    # Two were out before it was stopped: the rest is printed, the two count.
    rest = house.ok("label", "--from", "3", "--to", "rest.pdf", "--json").json
    assert [label["code"] for label in rest["labels"]] == all_codes(house)[2:]
    assert unprinted(house) == []


def test_one_torn_label_again_does_not_hide_the_run_that_was_cancelled(house: House, shop: PrintShop) -> None:
    """Nor does a second label that fails too; and those of the run that came out count, as do the rest then."""
    device, codes = shop.devices["labels"], all_codes(house)
    device.trouble("slow", on=True)
    thread, results = meanwhile(house, "label", "--printer", "labels", *ROLL, "--json")
    when(shop, lambda: device.arrived())
    shop.tool("cancel", "-a", "labels")
    thread.join()
    assert results[0].error["state"] == "cancelled"
    device.trouble("slow", on=False)
    assert house.ok("label", "again", codes[0], "--printer", "labels", *ROLL, "--json").json["printed"]
    shop.off(device)
    assert house.call("label", "again", codes[1], "--printer", "labels", *ROLL).status == 3
    house.ok("label", "cancel")
    shop.ensure(device)
    told = house.ok("label", "--from", "4", "--to", "rest.pdf").told
    assert f"From label 4 on of the run of 5 labels of {results[0].error['job']}, " in told
    assert unprinted(house) == []
    rest = house.ok("label", "--from", "3", "--to", "again.pdf", "--json").json
    assert [label["code"] for label in rest["labels"]] == codes[2:]


def test_labels_that_came_out_and_found_no_room_in_the_book_count_later(house: House, shop: PrintShop) -> None:
    size = house.book.stat().st_size
    again = ("label", "again", *["26H"] * 30, "--printer", "labels", *ROLL)
    done = limited(house, size, *again)
    assert done.status == 3
    assert "The labels are printed all the same; they count by themselves once the book can be written" in done.said
    assert "Nothing was changed" not in done.said
    assert len(pwg_pages(shop.devices["labels"].arrived()[0])) == 150
    house.call("label")
    assert house.dump().count("printed 150 labels on roll-2x1in-203dpi") == 1


def test_a_printer_that_vanishes_mid_job(house: House, shop: PrintShop) -> None:
    device = shop.devices["labels"]
    device.trouble("slow", on=True)
    thread, results = meanwhile(house, "label", "--printer", "labels", *ROLL, "--json")
    when(shop, lambda: device.arrived())
    shop.off(device)
    thread.join()
    told = results[0]
    if told.status == 0:
        # The connection broke after the last byte, and the print service itself counts the job as printed.
        assert told.json["job"] in shop.tool("lpstat", "-W", "completed", "-o", "labels")
        assert unprinted(house) == []
        return
    assert told.status == 3
    assert told.error["labels"] == 5
    again = house.call("label", "--look", "--to", "x.png", "--yes", "--json")
    if told.error["state"] == "waiting":
        # At the printer still, or it tries once more: not printed, and not drawn a second time.
        assert (again.status, again.error["labels"]) == (3, 5)
        assert again.error["state"] in ("waiting", "printing")
    else:
        # Gone from the queue: free to be printed again, every one.
        assert told.error["state"] in ("given-up", "cancelled")
        assert [label["code"] for label in again.json["labels"]] == all_codes(house)


def test_a_jam_after_all_was_sent(house: House) -> None:
    """The printer took everything and then ate the last two.  What is proposed is a number that the run has."""
    said = house.ok("label", "--printer", "labels", *ROLL).out
    assert "Jammed or torn: freezerbox label --from 5, or freezerbox label again CODE" in said
    one = house.ok("label", "again", all_codes(house)[0], "--printer", "labels", *ROLL).out
    assert "Jammed or torn: freezerbox label again CODE" in one
    house.ok("label", "again", *all_codes(house), "--printer", "labels", *ROLL)
    rest = house.ok("label", "--from", "4", "--to", "rest.pdf", "--json").json
    assert [label["code"] for label in rest["labels"]] == all_codes(house)[3:]
    house.refused_json("label", "--from", "9", "--to", "rest.pdf", status=2, kind="input")


def test_unknown_printer(house: House) -> None:
    for arguments in (("label", "--printer", "nosuch"), ("settings", "printer", "nosuch")):
        error = house.refused_json(*arguments, status=3, kind="printer")
        assert error["state"] == "unknown-printer"
        assert error["known"] == ["labels", "sheets"]
    assert not (house.folder / "labels.pdf").exists()
    assert house.call("label", "ahead", "2", "ground", "--printer", "nosuch").status == 3
    assert unprinted(house) == all_codes(house), "no spare records either"


def test_printers_are_listed(house: House) -> None:
    found = {one["name"]: one for one in house.ok("label", "printers", "--json").json["printers"]}
    assert set(found) == {"labels", "sheets"}
    assert found["labels"]["ready"] is True
    assert found["labels"]["resolutions"] == [203]
    assert "custom_2x1in_2x1in" in found["labels"]["media"]
    said = house.ok("label", "printers").out
    assert "labels: ready" in said
    assert "203 dpi" in said


def test_only_a_pdf_goes_to_a_printer(house: House) -> None:
    house.refused_json("label", "--printer", "labels", "--to", "x.png", status=2, kind="input")


def test_at_a_terminal_the_person_decides(house: House, shop: PrintShop) -> None:
    shop.devices["labels"].trouble("media-empty", on=True)
    terminal = Terminal(house, "label", "--printer", "labels", *ROLL)
    terminal.wait_for("no labels or paper in it")
    terminal.answer("Enter leaves the labels waiting there", "w")
    shop.devices["labels"].trouble("media-empty", on=False)
    terminal.wait_for("5 labels on roll-2x1in-203dpi, printed")
    assert terminal.end()[0] == 0
    assert unprinted(house) == []
    shop.devices["labels"].trouble("media-empty", on=True)
    terminal = Terminal(house, "label", "again", all_codes(house)[0], "--printer", "labels", *ROLL)
    terminal.answer("Enter leaves the labels waiting there", "c")
    terminal.wait_for("Cancelled")
    # What is proposed prints that one label, which `label` alone would not: it has been printed before.
    terminal.wait_for("freezerbox label again")
    assert terminal.end()[0] == 3
    anew = house.ok("label", "again", all_codes(house)[0], "--from", "1", "--to", "anew.pdf", "--json").json
    assert [label["code"] for label in anew["labels"]] == all_codes(house)[:1]


def test_at_the_table_a_label_comes_out_with_each_weight(house: House, shop: PrintShop) -> None:
    house.ok("label", "--to", "earlier.pdf")
    house.ok("settings", "printer", "labels")
    house.ok("settings", "stock", "roll-2x1in-203dpi")
    device = shop.devices["labels"]
    terminal = Terminal(house, "pack", "loin chops", "--animal", "26H", "--pieces", "4")
    terminal.answer("6: ", "1.04")
    terminal.answer("7: ", "+")
    terminal.wait_for("8: ")
    when(shop, lambda: not shop.busy(device))
    # The paper ends: weights go on being kept, and what has no label is said once.
    device.trouble("media-empty", on=True)
    terminal.type("1.01")
    terminal.wait_for("9: ")
    when(shop, lambda: "media-empty" in shop.tool("lpstat", "-l", "-p", "labels"))
    terminal.type("-")
    terminal.wait_for("struck")
    terminal.answer("8: ", "1.02")
    terminal.wait_for("9: ")
    when(shop, lambda: "media-empty" in shop.tool("lpstat", "-l", "-p", "labels"))
    terminal.type("1.03")
    said = terminal.wait_for("10: ")
    assert "no labels or paper in it. No label for" in said
    terminal.type("")
    terminal.answer("How many did you wrap?", "")
    terminal.wait_for("Still at the printer: ")
    assert terminal.end()[0] == 0
    assert len(unprinted(house)) == 0, "two wait at the printer, the others are out"
    device.trouble("media-empty", on=False)
    when(shop, lambda: not shop.busy(device))
    house.call("label")
    codes = all_codes(house)[5:]
    assert len(codes) == 4
    arrived = [codes_in_picture(pwg_pages(path)[0]) for path in device.arrived()]
    assert [code for code in arrived if code <= set(codes)] == [{code} for code in codes]
    assert house.dump().count("printed 1 label on roll-2x1in-203dpi") == 4


def test_a_sheet_is_not_spent_label_by_label(house: House, shop: PrintShop) -> None:
    house.ok("settings", "printer", "sheets")
    terminal = Terminal(house, "pack", "loin chops", "--animal", "26H", "--pieces", "4")
    terminal.answer("6: ", "1.04")
    terminal.answer("7: ", "")
    terminal.answer("How many did you wrap?", "6")
    assert terminal.end()[0] == 0
    assert shop.devices["sheets"].arrived() == []


def test_the_state_of_jobs_long_gone(shop: PrintShop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CUPS_SERVER", shop.environment()["CUPS_SERVER"])
    state = printer.job_state(printer.Job(queue="labels", number=999_999))
    assert (state.state, state.why) == ("given-up", "the print system no longer knows it")
    assert not printer.cancel(printer.Job(queue="labels", number=999_999))
