"""leadoff electric"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("electric", context_settings={"ignore_unknown_options": True})
@click.argument("topic", nargs=-1)
@common
def command(session: Session, topic: tuple[str, ...]) -> Result:
    """Volts, heat, loads, cells and shorts worked out from your figures.

    Topics: heat, sink, power, socket, cell, charge, load, good, rail, ground, inrush, empty. Each says its source
    and refuses figures for which its formula is not good. It computes; leadoff card BOARD judges. No book is needed.

    \b
    Examples:
      leadoff electric heat in 5.25 out 3.45 amps 0.93
      leadoff electric ground rail 5v ohms 38
      leadoff electric cell mah 220 ua 5
    """
    from leadoff.loop.reckoning import electric

    return electric(session, words(topic))
