"""leadoff state"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop import boards
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("state")
@click.argument("board")
@common
def command(session: Session, board: str) -> Result:
    """What is fitted and set, what is unknown, what is out of limits.

    \b
    Example:
      leadoff state blue-486
    """
    return boards.state(session, board)
