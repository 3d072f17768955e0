"""What is given on standard input must be text."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli_bench import run

BYTES = b"fine so far \xaf\x1b[2J".decode("utf-8", "surrogateescape")


@pytest.mark.parametrize(
    "command",
    [
        ("claim",),
        ("log", "ferry-486", "--stdin"),
        ("sweep", "ferry-486", "--file", "-"),
    ],
)
def test_bytes_are_one_clear_error(tmp_path: Path, command: tuple[str, ...]) -> None:
    book = ("--book", str(tmp_path / "b.db"))
    assert run("board", "add", "examples/ferry-486.toml", *book).code == 0
    answer = run(*command, *book, stdin=BYTES)
    assert answer.code != 0
    assert "at place 13 it is not UTF-8" in answer.err
    assert "\x1b" not in answer.out + answer.err
