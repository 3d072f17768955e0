"""leadoff move"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop import moving
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("move", context_settings={"ignore_unknown_options": True})
@click.argument("board")
@click.argument("text", nargs=-1, required=True)
@common
def command(session: Session, board: str, text: tuple[str, ...]) -> Result:
    """Say what moved. Shows the exact moves and keeps them; a state the wiring cannot reach is refused.

    \b
    Examples:
      leadoff move blue-486 bus 40
      leadoff move blue-486 jp7 2-3
      leadoff move blue-486 l2 write 1ws, dram read ws 0
      leadoff move blue-486 as 41 but bus 50
      leadoff move blue-486 back to 38
    """
    return moving.move(session, board, words(text))
