"""leadoff swap"""

from __future__ import annotations

import click

from leadoff.doors.cli.common import common, words
from leadoff.loop.session import Session
from leadoff.record.results import Result


@click.command("swap")
@click.argument("board")
@click.argument("text", nargs=-1, required=True)
@click.option("--ways", type=click.IntRange(1, 16), help="Ways of the second level after it; default: 1.")
@click.option("--like", metavar="PROFILE", help="A shipped profile or a file of your own; default: all.")
@click.option(
    "--placed",
    type=click.Choice(["contiguous", "scattered", "unknown"]),
    default="unknown",
    help="How programs lie in memory.",
)
@common
def command(
    session: Session, board: str, text: tuple[str, ...], ways: int | None, like: str | None, placed: str
) -> Result:
    """What other cache chips, memory or policies would do: hits, cycles, range, score, and what can go wrong.

    \b
    Examples:
      leadoff swap blue-486 l2 4x128k8-20
      leadoff swap blue-486 l2 512k 15ns 2 banks, tag 12ns
      leadoff swap blue-486 ram edo
      leadoff swap blue-486 l2 wb --like packing
    """
    from leadoff.loop.swapping import swap

    return swap(session, board, words(text), ways=ways, like=like, placed=placed)
