"""leadoff proof"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("proof")
@click.argument("text", nargs=-1)
@click.option(
    "--below", "below_pct", type=float, metavar="PCT", help="Clean runs that bound failures below this."
)
@click.option(
    "--difference", "difference_pct", type=float, metavar="PCT", help="Runs needed to show this difference."
)
@click.option("--workload", metavar="NAME", help="With --difference: of this workload of the book.")
@click.option("--lower", is_flag=True, help="Of two rows, the lower readings are the better ones.")
@click.option("--forecasts", "scored", is_flag=True, help="How the sealed forecasts have done so far.")
@common
def command(
    session: Session,
    text: tuple[str, ...],
    below_pct: float | None,
    difference_pct: float | None,
    workload: str | None,
    lower: bool,
    scored: bool,
) -> Result:
    """What a count proves, whether two rows of readings differ, how many runs a difference needs.

    Counts are bad ones of all. Limits are exact; rows are compared by a pooled t interval at 95 %.

    \b
    Examples:
      leadoff proof 0/60
      leadoff proof "61.2 61.5 61.3 vs 61.6 61.3 61.8"
      leadoff proof --difference 0.5 --workload w2
      leadoff proof --below 1
      leadoff proof --forecasts
    """
    from leadoff.loop.proving import forecasts, proof

    if scored:
        return forecasts(session)
    return proof(
        session,
        words(text),
        below_pct=below_pct,
        difference_pct=difference_pct,
        workload=workload,
        lower=lower,
    )
