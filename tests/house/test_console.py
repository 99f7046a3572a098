"""The reader of console blocks sees what a page promises, and does not let a broken promise pass."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.house.console import Command, commands, matches, renewed, run

PAGE = """# A page

```console
$ printf 'one\\ntwo\\n'
one
two
$ printf '%s\\n' \\
>   three
three
```

<!-- now: 2026-12-02T21:00 -->

```python
$ not a command
```

```console
$ echo "$FREEZERBOX_NOW"; exit 2  # exit 2
2026-12-02T21:00
$ python3 tests/run.py
```
"""


def test_commands_are_found_in_order() -> None:
    found = commands(PAGE)
    assert [command.line for command in found] == [4, 7, 19, 21]
    assert [command.expected for command in found] == [("one", "two"), ("three",), ("2026-12-02T21:00",), ()]
    assert [command.is_run for command in found] == [True, True, True, False]
    assert [command.status for command in found] == [0, 0, 2, 0]


def test_commands_print_what_the_page_says(tmp_path: Path) -> None:
    for command in commands(PAGE):
        if command.is_run:
            assert run(command, tmp_path) == (command.status, command.expected)


def test_person_of_the_page_has_a_home_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FREEZERBOX_BOOK", "somebody's book")
    command = Command(text='echo "$HOME|$FREEZERBOX_BOOK"', line=1, clock="x", expected=(), first=0, last=0)
    assert run(command, tmp_path) == (0, (f"{tmp_path}|",))


@pytest.mark.parametrize(
    ("expected", "actual", "same"),
    [
        (["a", "b"], ["a", "b  ", ""], True),
        (["a", "..."], ["a", "b", "c"], True),
        (["a", "..."], ["a"], True),
        (["a", "...", "c"], ["a", "b", "b", "c"], True),
        (["a", "...", "c"], ["a", "b"], False),
        (["a."], ["ab"], False),
        ([], ["a"], False),
        (["a"], [], False),
        (["..."], [], True),
    ],
)
def test_dots_stand_for_any_lines(expected: list[str], actual: list[str], same: bool) -> None:
    assert matches(expected, actual) is same


@pytest.mark.parametrize("page", ["```console\nno dollar\n```\n", "```console\n$ echo\n", "```console\n```\n"])
def test_faulty_block_is_refused(page: str) -> None:
    with pytest.raises(ValueError, match=r"^line \d"):
        commands(page)


def test_renewing_replaces_only_what_is_given() -> None:
    first, second, *_ = commands(PAGE)
    page = renewed(PAGE, [(first, ["1", "2", "3"]), (second, ["drei"])])
    assert page == PAGE.replace("one\ntwo\n$", "1\n2\n3\n$").replace("\nthree\n", "\ndrei\n")
