"""How the command line ends when it cannot answer: one clear error each, or a bug with its trace."""

from __future__ import annotations

import sys
import traceback

import click

from leadoff.record.errors import LeadoffError, Problem
from leadoff.record.results import Result, failed


def _verb(argv: list[str]) -> str:
    return next((a for a in argv if not a.startswith("-")), "")


def tell(error: click.ClickException | LeadoffError, argv: list[str], *, as_json: bool) -> int:
    """The user's case: exit 1."""
    if isinstance(error, LeadoffError):
        result = failed(_verb(argv), error)
    else:
        context = getattr(error, "ctx", None)
        do = f"{context.command_path} -h shows how" if context is not None else "leadoff -h shows how"
        problem = Problem(code="usage", text=error.format_message(), do=do)
        result = Result(verb=_verb(argv), ok=False, errors=(problem,))
    if as_json:
        click.echo(result.json().decode())
    else:
        from leadoff.show.terminal import show_errors

        show_errors(result.errors)
    return 1


def bug(error: BaseException, argv: list[str], *, as_json: bool) -> int:
    """A bug of ours: exit 2, the trace on stderr."""
    traceback.print_exception(error, file=sys.stderr)
    problem = Problem(
        code="bug",
        text=f"this is a bug in leadoff: {type(error).__name__}: {error}",
        do="nothing was half written; please report it with the lines above",
    )
    result = Result(verb=_verb(argv), ok=False, errors=(problem,))
    if as_json:
        click.echo(result.json().decode())
    else:
        click.echo(f"error: {problem.text}\n  do: {problem.do}", err=True)
    return 2
