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
@click.option("--workload", metavar="NAME", help="With --difference and --house: this workload of the book.")
@click.option("--lower", is_flag=True, help="Of two rows, the lower readings are the better ones.")
@click.option("--forecasts", "scored", is_flag=True, help="How the sealed forecasts have done so far.")
@click.option(
    "--house", "instrument", is_flag=True, help="How well this house repeats: drift, evenings, anchor."
)
@click.option(
    "--timer", "pairs", metavar="PAIRS", help="A program's seconds against another clock or footage."
)
@common
def command(
    session: Session,
    text: tuple[str, ...],
    below_pct: float | None,
    difference_pct: float | None,
    workload: str | None,
    lower: bool,
    scored: bool,
    instrument: bool,
    pairs: str | None,
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
      leadoff proof --house --workload w2
      leadoff proof --timer "41.2 vs 41.9; 60.1 vs 0:12:05 to 1:13:10 @25"
    """
    from leadoff.loop.proving import forecasts, proof

    if instrument or pairs is not None:
        from leadoff.loop.housing import house, timer

        named = workload or words(text) or None
        return house(session, named) if pairs is None else session.result("proof", timer(pairs))
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
