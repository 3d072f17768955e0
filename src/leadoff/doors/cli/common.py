"""What every command has: the book, the time, JSON, own rows; and how a result leaves."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

import click

from leadoff.loop.session import Session
from leadoff.record.results import Result


def common(run: Callable[..., Result]) -> Callable[..., int]:
    """Adds the common options, hands the command a session, shows its result, returns the exit code."""

    @click.option("--book", metavar="PATH_OR_URL", help="The book; default: your own, or $LEADOFF_BOOK.")
    @click.option("--at", metavar="ISO8601", help="Count this call as made then, such as 2026-11-25T19:30.")
    @click.option(
        "--rows", multiple=True, metavar="DIR", help="Your own parts, as TOML rows; they win over ours."
    )
    @click.option("--json", "as_json", is_flag=True, help="One JSON line for programs.")
    @wraps(run)
    def wrapped(book: str | None, at: str | None, rows: tuple[str, ...], as_json: bool, **given: Any) -> int:
        session = Session(book=book, at=at, rows=rows)
        try:
            result = run(session, **given)
        finally:
            session.close()
        return leave(result, as_json=as_json)

    return wrapped


def leave(result: Result, *, as_json: bool) -> int:
    """Print a result; exit code 1 when it is not ok."""
    if as_json:
        click.echo(result.json().decode())
    else:
        from leadoff.show.terminal import show

        show(result)
    return 0 if result.ok else 1


def words(text: tuple[str, ...]) -> str:
    """Words of the command line as one line; what the shell unquoted stays together."""
    return " ".join(t for t in text if t)
