"""Opening a book: every trouble in plain words, and nothing changed by having looked."""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest

from freezerbox.book import copying, migrations, patience
from freezerbox.book.door import APPLICATION_ID, Book, create_book, open_book
from freezerbox.errors import BookBusy, BookTrouble, FreezerboxError, NewerBook, NoBook
from tests.book.look import everything
from tests.cli.process import House
from tests.conftest import Stocked, StoppedClock, seeded_chance

NOBODY = 65_534
LOOK = "Look at its permissions and the disk, then: freezerbox check"


def opened(path: Path) -> Book:
    return open_book(path, chance=seeded_chance("opening"), now=StoppedClock().stamp)


def refused(path: Path) -> FreezerboxError:
    with pytest.raises(BookTrouble) as trouble:
        opened(path)
    assert str(path) in trouble.value.message
    assert trouble.value.exit_code == 3
    return trouble.value


def made(path: Path) -> Path:
    create_book(path, chance=seeded_chance(), now=StoppedClock().stamp).close()
    return path


def test_no_book_says_how_to_start_one(tmp_path: Path) -> None:
    for path in (tmp_path / "none.book", tmp_path / "no" / "such" / "folder.book"):
        trouble = refused(path)
        assert isinstance(trouble, NoBook)
        assert "freezerbox start --units lb" in trouble.message
    assert list(tmp_path.iterdir()) == []


def test_below_a_file_there_is_no_book(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    assert isinstance(refused(tmp_path / "file" / "freezer.book"), NoBook)


def test_a_folder(tmp_path: Path) -> None:
    assert "is a folder, not a freezer book" in refused(tmp_path).message


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is cut short: it holds 0 bytes"),
        (b"SQLite format 3\x00" + b"\0" * 34, "is cut short: it holds 50 bytes"),
        (b"26B backstrap .9 .95 .88 .87\n" * 40, "is not a freezer book. Is --book the right file?"),
        (b"hello world\n", "is not a freezer book. Is --book the right file?"),
        (b"\x89PNG\r\n\x1a\n" + bytes(2000), "is not a freezer book"),
        (b"SQLite format 3\x00" + b"\xff" * 4000, "a freezer book|is damaged|could not do that"),
    ],
)
def test_a_file_that_is_no_book(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "freezer.book"
    path.write_bytes(content)
    with pytest.raises(BookTrouble, match=words):
        opened(path)
    assert path.read_bytes() == content
    assert [each.name for each in tmp_path.iterdir()] == ["freezer.book"]


@pytest.mark.parametrize(
    "content", [b"", b"SQLite format 3\x00", b"26B backstrap .9\n" * 40, b"SQLite format 3\x00" + b"\xff" * 4000]
)
def test_a_book_beyond_use_names_what_to_run(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "freezer.book"
    path.write_bytes(content)
    assert refused(path).message.endswith("Bring back a copy, beginning with the latest: freezerbox restore COPY")
    copies = tmp_path / "freezer-backups"
    copies.mkdir()
    for number, name in enumerate(("before-import.book", "freezer-2026-12-01.book")):
        (copies / name).write_bytes(b"")
        os.utime(copies / name, (number, number))
    said = refused(path).message
    assert said.endswith(f"Bring back the latest copy: freezerbox restore {copies / 'freezer-2026-12-01.book'}")


@pytest.mark.parametrize("left", [3000, 4096, -4096, -1])
def test_a_book_cut_short_is_said_to_be(tmp_path: Path, left: int) -> None:
    path = made(tmp_path / "freezer.book")
    whole = path.read_bytes()
    path.write_bytes(whole[:left])
    held = len(whole[:left])
    assert f"is cut short: it holds {held} bytes of {len(whole)}. Bring back a copy" in refused(path).message
    with pytest.raises(BookTrouble, match=f"is cut short: it holds {held} bytes of {len(whole)}"):
        copying.look_at(path)
    assert path.read_bytes() == whole[:left]


def test_beside_a_journal_only_sqlite_can_tell(tmp_path: Path) -> None:
    path = made(tmp_path / "freezer.book")
    path.write_bytes(path.read_bytes()[:-1])
    path.with_name("freezer.book-journal").write_bytes(bytes(512))
    with suppress(BookTrouble):
        opened(path).close()
    path.with_name("freezer.book-journal").unlink(missing_ok=True)
    assert "is cut short" in refused(path).message


def test_a_list_of_tables_that_cannot_be_read_is_said_in_words(tmp_path: Path) -> None:
    path = made(tmp_path / "freezer.book")
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"CREATE TRIGGER", b"CREATE TRIANGL", 1))
    trouble = refused(path)
    assert "is damaged: the list of what is in it cannot be read (malformed database schema" in trouble.message


def test_another_programs_database(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE song (name TEXT)")
        other.execute("PRAGMA user_version = 1")
    before = path.read_bytes()
    assert "is a database, but not a freezer book" in refused(path).message
    assert path.read_bytes() == before


def test_a_book_of_a_later_program(tmp_path: Path) -> None:
    path = made(tmp_path / "freezer.book")
    with closing(sqlite3.connect(path)) as other:
        other.execute(f"PRAGMA user_version = {migrations.CURRENT + 1}")
    before = path.read_bytes()
    trouble = refused(path)
    assert isinstance(trouble, NewerBook)
    assert f"its layout {migrations.CURRENT + 1}, this program knows {migrations.CURRENT}" in trouble.message
    assert path.read_bytes() == before


def test_a_book_whose_making_was_not_finished(tmp_path: Path) -> None:
    path = tmp_path / "freezer.book"
    with closing(sqlite3.connect(path)) as other:
        other.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        other.execute("CREATE TABLE act (id INTEGER)")
    assert "not a freezer book" in refused(path).message


def test_opening_and_closing_changes_nothing(stocked: Stocked, book_path: Path) -> None:
    before = book_path.read_bytes()
    with closing(opened(book_path)) as book:
        book.connection.execute("SELECT * FROM package").fetchall()
    assert book_path.read_bytes() == before
    assert [each.name for each in book_path.parent.iterdir()] == ["freezer.book"]


# -- locked ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wait a twentieth of a second for another program, not twenty seconds."""
    monkeypatch.setattr(patience, "BUSY_SECONDS", 0.05)


@pytest.fixture
def locked(book_path: Path, impatient: None) -> Iterator[sqlite3.Connection]:
    """Another program in the middle of writing."""
    made(book_path)
    other = sqlite3.connect(book_path, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    yield other
    other.close()


def test_a_book_that_another_program_is_writing(locked: sqlite3.Connection, book_path: Path) -> None:
    trouble = refused(book_path)
    assert isinstance(trouble, BookBusy)
    assert "Another program holds the book" in trouble.message
    assert "Nothing was changed" in trouble.message
    locked.execute("ROLLBACK")
    opened(book_path).close()


def test_an_act_while_another_program_writes_is_not_half_done(impatient: None, book_path: Path) -> None:
    made(book_path)
    before = everything(book_path)
    with closing(opened(book_path)) as book, closing(sqlite3.connect(book_path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookBusy), book.act("test", StoppedClock().at.date()):
            pytest.fail("the book is held by another")
        assert not book.connection.in_transaction
        other.execute("ROLLBACK")
        assert everything(book_path) == before
        with book.act("test", StoppedClock().at.date()):
            pass
    assert len(everything(book_path)["act"]) == 1


def test_somebody_is_told_why_it_takes_so_long(impatient: None, book_path: Path) -> None:
    """Of opening and of writing; and only when there is somebody to wait for."""
    made(book_path)
    told: list[str] = []
    with closing(open_book(book_path, chance=seeded_chance(), now=StoppedClock().stamp, waiting=told.append)) as book:
        with book.act("test", StoppedClock().at.date()):
            pass
        assert told == []
        with closing(sqlite3.connect(book_path, isolation_level=None)) as other:
            other.execute("BEGIN EXCLUSIVE")
            with pytest.raises(BookBusy), book.act("test", StoppedClock().at.date()):
                pytest.fail("the book is held by another")
            with pytest.raises(BookBusy):
                open_book(book_path, chance=seeded_chance(), now=StoppedClock().stamp, waiting=told.append)
    assert [said.partition(":")[0] for said in told] == [
        f"Waiting for another program that holds the book {book_path}"
    ] * 2


def test_a_reader_that_does_not_let_go_keeps_an_act_off_the_disk(impatient: None, book_path: Path) -> None:
    made(book_path)
    before = everything(book_path)
    with closing(opened(book_path)) as book, closing(sqlite3.connect(book_path, isolation_level=None)) as reader:
        reader.execute("BEGIN")
        reader.execute("SELECT * FROM act").fetchall()
        with pytest.raises(BookBusy), book.act("test", StoppedClock().at.date()):
            pass
        assert not book.connection.in_transaction
        reader.execute("COMMIT")
    assert everything(book_path) == before


def test_a_book_exchanged_under_an_open_one(book_path: Path) -> None:
    """By a program that keeps folders alike, by hand, or deleted: what was written there would be nowhere."""
    made(book_path)
    aside = book_path.with_name("aside.book")
    with closing(opened(book_path)) as book:
        book_path.rename(aside)
        for there in (False, True):
            if there:
                shutil.copy(aside, book_path)
            with (
                pytest.raises(BookTrouble, match="was moved, deleted or exchanged while this was running"),
                book.act("test", StoppedClock().at.date()),
            ):
                pytest.fail("the file is another one")
            assert not book.connection.in_transaction
        aside.replace(book_path)
        with book.act("test", StoppedClock().at.date()):
            pass
    assert len(everything(book_path)["act"]) == 1


def test_a_book_that_another_program_set_to_a_log_is_plain_again(book_path: Path) -> None:
    made(book_path)
    with closing(sqlite3.connect(book_path)) as other:
        assert other.execute("PRAGMA journal_mode = WAL").fetchone() == ("wal",)
    with closing(opened(book_path)) as book:
        assert book.connection.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
        with book.act("test", StoppedClock().at.date()):
            pass
    assert [each.name for each in book_path.parent.iterdir()] == ["freezer.book"]


# -- permissions, as somebody who is not root -----------------------------------------------------------------------


@pytest.fixture
def commons() -> Iterator[Path]:
    """A folder that everybody may enter; pytest's own lets nobody but its owner in."""
    with tempfile.TemporaryDirectory(prefix="freezerbox-test-") as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder


def as_nobody(do: Callable[[], object]) -> str:
    """What ``do`` is refused with, done by somebody without rights in a process of their own; "" when it is not."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        said = "died"
        try:
            os.close(reading)
            if os.getuid() == 0:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)
            do()
            said = ""
        except FreezerboxError as error:
            said = f"{error.kind}: {error.message}"
        except BaseException as error:
            said = f"traceback: {error!r}"
        finally:
            os.write(writing, said.encode())
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        said = pipe.read().decode()
    os.waitpid(child, 0)
    return said


needs_rights = pytest.mark.skipif(sys.platform == "win32", reason="rights are those of POSIX")


def write_in(path: Path) -> None:
    with closing(opened(path)) as book, book.act("test", StoppedClock().at.date()):
        pass


@needs_rights
def test_a_book_that_may_not_be_read(commons: Path) -> None:
    path = made(commons / "freezer.book")
    path.chmod(0)
    said = as_nobody(lambda: opened(path))
    assert said == f"book: The book {path} cannot be read: permission denied. {LOOK}"


@needs_rights
def test_a_book_in_a_folder_that_may_not_be_entered(commons: Path) -> None:
    folder = commons / "private"
    folder.mkdir()
    path = made(folder / "freezer.book")
    folder.chmod(0)
    try:
        for where in (path, folder / "none.book"):
            assert as_nobody(lambda where=where: opened(where)) == (  # type: ignore[misc]
                f"book: The book {where} cannot be read: permission denied. {LOOK}"
            )
    finally:
        folder.chmod(0o700)


@needs_rights
@pytest.mark.parametrize(("of_file", "of_folder"), [(0o444, 0o777), (0o444, 0o555), (0o666, 0o555)])
def test_a_book_that_may_be_read_but_not_written(commons: Path, of_file: int, of_folder: int) -> None:
    path = made(commons / "freezer.book")
    before = everything(path)
    path.chmod(of_file)
    commons.chmod(of_folder)
    try:
        assert as_nobody(lambda: opened(path).connection.execute("SELECT * FROM act").fetchall()) == ""
        said = as_nobody(lambda: write_in(path))
    finally:
        commons.chmod(0o755)
    assert said.startswith(f"book: The book {path} cannot be written: ")
    assert "Nothing was changed." in said
    assert everything(path) == before


@needs_rights
def test_a_book_that_may_only_be_read_is_not_replaced(commons: Path) -> None:
    """Though its folder would let it be exchanged: whoever took the right to write away meant it."""
    path = made(commons / "freezer.book")
    copy = Path(shutil.copy(path, commons / "copy.book"))
    copy.chmod(0o444)
    before = path.read_bytes()
    for each in (path, commons):
        if os.getuid() == 0:
            os.chown(each, NOBODY, NOBODY)
    path.chmod(0o400)
    said = as_nobody(lambda: copying.put_in_place(copy, path, commons / "aside.book", seeded_chance()))
    assert said == f"book: The book {path} cannot be written. Look at its permissions; nothing was changed."
    assert path.read_bytes() == before
    assert sorted(each.name for each in commons.iterdir()) == ["copy.book", "freezer.book"]


@needs_rights
def test_a_book_cannot_be_started_where_nothing_may_be_written(commons: Path) -> None:
    def create(path: Path) -> Callable[[], object]:
        return lambda: create_book(path, chance=seeded_chance(), now=StoppedClock().stamp)

    said = as_nobody(create(commons / "freezer.book"))
    assert f"{commons / 'freezer.book'} cannot be made: the folder {commons} cannot be written: permission" in said
    assert as_nobody(create(commons / "new" / "freezer.book")) == (
        f"book: The folder {commons / 'new'} cannot be made: permission denied."
    )
    assert list(commons.iterdir()) == []


@needs_rights
@pytest.mark.parametrize("rights", [0o555, 0o700])
def test_start_names_the_folder_that_may_not_be_written(commons: Path, rights: int) -> None:
    folder = commons / "lock"
    folder.mkdir()
    folder.chmod(rights)
    # Once as ourselves: what is imported on the way lies where nobody else may read.
    house = House(folder=commons, more={"FREEZERBOX_BOOK": "mine.book"})
    house.ok("start")

    def start() -> None:
        raise BookTrouble(house.call("--book", "lock/x.book", "start").said)

    said = as_nobody(start)
    assert f"The book lock/x.book cannot be made: the folder {folder} cannot be written: permission denied." in said
    assert "Look at the permissions of that folder" in said
    assert list(folder.iterdir()) == []


# -- making ---------------------------------------------------------------------------------------------------------


def test_a_book_is_made_with_its_folder(tmp_path: Path) -> None:
    path = made(tmp_path / "new" / "folder" / "freezer.book")
    with closing(opened(path)) as book:
        assert book.connection.execute("SELECT count(*) FROM act").fetchone()[0] == 0
    assert [each.name for each in path.parent.iterdir()] == ["freezer.book"]


@pytest.mark.parametrize("content", [b"", b"something of somebody's"])
def test_a_book_is_never_made_over_a_file(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "freezer.book"
    path.write_bytes(content)
    with pytest.raises(BookTrouble, match="is there already"):
        made(path)
    assert path.read_bytes() == content


def test_a_book_is_never_made_over_a_folder_or_below_a_file(tmp_path: Path) -> None:
    with pytest.raises(BookTrouble, match="is a folder, not a freezer book"):
        made(tmp_path)
    (tmp_path / "file").write_text("x")
    with pytest.raises(BookTrouble, match=r"The folder .* cannot be made"):
        made(tmp_path / "file" / "freezer.book")


def test_a_book_whose_making_fails_leaves_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> Iterator[str]:
        yield "CREATE TABLE half (id INTEGER) STRICT"
        yield "NOT SQL"

    monkeypatch.setattr(migrations, "statements", broken)
    with pytest.raises(BookTrouble, match="could not do that"):
        made(tmp_path / "freezer.book")
    assert list(tmp_path.iterdir()) == []


def test_each_book_has_its_own_uid_and_letter(tmp_path: Path) -> None:
    facts = []
    for number in range(6):
        path = tmp_path / f"{number}.book"
        create_book(path, chance=seeded_chance(number), now=StoppedClock().stamp).close()
        facts.append({key: str(value) for key, value in everything(path)["meta"]})
    assert len({each["uid"] for each in facts}) == 6
    letters = {each["letter"] for each in facts}
    assert letters <= set("ABCDEFGHJKMNPQRSTVWXYZ")
    assert len(letters) > 1
