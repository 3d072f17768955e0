"""leadoff sweep"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("sweep")
@click.argument("board")
@click.argument("text", nargs=-1)
@click.option("--file", metavar="FILE", help="Read it from a file; - is standard input.")
@click.option(
    "--kind", type=click.Choice(["read", "write", "copy"]), help="What the loop did; default: read."
)
@click.option("--unit", metavar="UNIT", help="Unit of bare numbers: us/KB, MB/s, MiB/s or ns/line.")
@common
def command(
    session: Session,
    board: str,
    text: tuple[str, ...],
    file: str | None,
    kind: str | None,
    unit: str | None,
) -> Result:
    """Enter or show a bandwidth sweep: levels, sizes, clocks for each line, what disagrees with the sheet.

    \b
    Examples:
      leadoff sweep blue-486 "8K 10.2us/KB, 16K 10.3, 32K 26.1, 64K 26.0, 256K 26.2, 512K 36.3"
      leadoff sweep blue-486 --file sweep.csv --unit MB/s
      leadoff sweep blue-486
    """
    from leadoff.loop.sweeping import sweep

    return sweep(session, board, text=words(text) or None, file=file, kind=kind, unit=unit)
