"""leadoff sick"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("sick", context_settings={"ignore_unknown_options": True})
@click.argument("board")
@click.argument("text", nargs=-1)
@click.option("--table", metavar="FILE", help="Your own causes and tests (TOML) in place of ours.")
@click.option(
    "--have", metavar="TEXT", help='Your tools and proven spares, kept: "scope, post card, spare memory".'
)
@common
def command(
    session: Session, board: str, text: tuple[str, ...], table: str | None, have: str | None
) -> Result:
    """Symptoms and test results of an ailing board: likely causes, the next tests, the repair.

    No powered test is proposed before its rail checks. Mains supplies stay closed; local rules and licensed
    practice come first.

    \b
    Examples:
      leadoff sick grey-486 fans spin, no video, no beep
      leadoff sick grey-486 5v 4.92 slot6
      leadoff sick grey-486 swapped the memory, no change
      leadoff sick grey-486 --have "scope, post card, spare memory"
      leadoff sick grey-486
    """
    from leadoff.loop.sicking import sick

    return sick(session, board, words(text) or None, table=table, have=have)
