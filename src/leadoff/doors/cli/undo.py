"""leadoff undo"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop import moving
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("undo")
@click.argument("what", nargs=-1)
@common
def command(session: Session, what: tuple[str, ...]) -> Result:
    """Take back the last entry, or a run by its number, or any entry by the start of its name.

    Nothing is erased: the entry no longer counts. A forecast is withdrawn and stays in the record.

    \b
    Examples:
      leadoff undo
      leadoff undo 41
    """
    named = " ".join(what).lower().removeprefix("run ")
    return moving.undo(session, named or None)
