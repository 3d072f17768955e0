"""leadoff standings"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("standings")
@click.option("--workload", metavar="NAME", help="This workload only.")
@click.option(
    "--grade", "least", metavar="GRADE", help="Rank only states of this grade: finishes, repeats, soaked ..."
)
@click.option("--records", is_flag=True, help="How each record was set, tied, beaten, or vanished.")
@common
def command(session: Session, workload: str | None, least: str | None, records: bool) -> Result:
    """All boards: ranks with ties, chance of being first, and what cannot be compared.

    Scores under two rigs are ranked together only where one board ran in one state under both.

    \b
    Examples:
      leadoff standings
      leadoff standings --workload w2 --grade soaked
      leadoff standings --records
    """
    from leadoff.loop.standing import stand

    return stand(session, workload=workload, least=least, records=records)
