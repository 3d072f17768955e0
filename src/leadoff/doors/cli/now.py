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
@click.option(
    "--minutes",
    type=click.FloatRange(5, 1440),
    help="A list for this many minutes: what to run in which order.",
)
@click.option(
    "--for",
    "goal",
    type=click.Choice(["fast", "safe", "cause", "record", "symptoms"]),
    help="What the list is for; without --minutes: 120.",
)
@click.option("--grade", metavar="GRADE", help="What the best of the list is to reach: repeats, soaked ...")
@common
def command(
    session: Session,
    board: str,
    workload: str | None,
    limit: int,
    minutes: float | None,
    goal: str | None,
    grade: str | None,
) -> Result:
    """What now: the next run with its minutes, exact moves, odds, and why.

    With --minutes a list for the evening: shortest changeovers, the best brought to the grade at the end.

    \b
    Examples:
      leadoff now blue-486
      leadoff now blue-486 --workload w2 --limit 3
      leadoff now blue-486 --minutes 150 --grade soaked
      leadoff now blue-486 --for symptoms
    """
    from leadoff.loop.planning import now

    listed = minutes is not None or goal is not None or grade is not None
    return now(
        session,
        board,
        workload=workload,
        limit=limit,
        minutes=(minutes or 120.0) if listed else None,
        goal=goal or "fast",
        grade=grade,
    )
