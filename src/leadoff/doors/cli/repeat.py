"""leadoff repeat"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("repeat")
@click.argument("file")
@click.option("--as", "name", metavar="NAME", help="Load the board under another name.")
@click.option("--check", "only_check", is_flag=True, help="Check the hashes and load nothing.")
@click.option("--against", metavar="BOARD", help="Compare with a board of yours; loads nothing.")
@click.option(
    "--from", "start", metavar="TEXT", help="Moves from this state, such as 'bus 25'; default: as set."
)
@common
def command(
    session: Session,
    file: str,
    name: str | None,
    only_check: bool,
    against: str | None,
    start: str | None,
) -> Result:
    """Check somebody's public file, load its board with state and runs, and say how to set the same.

    Every hash is computed again. A file that was changed is named for what does not fit, and not loaded.

    \b
    Examples:
      leadoff repeat ferry-486.leadoff.json
      leadoff repeat ferry-486.leadoff.json --against my-486
      leadoff repeat ferry-486.leadoff.json --against my-486 --from "bus 25"
      leadoff repeat ferry-486.leadoff.json --check
    """
    from leadoff.loop.repeating import repeat

    return repeat(session, file, name=name, only_check=only_check, against=against, start=start)
