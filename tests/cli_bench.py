"""The command line as a person or a program uses it, in this process; places come from the environment."""

from __future__ import annotations

import contextlib
import io
import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from unittest import mock

from leadoff.doors.cli.main import main


class Answer:
    """Exit code, what was printed, and the result as data."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err

    @property
    def json(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.out)
        return found

    @property
    def data(self) -> dict[str, Any]:
        found: dict[str, Any] = self.json["data"]
        return found

    @property
    def codes(self) -> list[str]:
        """Codes of the errors."""
        return [e["code"] for e in self.json["errors"]]

    def marks(self, level: str = "") -> dict[str, str]:
        """Marks of a level by their code."""
        return {m["code"]: m["text"] for m in self.json["marks"] if not level or m["level"] == level}

    def lines(self) -> dict[str, dict[str, Any]]:
        """Lines of a card, the gravest of each topic."""
        found: dict[str, dict[str, Any]] = {}
        for line in self.data["lines"]:
            found.setdefault(line["topic"], line)
        return found


def run(*args: str, stdin: str = "") -> Answer:
    """One command; whatever it ends with is kept."""
    out, err, code = io.StringIO(), io.StringIO(), 0
    with (
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        mock.patch.object(sys, "stdin", io.StringIO(stdin)),
    ):
        try:
            main(list(args))
        except SystemExit as ended:
            code = int(ended.code or 0)
    return Answer(code, out.getvalue(), err.getvalue())


class Bench:
    """Calls with ``--json`` and the user's own rows; asserts that a call went well unless told otherwise."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.rows: tuple[str, ...] = ()

    def own_rows(self, text: str) -> None:
        rows = self.folder / "rows"
        rows.mkdir(exist_ok=True)
        (rows / "mine.toml").write_text(text, encoding="utf-8")
        self.rows = ("--rows", str(rows))

    def board(self, text: str, name: str = "board.toml") -> Answer:
        file = self.folder / name
        file.write_text(text, encoding="utf-8")
        return self("board", "add", str(file))

    def try_(self, *args: str, stdin: str = "") -> Answer:
        return run(*args, *self.rows, "--json", stdin=stdin)

    def __call__(self, *args: str, stdin: str = "") -> Answer:
        answer = self.try_(*args, stdin=stdin)
        assert answer.code == 0, (args, answer.out, answer.err)
        assert answer.json["ok"] is True
        return answer

    def refused(self, *args: str, stdin: str = "") -> Answer:
        answer = self.try_(*args, stdin=stdin)
        assert answer.code == 1, (args, answer.out, answer.err)
        assert answer.json["ok"] is False
        assert answer.json["errors"]
        return answer

    def entries(self) -> int:
        """How many entries the book holds."""
        count: int = self("book", "verify").data["entries"]
        return count


def settings(state: Mapping[str, Any]) -> dict[str, Any]:
    """Setting to value."""
    return {name: s["value"] for name, s in state["settings"].items()}
