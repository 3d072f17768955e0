"""leadoff now"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("now")
@click.argument("board")
@click.option("--workload", metavar="WORD", help="The workload that counts; default: the one run most.")
@click.option(
    "--limit", type=click.IntRange(1, 50), default=5, show_default=True, help="How many acts to show."
)
@common
def command(session: Session, board: str, workload: str | None, limit: int) -> Result:
    """What now: the next run with its minutes, exact moves, odds, and why.

    \b
    Examples:
      leadoff now blue-486
      leadoff now blue-486 --workload w2 --limit 3
    """
    from leadoff.loop.planning import now

    return now(session, board, workload=workload, limit=limit)
