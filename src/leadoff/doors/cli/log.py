"""leadoff log"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("log", context_settings={"ignore_unknown_options": True})
@click.argument("board")
@click.argument("text", nargs=-1)
@click.option("--workload", metavar="WORD", help="The workload that bare numbers belong to.")
@click.option("--unit", metavar="UNIT", help="Unit of a workload that is new, such as frames/s or s.")
@click.option("--rig", metavar="NAME", help="The rig: display card, disk image and drivers held constant.")
@click.option("--stdin", "from_stdin", is_flag=True, help="Read lines from standard input.")
@common
def command(
    session: Session,
    board: str,
    text: tuple[str, ...],
    workload: str | None,
    unit: str | None,
    rig: str | None,
    from_stdin: bool,
) -> Result:
    """Say what happened: scores, repeats, failures, readings, symptoms. Says back what it understood.

    \b
    Examples:
      leadoff log blue-486 w2 23.5 23.6 drop 1st
      leadoff log blue-486 2134 frames 4261 ticks/70
      leadoff log blue-486 w3 41.2s
      leadoff log blue-486 hang memcount
      leadoff log blue-486 starts 3/5 cold
      leadoff log blue-486 bus 66.8 meas, w2 24,1
    """
    from leadoff.loop.logging import log
    from leadoff.loop.standard_input import read_input

    lines = [words(text)] if text else []
    if from_stdin:
        lines += [line.strip() for line in read_input().splitlines() if line.strip()]
    return log(session, board, lines, workload=workload, unit=unit, rig=rig)
