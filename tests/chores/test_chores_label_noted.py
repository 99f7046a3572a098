"""A file of labels and the book that is to note them: both, or neither."""

from __future__ import annotations

from pathlib import Path

import pytest

from freezerbox.chores.label_fit import noted
from freezerbox.errors import BookTrouble


def trouble(*, unsure: bool = False, recorded: bool = False) -> BookTrouble:
    error = BookTrouble("The disk is full.")
    error.unsure, error.recorded = unsure, recorded
    return error


@pytest.mark.parametrize(
    ("error", "stays"),
    [
        (trouble(), False),
        (trouble(unsure=True), True),
        (trouble(recorded=True), True),
        (KeyboardInterrupt(), True),
    ],
)
def test_the_file_goes_only_where_nothing_was_noted(tmp_path: Path, error: BaseException, stays: bool) -> None:
    file = tmp_path / "labels.pdf"
    file.write_bytes(b"labels")
    with pytest.raises(type(error)), noted([file]):
        raise error
    assert file.exists() == stays


def test_a_file_that_cannot_go_is_said_to_be_there(tmp_path: Path) -> None:
    folder = tmp_path / "labels.pdf"
    folder.mkdir()
    with pytest.raises(BookTrouble) as caught, noted([folder]):
        raise trouble()
    assert f"The labels are in {str(folder)!r} all the same" in caught.value.message
