"""leadoff why"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("why")
@click.argument("first")
@click.argument("second")
@common
def command(session: Session, first: str, second: str) -> Result:
    """Where the difference of two runs comes from, and what cannot be told from what was measured.

    \b
    Example:
      leadoff why 38 41
    """
    from leadoff.loop.forecasting import why

    return why(session, first, second)
