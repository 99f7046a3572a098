"""Without a print system, and with one that talks nonsense: words, a file, nothing noted that is not so."""

from __future__ import annotations

import json
import socketserver
import sqlite3
import struct
import threading
from collections.abc import Iterator
from dataclasses import replace
from http.server import BaseHTTPRequestHandler
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from freezerbox.chores.printing import not_printed
from freezerbox.core.code import show_code
from freezerbox.errors import PrinterTrouble
from freezerbox.labels import ipp, printer
from freezerbox.labels.jobs import JobList, Mark, Owed
from freezerbox.labels.library import stock
from freezerbox.labels.printer import Job, JobState
from tests.cli.process import House


@pytest.fixture
def lonely(tmp_path: Path) -> House:
    """A house with two packages on a machine without a print system."""
    house = House(folder=tmp_path, more={"PATH": str(tmp_path)})
    house.ok("start", "--units", "lb", "--freezer", "Garage chest")
    house.ok("pack", "loin chops", "1.1", "1.2", "--species", "pork")
    return house


def test_without_a_print_system_the_file_is_said(lonely: House) -> None:
    done = lonely.ok("label", "--printer", "anything")
    assert "no print system on this machine" in done.said
    assert "labels.pdf" in done.told
    assert (lonely.folder / "labels.pdf").is_file()
    assert "no printer here" in lonely.ok("label", "printers").told
    assert lonely.ok("label", "printers", "--json").json == {"printers": []}
    lonely.refused_json("settings", "printer", "anything", status=3, kind="printer")
    assert lonely.ok("settings", "printer", "none").status == 0


def test_nothing_to_cancel_and_nothing_to_go_on_from(lonely: House) -> None:
    lonely.refused_json("label", "cancel", status=1, kind="refused")
    lonely.refused_json("label", "--from", "2", status=1, kind="refused")
    code = lonely.ok("find", "loin chops", "--json").json["rows"][0]["code"]
    lonely.ok("label", "again", code, "--to", "one.pdf")
    assert "freezerbox label again CODES --from 2" in lonely.refused("label", "--from", "2").said


def test_from_a_file_run(lonely: House) -> None:
    codes = [label["code"] for label in lonely.ok("label", "--to", "a.pdf", "--json").json["labels"]]
    again = lonely.ok("label", "--from", "2", "--to", "b.pdf", "--json").json
    assert [label["code"] for label in again["labels"]] == codes[1:]
    for number in ("0", "3", "x", "-1"):
        lonely.refused_json("label", "--from", number, status=2, kind="input")


def test_labels_printed_again_do_not_take_the_place_of_the_run_that_jammed(lonely: House) -> None:
    older = [label["code"] for label in lonely.ok("label", "--to", "a.pdf", "--json").json["labels"]]
    lonely.ok("pack", "shoulder steaks", "1.1", "1.2", "1.3", "1.4", "--species", "pork")
    codes = [label["code"] for label in lonely.ok("label", "--to", "b.pdf", "--json").json["labels"]]
    words = f"the run of 4 labels of 2 Dec, 21:00, {show_code(codes[0])} to {show_code(codes[3])}"
    for torn in ([codes[0]], codes[:2], older):
        lonely.ok("label", "again", *torn, "--to", "c.pdf", "--yes")
        rest = lonely.ok("label", "--from", "3", "--to", "d.pdf", "--yes")
        assert "2 labels on letter-10up: d.pdf" in rest.told
        assert f"From label 3 on of {words}." in rest.told
    made = lonely.ok("label", "--from", "4", "--to", "d.pdf", "--yes", "--json").json
    assert [label["code"] for label in made["labels"]] == codes[3:]
    assert made["run"] == {"labels": 4, "when": "of 2 Dec, 21:00", "first": codes[0], "last": codes[3]}
    for number in ("5", "x", "2.5"):
        said = lonely.refused("label", "--from", number, "--to", "e.pdf").said
        assert f"'{number}' is not a number of a label of {words}. Give a whole number from 1 to 4." in said
    # One new label does not hide it either; its first, and only, is asked for by its number.
    lonely.ok("pack", "loin chops", "1", "--species", "pork")
    (one,) = lonely.ok("label", "--to", "f.pdf", "--json").json["labels"]
    assert words in lonely.ok("label", "--from", "3", "--to", "g.pdf").told
    (first,) = lonely.ok("label", "--from", "1", "--to", "h.pdf", "--json").json["labels"]
    assert first["code"] == one["code"]
    # Many printed again by their codes have numbers of their own.
    made = lonely.ok("label", "again", *older, *codes, "--from", "6", "--to", "i.pdf", "--json").json
    assert [label["code"] for label in made["labels"]] == codes[3:]
    lonely.refused_json("label", "again", *codes, "--from", "5", status=2, kind="input")


def test_in_a_book_that_did_not_tell_them_apart_what_was_printed_before_is_no_run(lonely: House) -> None:
    lonely.ok("pack", "shoulder steaks", "1.1", "1.2", "--species", "pork")
    codes = [label["code"] for label in lonely.ok("label", "--to", "a.pdf", "--json").json["labels"]]
    lonely.ok("label", "again", *codes[:2], "--to", "b.pdf")
    book = _without_guards(lonely)
    assert book.execute("UPDATE act SET kind = 'label' WHERE kind = 'label-again'").rowcount == 1
    book.commit()
    book.close()
    rest = lonely.ok("label", "--from", "2", "--to", "c.pdf", "--json").json
    assert [label["code"] for label in rest["labels"]] == codes[1:]


def _without_guards(house: House) -> sqlite3.Connection:
    book = sqlite3.connect(house.book)
    for (name,) in book.execute(
        "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'act'"
    ).fetchall():
        book.execute(f"DROP TRIGGER {name}")
    return book


def test_a_second_jam_in_one_run_goes_on_with_the_numbers_of_the_first_sheet(lonely: House) -> None:
    lonely.ok("pack", "shoulder steaks", "1.1", "1.2", "1.3", "1.4", "--species", "pork")

    def printed(*arguments: str) -> list[str]:
        return [
            label["code"]
            for label in lonely.ok("label", *arguments, "--to", "a.pdf", "--yes", "--json").json["labels"]
        ]

    run = printed()
    assert len(run) == 6
    assert printed("--from", "6") == run[5:]
    assert printed("--from", "3") == run[2:]
    assert printed("--from", "4") == run[3:]
    assert printed("--from", "2") == run[1:]
    assert printed("--from", "1") == run
    lonely.refused_json("label", "--from", "7", status=2, kind="input")
    # The last label torn and printed by its code changes nothing in that.
    assert printed("again", run[5]) == run[5:]
    assert printed("--from", "5") == run[4:]


def test_a_second_jam_at_the_printer_keeps_the_numbers_of_the_first_sheet(lonely: House) -> None:
    """A job that went on from the third label on and was cancelled, as this machine remembers it."""
    lonely.ok("pack", "shoulder steaks", "1.1", "1.2", "1.3", "--species", "pork")
    run = [label["code"] for label in lonely.ok("label", "--to", "a.pdf", "--json").json["labels"]]
    with sqlite3.connect(lonely.book) as book:
        uid = book.execute("SELECT value FROM meta WHERE key = 'uid'").fetchone()[0]
    owed = Owed(
        book=uid, job=Job(queue="q", number=1), stock="letter-10up", next_start=1, before=tuple(run[:2]), failed=True,
        marks=tuple(Mark(code=code, text=code, mask=2, banner="") for code in run[2:]),
    )  # fmt: skip
    jobs = JobList(lonely.folder / ".local" / "share" / "freezerbox" / "print-jobs.json")
    jobs.add(owed)
    assert jobs.of(uid) == (owed,)
    said = not_printed(owed, JobState(state="cancelled", why="")).message
    assert said.endswith("All anew: freezerbox label --from 3. Only the last: freezerbox label --from 5")
    torn = replace(owed, again=True)
    said = not_printed(torn, JobState(state="cancelled", why="")).message
    assert said.endswith(
        "freezerbox label again CODES --from 3. Only the last: freezerbox label again CODES --from 5"
    )
    # Nor do labels printed again hide it, neither at a printer, where that fails too, nor in a file.
    jobs.add(replace(torn, job=Job(queue="q", number=2), marks=owed.marks[:1], before=()))
    assert len(jobs.of(uid)) == 2
    lonely.ok("label", "again", run[0], "--to", "torn.pdf")
    rest = lonely.ok("label", "--from", "4", "--to", "b.pdf", "--json").json
    assert [label["code"] for label in rest["labels"]] == run[3:]
    rest = lonely.ok("label", "--from", "2", "--to", "c.pdf", "--json").json
    assert [label["code"] for label in rest["labels"]] == run[1:]


@pytest.mark.parametrize("spoilt", ["", "{", "[1]", "null", '[{"book": 1}]', "\x00"])
def test_a_spoilt_job_file_is_an_empty_one(lonely: House, spoilt: str) -> None:
    path = lonely.folder / ".local" / "share" / "freezerbox" / "print-jobs.json"
    path.parent.mkdir(parents=True)
    path.write_text(spoilt)
    assert lonely.ok("label", "--to", "a.pdf", "--json").json["printed"] is True


def test_the_job_file_keeps_each_books_own(tmp_path: Path) -> None:
    jobs = JobList(tmp_path / "deep" / "jobs.json")
    mine = Owed(
        book="a", job=Job(queue="q", number=1), stock="letter-10up", next_start=3,
        marks=(Mark(code="K7P3MT", text="K7P3MT", mask=2, banner="TEST PENDING"),),
    )  # fmt: skip
    theirs = replace(mine, book="b", job=Job(queue="q", number=2))
    jobs.add(mine)
    jobs.add(theirs)
    assert (jobs.of("a"), jobs.of("b"), jobs.of("c")) == ((mine,), (theirs,), ())
    jobs.fail(mine.job)
    assert jobs.of("a") == (replace(mine, failed=True),)
    later = replace(mine, job=Job(queue="q", number=3))
    jobs.add(later)
    assert jobs.of("a") == (later,), "what failed is settled by the next run"
    jobs.forget(later.job)
    assert jobs.of("a") == ()
    assert jobs.of("b") == (theirs,)
    assert [path.name for path in jobs.path.parent.iterdir()] == ["jobs.json"]


def test_a_service_that_does_not_answer(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    from tests.printing.press import free_port

    for place in (f"127.0.0.1:{free_port()}", str(tmp_path / "none.sock")):
        monkeypatch.setenv("CUPS_SERVER", place)
        with pytest.raises(PrinterTrouble, match="does not answer") as caught:
            printer.printers()
        assert caught.value.exit_code == 3
        assert caught.value.state == "no-service"
        assert "Errno" not in caught.value.message
        assert "freezerbox label --to labels.pdf" in caught.value.message


@pytest.fixture
def babbler() -> Iterator[list[bytes]]:
    """A service at a port that answers with the bytes in the list's last place; its address is in the first."""
    says = [b"", b""]

    class Babble(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            self.send_response(200)
            self.send_header("Content-Length", str(len(says[1])))
            self.end_headers()
            self.wfile.write(says[1])

        def log_message(self, format: str, *arguments: object) -> None:
            pass

    with socketserver.TCPServer(("127.0.0.1", 0), Babble) as server:
        says[0] = f"127.0.0.1:{server.server_address[1]}".encode()
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield says
        server.shutdown()
        thread.join()


@pytest.mark.parametrize(
    "nonsense", [b"", b"<html>", b"\x02\x00\x00\x00\x00\x00\x00\x01", b"\x02\x00\x00\x00\x00\x00\x00\x01\x44\xff"]
)
def test_a_service_that_talks_nonsense(
    monkeypatch: pytest.MonkeyPatch, babbler: list[bytes], nonsense: bytes
) -> None:
    babbler[1] = nonsense
    monkeypatch.setenv("CUPS_SERVER", babbler[0].decode())
    with pytest.raises(PrinterTrouble, match="does not answer"):
        printer.printers()


def attribute(tag: int, name: str, value: bytes) -> bytes:
    return struct.pack(">BH", tag, len(name)) + name.encode() + struct.pack(">H", len(value)) + value


def test_answers_are_read_as_the_standard_writes_them() -> None:
    """RFC 8010, 3.1: groups, values of several kinds, a second value without a name, a collection passed over."""
    data = (
        struct.pack(">BBHI", 2, 0, 0, 1)
        + b"\x01" + attribute(0x47, "attributes-charset", b"utf-8")
        + b"\x04" + attribute(0x42, "printer-name", b"labels")
        + attribute(0x44, "printer-state-reasons", b"media-empty-error") + attribute(0x44, "", b"cover-open")
        + attribute(0x23, "printer-state", struct.pack(">i", 5))
        + attribute(0x34, "media-col", b"") + attribute(0x4A, "", b"x") + attribute(0x21, "", struct.pack(">i", 9))
        + attribute(0x37, "", b"")
        + attribute(0x22, "printer-is-accepting-jobs", b"\x00")
        + attribute(0x32, "printer-resolution-supported", struct.pack(">iib", 80, 80, 4))
        + attribute(0x35, "printer-info", struct.pack(">H", 2) + b"en" + struct.pack(">H", 5) + b"table")
        + b"\x04" + attribute(0x42, "printer-name", b"other") + b"\x03"
    )  # fmt: skip
    answer = ipp.decode(data)
    assert answer.done
    first, second = answer.groups
    assert first == {
        "printer-name": ["labels"],
        "printer-state-reasons": ["media-empty-error", "cover-open"],
        "printer-state": [5],
        "printer-is-accepting-jobs": [False],
        "printer-resolution-supported": [(203, 203)],
        "printer-info": ["table"],
    }
    assert second == {"printer-name": ["other"]}
    assert (ipp.number(first, "printer-state"), ipp.number(first, "nothing")) == (5, 0)


@given(st.binary(max_size=80))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        answer = ipp.decode(b"\x02\x00\x00\x00\x00\x00\x00\x01" + data)
    except (struct.error, IndexError, UnicodeDecodeError):
        return
    assert json.dumps([list(group) for group in answer.groups])


@pytest.mark.parametrize(
    ("name", "media"),
    [("letter-10up", "Letter"), ("letter-30up", "Letter"), ("roll-2x1in-203dpi", "Custom.50.8x25.4mm")],
)
def test_paper_is_always_asked_for(name: str, media: str) -> None:
    assert printer.media_of(stock(name)) == media


def test_reasons_in_words() -> None:
    """RFC 8011, 5.4.12: a reason may carry how grave it is; two reasons of one meaning are said once."""
    assert printer._why(("media-empty-error", "media-needed", "none"), "") == "no labels or paper in it"
    assert printer._why(("door-open-report", "paused"), "") == "its door is open, the queue is paused"
    assert printer._why(("other-warning",), "The printer may not exist or is unavailable at this time.").startswith(
        "printer off"
    )
    assert printer._why((), "Printing.") == ""
