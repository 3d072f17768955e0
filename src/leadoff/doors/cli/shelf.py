"""leadoff shelf"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("shelf")
@click.argument("board", required=False)
@click.option("--in", "place", metavar="PLACE", help="Where it is now.")
@click.option("--waits", multiple=True, metavar="PART", help="A part it waits for.")
@click.option("--got", multiple=True, metavar="PART", help="A part that came.")
@click.option("--codes", metavar="TEXT", help='Date codes of its parts: "u3 9347, u7 9412".')
@click.option("--dumped", is_flag=True, help="Its firmware has been dumped.")
@common
def command(
    session: Session,
    board: str | None,
    place: str | None,
    waits: tuple[str, ...],
    got: tuple[str, ...],
    codes: str | None,
    dumped: bool,
) -> Result:
    """Where the boards are, what they wait for, what one order unlocks, what is due.

    \b
    Examples:
      leadoff shelf
      leadoff shelf grey-486 --in "box 3" --waits "sram 32kx8 15 ns"
      leadoff shelf grey-486 --codes "u3 9347, u7 9412"
    """
    from leadoff.loop.shelving import shelf

    return shelf(session, board, place=place, waits=waits, got=got, codes=codes, dumped=dumped)
