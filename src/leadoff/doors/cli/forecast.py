"""leadoff forecast"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("forecast")
@click.argument("board")
@click.argument("text", nargs=-1)
@click.option(
    "--want", multiple=True, metavar="WORDS", help="A state described, instead of the state as set."
)
@click.option("--no-seal", is_flag=True, help="Only look: keep no entry.")
@click.option("--guess", metavar="WORDS", help='Your own guess, kept beside ours: "w2 24.5".')
@click.option("--all", "everything", is_flag=True, help="Also workloads that this board never ran.")
@click.option(
    "--model", type=click.Choice(["best", "clocks"]), default="best", help="clocks: the two-clock baseline."
)
@common
def command(
    session: Session,
    board: str,
    text: tuple[str, ...],
    want: tuple[str, ...],
    no_seal: bool,
    guess: str | None,
    model: str,
    everything: bool,
) -> Result:
    """Seal a forecast: median, 50 and 90 % bands, bounds, the chance to hold, what widens the band.

    \b
    Examples:
      leadoff forecast blue-486
      leadoff forecast blue-486 --want "bus 40 x3"
      leadoff forecast blue-486 --want "as 41 but bus 50" --guess "w2 24.5"
    """
    from leadoff.loop.forecasting import forecast

    described = words((*want, *text)) or None
    return forecast(
        session, board, want=described, seal=not no_seal, guess=guess, model=model, everything=everything
    )
